"""From traces to everything on them that is a peak, named or not.

In: traces. Out: a `Survey` each: fitted components, the baseline under them and the noise beside them. Spikes
and edges, which no column can have made, are left out. The fits of all traces are made together.

A fitted curve becomes a `Component`, a thing with an apex, a width and two ends.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from lyewitness.peaks.emg import emg
from lyewitness.peaks.survey.baseline import Baseline, smooth_baseline, smooth_baselines, straight_under
from lyewitness.peaks.survey.clusters import Span, Stretch, clusters_of, spans_of
from lyewitness.peaks.survey.dips import with_dips
from lyewitness.peaks.survey.disturbances import Edge, without_edges, without_spikes
from lyewitness.peaks.survey.fitting import ClusterFit, fit_clusters
from lyewitness.peaks.survey.shoulders import part_shoulders
from lyewitness.peaks.survey.tops import (
    LEAST_HEIGHT_IN_NOISE,
    LEAST_PLATES,
    SPIKES_FROM,
    find_tops,
    noise_sd,
    sharpest_of,
)
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray

EDGE_LEVEL = 0.001
"""A peak starts and ends where its fitted curve falls below this share of its height …"""
FREE_LEVEL = 0.003
"""… and the baseline is looked for where every curve is below this share of its own height."""
GRID = np.linspace(0.0, 1.0, 180) ** 1.5
"""Places on a fitted curve, from its centre outwards, where its apex and ends are looked for."""


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
    """Where the curve leaves the baseline …"""
    end_min: float
    """… and where it is back."""
    free_until_min: float
    """Where it first reaches `FREE_LEVEL` of its height …"""
    free_from_min: float
    """… and where it is below it again."""


def components_of(
    places: Sequence[int], fits: Sequence[ClusterFit], most: int = 512
) -> list[tuple[Component, ...]]:
    """Return the components of each fit, all curves measured together; `places` are their spans' indices."""
    keys = [(place, top) for place, fit in zip(places, fits, strict=True) for top in range(len(fit.area))]
    if not keys:
        return [() for _ in fits]
    names = ("area", "center", "sigma", "tau")
    shape = [np.concatenate([getattr(fit, name) for fit in fits]) for name in names]
    found: list[Component] = []
    for first in range(0, len(keys), most):
        found += _measured(keys[first : first + most], *(part[first : first + most] for part in shape))
    ends = np.cumsum([0] + [len(fit.area) for fit in fits])
    return [tuple(found[a:b]) for a, b in pairwise(ends.tolist())]


def _measured(
    keys: Sequence[tuple[int, int]], area: FloatArray, center: FloatArray, sigma: FloatArray, tau: FloatArray
) -> list[Component]:
    """Return components measured on a fine grid of their own curves."""
    ahead, behind = 4.0 * sigma + 9.0 * np.maximum(tau, 0.0), 4.0 * sigma + 9.0 * np.maximum(-tau, 0.0)
    sides = [-behind[:, None] * GRID[None, :0:-1], ahead[:, None] * GRID[None, :]]
    time = center[:, None] + np.concatenate(sides, axis=1)
    curve = emg(time, center[:, None], sigma[:, None], tau[:, None])
    rows = np.arange(len(time))
    top = curve.argmax(axis=1)
    height = curve[rows, top]
    columns = [time[rows, top], area * height, area, center, sigma, tau]
    left, right = _ends(time, curve, 0.5 * height)
    columns.append(right - left)
    for level in (EDGE_LEVEL, FREE_LEVEL):
        columns += _ends(time, curve, level * height)
    return [Component(*key, *values) for key, values in zip(keys, np.stack(columns, 1).tolist(), strict=True)]


def _ends(time: FloatArray, curve: FloatArray, level: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the first and the last time of each row at which its curve is above its level."""
    above = curve > level[:, None]
    rows = np.arange(len(time))
    return time[rows, above.argmax(axis=1)], time[rows, above.shape[1] - 1 - above[:, ::-1].argmax(axis=1)]


WIDEST_PART = 3.0
"""A curve beside a peak of the same stretch that is wider than this many of its widths is background."""
MIRRORED = 1.35
"""Heights and widths of the two lobes of a lens are alike up to this factor …"""
LENS_REACH = 1.0
"""… and their apices so many widths apart at most: of the slope of a Gaussian it is 0.85."""
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
    solvent: tuple[Component, ...]
    """Dips beside them, and lobes that mirror a dip: the passage of the sample's solvent."""
    smooth: Baseline
    """Smooth baseline of the whole trace."""
    baseline: Baseline
    """The same, straight under each cluster."""
    stretches: tuple[tuple[float, float], ...]
    """Start and end of each cluster, minutes."""
    spikes: FloatArray
    """Times of the spikes that were taken out of the signal, minutes."""
    edges: tuple[Edge, ...]
    """Edges that were taken out of the signal: only as drawn does a baseline hold them."""
    free: tuple[tuple[int, int], ...]
    """First sample, and the one behind the last, of each part that no peak touches."""

    @property
    def free_time(self) -> FloatArray:
        """Times of the samples that no peak touches, minutes …"""
        time = self.trace.time_min
        return np.concatenate([time[first:last] for first, last in self.free])

    @property
    def free_signal(self) -> FloatArray:
        """… and their signal."""
        signal = self.trace.signal
        return np.concatenate([signal[first:last] for first, last in self.free])

    def curve(self, time: FloatArray, components: Sequence[Component]) -> FloatArray:
        """Return the sum of the fitted `components` at `time`."""
        if not components:
            return np.zeros_like(time)
        shape = np.array([[c.area, c.center_min, c.sigma_min, c.tau_min] for c in components])
        area, center, sigma, tau = shape.T[:, :, None]
        return np.asarray((area * emg(time, center, sigma, tau)).sum(axis=0))


@dataclass(frozen=True, eq=False, slots=True)
class Described:
    """One trace with all curves fitted to it, before it is told which of them are peaks."""

    trace: Trace
    noise_sd: float
    spans: tuple[Span, ...]
    fits: tuple[ClusterFit, ...]
    components: tuple[Component, ...]
    spikes: FloatArray
    edges: tuple[Edge, ...]


def survey_traces(traces: Sequence[Trace], narrowest_sigma_min: Sequence[float]) -> tuple[Survey, ...]:
    """Return the survey of each trace; `narrowest_sigma_min` is the sharpest σ to expect on each."""
    noise = [noise_sd(trace.signal) for trace in traces]
    # Of an edge the search for spikes would take the corners.
    stepless = [
        without_edges(trace.time_min, trace.signal, sd) for trace, sd in zip(traces, noise, strict=True)
    ]
    edges = [own for _, own in stepless]
    cleaned = [
        without_spikes(signal, sd, trace.time_min)
        for trace, (signal, _), sd in zip(traces, stepless, noise, strict=True)
    ]
    spikes = [trace.time_min[places] for trace, (_, places) in zip(traces, cleaned, strict=True)]
    traces = [
        replace(trace, signal=signal) if len(places) or own else trace
        for trace, own, (signal, places) in zip(traces, edges, cleaned, strict=True)
    ]
    times, signals = [trace.time_min for trace in traces], [trace.signal for trace in traces]
    tops = find_tops(times, signals, noise, narrowest_sigma_min)
    spans = [spans_of(time, own) for time, own in zip(times, tops, strict=True)]
    stretches = [
        Stretch(trace, span, sd) for trace, own, sd in zip(traces, spans, noise, strict=True) for span in own
    ]
    clusters = clusters_of(stretches)
    places = [place for own in spans for place in range(len(own))]
    fits = part_shoulders(*with_dips(clusters, fit_clusters(clusters), [place == 0 for place in places]))
    curves = components_of(places, fits)
    parts, first = [], 0
    for trace, own, sd, odd, steps in zip(traces, spans, noise, spikes, edges, strict=True):
        last = first + len(own)
        found = [component for part in curves[first:last] for component in part]
        parts.append(Described(trace, sd, own, fits[first:last], tuple(found), odd, steps))
        first = last
    return surveys_of(parts)


def resurveyed(survey: Survey, span: int, fit: ClusterFit) -> Survey:
    """Return the survey with another fit of one span."""
    fits = tuple(fit if place == span else old for place, old in enumerate(survey.fits))
    found = [component for part in components_of(range(len(fits)), fits) for component in part]
    told = (survey.trace, survey.noise_sd, survey.spans, fits, tuple(found), survey.spikes, survey.edges)
    return surveys_of([Described(*told)])[0]


def surveys_of(parts: Sequence[Described]) -> tuple[Survey, ...]:
    """Return the survey of each trace from the fits of its spans and all their components."""
    traces = [part.trace for part in parts]
    real: list[tuple[Component, ...]] = []
    standing: list[list[Component]] = []
    for part in parts:
        components = with_longer_tails(part.trace, part.noise_sd, part.components, part.fits)
        peaks = _like_the_others(_without_lobes([c for c in components if _is_real(c, part)], part))
        real.append(tuple(sorted(peaks, key=lambda c: c.apex_min)))
        standing.append([c for c in components if c in peaks or _belongs(c, peaks)])
    smooth = smooth_baselines([t.time_min for t in traces], [t.signal for t in traces], standing)
    return tuple(_survey(*own) for own in zip(parts, real, standing, smooth, strict=True))


def _survey(
    part: Described, real: tuple[Component, ...], standing: Sequence[Component], smooth: Baseline
) -> Survey:
    """Return the survey of one trace: its peaks, and its baseline between all curves that stand with them."""
    stretches = _stretches(standing)
    time = part.trace.time_min
    edges = time.searchsorted(np.array(stretches).ravel()).tolist()
    free = zip([0, *edges[1::2]], [*edges[::2], len(time)], strict=True)
    return Survey(
        trace=part.trace,
        noise_sd=part.noise_sd,
        spans=part.spans,
        fits=part.fits,
        components=real,
        solvent=tuple(c for c in standing if c not in real and (c.height < 0.0 or is_lobe(c, standing))),
        smooth=smooth,
        baseline=straight_under(smooth, stretches),
        stretches=tuple(stretches),
        spikes=part.spikes,
        edges=part.edges,
        free=tuple(free),
    )


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


def _like_the_others(components: Sequence[Component]) -> list[Component]:
    """Return the curves that are as sharp as peaks are on this trace; a fitted hump is not."""
    plates = [plates_of(c) for c in components]
    sharpest = sharpest_of(plates, [c.height for c in components], [c.width_min for c in components])
    return [c for c, n in zip(components, plates, strict=True) if sharpest.is_like(n, c.width_min)]


def _without_lobes(real: Sequence[Component], part: Described) -> list[Component]:
    """Return the curves that are no lobes of a lens; what stands at the highest top of its span is none."""
    lobes = [c for c in real if is_lobe(c, part.components)]
    kept = []
    for span in {c.span for c in lobes}:
        top = max(part.spans[span].tops, key=lambda top: top.height)
        kept.append(min((c for c in real if c.span == span), key=lambda c: abs(c.apex_min - top.apex_min)))
    return [c for c in real if c not in lobes or c in kept]


def is_lobe(component: Component, others: Sequence[Component]) -> bool:
    """Tell whether a curve goes up as another of its cluster goes down just beside it: both are a lens."""
    return component.height > 0.0 and any(
        dip.height < 0.0
        and dip.span == component.span
        and max(component.height / -dip.height, -dip.height / component.height) < MIRRORED
        and max(component.width_min / dip.width_min, dip.width_min / component.width_min) < MIRRORED
        and abs(component.apex_min - dip.apex_min) < LENS_REACH * dip.width_min
        for dip in others
    )


def plates_of(component: Component) -> float:
    """Return the plate number by the width at half height."""
    return 5.54 * (component.apex_min / max(component.width_min, 1e-12)) ** 2


def _belongs(component: Component, peaks: Sequence[Component]) -> bool:
    """Tell whether a curve that is no peak is part of the description of one, and not of the background."""
    own = [c.width_min for c in peaks if c.span == component.span]
    return bool(own) and component.width_min < WIDEST_PART * max(own)


def _is_real(component: Component, part: Described) -> bool:
    """Tell whether a component is a peak that stands where something was seen."""
    is_peak = _is_peak(component, part.noise_sd, part.trace)
    return is_peak and _stands_at_a_top(component, part.spans[component.span])


def _is_peak(component: Component, noise: float, trace: Trace) -> bool:
    """Tell whether a component is a peak rather than noise or drift."""
    first, last = float(trace.time_min[0]), float(trace.time_min[-1])
    plates = plates_of(component)
    whole = first <= component.start_min and component.end_min <= last
    # The crest of a slow wave at an end of the trace looks like half a very wide peak.
    crest = not whole and component.width_min > WIDEST_AT_AN_END * (last - first)
    standing = first <= component.apex_min <= last and component.height > LEAST_HEIGHT_IN_NOISE * noise
    return standing and not crest and LEAST_PLATES < plates < 2.0 * SPIKES_FROM


def _stands_at_a_top(component: Component, span: Span) -> bool:
    """Tell whether a curve stayed about where something was seen; a fit to drift may wander off."""
    for top in span.tops:
        wide = top.right_min - top.left_min
        room = 1.5 * max(wide, component.width_min)
        near = top.left_min - room < component.apex_min < top.right_min + room
        if near and component.width_min > 0.1 * wide:
            return True
    return False


LONG_TAIL_MISFIT = 1.5
"""A fit that leaves this many times the noise may have missed the end of a tail."""
LONG_TAIL_HEIGHT = 0.001
"""A tail goes on where the signal stands this share of the height above the baseline."""


def with_longer_tails(
    trace: Trace, noise: float, components: Sequence[Component], fits: Sequence[ClusterFit]
) -> list[Component]:
    """Return the components, with later ends where a tail goes on behind the end of its curve.

    Looked for where a fit leaves more than noise: with nothing taken for baseline until as far behind the end
    as that is behind the apex, the signal there must still stand above the baseline.
    """
    odd = [place for place, fit in enumerate(fits) if fit.residual_sd > LONG_TAIL_MISFIT * fit.noise > 0.0]
    result = list(components)
    for index in odd:
        own = [place for place, c in enumerate(result) if c.span == index]
        if own:
            place = max(own, key=lambda p: result[p].end_min)
            longer = _with_end(result, place, float(trace.time_min[-1]))
            if _goes_on(trace, noise, longer, result[place].end_min, longer[place]):
                result = longer
    return result


def _with_end(components: Sequence[Component], place: int, trace_end: float) -> list[Component]:
    """Return the components with one of them ending twice as far behind its apex, or at the next peak."""
    last = components[place]
    # A peak that begins before the end of this curve is the next one all the same.
    later = [c.start_min for c in components if c.span != last.span and c.apex_min > last.apex_min]
    end = min([2.0 * last.end_min - last.apex_min, trace_end, *later])
    longer = list(components)
    longer[place] = replace(last, end_min=max(end, last.end_min), free_from_min=max(end, last.end_min))
    return longer


def _goes_on(
    trace: Trace, noise: float, components: Sequence[Component], end_min: float, last: Component
) -> bool:
    """Tell whether the signal stands above baseline and curves between `end_min` and the end of `last`."""
    first, beyond = np.searchsorted(trace.time_min, [end_min, last.end_min])
    if beyond - first < 8:
        return False
    time = trace.time_min[first:beyond]
    smooth = smooth_baseline(trace.time_min, trace.signal, components)
    chord = straight_under(
        smooth, [(min(c.start_min for c in components if c.span == last.span), last.end_min)]
    )
    excess = float(np.mean(trace.signal[first:beyond] - chord.at(time)))
    return excess > max(LONG_TAIL_HEIGHT * last.height, 4.0 * noise / float(np.sqrt(len(time))))
