"""Every metric of a peak that needs no other marker, with its standard error.

In: peaks, their outlines as read off the signal, and their fitted curves. Out: the metrics of each by field
name of `PeakRow`, and their standard errors; None is 'not measured'. Where the fitted curve describes the
signal as well as the noise allows, the metrics are those of the curve; where it does not, they are read off
the signal. A peak that the detector's end has cut has neither.

Standard errors hold noise, background, neighbours and a shape that no curve has.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log
from typing import Self

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks import formulas
from lyewitness.peaks.emg import shape_of, with_telling_tail
from lyewitness.peaks.formulas import Outlines
from lyewitness.peaks.rows.feet import moved_by_feet
from lyewitness.peaks.rows.levels import Leveled, leveled
from lyewitness.peaks.rows.outlines import Peak, peak_to_valley
from lyewitness.peaks.survey.surveys import Survey
from lyewitness.peaks.survey.tops import step_of
from lyewitness.words.arrays import FloatArray

WHITE = 0.7
"""The noise of a window is the larger one of two estimates: its variance is that much smaller."""
SHAPE = 0.1
"""Relative error of a reading ÷ what the fit leaves beyond noise, in heights."""


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """By how much one metric suffers from what may be wrong with a peak. All but `reading` relative.

    By maximum likelihood over 3700 simulated peaks of eighty situations, and of eleven laws on six
    backgrounds: shapes, noises, meetings.
    """

    reading: float = 1.5
    """Standard error where the metric is read off the signal ÷ that of the fitted curve by noise alone."""
    curvature: float = 0.0012
    """What local polynomials read off a noiseless peak of 10 … 40 samples (95th percentile / 2)."""
    moved: float = 0.2
    """÷ the share of the area that a baseline of its own has taken or given: what a peak has beyond an EMG, a
    long tail above all, such a baseline takes for background."""
    shared: float = 0.27
    """÷ the share of the area that lies under neighbours: whose it is the shape of the curves decides, and no
    column makes exactly such curves."""
    touching: float = 0.13
    """÷ the root of that share, where peaks show that they have another shape than curves: then it is the
    feet that curves tell wrongly, which reach farther the flatter they are. By simulation of tails of three
    more laws that touch the next front; peaks with the shape of their curves had a tenth of it."""
    background: float = 0.8
    """÷ what the baseline may be off, in heights, where too little of the trace is free to show it."""
    shape: float = SHAPE
    dip: float = 0.8
    """÷ how deep the signal dips below the baseline beside the peak, in heights."""
    cap: float = 1.4
    """÷ how far two curves through a cut peak leave its height open: a Gaussian's width at half height grows
    with the height to the power of 0.72."""
    averaged: float = 0.29
    """÷ the share of a peak's variance that averaging from sample to sample may be: none of it or
    all, and a width goes with the root of the variance."""
    odd: float = 1.0
    """÷ a single point's deviation from the fit, in heights: what is left of a spike may sit where a width is
    read. Of eleven simulated peaks on which one stood off, 1.0 for plate numbers, 0.2 for symmetry and area;
    of eight under bubbles, where more stand off, up to three times as much."""
    apart: float = 1.0
    """÷ how far plate numbers of two definitions are apart beyond what shape explains: what makes them differ
    sits on the top or a flank, and no more is known of any."""


SENSITIVITY: Mapping[str, Sensitivity] = {
    # A tenth of a width, in times that are some forty widths long.
    "retention_time_min": Sensitivity(
        1.5, 2e-5, 0.002, 0.002, 0.0, 0.002, 0.1 * SHAPE, 0.02, 0.005, 0.0, 0.005, 0.01
    ),
    # Read as a sum over all of the peak, tails too flat for any fit to weigh them.
    "peak_area": Sensitivity(
        3.0,
        2e-4,
        moved=1.4,
        shared=0.7,
        touching=0.35,
        background=3.5,
        cap=0.5,
        averaged=0.0,
        odd=0.3,
        apart=0.2,
    ),
    "peak_height": Sensitivity(curvature=4e-4, shared=0.02, touching=0.02, cap=1.0, odd=0.6, apart=0.3),
    "width_half_min": Sensitivity(moved=0.1, touching=0.07, cap=0.7, odd=0.5, apart=0.5),
    "plate_number_half_height": Sensitivity(averaged=0.58),
    "plate_number_tangent": Sensitivity(reading=1.9, averaged=0.58),
    "plate_number_emg": Sensitivity(reading=1.9, moved=0.9, shared=3.0, averaged=0.58),
    "plate_number_moments": Sensitivity(
        reading=4.0, moved=1.6, shared=5.0, background=4.0, shape=1.0, averaged=0.58
    ),
    "symmetry_factor": Sensitivity(curvature=6e-4, moved=0.6, shared=1.4, shape=0.35, odd=0.4),
    "asymmetry_10": Sensitivity(moved=0.6, shared=1.4, shape=0.35, odd=0.4),
}
"""By metric; the others have what `Sensitivity` has by default."""


@dataclass(frozen=True, eq=False, slots=True)
class Doubts:
    """What may be wrong with each peak, (p,) shares of its area or height."""

    moved: FloatArray
    shared: FloatArray
    background: FloatArray
    is_seen: FloatArray
    """1 where the trace itself shows what its background does to the fit of such a peak, else 0."""
    shape: FloatArray
    dip: FloatArray
    cap: FloatArray
    averaged: FloatArray
    odd: FloatArray
    apart: FloatArray

    @classmethod
    def of(cls, peaks: Sequence[Peak], by_definition: FloatArray) -> Self:
        """Return the doubts about `peaks`; `by_definition` (p,) is the ratio of their plate numbers."""
        told = [
            (
                0.01 * peak.local.baseline_shift_percent,
                peak.local.shared_share,
                peak.local.baseline_share,
                float(peak.local.wander[0, 0] > 0.0),
                peak.local.residual_share,
                peak.local.dip_share,
                _open_height(peak),
                _averaged(peak),
                peak.local.odd_share,
                _apart(peak, ratio),
            )
            for peak, ratio in zip(peaks, by_definition.tolist(), strict=True)
        ]
        return cls(*np.array(told).T)


def _open_height(peak: Peak) -> float:
    """Return by which share curves through a cut peak and through its flanks differ in height; else 0."""
    cap = peak.local.cap
    return 0.0 if cap is None else CAP_DOUBT * abs(log(peak.own[0].height / cap.curve.height))


INCONSISTENT = 1.12
"""Plate numbers whose ratio differs by this factor from that of the fitted curve: two tails do 5 % at
most."""
FINE = 0.003
"""Averaging that is a smaller share of the variance is within the other errors: twelve samples to a width."""


def _averaged(peak: Peak) -> float:
    """Return which share of a peak's variance is that of an interval between samples, beyond `FINE`; else 0.

    A detector that averages from sample to sample widens a peak so; whether it does, no export says.
    """
    time, top = peak.survey.trace.time_min, max(peak.own, key=lambda c: c.height)
    step, spread = float(time[-1] - time[0]) / (len(time) - 1), top.width_min / 2.355
    share = (step / spread) ** 2 / 12.0
    return share if share > FINE else 0.0


def _apart(peak: Peak, ratio: float) -> float:
    """Return the log of the ratio of plate numbers by two definitions where shape explains less; else 0.

    A cut top has a doubt of its own, and several curves have no shape to hold definitions against.
    """
    is_plain = len(peak.own) == 1 and peak.local.cap is None
    return log(ratio) if is_plain and ratio > INCONSISTENT else 0.0


def noise_error(slope: FloatArray, covariance: FloatArray, wander: FloatArray) -> FloatArray:
    """Return (p,) the standard error of a metric whose slopes by the parameters are `slope` (p, 4).

    `covariance` (p, 4, 4) is for white noise, `wander` is what the trace itself does to the parameters where
    no peak stands; the larger one counts.
    """
    white, seen = (((slope[:, None, :] @ one)[:, 0] * slope).sum(axis=1) for one in (covariance, wander))
    return np.asarray(np.sqrt(np.maximum(np.maximum(WHITE * white, seen), 0.0)))


def spread(
    name: str, value: FloatArray, errors: tuple[FloatArray, FloatArray], reading: FloatArray, doubts: Doubts
) -> FloatArray:
    """Return (p,) the standard error of a metric: of the fit, the reading, and of what neither knows.

    `value` is the metric, `errors` that of the fitted curve by all that the fit leaves, and by noise alone;
    `reading` (0 … 1) how much of the value was read off the signal, which no wrong curve misleads.
    """
    own = SENSITIVITY.get(name, Sensitivity())
    error, by_noise = errors
    read = (own.reading * by_noise) ** 2 + (own.curvature * value) ** 2
    unknown = (own.moved * doubts.moved) ** 2 + (own.shared * doubts.shared) ** 2
    unknown += (own.touching * reading) ** 2 * doubts.shared
    # What a reading takes for peak and background no fit has shown.
    background = doubts.background * np.where(doubts.is_seen > 0.0, reading, 1.0)
    unknown += (own.background * background) ** 2 + (own.shape * doubts.shape) ** 2
    unknown += (own.dip * doubts.dip) ** 2 + (own.cap * doubts.cap) ** 2
    unknown += (own.averaged * doubts.averaged) ** 2 + (own.apart * doubts.apart) ** 2
    unknown += (own.odd * doubts.odd) ** 2
    return np.sqrt(reading**2 * read + ((1.0 - reading) * error) ** 2 + unknown * value**2)


CAP_DOUBT = 0.8
"""The flanks tell the height up to so much of what a curve through all of a cut peak differs from them."""
# Twice the share by which a plain peak may differ from its curve (`rows.ODD_SHAPE`): less is no cut.
SATURATION_SHARE = 0.01
LONGER_THAN_ROUNDED = 1.5
"""A run of highest values this many times as long as rounding makes it is a cut."""


def is_saturated(peak: Peak, height: float) -> bool:
    """Tell whether a top is rounded as no column rounds one peak, or cut flat; two markers round theirs."""
    is_flat = peak.local.is_flat and not peak.assignment.shared_with
    return is_flat or _is_cut(peak, height)


def _is_cut(peak: Peak, height: float) -> bool:
    """Tell whether the top is cut flat: its highest value runs on for longer than rounding explains.

    The fit, which leaves a run of highest values out, must go above it, too: a spike is not cut.
    """
    trace = peak.survey.trace
    ends = [min(c.start_min for c in peak.own), max(c.end_min for c in peak.own)]
    first, last = trace.time_min.searchsorted(ends).tolist()
    signal = trace.signal[first:last]
    if len(signal) < 4:
        return False
    highest = float(signal.max())
    top = signal == highest
    if np.count_nonzero(top) < 3:
        return False
    tallest = max(peak.own, key=lambda c: c.height)
    above = tallest.height + float(peak.local.baseline.at(np.array([tallest.apex_min]))[0]) - highest
    start, end = longest_run(top)
    lasts = float(trace.time_min[first + end - 1] - trace.time_min[first + start])
    explained = formulas.rounded_top(tallest.height, tallest.width_min, step_of(signal))
    is_long = end - start >= 3 and lasts > LONGER_THAN_ROUNDED * explained
    return is_long and above > max(SATURATION_SHARE * height, 3.0 * peak.survey.noise_sd)


def longest_run(values: NDArray[np.bool_]) -> tuple[int, int]:
    """Return where the longest run of True begins and where it is over; (0, 0) where there is none."""
    edges = np.flatnonzero(np.diff(values, prepend=False, append=False)).reshape(-1, 2)
    if not len(edges):
        return 0, 0
    start, end = edges[np.argmax(edges[:, 1] - edges[:, 0])].tolist()
    return start, end


Metrics = Mapping[str, float | None]

MISFIT = (2.0, 5.0)
"""Between these standard deviations of χ² the weight goes over from fitted curve to signal: a fit of the
right shape leaves more than the first in one of forty peaks, more than the second in none."""
STEP = 0.3
"""Of a standard error: how far parameters are moved to see what a metric does."""


@dataclass(frozen=True, eq=False, slots=True)
class Measured:
    """Metrics of one peak."""

    value: Metrics
    error: Metrics
    """Standard errors, by the same names."""
    is_cut: bool
    """Whether the detector was at its end: then the metrics are those of the curve through the rest."""
    by_definition: float
    """Largest ratio between plate numbers of two definitions ÷ what the fitted shape makes of it."""
    off_levels_percent: float
    """By how much the area differs on the levels ahead of and far behind the peak, % of it; where it was put
    on them and they are seen, what of that stays open."""
    has_step: bool
    """Whether the signal jumped under the peak, by those levels."""
    is_settled: bool
    """Whether the levels beside it are its baseline, and none of its own."""

    def baseline_doubt_percent(self, shift_percent: float) -> float:
        """Return by how much the baseline may falsify the area, %; one of its own shifts it so much."""
        return self.off_levels_percent if self.is_settled else max(shift_percent, self.off_levels_percent)


def metrics_of(peaks: Sequence[Peak], outlines: Outlines, noise_half_widths: float) -> list[Measured]:
    """Return the metrics of each peak, in the order of the outlines."""
    if not peaks:
        return []
    lengths = _known([peak.column.length_mm for peak in peaks])
    particles = _known([peak.column.particle_um for peak in peaks])
    read = formulas.shape_metrics(outlines, lengths, particles)
    fitted, errors = _of_curves(peaks, outlines, lengths, particles)
    cut = [is_saturated(peak, h) for peak, h in zip(peaks, outlines.height.tolist(), strict=True)]
    weight = _weight_of_reading(peaks, cut)
    odd = _by_definition(read, fitted)
    columns, spreads, doubts = {}, {}, Doubts.of(peaks, odd)
    levels = [leveled(peak) if peak.footing is None else None for peak in peaks]
    settled = np.array(
        [
            level is not None and level.is_over and _is_put(peak, level)
            for peak, level in zip(peaks, levels, strict=True)
        ]
    )
    # On the levels beside a tail that is seen to its end nothing rests on a baseline of the peak's own.
    on_levels = replace(doubts, moved=np.where(settled, 0.0, doubts.moved))
    for name, signal in read.items():
        curve = fitted[name]
        # Where one of both is not to be had the other stands alone.
        own = np.where(np.isfinite(curve), weight, 1.0)
        columns[name] = np.where(
            own <= 0.0, curve, np.where(own >= 1.0, signal, own * signal + (1.0 - own) * curve)
        )
        value = np.where(np.isfinite(curve), curve, signal)
        told = on_levels if name in READ_ON_LEVELS else doubts
        spreads[name] = spread(name, value, errors[name], own, told)
    for place, peak in enumerate(peaks):
        if weight[place] > 0.0 and peak.local.beside:
            for name, off in moved_by_feet(peak, outlines).items():
                spreads[name][place] = np.hypot(
                    spreads[name][place], weight[place] * off * columns[name][place]
                )
    _add_ground(peaks, outlines, columns, spreads)
    moved = _put_on_levels(peaks, levels, columns, spreads)
    moved = np.where(settled, OPEN_ON_LEVELS * moved, moved)
    noise = _noise_ranges(peaks, columns["retention_time_min"], noise_half_widths * columns["width_half_min"])
    with np.errstate(divide="ignore", invalid="ignore"):
        columns["signal_to_noise"] = formulas.signal_to_noise(columns["peak_height"], noise)
    columns["peak_to_valley"] = _known(
        [peak_to_valley(peak, h) for peak, h in zip(peaks, columns["peak_height"].tolist(), strict=True)]
    )
    values, given = _rows(columns), _rows(spreads)
    return [
        Measured(
            value,
            _only_where_known(error, value),
            is_cut,
            one,
            100.0 * off,
            level is not None and level.is_step,
            is_settled,
        )
        for value, error, is_cut, one, off, level, is_settled in zip(
            values, given, cut, odd.tolist(), moved.tolist(), levels, settled.tolist(), strict=True
        )
    ]


def _add_ground(
    peaks: Sequence[Peak],
    outlines: Outlines,
    columns: Mapping[str, FloatArray],
    spreads: Mapping[str, FloatArray],
) -> None:
    """Add what the ground of peaks with slow tails leaves open to the errors of area and symmetry factor.

    Near 0.05 of the height a tail falls by half from 0.1, as an exponential does: so far the crossing moves.
    """
    for place, peak in enumerate(peaks):
        if peak.footing is None:
            continue
        fall = 0.05 * log(2.0) / max(float(outlines.right[place, 0] - outlines.right[place, 1]), 1e-12)
        wide = float(outlines.right[place, 0] - outlines.left[place, 0])
        moved = peak.local.baseline_share / fall / wide
        if moved == moved:
            name = "symmetry_factor"
            spreads[name][place] = np.hypot(spreads[name][place], moved * columns[name][place])
        spreads["peak_area"][place] = np.hypot(spreads["peak_area"][place], peak.footing.area_off)


ON_LEVELS: Mapping[str, str] = {
    "peak_area": "area",
    "symmetry_factor": "symmetry",
    "plate_number_half_height": "plates",
}
READ_ON_LEVELS = frozenset({"peak_area", "symmetry_factor"})
"""What a slow tail changes most is stated with the tail."""
OPEN_ON_LEVELS = 0.1
"""Share of such a change that stays open: on tails of 2.5 … 10 σ it was half of this."""


def _is_put(peak: Peak, level: Leveled) -> bool:
    """Return whether area and symmetry of a peak are stated on the levels beside it."""
    is_plain = len(peak.own) == 1 and not level.is_step and not peak.assignment.separated
    return is_plain and not peak.assignment.shared_with


def _put_on_levels(
    peaks: Sequence[Peak],
    levels: Sequence[Leveled | None],
    columns: Mapping[str, FloatArray],
    spreads: Mapping[str, FloatArray],
) -> FloatArray:
    """Put peaks with a slow tail on the levels beside them; return (p,) by which share their areas differ.

    Where a step has come, or several curves are the peak, values stay, and their errors hold the difference.
    """
    moved = np.zeros(len(peaks))
    for place, (peak, level) in enumerate(zip(peaks, levels, strict=True)):
        if level is None:
            continue
        for name, own in ON_LEVELS.items():
            off = float(getattr(level, own) - columns[name][place])
            if name == "peak_area":
                moved[place] = abs(off / columns[name][place])
            is_read = name in READ_ON_LEVELS and _is_put(peak, level)
            columns[name][place] += off if is_read else 0.0
            spreads[name][place] = np.hypot(spreads[name][place], off * (OPEN_ON_LEVELS if is_read else 1.0))
    return moved


def _rows(columns: Mapping[str, FloatArray]) -> list[Metrics]:
    """Return columns as one mapping for each peak."""
    rows = zip(*(_measured(values) for values in columns.values()), strict=True)
    return [dict(zip(columns, row, strict=True)) for row in rows]


def _only_where_known(error: Metrics, value: Metrics) -> Metrics:
    """Return the errors of what was measured."""
    return {name: one if value[name] is not None else None for name, one in error.items()}


def curve_outlines(parameters: FloatArray) -> Outlines:
    """Return the outlines of single curves (…, 4) of area, centre, log σ and τ."""
    area, center, log_sigma, tau = np.moveaxis(parameters, -1, 0)
    sigma = np.exp(log_sigma)
    shape = shape_of(sigma, tau)
    return Outlines(
        apex=center + shape.apex,
        height=area * shape.height,
        left=center[..., None] + shape.left,
        right=center[..., None] + shape.right,
        tangent_left=center + shape.tangent_left,
        tangent_right=center + shape.tangent_right,
        area=area,
        mean=center + tau,
        variance=sigma**2 + tau**2,
        points_half=np.full(area.shape, np.nan),
    )


def _of_curves(
    peaks: Sequence[Peak], outlines: Outlines, lengths: FloatArray, particles: FloatArray
) -> tuple[dict[str, FloatArray], dict[str, tuple[FloatArray, FloatArray]]]:
    """Return the metrics of the fitted curves and their standard errors; NaN for peaks of several curves.

    Errors are by all that a fit leaves, and by noise alone: by the covariance of the parameters and the
    slopes of each metric (first order).
    """
    single = np.array([len(peak.own) == 1 for peak in peaks])
    tallest = [max(range(len(peak.own)), key=lambda i, p=peak: p.own[i].height) for peak in peaks]  # type: ignore[misc]
    curves = [peak.own[i] for peak, i in zip(peaks, tallest, strict=True)]
    parameters = np.array([[c.area, c.center_min, np.log(c.sigma_min), c.tau_min] for c in curves])
    places = [slice(4 * i, 4 * i + 4) for i in tallest]
    covariance = np.stack([peak.local.covariance[own, own] for peak, own in zip(peaks, places, strict=True)])
    wander = np.stack([peak.local.wander[own, own] for peak, own in zip(peaks, places, strict=True)])
    step = STEP * np.sqrt(np.maximum(np.einsum("pii->pi", covariance), 1e-24))
    # Of a fit that hardly knows σ and τ the slopes at hand have to do.
    step[:, 2] = np.minimum(step[:, 2], STEP)
    step[:, 3] = np.minimum(step[:, 3], STEP * np.exp(parameters[:, 2]))
    values = formulas.shape_metrics(curve_outlines(parameters), lengths, particles)
    told = _with_telling_tail(parameters)
    # Both ways from there the tail stays on its side: a metric goes with its third power.
    step[:, 3] = np.minimum(step[:, 3], 0.5 * np.abs(told[:, 3]))
    slopes: dict[str, list[FloatArray]] = {name: [] for name in values}
    for place in range(4):
        moved = step * (np.arange(4) == place)
        up = formulas.shape_metrics(curve_outlines(told + moved), lengths, particles)
        down = formulas.shape_metrics(curve_outlines(told - moved), lengths, particles)
        for name in values:
            slopes[name].append((up[name] - down[name]) / (2.0 * step[:, place]))
    noise = covariance * np.square([peak.local.noise_in_rest for peak in peaks])[:, None, None]
    errors = {}
    for name, parts in slopes.items():
        slope = np.stack(parts, axis=1)
        errors[name] = noise_error(slope, covariance, wander), noise_error(slope, noise, wander)
    return {name: np.where(single, value, np.nan) for name, value in values.items()}, errors


def _with_telling_tail(parameters: FloatArray) -> FloatArray:
    """Return curves (p, 4) of area, centre, log σ and τ where their covariance was looked up."""
    area, center, log_sigma, tau = parameters.T
    center, sigma, tau = with_telling_tail(center, np.exp(log_sigma), tau)
    return np.stack([area, center, np.log(sigma), tau], axis=1)


def _weight_of_reading(peaks: Sequence[Peak], cut: Sequence[bool]) -> FloatArray:
    """Return how much the signal counts against the fitted curve, 0 … 1."""
    low, high = MISFIT
    misfit = np.array([peak.local.misfit for peak in peaks])
    weight = np.clip((misfit - low) / (high - low), 0.0, 1.0)
    # What is cut off is read where its flanks have told it; else the curve goes through what is left.
    uncapped = [is_cut and peak.local.cap is None for peak, is_cut in zip(peaks, cut, strict=True)]
    return np.where(uncapped, 0.0, weight)


def _by_definition(read: Mapping[str, FloatArray], fitted: Mapping[str, FloatArray]) -> FloatArray:
    """Return how far N by half height and N by tangents are apart beyond what the fitted shape explains."""
    with np.errstate(divide="ignore", invalid="ignore"):
        seen = read["plate_number_half_height"] / read["plate_number_tangent"]
        told = fitted["plate_number_half_height"] / fitted["plate_number_tangent"]
        apart = np.abs(np.log(seen / told))
    return np.where(np.isfinite(apart), np.exp(apart), 1.0)


def _known(values: Sequence[float | None]) -> FloatArray:
    """Return the values with NaN for None."""
    return np.array(values, dtype=np.float64)


def _measured(values: FloatArray) -> list[float | None]:
    """Return plain floats, None where a value is not finite or not positive."""
    good = np.isfinite(values) & (values > 0)
    return [value if is_good else None for value, is_good in zip(values.tolist(), good.tolist(), strict=True)]


def _noise_ranges(peaks: Sequence[Peak], apex: FloatArray, width: FloatArray) -> FloatArray:
    """Return the range of the noise beside each peak, in windows of `width`; NaN where there is none."""
    known = zip(peaks, apex.tolist(), width.tolist(), np.isfinite(width).tolist(), strict=True)
    return _known(
        [noise_range(peak.survey, at, wide) if is_known else None for peak, at, wide, is_known in known]
    )


# The range of fewer samples says little of that of noise.
LEAST_POINTS = 8


def noise_range(survey: Survey, apex_min: float, width_min: float) -> float | None:
    """Return max − min of the signal around its baseline in the nearest peak-free samples.

    No blank is at hand, so the window lies beside the peak: as many samples as `width_min` holds, those
    nearest to the apex that no peak touches, from both sides. Fewer where the trace has no more; None below
    eight.
    """
    time, free = survey.trace.time_min, survey.free_time
    step = (time[-1] - time[0]) / (len(time) - 1)
    count = min(max(int(width_min / step), LEAST_POINTS), len(free))
    if count < LEAST_POINTS:
        return None
    place = int(free.searchsorted(apex_min))
    first, last = max(place - count, 0), min(place, len(free) - count)
    # Of all runs of so many free samples, the one whose two ends are equally far from the apex.
    off = np.abs(free[first : last + 1] + free[first + count - 1 : last + count] - 2.0 * apex_min)
    start = first + int(off.argmin())
    window = slice(start, start + count)
    rest = survey.free_signal[window] - survey.smooth.at(free[window])
    return float(rest.max() - rest.min())
