"""What stands between the true absorbance and the file: light, converter, bubbles, gaps."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from trace_truths.backgrounds import coloured

Array = NDArray[np.float64]


def white(y: Array, rng: np.random.Generator, size: float) -> Array:
    """Add white noise of standard deviation ``size``."""
    return y + rng.normal(0.0, size, y.size)


def flicker(y: Array, rng: np.random.Generator, size: float) -> Array:
    """Add 1/f noise of standard deviation ``size``."""
    return y + size * coloured(y.size, 1.0, rng)


def shot(y: Array, rng: np.random.Generator, size: float, dark: float = 0.002) -> Array:
    """Add shot noise: ``size`` at full light, growing as the light falls, plus the dark current's share."""
    light = 10.0 ** (-np.clip(y, -500, 4000) / 1000.0)
    return y + rng.normal(size=y.size) * size * np.sqrt(light + dark) / (light + dark) / math.sqrt(1 + dark)


def counts(y: Array, unit: float) -> Array:
    """Round to whole counts of ``unit`` mAU."""
    return np.asarray(np.round(y / unit) * unit, dtype=np.float64)


def spikes(y: Array, rng: np.random.Generator, number: int, low: float = 20.0, high: float = 150.0) -> Array:
    """Add spikes one to three samples wide, of either sign."""
    out = y.copy()
    for _ in range(number):
        at, width = int(rng.integers(5, y.size - 5)), int(rng.integers(1, 4))
        out[at : at + width] += rng.choice([-1.0, 1.0], p=[0.3, 0.7]) * rng.uniform(low, high)
    return out


def bubble(t: Array, y: Array, at: float, size: float, back_min: float) -> Array:
    """An air bubble in the cell: a sharp edge, then an exponential return."""
    after = t >= at
    return np.asarray(
        y + np.where(after, size * np.exp(-np.maximum(t - at, 0) / back_min), 0.0), dtype=np.float64
    )


def clipped(y: Array, end: float, rounding: float = 0.0) -> Array:
    """The detector's end at ``end`` mAU: hard, or bending over a span of ``rounding`` mAU (stray light)."""
    if rounding <= 0:
        return np.minimum(y, end)
    return np.asarray(-rounding * np.logaddexp(-y / rounding, -end / rounding), dtype=np.float64)


def missing(t: Array, y: Array, rng: np.random.Generator, share: float = 0.03) -> tuple[Array, Array]:
    """Leave out single samples and a few short runs of them."""
    keep = rng.uniform(size=t.size) > share / 2
    runs = max(1, int(share / 2 * t.size / 6))
    for _ in range(runs):
        at = int(rng.integers(1, t.size - 8))
        keep[at : at + 6] = False
    keep[0] = keep[-1] = True
    return t[keep], y[keep]


def uneven(t: Array, rng: np.random.Generator, share: float = 0.35) -> Array:
    """Return times that each deviate by a part of the interval, in order."""
    interval = np.diff(t)
    out = t.copy()
    out[1:-1] += rng.uniform(-share, share, t.size - 2) * interval[1:]
    return out
