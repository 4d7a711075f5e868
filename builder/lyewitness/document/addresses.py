"""Where everything stands in the report: the one module that makes addresses, each only once.

In: the homes that the table of parts names, the report, its figures. Out: `Addresses`, from (kind, id) to a
path with its fragment.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256

from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.words.names import slug

SAFE = re.compile(r"[A-Za-z0-9_-]{1,80}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """The page of one part, and what has its place there."""

    key: str
    """Its name in the program and among the theme's strings."""
    path: str
    """Its page below the report."""
    each: str = ""
    """Kind of thing that has a page of its own in this part."""
    folder: str = ""
    """Where those pages lie."""
    pieces: Mapping[str, str] = field(default_factory=dict)
    """Kinds of thing that stand on its page, each with the first word of their anchors."""
    figures: tuple[str, ...] = ()
    """First words of the ids of figures at home on its page; `*` takes those that no part names."""
    own_figures: tuple[str, ...] = ()
    """First words of the ids of figures at home on the page of the thing that the rest of the id names."""
    within: str = ""
    """The part under which the navigation has it; empty where it is there itself."""


@dataclass(frozen=True, slots=True)
class Addresses:
    """Every place in the report that can be linked to; no two things have the same."""

    parts: Mapping[str, str]
    """Key of a part → path of its page."""
    places: Mapping[tuple[str, str], str]
    """(kind, id) → path below the report, with a fragment where it is part of a page."""
    within: Mapping[str, str]
    """Key of a part → the part under which the navigation has it."""

    def of(self, kind: str, target: str) -> str:
        """Return the address of `target`; empty where the report has no such thing."""
        return self.places.get((kind, target), "")

    def page(self, kind: str, target: str) -> str:
        """Return the path of a page that must exist, without its fragment; KeyError where it does not."""
        return self.places[kind, target].partition("#")[0]

    def anchor(self, kind: str, target: str) -> str:
        """Return the fragment of a thing that must exist; KeyError where it does not."""
        return self.places[kind, target].partition("#")[2]


def addresses_of(homes: Iterable[Home], report: Report, figures: Iterable[Figure]) -> Addresses:
    """Return the addresses of everything in `report` and of its `figures`."""
    known = tuple(homes)
    book = _Book({home.key: home.path for home in known})
    things = dict(_things(report))
    for home in known:
        for place, one in enumerate(things.get(home.each, ())):
            # The first answer is the front page.
            front = home.each == "answer" and place == 0
            book.add(home.each, one, home.path if front else f"{home.folder}/{slug(one)}.html")
        for kind, word in home.pieces.items():
            for one in things.get(kind, ()):
                book.add(kind, one, home.path, f"{word}-{slug(one)}")
    for kind, one, page, anchor in (*_judged(report, book), *_claims(report, book), *_signs(report, book)):
        book.add(kind, one, page, anchor)
    named = {
        home.each: {slug(one): one for one in reversed(things[home.each])}
        for home in known
        if home.own_figures
    }
    for figure in figures:
        book.add("figure", figure.id, _home_of(figure.id, known, book, named), f"figure-{_as_is(figure.id)}")
    return Addresses(book.parts, book.places, {home.key: home.within or home.key for home in known})


class _Book:
    """Gives out places; one that is taken is given out once more with a hash behind it."""

    def __init__(self, parts: Mapping[str, str]) -> None:
        self.parts = parts
        self.places: dict[tuple[str, str], str] = {}
        self._taken = {path.lower() for path in parts.values()}

    def add(self, kind: str, target: str, page: str, anchor: str = "") -> None:
        """Give `target` its place; disks and readers may ignore upper and lower case."""
        place, front = f"{page}#{anchor}" if anchor else page, page in self.parts.values()
        mark = sha256(f"{kind}/{target}".encode()).hexdigest()[:6]
        while place.lower() in self._taken and not (front and not anchor):
            place = f"{place}-{mark}" if anchor else f"{place.removesuffix('.html')}-{mark}.html"
        self._taken.add(place.lower())
        self.places.setdefault((kind, target), place)


def _as_is(made: str) -> str:
    """Return an id that the program made, which is safe in an address; else a slug of it."""
    return made if SAFE.fullmatch(made) else slug(made)


def row_id(kind: str, *names: str) -> str:
    """Return the anchor of a table row, such as `decline-caffeine-retention_factor`."""
    return "-".join((kind, *(slug(name) if name else "column" for name in names)))


def _things(report: Report) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield each kind of thing with the ids of all that the report has."""
    study, found = report.study, report.findings
    yield "answer", tuple(answer.question.id for answer in found.answers)
    yield "group", tuple(study.groups)
    yield "method", tuple(dict.fromkeys(heading for heading, _ in report.method_notes))
    for kind, some in (
        ("column", study.columns),
        ("marker", study.markers),
        ("injection", study.injections),
        ("note", study.notes),
        ("image", study.images),
        ("check", found.checks),
        ("caution", found.cautions),
        ("chemistry", found.chemistry),
    ):
        yield kind, tuple(one.id for one in some)


_Piece = tuple[str, str, str, str]
"""Kind, id, page and anchor."""


def _judged(report: Report, book: _Book) -> Iterator[_Piece]:
    """Yield the rows of the decline and comparison tables."""
    for decline in report.judgement.declines:
        series = decline.series
        target = f"{series.column}/{series.marker}/{series.metric}"
        page = book.places["column", series.column]
        yield "decline", target, page, row_id("decline", series.marker, series.metric)
    for pair in report.judgement.comparisons:
        names = (pair.group_a, pair.group_b, pair.marker, pair.metric)
        page = book.places.get(("marker", pair.marker), book.parts["columns"])
        yield "comparison", "/".join(names), page, row_id("comparison", *names)


def _claims(report: Report, book: _Book) -> Iterator[_Piece]:
    """Yield every sentence of every answer."""
    for answer in report.findings.answers:
        verdict = (answer.expectation_verdict,) if answer.expectation_verdict else ()
        page = book.places["answer", answer.question.id]
        for claim in (*answer.claims, *answer.recommendations, *answer.next_experiments, *verdict):
            yield "claim", claim.id, page, f"claim-{_as_is(claim.id)}"


def _signs(report: Report, book: _Book) -> Iterator[_Piece]:
    """Yield every sign, and the signs of each column."""
    page = book.parts["signs"]
    for sign in report.findings.signs:
        yield "sign", f"{sign.column}/{sign.mechanism}", page, row_id("sign", sign.column, sign.mechanism)
    for column in dict.fromkeys(sign.column for sign in report.findings.signs):
        yield "sign", column, page, f"signs-{slug(column)}"


def _home_of(figure: str, homes: Iterable[Home], book: _Book, named: Mapping[str, Mapping[str, str]]) -> str:
    """Return the page where a figure stands: that of what it names, else that of its kind.

    `named` has, by kind, each thing by its slug.
    """
    first, _, rest = figure.partition("-")
    for home in homes:
        if first in home.own_figures:
            # The longest beginning of the rest that is the slug of a thing.
            beginning = rest
            while beginning and beginning not in named[home.each]:
                beginning = beginning.rpartition("-")[0]
            if beginning:
                return book.places[home.each, named[home.each][beginning]]
    rest_of_all = ""
    for home in homes:
        if any(figure == start or figure.startswith(f"{start}-") for start in home.figures):
            return home.path
        rest_of_all = home.path if "*" in home.figures else rest_of_all
    return rest_of_all
