"""Polynomials fitted to the measured points around a place, for many peaks at once.

In: padded windows, one place and one reach for each peak. Out: coefficients, values, slopes, roots.
"""

import numpy as np

from lyewitness.peaks.rows.windows import Padded
from lyewitness.words.arrays import FloatArray

DEGREE = 5
LEAST_POINTS = 3.6
"""A polynomial reaches at least this many sampling intervals to both sides."""


def local_polynomials(padded: Padded, centre: FloatArray, reach: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return coefficients (…, 6) in x = (t − centre)/reach and the reach used; NaN centres give NaN.

    `centre` and `reach` are (p,) or (p, k), one or several places a peak. Weighted least squares with weights
    (1 − |x|³)³ (Cleveland's tricube, from memory).
    """
    shape, (peaks, length) = centre.shape, padded.time.shape
    rows = np.repeat(np.arange(peaks), centre.size // peaks)
    known = (np.isfinite(centre) & np.isfinite(reach)).ravel()
    centre, reach = np.where(known, centre.ravel(), 0.0), np.where(known, reach.ravel(), 0.0)
    reach = np.maximum(reach, LEAST_POINTS * padded.step[rows])
    # All rows laid end to end rise steadily, so that one search finds the places in all of them.
    shift = rows * padded.span
    first = np.searchsorted(padded.end_to_end, centre - reach + shift, side="right")
    last = np.searchsorted(padded.end_to_end, centre + reach + shift)
    places = first[:, None] + np.arange(int(np.max(last - first)))[None, :]
    places = np.clip(places, (rows * length)[:, None], (rows * length + length - 1)[:, None])
    x = (padded.time.ravel()[places] - centre[:, None]) / reach[:, None]
    flat = np.maximum(1.0 - np.abs(x * x * x), 0.0)
    weight = flat * flat * flat * padded.inside.ravel()[places]
    x = np.clip(x, -1.0, 1.0)
    powers = np.ones((len(x), DEGREE + 1, x.shape[1]))
    for power in range(1, DEGREE + 1):
        np.multiply(powers[:, power - 1], x, out=powers[:, power])
    weighted = powers * weight[:, None, :]
    normal = np.matmul(weighted, powers.transpose(0, 2, 1)) + 1e-10 * np.eye(DEGREE + 1)
    right = np.matmul(weighted, padded.net.ravel()[places][:, :, None])
    coefficients = np.where(known[:, None], np.linalg.solve(normal, right)[:, :, 0], np.nan)
    return coefficients.reshape(*shape, DEGREE + 1), reach.reshape(shape)


def value_at(c: FloatArray, x: FloatArray) -> FloatArray:
    """Return the polynomials at x, by Horner's scheme."""
    result = np.zeros_like(x)
    for i in range(c.shape[-1] - 1, -1, -1):
        result = result * x + c[..., i]
    return result


def slope_of(c: FloatArray) -> FloatArray:
    """Return the coefficients of the first derivatives."""
    return np.asarray(c[..., 1:] * np.arange(1, c.shape[-1]))


def root_of(c: FloatArray, level: FloatArray, most: float = 0.6) -> FloatArray:
    """Return x near 0 where the polynomials meet `level`, by Newton's method, kept within ± `most`."""
    x, d = np.zeros(c.shape[:-1]), slope_of(c)
    for _ in range(6):
        slope = value_at(d, x)
        x = np.clip(x - (value_at(c, x) - level) / np.where(slope == 0, np.inf, slope), -most, most)
    return x
