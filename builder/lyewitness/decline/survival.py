"""Lives of which some were not reached.

In: hours, and whether each is a life or only a lower bound. Out: Kaplan–Meier steps, log-rank tests.
"""

from dataclasses import dataclass

import numpy as np
from scipy import stats

from lyewitness.decline.small_samples import permutation_p
from lyewitness.words.arrays import BoolArray, FloatArray


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
