"""What the signs on each column say of the ways of failing: all at a glance, then one by one.

In: `Site`. Out: what the page of signs and the pages of the columns show.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lyewitness.findings.records import Sign
from lyewitness.pages.addresses import row_id
from lyewitness.pages.site import Site
from lyewitness.pages.tables import table, words
from lyewitness.pages.views import Row, TableView
from lyewitness.words.names import slug


@dataclass(frozen=True, slots=True)
class SignView:
    """What was seen on one column of one way of failing."""

    id: str
    mechanism: str
    verdict: str
    verdict_class: str
    reasons: tuple[str, ...]
    indistinct: str
    """From what else these data cannot tell it, a sentence; empty for nothing."""


@dataclass(frozen=True, slots=True)
class SignsView:
    """The signs on one column."""

    standing: tuple[SignView, ...]
    """What they speak for, and what they leave open."""
    against: tuple[SignView, ...]
    """What they speak against, shown on demand."""


def signs_content(site: Site) -> dict[str, object]:
    """Return the signs of every column, and one table of all verdicts."""
    columns = dict.fromkeys(sign.column for sign in site.report.findings.signs)
    return {
        "table": verdict_table(site),
        "columns": [
            {
                "id": f"signs-{slug(column)}",
                "link": site.link("column", column, site.report.study.column(column).label),
                "mark": site.marks.get(site.report.study.column(column).group),
                "signs": signs_view(site, column),
            }
            for column in columns
        ],
    }


def signs_view(site: Site, column: str) -> SignsView:
    """Return what the signs on one column speak for and against."""
    views = [_sign(site, sign) for sign in site.report.findings.signs if sign.column == column]
    return SignsView(
        tuple(view for view in views if view.verdict_class != "speaks-against"),
        tuple(view for view in views if view.verdict_class == "speaks-against"),
    )


def _sign(site: Site, sign: Sign) -> SignView:
    others = ", ".join(sign.indistinct_from)
    return SignView(
        id=row_id("sign", sign.column, sign.mechanism),
        mechanism=sign.mechanism,
        verdict=site.say(f"signs.verdict.{sign.verdict.replace(' ', '_')}"),
        verdict_class=sign.verdict.replace(" ", "-"),
        reasons=sign.reasons,
        indistinct=site.say("signs.indistinct", others=others) if others else "",
    )


def verdict_table(site: Site) -> TableView:
    """Return one row a way of failing, one column a column; what is spoken for most stands first."""
    signs = site.report.findings.signs
    columns = tuple(dict.fromkeys(sign.column for sign in signs))
    title = site.say("signs.table_title")
    return table(
        "table-signs",
        title,
        (site.say("heads.mechanism"), *columns),
        [_verdict_row(site, some, columns) for some in by_mechanism(signs)],
        note=site.say("signs.table_note"),
        cite=site.cite(site.say("cite.table"), title, "signs.html#table-signs"),
        home="signs.html#table-signs",
    )


def by_mechanism(signs: Iterable[Sign]) -> list[list[Sign]]:
    """Return the signs of each way of failing together, first those for which more speaks."""
    together: dict[str, list[Sign]] = {}
    for sign in signs:
        together.setdefault(sign.mechanism, []).append(sign)
    return sorted(together.values(), key=_rank)


def _rank(signs: Sequence[Sign]) -> tuple[int, int, int]:
    """Return what sorts a mechanism: on how many columns it is spoken for, or left open, and how firmly."""
    counted = Counter(sign.verdict for sign in signs)
    return -counted["speaks for"], -counted["cannot tell"], -max(sign.support for sign in signs)


def _verdict_row(site: Site, signs: Sequence[Sign], columns: tuple[str, ...]) -> Row:
    mechanism = signs[0].mechanism
    by_column = {sign.column: sign for sign in signs}
    cells = [words(mechanism)]
    for column in columns:
        sign = by_column.get(column)
        if sign is None:
            cells.append(words(""))
            continue
        text = site.say(f"signs.short.{sign.verdict.replace(' ', '_')}")
        href = site.addresses.of("sign", f"{column}/{mechanism}")
        cells.append(words(text, href=href if sign.verdict != "speaks against" else ""))
    return Row(tuple(cells))
