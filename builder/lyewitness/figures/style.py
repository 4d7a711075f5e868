"""The one look of all figures: colours, marks, lines and type, and how a theme states them.

In: a theme's `look.toml` as a mapping, and the look it builds on. Out: `Look`.

The keys, all optional, are those of `SHIPPED`: `[light]` and `[dark]` with `ground`, `ink`, `muted`,
`faint`, `accent` and `groups`; `[marks]` with `shapes` and `dashes`; `[type]` with `font`, `fallback`,
`label_px`; `[lines]` with `line_px`, `mark_px`; `[size]` with `width_px`. Sizes are CSS pixels.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.lines import Line2D

from lyewitness.problems import Problem, StudyFolderError

GROUND = "#010101"
INK = "#020202"
MUTED = "#030303"
FAINT = "#040404"
ACCENT = "#050505"
GROUP = "#0606"
"""Pigments: fixed codes that stand for a role until a sheet is finished; a group's has its number behind."""

Dashes = tuple[float, ...]

NARROW_PX = 344
"""Width of a figure on a phone: 360 CSS pixels less the page's margins."""


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours on one ground, each `#rrggbb`."""

    ground: str
    ink: str
    muted: str
    """Axes, words of the second rank."""
    faint: str
    """Rules that must not be seen first."""
    accent: str
    groups: tuple[str, ...]
    """One a group in the study's order; begun again where there are more groups."""


@dataclass(frozen=True, slots=True)
class GroupInk:
    """How one group is drawn, everywhere."""

    colour: str
    """A pigment."""
    mark: str
    """A matplotlib marker."""
    dashes: Dashes
    """Lengths on and off in line widths; empty for a solid line."""


@dataclass(frozen=True, slots=True)
class Look:
    """All that a theme decides about figures. Sizes in CSS pixels."""

    light: Palette
    dark: Palette
    marks: tuple[str, ...]
    """matplotlib markers, one a group."""
    dashes: tuple[Dashes, ...]
    label_font: str
    """Family of all words in figures; must be installed or come with matplotlib."""
    fallback_fonts: str
    """CSS families for the figures whose words stay text."""
    label_px: float
    line_px: float
    mark_px: float
    width_px: int
    """Width of a figure that fills the main column."""

    def group(self, index: int) -> GroupInk:
        """Return how the group at `index` in the study's order is drawn."""
        colour = f"{GROUP}{index % len(self.light.groups):02x}"
        return GroupInk(colour, self.marks[index % len(self.marks)], self.dashes[index % len(self.dashes)])

    def narrow(self) -> "Look":
        """Return this look for the screen of a phone."""
        return replace(self, width_px=NARROW_PX)

    def words_width(self, words: str) -> float:
        """Return the width of one line of `words` at the label size, pixels."""
        font = get_font(findfont(FontProperties(family=self.label_font)))
        font.set_size(self.label_px, 72)
        font.set_text(words, 0.0)
        return float(font.get_width_height()[0]) / 64.0


_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_ROLES = ("ground", "ink", "muted", "faint", "accent")
_SECTIONS: Mapping[str, tuple[str, ...]] = {
    "light": (*_ROLES, "groups"),
    "dark": (*_ROLES, "groups"),
    "marks": ("shapes", "dashes"),
    "type": ("font", "fallback", "label_px"),
    "lines": ("line_px", "mark_px"),
    "size": ("width_px",),
}
_OTHERS = ("page",)
"""Sections that figures do not read."""
SHIPPED: Mapping[str, Mapping[str, Any]] = {
    "light": {
        "ground": "#fbfaf6",
        "ink": "#22252a",
        "muted": "#676c73",
        "faint": "#d9d6cd",
        "accent": "#7a3b12",
        "groups": ("#0079bf", "#da6f47", "#044f3e", "#4f2c71", "#73520d", "#848d91"),
    },
    "dark": {
        "ground": "#14171a",
        "ink": "#e8e6e1",
        "muted": "#9aa0a6",
        "faint": "#3a3f45",
        "accent": "#e6a06c",
        "groups": ("#2ca3e2", "#f4945b", "#b1e9cc", "#f9d4fd", "#8d702e", "#6c7f85"),
    },
    "marks": {
        "shapes": ("o", "s", "^", "D", "v", "P", "X"),
        "dashes": ((), (5.0, 2.0), (1.5, 1.5), (7.0, 2.0, 1.5, 2.0), (3.0, 1.5), (9.0, 3.0)),
    },
    "type": {"font": "DejaVu Sans", "fallback": "'DejaVu Sans', Verdana, sans-serif", "label_px": 13.0},
    "lines": {"line_px": 1.5, "mark_px": 6.0},
    "size": {"width_px": 640},
}


def look_from(mapping: Mapping[str, Any], base: Mapping[str, Any] = SHIPPED) -> Look:
    """Return the look of a theme; what `mapping` leaves out is taken from `base`, then from `SHIPPED`.

    Raises StudyFolderError with every mistake found in `mapping`.
    """
    problems = tuple(_mistakes(mapping))
    if problems:
        raise StudyFolderError(problems)
    told = merged(merged(SHIPPED, base), mapping)
    light, dark = _palette(told["light"]), _palette(told["dark"])
    if len(light.groups) != len(dark.groups):
        both = f"{len(light.groups)} light and {len(dark.groups)} dark colours"
        raise StudyFolderError((_problem("light.groups", both, "as many of both"),))
    return Look(
        light=light,
        dark=dark,
        marks=tuple(told["marks"]["shapes"]),
        dashes=tuple(tuple(float(length) for length in dashes) for dashes in told["marks"]["dashes"]),
        label_font=told["type"]["font"],
        fallback_fonts=told["type"]["fallback"],
        label_px=float(told["type"]["label_px"]),
        line_px=float(told["lines"]["line_px"]),
        mark_px=float(told["lines"]["mark_px"]),
        width_px=int(told["size"]["width_px"]),
    )


def merged(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Return `base` with the keys of `over`, section by section: how a theme inherits from another."""
    names = [*base, *(name for name in over if name not in base)]
    return {name: {**base.get(name, {}), **over.get(name, {})} for name in names}


def _palette(section: Mapping[str, Any]) -> Palette:
    """Return the colours of one ground."""
    roles = {role: section[role].lower() for role in _ROLES}
    return Palette(**roles, groups=tuple(colour.lower() for colour in section["groups"]))


def _mistakes(mapping: Mapping[str, Any]) -> list[Problem]:
    """Return what is wrong with `mapping`, one problem a key."""
    found = []
    for section, keys in mapping.items():
        if section in _OTHERS:
            continue
        if section not in _SECTIONS or not isinstance(keys, Mapping):
            found.append(_problem(section, "a section of no meaning", "one of " + ", ".join(_SECTIONS)))
            continue
        for key, value in keys.items():
            expected = _expected(section, key, value)
            if expected:
                found.append(_problem(f"{section}.{key}", repr(value), expected))
    return found


def _expected(section: str, key: str, value: object) -> str:
    """Return what should stand at `section.key` in place of `value`; empty where it is right."""
    if key not in _SECTIONS[section]:
        return "one of the keys " + ", ".join(_SECTIONS[section])
    if section in ("light", "dark"):
        colours = value if key == "groups" and isinstance(value, list | tuple) else [value]
        right = bool(colours) and all(isinstance(one, str) and _COLOUR.fullmatch(one) for one in colours)
        return "" if right else "colours as #rrggbb"
    if key == "shapes":
        known = isinstance(value, list | tuple) and value and all(mark in Line2D.markers for mark in value)
        return "" if known else "a list of matplotlib markers"
    if key == "dashes":
        return "" if isinstance(value, list | tuple) and value else "a list of lists of lengths"
    if key == "font":
        return "" if isinstance(value, str) and _is_installed(value) else "a font that is installed here"
    if key == "fallback":
        return "" if isinstance(value, str) and value else "names of fonts as in CSS"
    right = isinstance(value, int | float) and not isinstance(value, bool) and value > 0
    return "" if right else "a number of pixels above zero"


def _is_installed(font: str) -> bool:
    """Return whether figures can be lettered in `font`."""
    try:
        findfont(FontProperties(family=font), fallback_to_default=False)
    except ValueError:
        return False
    return True


def _problem(place: str, found: str, expected: str) -> Problem:
    """Return one mistake in `look.toml`."""
    return Problem("error", "look.toml", place, found, expected, "Correct the theme's look.toml.")
