"""From traces to everything on them that is a peak, named or not.

In: traces. Out: a `Survey` each: fitted components, the baseline under them and the noise beside them. The
fits of all traces are made together.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.baseline import Baseline, smooth_baseline, straight_under
from lyewitness.peaks.emg import emg
from lyewitness.peaks.finding import (
    LEAST_PLATES,
    MOST_PLATES,
    Span,
    Top,
    binned,
    find_tops,
    noise_sd,
    spans_of,
)
from lyewitness.peaks.fitting import Cluster, ClusterFit, fit_clusters
from lyewitness.peaks.parting import part_shoulders
from lyewitness.traces.records import Trace

FloatArray = NDArray[np.float64]

POINTS_PER_SIGMA = 7.0
"""A cluster is thinned so far that its sharpest peak keeps this many points per σ."""
EDGE_LEVEL = 0.001
"""A peak starts and ends where its fitted curve falls below this share of its height …"""
FREE_LEVEL = 0.01
"""… and the baseline is looked for where every curve is below this share of its own height."""


@dataclass(frozen=True, slots=True)
class Component:
    """One fitted curve on a trace. Times in minutes."""

    span: int
    """Index of its span in the survey."""
    top: int
    """Index within the fit of that span."""
    apex_min: float
    height: float
    area: float
    center_min: float
    sigma_min: float
    tau_min: float
    width_min: float
    """At half height."""
    start_min: float
    end_min: float


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

    def curve(self, time: FloatArray, components: Sequence[Component]) -> FloatArray:
        """Return the sum of the fitted `components` at `time`."""
        total = np.zeros_like(time)
        for component in components:
            total += self.fits[component.span].curve(time, [component.top])
        return total


def survey_traces(traces: Sequence[Trace], narrowest_sigma_min: Sequence[float]) -> tuple[Survey, ...]:
    """Return the survey of each trace; `narrowest_sigma_min` is the sharpest σ to expect on each."""
    spans = [
        spans_of(trace.time_min, trace.signal, find_tops(trace.time_min, trace.signal, sigma))
        for trace, sigma in zip(traces, narrowest_sigma_min, strict=True)
    ]
    clusters = [
        cluster_of(trace, span, noise_sd(trace.signal))
        for trace, own in zip(traces, spans, strict=True)
        for span in own
    ]
    fits = iter(part_shoulders(clusters, fit_clusters(clusters)))
    return tuple(
        survey_of(trace, own, tuple(next(fits) for _ in own))
        for trace, own in zip(traces, spans, strict=True)
    )


def cluster_of(trace: Trace, span: Span, noise: float) -> Cluster:
    """Return the thinned stretch of `trace` with rough starts for its tops."""
    time, signal = trace.time_min[span.first : span.last], trace.signal[span.first : span.last]
    step = (time[-1] - time[0]) / max(len(time) - 1, 1)
    deep = [top for top in span.tops if not top.shallow] or list(span.tops)
    # Of a top that leans on another only the free side tells how wide it is.
    sharpest = min(min(top.apex_min - top.left_min, top.right_min - top.apex_min) for top in deep) / 1.178
    sharpest = max(sharpest, 0.5 * step)
    size = max(1, min(int(sharpest / POINTS_PER_SIGMA / step), len(time) // 30))
    weight = (~_at_end(signal)).astype(np.float64)
    ends = np.array([signal[:5].mean(), signal[-5:].mean()])
    starts = [_start(top, time, ends, sharpest, step) for top in span.tops]
    return Cluster(
        binned(time, size),
        binned(signal, size),
        np.floor(binned(weight, size)),
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
    sigma = min(front, back) / 1.3
    # At τ = 0 mean and variance can make up for any small tail: a fit that starts there stays there.
    return [height, top.apex_min, sigma, max(0.8 * (back - front), 0.5 * sigma)]


def _at_end(signal: FloatArray) -> NDArray[np.bool_]:
    """Return where the detector stands at its end: the highest value, three times running at least."""
    top = signal == signal.max()
    runs = top[:-2] & top[1:-1] & top[2:] if len(top) > 2 else np.zeros(0, dtype=np.bool_)
    at_end = np.zeros(len(top), dtype=np.bool_)
    for shift in range(3):
        at_end[shift : len(top) - 2 + shift] |= runs
    return at_end


def survey_of(trace: Trace, spans: tuple[Span, ...], fits: tuple[ClusterFit, ...]) -> Survey:
    """Return the survey of one trace from the fits of its spans."""
    noise = noise_sd(trace.signal)
    components = [c for index, fit in enumerate(fits) for c in _components(index, fit)]
    real = [c for c in components if _is_peak(c, noise, trace)]
    spans_kept = {c.span for c in real}
    rest, free = trace.signal.copy(), np.ones(len(trace.signal))
    for index in spans_kept:
        _take_off(trace, fits[index], [c for c in components if c.span == index], rest, free)
    smooth = smooth_baseline(trace.time_min, rest, free)
    baseline = smooth
    for index in sorted(spans_kept):
        own = [c for c in components if c.span == index]
        baseline = straight_under(baseline, min(c.start_min for c in own), max(c.end_min for c in own))
    real.sort(key=lambda c: c.apex_min)
    return Survey(trace, noise, spans, fits, tuple(real), smooth, baseline)


def _components(index: int, fit: ClusterFit) -> list[Component]:
    """Return the components of one fit, measured on a fine grid of its own curves."""
    sigma, tau = fit.sigma[:, None], fit.tau[:, None]
    grid = np.linspace(0.0, 1.0, 400)[None, :] ** 1.5
    ahead = 4.0 * sigma + 9.0 * np.maximum(tau, 0.0)
    behind = 4.0 * sigma + 9.0 * np.maximum(-tau, 0.0)
    time = np.concatenate(
        [fit.center[:, None] - behind * grid[:, ::-1], fit.center[:, None] + ahead * grid], 1
    )
    curve = emg(time, fit.center[:, None], sigma, tau)
    rows = np.arange(len(time))
    top = curve.argmax(axis=1)
    height = curve[rows, top]
    above, half = curve > EDGE_LEVEL * height[:, None], curve > 0.5 * height[:, None]

    def ends(mask: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
        return time[rows, mask.argmax(axis=1)], time[rows, mask.shape[1] - 1 - mask[:, ::-1].argmax(axis=1)]

    (start, end), (left, right) = ends(above), ends(half)
    return [
        Component(
            index,
            int(i),
            float(time[i, top[i]]),
            float(fit.area[i] * height[i]),
            float(fit.area[i]),
            float(fit.center[i]),
            float(fit.sigma[i]),
            float(fit.tau[i]),
            float(right[i] - left[i]),
            float(start[i]),
            float(end[i]),
        )
        for i in rows
    ]


def _is_peak(component: Component, noise: float, trace: Trace) -> bool:
    """Tell whether a component is a peak rather than noise or drift."""
    inside = trace.time_min[0] <= component.apex_min <= trace.time_min[-1]
    plates = 5.54 * (component.apex_min / component.width_min) ** 2
    return inside and LEAST_PLATES < plates < 2.0 * MOST_PLATES and component.height > 3.0 * noise


def _take_off(
    trace: Trace, fit: ClusterFit, components: Sequence[Component], rest: FloatArray, free: FloatArray
) -> None:
    """Take the fitted curves of one span off `rest`, and mark in `free` where they matter."""
    first = int(np.searchsorted(trace.time_min, min(c.start_min for c in components)))
    last = int(np.searchsorted(trace.time_min, max(c.end_min for c in components), side="right"))
    time = trace.time_min[first:last]
    if len(time) < 2:
        return
    grid = np.linspace(time[0], time[-1], min(len(time), 300))
    matters = np.zeros(len(grid))
    total = np.zeros(len(grid))
    for component in components:
        curve = fit.curve(grid, [component.top])
        total += curve
        matters = np.maximum(matters, curve > FREE_LEVEL * component.height)
    rest[first:last] -= np.interp(time, grid, total)
    free[first:last] *= np.interp(time, grid, matters) <= 0.0
