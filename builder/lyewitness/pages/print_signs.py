"""The signs of failure on paper: one table a group, a row a mechanism, a sign a column.

In: `Site`. Out: `PrintTable`s.
"""

from collections.abc import Iterator, Mapping, Sequence

from lyewitness.findings.records import Sign
from lyewitness.pages.print_tables import Band, PrintTable
from lyewitness.pages.site import Site
from lyewitness.pages.tables import words
from lyewitness.pages.views import Row
from lyewitness.pages.views_signs import by_mechanism

SIGNS: Mapping[str, str] = {"speaks for": "+", "cannot tell": "?", "speaks against": "−"}
"""Verdicts, strongest first, with what stands for them."""


def sign_tables(site: Site) -> Iterator[tuple[str, PrintTable]]:
    """Yield each group that has signs, with its table: mechanisms for which more speaks stand first."""
    for group in site.report.study.groups:
        columns = [column.id for column in site.report.study.replicates(group)]
        signs = [sign for sign in site.report.findings.signs if sign.column in columns]
        if signs:
            yield group, _table(site, group, [one for one in columns if _on(signs, one)], signs)


def _on(signs: Sequence[Sign], column: str) -> list[Sign]:
    return [sign for sign in signs if sign.column == column]


def _table(site: Site, group: str, columns: Sequence[str], signs: Sequence[Sign]) -> PrintTable:
    rows = [_row(site, columns, some) for some in by_mechanism(signs)]
    names = site.say("print.mechanism"), *columns, site.say("print.as_seen")
    return PrintTable(
        title=site.say("print.signs_of", group=group),
        heads=names,
        numeric=(False,) * len(names),
        bands=(Band("", tuple(rows)),),
        kind="signs",
    )


def _strongest(signs: Sequence[Sign]) -> Sign:
    """Return the sign that speaks for its mechanism the most."""
    return min(signs, key=_place)


def _place(sign: Sign) -> int:
    return tuple(SIGNS).index(sign.verdict)


def _row(site: Site, columns: Sequence[str], signs: Sequence[Sign]) -> Row:
    """Return one mechanism: each column's verdict with its address, and what was seen where it says most."""
    verdicts = {sign.column: SIGNS[sign.verdict] for sign in signs}
    told = _strongest(signs)
    reasons = told.reasons_against if told.verdict == "speaks against" else told.reasons
    if told.indistinct_from:
        others = site.say("signs.indistinct", others=", ".join(told.indistinct_from))
        reasons = (*reasons, others)
    return Row(
        (
            words(told.mechanism),
            *(
                words(verdicts.get(column, ""), site.addresses.of("sign", f"{column}/{told.mechanism}"))
                for column in columns
            ),
            words(f"{told.column}: {' '.join(reasons)}"),
        )
    )
