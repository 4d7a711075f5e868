"""The exponentially modified Gaussian, stable from no tail at all to a pure exponential.

In: times, centre, width, tail. Out: curves of unit area, their derivatives and moments. A negative
`tau` mirrors the curve in time: a fronting peak. Curve and first derivatives are continuous at tau = 0.
"""

import numpy as np
from scipy.special import erfc, erfcx

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
    curve: FloatArray = np.asarray(erfcx(np.maximum(z, FARTHEST)))
    curve *= gauss
    curve *= np.sqrt(np.pi / 2.0) * r
    far = z < FARTHEST
    if np.any(far):
        u, r, sigma = (np.broadcast_to(part, np.shape(z))[far] for part in (u, r, sigma))
        curve[far] = 0.5 * r / sigma * np.exp(0.5 * r * r - u * r) * erfc(z[far])
    return curve


def emg_moments(
    center: FloatArray, sigma: FloatArray, tau: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return mean tG + τ, variance σ² + τ² and third central moment 2τ³ (common knowledge of the EMG)."""
    return center + tau, sigma**2 + tau**2, 2.0 * tau**3
