"""What the columns of a group say together.

In: the `Decline`s of one group for one marker and metric. Out: `GroupLife`.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from math import inf, log

import numpy as np
import scipy

from lyewitness.decline import distributions as stats
from lyewitness.decline.column_lives import (
    ColumnLife,
    at_risk,
    by_blocks,
    column_life,
    counted,
    enough_failed,
    errors_of,
    hours_of,
    values_of,
)
from lyewitness.decline.records import Decline, GroupLife, Life, LifeState, Outcome, Watched
from lyewitness.decline.shelf_life import conservative_life
from lyewitness.decline.small_samples import kaplan_meier, typical
from lyewitness.decline.usable_lives import held_h
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import share_of, spelled

LATE = "what passed it so late that the band does not show it counts by its curve"


def group_life(
    declines: Sequence[Decline], confidence: float, blocks: Mapping[str, str] | None = None
) -> GroupLife:
    """Return the life of the typical column of a group; all `declines` bear the same limit.

    `blocks` by column id: columns of one block count as one replicate.
    """
    block = blocks or {}
    first = declines[0]
    if first.limit is None:
        raise ValueError("a group life needs a limit")
    found = [
        (decline, column_life(decline, block.get(decline.series.column, ""), confidence))
        for decline in declines
    ]
    lives = tuple(life for _, life in found if life is not None)
    times, shares = _survival(lives)
    failed = [decline.life for decline in declines if decline.life.state == "reached"]
    all_failed = bool(failed) and len(failed) == len(lives)
    ends = [decline.end_h for decline in declines if decline.end_h is not None]
    first_failed = _extreme(failed, min)
    last_failed = _extreme(failed, max) if all_failed else Estimate()
    life, reason = typical_life(lives, confidence, _only_measured(declines))
    life = _with_returns(life, declines)
    conservative_h, how = conservative_life(declines, confidence)
    return GroupLife(
        first.series.group,
        first.series.marker,
        first.series.metric,
        first.limit,
        tuple(decline.series.column for decline in declines),
        tuple(decline.life.state for decline in declines),
        replace(life, conservative_h=conservative_h, tested=_tested(declines, lives, life)),
        shortest_h=first_failed.low if first_failed.value is None else first_failed.value,
        longest_h=last_failed.high if last_failed.value is None else last_failed.value,
        first=first_failed,
        last=last_failed,
        rate_per_h=mean_of([decline.rate_per_h for decline in declines], confidence),
        remaining=mean_of([decline.remaining for decline in declines], confidence),
        tested_to_h=max(ends, default=None),
        survival_h=times,
        survival=shares,
        conservative_how=how,
        reason=reason,
    )


def _extreme(failed: Sequence[Life], choose: Callable[[Iterable[float]], float]) -> Estimate:
    """Return when the first (`min`) or the last (`max`) column failed.

    Where one column is the extreme it is its life: by the value, of one that lies somewhere in its bracket by
    both ends of that. Else it is the hours between which the extreme must lie, whichever column it was: by
    the intervals of all of them, for beside a bracket the value of another would be read as a bound.
    """
    ends = [
        _interval_of(life)
        if life.is_bracketed or life.hours.value is None
        else (life.hours.value, life.hours.value)
        for life in failed
    ]
    if not ends:
        return Estimate()
    low, high = _extreme_ends(ends, choose)
    if low == high:
        known = (life.hours for life in failed if life.hours.value == low)
        return next(known, Estimate(low, low, high))
    # One that lies before or behind all others by both its ends has its life, as it is told elsewhere;
    # not where the life of another is told as shorter or longer, as its injections merely lie elsewhere,
    # nor where another, of which only a bracket is known, may have been.
    alone = [life for life, own in zip(failed, ends, strict=True) if own == (low, high)]
    told = [
        life.hours.value if life.hours.value is not None else (own[1] or inf) if choose is max else own[0]
        for life, own in zip(failed, ends, strict=True)
    ]
    if len(alone) == 1 and alone[0].hours.value == choose(told):
        return alone[0].hours
    return Estimate(None, *_extreme_ends([_interval_of(life) for life in failed], choose))


def _interval_of(life: Life) -> tuple[float, float | None]:
    """Return between which hours a `reached` life ended."""
    return life.hours.low or 0.0, life.hours.high


def _extreme_ends(
    ends: Sequence[tuple[float, float | None]], choose: Callable[[Iterable[float]], float]
) -> tuple[float, float | None]:
    """Return between which hours the first (`min`) or the last (`max`) of these lies."""
    highs = [high for _, high in ends if high is not None]
    known = len(highs) == len(ends) or (highs and choose is min)
    return choose(low for low, _ in ends), choose(highs) if known else None


def _tested(declines: Sequence[Decline], lives: Sequence[ColumnLife], life: Life) -> Outcome | None:
    """Return what the columns did of which a typical life is told; None where none is."""
    counted_in = {one.column for one in at_risk(lives)}
    own = [decline for decline in declines if decline.series.column in counted_in]
    if life.state != "reached" or len(own) < 2:
        return None
    ended = [_interval_of(one.life) for one in own if one.life.state == "reached"]
    held = [held_h(one) for one in own if one.life.state != "reached"]
    return Outcome(
        len(own),
        min(*(low for low, _ in ended), *held),
        None if held else _extreme_ends(ended, max)[1],
    )


def _only_measured(declines: Sequence[Decline]) -> Life:
    """Return the life of the first column that was measured."""
    lives = [decline.life for decline in declines if decline.life.state != "not measured"]
    return lives[0] if lives else declines[0].life


def _survival(lives: Sequence[ColumnLife]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the Kaplan–Meier steps of the group."""
    if not lives:
        return (), ()
    failed = np.array([life.state == "reached" for life in lives])
    hours = np.exp([life.at_least if life.state == "reached" else life.low for life in lives])
    return kaplan_meier(hours, failed)


def mean_of(estimates: Sequence[Estimate], confidence: float) -> Estimate:
    """Return the mean over columns with the t interval of their scatter."""
    values = np.array([estimate.value for estimate in estimates if estimate.value is not None])
    if len(values) == 0:
        return Estimate(reason=estimates[0].reason if estimates else "no columns")
    if len(values) == 1:
        return Estimate(float(values[0]), reason="one column: no interval for the type")
    half = float(stats.t.ppf(0.5 + confidence / 2, len(values) - 1) * values.std(ddof=1) / len(values) ** 0.5)
    middle = float(values.mean())
    return Estimate(middle, middle - half, middle + half)


def typical_life(lives: Sequence[ColumnLife], confidence: float, own: Life) -> tuple[Life, str]:
    """Return the life of the typical (median, log scale) column, and what is to be minded about it.

    `own` is the life of the group's only measured column, where there is but one.

    A group has an estimate exactly where its state is `reached`: where at least half of its columns, and at
    least two, reached the limit (or the only one did), so that the median column is one of those that failed
    within the test. Else it has a bound, and is `not reached` where every column surely outlived the test.
    """
    if not lives:
        reason = "measured on no column of the group"
        return Life("not measured", Estimate(reason=reason)), reason
    if len(lives) == 1:
        return _alone(lives[0], own), "one column: its own life, which says nothing of the type"
    failed = sum(life.state == "reached" for life in lives)
    if not enough_failed(failed, len(lives)):
        return _bound_only(lives, failed)
    taken_off, lives = len(lives), at_risk(lives)
    taken_off -= len(lives)
    lives = counted(lives)
    if any(life.value is None for life in lives):
        return _some_outlived(lives, failed, confidence)
    lowest = hours_of(min(life.low for life in lives))
    lives = by_blocks(lives)
    if len(lives) < 2:
        reason = "all columns ran in one block: how far blocks differ is not known"
        return Life("unclear", Estimate(None, lowest, None, reason)), reason
    # What the injections of its columns err by may all be common to them: a day, a drift, a law that bends
    # otherwise. Two types share much of it, and their ratio is free of that; the life of one is not. Of 134
    # types of two columns or more, by laws and noises that no shape here knows, 121 lives held the median
    # one with half of it taken as common, 124 with all of it.
    middle = typical(values_of(lives), errors_of(lives), errors_of(lives))
    low, high = middle.interval(confidence)
    note = "" if failed == len(lives) else f"{_count(failed, len(lives))} surely reached the limit; {LATE}"
    if taken_off:
        more = "one more was" if taken_off == 1 else f"{spelled(taken_off)} more were"
        before = f"{more} taken off before any failed, and says nothing of it"
        note = f"{note}; {before}" if note else before
    return Life("reached", Estimate(hours_of(middle.value), hours_of(low), hours_of(high))), note


def _alone(column: ColumnLife, own: Life) -> Life:
    """Return the life of a group of one column; where that did not surely fail within the test, its bound."""
    if own.state == "reached":
        return own
    hours = Estimate(None, hours_of(column.low), None, own.hours.reason)
    volumes = Estimate(None, None if own.extrapolated else own.column_volumes.low, None, hours.reason)
    return replace(own, hours=hours, column_volumes=volumes, extrapolated=False)


def _bound_only(lives: Sequence[ColumnLife], failed: int) -> tuple[Life, str]:
    """Return the bound where fewer columns reached the limit than a typical life can be had from."""
    number, unclear = len(lives), sum(life.state == "unclear" for life in lives)
    low = hours_of(min(life.low for life in lives))
    reason = f"{_count(failed, number)}{' surely' * bool(unclear)} reached the limit"
    if unclear:
        reason += f"; of {_of_unclear(failed, unclear, number)} the injections cannot tell"
    if not failed:
        reason += "; each stayed within it at least that long"
    elif failed < 2:
        reason += "; with one failure nobody knows how far columns differ"
    else:
        reason += ": fewer than half, so the typical column did not fail during the test"
    state: LifeState = "unclear" if failed or unclear else "not reached"
    return Life(state, Estimate(None, low, None, reason), watched=_watched(lives, failed)), reason


WATCHED_ALIKE = 1.05
"""Times the shortest run, from which another one was longer: schedules differ by minutes."""


def _watched(lives: Sequence[ColumnLife], failed: int) -> Watched | None:
    """Return how the columns that held were watched, where the shortest-watched one bounds all of them.

    The end of its test says of the type nothing that the others do not belie. Not where one is known to have
    held for less than it was watched: its bound is no end of a test.
    """
    within = [life for life in lives if life.state == "not reached"]
    if any(one.end_h is not None and WATCHED_ALIKE * hours_of(one.low) < one.end_h for one in within):
        return None
    held = [hours_of(life.low) for life in within]
    if not held or len(held) + failed < len(lives) or max(held) <= WATCHED_ALIKE * min(held):
        return None
    bounds = hours_of(min(life.low for life in lives)) >= min(held)
    return Watched(len(lives), failed, min(held), max(held)) if bounds else None


def _with_returns(life: Life, declines: Sequence[Decline]) -> Life:
    """Return the life of a group of which some columns passed the limit and came back, and all others held.

    None failed for good, and yet the limit was passed: a bound alone would say that nobody saw that.
    """
    measured = [decline for decline in declines if decline.life.state != "not measured"]
    back = [d.life.recovered_h for d in measured if d.life.state == "unclear"]
    within = [decline for decline in measured if decline.life.state == "not reached"]
    held = [
        held_h(decline) for decline in within if WATCHED_ALIKE * held_h(decline) >= (decline.end_h or 0.0)
    ]
    again = [end for _, end in back if end is not None]
    if not held or not back or len(again) < len(back) or len(back) + len(held) < len(measured):
        return life
    seen = Watched(len(measured), len(back), min(held), max(held))
    last = max((end for end, _ in back if end is not None), default=None)
    return replace(life, watched=seen, recovered_h=(last, max(again)))


def _of_unclear(failed: int, unclear: int, number: int) -> str:
    """Return `the other`, `one other`, `two others`, or without a failure `one`, `both`, `all three`."""
    if failed:
        if failed + unclear == number:
            return "the other" if unclear == 1 else f"the other {spelled(unclear)}"
        return "one other" if unclear == 1 else f"{spelled(unclear)} others"
    return ("both" if number == 2 else f"all {spelled(number)}") if unclear == number else spelled(unclear)


def _count(failed: int, number: int) -> str:
    return share_of(failed, number, "column")


def _some_outlived(lives: Sequence[ColumnLife], failed: int, confidence: float) -> tuple[Life, str]:
    """Return the life where half of the columns or more reached the limit: censored log-normal likelihood."""
    late = any(life.state == "unclear" and life.value is not None for life in lives)
    note = f"{_count(failed, len(lives))} surely reached the limit; " + (f"{LATE}; " if late else "")
    middle, low, high = censored_interval(lives, confidence)
    if middle > max(life.at_least for life in lives):
        note += "the typical life lies beyond what was run"
        return Life("unclear", Estimate(None, _open(low), None, note)), note
    if low is None and high is None:
        few = f"{spelled(failed)} failures of {spelled(len(lives))} columns"
        note += f"{few} are too few for an interval of the typical life"
        return Life("unclear", Estimate(None, hours_of(min(life.low for life in lives)), None, note)), note
    note += "those that outlived the test count as 'at least' (log-normal likelihood)"
    return Life("reached", Estimate(hours_of(middle), _open(low), _open(high), note)), note


def _open(end: float | None) -> float | None:
    return None if end is None else hours_of(end)


def censored_interval(
    lives: Sequence[ColumnLife], confidence: float
) -> tuple[float, float | None, float | None]:
    """Return mean log life and its interval, from lives of which at least two are known.

    Profile likelihood of a normal distribution of log lives. Its threshold is the one that gives the exact t
    interval where nothing is censored, with failures − 1 degrees of freedom.
    """
    known = values_of(lives)
    bounds = np.array([life.low for life in lives if life.value is None])
    failed, n = len(known), len(lives)
    spread = max(float(known.std(ddof=1)), float(np.sqrt((errors_of(lives) ** 2).mean())), 0.01)
    reach = max(float(max(known.max(), bounds.max(initial=known.min())) - known.min()), spread)
    means = np.linspace(known.min() - 12 * reach, known.max() + 12 * reach, 2401)
    sigmas = spread * np.geomspace(0.2, 60.0, 160)
    profile = _log_likelihood(means, sigmas, known, bounds).max(axis=1)
    best = int(np.argmax(profile))
    quantile = float(stats.t.ppf(0.5 + confidence / 2, failed - 1))
    threshold = n * log(1 + quantile**2 / (failed - 1)) / 2
    inside = np.flatnonzero(profile >= profile[best] - threshold)
    low, high = int(inside[0]), int(inside[-1])
    return (
        float(means[best]),
        float(means[low]) if low > 0 else None,
        float(means[high]) if high < len(means) - 1 else None,
    )


def _log_likelihood(
    means: FloatArray, sigmas: FloatArray, known: FloatArray, bounds: FloatArray
) -> FloatArray:
    """Return the log-likelihood at every mean (rows) and standard deviation (columns)."""
    mean, sigma = means[:, None], sigmas[None, :]
    spread = float(((known - known.mean()) ** 2).sum())
    squares = spread + len(known) * (mean - known.mean()) ** 2
    exact = -len(known) * np.log(sigma * np.sqrt(2 * np.pi)) - squares / (2 * sigma**2)
    survived = sum((scipy.special.log_ndtr((mean - bound) / sigma) for bound in bounds), np.zeros_like(exact))
    return np.asarray(exact + survived)
