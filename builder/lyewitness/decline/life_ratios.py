"""The ratio of the lives of two groups, by the method that their state allows.

In: the lives of the columns on two sides. Out: `LifeRatio`. The columns are the replicates: however many
injections there are, three columns are three.
"""

from dataclasses import dataclass, replace
from math import exp, inf, log
from typing import Literal

import numpy as np

from lyewitness.decline.column_lives import ColumnLife, by_blocks, errors_of, shared_of, values_of
from lyewitness.decline.small_samples import (
    Difference,
    least_of_more,
    least_of_more_limit,
    log_rank,
    mean_error,
    paired,
    welch,
)
from lyewitness.study.records import Choices
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import kind_of

Longer = Literal["a", "b", ""]
LARGEST_RATIO = 1e6
"""An end of an interval beyond this is open."""


@dataclass(frozen=True, slots=True)
class Side:
    """One group's columns for one marker and metric."""

    group: str
    lives: tuple[ColumnLife, ...]
    rates: tuple[tuple[float, float], ...] = ()
    """(log rate, its own error) of every column whose rate is above zero."""

    @property
    def censored(self) -> int:
        """Return how many columns have no life but only a bound."""
        return sum(life.value is None for life in self.lives)

    @property
    def unclear(self) -> bool:
        """Tell whether of some column without a life it is not known whether it reached the limit."""
        return any(life.value is None and life.state != "not reached" for life in self.lives)


@dataclass(frozen=True, slots=True)
class LifeRatio:
    """What the lives of two sides say, by the method that their state allowed; not yet adjusted."""

    ratio: Estimate
    p_value: float | None
    method: str
    longer: Longer = ""
    difference: Difference | None = None
    reason: str = ""


def compare_lives(a: Side, b: Side, choices: Choices) -> LifeRatio:
    """Return what the lives say, by the method that their state allows."""
    if not a.lives or not b.lives:
        return LifeRatio(
            Estimate(reason="not measured on one side"), None, "none", reason="no lives to compare"
        )
    if a.censored == len(a.lives) and b.censored == len(b.lives):
        known = "is known to have reached" if a.unclear or b.unclear else "reached"
        why = f"no {kind_of(a.group)} or {kind_of(b.group)} column {known} the limit during the test"
        return LifeRatio(Estimate(reason=why), None, "none", reason=why)
    if min(len(a.lives), len(b.lives)) < 2:
        return _single(a, b, choices)
    if a.censored == 0 and b.censored == 0:
        return _both_known(a, b, choices)
    if b.censored == 0:
        return _bounded(a, b, choices, flipped=False)
    if a.censored == 0:
        return _bounded(b, a, choices, flipped=True)
    return _both_censored(a, b)


def _both_known(a: Side, b: Side, choices: Choices) -> LifeRatio:
    """Return the comparison where every column has a life."""
    pairs = _pairs(a, b) if choices.paired_blocks else []
    if len(pairs) >= 2:
        apart = np.array([one.at_least - other.at_least for one, other in pairs])
        own, shared = (
            np.array([float(np.hypot(getattr(one, which), getattr(other, which))) for one, other in pairs])
            for which in ("own_error", "shared_error")
        )
        difference = paired(apart, own, shared)
        method = f"paired t test on log lives, {len(pairs)} blocks{_with_shared(shared)}"
    else:
        a_lives, b_lives = (by_blocks(side.lives) if choices.paired_blocks else side.lives for side in (a, b))
        in_blocks = len(a_lives) < len(a.lives) or len(b_lives) < len(b.lives)
        if min(len(a_lives), len(b_lives)) < 2:
            why = "one block on a side: how far blocks differ is not known, so nothing follows for the types"
            return LifeRatio(Estimate(reason=why), None, "none", reason=why)
        difference = welch(
            values_of(a_lives), values_of(b_lives), errors_of(a_lives), errors_of(b_lives),
            shared_of(a_lives), shared_of(b_lives),
        )  # fmt: skip
        replicates = "blocks" if in_blocks else "columns"
        shared = np.concatenate([shared_of(a_lives), shared_of(b_lives)])
        method = f"Welch's t test on log lives, {replicates} as replicates{_with_shared(shared)}"
    return LifeRatio(
        ratio_of(difference, choices.confidence),
        difference.p_value,
        method,
        "a" if difference.value > 0 else "b",
        difference,
    )


def _with_shared(shared: FloatArray) -> str:
    """Say where the test is not the textbook's alone: errors that columns share have freedom of their own."""
    return ", with the errors that they share" if shared.any() else ""


def _pairs(a: Side, b: Side) -> list[tuple[ColumnLife, ColumnLife]]:
    """Return what ran side by side: the means of both sides' columns in every block that has both."""
    by_block = {life.block: life for life in by_blocks(b.lives) if life.block}
    return [(life, by_block[life.block]) for life in by_blocks(a.lives) if life.block in by_block]


def ratio_of(difference: Difference, confidence: float) -> Estimate:
    """Return a difference of logarithms as a ratio; ends beyond a million are open."""
    low, high = difference.interval(confidence)
    widest = log(LARGEST_RATIO)
    return Estimate(
        exp(difference.value),
        exp(low) if low > -widest else None,
        exp(high) if high < widest else None,
    )


def _bounded(a: Side, b: Side, choices: Choices, flipped: bool) -> LifeRatio:
    """Return the comparison where all of b failed and some or all of a outlived the test.

    Under 'no difference', columns of both groups come from one normal distribution of log lives, and the
    least of a's lives exceeds mean(b) + k sd(b) with a chance that can be computed. A life that was not
    reached counts as its bound, which it exceeds: so the p value is at most too large.
    """
    values = values_of(b.lives)
    variance, _ = mean_error(values, errors_of(b.lives))
    spread = (variance * len(values)) ** 0.5
    least = min(life.at_least for life in a.lives)
    centre = float(values.mean())
    k = (least - centre) / spread if spread > 0 else inf
    n, more = len(values), len(a.lives)
    limit = least_of_more_limit(choices.alpha / 2, n, more)
    low = exp(least - centre - limit * spread)
    why = "not every column of one side reached the limit: the ratio has a bound only"
    ratio = Estimate(None, None, 1 / low, why) if flipped else Estimate(None, low, None, why)
    p_value = min(1.0, 2 * least_of_more(k, n, more))
    method = "least of the lives not reached against the normal prediction limit of the log lives reached"
    return LifeRatio(ratio, p_value, method, "b" if flipped else "a")


def _both_censored(a: Side, b: Side) -> LifeRatio:
    """Return the log-rank comparison where on both sides there are columns without a life."""
    lives = a.lives + b.lives
    hours = np.array([life.at_least for life in lives])
    failed = np.array([life.value is not None for life in lives])
    in_a = np.arange(len(lives)) < len(a.lives)
    test = log_rank(hours, failed, in_a)
    exact = test.exact_p is not None
    method = "log-rank test, " + ("all arrangements of the columns" if exact else "chi-square")
    why = "on both sides some columns have not surely failed, so that the ratio of lives has no bound"
    p_value = test.exact_p if test.exact_p is not None else test.p_value
    return LifeRatio(Estimate(reason=why), p_value, method, reason=why)


def _single(a: Side, b: Side, choices: Choices) -> LifeRatio:
    """Return the ratio of lives where one side is one column: about these columns alone."""
    why = (
        f"{len(a.lives)} against {len(b.lives)} columns: how far columns of one type differ is not known, "
        "so this says nothing of the types; three columns a side would show a twofold life, and smaller "
        "differences need more"
    )
    method = "ratio of the lives of these columns, their own uncertainty only"
    if a.censored or b.censored:
        low = min(life.at_least for life in a.lives) - max(life.at_least for life in b.lives)
        if b.censored == 0:
            return LifeRatio(Estimate(None, exp(low), None, why), None, method, reason=why)
        high = max(life.at_least for life in a.lives) - min(life.at_least for life in b.lives)
        ratio = Estimate(None, None, exp(high), why) if a.censored == 0 else Estimate(reason=why)
        return LifeRatio(ratio, None, method, reason=why)
    error = sum(float((errors_of(side.lives) ** 2).sum()) / len(side.lives) ** 2 for side in (a, b)) ** 0.5
    apart = float(values_of(a.lives).mean() - values_of(b.lives).mean())
    ratio = ratio_of(Difference(apart, max(error, 1e-9), 30.0), choices.confidence)
    return LifeRatio(replace(ratio, reason=why), None, method, reason=why)
