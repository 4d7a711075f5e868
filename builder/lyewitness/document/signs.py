"""What the signs on each column say of the ways of failing: all at a glance, then one by one, and on paper.

In: `Edition`. Out: `Part`s, and the signs of one column for its page.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from lyewitness.document.blocks import (
    Band,
    BandedTable,
    Column,
    Part,
    Prose,
    Row,
    Section,
    Sign,
    Signs,
    Table,
)
from lyewitness.document.edition import Edition
from lyewitness.document.tables import columns_of, table, words
from lyewitness.findings.records import Sign as Seen
from lyewitness.words.phrases import sentence

SIGNS: Mapping[str, str] = {"speaks for": "+", "cannot tell": "?", "speaks against": "−"}
"""Verdicts, strongest first, with what stands for them on paper."""


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the signs of every column, below one table of all verdicts."""
    columns = dict.fromkeys(sign.column for sign in edition.report.findings.signs)
    yield Part(
        key="signs",
        path=edition.page("signs"),
        title=edition.say("signs.title"),
        blocks=(
            Prose((edition.say("signs.lead"),), "lead"),
            verdict_table(edition),
            *(_of_column(edition, column) for column in columns),
        ),
    )


def _of_column(edition: Edition, column: str) -> Section:
    known = edition.report.study.column(column)
    return Section(
        known.label,
        tuple(signs_of(edition, column)),
        edition.addresses.anchor("sign", column),
        anchored=True,
        href=edition.addresses.of("column", column),
        mark=edition.marks.get(known.group),
    )


def signs_of(edition: Edition, column: str) -> Iterator[Signs]:
    """Yield what the signs on one column speak for and against; nothing where there are none.

    First what can explain the failure: what moves one marker by a few per cent may surely be there and is no
    cause of it.
    """
    seen = [sign for sign in edition.report.findings.signs if sign.column == column]
    seen.sort(key=lambda sign: (_place(sign), not sign.explains, -sign.support))
    signs = [_sign(edition, sign) for sign in seen]
    if signs:
        yield Signs(
            tuple(sign for sign in signs if sign.verdict_class != "speaks-against"),
            tuple(sign for sign in signs if sign.verdict_class == "speaks-against"),
        )


def _sign(edition: Edition, sign: Seen) -> Sign:
    others = ", ".join(sign.indistinct_from)
    return Sign(
        id=edition.addresses.anchor("sign", f"{sign.column}/{sign.mechanism}"),
        mechanism=sign.mechanism,
        verdict=edition.say(f"signs.verdict.{sign.verdict.replace(' ', '_')}"),
        verdict_class=sign.verdict.replace(" ", "-"),
        reasons=tuple(_parted(edition, sign)),
        indistinct=edition.say("signs.indistinct", others=others) if others else "",
    )


def _parted(edition: Edition, sign: Seen) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield what speaks for it, against it, and neither way, with their heads, the verdict's own first."""
    behind = (*sign.reasons_against, *sign.reasons_open)
    ways = {
        "speaks for": sign.reasons[: len(sign.reasons) - len(behind)],
        "speaks against": sign.reasons_against,
        "cannot tell": sign.reasons_open,
    }
    for way in sorted(ways, key=lambda one: one != sign.verdict):
        if ways[way]:
            head = "" if way == sign.verdict else edition.say(f"signs.besides.{way.replace(' ', '_')}")
            yield head, tuple(map(_below_its_head, ways[way]))


def _below_its_head(reason: str) -> str:
    """Return a reason without `For it:` or `Against it:`, which its head or its verdict says."""
    seen, lead, why = reason.partition(" For it: ")
    if not lead:
        seen, lead, why = reason.partition(" Against it: ")
    return f"{seen} {sentence(why)}" if lead else reason


def verdict_table(edition: Edition) -> Table:
    """Return one row a way of failing, one column a column; what is spoken for most stands first."""
    signs = edition.report.findings.signs
    columns = tuple(dict.fromkeys(sign.column for sign in signs))
    return table(
        edition,
        f"{edition.page('signs')}#table-signs",
        edition.say("signs.table_title"),
        (*columns_of(edition, "mechanism"), *(Column(f"column {one}", one) for one in columns)),
        [_verdict_row(edition, some, columns) for some in by_mechanism(signs)],
        note=edition.say("signs.table_note"),
        style="verdicts",
    )


def by_mechanism(signs: Iterable[Seen]) -> list[list[Seen]]:
    """Return the signs of each way of failing together, first those for which more speaks."""
    together: dict[str, list[Seen]] = {}
    for sign in signs:
        together.setdefault(sign.mechanism, []).append(sign)
    return sorted(together.values(), key=_rank)


def _rank(signs: Sequence[Seen]) -> tuple[int, int, int, int]:
    """Return what sorts a mechanism: on how many columns it is spoken for and explains what failed first, on
    how many it is spoken for, or left open, and how firmly."""
    counted = Counter(sign.verdict for sign in signs)
    causes = sum(sign.verdict == "speaks for" and sign.explains for sign in signs)
    return -causes, -counted["speaks for"], -counted["cannot tell"], -max(sign.support for sign in signs)


def _verdict_row(edition: Edition, signs: Sequence[Seen], columns: tuple[str, ...]) -> Row:
    mechanism = signs[0].mechanism
    by_column = {sign.column: sign for sign in signs}
    cells = [words(mechanism)]
    for column in columns:
        sign = by_column.get(column)
        if sign is None:
            cells.append(words(""))
            continue
        text = edition.say(f"signs.short.{sign.verdict.replace(' ', '_')}")
        href = edition.addresses.of("sign", f"{column}/{mechanism}")
        # By its place a narrow screen knows which sign stands for the word, and rows are sorted.
        key = str(_place(sign))
        cells.append(words(text, href=href if sign.verdict != "speaks against" else "", key=key))
    return Row(tuple(cells))


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield one table a group, a row a mechanism, a sign a column; nothing where there are no signs."""
    tables = tuple(_group_tables(edition))
    if tables:
        yield Part(
            key="signs",
            path=edition.page("signs"),
            title=edition.say("signs.title"),
            blocks=(Prose((edition.say("print.signs"),), "lead"), *tables),
        )


def _group_tables(edition: Edition) -> Iterator[BandedTable]:
    """Yield the table of each group that has signs: mechanisms for which more speaks stand first."""
    for group in edition.report.study.groups:
        columns = [column.id for column in edition.report.study.replicates(group)]
        signs = [sign for sign in edition.report.findings.signs if sign.column in columns]
        seen_on = [column for column in columns if any(sign.column == column for sign in signs)]
        if signs:
            yield BandedTable(
                title=edition.say("print.signs_of", group=group),
                columns=(
                    Column("mechanism", edition.say("print.mechanism")),
                    *(Column(f"column {one}", one) for one in seen_on),
                    Column("as_seen", edition.say("print.as_seen")),
                ),
                bands=(Band("", tuple(_row(edition, seen_on, some) for some in by_mechanism(signs))),),
                style="signs",
                cells_too=True,
            )


def _strongest(signs: Sequence[Seen]) -> Seen:
    """Return the sign that speaks for its mechanism the most."""
    return min(signs, key=_place)


def _place(sign: Seen) -> int:
    return tuple(SIGNS).index(sign.verdict)


def _row(edition: Edition, columns: Sequence[str], signs: Sequence[Seen]) -> Row:
    """Return one mechanism: each column's verdict with its address, and what was seen where it says most."""
    verdicts = {sign.column: SIGNS[sign.verdict] for sign in signs}
    told = _strongest(signs)
    reasons = told.reasons_against if told.verdict == "speaks against" else told.reasons
    if told.indistinct_from:
        others = edition.say("signs.indistinct", others=", ".join(told.indistinct_from))
        reasons = (*reasons, others)
    return Row(
        (
            words(told.mechanism),
            *(
                words(verdicts.get(column, ""), edition.addresses.of("sign", f"{column}/{told.mechanism}"))
                for column in columns
            ),
            words(f"{told.column}: {' '.join(reasons)}"),
        )
    )
