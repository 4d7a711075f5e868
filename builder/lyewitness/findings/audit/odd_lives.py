"""Audit of single lives: did one column of a type live far shorter, or far longer, than each of its siblings?

In: `Evidence`. Out: `Point`s. Where no property sets that column apart (`set_apart`), its packing may: a type
is not as short-lived as its worst bed, nor as lasting as its luckiest.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import ceil, floor

from lyewitness.findings.audit.points import Asked, Point
from lyewitness.findings.audit.set_apart import Lived, by_any_limit, by_deciding, set_apart
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.mended import mended
from lyewitness.study.records import Column
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import kind_of, listed

ODD = Asked(
    "odd-life",
    "Did one column of a type live far shorter, or far longer, than each of the others?",
    "It weighs on the type’s life as each other does, and nobody knows how many of the type are like it.",
    "Test further columns; look at this one’s packing.",
)
TIMES = 2.0
"""Times as long, beyond what both lives leave open. Where lives of a type scatter by a fifth (standard
deviation of ln), as those of sound beds do, four of a thousand types of three columns have such a one, and
one of a thousand of four to six; where they scatter by a third, one of nine."""
FEWEST = 3
"""Columns of a type without which nobody knows which of two is the odd one."""


def odd_lives(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a single column lived less than half as long as each other of its type, or twice as long.

    By the metric that decides, else by whichever limit was passed first. What a property sets apart is told
    with that.
    """
    metric = f" by {the_metric(*evidence.judgement.deciding)}"
    apart = {point.check.subject for point in set_apart(evidence)}
    asked, odd = False, False
    for group in evidence.study.groups:
        columns = evidence.study.replicates(group)
        ways = (
            (by_deciding(evidence, columns), metric),
            (by_any_limit(evidence, columns), " by one limit or another"),
        )
        known = [way for way in ways if FEWEST <= len(columns) == len(way[0])]
        asked = asked or bool(known)
        told = next((found for lives, by in known if (found := _told(columns, lives, by))), None)
        if told is None:
            continue
        odd = True
        failed, words = told
        cleared = mended(evidence, failed) if failed and group not in apart else None
        if cleared is not None:
            yield ODD.says(
                "caution",
                f"{words}; its way was blocked, and cleared in time: {cleared.words}",
                group,
                bound="indicated",
                groups=(group,),
                bearing="What ended its life was a blocked inlet, and not its packing.",
                cure="Filter mobile phase and sample, and read the life of such a column apart.",
            )
        elif group not in apart:
            yield ODD.says("caution", words, group, bound="indicated", groups=(group,))
    if asked and not odd:
        yield ODD.good("no column surely lived less than half, or more than twice, as long as each other")


def _told(columns: Sequence[Column], lives: Mapping[str, Lived], by: str) -> tuple[str, str] | None:
    """Return in words which column lived far shorter or longer than each other, None for none.

    Before the words stands the column where it failed so soon, and nothing where it lasted.
    """
    kind = kind_of(columns[0].group)
    for column in columns:
        own = lives[column.id]
        others = [lives[one.id] for one in columns if one.id != column.id]
        rest = f"the other {kind} columns ({listed(one.id for one in columns if one.id != column.id)})"
        first, last = min(one.low for one in others), max(one.high for one in others)
        if TIMES * own.high < first:
            lasted, least = _hours(ceil(own.high)), _hours(floor(first))
            held = f"while each of {rest} has lasted {least} at least"
            return column.id, f"{column.id} has failed within {lasted}{by}, {held}"
        if own.low > TIMES * last:
            lasted, most = _hours(floor(own.low)), _hours(ceil(last))
            longer = (
                f"{column.id} has lasted {lasted} at least{by}, while each of {rest} had failed by {most}"
            )
            return "", longer
    return None


def _hours(value: float) -> str:
    return with_unit(stated(value), "h")
