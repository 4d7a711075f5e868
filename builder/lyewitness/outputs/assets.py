"""Styles, scripts, typefaces and pictures as the pages need them beside them.

In: `Theme`, pictures drawn for a light and a dark ground. Out: (path below the report, bytes), the
same bytes on every run.
"""

import hashlib
import io
import re
from base64 import b64encode
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from lyewitness.document.edition import Theme
from lyewitness.figures.records import Figure
from lyewitness.figures.style import Palette, look_from
from lyewitness.shipped import shipped_folder
from lyewitness.store import NO_STORE, Store

COLOUR = re.compile(r"#[0-9a-fA-F]{6}\b")
STYLE = re.compile(r'style="[^"]*"')
HEAD = re.compile(r"<svg\b[^>]*>")


def on_both_grounds(figure: Figure) -> Figure:
    """Return the figure with one picture for both grounds in the place of two, where that can be done.

    For screens only: what sets the PDF does not know custom properties.
    """
    wide, narrow = _one(figure.data, figure.dark), _one(figure.narrow, figure.narrow_dark)
    return replace(figure, data=wide[0], dark=wide[1], narrow=narrow[0], narrow_dark=narrow[1])


def _one(light: bytes, dark: bytes) -> tuple[bytes, bytes]:
    """Return (picture, nothing) where one serves both grounds, else what was given."""
    if not dark or b"<svg" not in light[:1000]:
        return light, dark
    both = for_both_grounds(light.decode(), dark.decode())
    return (both.encode(), b"") if both else (light, dark)


def for_both_grounds(light: str, dark: str) -> str | None:
    """Return one SVG with both sets of colours; None where the two differ in more than styles' colours."""
    if COLOUR.sub("", light) != COLOUR.sub("", dark):
        return None
    pairs = list(zip(COLOUR.findall(light), COLOUR.findall(dark), strict=True))
    names = {pair: f"--c{place}" for place, pair in enumerate(dict.fromkeys(pairs))}
    if STYLE.sub("", light) != STYLE.sub("", dark):
        return None
    following = iter(COLOUR.findall(dark))
    places = {found.start(): names[found.group(), next(following)] for found in COLOUR.finditer(light)}

    def named(style: re.Match[str]) -> str:
        start = style.start()
        return COLOUR.sub(lambda one: f"var({places[start + one.start()]})", style.group())

    both = STYLE.sub(named, light)
    head = HEAD.search(both)
    if head is None:
        return None
    return f"{both[: head.end()]}<style>{_rules(names)}</style>{both[head.end() :]}"


def _rules(names: dict[tuple[str, str], str]) -> str:
    """Return the colours of both grounds as custom properties."""
    light = ";".join(f"{name}:{pair[0]}" for pair, name in names.items())
    dark = ";".join(f"{name}:{pair[1]}" for pair, name in names.items())
    return f":root{{{light}}}@media (prefers-color-scheme:dark){{:root{{{dark}}}}}"


LATIN = "".join(chr(code) for code in (*range(0x20, 0x7F), *range(0xA0, 0x180)))
GREEK = "".join(chr(code) for code in range(0x391, 0x3CA) if code != 0x3A2)
SPACES = "\u2009\u200a\u202f\u2010\u2011\u2012"
SIGNS = "–—‘’“”„†•…‰′″⁻⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉€−×÷±≤≥≈≠∞√∂∆∑→←↑↓●■▲◆▼✚✖◀▶★◇½⅓¼›"
CHARACTERS = LATIN + GREEK + SPACES + SIGNS
FACES = {
    "regular": ("normal", 400),
    "italic": ("italic", 400),
    "bold": ("normal", 700),
}


CUT_ALREADY = "daylight/typefaces"
"""Where the shipped themes' own faces lie, cut: cutting them takes two seconds of a first build."""


def typeface_styles(theme: Theme) -> str:
    """Return one `@font-face` rule for each face that `[typefaces]` of theme.toml names."""
    return "".join(
        _rule(f"Lyewitness {family.title()}", face, face_bytes(family, face, faces))
        for family, faces in sorted(theme.typefaces.items())
        for face in sorted(faces)
    )


def face_bytes(family: str, face: str, faces: Mapping[str, str]) -> bytes:
    """Return one face of a family as WOFF2: the one that was shipped cut, or cut now from the font's file."""
    kept = shipped_folder("themes") / CUT_ALREADY / cut_name(family, face, faces)
    return kept.read_bytes() if kept.is_file() else cut_face(family, face, faces)


def cut_face(family: str, face: str, faces: Mapping[str, str]) -> bytes:
    """Return one face of a family as WOFF2, with the signs that all of the family's files have."""
    name = f"Lyewitness {family.title()} {face.title()}"
    return cut_font(faces[face], name, shared_characters(tuple(faces.values())))


def cut_name(family: str, face: str, faces: Mapping[str, str]) -> str:
    """Return the name under which a cut face lies: other files or other signs give another."""
    told = hashlib.sha256(repr((faces[face], sorted(faces.items()), CHARACTERS)).encode()).hexdigest()
    return f"{family}-{face}-{told[:8]}.woff2"


@lru_cache(maxsize=16)
def shared_characters(files: tuple[str, ...]) -> str:
    """Return those of `CHARACTERS` that every face of a family has.

    A sign that one face alone had would be borrowed by the others, and the PDF layout takes the borrowed
    face for the one that borrowed it. What no face has comes from the next family, under its own name.
    """
    # Here and below: loading what cuts fonts takes 0.2 s, and few builds cut one.
    from fontTools.ttLib import TTFont

    held = [set(TTFont(font_folder() / file).getBestCmap()) for file in files]
    return "".join(sign for sign in CHARACTERS if all(ord(sign) in face for face in held))


def _rule(family: str, face: str, font: bytes) -> str:
    style, weight = FACES[face]
    return (
        f'@font-face{{font-family:"{family}";font-style:{style};font-weight:{weight};font-display:swap;'
        f'src:url("data:font/woff2;base64,{b64encode(font).decode()}") format("woff2")}}\n'
    )


@lru_cache(maxsize=16)
def cut_font(file: str, name: str, characters: str) -> bytes:
    """Return the font of `file` with `characters` only, as WOFF2, under another name.

    The name changes because the licence of the fonts keeps theirs for the unchanged ones. Each face has its
    own: layout programs that tell fonts apart by name would mix up the signs of two faces.
    """
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    font = TTFont(font_folder() / file, recalcTimestamp=False)
    options = Options()
    options.layout_features = ["kern", "liga", "tnum", "lnum", "frac", "sups", "subs"]
    options.hinting = False
    options.drop_tables = [*options.drop_tables, "FFTM"]
    options.name_IDs = [1, 2, 4, 6, 13, 14]
    cutter = Subsetter(options)
    cutter.populate(text=characters)
    cutter.subset(font)
    for record in font["name"].names:
        if record.nameID in (1, 4, 6):
            record.string = name.replace(" ", "") if record.nameID == 6 else name
    font.flavor = "woff2"
    written = io.BytesIO()
    font.save(written, reorderTables=False)
    return written.getvalue()


def font_folder() -> Path:
    """Return where matplotlib keeps its fonts; found without importing it."""
    found = find_spec("matplotlib")
    if found is None or found.origin is None:
        raise FileNotFoundError("this installation of lyewitness lacks matplotlib; install it again")
    return Path(found.origin).parent / "mpl-data" / "fonts" / "ttf"


def typeface_licences() -> str:
    """Return the licences of the fonts, which must go with them."""
    names = ("LICENSE_STIX", "LICENSE_DEJAVU")
    return "\n\n".join((font_folder() / name).read_text(encoding="utf-8") for name in names)


FOLDER = "theme"
"""Where assets lie below the report."""
PRINT_STYLES, LETTER_STYLES, SUMMARY_STYLES = "print.css", "letter.css", "summary.css"
"""The styles of what is set on paper, which no page of the edition loads."""
ROLES = ("ground", "ink", "muted", "faint", "accent")


def assets(theme: Theme, store: Store = NO_STORE) -> tuple[tuple[str, bytes], ...]:
    """Return every file of the theme's `assets/` folders, and its colours and typefaces as styles."""
    files: dict[str, bytes] = {}
    for folder in reversed(theme.folders):
        for file in sorted((folder / "assets").rglob("*")):
            if file.is_file() and file.name not in (PRINT_STYLES, LETTER_STYLES, SUMMARY_STYLES):
                files[file.relative_to(folder / "assets").as_posix()] = file.read_bytes()
    files["colours.css"] = (colour_styles(theme) + group_styles(theme)).encode()
    faces = {family: dict(files_of) for family, files_of in theme.typefaces.items()}
    files["type.css"] = store.made("typefaces", (faces,), lambda: typeface_styles(theme)).encode()
    files["type-licences.txt"] = typeface_licences().encode()
    return tuple((f"{FOLDER}/{name}", data) for name, data in sorted(files.items()))


def colour_styles(theme: Theme, dark: bool = True) -> str:
    """Return the theme's colours as custom properties, for a light and, if wanted, for a dark ground."""
    look = look_from(theme.look)
    light = f":root{{color-scheme:{'light dark' if dark else 'light'};{_properties(look.light)}}}"
    if not dark:
        return light + "\n"
    return f"{light}\n@media screen and (prefers-color-scheme:dark){{:root{{{_properties(look.dark)}}}}}\n"


def group_styles(theme: Theme) -> str:
    """Return the styles that give a group its colour, one a place in the study."""
    count = len(look_from(theme.look).light.groups)
    return "".join(f".g{place}{{color:var(--group-{place})}}" for place in range(count))


def _properties(palette: Palette) -> str:
    roles = [f"--{role}:{getattr(palette, role)}" for role in ROLES]
    groups = [f"--group-{place}:{colour}" for place, colour in enumerate(palette.groups)]
    return ";".join((*roles, *groups))
