"""Rates of two groups by one mixed model, where columns and injections bear it.

In: a comparison and the declines of both groups. Out: the comparison with the ratio of rates from the model,
or unchanged.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
from scipy import stats

from lyewitness.decline.mixed_model import MixedFit, fit_mixed
from lyewitness.decline.records import Comparison, Decline
from lyewitness.study.records import Choices
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

LEAST_COLUMNS = 4
"""On each side: three do not bear the variances of level and slope."""
LEAST_INJECTIONS = 8
STEADY_RATES = ("first order", "straight line")
"""Shapes whose logarithm is a line, or near one: the model has one slope for each column."""


def with_mixed_rates(
    comparison: Comparison, a: Sequence[Decline], b: Sequence[Decline], choices: Choices
) -> Comparison:
    """Return `comparison` with the ratio of rates from a random-slope model where both sides bear it."""
    if min(len(a), len(b)) < LEAST_COLUMNS or not all(map(_bears_a_slope, (*a, *b))):
        return comparison
    fit = _fit(a, b)
    rates, errors = -fit.effects[2:], np.sqrt(np.diag(fit.covariance)[2:])
    if rates[0] * rates[1] <= 0 or np.any(np.abs(rates) < errors):
        return comparison
    difference = log(rates[0] / rates[1])
    error = sqrt(float(((errors / rates) ** 2).sum()))
    freedom = len(a) + len(b) - 2
    half = float(stats.t.ppf(0.5 + choices.confidence / 2, freedom)) * error
    ratio = Estimate(exp(difference), exp(difference - half), exp(difference + half))
    p_value = float(2 * stats.t.sf(abs(difference) / error, freedom))
    return replace(comparison, rate_ratio=ratio, rate_p=p_value)


def _bears_a_slope(decline: Decline) -> bool:
    """Return whether a column's decline is one slope, seen often enough."""
    named = decline.model is not None and decline.model.name in STEADY_RATES
    return named and len(decline.percent) >= LEAST_INJECTIONS and bool(np.all(decline.percent > 0))


def _fit(a: Sequence[Decline], b: Sequence[Decline]) -> MixedFit:
    """Return the fit of log percent on hours: level and slope of a, of b, random level and slope."""
    hours = [decline.series.exposure_h for decline in (*a, *b)]
    middle = float(np.mean(np.concatenate(hours)))
    values = [np.log(decline.percent) for decline in (*a, *b)]
    sides = [0] * len(a) + [1] * len(b)
    fixed = [_design(time - middle, side) for time, side in zip(hours, sides, strict=True)]
    random = [np.column_stack([np.ones(len(time)), time - middle]) for time in hours]
    return fit_mixed(values, fixed, random)


def _design(time: FloatArray, side: int) -> FloatArray:
    """Return (n, 4): level of a, level of b, slope of a, slope of b."""
    design = np.zeros((len(time), 4))
    design[:, side], design[:, 2 + side] = 1.0, time
    return design
