"""Local maxima that noise does not explain, in many signals of equal length by one search.

In: rows of times and signals. Out: `Maxima`, arrays over all that were found, row after row.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks

from lyewitness.peaks.sampling import noise_sds

FloatArray = NDArray[np.float64]

PROMINENCE_IN_NOISE = 8.5
"""A top rises this many standard deviations of the binned noise above the passes beside it: of thousands of
samples the highest and the lowest are seven apart by chance."""
PROMINENCE_SHARE = 0.002
"""…and this share of its own height above the lowest pass: noise rides on every large peak."""
SHALLOW = 0.3
"""A top is shallow where it rises less than this share of that height above the passes beside it."""
BLOCK = 32


@dataclass(frozen=True, eq=False, slots=True)
class Maxima:
    """What was found, each (m,). Times in minutes."""

    row: NDArray[np.intp]
    apex: FloatArray
    prominence: FloatArray
    """Height above the higher of both passes."""
    left: FloatArray
    """Half of the prominence, before the apex …"""
    right: FloatArray
    """… and behind it."""
    signal: FloatArray
    """At the apex."""
    shallow: NDArray[np.bool_]


def maxima_of(time: FloatArray, signal: FloatArray) -> Maxima:
    """Return what stands out of each row of `signal` (r, n); a light smoothing joins neighbouring samples.

    The rows are searched end to end, with a wall between them, so that no row sees its neighbours.
    """
    smooth = _smoothed(signal)
    threshold = PROMINENCE_IN_NOISE * noise_sds(smooth, lag=3)
    threshold = np.maximum(threshold, 1e-9 * np.ptp(smooth, axis=1))[:, None]
    # A wall at both ends: a peak cut off by the end of the trace is a peak all the same.
    for end, beside in ((0, 1), (-1, -2)):
        smooth[:, end] = np.minimum(smooth[:, end], smooth[:, beside])
    joined = _end_to_end(smooth, np.inf)
    places, facts = find_peaks(
        joined,
        height=(_end_to_end(_floor(smooth) + threshold, 0.0), np.finfo(np.float64).max),
        prominence=np.broadcast_to(threshold, (len(smooth), smooth.shape[1] + 1)).ravel(),
        width=0.5,
        rel_height=0.5,
    )
    above = joined[places] - np.minimum(joined[facts["left_bases"]], joined[facts["right_bases"]])
    kept = facts["prominences"] >= PROMINENCE_SHARE * above
    prominence, places = facts["prominences"][kept], places[kept]
    times, half = _end_to_end(time, 0.0), joined[places] - 0.5 * prominence
    return Maxima(
        row=places // (smooth.shape[1] + 1),
        apex=times[places],
        prominence=prominence,
        left=_crossed(times, joined, facts["left_ips"][kept], half),
        right=_crossed(times, joined, facts["right_ips"][kept], half),
        signal=joined[places],
        shallow=prominence < SHALLOW * above[kept],
    )


def _smoothed(signal: FloatArray) -> FloatArray:
    """Return the rows with half of each sample and a quarter of both beside it."""
    smooth = signal.copy()
    smooth[:, 1:-1] = 0.25 * signal[:, :-2] + 0.5 * signal[:, 1:-1] + 0.25 * signal[:, 2:]
    return smooth


def _end_to_end(rows: FloatArray, wall: float) -> FloatArray:
    """Return all rows as one, with `wall` behind each."""
    joined = np.full((len(rows), rows.shape[1] + 1), wall)
    joined[:, :-1] = rows
    return joined.ravel()


def _crossed(times: FloatArray, signal: FloatArray, places: FloatArray, level: FloatArray) -> FloatArray:
    """Return the times near `places` at which the signal crosses `level`.

    Of a place only the sample before it is used: its fraction is rounded the more the farther back it is.
    """
    before = places.astype(np.intp)
    here, there = signal[before], signal[before + 1]
    share = np.clip((level - here) / np.where(there == here, np.inf, there - here), 0.0, 1.0)
    return np.asarray(times[before] + share * (times[before + 1] - times[before]))


def _floor(signal: FloatArray) -> FloatArray:
    """Return, at each point, the lowest value of its block of 32 and the two beside it.

    What is not a threshold above that stands out only of something broader, which a coarser look finds. It
    spares the search for the feet of a thousand maxima of noise.
    """
    rows, whole = len(signal), signal.shape[1] // BLOCK * BLOCK
    if not whole:
        return np.broadcast_to(signal.min(axis=1, keepdims=True), signal.shape)
    lowest = signal[:, :whole].reshape(rows, -1, BLOCK).min(axis=2)
    around = lowest.copy()
    np.minimum(around[:, 1:], lowest[:, :-1], out=around[:, 1:])
    np.minimum(around[:, :-1], lowest[:, 1:], out=around[:, :-1])
    floor = np.empty_like(signal)
    floor[:, :whole] = np.repeat(around, BLOCK, axis=1)
    floor[:, whole:] = np.minimum(around[:, -1], signal[:, whole - 1 :].min(axis=1))[:, None]
    return floor
