"""The list of contents of the printed report: its parts, and the columns, markers and notes within them.

In: `Site`, the anchors of the document. Out: `Entry`s; the layout finds their page numbers.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lyewitness.pages.site import Site
from lyewitness.pages.views import Link

At = Callable[[str], str]
"""Gives the place in the document, such as `#at-audit`, of a page of the site."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the contents."""

    label: str
    href: str
    within: tuple[Link, ...] = ()
    """What stands in that part, each with its place."""


def contents_of(site: Site, at: At) -> Iterator[Entry]:
    """Yield the parts that the document of `site` holds, in the order of reading."""
    study, found, say = site.report.study, site.report.findings, site.say
    for answer in found.answers:
        yield Entry(answer.question.text, at(site.addresses.page("answer", answer.question.id)))
    yield Entry(say("audit.title"), at("audit.html"))
    columns = tuple(Link(column.id, at(site.addresses.page("column", column.id))) for column in study.columns)
    yield Entry(say("columns.title"), at("columns/index.html"), columns)
    if found.signs:
        yield Entry(say("signs.title"), at("signs.html"))
    markers = tuple(Link(marker.id, at(site.addresses.page("marker", marker.id))) for marker in study.markers)
    yield Entry(say("markers.title"), at("markers/index.html"), markers)
    if study.images:
        yield Entry(say("images.title"), at("images.html"))
    yield Entry(say("injections.title"), at("injections/index.html"))
    if study.notes:
        yield Entry(say("notes.title"), at("notes/index.html"))
    for part in ("chemistry", "method", "cautions", "data"):
        yield Entry(say(f"{part}.title"), at(f"{part}.html"))
