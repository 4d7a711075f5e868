"""Distributions as the statistics here need them, on the functions of scipy.special.

In: numbers or arrays that can be laid over each other, degrees of freedom above zero. Out: the same shape,
`numpy.float64` where all are numbers. Names and values are those of `scipy.stats`, whose loading and whose
checks of every argument took 0.8 s of each build.
"""

import math
from typing import Any

import numpy as np
import scipy


class _Normal:
    """The standard normal distribution."""

    def pdf(self, x: Any) -> Any:
        """Return the density at `x`."""
        return np.exp(-np.square(x) / 2.0) / math.sqrt(2.0 * math.pi)

    def cdf(self, x: Any) -> Any:
        """Return the probability of no more than `x`."""
        return scipy.special.ndtr(x)

    def sf(self, x: Any) -> Any:
        """Return the probability of more than `x`."""
        return scipy.special.ndtr(np.negative(x))

    def ppf(self, q: Any) -> Any:
        """Return what is passed with probability 1 − `q`."""
        return scipy.special.ndtri(q)

    def isf(self, q: Any) -> Any:
        """Return what is passed with probability `q`."""
        return np.negative(scipy.special.ndtri(q))


class _Student:
    """Student's distribution with `df` degrees of freedom."""

    def cdf(self, x: Any, df: Any) -> Any:
        """Return the probability of no more than `x`."""
        return scipy.special.stdtr(df, x)

    def sf(self, x: Any, df: Any) -> Any:
        """Return the probability of more than `x`."""
        return scipy.special.stdtr(df, np.negative(x))

    def ppf(self, q: Any, df: Any) -> Any:
        """Return what is passed with probability 1 − `q`."""
        return scipy.special.stdtrit(df, q)


class _NoncentralStudent:
    """Student's distribution with `df` degrees of freedom, moved by `nc`."""

    def cdf(self, x: Any, df: Any, nc: Any) -> Any:
        """Return the probability of no more than `x`."""
        return scipy.special.nctdtr(df, nc, x)


class _ChiSquare:
    """The chi-square distribution with `df` degrees of freedom."""

    def sf(self, x: Any, df: Any) -> Any:
        """Return the probability of more than `x`."""
        return scipy.special.chdtrc(df, np.maximum(x, 0.0))

    def ppf(self, q: Any, df: Any) -> Any:
        """Return what is passed with probability 1 − `q`."""
        return 2.0 * scipy.special.gammaincinv(np.divide(df, 2.0), q)


class _FisherF:
    """Fisher's F distribution with `dfn` and `dfd` degrees of freedom."""

    def sf(self, x: Any, dfn: Any, dfd: Any) -> Any:
        """Return the probability of more than `x`."""
        return scipy.special.fdtrc(dfn, dfd, x)

    def ppf(self, q: Any, dfn: Any, dfd: Any) -> Any:
        """Return what is passed with probability 1 − `q`."""
        return scipy.special.fdtri(dfn, dfd, q)


class _Beta:
    """The beta distribution with shapes `a` and `b`."""

    def ppf(self, q: Any, a: Any, b: Any) -> Any:
        """Return what is passed with probability 1 − `q`."""
        return scipy.special.betaincinv(a, b, q)


class _Binomial:
    """How many of `n` succeed, each with probability `p`."""

    def cdf(self, k: Any, n: Any, p: Any) -> Any:
        """Return the probability of no more than `k`."""
        return scipy.special.bdtr(np.floor(k), np.asarray(n).astype(np.intc), p)


norm = _Normal()
t = _Student()
nct = _NoncentralStudent()
chi2 = _ChiSquare()
f = _FisherF()
beta = _Beta()
binom = _Binomial()
