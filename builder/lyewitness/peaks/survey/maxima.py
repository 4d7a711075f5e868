"""Local maxima that noise does not explain, in many signals of equal length by one search.

In: rows of times and signals. Out: `Maxima`, arrays over all that were found, row after row.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import peak_prominences, peak_widths

from lyewitness.peaks.sampling import noise_sds
from lyewitness.words.arrays import FloatArray

PROMINENCE_IN_NOISE = 8.5
"""A top rises this many standard deviations of the binned noise above the passes beside it: of thousands of
samples the highest and the lowest are seven apart by chance."""
PROMINENCE_SHARE = 0.002
"""…and this share of its own height above the lowest pass: noise rides on every large peak."""
SHALLOW = 0.3
"""A top is shallow where it rises less than this share of that height above the passes beside it."""
LEAST_WIDTH = 0.5
"""In samples, at half of the prominence."""
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

    The rows are searched end to end, with a wall behind each, so that no row sees its neighbours.
    """
    smooth = _smoothed(signal)
    threshold = PROMINENCE_IN_NOISE * noise_sds(smooth, lag=3)
    threshold = np.maximum(threshold, 1e-9 * (smooth.max(axis=1) - smooth.min(axis=1)))
    # A wall at both ends: a peak cut off by the end of the trace is a peak all the same.
    for end, beside in ((0, 1), (-1, -2)):
        smooth[:, end] = np.minimum(smooth[:, end], smooth[:, beside])
    walled = _walled(smooth)
    joined, width = walled.ravel(), walled.shape[1]
    places = _local_maxima(joined, _stands_out(walled, threshold))
    prominence, left, right = peak_prominences(joined, places)
    above = joined[places] - np.minimum(joined[left], joined[right])
    kept = prominence >= np.maximum(threshold[places // width], PROMINENCE_SHARE * above)
    places, prominence, above, left, right = (part[kept] for part in (places, prominence, above, left, right))
    wide, _, before, behind = peak_widths(joined, places, 0.5, (prominence, left, right))
    half = joined[places] - 0.5 * prominence
    kept = wide >= LEAST_WIDTH
    row, place = np.divmod(places[kept], width)
    start = width * row.astype(np.float64)
    return Maxima(
        row=row,
        apex=time[row, place],
        prominence=prominence[kept],
        left=_crossed(time, smooth, row, before[kept] - start, half[kept]),
        right=_crossed(time, smooth, row, behind[kept] - start, half[kept]),
        signal=smooth[row, place],
        shallow=prominence[kept] < SHALLOW * above[kept],
    )


def _smoothed(signal: FloatArray) -> FloatArray:
    """Return the rows with half of each sample and a quarter of both beside it."""
    smooth = signal.copy()
    inner = smooth[:, 1:-1]
    inner += inner
    inner += signal[:, :-2]
    inner += signal[:, 2:]
    inner *= 0.25
    return smooth


def _walled(rows: FloatArray) -> FloatArray:
    """Return the rows with a wall behind each, so long that whole blocks make up a row."""
    walled = np.full((len(rows), (rows.shape[1] // BLOCK + 1) * BLOCK), np.inf)
    walled[:, : rows.shape[1]] = rows
    return walled


def _stands_out(walled: FloatArray, threshold: FloatArray) -> NDArray[np.bool_]:
    """Tell of each sample whether it is a threshold above the lowest of its block and the two beside it.

    What is not stands out only of something broader, which a coarser look finds. It spares the search for the
    feet of a thousand maxima of noise.
    """
    blocks = walled.reshape(len(walled), -1, BLOCK)
    starts = np.arange(0, walled.size, BLOCK)
    lowest = np.minimum.reduceat(walled.ravel(), starts).reshape(blocks.shape[:2])
    around = lowest.copy()
    np.minimum(around[:, 1:], lowest[:, :-1], out=around[:, 1:])
    np.minimum(around[:, :-1], lowest[:, 1:], out=around[:, :-1])
    return np.asarray(blocks >= (around + threshold[:, None])[:, :, None]).ravel()


def _local_maxima(signal: FloatArray, stands_out: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Return where the signal is higher than on both sides, of a flat top the middle; walls do not count."""
    inner = signal[1:-1]
    first = np.flatnonzero((inner > signal[:-2]) & (inner >= signal[2:]) & stands_out[1:-1]) + 1
    first = first[signal[first] < np.inf]
    if not np.any(signal[first] == signal[first + 1]):
        return first
    changes = np.flatnonzero(signal[1:] != signal[:-1])
    last = changes[changes.searchsorted(first)]
    is_top = signal[last + 1] < signal[last]
    return (first[is_top] + last[is_top]) // 2


def _crossed(
    time: FloatArray, smooth: FloatArray, row: NDArray[np.intp], place: FloatArray, level: FloatArray
) -> FloatArray:
    """Return the times near `place` at which the row crosses `level`.

    Only the sample before the place is taken from it: where rows stand end to end its fraction is rounded.
    """
    before = np.minimum(place.astype(np.intp), time.shape[1] - 2)
    here, there = smooth[row, before], smooth[row, before + 1]
    share = np.clip((level - here) / np.where(there == here, np.inf, there - here), 0.0, 1.0)
    return np.asarray(time[row, before] + share * (time[row, before + 1] - time[row, before]))
