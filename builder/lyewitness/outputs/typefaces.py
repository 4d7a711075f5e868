"""The type of pages and prints: fonts cut to the signs that are used, as styles.

In: `Theme`. Out: `@font-face` rules that hold their fonts, the same bytes on every run, and their licences.
"""

import io
import json
from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from lyewitness.document.themes import Theme
from lyewitness.shipped import font_file, font_licences
from lyewitness.store import NO_STORE, Store

if TYPE_CHECKING:
    from fontTools.ttLib import TTFont

LATIN = "".join(chr(code) for code in (*range(0x20, 0x7F), *range(0xA0, 0x180)))
GREEK = "".join(chr(code) for code in range(0x391, 0x3CA) if code != 0x3A2)
SPACES = {"\u2009": 1 / 5, "\u200a": 1 / 10, "\u202f": 1 / 5}
"""Thin, hair and narrow no-break space, and how wide they are set, ems."""
HYPHENS = "\u2010\u2011"
DASHES = "\u2012"
SIGNS = "–—‘’“”„†•…‰′″⁻⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉€−×÷±≤≥≈≠∞√∂∆∑→←↑↓●■▲◆▼✚✖◀▶★◇½⅓¼›"
CHARACTERS = LATIN + GREEK + "".join(SPACES) + HYPHENS + DASHES + SIGNS
BESIDE = "signs"
"""The family that has signs alone, which others lack."""
FACES = {
    "regular": ("normal", 400),
    "italic": ("italic", 400),
    "bold": ("normal", 700),
}
KEPT_NAMES = frozenset((1, 2, 4, 6, 13, 14))
"""Family, style, full name, name for PostScript, licence, its address; OpenType, `name` table."""
ENGLISH = 0x409
"""The language of those names (OpenType, `name` table: Windows language identifiers)."""


def typeface_styles(theme: Theme, store: Store = NO_STORE, on_paper: bool = False) -> str:
    """Return one `@font-face` rule for each face that `[typefaces]` of theme.toml names.

    On screen the fonts are packed (WOFF2); what sets paper would unpack each of them for each print. They are
    cut from packages and bear nothing of a study: those of the shipped themes come with the program, others
    from `store` even where all is to be made anew.
    """
    source = cut_source(theme, on_paper)
    came = CUT_FACES / cut_name(*source)
    if came.is_file():
        return came.read_text(encoding="ascii")
    return replace(store, used=True).made("typefaces", source, lambda: font_rules(source[0], on_paper))


CUT_FACES = Path(__file__).with_name("cut_faces")
"""Faces that were cut beforehand, which takes 2.5 s: `python -m tests.cut_faces` writes those of the shipped
themes."""


Source = tuple[dict[str, dict[str, str]], list[str], bool]
"""Files by family and face, SHA-256 of each, whether they are for paper."""


def cut_source(theme: Theme, on_paper: bool) -> Source:
    """Return what the faces of a theme are cut from."""
    faces = {family: dict(files) for family, files in theme.typefaces.items()}
    held = [font_file(file).read_bytes() for files in faces.values() for file in files.values()]
    return faces, [sha256(font).hexdigest() for font in held], on_paper


def cut_name(faces: Mapping[str, Mapping[str, str]], hashes: Sequence[str], on_paper: bool) -> str:
    """Return the name of a file in `CUT_FACES`: other fonts, or another way of cutting, have another one."""
    way = sha256(Path(__file__).read_bytes()).hexdigest()
    told = json.dumps([faces, hashes, on_paper, way], sort_keys=True)
    return f"{'paper' if on_paper else 'screen'}-{sha256(told.encode()).hexdigest()[:16]}.css"


def font_rules(typefaces: Mapping[str, Mapping[str, str]], on_paper: bool) -> str:
    """Return the rules of all faces, cut now."""
    return "".join(
        _rule(f"Lyewitness {family.title()}", face, cut_face(family, face, faces), on_paper)
        for family, faces in sorted(typefaces.items())
        for face in sorted(faces)
    )


def cut_face(family: str, face: str, faces: Mapping[str, str]) -> bytes:
    """Return one face of a family as TrueType, with the signs that all of the family's files have."""
    name = f"Lyewitness {family.title()} {face.title()}"
    shared = shared_characters(tuple(faces.values()))
    return cut_font(faces[face], name, "".join(sign for sign in shared if family != BESIDE or sign in SIGNS))


@lru_cache(maxsize=16)
def shared_characters(files: tuple[str, ...]) -> str:
    """Return those of `CHARACTERS` that every face of a family has.

    A sign that one face alone had would be borrowed by the others, and the PDF layout takes the borrowed
    face for the one that borrowed it. What no face has comes from the next family, under its own name.
    """
    # Here and below: loading what cuts fonts takes 0.2 s, and what was cut is kept between builds.
    from fontTools.ttLib import TTFont

    held = [set(TTFont(font_file(file)).getBestCmap()) for file in files]
    made = {*SPACES, *HYPHENS}
    return "".join(sign for sign in CHARACTERS if sign in made or all(ord(sign) in face for face in held))


def _rule(family: str, face: str, font: bytes, on_paper: bool) -> str:
    style, weight = FACES[face]
    kind, form, data = ("ttf", "truetype", font) if on_paper else ("woff2", "woff2", _packed(font))
    return (
        f'@font-face{{font-family:"{family}";font-style:{style};font-weight:{weight};font-display:swap;'
        f'src:url("data:font/{kind};base64,{b64encode(data).decode()}") format("{form}")}}\n'
    )


def _packed(font: bytes) -> bytes:
    """Return a font as WOFF2."""
    from fontTools.ttLib import TTFont

    whole = TTFont(io.BytesIO(font), recalcTimestamp=False)
    whole.flavor = "woff2"
    return _saved(whole)


def _saved(font: "TTFont") -> bytes:
    written = io.BytesIO()
    font.save(written, reorderTables=False)
    return written.getvalue()


@lru_cache(maxsize=16)
def cut_font(file: str, name: str, characters: str) -> bytes:
    """Return the font of `file` with `characters` only, as TrueType, under another name.

    The name changes because the licence of the fonts keeps theirs for the unchanged ones. Each face has its
    own: layout programs that tell fonts apart by name would mix up the signs of two faces.
    """
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    font = TTFont(font_file(file), recalcTimestamp=False)
    options = Options()
    options.layout_features = ["kern", "liga", "tnum", "lnum", "frac", "sups", "subs"]
    options.hinting = False
    options.drop_tables = [*options.drop_tables, "FFTM"]
    cutter = Subsetter(options)
    cutter.populate(text=characters)
    names = font["name"]
    # With its names in the font, the cutter visits every entry of every table for one that is still in use, a
    # fifth of the work: none of these features has a name.
    del font["name"]
    cutter.subset(font)
    names.names = [
        record
        for record in names.names
        if record.nameID in KEPT_NAMES and record.isUnicode() and record.langID == ENGLISH
    ]
    for record in names.names:
        if record.nameID in (1, 4, 6):
            record.string = name.replace(" ", "") if record.nameID == 6 else name
    font["name"] = names
    if SPACES.keys() & set(characters):
        _complete(font)
    return _saved(font)


def _complete(font: "TTFont") -> None:
    """Give the face the spaces and hyphens that it lacks, so that no other face is asked for them.

    A borrowed space parts a number from its unit into two pieces of text, which a reader cannot find as one.
    """
    from fontTools.ttLib.tables._g_l_y_f import Glyph

    held = font.getBestCmap()
    lines = {ord(sign): held[ord("-")] for sign in HYPHENS if ord(sign) not in held}
    wide = font["head"].unitsPerEm
    for sign, part in SPACES.items():
        if ord(sign) not in held:
            name = f"space{ord(sign):04X}"
            font["glyf"][name] = Glyph()
            font["hmtx"][name] = (round(wide * part), 0)
            lines[ord(sign)] = name
    for table in font["cmap"].tables:
        if table.isUnicode() and table.format != 14:
            table.cmap.update(lines)


def typeface_licences() -> str:
    """Return the licences of the fonts, which must go with them."""
    return "\n\n".join(path.read_text(encoding="utf-8") for path in font_licences())
