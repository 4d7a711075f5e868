"""What templates are given: small records in which everything is already words and addresses.

In: nothing. Out: the view records that the `views_*` modules fill and the templates show.
Every `href` is a path below the report; a template puts the way to the report's root before it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Link:
    """Words that lead somewhere; plain words where `href` is empty."""

    label: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class FigureView:
    """A figure as a page shows it."""

    id: str
    """Anchor, such as `figure-lives`."""
    title: str
    caption: str
    alt: str
    src: str
    dark_src: str
    """Picture for a dark ground; empty where one serves both."""
    width: int
    height: int
    full: str
    """The picture in its full resolution; empty where that is what is shown."""
    home: str
    """Its permanent address."""
    csv: str
    """Its data; empty where it has none."""
    cite: str
    narrow_src: str = ""
    """The figure drawn for a narrow screen; empty where one serves both."""
    narrow_dark_src: str = ""
    narrow_width: int = 0
    narrow_height: int = 0


@dataclass(frozen=True, slots=True)
class Strip:
    """A value with its interval, drawn small."""

    svg: str
    words: str
    """The same in words."""


@dataclass(frozen=True, slots=True)
class Reasons:
    """Links that share the first words, such as three columns' lives by one metric."""

    lead: str
    """What they share; empty where the links say all."""
    links: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence of the argument with what stands beside it."""

    id: str
    text: str
    strength: str
    """`shown`, `indicated`, `not settled`, `contradicted`; empty where none is claimed."""
    because: tuple[Reasons, ...] = ()
    more: tuple[Reasons, ...] = ()
    """What else it rests on, shown on demand."""
    figure: FigureView | None = None
    strip: Strip | None = None
    number: int | None = None
    """Its place among the reasons of its page, by which others on the page name it."""

    @property
    def strength_class(self) -> str:
        """Return the strength as the name of a style."""
        return self.strength.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class Mark:
    """Colour and shape of a group, as its place in the study and a character."""

    place: int
    shape: str


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table."""

    text: str
    href: str = ""
    key: str = ""
    """What a script sorts by, where that is not the text."""
    pad: str = ""
    """Style that sets the decimal point below those above: `pad-1` … `pad-6-point`, `lead-1` … `lead-6`."""
    number: bool = False
    held: bool = False
    """True where the text must stay on one line, such as a value with its interval."""
    mark: Mark | None = None
    title: str = ""
    """Words that explain the cell, shown after it in small print."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row; `struck` where it is left out of every computation."""

    cells: tuple[Cell, ...]
    id: str = ""
    struck: bool = False


@dataclass(frozen=True, slots=True)
class TableView:
    """A table, complete without a script."""

    id: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    numeric: tuple[bool, ...]
    csv: str = ""
    note: str = ""
    cite: str = ""
    home: str = ""
    long: bool = False
    """True where a filter helps."""


@dataclass(frozen=True, slots=True)
class Fact:
    """A name, what is so, and where it comes from."""

    id: str
    name: str
    text: str
    source: str = ""
    bearing: str = ""


@dataclass(frozen=True, slots=True)
class ImageView:
    """One picture of the study with what is known of it."""

    id: str
    """Its anchor."""
    name: str
    caption: str
    column: Link | None
    facts: tuple[Fact, ...]
    figures: tuple[FigureView, ...]
    """The picture as published, page by page, and what was measured on it."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page before it is text: the template and what it shows."""

    path: str
    template: str
    title: str
    content: Mapping[str, object]
    crumbs: tuple[Link, ...] = ()
    part: str = ""
    """Which part of the report it belongs to: a key of the theme's `nav` strings."""
    before: Link | None = None
    after: Link | None = None
    scripts: tuple[str, ...] = field(default=())
    """Scripts of the theme it needs beside the common one."""
