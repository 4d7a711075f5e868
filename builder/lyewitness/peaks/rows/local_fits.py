"""Each named peak fitted again by itself, on as much of a baseline of its own as the trace's one is in doubt.

In: surveys and the components of named peaks. Out: `LocalFit`s: the peak's curves with their covariance, the
baseline under it, what the fit leaves, and by how much both baselines disagree.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lyewitness.peaks.rows.background import Background, Doubt
from lyewitness.peaks.survey.baseline import Baseline
from lyewitness.peaks.survey.clusters import POINTS_PER_SIGMA, clipped
from lyewitness.peaks.survey.disturbances import Edge
from lyewitness.peaks.survey.fitting import Cluster, ClusterFit, fit_clusters, line_of
from lyewitness.peaks.survey.shoulders import MISFIT_IN_NOISE, as_starts
from lyewitness.peaks.survey.surveys import Component, Survey, components_of
from lyewitness.peaks.survey.tops import binned
from lyewitness.words.arrays import FloatArray

ROOM = 0.5
"""Widths at half height beside the ends of a peak that its window takes in, for the baseline."""
MOST_BEFORE, MOST_BEHIND = 3.0, 6.0
"""A window goes no farther from the apex than this many widths: an EMG with τ = 2 σ is back at 1 % by
then."""
LEAST_POINTS = 24
"""A window is not thinned to fewer points than this: eight parameters want three points each."""
# As many as the survey looks at in one cluster (`shoulders.MOST_TOPS`): they are no peaks of markers.
MOST_TOPS = 6
LINE = np.array([1.0, 2.0, 1.0])
"""Level, slope (from −½ to ½) and bend of a local baseline, each as far as the doubt reaches."""
LIKE_ITSELF = 25.0
"""Points in a row in which a misfit of shape keeps its sign: a quarter of a window of some hundred."""
ODD_ONE_OUT = 3.0
"""A deviation is one of its kind above this many times their root mean square; a wrong shape leaves waves,
1.4 … 2.5."""
FLAT = 0.415
"""Width at nine tenths ÷ width at half of the height above which a top is cut: 0.390 for a Gaussian, less
with any tail."""
MOST_IN_A_FLAT_TOP = 3
"""A fit describes a flat top by as many curves, which then are one."""
# A detector rounds the top alone: what lies below this share of it is the peak's own.
KEPT_BELOW = 0.6
CAP_FROM = (0.5, 0.3)
"""Shares of what a cut has left from which on flanks tell of the top; lower where few points stand there."""
# A top that rounding makes flat loses less than this share.
LEAST_CAP = 0.01
# Four parameters, and one more.
LEAST_FLANK = 3
FLAT_GAIN = 0.4
"""Without a rounded top a fit leaves less than this share; without any other, hardly less."""
EDGE = (0.05, 0.05, 0.2)
"""Shares by which what stays of an edge, what passes, and the time of that may be others than seen."""
BACKGROUND_SHARE = 0.15
"""Share of the doubt about a baseline that no level, slope or bend takes up."""
DIP = 0.03
"""Share of a peak's height: a dip of the solvent that is smaller changes no plate number by 3 % …"""
DIP_IN_NOISE, DIP_IN_DOUBT = 5.0, 2.0
"""… and it is one above so many times the noise of a point, and the doubt about the baseline."""
SOLVENT = 0.3
"""Share of what lies under a curve of the solvent that its shape leaves open: of dips with longer tails than
any such curve it is a fourth, of Gaussian ones nothing."""
HIDDEN = 0.5
"""Of the other lobe of a lens nothing tells whether it is there."""
CORE = 0.02
"""The fit is judged where the peak stands above this share of its height."""


@dataclass(frozen=True, slots=True)
class Cap:
    """The top of a peak above the end of the detector."""

    curve: Component
    """Through the flanks beside it."""
    start_min: float
    end_min: float


@dataclass(frozen=True, eq=False, slots=True)
class LocalFit:
    """One named peak on its own baseline."""

    own: tuple[Component, ...]
    beside: tuple[Component, ...]
    """Other curves that reach into the window."""
    baseline: Baseline
    """Under the peak; that of the trace where nothing speaks against it."""
    covariance: FloatArray
    """(4k, 4k) of area, centre, log σ and τ of the own curves."""
    noise_sd: float
    """Of a sample, so large that errors of means over the peak's width come out right."""
    noise_in_rest: float
    """Noise ÷ root mean square of what the fit leaves, 1 at most: no noise makes the rest."""
    baseline_share: float
    """Doubt about the trace's baseline ÷ height of the peak."""
    misfit: float
    """How far what the fit leaves exceeds noise, in standard deviations of χ²."""
    residual_share: float
    """Root mean square of what the fit leaves beyond noise ÷ height."""
    spike_share: float
    """Largest deviation from the fit ÷ height where it is beyond noise, else 0."""
    odd_share: float
    """The same of a single point, where it is one of its kind: what is left of a spike."""
    baseline_shift_percent: float
    """What the local baseline takes from the area, in % of it."""
    dip_share: float
    """How far the signal dips below its baseline beside the peak ÷ height, beyond noise and doubt."""
    is_flat: bool
    """Whether its top was left out for being flatter than any column makes one."""
    shared_share: float
    """Share of the peak's area that lies under its neighbours' curves."""
    wander: FloatArray
    """(4k, 4k) mean squares and products of what the fit makes of the trace beside it, where no peak is."""
    cap: Cap | None
    """What stands for a top that is cut off; None for all others."""


@dataclass(frozen=True, eq=False, slots=True)
class _Window:
    """What goes into one fit."""

    survey: Survey
    own: tuple[Component, ...]
    joint: tuple[Component, ...]
    """Own curves first, then others with their apex in the window."""
    fixed: tuple[Component, ...]
    """Others that only reach in."""
    first: int
    last: int
    doubt: Doubt
    cluster: Cluster
    background: Background
    size: int
    """Samples averaged to a point."""
    is_flat: bool = False
    """Whether the top does not count."""


def fit_locally(
    peaks: Sequence[tuple[Survey, tuple[Component, ...], bool, float | None]],
) -> list[LocalFit]:
    """Return the local fit of each peak.

    Told are its survey, its components, whether its curves must stay as they are, and by how much its
    baseline may be off where that is known already.
    """
    backgrounds = {id(survey): survey for survey, *_ in peaks}
    known = {key: Background(survey) for key, survey in backgrounds.items()}
    windows = [_window(survey, own, known[id(survey)], off) for survey, own, _, off in peaks]
    fits = _firmly([window.cluster for window in windows])
    windows, fits = _below_flat_tops(windows, fits)
    curves = components_of([window.own[0].span for window in windows], fits)
    caps = _caps(windows, fits)
    return [
        _local_fit(window, fit, found, stays, caps.get(place))
        for place, (window, fit, found, (_, _, stays, _)) in enumerate(
            zip(windows, fits, curves, peaks, strict=True)
        )
    ]


def _firmly(clusters: Sequence[Cluster]) -> list[ClusterFit]:
    """Return the fits; what no curve describes must not pass for a baseline.

    The more of it a first fit leaves, the less the baseline may move in the second one.
    """
    fits = list(fit_clusters(clusters))
    firm: dict[int, Cluster] = {}
    for place, (cluster, fit) in enumerate(zip(clusters, fits, strict=True)):
        shape = (fit.residual_sd**2 - cluster.noise**2) / max(cluster.noise, 1e-300) ** 2
        if shape > 4.0 / np.sqrt(len(cluster.time)) and cluster.line_spread is not None:
            spread = cluster.line_spread.copy()
            spread[: len(LINE)] /= np.sqrt(1.0 + LIKE_ITSELF * shape)
            starts = as_starts(fit)
            firm[place] = replace(cluster, line_spread=spread, starts=starts)
    for place, fit in zip(firm, fit_clusters(list(firm.values())), strict=True):
        fits[place] = fit
    return fits


def _below_flat_tops(
    windows: Sequence[_Window], fits: Sequence[ClusterFit]
) -> tuple[list[_Window], list[ClusterFit]]:
    """Return windows and fits in which tops that a detector's end has rounded are left out.

    No column makes a top flatter than a Gaussian's. What lies below it has to be one curve then.
    """
    better, best = list(windows), list(fits)
    flat = {i: _without_top(window, fits[i]) for i, window in enumerate(windows) if _is_flat(window, fits[i])}
    for (i, window), fit in zip(flat.items(), fit_clusters([w.cluster for w in flat.values()]), strict=True):
        if fit.residual_sd < FLAT_GAIN * fits[i].residual_sd:
            better[i], best[i] = window, fit
    return better, best


def _caps(windows: Sequence[_Window], fits: Sequence[ClusterFit]) -> dict[int, Cap]:
    """Return what stood above the detector's end, by place, of windows with one curve and such a top.

    A curve through both flanks beside the cut tells it; one through the whole peak would tell of the tail.
    """
    cut = {
        place: cluster
        for place, (window, fit) in enumerate(zip(windows, fits, strict=True))
        if len(window.own) == 1 and (cluster := _beside_the_cut(window.cluster, fit)) is not None
    }
    parts = components_of([windows[place].own[0].span for place in cut], fit_clusters(list(cut.values())))
    caps = {}
    for (place, cluster), found in zip(cut.items(), parts, strict=True):
        gone = cluster.time[windows[place].cluster.weight <= 0.0]
        half = 0.5 * float(cluster.time[1] - cluster.time[0])
        if found[0].height > (1.0 + LEAST_CAP) * _highest(windows[place], fits[place]):
            caps[place] = Cap(found[0], float(gone[0]) - half, float(gone[-1]) + half)
    return caps


def _highest(window: _Window, fit: ClusterFit) -> float:
    """Return how far the highest sample of a window stands above the baseline of its fit."""
    place = window.first + int(window.survey.trace.signal[window.first : window.last].argmax())
    at, cluster = window.survey.trace.time_min[place], window.cluster
    line = float(np.interp(at, cluster.time, line_of(cluster, fit)))
    return float(window.survey.trace.signal[place] - window.survey.baseline.at(at)) - line


def _beside_the_cut(cluster: Cluster, fit: ClusterFit) -> Cluster | None:
    """Return the flanks of a cut peak on its own baseline; None where nothing is cut, or both do not show."""
    if cluster.weight.all():
        return None
    others = fit.curve(cluster.time, range(1, len(fit.area)))
    net = cluster.signal - line_of(cluster, fit) - others
    gone = np.flatnonzero(cluster.weight <= 0.0)
    sides = net[: gone[0]], net[gone[-1] + 1 :]
    if min(len(side) for side in sides) < 1:
        return None
    left = float(min(side.max() for side in sides))
    weights = [cluster.weight * (net > share * left) for share in CAP_FROM]
    enough = [one for one in weights if min(one[: gone[0]].sum(), one[gone[-1] :].sum()) >= LEAST_FLANK]
    if not enough:
        return None
    held = np.full(len(LINE), 1e-6 * float(net.max()))
    return replace(
        cluster, signal=net, weight=enough[0], starts=as_starts(fit)[:1], line_spread=held, extra=None
    )


def _is_flat(window: _Window, fit: ClusterFit) -> bool:
    """Tell whether a peak of one curve has a top flatter than a Gaussian's and no fit."""
    cluster = window.cluster
    alone = len(window.joint) == len(window.own) <= MOST_IN_A_FLAT_TOP
    if not alone or fit.residual_sd < 5.0 * cluster.noise or not cluster.weight.all():
        return False
    net = _net(cluster, fit)
    top = int(net.argmax())
    wide, flat = (_width_at(cluster.time, net, top, level) for level in (0.5, 0.9))
    return flat > FLAT * wide > 0.0


def _net(cluster: Cluster, fit: ClusterFit) -> FloatArray:
    """Return the signal of a window above its own baseline."""
    return np.asarray(cluster.signal - line_of(cluster, fit))


def _width_at(time: FloatArray, net: FloatArray, top: int, level: float) -> float:
    """Return how wide a peak is at a share of its height, between points; 0 where it stays above it."""
    height = level * float(net[top])
    before, behind = np.flatnonzero(net[:top] < height), np.flatnonzero(net[top:] < height)
    if not len(before) or not len(behind):
        return 0.0
    a, b = int(before[-1]), top + int(behind[0])
    left = np.interp(height, net[a : a + 2], time[a : a + 2])
    right = np.interp(-height, -net[b - 1 : b + 1], time[b - 1 : b + 1])
    return float(right - left)


def _without_top(window: _Window, fit: ClusterFit) -> _Window:
    """Return a window in which the highest part of the peak does not count, with one curve for the rest."""
    cluster, net = window.cluster, _net(window.cluster, fit)
    top = int(net.argmax())
    tallest = max(window.own, key=lambda c: c.height)
    starts = as_starts(fit)
    if len(starts) > 1:
        sigma = _width_at(cluster.time, net, top, 0.5) / 2.5
        starts = np.array([[float(net[top]), float(cluster.time[top]), sigma, 0.4 * sigma]])
    weight = (net < KEPT_BELOW * float(net.max())).astype(np.float64)
    own = (replace(tallest, width_min=max(_width_at(cluster.time, net, top, 0.5), tallest.width_min)),)
    below = replace(cluster, weight=weight, starts=starts)
    return replace(window, own=own, joint=own, cluster=below, is_flat=True)


def _window(survey: Survey, own: tuple[Component, ...], background: Background, off: float | None) -> _Window:
    """Return the stretch of signal in which a peak is fitted."""
    time = survey.trace.time_min
    wide = max(c.width_min for c in own)
    left, right = min(c.apex_min for c in own), max(c.apex_min for c in own)
    start = max(min(c.start_min for c in own) - ROOM * wide, left - MOST_BEFORE * wide)
    end = min(max(c.end_min for c in own) + ROOM * wide, right + MOST_BEHIND * wide)
    first, last = time.searchsorted([start, end]).tolist()
    first, last = max(min(first, len(time) - 8), 0), min(max(last, first + 8), len(time))
    standing = (*survey.components, *survey.solvent)
    others = [c for c in standing if c not in own and c.start_min < end and c.end_min > start]
    inside = [c for c in others if time[first] < c.apex_min < time[last - 1]]
    inside = sorted(inside, key=lambda c: -abs(c.height))[: MOST_TOPS - len(own)]
    joint = (*own, *inside)
    fixed = tuple(c for c in others if c not in inside)
    doubt = background.doubt(own, off)
    cluster = _cluster(survey, joint, fixed, slice(first, last), doubt)
    size = (last - first) // len(cluster.time)
    return _Window(survey, own, joint, fixed, first, last, doubt, cluster, background, size)


def _cluster(
    survey: Survey, joint: Sequence[Component], fixed: Sequence[Component], window: slice, doubt: Doubt
) -> Cluster:
    """Return the thinned window, the trace's baseline and curves that only reach in taken off."""
    time, signal = survey.trace.time_min[window], survey.trace.signal[window]
    step = float(time[-1] - time[0]) / max(len(time) - 1, 1)
    sharpest = min(c.sigma_min + 0.3 * abs(c.tau_min) for c in joint)
    size = max(1, min(int(sharpest / POINTS_PER_SIGMA / step), len(time) // LEAST_POINTS))
    weight = (binned(clipped(signal).astype(np.float64), size) <= 0.0).astype(np.float64)
    thin = binned(time, size)
    net = binned(signal, size) - survey.baseline.at(thin) - survey.curve(thin, fixed)
    starts = np.array([[c.height, c.apex_min, c.sigma_min, c.tau_min] for c in joint])
    # Before the window the step of a lamp is no more than a level.
    slopes = [(e, e.slopes(time)) for e in survey.edges if _is_seen(e, time)]
    spreads = [
        doubt.spread * LINE,
        *(abs(e.size) * np.array(EDGE[-len(own) :] if e.passing else EDGE[:1]) for e, own in slopes),
    ]
    return Cluster(
        thin,
        net,
        weight,
        starts,
        (size**2 - 1) / 12.0 * step**2,
        noise=doubt.noise_sd / float(np.sqrt(size)),
        line_spread=np.concatenate(spreads),
        extra=binned(np.concatenate([own for _, own in slopes]), size) if slopes else None,
    )


def _is_seen(edge: Edge, time: FloatArray) -> bool:
    """Tell whether a window shows that the signal jumps, or still comes back."""
    return bool(time[0] < edge.over_min and edge.time_min < time[-1])


def _local_fit(
    window: _Window, fit: ClusterFit, found: Sequence[Component], stays: bool, cap: Cap | None
) -> LocalFit:
    """Return what a fit tells of its peak; a fit that lost the peak leaves the old curves."""
    count = len(window.own)
    lost = stays or not _is_sane(window.own, found[:count])
    own = window.own if lost else tuple(map(_as_long, window.own, found[:count]))
    beside = (*(window.joint[count:] if lost else found[count:]), *window.fixed)
    cluster = window.cluster
    line = line_of(cluster, fit)
    start, end = min(c.start_min for c in own), max(c.end_min for c in own)
    area = sum(c.area for c in own)
    under = (cluster.time >= start) & (cluster.time <= end)
    step = float(cluster.time[1] - cluster.time[0])
    shift = 0.0 if lost else float(line[under].sum()) * step / max(area, 1e-300)
    own_curve = fit.curve(cluster.time, range(count))
    whole = own_curve if count == len(fit.area) else fit.curve(cluster.time)
    solvent = _solvent(window, fit)
    rest = cluster.weight * (cluster.signal - line - whole)
    variance = max(cluster.noise, 1e-300) ** 2
    scale = max(1.0, variance / max(fit.residual_sd**2, 1e-300))
    misfit, share, odd, odd_point = _leftover(
        cluster, own_curve, count, rest, BACKGROUND_SHARE * window.doubt.spread
    )
    return LocalFit(
        own=own,
        beside=tuple(beside),
        baseline=window.survey.baseline if lost else _joined(window, line),
        covariance=fit.covariance[: 4 * count, : 4 * count] * scale,
        noise_sd=window.doubt.noise_sd,
        noise_in_rest=float(np.sqrt(min(1.0, variance / max(fit.residual_sd**2, 1e-300)))),
        baseline_share=window.doubt.beyond_noise / max(max(c.height for c in own), 1e-300),
        misfit=misfit,
        residual_share=share,
        spike_share=odd,
        odd_share=odd_point,
        baseline_shift_percent=100.0 * abs(shift),
        dip_share=_dip(window, fit, line, own_curve, solvent),
        is_flat=window.is_flat,
        shared_share=_shared(window, own_curve, whole, solvent),
        wander=window.background.seen_by(
            fit.response[: 4 * count], window.size, own[0].apex_min, window.doubt.noise_sd
        ),
        cap=None if lost else cap,
    )


def _solvent(window: _Window, fit: ClusterFit) -> FloatArray:
    """Return the curves of the solvent's passage beside the peak, at the points of a window."""
    known = window.survey.solvent
    if not known:
        return np.zeros_like(window.cluster.time)
    tops = [place for place, c in enumerate(window.joint) if c in known]
    return fit.curve(window.cluster.time, tops)


def _dip(window: _Window, fit: ClusterFit, line: FloatArray, own: FloatArray, solvent: FloatArray) -> float:
    """Return how far the signal dips below baseline and solvent, in heights; 0 where it may not.

    What the solvent's curves themselves take of the peak is part of it, as far as their shape is not known.
    """
    cluster, height = window.cluster, max(float(own.max(initial=0.0)), 1e-300)
    lowest = float(binned(cluster.signal - line - solvent, 3).min(initial=0.0))
    is_sure = -lowest > max(DIP_IN_NOISE * cluster.noise, DIP_IN_DOUBT * window.doubt.beyond_noise)
    left = -lowest / height if is_sure and -lowest > DIP * height else 0.0
    if not window.survey.solvent:
        return left
    under = float(np.minimum(own, np.abs(solvent)).sum()) / max(float(own.sum()), 1e-300)
    return left + (SOLVENT * under if under > DIP else 0.0) + HIDDEN * _hidden(window, fit)


def _hidden(window: _Window, fit: ClusterFit) -> float:
    """Return which share of a peak the other lobe of a lens may be, of which only the dip beside it shows.

    Nothing where the dip alone leaves no more than noise: a lobe under the peak would show.
    """
    if fit.residual_sd < MISFIT_IN_NOISE * window.cluster.noise:
        return 0.0
    apex, area = window.own[0].apex_min, sum(c.area for c in window.own)
    near = [
        c for c in window.survey.solvent if abs(c.apex_min - apex) < c.width_min + window.own[0].width_min
    ]
    share = max(-sum(c.area for c in near), 0.0) / max(area, 1e-300)
    return min(share, 1.0) if share > DIP else 0.0


def _shared(window: _Window, own: FloatArray, whole: FloatArray, solvent: FloatArray) -> float:
    """Return which share of a peak's curve lies under others."""
    if len(window.joint) == len(window.own) and not window.fixed:
        return 0.0
    others = whole - own - solvent + window.survey.curve(window.cluster.time, window.fixed)
    return float(np.minimum(own, np.maximum(others, 0.0)).sum()) / max(float(own.sum()), 1e-300)


def _as_long(before: Component, now: Component) -> Component:
    """Return a curve with the later end that it had where its tail goes on behind the end of the curve."""
    if before.free_from_min < before.end_min:
        return now
    end = max(now.end_min, before.end_min)
    return replace(now, end_min=end, free_from_min=end)


def _is_sane(before: Sequence[Component], now: Sequence[Component]) -> bool:
    """Tell whether the curves stayed where the peak is."""
    return all(
        abs(a.apex_min - b.apex_min) < 1.0 * max(a.width_min, b.width_min)
        and 0.2 < b.width_min / a.width_min < 3.0
        and b.area > 0.0
        for a, b in zip(before, now, strict=True)
    )


def _joined(window: _Window, line: FloatArray) -> Baseline:
    """Return the trace's baseline with what the local fit adds inside the window."""
    whole = window.survey.baseline
    time = window.cluster.time
    inside = whole.at(time) + line
    before, behind = whole.time < time[0], whole.time > time[-1]
    return Baseline(
        np.concatenate([whole.time[before], time, whole.time[behind]]),
        np.concatenate([whole.value[before], inside, whole.value[behind]]),
    )


def _leftover(
    cluster: Cluster, curve: FloatArray, curves: int, rest: FloatArray, background: float
) -> tuple[float, float, float, float]:
    """Return how far the rest exceeds noise: as χ² in its standard deviations, as share, and at its worst.

    Last, at its worst point.
    """
    height = max(float(curve.max(initial=0.0)), 1e-300)
    core = np.flatnonzero((curve > CORE * height) & (cluster.weight > 0))
    few = binned(rest[core], 3)
    if len(few) < 4:
        return 0.0, 0.0, 0.0, 0.0
    noise = float(np.hypot(max(cluster.noise, 1e-9 * height) / np.sqrt(3.0), background))
    freedom = max(len(few) - 4.0 * curves, 2.0)
    chi = float((few**2).sum()) / noise**2
    beyond = max(chi - freedom, 0.0) * noise**2 / len(few)
    worst = float(np.abs(few).max())
    points = np.abs(rest[core])
    point, usual = float(points.max()), float(np.sqrt((points**2).mean()))
    return (
        (chi - freedom) / float(np.sqrt(2.0 * freedom)),
        float(np.sqrt(beyond)) / height,
        worst / height if worst > max(6.0 * noise, ODD_ONE_OUT * float(np.sqrt((few**2).mean()))) else 0.0,
        point / height if point > max(6.0 * np.sqrt(3.0) * noise, ODD_ONE_OUT * usual) else 0.0,
    )
