"""What every page draws upon: the report, its addresses, its figures and the theme's words.

In: `Report`, `Figure`s, `Theme`. Out: `Site`, with the small views that many pages share.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lyewitness.figures.records import Figure
from lyewitness.findings.records import Because, Claim, Report
from lyewitness.pages.addresses import Addresses, addresses_of
from lyewitness.pages.slugs import slug
from lyewitness.pages.themes import Theme
from lyewitness.pages.views import Cell, FigureView, Link, Mark, Said
from lyewitness.peaks.records import PeakRow

SHAPES: Mapping[str, str] = {
    "o": "●", "s": "■", "^": "▲", "D": "◆", "v": "▼", "P": "✚", "X": "✖",
    "d": "◆", "<": "◀", ">": "▶", "*": "★",
}  # fmt: skip
"""The character that stands for a drawn mark where a group is named in words."""


MOST_LINKS = 4
"""Links shown at once beside a sentence; the others are a click away."""


@dataclass(frozen=True, eq=False, slots=True)
class Site:
    """One report in one theme."""

    report: Report
    theme: Theme
    addresses: Addresses
    figures: Mapping[str, FigureView]
    """By the figure's id, in the order in which they were drawn."""
    marks: Mapping[str, Mark]
    """By group."""
    rows: Mapping[str, tuple[PeakRow, ...]]
    """What was measured, by injection."""

    def say(self, key: str, /, **values: object) -> str:
        """Return a string of the theme."""
        return self.theme.say(key, **values)

    def link(self, kind: str, target: str, label: str = "") -> Link:
        """Return a link to `target`, or its bare words where the report has no such thing."""
        return Link(label or target, self.addresses.of(kind, target))

    def cell(self, kind: str, target: str, label: str = "") -> Cell:
        """Return a table cell that leads to `target`."""
        return Cell(label or target, self.addresses.of(kind, target))

    def group_cell(self, group: str) -> Cell:
        """Return a table cell that names a group with its mark."""
        return Cell(group, self.addresses.of("group", group), mark=self.marks.get(group))

    def said(
        self, claim: Claim, numbers: Mapping[str, int] | None = None, figure: FigureView | None = None
    ) -> Said:
        """Return a claim with the links to what it rests on; `numbers` are those of the page's reasons."""
        told = numbers or {}
        links = tuple(self.because(one, told) for one in claim.because)
        few = MOST_LINKS if len(links) > MOST_LINKS + 1 else len(links)
        anchor = f"claim-{slug(claim.id)}"
        return Said(anchor, claim.text, claim.strength, links[:few], figure, links[few:], told.get(claim.id))

    def because(self, because: Because, numbers: Mapping[str, int]) -> Link:
        """Return the link of one reason; a reason told on the same page goes by its number."""
        if because.kind == "claim" and because.target in numbers:
            label = self.say("front.reason", n=numbers[because.target])
            return self.link("claim", because.target, label)
        return self.link(because.kind, because.target, because.label)

    def figures_at(self, page: str) -> tuple[FigureView, ...]:
        """Return the figures whose home is `page`."""
        return tuple(view for view in self.figures.values() if view.home.partition("#")[0] == page)

    def figure(self, figure_id: str) -> FigureView | None:
        """Return one figure; None where it was not drawn."""
        return self.figures.get(figure_id)

    def first_figure(self, *starts: str) -> FigureView | None:
        """Return the first figure whose id begins with one of `starts`, tried in turn."""
        for start in starts:
            for one, view in self.figures.items():
                if one == start or one.startswith(start + "-"):
                    return view
        return None

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


def site_of(report: Report, figures: tuple[Figure, ...], theme: Theme) -> Site:
    """Return the site of `report` in `theme`."""
    addresses = addresses_of(report, figures)
    shapes = _shapes(theme)
    marks = {
        group: Mark(place, shapes[place % len(shapes)]) for place, group in enumerate(report.study.groups)
    }
    rows: dict[str, tuple[PeakRow, ...]] = {}
    for row in report.measurements.rows:
        rows[row.injection] = (*rows.get(row.injection, ()), row)
    bare = Site(report, theme, addresses, {}, marks, rows)
    views = {figure.id: _figure_view(figure, bare) for figure in figures}
    return Site(report, theme, addresses, views, marks, rows)


def dark_file(figure: Figure) -> str:
    """Return the path below the report of the figure for a dark ground: `figures/lives-dark.svg`."""
    stem, _, ending = figure.file.rpartition(".")
    return f"{stem}-dark.{ending}"


def figure_csv(figure: Figure) -> str:
    """Return the path below the report of the figure's data."""
    return f"data/figures/{figure.id}.csv"


def _figure_view(figure: Figure, site: Site) -> FigureView:
    home = site.addresses.of("figure", figure.id)
    return FigureView(
        id=home.partition("#")[2],
        title=figure.title,
        caption=figure.caption,
        alt=figure.alt,
        src=figure.file,
        dark_src=dark_file(figure) if figure.dark else "",
        width=figure.width_px,
        height=figure.height_px,
        full=figure.full_file,
        home=home,
        csv=figure_csv(figure) if figure.table else "",
        cite=site.cite(site.say("cite.figure"), figure.title, home),
    )


def _shapes(theme: Theme) -> tuple[str, ...]:
    """Return the characters of the group marks, in the order of the theme's look."""
    shapes: Iterable[str] = theme.look.get("marks", {}).get("shapes", SHAPES)
    return tuple(SHAPES.get(shape, "●") for shape in shapes) or ("●",)
