"""Exact and small-sample statistics for a handful of columns.

In: logarithms of lives, one a column. Out: intervals and p values.

Lives of which some were not reached: Kaplan–Meier steps and log-rank tests.
"""

from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from math import comb, inf, log, sqrt

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.decline import distributions as stats
from lyewitness.words.arrays import BoolArray, FloatArray

MOST_ARRANGEMENTS = 20_000
"""Exact permutation is used up to this many ways of dealing the columns out to the groups."""
LEAST_SHARE = 0.3
"""Columns' lives scatter by this share of their own variances at least.

The whole of it would make intervals hold the truth in 98 of 100 simulated groups instead of 95.
"""
FREEDOM_SHARED = 20.0
"""Degrees of freedom of what columns err by together: it comes from the injections of all of them."""
# Variance of log lives that is taken for none: only keeps a quotient finite.
TINY = 1e-12


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference of two means with what its intervals need."""

    value: float
    error: float
    """Standard error."""
    freedom: float
    """Degrees of freedom."""

    def interval(self, confidence: float) -> tuple[float, float]:
        """Return the two-sided t interval."""
        half = float(stats.t.ppf(0.5 + confidence / 2, self.freedom)) * self.error
        return (self.value - half, self.value + half)

    @property
    def p_value(self) -> float:
        """Return the two-sided p value of 'there is no difference'."""
        return float(2 * stats.t.sf(abs(self.value) / self.error, self.freedom))

    def equivalence_p(self, margin: float) -> float:
        """Return the p value of 'the difference is beyond ±`margin`' (Schuirmann 1987)."""
        below = stats.t.sf((self.value + margin) / self.error, self.freedom)
        above = stats.t.cdf((self.value - margin) / self.error, self.freedom)
        return float(max(below, above))


def mean_error(
    values: FloatArray, own_errors: FloatArray, shared: FloatArray | None = None
) -> tuple[float, float]:
    """Return the variance of the mean of `values` (n ≥ 2,) and its degrees of freedom.

    The scatter of the columns holds their own uncertainty already. Where by luck they agree far better
    than their `own_errors` let them, a share of those stands in. `shared` (n,) are the parts of their errors
    that all columns have in common, which no number of columns averages away (degrees of freedom after
    Satterthwaite, those of the shared part taken as `FREEDOM_SHARED`).
    """
    n = len(values)
    scatter = float(values.var(ddof=1))
    least = LEAST_SHARE * float((own_errors**2).mean())
    variance = max(scatter, least, TINY) / n
    common = 0.0 if shared is None else float((shared**2).mean())
    total = variance + common
    return total, total**2 / (variance**2 / (n - 1.0) + common**2 / FREEDOM_SHARED)


def welch(
    a: FloatArray,
    b: FloatArray,
    own_a: FloatArray,
    own_b: FloatArray,
    shared_a: FloatArray | None = None,
    shared_b: FloatArray | None = None,
) -> Difference:
    """Return mean(a) − mean(b) with Welch's standard error and Satterthwaite's degrees of freedom (1946)."""
    variance_a, freedom_a = mean_error(a, own_a, shared_a)
    variance_b, freedom_b = mean_error(b, own_b, shared_b)
    total = variance_a + variance_b
    freedom = total**2 / (variance_a**2 / freedom_a + variance_b**2 / freedom_b)
    return Difference(float(a.mean() - b.mean()), sqrt(total), freedom)


def paired(differences: FloatArray, own: FloatArray, shared: FloatArray | None = None) -> Difference:
    """Return the mean of paired `differences` (n ≥ 2,), each with its own error and what all share."""
    variance, freedom = mean_error(differences, own, shared)
    return Difference(float(differences.mean()), sqrt(variance), freedom)


def typical(values: FloatArray, own: FloatArray, shared: FloatArray | None = None) -> Difference:
    """Return the mean of `values` (n ≥ 2,) with its standard error, as a difference from nothing."""
    return paired(values, own, shared)


@cache
def _nodes() -> tuple[FloatArray, FloatArray]:
    """Return probabilities between 0 and 1 and their weights (Gauss–Legendre)."""
    share, weight = np.polynomial.legendre.leggauss(80)
    return np.asarray((share + 1) / 2), np.asarray(weight / 2)


def least_of_more(k: float, n: int, more: int) -> float:
    """Return the chance that the least of `more` further values exceeds mean + k × sd of n ≥ 2 values.

    All from one normal distribution; two-dimensional quadrature over the mean and the standard deviation
    of the n (prediction limit for the least of further values, Hahn and Meeker 1991). The nodes for the
    standard deviation crowd at nothing, where small chances come from.
    """
    share, weight = _nodes()
    z = stats.norm.ppf(share)
    s = np.sqrt(stats.chi2.ppf(share**4, n - 1) / (n - 1))
    beyond = stats.norm.sf(z[:, None] / sqrt(n) + k * s[None, :]) ** more
    return float(weight @ beyond @ (weight * 4 * share**3))


@cache
def least_of_more_limit(chance: float, n: int, more: int) -> float:
    """Return the k at which `least_of_more` equals `chance`."""
    return float(scipy.optimize.brentq(lambda k: least_of_more(k, n, more) - chance, -50.0, 5e3))


def holm(p_values: Sequence[float], families: Sequence[Hashable] | None = None) -> list[float]:
    """Return the p values adjusted so that any false finding has at most the stated chance (Holm 1979).

    Those that bear the same word in `families` were adjusted for each other already and count as one, until
    the last of them has been passed (sequential rejection, Goeman and Solari, Ann. Stat. 2010, 38, 3782).
    """
    words = families if families is not None else range(len(p_values))
    left = Counter(words)
    adjusted = [0.0] * len(p_values)
    running = 0.0
    for index in sorted(range(len(p_values)), key=lambda index: p_values[index]):
        running = max(running, min(1.0, len(left) * p_values[index]))
        adjusted[index] = running
        left[words[index]] -= 1
        left += Counter()  # leaves out the families that are through
    return adjusted


def holm_in_parts(
    p_values: Sequence[float], parts: Sequence[Hashable], families: Sequence[Hashable] | None = None
) -> list[float]:
    """Return the p values after Holm within each part, in the given order.

    Parts are sets of questions that were set apart before the data were seen, such as those of the metric
    that the study says decides: what else is tested then takes nothing from them.
    """
    adjusted = [0.0] * len(p_values)
    for part in dict.fromkeys(parts):
        own = [index for index, word in enumerate(parts) if word == part]
        words = [families[index] for index in own] if families is not None else None
        for index, value in zip(own, holm([p_values[index] for index in own], words), strict=True):
            adjusted[index] = value
    return adjusted


def log_margin(percent: float) -> float:
    """Return the equivalence margin on the log scale: ratios between 1/(1 + m) and 1 + m are within it."""
    return log(1.0 + percent / 100.0)


def permutation_p(scores: FloatArray, in_a: NDArray[np.bool_]) -> float | None:
    """Return the exact two-sided permutation p value of the sum of `scores` (n,) over group a.

    None where there are too many arrangements to go through.
    """
    n, chosen = len(scores), int(in_a.sum())
    if comb(n, chosen) > MOST_ARRANGEMENTS:
        return None
    sums = np.array([scores[list(pick)].sum() for pick in combinations(range(n), chosen)])
    centre = scores.mean() * chosen
    far = np.abs(sums - centre)
    return float((far >= abs(scores[in_a].sum() - centre) - 1e-12).mean())


def exact_least_p(n: int, more: int, k: float) -> float:
    """Return the two-sided p value that goes with `least_of_more`."""
    return min(1.0, 2 * least_of_more(k, n, more)) if k > -inf else 1.0


@dataclass(frozen=True, slots=True)
class LogRank:
    """Whether two groups' lives follow one curve."""

    chi_square: float
    p_value: float
    """By the chi-square distribution with one degree of freedom."""
    exact_p: float | None
    """By going through all arrangements of the columns; None where there are too many."""


def kaplan_meier(hours: FloatArray, failed: BoolArray) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the hours of failure and the share that outlives each (Kaplan and Meier 1958).

    `hours` (n,) are lives where `failed`, else exposures up to which the column was within its limit.
    """
    times = np.unique(hours[failed])
    at_risk = (hours[None, :] >= times[:, None]).sum(axis=1)
    dying = ((hours[None, :] == times[:, None]) & failed[None, :]).sum(axis=1)
    share = np.cumprod(1.0 - dying / at_risk)
    return tuple(float(time) for time in times), tuple(float(value) for value in share)


def log_rank(hours: FloatArray, failed: BoolArray, in_a: BoolArray) -> LogRank:
    """Return the log-rank test of group a against the rest (Mantel 1966); all arrays (n,)."""
    times = np.unique(hours[failed])
    at_risk = hours[None, :] >= times[:, None]
    dying = (hours[None, :] == times[:, None]) & failed[None, :]
    total, in_group = at_risk.sum(axis=1), (at_risk & in_a).sum(axis=1)
    deaths = dying.sum(axis=1)
    expected = deaths * in_group / total
    variance = expected * (1 - in_group / total) * (total - deaths) / np.maximum(total - 1, 1)
    apart = float(((dying & in_a).sum(axis=1) - expected).sum())
    spread = float(variance.sum())
    chi_square = apart**2 / spread if spread > 0 else 0.0
    scores = failed - (at_risk * (deaths / total)[:, None]).sum(axis=0)
    return LogRank(chi_square, float(stats.chi2.sf(chi_square, 1)), permutation_p(scores, in_a))
