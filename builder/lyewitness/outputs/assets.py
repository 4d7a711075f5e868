"""Styles, scripts and pictures as the pages need them beside them.

In: `Theme`, pictures drawn for a light and a dark ground. Out: (path below the report, bytes), the
same bytes on every run.
"""

import re

from lyewitness.document.themes import ON_PAPER, Theme
from lyewitness.figures.records import Figure
from lyewitness.figures.style import Palette, look_from
from lyewitness.outputs.typefaces import typeface_licences, typeface_styles
from lyewitness.store import NO_STORE, Store

COLOUR = re.compile(r"#[0-9a-fA-F]{6}\b")
STYLE = re.compile(r'style="[^"]*"')
HEAD = re.compile(r"<svg\b[^>]*>")


def on_both_grounds(figure: Figure, store: Store = NO_STORE) -> Figure:
    """Return the figure with one picture for both grounds in the place of two, where that can be done.

    For screens only: what sets the PDF does not know custom properties. Those of the same two come from
    `store`.
    """
    if not figure.dark and not figure.narrow_dark:
        return figure
    given = (figure.data, figure.dark, figure.narrow, figure.narrow_dark)
    wide, narrow = store.made("both grounds", given, lambda: (_one(*given[:2]), _one(*given[2:])))
    return figure.repainted(*wide, *narrow)


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


FOLDER = "theme"
"""Where assets lie below the report."""
ROLES = ("ground", "ink", "muted", "faint", "accent")


def assets(theme: Theme, store: Store = NO_STORE) -> tuple[tuple[str, bytes], ...]:
    """Return every file of the theme's `assets/` folders, and its colours and typefaces as styles."""
    files: dict[str, bytes] = {}
    for folder in reversed(theme.folders):
        for file in sorted((folder / "assets").rglob("*")):
            if file.is_file() and file.name not in ON_PAPER:
                data = file.read_bytes()
                files[file.relative_to(folder / "assets").as_posix()] = (
                    _brief(data) if file.suffix == ".js" else data
                )
    files["colours.css"] = (colour_styles(theme) + group_styles(theme)).encode()
    files["type.css"] = typeface_styles(theme, store).encode()
    files["type-licences.txt"] = typeface_licences().encode()
    return tuple((f"{FOLDER}/{name}", data) for name, data in sorted(files.items()))


REMARK = re.compile(rb"^[ \t]*/\*.*?\*/[ \t]*$", re.MULTILINE | re.DOTALL)
BLANK = re.compile(rb"^\s+", re.MULTILINE)


def _brief(script: bytes) -> bytes:
    """Return a script without its indents and without remarks that have lines of their own."""
    return BLANK.sub(b"", REMARK.sub(b"", script))


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
