"""What a detector records where no peak is: lamp, pump, mixer, oven, gradient, refraction, valves.

Every function takes times in minutes and returns mAU.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def coloured(n: int, power: float, rng: np.random.Generator) -> Array:
    """Return noise whose power falls as 1/f**power, mean 0 and standard deviation 1."""
    m = 1 << math.ceil(math.log2(max(2 * n, 4)))
    f = np.fft.rfftfreq(m)
    f[0] = f[1]
    amplitude = (rng.normal(size=f.size) + 1j * rng.normal(size=f.size)) * f ** (-power / 2)
    amplitude[0] = 0
    out = np.fft.irfft(amplitude, m)[:n]
    out = out - out.mean()
    return np.asarray(out / out.std(), dtype=np.float64)


def lamp_drift(t: Array, rng: np.random.Generator, size: float = 1.0, power: float = 2.0) -> Array:
    """Ageing and warming of the lamp: random walk (power 2) or flicker (power 1)."""
    return size * coloured(t.size, power, rng)


def pump_ripple(
    t: Array, rng: np.random.Generator, size: float = 0.3, strokes_per_min: float = 8.0, harmonics: int = 4
) -> Array:
    """Ripple at the stroke frequency with harmonics; the stroke itself wanders in length by a little."""
    phase = strokes_per_min * t * (1 + 0.002 * rng.normal()) + 0.02 * coloured(t.size, 2.0, rng)
    out = np.zeros_like(t)
    for k in range(1, harmonics + 1):
        out += size / k**1.3 * np.sin(2 * math.pi * (k * phase + rng.uniform()))
    return out


def mixing_ripple(t: Array, rng: np.random.Generator, size: float = 1.0, period_min: float = 0.55) -> Array:
    """Composition waves that the mixer leaves: nearly periodic, with drifting amplitude."""
    swell = 1 + 0.4 * coloured(t.size, 2.0, rng)
    return np.asarray(size * swell * np.sin(2 * math.pi * (t / period_min + rng.uniform())), dtype=np.float64)


def thermal_wander(t: Array, rng: np.random.Generator, size: float = 2.0, period_min: float = 6.0) -> Array:
    """The room's air conditioning: a saw of heating and slow cooling, rounded by the detector's mass."""
    phase = np.mod(t / period_min + rng.uniform(), 1.0)
    duty = 0.3
    saw = np.where(phase < duty, phase / duty, np.exp(-(phase - duty) / 0.35))
    k = max(3, int(0.05 * period_min / max(float(np.median(np.diff(t))), 1e-9)) | 1)
    kernel = np.hanning(k + 2)[1:-1]
    padded = np.pad(saw, k // 2, mode="edge")
    return np.asarray(
        size * np.convolve(padded, kernel / kernel.sum(), mode="valid")[: t.size], dtype=np.float64
    )


def gradient_hump(t: Array, size: float, centre: float, width: float) -> Array:
    """Impurity of the weak eluent that leaves in the gradient: steep front, long back, then a rise."""
    side = np.where(t < centre, 0.6 * width, 1.3 * width)
    rise = 0.15 * size / (1 + np.exp(-(t - centre) / (0.7 * width)))
    return np.asarray(size * np.exp(-0.5 * ((t - centre) / side) ** 2) + rise, dtype=np.float64)


def wave(t: Array, rng: np.random.Generator, size: float = 8.0, period_min: float = 2.2) -> Array:
    """A slow wave of the baseline."""
    return np.asarray(size * np.sin(2 * math.pi * (t / period_min + rng.uniform())), dtype=np.float64)


def refraction(t: Array, size: float, at: float, width: float, derivative: bool = False) -> Array:
    """The sample solvent's passage: a dip of the given depth (negative), or dip and rebound (a lens)."""
    u = (t - at) / width
    if derivative:
        return np.asarray(-size * u * np.exp(0.5 * (1 - u**2)), dtype=np.float64)
    return np.asarray(size * np.exp(-0.5 * u**2), dtype=np.float64)


def step(t: Array, size: float, at: float, settle_min: float = 0.0) -> Array:
    """A step of lamp (settle 0) or valve (a spike that settles to the new level)."""
    after = t >= at
    out = np.where(after, size, 0.0)
    if settle_min > 0:
        out = out + np.where(after, 2.0 * size * np.exp(-np.maximum(t - at, 0.0) / settle_min), 0.0)
    return np.asarray(out, dtype=np.float64)


def wash_rise(t: Array, size: float, at: float, width: float = 0.15) -> Array:
    """The strong eluent at the end of the run: a smooth front, then a slow fall."""
    front = 1 / (1 + np.exp(-np.clip((t - at) / (0.25 * width), -60, 60)))
    return np.asarray(size * front * np.exp(-np.maximum(t - at, 0) / (20 * width)), dtype=np.float64)


def long_wander(t: Array, rng: np.random.Generator, size: float = 3.0) -> Array:
    """Hour-long wandering by a few mAU: lamp, oven, slow bleed, pump."""
    bleed = 0.8 * size * (1 - np.exp(-t / (0.4 * float(t[-1]))))
    out = lamp_drift(t, rng, 0.6 * size) + thermal_wander(t, rng, 0.4 * size, 17.0) + bleed
    return np.asarray(out + pump_ripple(t, rng, 0.05, 4.0), dtype=np.float64)
