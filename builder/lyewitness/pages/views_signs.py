"""What the signs on each column say of the ways of failing: all at a glance, then one by one.

In: `Site`. Out: what the page of signs and the pages of the columns show.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from lyewitness.findings.records import Sign
from lyewitness.pages.addresses import row_id
from lyewitness.pages.site import Site
from lyewitness.pages.slugs import slug
from lyewitness.pages.tables import table, words
from lyewitness.pages.views import Row, TableView


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
    verdicts: dict[str, dict[str, Sign]] = {}
    columns = tuple(dict.fromkeys(sign.column for sign in site.report.findings.signs))
    for sign in site.report.findings.signs:
        verdicts.setdefault(sign.mechanism, {})[sign.column] = sign
    ranked = sorted(verdicts.items(), key=lambda one: -_weight(one[1]))
    title = site.say("signs.table_title")
    return table(
        "table-signs",
        title,
        (site.say("heads.mechanism"), *columns),
        [_verdict_row(site, mechanism, by_column, columns) for mechanism, by_column in ranked],
        note=site.say("signs.table_note"),
        cite=site.cite(site.say("cite.table"), title, "signs.html#table-signs"),
        home="signs.html#table-signs",
    )


def _weight(by_column: Mapping[str, Sign]) -> float:
    """Return on how many columns something is spoken for; what is left open counts a hundredth."""
    weights = {"speaks for": 1.0, "cannot tell": 0.01}
    return sum(weights.get(sign.verdict, 0.0) for sign in by_column.values())


def _verdict_row(site: Site, mechanism: str, by_column: Mapping[str, Sign], columns: tuple[str, ...]) -> Row:
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
