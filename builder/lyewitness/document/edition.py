"""What every part draws upon: the report, its addresses, its figures and the theme's words.

In: `Report`, `Figure`s, `Theme`, the homes of the parts. Out: `Edition`.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from lyewitness.decline.records import Decline
from lyewitness.document.addresses import Addresses, Home, addresses_of
from lyewitness.document.blocks import Cell, FigureBlock, Link, Mark, Part
from lyewitness.document.themes import Theme
from lyewitness.figures.records import Figure, Laid, Trails
from lyewitness.findings.records import Check, Report
from lyewitness.peaks.records import PeakRow
from lyewitness.store import NO_STORE, Store
from lyewitness.study.records import Revision
from lyewitness.words.phrases import sentence

SHAPES: Mapping[str, str] = {
    "o": "●", "s": "■", "^": "▲", "D": "◆", "v": "▼", "P": "✚", "X": "✖",
    "d": "◆", "<": "◀", ">": "▶", "*": "★",
}  # fmt: skip
"""The character that stands for a drawn mark where a group is named in words."""


@dataclass(frozen=True, eq=False, slots=True)
class Edition:
    """One report in one theme."""

    report: Report
    theme: Theme
    addresses: Addresses
    figures: Mapping[str, FigureBlock]
    """By the figure's id, in the order in which they were drawn."""
    marks: Mapping[str, Mark]
    """By group."""
    rows: Mapping[str, tuple[PeakRow, ...]]
    """What was measured, by injection."""
    declines: Mapping[tuple[str, str, str], Decline]
    """By column, marker and metric."""
    has_pdf: bool = False
    """Whether there is a PDF to lead to."""
    exports: str = ""
    """Path from the report to the study folder where both lie in one bag, such as `../study/`; else empty."""
    at_home: Mapping[str, tuple[FigureBlock, ...]] = field(default_factory=dict)
    """The figures by the page that is their home."""
    trails: Mapping[str, Trails] = field(default_factory=dict)
    """What can be followed on a figure, by its anchor."""
    laid: Mapping[str, Laid] = field(default_factory=dict)
    """The pictures that a figure was made of, by its id."""
    store: Store = NO_STORE
    """Holds what was computed for a page from the same before."""

    @property
    def signal_unit(self) -> str:
        """The detector's unit; the readers brought all traces to one."""
        return next((trace.signal_unit for trace in self.report.traces.values()), "")

    @property
    def checks(self) -> Mapping[str, Check]:
        """Return the points of the audit by their ids."""
        return {check.id: check for check in self.report.findings.checks}

    def say(self, key: str, /, **values: object) -> str:
        """Return a string of the theme."""
        return self.theme.say(key, **values)

    def nav_of(self, part: str) -> str:
        """Return the part under which the navigation has a part, by its key."""
        return self.addresses.within.get(part, part)

    def page(self, part: str) -> str:
        """Return the path of the page of a part, by its key."""
        return self.addresses.parts[part]

    def part_at(self, page: str) -> str:
        """Return the key of the part that a page belongs to; empty where it is none's."""
        parts = self.addresses.parts
        exact = next((key for key, path in parts.items() if path == page), "")
        folder = page.partition("/")[0] if "/" in page else ""
        return exact or next((key for key, path in parts.items() if path.startswith(f"{folder}/")), "")

    def link(self, kind: str, target: str, label: str = "") -> Link:
        """Return a link to `target`, or its bare words where the report has no such thing."""
        return Link(label or target, self.addresses.of(kind, target))

    def neighbours(self, links: tuple[Link, ...], place: int) -> tuple[Link | None, Link | None]:
        """Return what stands before and after the link at `place`."""
        return links[place - 1] if place else None, links[place + 1] if place + 1 < len(links) else None

    def cell(self, kind: str, target: str, label: str = "") -> Cell:
        """Return a table cell that leads to `target`."""
        return Cell(label or target, self.addresses.of(kind, target))

    def group_cell(self, group: str) -> Cell:
        """Return a table cell that names a group with its mark."""
        return Cell(group, self.addresses.of("group", group), mark=self.marks.get(group))

    def figures_at(self, page: str) -> tuple[FigureBlock, ...]:
        """Return the figures whose home is `page`."""
        return self.at_home.get(page, ())

    def figure(self, figure_id: str) -> FigureBlock | None:
        """Return one figure; None where it was not drawn."""
        return self.figures.get(figure_id)

    def first_figure(self, *starts: str) -> FigureBlock | None:
        """Return the first figure whose id begins with one of `starts`, tried in turn."""
        for start in starts:
            for one, view in self.figures.items():
                if one == start or one.startswith(start + "-"):
                    return view
        return None

    @property
    def issue(self) -> str:
        """Which revision this is, in a few words for the foot of a page; empty where the study has none."""
        revision = self.report.revision
        if revision is None:
            return ""
        return self.say("issue.foot", number=revision.number, day=revision.date.isoformat())

    def cite(self, what: str, title: str, address: str) -> str:
        """Return the line by which a part of the report is cited."""
        study = self.report.study
        people = ", ".join(person.name for person in study.people) or self.say("cite.nobody")
        return self.say(
            "cite.line",
            people=people,
            study=study.title,
            id=study.id,
            what=what,
            title=title,
            address=address,
        )


@dataclass(frozen=True, eq=False, slots=True)
class Run:
    """Pages that are told together, from a share of the edition and nothing else."""

    key: str
    """Which row of the table of parts they belong to."""
    pages: tuple[Link, ...]
    """Title and path of each."""
    source: tuple[object, ...]
    """All that they are told from beside the frame that every page has, or digests of it."""
    tell: Callable[[], tuple[Part, ...]]


def parts_in(told: Part | Run) -> tuple[Part, ...]:
    """Return a page by itself, or those of a run."""
    return told.tell() if isinstance(told, Run) else (told,)


def edition_of(
    report: Report,
    figures: Iterable[Figure],
    theme: Theme,
    homes: Iterable[Home],
    has_pdf: bool = False,
    exports: str = "",
    store: Store = NO_STORE,
) -> Edition:
    """Return the edition of `report` in `theme`, with each part at its home."""
    drawn = tuple(figures)
    addresses = addresses_of(homes, report, drawn)
    shapes = _shapes(theme)
    marks = {
        group: Mark(place, shapes[place % len(shapes)]) for place, group in enumerate(report.study.groups)
    }
    rows: dict[str, tuple[PeakRow, ...]] = {}
    for row in report.measurements.rows:
        rows[row.injection] = (*rows.get(row.injection, ()), row)
    declines = {
        (one.series.column, one.series.marker, one.series.metric): one for one in report.judgement.declines
    }
    bare = Edition(report, theme, addresses, {}, marks, rows, declines, has_pdf, exports, store=store)
    blocks = {figure.id: _figure_block(figure, bare) for figure in drawn}
    at_home: dict[str, list[FigureBlock]] = {}
    for view in blocks.values():
        at_home.setdefault(view.home.partition("#")[0], []).append(view)
    return replace(
        bare,
        figures=blocks,
        at_home={page: tuple(own) for page, own in at_home.items()},
        trails={blocks[figure.id].id: figure.trails for figure in drawn if figure.trails},
        laid={figure.id: figure.laid for figure in drawn if figure.laid},
    )


def revision_words(edition: Edition, one: Revision) -> str:
    """Return one revision in sentences: its number, day, by whom and why."""
    key = "issue.by" if one.by else "issue.first"
    told = edition.say(key, number=one.number, day=one.date.isoformat(), who=one.by)
    return f"{told} {sentence(one.why)}" if one.why else told


VARIANTS = ("dark", "narrow", "narrow_dark")
"""The fields of a figure that hold it in other forms."""


def variant_file(figure: Figure, variant: str) -> str:
    """Return the path below the report of a figure's variant, such as `figures/lives-narrow-dark.svg`."""
    stem, _, ending = figure.file.rpartition(".")
    return f"{stem}-{variant.replace('_', '-')}.{ending}"


def figure_files(figures: Iterable[Figure]) -> Iterator[tuple[str, bytes]]:
    """Yield the path and the bytes of every picture: each figure with its variants."""
    for figure in figures:
        yield figure.file, figure.data
        if figure.full:
            yield figure.full_file, figure.full
        for variant in VARIANTS:
            if picture := getattr(figure, variant):
                yield variant_file(figure, variant), picture


def paper_files(figures: Iterable[Figure]) -> Iterator[tuple[str, bytes]]:
    """Yield the path and the bytes of every picture, with those that are for paper alone."""
    for figure in figures:
        yield from figure_files((figure,))
        if figure.low:
            yield figure.low.file, figure.low.data


def _variant(figure: Figure, variant: str) -> str:
    """Return the path of a variant; empty where the figure has none."""
    return variant_file(figure, variant) if getattr(figure, variant) else ""


def figure_csv(figure: Figure) -> str:
    """Return the path below the report of the figure's data."""
    return f"data/figures/{figure.id}.csv"


def _figure_block(figure: Figure, edition: Edition) -> FigureBlock:
    home = edition.addresses.of("figure", figure.id)
    return FigureBlock(
        id=home.partition("#")[2],
        title=figure.title,
        caption=figure.caption,
        alt=figure.alt,
        src=figure.file,
        dark_src=_variant(figure, "dark"),
        narrow_src=_variant(figure, "narrow"),
        narrow_dark_src=_variant(figure, "narrow_dark"),
        narrow_width=figure.narrow_width_px,
        narrow_height=figure.narrow_height_px,
        width=figure.width_px,
        height=figure.height_px,
        full=figure.full_file,
        home=home,
        csv=figure_csv(figure) if figure.has_table else "",
        cite=edition.cite(edition.say("cite.figure"), figure.title, home),
        low=_figure_block(figure.low, edition) if figure.low else None,
    )


def _shapes(theme: Theme) -> tuple[str, ...]:
    """Return the characters of the group marks, in the order of the theme's look."""
    shapes: Iterable[str] = theme.look.get("marks", {}).get("shapes", SHAPES)
    return tuple(SHAPES.get(shape, "●") for shape in shapes) or ("●",)
