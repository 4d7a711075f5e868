"""Whether the columns of one group outlast those of another.

In: the lives and rates of the columns of two groups. Out: `Comparison`s with their findings.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import exp

import numpy as np

from lyewitness.decline.column_lives import errors_of, values_of
from lyewitness.decline.life_ratios import Longer, Side, compare_lives, ratio_of
from lyewitness.decline.planning import columns_needed
from lyewitness.decline.records import Comparison, Finding
from lyewitness.decline.small_samples import (
    Difference,
    holm,
    log_margin,
    mean_error,
    permutation_p,
    welch,
)
from lyewitness.study.records import Choices
from lyewitness.words.estimates import Estimate


def compare(marker: str, metric: str, a: Side, b: Side, choices: Choices) -> Comparison:
    """Return the comparison of two groups, its p value not yet adjusted."""
    result = compare_lives(a, b, choices)
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
        else _columns_needed(a, b, result.difference, choices.alpha),
    )


def settle(comparisons: Sequence[Comparison], choices: Choices) -> tuple[Comparison, ...]:
    """Return the comparisons with p values after Holm and with their findings.

    Groups compared with a control by Dunnett's procedure count as one for each marker and metric.
    """
    tested = [index for index, comparison in enumerate(comparisons) if comparison.p_value is not None]
    families = [_family(index, comparisons[index]) for index in tested]
    adjusted = holm([comparisons[index].p_value or 0.0 for index in tested], families)
    by_index = dict(zip(tested, adjusted, strict=True))
    alike = _adjusted_equivalence(comparisons)
    return tuple(
        _settled(one, by_index.get(index), alike.get(index, 1.0), choices)
        for index, one in enumerate(comparisons)
    )


def _adjusted_equivalence(comparisons: Sequence[Comparison]) -> dict[int, float]:
    """Return the p values of 'they differ by more than the margin' after Holm, by place."""
    known = {index: one.equivalence_p for index, one in enumerate(comparisons) if one.p_value is not None}
    tested = {index: p_value for index, p_value in known.items() if p_value is not None}
    families = [_family(index, comparisons[index]) for index in tested]
    return dict(zip(tested, holm(list(tested.values()), families), strict=True))


def _family(index: int, one: Comparison) -> tuple[int, str, str]:
    """Return what is adjusted as one: all groups against a control by one metric, else a pair by itself."""
    return (-1, one.marker, one.metric) if one.control else (index, "", "")


def _settled(comparison: Comparison, adjusted: float | None, alike_p: float, choices: Choices) -> Comparison:
    """Return one comparison with its finding; equivalence goes before a difference too small to matter."""
    if adjusted is None:
        return comparison
    alpha = choices.alpha
    finding: Finding = "not settled"
    reason = comparison.reason
    # Half of alpha on either side, so that the interval that is shown lies within the margin, too.
    if alike_p <= alpha / 2:
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


def _columns_needed(a: Side, b: Side, difference: Difference, alpha: float) -> int | None:
    """Return the columns a side that would show this difference, each life's own error in the spread."""
    variances = [
        mean_error(values_of(side.lives), errors_of(side.lives))[0] * len(side.lives) for side in (a, b)
    ]
    return columns_needed(exp(difference.value), (sum(variances) / 2) ** 0.5, alpha)
