"""Whether the columns of one group outlast those of another.

In: the lives and rates of the columns of two groups. Out: `Comparison`s with their findings.

Where the study names a control, its comparisons are Dunnett's (J. Am. Stat. Assoc. 1955, 50, 1096): p
values and intervals that hold for all of them at once, the chances by quadrature and not by random points,
so that a report is the same each time. Last, how many columns a comparison needs.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import ceil, exp, isfinite, log, sqrt

import numpy as np
import scipy

from lyewitness.decline import distributions as stats
from lyewitness.decline.column_lives import errors_of, values_of
from lyewitness.decline.life_ratios import Side, compare_lives, ratio_of
from lyewitness.decline.records import Comparison
from lyewitness.decline.small_samples import (
    LEAST_SHARE,
    TINY,
    Difference,
    log_margin,
    mean_error,
    permutation_p,
    welch,
)
from lyewitness.study.records import Choices
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

# Nobody wears out more columns of one type for one question; beyond, the number only says "do not".
MOST_COLUMNS = 50
# Four studies of five find what is there: the power that plans commonly ask for.
WANTED_POWER = 0.8


def power(ratio: float, sd_log: float, columns: int, alpha: float) -> float:
    """Return the power of a two-sided t test on log lives, `columns` a side.

    Noncentral t with 2n − 2 degrees of freedom and noncentrality |ln ratio| ÷ (s √(2/n))
    (Cohen, Statistical Power Analysis; common practice). ValueError for fewer than two columns.
    """
    if columns < 2:
        raise ValueError("a comparison needs two columns a side at least")
    degrees = 2 * columns - 2
    shift = abs(log(ratio)) / (sd_log * sqrt(2 / columns))
    edge = float(stats.t.ppf(1 - alpha / 2, degrees))
    # The tail on the wrong side is below 1e-6 where the other is above a half; far out it comes as NaN.
    right, wrong = (float(stats.nct.cdf(end, degrees, shift)) for end in (edge, -edge))
    return 1 - right + (wrong if isfinite(wrong) else 0.0)


def columns_needed(
    ratio: float, sd_log: float, alpha: float, wanted_power: float = WANTED_POWER
) -> int | None:
    """Return the fewest columns a side that tell `ratio` from 1 with that power.

    None where that takes more than `MOST_COLUMNS`.
    """
    if ratio <= 0 or ratio == 1 or sd_log <= 0:
        return None
    for columns in range(2, MOST_COLUMNS + 1):
        if power(ratio, sd_log, columns, alpha) >= wanted_power:
            return columns
    return None


def pooled_sd(groups: list[list[float]]) -> tuple[float, int] | None:
    """Return the pooled standard deviation within `groups` and its degrees of freedom; None without any."""
    squares, degrees = 0.0, 0
    for values in groups:
        if len(values) > 1:
            mean = sum(values) / len(values)
            squares += sum((value - mean) ** 2 for value in values)
            degrees += len(values) - 1
    return (sqrt(squares / degrees), degrees) if degrees and squares > 0 else None


def upper_sd(sd: float, degrees: int, confidence: float = 0.8) -> float:
    """Return the one-sided upper bound of a standard deviation, from χ² (common practice for planning)."""
    return sd * sqrt(degrees / float(stats.chi2.ppf(1 - confidence, degrees)))


def success_run(share: float, confidence: float) -> int:
    """Return how many columns must last without a failure to show that `share` of them do.

    n = ln(1 − C) ÷ ln(share), rounded up (success-run theorem; common practice).
    """
    return ceil(log(1 - confidence) / log(share))


NODES = 96
"""Nodes of either quadrature; the chances are good to 1e-6."""


@dataclass(frozen=True, slots=True)
class AgainstControl:
    """One group's difference from the control."""

    difference: Difference
    """Mean − mean of the control, with the pooled error and its degrees of freedom, not adjusted."""
    p_value: float
    """Adjusted for all the groups that were compared with the control."""
    critical: float
    """Half widths of the simultaneous interval ÷ standard error."""

    @property
    def interval(self) -> tuple[float, float]:
        """Return the interval that holds for all groups at once."""
        half = self.critical * self.difference.error
        return self.difference.value - half, self.difference.value + half


def against_control(
    groups: Sequence[FloatArray], control: FloatArray, own_errors: FloatArray, confidence: float
) -> tuple[AgainstControl, ...]:
    """Return every group's difference from `control`; arrays of log lives, two at least among all to spare.

    `own_errors` are the columns' own errors, all groups together: where the columns by luck agree far better
    than these let them, a share of those stands in for the scatter.
    """
    everyone = [control, *groups]
    freedom = sum(len(group) - 1 for group in everyone)
    if freedom < 1:
        raise ValueError("no scatter within the groups to judge by")
    scatter = sum(float(((group - group.mean()) ** 2).sum()) for group in everyone) / freedom
    variance = max(scatter, LEAST_SHARE * float((own_errors**2).mean()), TINY)
    shares = tuple(sqrt(len(group) / (len(group) + len(control))) for group in groups)
    critical = critical_value(shares, freedom, confidence)
    found = []
    for group in groups:
        error = sqrt(variance * (1 / len(group) + 1 / len(control)))
        difference = Difference(float(group.mean() - control.mean()), error, freedom)
        t = abs(difference.value) / error
        # The adjusted p value lies between the one of the pair alone and Bonferroni's, whatever the rounding.
        alone = difference.p_value
        p_value = float(np.clip(1 - all_within(t, shares, freedom), alone, min(1.0, len(groups) * alone)))
        found.append(AgainstControl(difference, p_value, critical))
    return tuple(found)


def all_within(t: float, shares: Sequence[float], freedom: float) -> float:
    """Return the chance that no group's |t| exceeds `t` where nothing differs.

    `shares` (k,) are √(n ÷ (n + n of the control)); two groups' statistics correlate by the product of
    theirs, so that given the control's mean z and the pooled scatter s they are independent (equation 2 of
    Dunnett 1955, with both sides).
    """
    z, weight_z, s, weight_s = _nodes(freedom)
    share = np.asarray(shares)[:, None, None]
    rest = np.sqrt(1 - share**2)
    shift, reach = share * z[None, :, None], t * s[None, None, :]
    each = stats.norm.cdf((shift + reach) / rest) - stats.norm.cdf((shift - reach) / rest)
    return float(weight_z @ each.prod(axis=0) @ weight_s)


@cache
def _nodes(freedom: float) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return nodes and weights for a standard normal z, and for s = √(χ² ÷ freedom).

    The nodes for s crowd at both ends, where its density is steep.
    """
    x, weight = np.polynomial.hermite_e.hermegauss(NODES)
    y, step = np.polynomial.legendre.leggauss(NODES)
    half = (y + 1) / 2
    share = half**3 * (10 - 15 * half + 6 * half**2)
    s = np.sqrt(stats.chi2.ppf(share, freedom) / freedom)
    return x, weight / weight.sum(), s, step / 2 * 30 * (half * (1 - half)) ** 2


@cache
def critical_value(shares: tuple[float, ...], freedom: float, confidence: float) -> float:
    """Return the t that no group exceeds with the chance `confidence` where nothing differs."""
    return float(scipy.optimize.brentq(lambda t: all_within(t, shares, freedom) - confidence, 0.0, 1e4))


# One column has no scatter.
LEAST_COLUMNS = 2


def with_control(
    comparisons: Sequence[Comparison], sides: Sequence[Side], choices: Choices
) -> tuple[Comparison, ...]:
    """Return the `comparisons` of one marker and metric, those with the control adjusted for each other.

    Groups of one column, and groups of which a column has no life but a bound, are compared as without a
    control; so is everything where columns are paired in blocks, which are not independent.
    """
    whole = {side.group: side for side in sides if len(side.lives) >= LEAST_COLUMNS and not side.censored}
    control = whole.pop(choices.control, None)
    if control is None or not whole or choices.paired_blocks:
        return tuple(comparisons)
    own = np.concatenate([errors_of(side.lives) for side in (control, *whole.values())])
    found = against_control(
        [values_of(side.lives) for side in whole.values()], values_of(control.lives), own, choices.confidence
    )
    by_group = dict(zip(whole, found, strict=True))
    return tuple(_replaced(one, by_group, choices) for one in comparisons)


def _replaced(comparison: Comparison, by_group: Mapping[str, AgainstControl], choices: Choices) -> Comparison:
    """Return one comparison by Dunnett's procedure where it is with the control, else as it is."""
    pair = (comparison.group_a, comparison.group_b)
    other = pair[0] if pair[1] == choices.control else pair[1]
    if choices.control not in pair or other not in by_group:
        return comparison
    found, many = by_group[other], len(by_group)
    value, (low, high) = found.difference.value, found.interval
    if other == pair[1]:
        value, low, high = -value, -high, -low
    margin = log_margin(choices.equivalence_margin_percent)
    return replace(
        comparison,
        life_ratio=Estimate(exp(value), exp(low), exp(high)),
        p_value=found.p_value,
        method=f"Dunnett's test on log lives, {_counted(many)} against {choices.control}, pooled scatter",
        control=choices.control,
        # As sure for all groups together as one pair would have to be alone (Bonferroni).
        equivalence_p=min(1.0, many * found.difference.equivalence_p(margin)),
    )


def _counted(many: int) -> str:
    return "one group" if many == 1 else f"{many} groups"


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
