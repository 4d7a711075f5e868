"""The parts of a report: the one table from which pages, addresses, navigation, search and contents derive.

In: `Report`, `Figure`s, `Theme`. Out: `Document`: its parts for the screen and for paper.

A new part is a line in `PARTS`, its module, and its words in the theme's strings.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from lyewitness.document import (
    answers,
    audit,
    changes,
    columns,
    data,
    evidence,
    images,
    injections,
    markers,
    method,
    signs,
)
from lyewitness.document.addresses import Home
from lyewitness.document.blocks import Link, Part
from lyewitness.document.edition import Edition, Run, edition_of, parts_in
from lyewitness.document.themes import Theme
from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.store import NO_STORE, Store

Told = Callable[[Edition], Iterator[Part | Run]]
"""What tells a part: one page or several, nothing where the report has nothing to say there."""
Printed = Callable[[Edition], Iterator[Part]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow(Home):
    """One part of a report."""

    on_screen: Told | None
    """Its pages; None for the search, which is made of all the others."""
    on_paper: Printed | None = None
    """Its part of the PDF; None where it has none."""
    place_on_paper: int = 0
    """Where it stands in the PDF: the answer with its reasons first, then how it came about."""


PARTS = (
    PartRow(
        key="answer", path="index.html", each="answer", folder="answers",
        on_screen=answers.on_screen, on_paper=answers.on_paper, place_on_paper=1,
        figures=("lives", "limits", "factors", "first-last"), own_figures=("lives",),
    ),
    PartRow(
        key="columns", path="columns/index.html", each="column", folder="columns", pieces={"group": "group"},
        on_screen=columns.on_screen, on_paper=columns.on_paper, place_on_paper=3,
        figures=("decline", "survival", "accelerated", "conditions", "pressure"),
        own_figures=("column", "waterfall"),
    ),
    PartRow(
        key="markers", path="markers/index.html", each="marker", folder="markers",
        on_screen=markers.on_screen, on_paper=markers.on_paper, place_on_paper=5,
        own_figures=("marker", "decline", "survival", "accelerated"),
    ),
    PartRow(
        key="injections", path="injections/index.html", each="injection", folder="injections",
        on_screen=injections.on_screen, on_paper=injections.on_paper, place_on_paper=7,
        own_figures=("trace",),
    ),
    PartRow(key="traces", path="traces.html", on_screen=evidence.traces_on_screen),
    PartRow(
        key="images", path="images.html", pieces={"image": "image"}, figures=("image", "pair", "particles"),
        on_screen=images.on_screen, on_paper=images.on_paper, place_on_paper=6,
    ),
    PartRow(
        key="notes", path="notes/index.html", each="note", folder="notes",
        on_screen=evidence.notes_on_screen, on_paper=evidence.notes_on_paper, place_on_paper=8,
    ),
    PartRow(
        key="audit", path="audit.html", pieces={"check": "check"},
        on_screen=audit.on_screen, on_paper=audit.on_paper, place_on_paper=2,
    ),
    PartRow(
        key="signs", path="signs.html",
        on_screen=signs.on_screen, on_paper=signs.on_paper, place_on_paper=4,
    ),
    PartRow(
        key="chemistry", path="chemistry.html", pieces={"chemistry": "fact"}, figures=("chemistry",),
        on_screen=audit.chemistry_on_screen, on_paper=audit.chemistry_on_paper, place_on_paper=9,
    ),
    PartRow(
        key="method", path="method.html", pieces={"method": "method"}, figures=("residuals", "held"),
        on_screen=method.on_screen, on_paper=method.on_paper, place_on_paper=10,
    ),
    PartRow(
        key="cautions", path="cautions.html", pieces={"caution": "caution"},
        on_screen=audit.cautions_on_screen, on_paper=audit.cautions_on_paper, place_on_paper=11,
    ),
    PartRow(
        key="data", path="data.html", on_screen=data.on_screen, on_paper=data.on_paper, place_on_paper=12,
    ),
    PartRow(
        key="changes", path="changes.html", within="data",
        on_screen=changes.on_screen, on_paper=changes.on_paper, place_on_paper=13,
    ),
    PartRow(
        key="figures", path="figures.html", figures=("*",), within="data",
        on_screen=evidence.figures_on_screen,
    ),
    PartRow(key="search", path="search.html", on_screen=None),
)  # fmt: skip
"""In the order of the navigation."""


@dataclass(frozen=True, eq=False)
class Document:
    """One report in one theme, as parts."""

    edition: Edition

    @cached_property
    def in_runs(self) -> tuple[Part | Run, ...]:
        """Every page, those of runs still to be told; the search comes last, for it lists the others."""
        told = tuple(part for row in PARTS if row.on_screen for part in row.on_screen(self.edition))
        return (*told, data.search_part(self.edition, told))

    @cached_property
    def on_screen(self) -> tuple[Part, ...]:
        """Every page."""
        return tuple(part for told in self.in_runs for part in parts_in(told))

    @cached_property
    def on_paper(self) -> tuple[Part, ...]:
        """Every part of the printed report, in the order of reading."""
        printed = sorted((row for row in PARTS if row.on_paper), key=lambda row: row.place_on_paper)
        return tuple(part for row in printed if row.on_paper for part in row.on_paper(self.edition))

    @property
    def navigation(self) -> tuple[tuple[str, Link], ...]:
        """Key and link of each part that the way through the report names."""
        return tuple(
            (row.key, Link(self.edition.say(f"nav.{row.key}"), row.path)) for row in PARTS if not row.within
        )


def document_of(
    report: Report,
    figures: Iterable[Figure],
    theme: Theme,
    with_pdf: bool = False,
    exports: str = "",
    store: Store = NO_STORE,
) -> Document:
    """Return the parts of `report` in `theme`; its pages lead to a PDF only where there is one.

    They lead to the exported files where `exports` says how to come to the study folder from the report.
    """
    return Document(edition_of(report, figures, theme, PARTS, with_pdf, exports, store))
