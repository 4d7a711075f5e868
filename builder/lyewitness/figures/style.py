"""The one look of all figures: colours, marks, lines and type, and how a theme states them.

In: a theme's `look.toml` as a mapping, and the look it builds on. Out: `Look`.

Every key of the file is a field of `_File` and optional: the file of the theme that others inherit holds
them all. Sizes are CSS pixels.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, WrapValidator
from pydantic_core import ErrorDetails, PydanticCustomError

from lyewitness.shipped import font_file, shipped_folder
from lyewitness.words.problems import Problem, StudyFolderError

GROUND = "#010101"
INK = "#020202"
MUTED = "#030303"
FAINT = "#040404"
ACCENT = "#050505"
GROUP = "#0606"
"""Pigments: fixed codes that stand for a role until a sheet is finished; a group's has its number behind."""

Dashes = tuple[float, ...]

LABEL_FONTS = MappingProxyType(
    {"Source Sans Pro": "SourceSansPro-Regular.ttf", "Source Serif Pro": "SourceSerifPro-Regular.ttf"}
)
"""Faces for the words in figures that do not come with what draws, by their families."""
MARKS = frozenset((*".,ov^<>12348spP*hH+xXDd|_", "None", "none", " ", ""))
"""What matplotlib can draw as a mark; loading it takes as long as all else that a kept figure needs."""
SIGNS_FONT = "DejaVu Sans"
"""What the font of the words lacks is taken from here: thin spaces, some signs."""

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
    """Family of all words in figures; must be installed or come with the program."""
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
        return _words_width(words, self.label_font, self.label_px)


def label_file(family: str) -> str:
    """Return the path of the upright face of a family that figures can be lettered in.

    Raises ValueError where it is neither installed nor came with the program.
    """
    # To read a theme needs none of it.
    from matplotlib.font_manager import FontProperties, findfont

    register_fonts()
    return findfont(FontProperties(family=family), fallback_to_default=False)


@lru_cache(maxsize=1)
def register_fonts() -> None:
    """Make the fonts that came with the program known to what draws, once in each process."""
    from matplotlib.font_manager import fontManager

    for name in LABEL_FONTS.values():
        fontManager.addfont(font_file(name))


# The same names are measured for every figure, and for each way of breaking them: without this, two names of
# 60 letters without a blank took 51 s.
@lru_cache(maxsize=1 << 16)
def _words_width(words: str, family: str, size_px: float) -> float:
    from matplotlib.font_manager import get_font

    font = get_font([label_file(name) for name in (family, SIGNS_FONT)])
    font.set_size(size_px, 72)
    font.set_text(words, 0.0)
    return float(font.get_width_height()[0]) / 64.0


def _told(expected: str) -> WrapValidator:
    """Return a check that tells any mistake as what was expected in its place."""

    def check(value: Any, handler: Any) -> Any:
        try:
            return handler(value)
        except (ValidationError, ValueError) as wrong:
            raise PydanticCustomError("look", "{expected}", {"expected": expected}) from wrong

    return WrapValidator(check)


def _installed(font: str) -> str:
    """Return `font` where figures can be lettered in it; ValueError where not."""
    if font not in LABEL_FONTS:
        label_file(font)
    return font


def _known(mark: str) -> str:
    """Return `mark` where it can be drawn; ValueError where not."""
    if mark not in MARKS:
        raise ValueError(mark)
    return mark


_Hex = Annotated[str, Field(pattern="^#[0-9a-fA-F]{6}$"), AfterValidator(str.lower)]
_Colour = Annotated[_Hex, _told("a colour as #rrggbb")]
_Colours = Annotated[tuple[_Hex, ...], Field(min_length=1), _told("colours as #rrggbb")]
_Marks = Annotated[
    tuple[Annotated[str, AfterValidator(_known)], ...],
    Field(min_length=1),
    _told("a list of matplotlib markers"),
]
_Lines = Annotated[tuple[Dashes, ...], Field(min_length=1), _told("a list of lists of lengths")]
_Font = Annotated[str, AfterValidator(_installed), _told("a font that is installed here")]
_Families = Annotated[str, Field(min_length=1), _told("names of fonts as in CSS")]
_Pixels = Annotated[float, Field(gt=0, strict=True), _told("a number of pixels above zero")]
_WholePixels = Annotated[int, Field(gt=0, strict=True), _told("a whole number of pixels above zero")]


class _Section(BaseModel):
    """A section of look.toml; an unknown key is a mistake."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class _Ground(_Section):
    ground: _Colour
    ink: _Colour
    muted: _Colour
    faint: _Colour
    accent: _Colour
    groups: _Colours


class _MarksSection(_Section):
    shapes: _Marks
    dashes: _Lines


class _Type(_Section):
    font: _Font
    fallback: _Families
    label_px: _Pixels


class _LinesSection(_Section):
    line_px: _Pixels
    mark_px: _Pixels


class _Size(_Section):
    width_px: _WholePixels


class _File(_Section):
    """look.toml, as it stands after all that it inherits is merged in."""

    light: _Ground
    dark: _Ground
    marks: _MarksSection
    type: _Type
    lines: _LinesSection
    size: _Size


@lru_cache(maxsize=1)
def shipped_look() -> Mapping[str, Any]:
    """Return look.toml of the theme that others inherit, which holds every key."""
    text = (shipped_folder("themes") / "daylight" / "look.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def look_from(mapping: Mapping[str, Any]) -> Look:
    """Return the look of a theme; what `mapping` leaves out is taken from `shipped_look`.

    Raises StudyFolderError with every mistake found in `mapping`.
    """
    try:
        told = _File.model_validate(merged(shipped_look(), mapping))
    except ValidationError as wrong:
        raise StudyFolderError(tuple(_mistakes(wrong))) from wrong
    light, dark = Palette(**told.light.model_dump()), Palette(**told.dark.model_dump())
    if len(light.groups) != len(dark.groups):
        both = f"{len(light.groups)} light and {len(dark.groups)} dark colours"
        raise StudyFolderError((_problem("light.groups", both, "as many of both"),))
    return Look(
        light=light,
        dark=dark,
        marks=told.marks.shapes,
        dashes=told.marks.dashes,
        label_font=told.type.font,
        fallback_fonts=told.type.fallback,
        label_px=told.type.label_px,
        line_px=told.lines.line_px,
        mark_px=told.lines.mark_px,
        width_px=told.size.width_px,
    )


def merged(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """Return `below` with what `above` says in its place, table by table: how a theme inherits another."""
    both = dict(below)
    for key, value in above.items():
        under = both.get(key)
        if isinstance(value, Mapping) and isinstance(under, Mapping):
            value = merged(under, value)
        both[key] = value
    return both


def _mistakes(wrong: ValidationError) -> Iterator[Problem]:
    """Yield what is wrong in a look.toml, one problem a key."""
    for error in wrong.errors():
        place = ".".join(str(part) for part in error["loc"])
        yield _problem(place, repr(error["input"]), _expected(error))


def _expected(error: ErrorDetails) -> str:
    """Return what should stand where pydantic found something else."""
    if error["type"] == "extra_forbidden":
        return "one of " + ", ".join(_keys_of(error["loc"][0] if len(error["loc"]) > 1 else ""))
    return error["msg"] if error["type"] == "look" else "a section, such as [light]"


def _keys_of(section: str | int) -> Iterator[str]:
    """Yield the keys that may stand in a section; the sections themselves where it is empty."""
    fields = _File.model_fields
    model: Any = fields[str(section)].annotation if section else _File
    yield from model.model_fields


def _problem(place: str, found: str, expected: str) -> Problem:
    """Return one mistake in `look.toml`."""
    return Problem("error", "look.toml", place, found, expected, "Correct the theme's look.toml.")
