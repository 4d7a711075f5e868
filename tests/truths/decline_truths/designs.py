"""Designs: at which exposures the injections are made."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
DesignFunction = Callable[[np.random.Generator, int], FloatArray]

END_H = 120.0
SIZES = (6, 8, 10, 12, 13, 16, 24, 48)


def even(rng: np.random.Generator, n: int) -> FloatArray:
    """Return even steps from 0 to 120 h."""
    return np.linspace(0.0, END_H, n)


def start3(rng: np.random.Generator, n: int) -> FloatArray:
    """Return three injections at the start (0, 0.1, 0.2 h), then even steps to 120 h."""
    later = np.linspace(0.0, END_H, n - 2)[1:]
    return np.concatenate([[0.0, 0.1, 0.2], later])


def weekend(rng: np.random.Generator, n: int) -> FloatArray:
    """Return even steps to 120 h with a gap of 48 h that begins between 30 and 60 h."""
    begin = float(rng.uniform(30.0, 60.0))
    worked = np.linspace(0.0, END_H - 48.0, n)
    return np.where(worked <= begin, worked, worked + 48.0)


def late(rng: np.random.Generator, n: int) -> FloatArray:
    """Return steps that get denser towards the end at 120 h."""
    return np.asarray(END_H * (1.0 - (1.0 - np.linspace(0.0, 1.0, n)) ** 1.8))


def uneven(rng: np.random.Generator, n: int) -> FloatArray:
    """Return uneven random exposures from 0 to a random end between 60 and 400 h."""
    end = float(rng.uniform(60.0, 400.0))
    steps = rng.gamma(1.5, 1.0, n - 1) + 0.05
    return np.concatenate([[0.0], end * np.cumsum(steps) / np.sum(steps)])


DESIGNS: dict[str, DesignFunction] = {
    "even": even,
    "start3": start3,
    "weekend": weekend,
    "late": late,
    "uneven": uneven,
}
"""The registry: name -> design."""


def exposures(design: str, n: int, rng: np.random.Generator) -> FloatArray:
    """Return the exposures in hours of ``n`` injections of a design."""
    if n < 5:
        raise ValueError("a design needs at least five injections")
    return np.asarray(DESIGNS[design](rng, n), dtype=np.float64)
