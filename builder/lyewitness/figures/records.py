"""A picture with everything a page needs to show it.

In: bytes drawn by this stage. Out: `Figure`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the axes of a drawing lie on it, CSS pixels from its top left corner, and what they span."""

    left: float
    top: float
    wide: float
    tall: float
    from_h: float
    to_h: float
    low: float
    high: float
    """In the unit of the values drawn."""


@dataclass(frozen=True, slots=True)
class Trail:
    """The decline of one column as it is drawn."""

    column: str
    injections: tuple[str, ...]
    """Ids in the order of exposure."""
    hours: tuple[float, ...]
    values: tuple[float, ...]
    """In the unit of the axis."""


@dataclass(frozen=True, slots=True)
class Trails:
    """What a page needs to follow the declines of a drawing, point by point."""

    frame: Frame
    narrow: Frame
    """The same on the drawing for a narrow screen."""
    metric: str
    """The metric's id where values are in its own unit; empty for percent of each column's reference."""
    trails: tuple[Trail, ...]


@dataclass(frozen=True, slots=True)
class Laid:
    """What a page needs to show pictures that belong together by themselves, not as the one made of them."""

    figures: tuple[str, ...]
    """Ids of the figures that show them, the least exposed first."""
    images: tuple[str, ...]
    """Ids of the study's images, in the same order."""
    alike: bool
    """Whether they are two of one size and one scale: others share a scale only as the one made of them."""
    moved: tuple[float, float] | None
    """Where the second of two lies on the first, shares of its width and height; None where nothing says that
    both show one place."""
    correlation: float | None
    """Of their greys, once the second is moved; None where the study alone says that they show one place."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure; the same bytes go to the site, the PDF and the letter."""

    id: str
    """Slug, unique in the report: `lives`, `decline-caffeine-plate_number_half_height`, …"""
    file: str
    """Path below the report, such as `figures/lives.svg`."""
    data: bytes
    """SVG or PNG."""
    title: str
    """A few words."""
    caption: str
    """The finding, then what the marks and bands mean."""
    alt: str
    """What is to be seen, with the numbers."""
    width_px: int
    height_px: int
    table: tuple[tuple[str, ...], ...] = ()
    """The drawn data as rows, header first; becomes a CSV beside the figure. Empty for none."""
    dark: bytes = b""
    """The same figure for a dark ground; empty where one serves both."""
    full_file: str = ""
    """Path below the report of the same picture at full resolution; empty where `data` is all there is."""
    full: bytes = b""
    """What lies at `full_file`."""
    narrow: bytes = b""
    """The same figure drawn for a narrow screen (SVG); empty where one serves both."""
    narrow_dark: bytes = b""
    """`narrow` for a dark ground."""
    narrow_width_px: int = 0
    narrow_height_px: int = 0
    trails: Trails | None = None
    """The declines drawn on it, to be followed; None for a drawing that is only looked at."""
    laid: Laid | None = None
    """The pictures that it was made of, where a page may show them in its place."""
    low: "Figure | None" = None
    """Less of the same, drawn low for what is left of a printed page; None where there is no such drawing."""

    def repainted(self, data: bytes, dark: bytes, narrow: bytes, narrow_dark: bytes) -> "Figure":
        """Return the figure with other pictures."""
        return replace(self, data=data, dark=dark, narrow=narrow, narrow_dark=narrow_dark)

    @property
    def has_table(self) -> bool:
        """Whether the drawn data stand beside it."""
        return bool(self.table)


def number_cell(value: float | None, digits: int = 6) -> str:
    """Return a cell of a data table: plain ASCII, empty for none."""
    return "" if value is None or value != value else f"{value:.{digits}g}"


def table_of(
    header: Sequence[str], rows: Iterable[Sequence[str | float | None]]
) -> tuple[tuple[str, ...], ...]:
    """Return rows of text, header first."""
    body = (tuple(one if isinstance(one, str) else number_cell(one) for one in row) for row in rows)
    return (tuple(header), *body)
