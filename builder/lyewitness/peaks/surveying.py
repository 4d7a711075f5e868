"""From traces to everything on them that is a peak, named or not.

In: traces. Out: a `Survey` each: fitted components, the baseline under them and the noise beside them. The
fits of all traces are made together.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.baseline import Baseline, smooth_baseline, straight_under
from lyewitness.peaks.components import Component, components_of
from lyewitness.peaks.emg import emg
from lyewitness.peaks.finding import (
    LEAST_HEIGHT_IN_NOISE,
    LEAST_PLATES,
    MOST_PLATES,
    Top,
    find_tops,
)
from lyewitness.peaks.fitting import Cluster, ClusterFit, fit_clusters
from lyewitness.peaks.parting import part_shoulders
from lyewitness.peaks.sampling import binned, noise_sd
from lyewitness.peaks.spans import Span, spans_of
from lyewitness.peaks.starting import shape_from_half_widths
from lyewitness.peaks.tails import with_longer_tails
from lyewitness.traces.records import Trace

FloatArray = NDArray[np.float64]

POINTS_PER_SIGMA = 5.0
"""A cluster is thinned so far that its sharpest peak keeps this many points per σ."""
WIDEST_AT_AN_END = 0.1
"""A peak that the trace cuts off is no wider at half height than this share of the trace."""


@dataclass(frozen=True, eq=False, slots=True)
class Survey:
    """What stands on one trace."""

    trace: Trace
    noise_sd: float
    spans: tuple[Span, ...]
    """Stretches with tops; index of `Component.span`."""
    fits: tuple[ClusterFit, ...]
    """One a span."""
    components: tuple[Component, ...]
    """In the order of time."""
    smooth: Baseline
    """Smooth baseline of the whole trace."""
    baseline: Baseline
    """The same, straight under each cluster."""
    free: NDArray[np.intp]
    """Indices of the samples that no peak touches, rising …"""
    free_time: FloatArray
    """… and their times."""

    def curve(self, time: FloatArray, components: Sequence[Component]) -> FloatArray:
        """Return the sum of the fitted `components` at `time`."""
        if not components:
            return np.zeros_like(time)
        shape = np.array([[c.area, c.center_min, c.sigma_min, c.tau_min] for c in components])
        area, center, sigma, tau = shape.T[:, :, None]
        return np.asarray((area * emg(time, center, sigma, tau)).sum(axis=0))


def survey_traces(traces: Sequence[Trace], narrowest_sigma_min: Sequence[float]) -> tuple[Survey, ...]:
    """Return the survey of each trace; `narrowest_sigma_min` is the sharpest σ to expect on each."""
    times, signals = [trace.time_min for trace in traces], [trace.signal for trace in traces]
    noise = [noise_sd(signal) for signal in signals]
    tops = find_tops(times, signals, noise, narrowest_sigma_min)
    spans = [spans_of(time, own) for time, own in zip(times, tops, strict=True)]
    clusters = [
        cluster_of(trace, span, sd)
        for trace, own, sd in zip(traces, spans, noise, strict=True)
        for span in own
    ]
    fits = part_shoulders(clusters, fit_clusters(clusters))
    places = [place for own in spans for place in range(len(own))]
    curves = components_of(places, fits)
    surveys, first = [], 0
    for trace, own, sd in zip(traces, spans, noise, strict=True):
        last = first + len(own)
        found = [component for part in curves[first:last] for component in part]
        surveys.append(survey_of(trace, sd, own, fits[first:last], found))
        first = last
    return tuple(surveys)


def cluster_of(trace: Trace, span: Span, noise: float) -> Cluster:
    """Return the thinned stretch of `trace` with rough starts for its tops."""
    time, signal = trace.time_min[span.first : span.last], trace.signal[span.first : span.last]
    step = (time[-1] - time[0]) / max(len(time) - 1, 1)
    deep = [top for top in span.tops if not top.shallow] or list(span.tops)
    # Of a top that leans on another only the free side tells how wide it is.
    sharpest = min(min(top.apex_min - top.left_min, top.right_min - top.apex_min) for top in deep) / 1.178
    sharpest = max(sharpest, 0.5 * step)
    size = max(1, min(int(sharpest / POINTS_PER_SIGMA / step), len(time) // 30))
    ends = np.array([signal[:5].mean(), signal[-5:].mean()])
    starts = [_start(top, time, ends, sharpest, step) for top in span.tops]
    return Cluster(
        binned(time, size),
        binned(signal, size),
        _weights(signal, size),
        np.asarray(starts),
        (size**2 - 1) / 12.0 * step**2,
        noise=noise / float(np.sqrt(size)),
    )


def _start(top: Top, time: FloatArray, ends: FloatArray, sharpest: float, step: float) -> list[float]:
    """Return rough height, apex, σ and τ of a top."""
    floor = float(np.interp(top.apex_min, time[[0, -1]], ends))
    height = max(top.signal - floor, top.height)
    if top.shallow:
        return [height, top.apex_min, 0.9 * sharpest, 0.5 * sharpest]
    front, back = max(top.apex_min - top.left_min, step), max(top.right_min - top.apex_min, step)
    sigma, tau = shape_from_half_widths(front, back)
    return [height, top.apex_min, sigma, tau]


def _weights(signal: FloatArray, size: int) -> FloatArray:
    """Return 1 for a thinned point, 0 where the detector stands at its end in one of its samples.

    That is the highest value of the stretch, three times running at least.
    """
    top = signal == signal.max()
    if np.count_nonzero(top) < 3:
        return np.ones(len(signal) // size)
    runs = top[:-2] & top[1:-1] & top[2:]
    at_end = np.zeros(len(top))
    for shift in range(3):
        at_end[shift : len(top) - 2 + shift][runs] = 1.0
    return (binned(at_end, size) <= 0.0).astype(np.float64)


def resurveyed(survey: Survey, span: int, fit: ClusterFit) -> Survey:
    """Return the survey with another fit of one span."""
    fits = tuple(fit if place == span else old for place, old in enumerate(survey.fits))
    found = [component for part in components_of(range(len(fits)), fits) for component in part]
    return survey_of(survey.trace, survey.noise_sd, survey.spans, fits, found)


def survey_of(
    trace: Trace,
    noise: float,
    spans: tuple[Span, ...],
    fits: tuple[ClusterFit, ...],
    components: Sequence[Component],
) -> Survey:
    """Return the survey of one trace from the fits of its spans and all their components."""
    components = with_longer_tails(trace, noise, components, fits)
    real = sorted(
        (c for c in components if _is_peak(c, noise, trace) and _stands_at_a_top(c, spans[c.span])),
        key=lambda c: c.apex_min,
    )
    kept = {c.span for c in real}
    standing = [c for c in components if c.span in kept]
    smooth = smooth_baseline(trace.time_min, trace.signal, standing)
    stretches = _stretches(standing)
    free = _outside(trace.time_min, stretches)
    return Survey(
        trace=trace,
        noise_sd=noise,
        spans=spans,
        fits=fits,
        components=tuple(real),
        smooth=smooth,
        baseline=straight_under(smooth, stretches),
        free=free,
        free_time=trace.time_min[free],
    )


def _outside(time: FloatArray, stretches: Sequence[tuple[float, float]]) -> NDArray[np.intp]:
    """Return the indices of the times in no stretch."""
    outside = np.ones(len(time), dtype=np.bool_)
    for start, end in stretches:
        first, last = np.searchsorted(time, [start, end])
        outside[first:last] = False
    return np.flatnonzero(outside)


def _stretches(components: Sequence[Component]) -> list[tuple[float, float]]:
    """Return start and end of each span's curves; stretches that overlap are joined."""
    joined: list[tuple[float, float]] = []
    for index in sorted({c.span for c in components}):
        own = [c for c in components if c.span == index]
        start, end = min(c.start_min for c in own), max(c.end_min for c in own)
        while joined and joined[-1][1] > start:
            start, end = min(joined[-1][0], start), max(joined.pop()[1], end)
        joined.append((start, end))
    return joined


def _is_peak(component: Component, noise: float, trace: Trace) -> bool:
    """Tell whether a component is a peak rather than noise or drift."""
    first, last = float(trace.time_min[0]), float(trace.time_min[-1])
    plates = 5.54 * (component.apex_min / component.width_min) ** 2
    whole = first <= component.start_min and component.end_min <= last
    # The crest of a slow wave at an end of the trace looks like half a very wide peak.
    crest = not whole and component.width_min > WIDEST_AT_AN_END * (last - first)
    standing = first <= component.apex_min <= last and component.height > LEAST_HEIGHT_IN_NOISE * noise
    return standing and not crest and LEAST_PLATES < plates < 2.0 * MOST_PLATES


def _stands_at_a_top(component: Component, span: Span) -> bool:
    """Tell whether a curve stayed about where something was seen; a fit to drift may wander off."""
    for top in span.tops:
        wide = top.right_min - top.left_min
        room = 1.5 * max(wide, component.width_min)
        near = top.left_min - room < component.apex_min < top.right_min + room
        if near and component.width_min > 0.1 * wide:
            return True
    return False
