"""Polynomials fitted to the measured points around a place, for many peaks at once.

In: padded windows, one place and one reach for each peak. Out: coefficients, values, slopes, roots.
"""

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.padding import Padded

FloatArray = NDArray[np.float64]

DEGREE = 5
LEAST_POINTS = 3.6
"""A polynomial reaches at least this many sampling intervals to both sides."""


def local_polynomials(padded: Padded, centre: FloatArray, reach: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return (p, 6) coefficients in x = (t − centre)/reach and the (p,) reach used; NaN centres give NaN.

    Weighted least squares with weights (1 − |x|³)³ (Cleveland's tricube, from memory).
    """
    known = np.isfinite(centre) & np.isfinite(reach)
    centre, reach = np.where(known, centre, 0.0), np.where(known, reach, 0.0)
    reach = np.maximum(reach, LEAST_POINTS * padded.step)
    first = np.argmax(padded.time > (centre - reach)[:, None], axis=1)
    count = int(np.max((np.abs(padded.time - centre[:, None]) < reach[:, None]).sum(axis=1)))
    places = np.minimum(first[:, None] + np.arange(count)[None, :], padded.time.shape[1] - 1)
    x = (np.take_along_axis(padded.time, places, 1) - centre[:, None]) / reach[:, None]
    flat = np.maximum(1.0 - np.abs(x * x * x), 0.0)
    weight = flat * flat * flat * np.take_along_axis(padded.inside, places, 1)
    x = np.clip(x, -1.0, 1.0)
    powers = np.ones((len(x), DEGREE + 1, x.shape[1]))
    for power in range(1, DEGREE + 1):
        np.multiply(powers[:, power - 1], x, out=powers[:, power])
    weighted = powers * weight[:, None, :]
    normal = np.matmul(weighted, powers.transpose(0, 2, 1)) + 1e-10 * np.eye(DEGREE + 1)
    right = np.matmul(weighted, np.take_along_axis(padded.net, places, 1)[:, :, None])
    coefficients = np.linalg.solve(normal, right)[:, :, 0]
    return np.where(known[:, None], coefficients, np.nan), reach


def value_at(c: FloatArray, x: FloatArray) -> FloatArray:
    """Return the polynomials at x, by Horner's scheme."""
    result = np.zeros_like(x)
    for i in range(c.shape[1] - 1, -1, -1):
        result = result * x + c[:, i]
    return result


def slope_of(c: FloatArray) -> FloatArray:
    """Return the coefficients of the first derivatives."""
    return c[:, 1:] * np.arange(1, c.shape[1])


def root_of(c: FloatArray, level: FloatArray, most: float = 0.6) -> FloatArray:
    """Return x near 0 where the polynomials meet `level`, by Newton's method, kept within ± `most`."""
    x, d = np.zeros(len(c)), slope_of(c)
    for _ in range(6):
        slope = value_at(d, x)
        x = np.clip(x - (value_at(c, x) - level) / np.where(slope == 0, np.inf, slope), -most, most)
    return x
