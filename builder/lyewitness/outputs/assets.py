"""Styles, scripts and typefaces that the pages need beside them.

In: `Theme`. Out: (path below the report, bytes), the same bytes on every run.
"""

from lyewitness.document.themes import Theme
from lyewitness.figures.style import Palette, look_from
from lyewitness.outputs.typefaces import typeface_licences, typeface_styles

FOLDER = "theme"
"""Where assets lie below the report."""
PRINT_STYLES = "print.css"
"""The styles of the PDF, which no page of the edition loads."""
ROLES = ("ground", "ink", "muted", "faint", "accent")


def assets(theme: Theme) -> tuple[tuple[str, bytes], ...]:
    """Return every file of the theme's `assets/` folders, and its colours and typefaces as styles."""
    files: dict[str, bytes] = {}
    for folder in reversed(theme.folders):
        for file in sorted((folder / "assets").rglob("*")):
            if file.is_file() and file.name != PRINT_STYLES:
                files[file.relative_to(folder / "assets").as_posix()] = file.read_bytes()
    files["colours.css"] = (colour_styles(theme) + group_styles(theme)).encode()
    files["type.css"] = typeface_styles(theme).encode()
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
