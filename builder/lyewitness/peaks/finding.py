"""Tops in one trace: where something stands out of noise and drift, at two widths of looking.

In: times and signal of a trace. Out: `Top`s in the order of time, the noise, and the stretches ('spans')
in which tops overlap. Nothing here knows what a marker is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks

FloatArray = NDArray[np.float64]

COARSENINGS = (1, 10)
"""Bins, in units of the finest one: sharp peaks stand out in the first, weak and broad ones in the second."""
PROMINENCE_IN_NOISE = 8.5
"""A top rises this many standard deviations of the binned noise above the passes beside it: of thousands of
samples the highest and the lowest are seven apart by chance."""
LEAST_HEIGHT_IN_NOISE = 4.5
"""A peak is this many standard deviations of the unbinned noise high at least, which is S/N = 2 or less: the
detection limit is 3 by common practice."""
PROMINENCE_SHARE = 0.002
"""…and this share of its own height above the lowest pass: noise rides on every large peak."""

BLOCK = 32
SHALLOW = 0.3
LEAST_PLATES = 20.0
"""A peak as wide at half height as half of its retention has N = 22."""
MOST_PLATES = 80000.0
MOST_TOPS = 14
"""Of a trace with more tops than this only the highest are looked at."""


@dataclass(frozen=True, slots=True)
class Top:
    """One local maximum that noise does not explain. Times in minutes."""

    apex_min: float
    height: float
    """Above the higher of its two passes (the prominence), signal unit."""
    left_min: float
    """Half of that height, before the apex …"""
    right_min: float
    """… and behind it."""
    signal: float
    """Signal at the apex, baseline included."""
    shallow: bool = False
    """True where it stands out of a higher peak only a little: its width says nothing then."""


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a trace whose tops overlap, by index into the trace."""

    first: int
    last: int
    tops: tuple[Top, ...]


def noise_sd(signal: FloatArray, lag: int = 1) -> float:
    """Return the standard deviation of the noise, from differences at `lag`.

    The 40 % quantile of |difference| over √2 × 0.524 (the same quantile of a normal distribution): peaks
    may take half of the trace before they count.
    """
    # Some thousand differences are plenty: of a long trace every second, third, … is taken.
    every = max(1, len(signal) // 2500)
    difference = np.abs(signal[lag::every] - signal[:-lag:every])
    place = int(0.4 * len(difference))
    return float(np.partition(difference, place)[place] / (0.5244005 * np.sqrt(2.0)))


def binned(values: FloatArray, size: int) -> FloatArray:
    """Return the means of `size` consecutive values; an incomplete last bin is left out."""
    if size == 1:
        return values
    whole = len(values) // size * size
    # A matrix product: many times faster than a mean over a short axis.
    return np.asarray(values[:whole].reshape(-1, size) @ np.full(size, 1.0 / size))


def find_tops(time: FloatArray, signal: FloatArray, narrowest_sigma_min: float) -> tuple[Top, ...]:
    """Return every top of the trace, sharp ones first looked for, broad ones added where none is near."""
    step = float(time[-1] - time[0]) / (len(time) - 1)
    finest = max(1, int(narrowest_sigma_min / step))
    found: list[Top] = []
    # Binning has rounded the tops off a little; the fit is judged by the full height later.
    least = 0.7 * LEAST_HEIGHT_IN_NOISE * noise_sd(signal)
    times, signals, now = time, signal, 1
    for coarsening in COARSENINGS:
        size = finest * coarsening // now
        times, signals, now = binned(times, size), binned(signals, size), finest * coarsening
        if len(times) < 20:
            break
        found += [
            top
            for top in _tops_at(times, signals)
            if top.height > least
            and not any(top.left_min <= known.apex_min <= top.right_min for known in found)
        ]
    return tuple(sorted(_likely(found), key=lambda top: top.apex_min))


def _likely(tops: Sequence[Top]) -> list[Top]:
    """Return the tops that a column could have made: no spikes, no drift.

    Plate numbers tell: 5.54 (tR/W)² above `MOST_PLATES` is a spike, below `LEAST_PLATES` drift.
    A low and wide top under higher and narrower ones is drift, too.
    """
    wide = [top.right_min - top.left_min for top in tops]
    plates = [5.54 * (top.apex_min / max(width, 1e-12)) ** 2 for top, width in zip(tops, wide, strict=True)]
    kept = [
        i
        for i in range(len(tops))
        if plates[i] > LEAST_PLATES and (plates[i] < MOST_PLATES or tops[i].shallow)
    ]
    highest = sorted((tops[i].height for i in kept), reverse=True)[:MOST_TOPS]
    return [
        tops[i]
        for i in kept
        if tops[i].height >= highest[-1]
        and not any(
            tops[j].height > tops[i].height and wide[j] < 0.2 * wide[i] and _reaches(tops[i], tops[j])
            for j in kept
        )
    ]


def _reaches(wide: Top, narrow: Top) -> bool:
    """Tell whether the narrow top stands on the core of the wide one."""
    start, end = _core(wide)
    return start < narrow.apex_min < end


def _tops_at(time: FloatArray, signal: FloatArray) -> list[Top]:
    """Return the tops at one width of looking; a light smoothing joins neighbouring bins."""
    smooth = signal.copy()
    smooth[1:-1] = 0.25 * signal[:-2] + 0.5 * signal[1:-1] + 0.25 * signal[2:]
    threshold = PROMINENCE_IN_NOISE * noise_sd(smooth, lag=3)
    threshold = max(threshold, 1e-9 * float(np.ptp(smooth)))
    # A wall at both ends: a peak cut off by the end of the trace is a peak all the same.
    smooth[[0, -1]] = min(smooth[0], smooth[1]), min(smooth[-1], smooth[-2])
    places, facts = find_peaks(
        smooth, height=_floor(smooth) + threshold, prominence=threshold, width=0.5, rel_height=0.5
    )
    tops = []
    index = np.arange(len(time), dtype=np.float64)
    left, right = (np.interp(facts[key], index, time) for key in ("left_ips", "right_ips"))
    floors = np.minimum(smooth[facts["left_bases"]], smooth[facts["right_bases"]])
    for i, place in enumerate(places):
        prominence = float(facts["prominences"][i])
        if prominence >= PROMINENCE_SHARE * (smooth[place] - floors[i]):
            tops.append(
                Top(
                    float(time[place]),
                    prominence,
                    float(left[i]),
                    float(right[i]),
                    float(smooth[place]),
                    shallow=prominence < SHALLOW * (smooth[place] - floors[i]),
                )
            )
    return tops


def _floor(signal: FloatArray) -> FloatArray:
    """Return, at each point, the lowest value of its block of 32 and the two beside it.

    What is not a threshold above that stands out only of something broader, which a coarser look finds. It
    spares the search for the feet of a thousand maxima of noise.
    """
    whole = len(signal) // BLOCK * BLOCK
    lowest = signal[:whole].reshape(-1, BLOCK).min(axis=1)
    if not len(lowest):
        return np.full(len(signal), signal.min())
    around = lowest.copy()
    np.minimum(around[1:], lowest[:-1], out=around[1:])
    np.minimum(around[:-1], lowest[1:], out=around[:-1])
    floor = np.full(len(signal), min(float(around[-1]), float(signal[whole - 1 :].min())))
    floor[:whole] = np.repeat(around, BLOCK)
    return floor


def spans_of(time: FloatArray, signal: FloatArray, tops: Sequence[Top]) -> tuple[Span, ...]:
    """Return the stretches in which tops stand together, each with room for its baseline.

    A top's core goes from 4 half-widths before it to 8 behind it, as measured on its narrower side: tops
    whose cores meet belong together. Room is taken on both sides, up to the neighbour's core.
    """
    if not tops:
        return ()
    cores: list[tuple[float, float]] = []
    groups: list[list[Top]] = []
    for start, end, place in sorted((*_core(top), place) for place, top in enumerate(tops)):
        if groups and start < cores[-1][1]:
            groups[-1].append(tops[place])
            cores[-1] = cores[-1][0], max(end, cores[-1][1])
        else:
            groups.append([tops[place]])
            cores.append((start, end))
    spans = []
    for i, group in enumerate(groups):
        start, end = cores[i]
        room = 0.4 * (end - start)
        start = max(start - room, cores[i - 1][1] if i else time[0])
        end = min(end + room, cores[i + 1][0] if i + 1 < len(cores) else time[-1])
        first = int(np.searchsorted(time, start))
        last = int(np.searchsorted(time, end, side="right"))
        spans.append(Span(first, last, tuple(sorted(group, key=lambda top: top.apex_min))))
    return tuple(spans)


def _core(top: Top) -> tuple[float, float]:
    """Return start and end of the stretch that a top certainly needs."""
    front = max(top.apex_min - top.left_min, 0.2 * (top.right_min - top.left_min))
    back = max(top.right_min - top.apex_min, front)
    return top.apex_min - 4.0 * front, top.apex_min + 6.0 * back
