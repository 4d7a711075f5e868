"""Least squares for many series at once.

In: a shape, scaled exposures that the series share, values in % of the reference.
Out: parameters: a start by variable projection on a grid, refined by Levenberg and Marquardt's method.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from lyewitness.decline.shapes import Curve, Shape
from lyewitness.words.arrays import FloatArray

Reweight = Callable[[FloatArray], FloatArray]

RATES = np.concatenate([-np.geomspace(0.01, 10.0, 24)[::-1], np.geomspace(0.01, 40.0, 32)])
APPROACHES = np.geomspace(0.3, 40.0, 24)
DELAYS = np.linspace(0.02, 0.94, 32)
MIDDLES = np.linspace(-0.1, 1.3, 29)
WIDTHS = np.geomspace(0.015, 0.5, 9)


def starts(shape: Shape, u: FloatArray, y: FloatArray) -> FloatArray:
    """Return (S, p) starting parameters for `y` (S, n) at the scaled exposures `u` (n,).

    Variable projection (Golub and Pereyra 1973): on a grid of the parameters that enter nonlinearly, the
    linear ones are solved for, and the node with the least sum of squares is taken.
    """
    if shape.name == "steady":
        return np.asarray(y.mean(axis=1, keepdims=True))
    if shape.name == "straight line":
        slope = _slopes(u[None, :], y)[:, 0]
        return np.stack([y.mean(axis=1) - slope * u.mean(), slope], axis=1)
    if shape.name == "sigmoid":
        return _sigmoid_starts(u, y)
    if shape.to_rest:
        return _rest_starts(u, y, DELAYS if shape.name == "delayed" else None)
    return _decay_starts(u, y, DELAYS if shape.name == "delayed" else None)


def _slopes(basis: FloatArray, y: FloatArray) -> FloatArray:
    """Return (S, g) slopes of every series on every row of `basis` (g, n), with an intercept."""
    centred = basis - basis.mean(axis=1, keepdims=True)
    return np.asarray((y @ centred.T) / np.maximum((centred**2).sum(axis=1), 1e-12))


def _decay_starts(u: FloatArray, y: FloatArray, delays: FloatArray | None) -> FloatArray:
    """Return the best (level, rate) or (level, rate, delay) of a falling or rising exponential."""
    delay, rate = (
        grid.ravel() for grid in np.meshgrid(np.zeros(1) if delays is None else delays, RATES, indexing="ij")
    )
    basis = np.exp(-rate[:, None] * np.maximum(u - delay[:, None], 0.0))
    power = (basis**2).sum(axis=1)
    level = (y @ basis.T) / power
    best = np.argmax(level**2 * power, axis=1)
    found = [np.take_along_axis(level, best[:, None], axis=1)[:, 0], rate[best]]
    return np.stack(found if delays is None else [*found, delay[best]], axis=1)


def _rest_starts(u: FloatArray, y: FloatArray, delays: FloatArray | None) -> FloatArray:
    """Return the best (level, step, rate) or (level, step, rate, delay) of an approach to a rest."""
    delay, rate = (
        grid.ravel()
        for grid in np.meshgrid(np.zeros(1) if delays is None else delays, APPROACHES, indexing="ij")
    )
    basis = -np.expm1(-rate[:, None] * np.maximum(u - delay[:, None], 0.0))
    level, step, best = _level_and_step(basis, y)
    found = [level, step, rate[best]]
    return np.stack(found if delays is None else [*found, delay[best]], axis=1)


def _sigmoid_starts(u: FloatArray, y: FloatArray) -> FloatArray:
    """Return the best (level, step, middle, width)."""
    middle, width = (grid.ravel() for grid in np.meshgrid(MIDDLES, WIDTHS, indexing="ij"))
    level, step, best = _level_and_step(expit((u - middle[:, None]) / width[:, None]), y)
    return np.stack([level, step, middle[best], width[best]], axis=1)


def _level_and_step(basis: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray, NDArray[np.intp]]:
    """Return level and step (S,) of the row of `basis` (g, n) that fits best, and which row that is."""
    step = _slopes(basis, y)
    gain = step**2 * ((basis - basis.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
    best = np.argmax(gain, axis=1)
    chosen = np.take_along_axis(step, best[:, None], axis=1)[:, 0]
    return y.mean(axis=1) - chosen * basis.mean(axis=1)[best], chosen, best


def refine(
    curve: Curve,
    jacobian: Curve,
    start: FloatArray,
    u: FloatArray,
    y: FloatArray,
    clip: Reweight = lambda theta: theta,
    reweight: Reweight = lambda rows: rows,
    rounds: int = 40,
    tolerance: float = 1e-10,
) -> FloatArray:
    """Return (S, p) parameters that make the sum of squares of `reweight(y - curve)` least, from `start`.

    Levenberg and Marquardt's method (Marquardt 1963), each series with its own damping; `reweight` takes
    (S, n, …) arrays and turns correlated rows into independent ones.
    """
    theta = clip(start)
    damping = np.full(len(theta), 1e-3)
    residual = reweight(y - curve(theta, u))
    squares = (residual**2).sum(axis=1)
    moving = np.ones(len(theta), dtype=bool)
    for _ in range(rounds):
        step = _step(reweight(jacobian(theta, u)), residual, damping)
        trial = clip(theta + step)
        left = reweight(y - curve(trial, u))
        trial_squares = (left**2).sum(axis=1)
        better = trial_squares <= squares
        moving = ~better | (squares - trial_squares > tolerance * squares) | (damping > 1.0)
        theta = np.where(better[:, None], trial, theta)
        residual = np.where(better[:, None], left, residual)
        squares = np.where(better, trial_squares, squares)
        damping = np.clip(np.where(better, damping / 5.0, damping * 6.0), 1e-14, 1e10)
        if not (moving & (damping < 1e9)).any():
            break
    return theta


def _step(jacobian: FloatArray, residual: FloatArray, damping: FloatArray) -> FloatArray:
    """Return one damped Gauss–Newton step (S, p), parameters scaled by their columns' lengths."""
    turned = np.swapaxes(jacobian, 1, 2)
    normal = turned @ jacobian
    length = np.sqrt(np.einsum("spp->sp", normal))
    length = np.where(length > 0, length, 1.0)
    normal = normal / (length[:, :, None] * length[:, None, :])
    normal += damping[:, None, None] * np.eye(jacobian.shape[2])
    gradient = (turned @ residual[:, :, None]) / length[:, :, None]
    return np.asarray(np.linalg.solve(normal, gradient)[:, :, 0] / length)


def fit(shape: Shape, u: FloatArray, y: FloatArray, reweight: Reweight = lambda rows: rows) -> FloatArray:
    """Return (S, p) parameters of `shape` fitted to `y` (S, n) at the scaled exposures `u` (n,)."""
    return refine(shape.curve, shape.jacobian, starts(shape, u, y), u, y, shape.clipped, reweight)
