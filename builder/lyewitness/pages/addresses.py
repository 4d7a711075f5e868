"""Where everything stands in the report: the one module that makes addresses.

In: the report and its figures. Out: `Addresses`, from (kind, id) to a path with its fragment.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.pages.figure_places import home_of
from lyewitness.words.names import slug, slugs


@dataclass(frozen=True, slots=True)
class Addresses:
    """Every place in the report that can be linked to."""

    places: Mapping[tuple[str, str], str]
    """(kind, id) → path below the report, with a fragment where it is part of a page."""

    def of(self, kind: str, target: str) -> str:
        """Return the address of `target`; empty where the report has no such thing."""
        return self.places.get((kind, target), "")

    def page(self, kind: str, target: str) -> str:
        """Return the path of a page that must exist, without its fragment; KeyError where it does not."""
        return self.places[kind, target].partition("#")[0]


def addresses_of(report: Report, figures: tuple[Figure, ...]) -> Addresses:
    """Return the addresses of everything in `report` and of its `figures`."""
    places = dict(_pages(report))
    places.update(_parts(report, places))
    for figure in figures:
        places["figure", figure.id] = f"{home_of(figure.id, places)}#figure-{slug(figure.id)}"
    return Addresses(places)


def _pages(report: Report) -> Iterator[tuple[tuple[str, str], str]]:
    """Yield what has a page of its own."""
    study = report.study
    for kind, folder, ids in (
        ("column", "columns", [column.id for column in study.columns]),
        ("marker", "markers", [marker.id for marker in study.markers]),
        ("injection", "injections", [injection.id for injection in study.injections]),
        ("note", "notes", [note.id for note in study.notes]),
    ):
        for one, name in slugs(ids).items():
            yield (kind, one), f"{folder}/{name}.html"
    answers = [answer.question.id for answer in report.findings.answers]
    for place, (one, name) in enumerate(slugs(answers).items()):
        yield ("answer", one), f"answers/{name}.html" if place else "index.html"


def _parts(report: Report, pages: Mapping[tuple[str, str], str]) -> Iterator[tuple[tuple[str, str], str]]:
    """Yield what is part of a page."""
    for image, name in slugs(image.id for image in report.study.images).items():
        yield ("image", image), f"images.html#image-{name}"
    for group in report.study.groups:
        yield ("group", group), f"columns/index.html#group-{slug(group)}"
    yield from _decided(report, pages)
    yield from _said(report, pages)
    for heading, _ in report.method_notes:
        yield ("method", heading), f"method.html#method-{slug(heading)}"


def _decided(report: Report, pages: Mapping[tuple[str, str], str]) -> Iterator[tuple[tuple[str, str], str]]:
    """Yield the rows of the decline and comparison tables."""
    for decline in report.judgement.declines:
        series = decline.series
        row = row_id("decline", series.marker, series.metric)
        target = f"{series.column}/{series.marker}/{series.metric}"
        yield ("decline", target), f"{pages['column', series.column]}#{row}"
    for pair in report.judgement.comparisons:
        names = (pair.group_a, pair.group_b, pair.marker, pair.metric)
        page = pages.get(("marker", pair.marker), "columns/index.html")
        yield ("comparison", "/".join(names)), f"{page}#{row_id('comparison', *names)}"


def _said(report: Report, pages: Mapping[tuple[str, str], str]) -> Iterator[tuple[tuple[str, str], str]]:
    """Yield claims, checks, signs, cautions and facts of the chemistry."""
    found = report.findings
    for answer in found.answers:
        verdict = (answer.expectation_verdict,) if answer.expectation_verdict else ()
        for claim in (*answer.claims, *answer.recommendations, *answer.next_experiments, *verdict):
            yield ("claim", claim.id), f"{pages['answer', answer.question.id]}#claim-{slug(claim.id)}"
    for check in found.checks:
        yield ("check", check.id), f"audit.html#check-{slug(check.id)}"
    for sign in found.signs:
        row = f"signs.html#{row_id('sign', sign.column, sign.mechanism)}"
        yield ("sign", f"{sign.column}/{sign.mechanism}"), row
        yield ("sign", sign.column), f"signs.html#signs-{slug(sign.column)}"
    for caution in found.cautions:
        yield ("caution", caution.id), f"cautions.html#caution-{slug(caution.id)}"
    for fact in found.chemistry:
        yield ("chemistry", fact.id), f"chemistry.html#fact-{slug(fact.id)}"


def row_id(kind: str, *names: str) -> str:
    """Return the anchor of a table row, such as `decline-caffeine-retention_factor`."""
    return "-".join((kind, *(slug(name) if name else "column" for name in names)))
