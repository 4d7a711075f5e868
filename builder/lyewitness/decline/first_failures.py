"""What failed first on each column.

A column failed where a life of it is `reached`, as everywhere in this stage.

In: the `Decline`s of one column. Out: `FirstFailure`.
"""

from collections.abc import Sequence
from math import inf

from lyewitness.decline.column_lives import held_h
from lyewitness.decline.records import Decline, FirstFailure, Life
from lyewitness.words.estimates import Estimate


def first_failure(column: str, group: str, declines: Sequence[Decline]) -> FirstFailure:
    """Return the metric whose limit the column passed first, with those that cannot be told from it.

    Those may hold one that is unclear: its curve may have passed before.
    """
    limited = [decline for decline in declines if decline.limit is not None]
    failed = [decline for decline in limited if decline.life.state == "reached"]
    if not failed:
        return FirstFailure(column, group, "", "", _nothing_failed(limited))
    first = min(failed, key=lambda decline: _ended_at(decline.life))
    latest = first.life.hours.high
    tied = [
        (decline.series.marker, decline.series.metric)
        for decline in limited
        if decline is not first
        and _ended_at(decline.life) < inf
        and (latest is None or (decline.life.hours.low or 0.0) <= latest)
    ]
    return FirstFailure(column, group, first.series.marker, first.series.metric, first.life, tuple(tied))


def _ended_at(life: Life) -> float:
    """Return the hours at which a life ended, by the curve or else by the injections; inf for never."""
    if life.extrapolated or life.state not in ("reached", "unclear"):
        return inf
    ended = life.hours.value if life.hours.value is not None else life.hours.high
    return inf if ended is None else ended


def _nothing_failed(limited: Sequence[Decline]) -> Life:
    """Return the life of a column that nothing failed on: at least as long as the shortest bound."""
    states = {decline.life.state for decline in limited} - {"not measured"}
    if not states:
        return Life("not measured", Estimate(reason="no limited metric was measured on this column"))
    shown = min(held_h(decline) for decline in limited if decline.life.state != "not measured")
    if "unclear" in states:
        why = "a limit was passed so late, if at all, that the band of the curve does not show it"
        return Life("unclear", Estimate(None, shown, None, why))
    return Life("not reached", Estimate(None, shown, None, "no limit was reached within the test"))
