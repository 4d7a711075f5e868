"""Whether the columns of one group outlast those of another.

In: the lives of the columns of two groups. Out: `Comparison`s. The columns are the replicates: however
many injections there are, three columns are three.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, exp, inf, log
from typing import Literal

import numpy as np

from lyewitness.decline.column_lives import ColumnLife, errors_of, values_of
from lyewitness.decline.records import Comparison, Finding
from lyewitness.decline.small_samples import (
    Difference,
    holm,
    least_of_more,
    least_of_more_limit,
    log_margin,
    mean_error,
    paired,
    permutation_p,
    welch,
)
from lyewitness.decline.survival import log_rank
from lyewitness.estimates import Estimate
from lyewitness.study.records import Choices

Longer = Literal["a", "b", ""]
LARGEST_RATIO = 1e6


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


@dataclass(frozen=True, slots=True)
class _Result:
    """What a method found, before Holm."""

    ratio: Estimate
    p_value: float | None
    method: str
    longer: Longer = ""
    difference: Difference | None = None
    reason: str = ""


def compare(marker: str, metric: str, a: Side, b: Side, choices: Choices) -> Comparison:
    """Return the comparison of two groups, its p value not yet adjusted."""
    result = _compare_lives(a, b, choices)
    alone = min(len(a.lives), len(b.lives)) == 1
    rate = _rate_difference(a, b)
    equivalence = None
    if result.difference is not None and not alone:
        equivalence = result.difference.equivalence_p(log_margin(choices.equivalence_margin_percent))
    return Comparison(
        marker,
        metric,
        a.group,
        b.group,
        len(a.lives),
        len(b.lives),
        result.ratio,
        _rate_ratio(rate, a, b, choices),
        None if alone else result.p_value,
        None,
        result.method,
        "these columns only" if alone else "not settled",
        result.reason,
        exact_p=None if alone else _exact(a, b),
        equivalence_p=equivalence,
        rate_p=rate.p_value if rate is not None else None,
        columns_needed=None
        if alone or result.difference is None
        else _columns_needed(a, b, result.difference),
    )


def settle(comparisons: Sequence[Comparison], choices: Choices) -> tuple[Comparison, ...]:
    """Return the comparisons with p values after Holm and with their findings."""
    tested = [index for index, comparison in enumerate(comparisons) if comparison.p_value is not None]
    adjusted = holm([comparisons[index].p_value or 0.0 for index in tested])
    by_index = dict(zip(tested, adjusted, strict=True))
    return tuple(_settled(one, by_index.get(index), choices) for index, one in enumerate(comparisons))


def _settled(comparison: Comparison, adjusted: float | None, choices: Choices) -> Comparison:
    """Return one comparison with its finding; equivalence goes before a difference too small to matter."""
    if adjusted is None:
        return comparison
    alpha = 1.0 - choices.confidence
    finding: Finding = "not settled"
    reason = comparison.reason
    # Half of alpha on either side, so that the interval that is shown lies within the margin, too.
    if comparison.equivalence_p is not None and comparison.equivalence_p <= alpha / 2:
        finding = "no meaningful difference"
        reason = (
            f"the ratio of lives lies surely within the margin of {choices.equivalence_margin_percent:g} %"
        )
    elif adjusted <= alpha and (longer := _longer(comparison)):
        finding = "a lasts longer" if longer == "a" else "b lasts longer"
        reason = ""
    elif not reason:
        reason = _why_open(comparison, adjusted, alpha)
    return replace(comparison, p_adjusted=adjusted, finding=finding, reason=reason)


def _longer(comparison: Comparison) -> Longer:
    """Return which side's lives are the longer ones by the ratio, its value or its closed end."""
    ratio = comparison.life_ratio
    if ratio.value is not None:
        return "a" if ratio.value > 1 else "b"
    if ratio.low is not None and ratio.low > 1:
        return "a"
    return "b" if ratio.high is not None and ratio.high < 1 else ""


def _why_open(comparison: Comparison, adjusted: float, alpha: float) -> str:
    """Return why a tested pair is not settled, and what would settle it."""
    few = min(comparison.columns_a, comparison.columns_b)
    if comparison.p_value is not None and comparison.p_value <= alpha < adjusted:
        why = "the difference does not outlive the correction for the number of comparisons"
    else:
        why = f"{few} columns a side cannot tell the lives apart, nor show that they are alike"
    if comparison.columns_needed is None:
        return why
    return f"{why}; about {comparison.columns_needed} columns a side would show such a ratio"


def _compare_lives(a: Side, b: Side, choices: Choices) -> _Result:
    """Return what the lives say, by the method that their state allows."""
    if not a.lives or not b.lives:
        return _Result(
            Estimate(reason="not measured on one side"), None, "none", reason="no lives to compare"
        )
    if a.censored == len(a.lives) and b.censored == len(b.lives):
        why = "no column of either group reached the limit within the test"
        return _Result(Estimate(reason=why), None, "none", reason=why)
    if min(len(a.lives), len(b.lives)) < 2:
        return _single(a, b, choices)
    if a.censored == 0 and b.censored == 0:
        return _both_known(a, b, choices)
    if b.censored == 0:
        return _bounded(a, b, choices, flipped=False)
    if a.censored == 0:
        return _bounded(b, a, choices, flipped=True)
    return _both_censored(a, b)


def _both_known(a: Side, b: Side, choices: Choices) -> _Result:
    """Return the comparison where every column has a life."""
    pairs = _pairs(a, b) if choices.paired_blocks else []
    if len(pairs) >= 2:
        apart = np.array([one.at_least - other.at_least for one, other in pairs])
        own = np.array([(one.own_error**2 + other.own_error**2) ** 0.5 for one, other in pairs])
        difference, method = paired(apart, own), f"paired t test on log lives, {len(pairs)} blocks"
    else:
        difference = welch(values_of(a.lives), values_of(b.lives), errors_of(a.lives), errors_of(b.lives))
        method = "Welch's t test on log lives, columns as replicates"
    return _Result(
        ratio_of(difference, choices.confidence),
        difference.p_value,
        method,
        "a" if difference.value > 0 else "b",
        difference,
    )


def _pairs(a: Side, b: Side) -> list[tuple[ColumnLife, ColumnLife]]:
    """Return the columns that ran side by side."""
    by_block = {life.block: life for life in b.lives if life.block}
    return [(life, by_block[life.block]) for life in a.lives if life.block in by_block]


def ratio_of(difference: Difference, confidence: float) -> Estimate:
    """Return a difference of logarithms as a ratio; ends beyond a million are open."""
    low, high = difference.interval(confidence)
    widest = log(LARGEST_RATIO)
    return Estimate(
        exp(difference.value),
        exp(low) if low > -widest else None,
        exp(high) if high < widest else None,
    )


def _bounded(a: Side, b: Side, choices: Choices, flipped: bool) -> _Result:
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
    limit = least_of_more_limit((1 - choices.confidence) / 2, n, more)
    low = exp(least - centre - limit * spread)
    why = "not every column of one side reached the limit: the ratio has a bound only"
    ratio = Estimate(None, None, 1 / low, why) if flipped else Estimate(None, low, None, why)
    p_value = min(1.0, 2 * least_of_more(k, n, more))
    method = "least of the lives not reached against the normal prediction limit of the log lives reached"
    return _Result(ratio, p_value, method, "b" if flipped else "a")


def _both_censored(a: Side, b: Side) -> _Result:
    """Return the log-rank comparison where columns of both sides outlived the test."""
    lives = a.lives + b.lives
    hours = np.array([life.at_least for life in lives])
    failed = np.array([life.value is not None for life in lives])
    in_a = np.arange(len(lives)) < len(a.lives)
    test = log_rank(hours, failed, in_a)
    exact = test.exact_p is not None
    method = "log-rank test, " + ("all arrangements of the columns" if exact else "chi-square")
    why = "columns of both sides outlived the test: the ratio of lives has no bound"
    p_value = test.exact_p if test.exact_p is not None else test.p_value
    return _Result(Estimate(reason=why), p_value, method, reason=why)


def _single(a: Side, b: Side, choices: Choices) -> _Result:
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
            return _Result(Estimate(None, exp(low), None, why), None, method, reason=why)
        high = max(life.at_least for life in a.lives) - min(life.at_least for life in b.lives)
        ratio = Estimate(None, None, exp(high), why) if a.censored == 0 else Estimate(reason=why)
        return _Result(ratio, None, method, reason=why)
    error = sum(float((errors_of(side.lives) ** 2).sum()) / len(side.lives) ** 2 for side in (a, b)) ** 0.5
    apart = float(values_of(a.lives).mean() - values_of(b.lives).mean())
    ratio = ratio_of(Difference(apart, max(error, 1e-9), 30.0), choices.confidence)
    return _Result(replace(ratio, reason=why), None, method, reason=why)


def _exact(a: Side, b: Side) -> float | None:
    """Return the exact permutation p value of mean log lives; None where a life has a bound only."""
    if not a.lives or not b.lives or a.censored or b.censored:
        return None
    lives = np.concatenate([values_of(a.lives), values_of(b.lives)])
    return permutation_p(lives, np.arange(len(lives)) < len(a.lives))


def _rate_difference(a: Side, b: Side) -> Difference | None:
    """Return the difference of log rates; None where a side has fewer than two rates above zero."""
    if min(len(a.rates), len(b.rates)) < 2 or len(a.rates) < len(a.lives) or len(b.rates) < len(b.lives):
        return None
    (values_a, own_a), (values_b, own_b) = (np.array(side.rates).T for side in (a, b))
    return welch(values_a, values_b, own_a, own_b)


def _rate_ratio(rate: Difference | None, a: Side, b: Side, choices: Choices) -> Estimate:
    """Return the ratio of rates, or why there is none."""
    if rate is not None:
        return ratio_of(rate, choices.confidence)
    if min(len(a.rates), len(b.rates)) == 0 or len(a.rates) < len(a.lives) or len(b.rates) < len(b.lives):
        return Estimate(reason="a column of one side shows no decline: a rate of nothing has no ratio")
    apart = float(np.mean([rate for rate, _ in a.rates]) - np.mean([rate for rate, _ in b.rates]))
    return Estimate(exp(apart), reason="one column on a side: no interval for the type")


def _columns_needed(a: Side, b: Side, difference: Difference) -> int | None:
    """Return the columns a side that would show this difference in four studies of five (two-sided 5 %)."""
    spread = (mean_error(values_of(a.lives), errors_of(a.lives))[0] * len(a.lives)) + (
        mean_error(values_of(b.lives), errors_of(b.lives))[0] * len(b.lives)
    )
    if abs(difference.value) < 1e-6:
        return None
    needed = (1.96 + 0.84) ** 2 * spread / difference.value**2 + 1
    return ceil(needed) if needed <= 1000 else None
