"""What the exact exponentially modified Gaussian is like: apex, widths, tangents, symmetry.

In: τ ÷ σ. Out: `Shape`, in units of σ, by bisection on the exact curve. Nothing here is measured on a
sampled trace, so a measured value can be compared with it.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline

from lyewitness.rehearsal.signals import emg, gaussian
from lyewitness.words.arrays import FloatArray

HALVINGS = 52
LARGEST_RATIO = 20.0


@dataclass(frozen=True, eq=False, slots=True)
class Shape:
    """Dimensions of peaks of unit area and σ = 1 with the centre at 0; arrays of one length."""

    apex: FloatArray
    """Where the top is."""
    height: FloatArray
    width_half: FloatArray
    width_tangent: FloatArray
    """Between the points where the tangents at the inflections meet the baseline."""
    width_10: FloatArray
    symmetry_factor: FloatArray
    """Width at 5 % ÷ twice its front part."""
    asymmetry_10: FloatArray
    """Rear ÷ front part at 10 %."""


def exact_shape(ratio: ArrayLike) -> Shape:
    """Return the dimensions of the exact curves with these τ ÷ σ, (n,), 0 … 20."""
    r = np.atleast_1d(np.asarray(ratio, float))
    apex = _apex(r)
    height = emg(apex, 1.0, 0.0, 1.0, r)
    half = _ends(r, apex, 0.5 * height)
    ten = _ends(r, apex, 0.1 * height)
    five = _ends(r, apex, 0.05 * height)
    return Shape(
        apex=apex,
        height=height,
        width_half=half[1] - half[0],
        width_tangent=_tangent_width(np.maximum(r, 1e-3)),
        width_10=ten[1] - ten[0],
        symmetry_factor=(five[1] - five[0]) / (2 * (apex - five[0])),
        asymmetry_10=(ten[1] - apex) / (apex - ten[0]),
    )


def shape_of(ratio: ArrayLike) -> Shape:
    """Return `exact_shape` from a cubic through exact curves, within 1e-8; much faster for many peaks.

    Raises ValueError for τ ÷ σ above 20.
    """
    r = np.atleast_1d(np.asarray(ratio, float))
    if r.max(initial=0.0) > LARGEST_RATIO:
        raise ValueError(f"τ/σ is {r.max()}, above {LARGEST_RATIO}")
    return Shape(*np.moveaxis(_table()(np.sqrt(r)), -1, 0))


def symmetry_of(ratio: ArrayLike) -> FloatArray:
    """Return the symmetry factor for τ ÷ σ, as `shape_of` does."""
    return shape_of(ratio).symmetry_factor.reshape(np.shape(ratio))


@cache
def _table() -> CubicSpline:
    """Return all dimensions over √(τ/σ), which spreads the knots to where the curves bend."""
    roots = np.linspace(0, np.sqrt(LARGEST_RATIO), 901)
    shape = exact_shape(roots**2)
    return CubicSpline(roots, np.stack([getattr(shape, field.name) for field in fields(Shape)], axis=-1))


def _root(function: Callable[[FloatArray], FloatArray], below: FloatArray, above: FloatArray) -> FloatArray:
    """Return where `function` changes sign: it is negative at `below` and positive at `above`."""
    for _ in range(HALVINGS):
        middle = 0.5 * (below + above)
        positive = function(middle) > 0
        below, above = np.where(positive, below, middle), np.where(positive, middle, above)
    return np.asarray(0.5 * (below + above))


def _apex(r: FloatArray) -> FloatArray:
    """Return the top: τ f′ = g − f for the Gaussian g inside, so that f meets g there."""
    return _root(lambda t: emg(t, 1.0, 0.0, 1.0, r) - gaussian(t, 1.0, 0.0, 1.0), np.zeros_like(r), r.copy())


def _ends(r: FloatArray, apex: FloatArray, level: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the front and the rear of the peak pass `level`."""

    def above_level(t: FloatArray) -> FloatArray:
        return emg(t, 1.0, 0.0, 1.0, r) - level

    return _root(above_level, apex - 9, apex), _root(above_level, apex + 9 + 5 * r, apex)


def _tangent_width(r: FloatArray) -> FloatArray:
    """Return the base width between the tangents; f″ = 0 where f = g (1 + τ t)."""

    def curving(t: FloatArray) -> FloatArray:
        return emg(t, 1.0, 0.0, 1.0, r) - gaussian(t, 1.0, 0.0, 1.0) * (1 + r * t)

    apex = _apex(r)
    front = _root(curving, apex, apex - 9)
    rear = _root(curving, apex, apex + 9 + r)
    return _foot(r, rear) - _foot(r, front)


def _foot(r: FloatArray, t: FloatArray) -> FloatArray:
    """Return where the tangent at `t` meets the baseline."""
    f = emg(t, 1.0, 0.0, 1.0, r)
    slope = (gaussian(t, 1.0, 0.0, 1.0) - f) / r
    return np.asarray(t - f / slope)
