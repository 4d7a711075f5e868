"""Coefficients of a line through columns of several studies, and how far they may be out.

In: a design, ln life of each column, its study. Out: `Variances`: between studies and within, and half the
width of an interval for a coefficient or for a further column of a further study.

Both variances by restricted likelihood (Patterson and Thompson 1971), degrees of freedom after Satterthwaite
(1946) from its information (Giesbrecht and Burns 1985), all from memory. Few studies hardly tell the ratio of
the variances, and by the likeliest one alone too few intervals hold; so t is averaged over all ratios as they
are likely after the reference prior (Box and Tiao 1973, from memory). `python -m tests.shelf.further_lives`
counts what is held: of two studies more than coefficients and on about 95 of 100; of one more 95 to 100, for
no width is right both where laboratories hardly differ and where they differ most.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

import numpy as np

from lyewitness.decline.distributions import norm
from lyewitness.decline.distributions import t as student
from lyewitness.words.arrays import FloatArray

# From next to nothing between studies to sixty thousand times the variance within; three steps to a factor e.
_LOG_RATIOS = np.linspace(-9.0, 11.0, 61)
# Each looks sixteen times closer: after four the ratio is known to six figures.
_CLOSER = 4
# Of the smallest variance there is none fewer; below one, t has no spread that could be averaged.
_LEAST_FREEDOM = 1.0
# Halvings between the quantiles of the normal and of t with one degree: to five figures.
_HALVINGS = 20


@dataclass(frozen=True, slots=True)
class _Ratios:
    """What holds at each of some ratios of the variance between studies to that within, g of them."""

    ratio: FloatArray
    """(g,)."""
    log_likelihood: FloatArray
    """(g,), restricted."""
    coefficients: FloatArray
    """(g, p)."""
    covariance: FloatArray
    """(g, p, p), in units of the variance within."""
    slope: FloatArray
    """(g, p, p): change of the covariance with the ratio, in the same unit."""
    within: FloatArray
    """(g,): variance within."""
    log_prior: FloatArray
    """(g,), of the ratio."""
    information: FloatArray
    """(2, 2, g): of the logarithm of the variance within, and of the ratio."""

    def freedom(self, row: FloatArray, further: bool) -> FloatArray:
        """Return Satterthwaite's degrees of freedom of the variance of `row @ coefficients`, (g,)."""
        slope = _of_row(self.slope, row) + further
        share = slope / self.spread(row, further)
        (first, mixed), (_, second) = self.information
        variance = (second - 2 * share * mixed + share**2 * first) / (first * second - mixed**2)
        return _floats(np.maximum(2.0 / variance, _LEAST_FREEDOM))

    def spread(self, row: FloatArray, further: bool) -> FloatArray:
        """Return the variance of `row @ coefficients`, of a further column also its own, (g,)."""
        return _of_row(self.covariance, row) + (1.0 + self.ratio if further else 0.0)


@dataclass(frozen=True, slots=True)
class Variances:
    """What columns of several studies say together."""

    coefficients: FloatArray
    between: float
    """Variance between studies."""
    within: float
    """Variance between columns of one study."""
    covariance: FloatArray
    """(p, p), of the coefficients at the likeliest ratio."""
    _best: _Ratios
    _all: _Ratios
    _weights: FloatArray

    def half_width(self, row: FloatArray, confidence: float, further: bool = False) -> float:
        """Return half the width of the interval for `row @ coefficients`, or for a further column there."""
        spread = float(self.within * self._best.spread(row, further)[0])
        return self._quantile(self._all.freedom(row, further), confidence) * float(spread**0.5)

    def _quantile(self, freedom: FloatArray, confidence: float) -> float:
        """Return what t, averaged over all ratios, passes with half of what `confidence` leaves."""
        tail = (1.0 - confidence) / 2
        low, high = float(norm.isf(tail)), float(student.ppf(1.0 - tail, _LEAST_FREEDOM))
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            passed = float(self._weights @ student.sf(middle, freedom))
            low, high = (middle, high) if passed > tail else (low, middle)
        return (low + high) / 2


def variances_of(design: FloatArray, lives: FloatArray, which: Sequence[int]) -> Variances:
    """Return what the columns say: `design` is (n, p), `lives` ln life, `which` the number of each study."""
    of_columns = _Columns(design, lives, which)
    every = of_columns.at(np.exp(_LOG_RATIOS))
    middle, step = float(_LOG_RATIOS[every.log_likelihood.argmax()]), float(np.diff(_LOG_RATIOS)[0])
    for _ in range(_CLOSER):
        closer = np.linspace(middle - step, middle + step, 33)
        middle = float(closer[of_columns.at(np.exp(closer)).log_likelihood.argmax()])
        step /= 16
    likely = of_columns.at(np.array([0.0, exp(middle)]))
    found = 0.0 if likely.log_likelihood[0] >= likely.log_likelihood[1] else exp(middle)
    best = of_columns.at(np.array([found]))
    # The grid is even in the logarithm, the prior is of the ratio itself.
    weights = every.log_likelihood + every.log_prior + _LOG_RATIOS
    weights = np.exp(weights - weights.max())
    within = float(best.within[0])
    return Variances(
        best.coefficients[0], found * within, within, within * best.covariance[0], best, every,
        weights / weights.sum(),
    )  # fmt: skip


class _Columns:
    """Sums over columns and studies, from which all of any ratio follows: no matrix of all columns.

    Studies are blocks of I + ratio J, whose inverse and determinant are known.
    """

    def __init__(self, design: FloatArray, lives: FloatArray, which: Sequence[int]) -> None:
        both = np.column_stack((design, lives))
        self._left = lives.size - design.shape[1]
        self._sizes = _floats(np.bincount(which))
        self._sums = _floats(np.stack([np.bincount(which, weights=part) for part in both.T], axis=1))
        self._products = _floats(both.T @ both)

    def at(self, ratio: FloatArray) -> _Ratios:
        """Return what holds at each ratio."""
        shrunk: FloatArray = 1.0 / (1.0 + ratio[:, None] * self._sizes)
        products = self._products - self._studies(_floats(ratio[:, None] * shrunk), self._sums)
        information, with_lives = products[:, :-1, :-1], products[:, :-1, -1]
        covariance = _floats(np.linalg.inv(information))
        coefficients = _floats(np.einsum("gab,gb->ga", covariance, with_lives))
        # Lives alike to the last figure leave nothing within.
        rest = np.maximum(products[:, -1, -1] - np.einsum("ga,ga->g", coefficients, with_lives), 1e-300)
        determinants = np.log(shrunk).sum(axis=1) - np.linalg.slogdet(information)[1]
        told = self._sizes * shrunk
        change = covariance @ self._studies(_floats(shrunk**2), self._sums[:, :-1])
        of_told = covariance @ self._studies(_floats(told * shrunk**2), self._sums[:, :-1])
        first, mixed = np.full_like(ratio, self._left), told.sum(axis=1) - _trace(change)
        second = (told**2).sum(axis=1) - 2 * _trace(of_told) + _trace(change @ change)
        return _Ratios(
            ratio, _floats((determinants - self._left * np.log(rest)) / 2), coefficients, covariance,
            change @ covariance, _floats(rest / self._left), _floats(np.log(told).mean(axis=1)),
            _floats(np.array([[first, mixed], [mixed, second]]) / 2),
        )  # fmt: skip

    def _studies(self, weights: FloatArray, sums: FloatArray) -> FloatArray:
        """Return (g, a, b): the products of the sums of studies, each with its weight (g, studies)."""
        pairs = (sums[:, :, None] * sums[:, None, :]).reshape(len(sums), -1)
        return _floats(weights @ pairs).reshape(len(weights), sums.shape[1], -1)


def _floats(values: object) -> FloatArray:
    return np.asarray(values, dtype=np.float64)


def _trace(matrices: FloatArray) -> FloatArray:
    return _floats(np.trace(matrices, axis1=1, axis2=2))


def _of_row(matrices: FloatArray, row: FloatArray) -> FloatArray:
    """Return `row @ matrix @ row` of each matrix."""
    return _floats(np.einsum("a,gab,b->g", row, matrices, row))
