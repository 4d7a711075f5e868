"""Exact shapes of the exponentially modified Gaussian: where its levels are crossed, whatever its tail.

In: σ and τ, or two half-widths at half height. Out: apex, crossings and tangents of the curve, or σ and τ of
the curve that has these half-widths, so that a fit of one peak has little left to do. All from one table of
exact curves over τ ÷ σ.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from lyewitness.peaks.emg import emg
from lyewitness.words.arrays import FloatArray

RATIOS = np.concatenate([np.linspace(0.0, 4.0, 81), np.geomspace(4.2, 12.0, 20)])
"""τ ÷ σ of the table."""
SMALLEST_TAIL = 0.4
"""Start with at least this τ ÷ σ: at τ = 0 mean and variance can make up for any small tail, and a fit that
comes near stays there."""
LEVELS = (0.05, 0.10, 0.50)
"""Shares of the height at which widths are measured."""


@dataclass(frozen=True, eq=False, slots=True)
class Shape:
    """Places on curves of σ = 1 counted from the centre of the Gaussian, each (…,) over the curves."""

    apex: FloatArray
    height: FloatArray
    """Of the curve of unit area."""
    left: FloatArray
    """(…, 3) front crossings at `LEVELS` …"""
    right: FloatArray
    """… and those of the back."""
    tangent_left: FloatArray
    """Where the front inflection tangent meets the baseline …"""
    tangent_right: FloatArray
    """… and the back one."""


@cache
def _table() -> FloatArray:
    """Return (10, r) apex, height, three front and three back crossings, both tangents over `RATIOS`."""
    time = np.concatenate([np.linspace(-5.0, 6.0, 2201), np.linspace(6.02, 60.0, 2700)])
    curves = emg(time, np.array(0.0), np.array(1.0), RATIOS[:, None])
    return np.array([_row(time, curve) for curve in curves]).T


def _row(time: FloatArray, curve: FloatArray) -> tuple[float, ...]:
    """Return one column of the table, read between the points of a fine grid."""
    top, apex, height = _vertex(time, curve)
    places = []
    for level in LEVELS:
        above = np.flatnonzero(curve > level * height)
        first, last = int(above[0]), int(above[-1])
        places.append(np.interp(level * height, curve[first - 1 : first + 1], time[first - 1 : first + 1]))
        places.append(np.interp(-level * height, -curve[last : last + 2], time[last : last + 2]))
    slope = np.gradient(curve, time)
    up, down = int(slope[:top].argmax()), top + int(slope[top:].argmin())
    tangents = [time[at] - curve[at] / slope[at] for at in (up, down)]
    return (apex, height, *places[::2], *places[1::2], *tangents)


def _vertex(time: FloatArray, curve: FloatArray) -> tuple[int, float, float]:
    """Return index, time and height of the maximum, those two of the parabola through three points."""
    top = int(curve.argmax())
    a, b, c = curve[top - 1 : top + 2]
    off = 0.5 * (a - c) / (a - 2.0 * b + c)
    step = float(time[top + 1] - time[top])
    return top, float(time[top]) + off * step, float(b - 0.25 * (a - c) * off)


def shape_of(sigma: FloatArray, tau: FloatArray) -> Shape:
    """Return the places of curves with these σ and τ (negative: fronting), in their own unit of time."""
    ratio = np.minimum(np.abs(tau) / sigma, RATIOS[-1])
    apex, height, *rest = (np.interp(ratio, RATIOS, row) for row in _table())
    left, right = np.stack(rest[:3], axis=-1), np.stack(rest[3:6], axis=-1)
    fronts = (tau < 0)[..., None]
    left, right = np.where(fronts, -right, left), np.where(fronts, -left, right)
    side, wide = np.where(tau < 0, -1.0, 1.0), sigma[..., None]
    tangents = np.where(tau < 0, -rest[7], rest[6]), np.where(tau < 0, -rest[6], rest[7])
    return Shape(
        side * sigma * apex, height / sigma, wide * left, wide * right, *(sigma * part for part in tangents)
    )


def shapes_from_half_widths(front: FloatArray, back: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return σ and τ of the curves with these half-widths, with a small tail at least."""
    table = _table()
    fronts, backs = table[0] - table[4], table[7] - table[0]
    ratio = np.maximum(np.interp(back / front, backs / fronts, RATIOS), SMALLEST_TAIL)
    sigma = (front + back) / np.interp(ratio, RATIOS, fronts + backs)
    return sigma, ratio * sigma


def apex_behind_center(sigma: FloatArray, tau: FloatArray) -> FloatArray:
    """Return apex − centre of curves, minutes; negative for a fronting peak."""
    return np.asarray(np.sign(tau) * sigma * np.interp(np.abs(tau) / sigma, RATIOS, _table()[0]))
