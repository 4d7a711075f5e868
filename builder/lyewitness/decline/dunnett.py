"""Several groups against one control, adjusted for each other.

In: the log lives of every group. Out: differences from the control with p values and intervals that hold for
all of them at once (Dunnett, J. Am. Stat. Assoc. 1955, 50, 1096).

The chances are computed by quadrature and not by random points, so that a report is the same each time.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import sqrt

import numpy as np
from scipy import optimize, stats

from lyewitness.decline.small_samples import LEAST_SHARE, TINY, Difference
from lyewitness.words.arrays import FloatArray

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
    return float(optimize.brentq(lambda t: all_within(t, shares, freedom) - confidence, 0.0, 1e4))
