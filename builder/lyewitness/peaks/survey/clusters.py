"""Stretches of traces, thinned, with a rough start for every top: what is handed to the fit.

In: traces, their spans and noise. Out: `Cluster`s.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.emg import shapes_from_half_widths
from lyewitness.peaks.survey.fitting import Cluster
from lyewitness.peaks.survey.tops import Top, binned, core_of, mean_of_few
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a trace whose tops overlap, by index into the trace."""

    first: int
    last: int
    tops: tuple[Top, ...]


def spans_of(time: FloatArray, tops: Sequence[Top]) -> tuple[Span, ...]:
    """Return the stretches in which tops stand together, each with room for its baseline.

    A top's core goes from 4 half-widths before it to 8 behind it, as measured on its narrower side: tops
    whose cores meet belong together. Room is taken on both sides, up to the neighbour's core.
    """
    if not tops:
        return ()
    cores: list[tuple[float, float]] = []
    groups: list[list[Top]] = []
    for start, end, place in sorted((*core_of(top), place) for place, top in enumerate(tops)):
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


POINTS_PER_SIGMA = 5.0
"""A cluster is thinned so far that its sharpest peak keeps this many points per σ."""
LEAST_POINTS = 30
"""… and no stretch to fewer points than this."""
ENDS = 5
"""Samples at either end of a stretch from which the level under its tops is guessed."""


@dataclass(frozen=True, eq=False, slots=True)
class Stretch:
    """One span of a trace."""

    trace: Trace
    span: Span
    noise_sd: float


def clusters_of(stretches: Sequence[Stretch]) -> list[Cluster]:
    """Return the thinned stretches with rough starts for their tops."""
    sharpest = [_sharpest_sigma(stretch) for stretch in stretches]
    rough = [row for own in zip(stretches, sharpest, strict=True) for row in _rough_tops(*own)]
    starts = _starts(np.array(rough).reshape(-1, 5))
    clusters, first = [], 0
    for stretch, sigma in zip(stretches, sharpest, strict=True):
        last = first + len(stretch.span.tops)
        clusters.append(_cluster(stretch, sigma, starts[first:last]))
        first = last
    return clusters


def _step(stretch: Stretch) -> float:
    """Return the sampling interval, minutes."""
    time, span = stretch.trace.time_min, stretch.span
    return float(time[span.last - 1] - time[span.first]) / max(span.last - span.first - 1, 1)


def _sharpest_sigma(stretch: Stretch) -> float:
    """Return σ of the sharpest peak, minutes, as its steeper side tells."""
    tops = stretch.span.tops
    deep = [top for top in tops if not top.shallow] or tops
    # Of a top that leans on another only the free side tells how wide it is.
    narrowest = min(min(top.apex_min - top.left_min, top.right_min - top.apex_min) for top in deep)
    return max(narrowest / 1.178, 0.5 * _step(stretch))


def _rough_tops(stretch: Stretch, sharpest: float) -> list[tuple[float, ...]]:
    """Return height, apex, front, back half-width of each top, and σ where those two say nothing (else 0)."""
    signal = stretch.trace.signal[stretch.span.first : stretch.span.last]
    start, end = (float(stretch.trace.time_min[at]) for at in (stretch.span.first, stretch.span.last - 1))
    level, level_behind = mean_of_few(signal[:ENDS]), mean_of_few(signal[-ENDS:])
    slope, step = (level_behind - level) / (end - start), _step(stretch)

    def rough(top: Top) -> tuple[float, ...]:
        height = max(top.signal - level - slope * (top.apex_min - start), top.height)
        front, back = max(top.apex_min - top.left_min, step), max(top.right_min - top.apex_min, step)
        return height, top.apex_min, front, back, sharpest if top.shallow else 0.0

    return [rough(top) for top in stretch.span.tops]


def _starts(rough: FloatArray) -> FloatArray:
    """Return (k, 4) height, apex, σ and τ of rough tops (k, 5)."""
    height, apex, front, back, sharpest = rough.T
    sigma, tau = shapes_from_half_widths(front, back)
    shallow = sharpest > 0
    shape = np.where(shallow, 0.9 * sharpest, sigma), np.where(shallow, 0.5 * sharpest, tau)
    return np.stack([height, apex, *shape], axis=1)


def _cluster(stretch: Stretch, sharpest: float, starts: FloatArray) -> Cluster:
    """Return the thinned stretch with these starts."""
    window, step = slice(stretch.span.first, stretch.span.last), _step(stretch)
    time, signal = stretch.trace.time_min[window], stretch.trace.signal[window]
    size = max(1, min(int(sharpest / POINTS_PER_SIGMA / step), len(time) // LEAST_POINTS))
    return Cluster(
        binned(time, size),
        binned(signal, size),
        _weights(signal, size),
        starts,
        (size**2 - 1) / 12.0 * step**2,
        noise=stretch.noise_sd / float(np.sqrt(size)),
    )


def _weights(signal: FloatArray, size: int) -> FloatArray:
    """Return 1 for a thinned point, 0 where the detector stands at its end in one of its samples."""
    return (binned(clipped(signal).astype(np.float64), size) <= 0.0).astype(np.float64)


def clipped(signal: FloatArray) -> NDArray[np.bool_]:
    """Tell which samples stand at the detector's end: the highest value, three times running at least."""
    top = signal == signal.max()
    if np.count_nonzero(top) < 3:
        return np.zeros(len(top), dtype=np.bool_)
    runs = top[:-2] & top[1:-1] & top[2:]
    at_end = np.zeros(len(top), dtype=np.bool_)
    for shift in range(3):
        at_end[shift : len(top) - 2 + shift] |= runs
    return at_end
