"""The life of one column as the statistics of groups take it.

In: `Decline`s. Out: `ColumnLife`: a logarithm with its own error, or a bound.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, log

import numpy as np

from lyewitness.decline import distributions as stats
from lyewitness.decline.records import Decline, LifeState
from lyewitness.decline.usable_lives import FAILURES, held_h
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

SHORTEST_H = 1e-3
"""Lives of nothing, which have no logarithm, count as this many hours at least."""
SHARED = 0.5
"""Of the error of a life by its curve: what is not known of the law is the same for columns of one type.

The rest is the noise of the column's own injections. Where only the bracket is known, all of it is shared.
"""
UNSEEN = 100.0
"""A column that was past its limit when it was first looked at may have failed so many times sooner: no more
than the order of magnitude of such a life is known, nor of its ratio to another."""
EVEN_TO_SD = 12**-0.5
"""Standard deviation of an even distribution ÷ its width."""


@dataclass(frozen=True, slots=True)
class ColumnLife:
    """One column's life on the log scale."""

    column: str
    block: str
    state: LifeState
    value: float | None
    """log of the life in hours; None where only bounds are known."""
    own_error: float
    """Standard error of `value` from the column's own injections."""
    low: float
    """log of what the data do show at least."""
    high: float | None
    """log of an upper bound; None where there is none."""
    shared_error: float = 0.0
    """The part of `own_error` that other columns seen at the same exposures have, too."""
    end_h: float | None = None
    """How long it was watched, hours; None where that is not known."""

    @property
    def at_least(self) -> float:
        """Return the life, or the bound that it surely exceeds."""
        return self.low if self.value is None else self.value


def log_hours(hours: float) -> float:
    """Return the logarithm of `hours`, held above the shortest life that is told apart."""
    return log(max(hours, SHORTEST_H))


def hours_of(logarithm: float) -> float:
    """Return the hours of a logarithm, to twelve figures: what went in as 120 comes out as 120."""
    return float(f"{exp(logarithm):.12g}")


def log_error(estimate: Estimate, confidence: float, freedom: float, shortest: float = SHORTEST_H) -> float:
    """Return the standard error of log value that the interval of `estimate` stands for; 0 where open."""
    if estimate.value is None:
        return 0.0
    quantile = float(stats.t.ppf(0.5 + confidence / 2, max(freedom, 1.0)))
    value = log_hours(max(estimate.value, shortest))
    low = log_hours(max(estimate.low, shortest)) if estimate.low is not None else None
    high = log_hours(max(estimate.high, shortest)) if estimate.high is not None else None
    if low is not None and high is not None:
        return (high - low) / (2 * quantile)
    return (value - low) / quantile if low is not None else 0.0


def column_life(decline: Decline, block: str, confidence: float) -> ColumnLife | None:
    """Return the life of one column; None where it was not measured.

    A life of which only the bracket is known counts as the middle of it, with the error of an even
    distribution; where nobody saw the column within its limit, with that of one over `UNSEEN`. No life
    counts as shorter than half the first exposure after the start: on a logarithmic scale a column that
    failed at once would otherwise outweigh all others.
    """
    life, hours = decline.life, decline.life.hours
    if life.state == "not measured":
        return None
    after = decline.series.exposure_h[decline.series.exposure_h > 0]
    shortest = float(after[0]) / 2 if len(after) else SHORTEST_H
    low = log_hours(max(held_h(decline), shortest))
    high = None if hours.high is None else log_hours(max(hours.high, shortest))
    value, own = None, 0.0
    if hours.value is not None and not life.extrapolated:
        value = log_hours(max(hours.value, shortest))
        own = log_error(hours, confidence, _freedom(decline), shortest)
    elif hours.value is None and high is not None:
        unseen = log(UNSEEN) if held_h(decline) <= 0.0 else 0.0
        value, own = (low + high) / 2, max(high - low, unseen) * EVEN_TO_SD
    shared = own if hours.value is None or life.from_bracket else SHARED * own
    return ColumnLife(decline.series.column, block, life.state, value, own, low, high, shared, decline.end_h)


def enough_failed(reached: int, measured: int) -> bool:
    """Say whether `reached` columns of `measured` make a typical life: half of them, and two at least.

    The median column is then one of those that failed within the test. A single column speaks for itself.
    """
    return measured > 0 and reached >= min(2, measured) and 2 * reached >= measured


def at_risk(lives: Sequence[ColumnLife]) -> tuple[ColumnLife, ...]:
    """Return the columns of one group without those that were taken off, within the limit, before any failed.

    None failed while they ran: what survives by Kaplan and Meier's estimate is the same without them.
    As bounds they would only take from what the others tell.
    """
    failed = [life.low for life in lives if life.state == "reached"]
    if len(failed) < FAILURES:
        return tuple(lives)
    return tuple(life for life in lives if life.state != "not reached" or life.low >= min(failed))


def counted(lives: Sequence[ColumnLife]) -> tuple[ColumnLife, ...]:
    """Return the columns of one group as its typical life and its comparisons count them.

    Only a column that is `reached` has failed. One whose curve passes the limit so late that its band
    does not show it counts by its curve where enough of the others failed and the first of them no
    later; else as what it surely held. Without the first, late lives would be lost to every comparison;
    without the second, a group would have a life of which no column is an instance.
    """
    reached = [life.value for life in lives if life.state == "reached" and life.value is not None]
    if enough_failed(len(reached), len(lives)) and all(life.at_least >= min(reached) for life in lives):
        return tuple(lives)
    return tuple(
        life if life.state == "reached" else replace(life, value=None, own_error=0.0, shared_error=0.0)
        for life in lives
    )


def by_blocks(lives: Sequence[ColumnLife]) -> tuple[ColumnLife, ...]:
    """Return one life for each block: the mean of its columns, which err together and are no replicates.

    Columns in no block stand by themselves. All lives must be known.
    """
    blocks: dict[str | int, list[ColumnLife]] = {}
    for index, life in enumerate(lives):
        blocks.setdefault(life.block or index, []).append(life)
    return tuple(_mean_life(members) for members in blocks.values())


def _mean_life(members: Sequence[ColumnLife]) -> ColumnLife:
    """Return the mean of some columns' known lives as one life."""
    if len(members) == 1:
        return members[0]
    n = len(members)
    highs = [life.high for life in members]
    return ColumnLife(
        ", ".join(life.column for life in members),
        members[0].block,
        "reached",
        float(np.mean([life.at_least for life in members])),
        float(np.sqrt(np.sum([life.own_error**2 for life in members]))) / n,
        float(np.mean([life.low for life in members])),
        None if None in highs else float(np.mean([high for high in highs if high is not None])),
        float(np.sqrt(np.mean([life.shared_error**2 for life in members]))),
    )


def _freedom(decline: Decline) -> float:
    """Return the degrees of freedom of a decline's curve."""
    return len(decline.series.value) - (len(decline.model.parameters) if decline.model else 1)


def values_of(lives: Sequence[ColumnLife]) -> FloatArray:
    """Return the known log lives."""
    return np.array([life.value for life in lives if life.value is not None])


def errors_of(lives: Sequence[ColumnLife]) -> FloatArray:
    """Return the own errors of the known log lives."""
    return np.array([life.own_error for life in lives if life.value is not None])


def shared_of(lives: Sequence[ColumnLife]) -> FloatArray:
    """Return the shared errors of the known log lives."""
    return np.array([life.shared_error for life in lives if life.value is not None])


def log_rate(decline: Decline, confidence: float) -> tuple[float, float] | None:
    """Return the log rate towards the limit (1/h) and its own error; None where none is plainly there.

    Delta method on the interval of the rate.
    """
    rate, limit = decline.rate_per_h, decline.limit
    rising = limit is not None and (limit.at_most is not None or limit.at_most_percent is not None)
    if rate.value is None or (-rate.value if rising else rate.value) <= 0:
        return None
    towards = rate.high if rising else rate.low
    if towards is not None and (-towards if rising else towards) <= 0:
        return None
    own = 0.0
    if rate.low is not None and rate.high is not None:
        quantile = float(stats.t.ppf(0.5 + confidence / 2, max(len(decline.series.value) - 2, 1)))
        own = (rate.high - rate.low) / (2 * quantile * abs(rate.value))
    return log(abs(rate.value)), own
