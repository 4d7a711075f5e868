"""One smooth baseline and sums of decays, told apart by least squares.

In: a signal where no peak stands, the terms of the baseline and of the decays there. Out: the parameters of
both with their covariance, at the likeliest stiffness of the baseline, and what the decays gain.

No decay is negative (Lawson and Hanson's non-negative least squares). How stiff the baseline is, is told by
restricted likelihood, as of a mixed model in which its bends are random.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from lyewitness.words.arrays import FloatArray

STIFFNESSES = np.array([1e-1, 1.0, 1e1, 1e2, 1e3, 1e4, 1e6, 1e8])
"""Penalties on the bends of a baseline between its knots; the last is a straight line."""
TINY = 1e-9


@dataclass(frozen=True, eq=False, slots=True)
class Apart:
    """Baseline and decays of one signal."""

    line: FloatArray
    """(k,) the baseline at its knots."""
    amounts: FloatArray
    """(d,) of the decays."""
    variance: float
    """Of a point of what is left."""
    gain: float
    """In log likelihood, over a baseline alone."""
    held: FloatArray
    """(k,) by how much stiffness and signal hold each of the baseline's `terms`."""
    terms: FloatArray
    """(k, k) terms of the baseline that share nothing, at its knots."""
    squares: "_Squares"

    @property
    def covariance(self) -> FloatArray:
        """Return (k + d, k + d) that of baseline and amounts."""
        return self.variance * _open(self.held, self.terms, self.squares, self.amounts)


@dataclass(frozen=True, eq=False, slots=True)
class _Squares:
    """Sums of products of the terms and the signal; of the baseline's in terms that share nothing."""

    decays: FloatArray
    """(d, d), with what draws the amounts to nothing."""
    by_value: FloatArray
    """(d,) decays × signal."""
    value: float
    """Signal × signal."""
    across: FloatArray
    """(k, d) baseline × decays."""
    line: FloatArray
    """(k,) baseline × signal."""


def told_apart(
    knots: FloatArray, decays: FloatArray, pull: FloatArray, value: FloatArray, without: FloatArray
) -> Apart:
    """Return baseline and decays of `value` (n,), and their gain over `without` (n,), which has no decays.

    `knots` (n, k) and `decays` (n, d) are the terms; `pull` (d,) draws the amounts to nothing, as so many
    points of unit size would.
    """
    n, count = knots.shape
    bends = np.diff(np.eye(count), 2, axis=0)
    square, bent = knots.T @ knots, bends.T @ bends
    # Terms of the baseline in which fit and bends are diagonal, so that every stiffness is but a division.
    root = np.linalg.cholesky(square + bent + TINY * np.trace(square) / count * np.eye(count))
    half = scipy.linalg.solve_triangular(root, bent, lower=True, check_finite=False)
    share, turned = np.linalg.eigh(
        scipy.linalg.solve_triangular(root, half.T, lower=True, check_finite=False)
    )
    terms = scipy.linalg.solve_triangular(root, turned, lower=True, trans=1, check_finite=False)
    held = 1.0 + (STIFFNESSES[:, None] - 1.0) * np.clip(share, 0.0, 1.0)
    # What a stiffness costs, whatever the signal.
    cost = np.log(held).sum(axis=1) - (count - 2) * np.log(STIFFNESSES)
    by_knots = terms.T @ (knots.T @ np.column_stack([without, value, decays]))
    plain = without @ without - (by_knots[:, 0] ** 2 / held).sum(axis=1)
    before = _likelihood(plain, n, cost)
    squares = _Squares(
        decays.T @ decays + np.diag(pull),
        decays.T @ value,
        float(value @ value),
        by_knots[:, 2:],
        by_knots[:, 1],
    )
    # Without tails to follow it is no less stiff.
    best, likely = int(before.argmax()), -np.inf
    for place in range(best, len(STIFFNESSES)):
        amounts, rest = _amounts(held[place], squares)
        now = float(_likelihood(np.array(rest), n, cost[place]))
        if now < likely:
            break
        best, likely, found, least = place, now, amounts, rest
    line = terms @ ((squares.line - squares.across @ found) / held[best])
    variance = least / (n - 2)
    return Apart(line, found, variance, likely - float(before.max()), held[best], terms, squares)


def _likelihood(squares: FloatArray, n: int, cost: FloatArray) -> FloatArray:
    """Return the restricted log likelihood of what is left, but for a constant."""
    return np.asarray(-0.5 * ((n - 2) * np.log(np.maximum(squares, 1e-300)) + cost))


def _amounts(held: FloatArray, told: _Squares) -> tuple[FloatArray, float]:
    """Return the amounts, none negative, of the least penalised squares, and these."""
    followed = told.across.T / held
    curvature = told.decays - followed @ told.across
    slope = told.by_value - followed @ told.line
    rest = told.value - float((told.line**2 / held).sum())
    scale = np.sqrt(np.maximum(np.diag(curvature), 1e-12 * np.diag(told.decays) + 1e-300))
    scaled = curvature / scale[:, None] / scale + 1e-6 * np.eye(len(scale))
    root = np.linalg.cholesky(scaled)
    aim = scipy.linalg.solve_triangular(root, slope / scale, lower=True, check_finite=False)
    amounts = np.asarray(scipy.optimize.nnls(root.T, aim)[0] / scale)
    return amounts, rest - 2.0 * float(amounts @ slope) + float(amounts @ curvature @ amounts)


def _open(held: FloatArray, terms: FloatArray, told: _Squares, amounts: FloatArray) -> FloatArray:
    """Return the covariance for unit variance; of an amount that is at its bound nothing is open."""
    count, free = len(held), np.flatnonzero(amounts > 0.0)
    across = told.across[:, free]
    curvature = told.decays[np.ix_(free, free)] - (across.T / held) @ across
    scale = np.sqrt(np.maximum(np.diag(curvature), 1e-300))
    of_amounts = np.linalg.inv(curvature / scale[:, None] / scale + 1e-6 * np.eye(len(free)))
    of_amounts /= scale[:, None] * scale
    moved = (terms / held) @ across
    both = -moved @ of_amounts
    covariance = np.zeros((count + len(amounts), count + len(amounts)))
    covariance[:count, :count] = (terms / held) @ terms.T - both @ moved.T
    covariance[:count, count + free] = both
    covariance[count + free, :count] = both.T
    covariance[np.ix_(count + free, count + free)] = of_amounts
    return covariance
