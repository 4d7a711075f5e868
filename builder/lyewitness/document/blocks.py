"""What the parts of a report are made of: small records in which everything is already words and addresses.

In: nothing. Out: `Part`s of `Block`s, which the part modules fill and every writer shows. An `href` is a path
below the report, with a fragment where it is a piece of a page; each writer makes its own way there.
"""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Link:
    """Words that lead somewhere; plain words where `href` is empty."""

    label: str
    href: str = ""
    name: str = ""
    """What it is called by itself, read out of its sentence; empty where the label says it."""
    brief: str = ""
    """Its words in the margin of a page on paper, where its target says the rest; empty for its label."""


@dataclass(frozen=True, slots=True)
class Struck:
    """Words that count no longer."""

    text: str


@dataclass(frozen=True, slots=True)
class Day:
    """A date, ISO 8601."""

    iso: str


@dataclass(frozen=True, slots=True)
class Strong:
    """Words that are seen first in small print."""

    text: str


@dataclass(frozen=True, slots=True)
class Quoted:
    """Somebody's own words."""

    text: str


@dataclass(frozen=True, slots=True)
class Code:
    """A line of a file, to be typed as it stands."""

    text: str


Words = tuple[str | Link | Struck | Day | Strong | Quoted | Code, ...]
"""Running text."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Colour and shape of a group, as its place in the study and a character."""

    place: int
    shape: str


@dataclass(frozen=True, slots=True)
class FigureBlock:
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
    headed: bool = False
    """Whether a heading above it says its title."""
    narrow_src: str = ""
    """The figure drawn for a narrow screen; empty where one serves both."""
    narrow_dark_src: str = ""
    narrow_width: int = 0
    narrow_height: int = 0
    low: "FigureBlock | None" = None
    """Less of the same for what is left of a printed page; None where there is no such drawing."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One of the pictures that belong together."""

    anchor: str
    """Of the image itself."""
    view: FigureBlock
    words: "Words"
    """Whose it is."""
    facts: tuple["Fact", ...]


@dataclass(frozen=True, slots=True)
class Paired:
    """Pictures that belong together, each shown once."""

    figure: FigureBlock
    """The one picture made of them; stands in their place where they are not alike."""
    shown: tuple[Shown, ...]
    alike: bool
    """Whether each may be shown by itself at one scale."""
    moved: str
    """Where the second lies on the first, per cent of its sides; empty where they do not show one place."""
    said: str
    """How they are to be looked at."""


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
    where: str = ""
    """Where all of them lead, as the navigation names it; empty where that is the page itself."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of the argument with what stands beside it."""

    id: str
    text: str
    strength: str
    """`shown`, `indicated`, `not settled`, `contradicted`; empty where none is claimed."""
    because: tuple[Reasons, ...] = ()
    more: tuple[Reasons, ...] = ()
    """What else it rests on, shown on demand."""
    figure: FigureBlock | None = None
    strip: Strip | None = None
    number: int | None = None
    """Its place among the reasons of its page, by which others on the page name it."""
    proof: Link | None = None
    """The way to the traces that it rests on, for a screen."""
    sides: Words = ()
    """The injections on either side of the life that it tells of, each with its page."""

    @property
    def strength_class(self) -> str:
        """Return the strength as the name of a style."""
        return self.strength.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: programs find it by its key, readers by its head."""

    key: str
    head: str
    numeric: bool = False


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
    proof: Link | None = None
    """Behind these words, in the same print: the way to the traces that the cell rests on."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row; `struck` where it is left out of every computation."""

    cells: tuple[Cell, ...]
    id: str = ""
    struck: bool = False
    turning: bool = False
    """Whether it is the first past a limit, and is ruled off from those before."""
    told: bool = False
    """Whether its words say something, which a telephone shows below the numbers."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table, complete without a script."""

    id: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    csv: str = ""
    note: str = ""
    cite: str = ""
    home: str = ""
    long: bool = False
    """True where a filter helps."""
    style: str = ""
    """Name by which a style sheet finds it on paper."""


@dataclass(frozen=True, slots=True)
class Band:
    """Rows that share something."""

    label: str
    """What they share; empty where nothing is said."""
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class BandedTable:
    """A table on paper: what rows share is said once above them."""

    title: str
    columns: tuple[Column, ...]
    bands: tuple[Band, ...]
    note: str = ""
    style: str = ""
    page: str = ""
    """The page of the site whose rows these are; empty where nothing leads to them."""
    cells_too: bool = False
    """True where cells, not rows, are what is led to."""


@dataclass(frozen=True, slots=True)
class Fact:
    """A name and what is so."""

    key: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Names, and what is so of each."""

    facts: tuple[Fact, ...]
    style: Literal["facts", "facts wide", "facts kept"] = "facts"


@dataclass(frozen=True, slots=True)
class Prose:
    """One paragraph; `explained` where terms of the trade in it lead to their meaning."""

    words: Words
    style: Literal[
        "", "lead", "byline", "left-out", "rests", "without-scripts", "note", "sentence", "turned"
    ] = ""
    explained: bool = False


@dataclass(frozen=True, slots=True)
class Following:
    """The declines of a figure, followed from injection to injection beside their chromatograms."""

    columns: tuple[Link, ...]
    """Label and page of each."""
    points: str
    """JSON: the frames of the drawing, and of each column its traces and points."""
    viewer: str
    """Address of the trace viewer with one injection, in the place of which others are put."""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The lives to other limits than the study's, for a reader to try."""

    levels: str
    """JSON: groups, levels in percent, and of each level the lives in words and hours."""
    start: int
    """Place of the study's own limit among the levels."""
    last: int


@dataclass(frozen=True, slots=True)
class Opening:
    """The first screen of an answer: what was asked, the answer, how sure, what to do, the pictures."""

    asked: str
    issued: str
    """Revision, day of issue, by whom and why; empty where the study numbers none."""
    question: str
    short: str
    lead: str
    """The first sentence of the short answer, set large …"""
    rest: str
    """… and those after it."""
    how_sure: str
    sure: Words = ()
    """How sure, with the ways to what it names and to the reasons, for a screen."""
    rest_linked: Words = ()
    """`rest`, the same."""
    contradicted: str = ""
    """What was expected, where the data contradict it; else empty."""
    first_failed: Words = ()
    """Which column failed first, and the injections on either side of its limit; nothing where none did."""
    changed: Prose | None = None
    """What has changed since an earlier revision, claims that were withdrawn first."""
    advice: Table | None = None
    """What to do with each group, a row a group."""
    doing: tuple[Sentence, ...] = ()
    """What to do and to mind beside it."""
    lives_figure: FigureBlock | None = None
    bars: str = ""
    """What bars and pale boxes on it are, in one line."""
    following: Following | None = None
    """What can be followed on the figure of lives, where a script runs."""
    what_if: WhatIf | None = None
    """The lives to other limits, where a script runs."""
    decline_figure: FigureBlock | None = None


@dataclass(frozen=True, slots=True)
class Listing:
    """Lines of one kind below each other."""

    items: tuple[Words, ...]
    style: Literal["plain", "plain abreast", "dated"] = "plain"
    explained: bool = False


@dataclass(frozen=True, slots=True)
class Point:
    """Something that is so, by its name, with what follows from it in the margin."""

    kind: Literal["check", "fact", "caution", "definition", "note"]
    id: str
    name: str
    text: str
    strength: str = ""
    """How a check came out, in words."""
    subject: str = ""
    bearing: str = ""
    cure: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Sign:
    """What was seen on one column of one way of failing."""

    id: str
    mechanism: str
    verdict: str
    verdict_class: str
    reasons: tuple[tuple[str, tuple[str, ...]], ...]
    """(head, reasons) of what speaks one way; those that bear the verdict stand right below it, without."""
    indistinct: str
    """From what else these data cannot tell it, a sentence; empty for nothing."""


@dataclass(frozen=True, slots=True)
class Signs:
    """The signs on one column."""

    standing: tuple[Sign, ...]
    """What they speak for, and what they leave open."""
    against: tuple[Sign, ...]
    """What they speak against, shown on demand."""


@dataclass(frozen=True, slots=True)
class LabNote:
    """A note of the laboratory as it was written, in Markdown."""

    text: str
    title: str
    dated: str
    author: str
    page: str
    beside: Words = ()
    """What it points at."""


@dataclass(frozen=True, slots=True)
class TracedInjection:
    """One injection in the list of the trace viewer."""

    id: str
    href: str
    exposure: str
    used: bool
    traced: bool


@dataclass(frozen=True, slots=True)
class TracedColumn:
    """One column in the list of the trace viewer, with the script that holds its traces."""

    id: str
    label: str
    mark: Mark | None
    script: str
    injections: tuple[TracedInjection, ...]


@dataclass(frozen=True, slots=True)
class Viewer:
    """Traces laid over each other; without a script, the list of all injections."""

    columns: tuple[TracedColumn, ...]
    markers: tuple[str, ...]
    limits: str = "{}"
    """JSON, by what an address calls a limit: marker, name, minutes about the apex, sides of its lives."""
    first: tuple[str, ...] = ()
    """Injections that it opens on; empty for those at the ends of the first column."""


@dataclass(frozen=True, slots=True)
class SearchBox:
    """Search over everything; it works with a script only."""


@dataclass(frozen=True, slots=True)
class Contents:
    """The list of parts with their pages, on paper."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A sentence with what stands beside it in the margin."""

    sentence: Words
    margin: tuple["Block", ...] = ()
    lead: bool = False
    explained: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """Blocks below a heading."""

    heading: str
    blocks: tuple["Block", ...]
    anchor: str = ""
    """Where it can be led to; empty for a heading alone."""
    apart: bool = True
    """False for a heading that opens no section of its own."""
    anchored: bool = False
    """True where the section itself bears the anchor, not its heading."""
    href: str = ""
    """Where the heading leads."""
    mark: Mark | None = None
    level: int = 2
    style: str = ""
    folded: bool = False
    """True where a screen shows it when asked to; paper shows all."""


@dataclass(frozen=True, slots=True)
class Piece:
    """On paper, one column or marker within its part."""

    page: str
    """Its page of the site."""
    id: str
    """How the contents name it."""
    label: str
    mark: Mark | None
    text: str
    facts: str
    """What the study says of it, as running text."""
    blocks: tuple["Block", ...]
    style: str = ""
    see: Link | None = None
    """Where more is said of it."""
    rest: FigureBlock | None = None
    """Shown where the page has room for it below all else; nothing leads there."""


@dataclass(frozen=True, slots=True)
class Abreast:
    """Blocks beside each other where there is room."""

    blocks: tuple["Block", ...]
    style: Literal["multiples", "abreast", "two-columns", "claims", "of-2", "of-3"]


Block = (
    FigureBlock | Paired | Sentence | Opening | Table | BandedTable | Facts | Prose | Listing | Point | Signs
    | LabNote | Viewer | SearchBox | Contents | Beside | Section | Piece | Abreast
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Part:
    """One page of the site, or one part of the printed report."""

    key: str
    """Which row of the table of parts it belongs to."""
    path: str
    """Its page below the report."""
    title: str
    blocks: tuple[Block, ...]
    template: str = ""
    """The theme's template for it; that of its key where it is empty."""
    crumbs: tuple[Link, ...] = ()
    before: Link | None = None
    after: Link | None = None
    mark: Mark | None = None
    scripts: tuple[str, ...] = ()
    """What it loads beside the common script, as paths below the report."""
