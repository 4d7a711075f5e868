"""The exponentially modified Gaussian, stable from no tail at all to a pure exponential.

In: times, centre, width, tail. Out: curves of unit area, their derivatives and moments. A negative
`tau` mirrors the curve in time: a fronting peak. Curve and first derivatives are continuous at tau = 0.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfc, erfcx

FloatArray = NDArray[np.float64]

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
    u = np.where(tau < 0, -1.0, 1.0) * (time - center) / sigma
    ratio = np.abs(tau) / sigma
    gauss = np.exp(-0.5 * u * u) / (np.sqrt(2 * np.pi) * sigma)
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
    side = np.where(tau < 0, -1.0, 1.0)
    u = side * (time - center) / sigma
    ratio = np.abs(tau) / sigma
    safe = np.maximum(ratio, SMALLEST_RATIO)
    gauss = np.exp(-0.5 * u * u) / (np.sqrt(2 * np.pi) * sigma)
    curve = _closed_form(u, 1.0 / safe, gauss, sigma)
    first = (gauss - curve) / safe
    second = (-u * gauss - first) / safe
    by_ratio = (gauss / safe**2 - curve * (1.0 + (1.0 / safe - u) / safe)) / safe
    small = ratio < SMALLEST_RATIO
    if np.any(small):
        small = np.broadcast_to(small, curve.shape)
        g1, g2 = -u * gauss, (u * u - 1.0) * gauss
        curve = np.where(small, gauss - ratio * g1 + ratio**2 * g2, curve)
        first, second = np.where(small, g1 - ratio * g2, first), np.where(small, g2, second)
        by_ratio = np.where(small, -g1 + 2 * ratio * g2, by_ratio)
    return curve, -side * first / sigma, second, side * by_ratio / sigma


def _closed_form(u: FloatArray, r: FloatArray, gauss: FloatArray, sigma: FloatArray) -> FloatArray:
    """Return the curve at reduced time `u` for σ/τ = `r`; `gauss` is the Gaussian at `u`."""
    z = (r - u) / np.sqrt(2.0)
    curve: FloatArray = np.asarray(np.sqrt(np.pi / 2.0) * r * gauss * erfcx(np.maximum(z, FARTHEST)))
    far = z < FARTHEST
    if np.any(far):
        u, r, sigma = (np.broadcast_to(part, z.shape)[far] for part in (u, r, sigma))
        curve[far] = 0.5 * r / sigma * np.exp(0.5 * r * r - u * r) * erfc(z[far])
    return curve


def emg_moments(
    center: FloatArray, sigma: FloatArray, tau: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return mean tG + τ, variance σ² + τ² and third central moment 2τ³ (common knowledge of the EMG)."""
    return center + tau, sigma**2 + tau**2, 2.0 * tau**3
