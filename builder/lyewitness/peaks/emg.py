"""The exponentially modified Gaussian, stable from no tail at all to a pure exponential.

In: times, centre, width, tail. Out: curves of unit area, their derivatives, moments
and the places where they cross a level. A negative
`tau` mirrors the curve in time: a fronting peak. Curve and first derivatives are continuous at tau = 0.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import scipy

from lyewitness.words.arrays import FloatArray

FARTHEST = -25.0
"""Below this z the scaled complementary error function nears its overflow at −26."""
SMALLEST_RATIO = 1e-4
"""Below this τ/σ the curve is expanded in τ: the closed form divides by τ."""


def emg(time: FloatArray, center: FloatArray, sigma: FloatArray, tau: FloatArray) -> FloatArray:
    """Return the unit-area curve 1/(2τ) exp(−u²/2) erfcx(z) with u = (t − tG)/σ, z = (σ/τ − u)/√2.

    All arguments broadcast; times in one unit, result in its inverse. Where z is far below zero the same
    curve is written exp(σ²/2τ² − uσ/τ) erfc(z)/(2τ), because erfcx overflows there. `sigma` must be
    positive. Source: Foley and Dorsey, Anal. Chem. 1983, 55, 730 (from memory).
    """
    u, gauss = _reduced(time, center, sigma, np.where(tau < 0, -1.0, 1.0))
    ratio = np.abs(tau) / sigma
    curve = _closed_form(u, 1.0 / np.maximum(ratio, SMALLEST_RATIO), gauss, sigma)
    small = ratio < SMALLEST_RATIO
    if np.any(small):
        curve = np.where(small, gauss * (1.0 + ratio * u + ratio**2 * (u * u - 1.0)), curve)
    return curve


def emg_with_slopes(
    time: FloatArray, center: FloatArray, sigma: FloatArray, tau: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return the unit-area curve and its derivatives by centre, log σ and τ.

    From τ h′ + h = g (g the Gaussian) and ∂h/∂(σ²/2) = h″: ∂h/∂tG = (h − g)/τ, ∂h/∂log σ = σ² h″,
    ∂h/∂τ = (r² g − h (1 + r (r − u)))/τ with r = σ/τ. Expanded in τ where |τ| < 0.0001 σ.
    """
    side, ratio = np.where(tau < 0, -1.0, 1.0), np.abs(tau) / sigma
    u, gauss = _reduced(time, center, sigma, side)
    r = 1.0 / np.maximum(ratio, SMALLEST_RATIO)
    curve = _closed_form(u, r, gauss, sigma)
    first = gauss - curve
    first *= r
    second = u * gauss
    second += first
    second *= -r
    by_ratio = r - u
    by_ratio *= r
    by_ratio += 1.0
    by_ratio *= -curve
    by_ratio += r * r * gauss
    by_ratio *= r
    small = ratio < SMALLEST_RATIO
    if np.any(small):
        small = np.broadcast_to(small, curve.shape)
        g1, g2 = -u * gauss, (u * u - 1.0) * gauss
        curve = np.where(small, gauss - ratio * g1 + ratio**2 * g2, curve)
        first, second = np.where(small, g1 - ratio * g2, first), np.where(small, g2, second)
        by_ratio = np.where(small, -g1 + 2 * ratio * g2, by_ratio)
    return curve, (-side / sigma) * first, second, (side / sigma) * by_ratio


def _reduced(
    time: FloatArray, center: FloatArray, sigma: FloatArray, side: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the reduced time u = ± (t − tG)/σ and the Gaussian of unit area there."""
    u = (time - center) * (side / sigma)
    gauss = u * u
    gauss *= -0.5
    gauss = np.exp(gauss)
    gauss *= 1.0 / (np.sqrt(2 * np.pi) * sigma)
    return u, gauss


def _closed_form(u: FloatArray, r: FloatArray, gauss: FloatArray, sigma: FloatArray) -> FloatArray:
    """Return the curve at reduced time `u` for σ/τ = `r`; `gauss` is the Gaussian at `u`."""
    z = r - u
    z *= np.sqrt(0.5)
    curve: FloatArray = np.asarray(scipy.special.erfcx(np.maximum(z, FARTHEST)))
    curve *= gauss
    curve *= np.sqrt(np.pi / 2.0) * r
    far = z < FARTHEST
    if np.any(far):
        u, r, sigma = (np.broadcast_to(part, np.shape(z))[far] for part in (u, r, sigma))
        curve[far] = 0.5 * r / sigma * np.exp(0.5 * r * r - u * r) * scipy.special.erfc(z[far])
    return curve


def emg_moments(
    center: FloatArray, sigma: FloatArray, tau: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return mean tG + τ, variance σ² + τ² and third central moment 2τ³ (common knowledge of the EMG)."""
    return center + tau, sigma**2 + tau**2, 2.0 * tau**3


RATIOS = np.concatenate([np.linspace(0.0, 4.0, 81), np.geomspace(4.2, 12.0, 20)])
"""τ ÷ σ of the table."""
SMALLEST_TAIL = 0.4
"""Start with at least this τ ÷ σ: at τ = 0 mean and variance can make up for any small tail, and a fit that
comes near stays there."""
TELLING_TAIL = 0.4
"""Errors are looked up at this τ ÷ σ at least. Below it a tail moves and widens a curve as centre and σ do,
at τ = 0 exactly so, and what tells them apart, a skew of 2 τ³, no slope at τ = 0 sees. A curve of the same
mean and variance with such a tail is as well known, and differs from it by 2 % of its height."""
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


def with_telling_tail(
    center: FloatArray, sigma: FloatArray, tau: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return centre, σ and τ of curves of the same mean and variance, with `TELLING_TAIL` at least."""
    variance = sigma**2 + tau**2
    least = TELLING_TAIL * np.sqrt(variance / (1.0 + TELLING_TAIL**2))
    longer = np.where(np.abs(tau) < least, np.where(tau < 0, -least, least), tau)
    return center + tau - longer, np.sqrt(variance - longer**2), longer


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
