"""What the columns of a group say together.

In: the `Decline`s of one group for one marker and metric. Out: `GroupLife`.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import log

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from lyewitness.decline.column_lives import ColumnLife, column_life, errors_of, hours_of, values_of
from lyewitness.decline.conservative import conservative_life
from lyewitness.decline.records import Decline, GroupLife, Life, LifeState
from lyewitness.decline.small_samples import typical
from lyewitness.decline.survival import kaplan_meier
from lyewitness.estimates import Estimate

FloatArray = NDArray[np.float64]


def group_life(declines: Sequence[Decline], confidence: float) -> GroupLife:
    """Return the life of the typical column of a group; all `declines` bear the same limit."""
    first = declines[0]
    if first.limit is None:
        raise ValueError("a group life needs a limit")
    found = [(decline, column_life(decline, "", confidence)) for decline in declines]
    lives = tuple(life for _, life in found if life is not None)
    times, shares = _survival(lives)
    values = [hours_of(life.value) for life in lives if life.value is not None]
    ends = [decline.end_h for decline in declines if decline.end_h is not None]
    life, reason = typical_life(lives, confidence, first.life)
    conservative_h, how = conservative_life(declines, confidence)
    return GroupLife(
        first.series.group,
        first.series.marker,
        first.series.metric,
        first.limit,
        tuple(decline.series.column for decline in declines),
        tuple(decline.life.state for decline in declines),
        replace(life, conservative_h=conservative_h),
        shortest_h=min(values, default=None),
        longest_h=max(values, default=None) if values and len(values) == len(lives) else None,
        rate_per_h=mean_of([decline.rate_per_h for decline in declines], confidence),
        remaining=mean_of([decline.remaining for decline in declines], confidence),
        tested_to_h=max(ends, default=None),
        survival_h=times,
        survival=shares,
        conservative_how=how,
        reason=reason,
    )


def _survival(lives: Sequence[ColumnLife]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the Kaplan–Meier steps of the group."""
    if not lives:
        return (), ()
    hours = np.exp([life.at_least for life in lives])
    return kaplan_meier(hours, np.array([life.value is not None for life in lives]))


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

    `own` is the life of the group's first column, which speaks for itself where it is the only one.
    """
    if not lives:
        reason = "measured on no column of the group"
        return Life("not measured", Estimate(reason=reason)), reason
    if len(lives) == 1:
        return own, "one column: its own life, which says nothing of the type"
    known = values_of(lives)
    if len(known) == len(lives):
        middle = typical(known, errors_of(lives))
        low, high = middle.interval(confidence)
        hours = Estimate(hours_of(middle.value), hours_of(low), hours_of(high))
        sure = all(life.state == "reached" for life in lives)
        note = "" if sure else "some columns passed the limit so late that their bands do not show it"
        return Life("reached" if sure else "unclear", hours), note
    if len(known) == 0:
        return _none_failed(lives)
    return _some_failed(lives, confidence)


def _none_failed(lives: Sequence[ColumnLife]) -> tuple[Life, str]:
    """Return the bound where no column reached the limit."""
    reason = f"none of the {len(lives)} columns reached the limit; each was within it at least so long"
    return Life(
        "not reached", Estimate(None, hours_of(min(life.low for life in lives)), None, reason)
    ), reason


def _some_failed(lives: Sequence[ColumnLife], confidence: float) -> tuple[Life, str]:
    """Return the life where some columns outlived the test: censored log-normal likelihood."""
    failed = sum(life.value is not None for life in lives)
    note = f"{failed} of {len(lives)} columns reached the limit"
    if failed < 2:
        low = hours_of(min(life.low for life in lives))
        return Life("unclear", Estimate(None, low, None, f"{note}: too few for their spread")), note
    middle, low_log, high_log = censored_interval(lives, confidence)
    hours = Estimate(hours_of(middle), _open(low_log), _open(high_log), note)
    longest_seen = max(life.at_least for life in lives)
    state: LifeState = "reached" if middle <= longest_seen else "unclear"
    return Life(state, hours), f"{note}; those that outlived it count as 'at least' (log-normal likelihood)"


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
    survived = sum((special.log_ndtr((mean - bound) / sigma) for bound in bounds), np.zeros_like(exact))
    return np.asarray(exact + survived)
