"""Tops in traces: where something stands out of noise and drift, at two widths of looking.

In: times and signals of traces. Out: the `Top`s of each in the order of time. Nothing here knows what a
marker is. Traces of equal length are looked at together.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.peaks.maxima import maxima_of
from lyewitness.peaks.sampling import binned
from lyewitness.words.arrays import FloatArray

COARSENINGS = (1, 10)
"""Bins, in units of the finest one: sharp peaks stand out in the first, weak and broad ones in the second."""
LEAST_HEIGHT_IN_NOISE = 4.5
"""A peak is this many standard deviations of the unbinned noise high at least, which is S/N = 2 or less: the
detection limit is 3 by common practice."""
LEAST_PLATES = 20.0
"""A peak as wide at half height as half of its retention has N = 22."""
MOST_PLATES = 80000.0
MOST_TOPS = 14
"""Of a trace with more tops than this only the highest are looked at."""
LEAST_BINS = 20


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


def find_tops(
    times: Sequence[FloatArray],
    signals: Sequence[FloatArray],
    noise_sds: Sequence[float],
    narrowest_sigma_min: Sequence[float],
) -> list[tuple[Top, ...]]:
    """Return every top of each trace, sharp ones first looked for, broad ones added where none is near."""
    finest = [
        max(1, int(sigma * (len(time) - 1) / float(time[-1] - time[0])))
        for time, sigma in zip(times, narrowest_sigma_min, strict=True)
    ]
    alike: dict[tuple[int, int], list[int]] = {}
    for trace, size in enumerate(finest):
        alike.setdefault((len(times[trace]), size), []).append(trace)
    # Binning has rounded the tops off a little; the fit is judged by the full height later.
    least = [0.7 * LEAST_HEIGHT_IN_NOISE * noise for noise in noise_sds]
    found: list[list[Top]] = [[] for _ in times]
    for (_, size), places in alike.items():
        time = np.stack([binned(times[place], size) for place in places])
        signal = np.stack([binned(signals[place], size) for place in places])
        tops = _at_two_widths(time, signal, [least[place] for place in places])
        for place, own in zip(places, tops, strict=True):
            found[place] = own
    return [tuple(sorted(_likely(own), key=lambda top: top.apex_min)) for own in found]


def _at_two_widths(time: FloatArray, signal: FloatArray, least: Sequence[float]) -> list[list[Top]]:
    """Return the tops of each row that are high enough; coarsely seen ones only where no sharp one stands."""
    found: list[list[Top]] = [[] for _ in least]
    now = 1
    for coarsening in COARSENINGS:
        time, signal = binned(time, coarsening // now), binned(signal, coarsening // now)
        now = coarsening
        if time.shape[1] < LEAST_BINS:
            break
        for row, own in enumerate(_tops_at(time, signal)):
            known = found[row]
            found[row] = known + [
                top
                for top in own
                if top.height > least[row]
                and not any(top.left_min <= other.apex_min <= top.right_min for other in known)
            ]
    return found


def _tops_at(time: FloatArray, signal: FloatArray) -> list[list[Top]]:
    """Return the tops of each row at one width of looking."""
    found = maxima_of(time, signal)
    tops: list[list[Top]] = [[] for _ in time]
    columns = (found.apex, found.prominence, found.left, found.right, found.signal, found.shallow)
    for row, *facts in zip(found.row.tolist(), *(column.tolist() for column in columns), strict=True):
        tops[row].append(Top(*facts))
    return tops


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
    start, end = core_of(wide)
    return start < narrow.apex_min < end


def core_of(top: Top) -> tuple[float, float]:
    """Return start and end of the stretch that a top certainly needs."""
    front = max(top.apex_min - top.left_min, 0.2 * (top.right_min - top.left_min))
    back = max(top.right_min - top.apex_min, front)
    return top.apex_min - 4.0 * front, top.apex_min + 6.0 * back
