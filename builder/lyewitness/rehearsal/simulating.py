"""A scenario run: first its truth, then the traces that show it.

In: `Scenario` and a seed. Out: `Truth`, `Rehearsal`. Whoever needs no traces calls `foresee` alone.

Of a true peak apex, half-height plate number and τ/σ are set; everything else follows from the exact curve.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from lyewitness.rehearsal import signals
from lyewitness.rehearsal.columns import ColumnState, draw_columns, true_curve, true_life_h
from lyewitness.rehearsal.plans import MarkerPlan, Mishap, Scenario
from lyewitness.rehearsal.records import DrawnTrace, Rehearsal, TrueColumn, TrueInjection, TruePeak, Truth
from lyewitness.rehearsal.signals import emg, shape_of
from lyewitness.words.arrays import FloatArray

FIRST_SHARE = 0.6
GRID = 40_001


def split_peak(peak: TruePeak, distance_sigma: float) -> TruePeak:
    """Return `peak` as two halves, 60 and 40 % of its area, the second later by `distance_sigma` σ."""
    later = distance_sigma * peak.sigma_min
    reach = 9 * peak.sigma_min
    time = np.linspace(peak.center_min - reach, peak.center_min + later + reach + 12 * peak.tau_min, GRID)
    signal = FIRST_SHARE * emg(time, peak.area, peak.center_min, peak.sigma_min, peak.tau_min)
    signal += (1 - FIRST_SHARE) * emg(time, peak.area, peak.center_min + later, peak.sigma_min, peak.tau_min)
    top = int(np.argmax(signal))
    apex, height = float(time[top]), float(signal[top])
    half, ten, five = (_ends(time, signal, share * height) for share in (0.5, 0.1, 0.05))
    mean = peak.center_min + peak.tau_min + (1 - FIRST_SHARE) * later
    variance = peak.sigma_min**2 + peak.tau_min**2 + FIRST_SHARE * (1 - FIRST_SHARE) * later**2
    asymmetry = (ten[1] - apex) / (apex - ten[0])
    tangent = _tangent_width(time, signal)
    return replace(
        peak,
        retention_time_min=apex,
        retention_factor=apex / peak.hold_up_time_min - 1,
        height=height,
        width_half_min=half[1] - half[0],
        plate_number_half_height=5.54 * (apex / (half[1] - half[0])) ** 2,
        plate_number_tangent=16 * (apex / tangent) ** 2,
        plate_number_moments=mean**2 / variance,
        plate_number_emg=41.7 * (apex / (ten[1] - ten[0])) ** 2 / (asymmetry + 1.25),
        symmetry_factor=(five[1] - five[0]) / (2 * (apex - five[0])),
        asymmetry_10=asymmetry,
        split=True,
        split_by_min=later,
        split_share=FIRST_SHARE,
    )


def _ends(time: FloatArray, signal: FloatArray, level: float) -> tuple[float, float]:
    """Return the outermost times at which the signal passes `level`, interpolated."""
    above = np.flatnonzero(signal >= level)
    first, last = int(above[0]), int(above[-1])
    front = np.interp(level, signal[first - 1 : first + 1], time[first - 1 : first + 1])
    rear = np.interp(-level, -signal[last : last + 2], time[last : last + 2])
    return float(front), float(rear)


def _tangent_width(time: FloatArray, signal: FloatArray) -> float:
    """Return the base width between the steepest tangents of the sum's front and rear."""
    slope = np.gradient(signal, time)
    front, rear = int(np.argmax(slope)), int(np.argmin(slope))
    feet = [time[i] - signal[i] / slope[i] for i in (front, rear)]
    return float(feet[1] - feet[0])


@dataclass(frozen=True, eq=False, slots=True)
class _Run:
    """One column's injections with what their markers have in common; arrays (n,)."""

    scenario: Scenario
    column: ColumnState
    injections: tuple[TrueInjection, ...]
    hours: FloatArray
    plates: FloatArray
    """Relative deviation of the plate numbers; likewise the following ones."""
    retention: FloatArray
    hold_up: FloatArray
    area: FloatArray


@dataclass(frozen=True, eq=False, slots=True)
class _Draws:
    """What fixes the peaks of one marker, (n,) each."""

    hold_up_min: FloatArray
    retention_factor: FloatArray
    plates: FloatArray
    tailing: FloatArray
    area: FloatArray


def peaks_of_column(
    scenario: Scenario, column: ColumnState, order: int, injections: tuple[TrueInjection, ...], seed: int
) -> dict[tuple[str, str], TruePeak]:
    """Return the peaks of every marker in every injection of `column`, by (injection, marker).

    `order` is the column's place among all columns; it chooses the random numbers.
    """
    repeat = scenario.repeatability
    hours = np.array([injection.exposure_h for injection in injections])
    noise = signals.serial_normal(signals.random_stream(seed, 6, order), (4, hours.size), repeat.serial)
    sizes = (repeat.plates, repeat.retention, repeat.hold_up, repeat.area)
    common = (size * row for size, row in zip(sizes, noise, strict=True))
    run = _Run(scenario, column, injections, hours, *common)
    peaks: dict[tuple[str, str], TruePeak] = {}
    for number, marker in enumerate(scenario.markers):
        draws = _draw(run, marker, signals.random_stream(seed, 7, order, number))
        for peak in _peaks(run, marker, draws):
            peaks[peak.injection, marker.id] = peak
    return peaks


def _draw(run: _Run, marker: MarkerPlan, stream: np.random.PCG64) -> _Draws:
    """Return one marker's values: its curves, with noise of which half the variance is common to all."""
    repeat = run.scenario.repeatability
    own = signals.serial_normal(stream, (4, run.hours.size), repeat.serial)

    def curve(metric: str) -> FloatArray:
        return true_curve(run.column, marker.id, metric, run.hours)

    plates = curve("plate_number_half_height")
    noisier = 1 + repeat.growth * np.clip(1 - plates / plates[0], 0, 1)
    share = np.sqrt(0.5)
    area = marker.area * np.exp(run.area + 0.3 * repeat.area * own[3])
    return _Draws(
        hold_up_min=curve("hold_up_time_min") * np.exp(run.hold_up) * _delay(run.scenario, run.injections),
        retention_factor=curve("retention_factor")
        * np.exp(share * noisier * (run.retention + repeat.retention * own[1])),
        plates=plates * np.exp(share * noisier * (run.plates + repeat.plates * own[0])),
        tailing=curve("tailing") * np.exp(noisier * repeat.tailing * own[2]),
        area=area
        * _injected_share(run.scenario, marker, run.injections)
        * _delay(run.scenario, run.injections),
    )


def _peaks(run: _Run, marker: MarkerPlan, draws: _Draws) -> Iterator[TruePeak]:
    """Yield the peaks whose exact curves have the drawn apex, half-height plate number and τ/σ."""
    values = _values(draws)
    for i, injection in enumerate(run.injections):
        height = float(values["height"][i])
        peak = TruePeak(
            injection=injection.id,
            column=injection.column,
            group=injection.group,
            marker=marker.id,
            exposure_h=injection.exposure_h,
            present=bool(draws.area[i] > 0),
            split=False,
            saturated=height > run.scenario.detector.saturates_at_mAU,
            **{name: float(array[i]) for name, array in values.items()},
        )
        mishap = _mishap(run.scenario, injection, marker, "split")
        yield split_peak(peak, mishap.size) if mishap is not None and peak.present else peak


def _values(draws: _Draws) -> dict[str, FloatArray]:
    """Return every measurable value of the exact curves by the name of its field, (n,) each."""
    shape = shape_of(draws.tailing)
    retention = draws.hold_up_min * (1 + draws.retention_factor)
    width_half = retention * np.sqrt(5.54 / draws.plates)
    sigma = width_half / shape.width_half
    tau = draws.tailing * sigma
    center = retention - shape.apex * sigma
    return {
        "retention_time_min": retention,
        "hold_up_time_min": draws.hold_up_min,
        "retention_factor": draws.retention_factor,
        "area": draws.area,
        "height": draws.area * shape.height / sigma,
        "center_min": center,
        "sigma_min": sigma,
        "tau_min": tau,
        "width_half_min": width_half,
        "plate_number_half_height": draws.plates,
        "plate_number_tangent": 16 * (retention / (sigma * shape.width_tangent)) ** 2,
        "plate_number_moments": (center + tau) ** 2 / (sigma**2 + tau**2),
        "plate_number_emg": 41.7 * (retention / (sigma * shape.width_10)) ** 2 / (shape.asymmetry_10 + 1.25),
        "symmetry_factor": shape.symmetry_factor,
        "asymmetry_10": shape.asymmetry_10,
    }


def _mishap(scenario: Scenario, injection: TrueInjection, marker: MarkerPlan, kind: str) -> Mishap | None:
    """Return the mishap of that kind that befell this marker in this injection, or None."""
    for mishap in scenario.mishaps:
        placed = (mishap.kind, mishap.column, mishap.turn) == (kind, injection.column, injection.turn)
        if placed and mishap.marker in ("", marker.id):
            return mishap
    return None


def _injected_share(
    scenario: Scenario, marker: MarkerPlan, injections: tuple[TrueInjection, ...]
) -> FloatArray:
    """Return how much of the marker was injected each time: 1, less, or 0 where it is absent."""
    shares = np.ones(len(injections))
    for i, injection in enumerate(injections):
        if _mishap(scenario, injection, marker, "absent") is not None:
            shares[i] = 0.0
        short = _mishap(scenario, injection, marker, "short injection")
        if short is not None:
            shares[i] *= short.size
    return shares


def _delay(scenario: Scenario, injections: tuple[TrueInjection, ...]) -> FloatArray:
    """Return by which factor all peaks come later: what leaks away slows the rest, and the detector sees
    every peak for longer."""
    later = {(one.column, one.turn): one.size for one in scenario.mishaps if one.kind == "leak"}
    return np.array([later.get((one.column, one.turn), 1.0) for one in injections])


HORIZON = 10.0
"""True lives are sought up to this many times the length of the test."""


def simulate(scenario: Scenario, seed: int | None = None) -> Rehearsal:
    """Run `scenario` with its own seed or another; the same seed gives the same arrays."""
    chosen = scenario.seed if seed is None else seed
    truth = foresee(scenario, chosen)
    time, signals_mAU = _draw_signals(scenario, truth, chosen)
    time.setflags(write=False)
    signals_mAU.setflags(write=False)
    traces = {injection.id: DrawnTrace(time, signals_mAU[i]) for i, injection in enumerate(truth.injections)}
    return Rehearsal(scenario, truth, MappingProxyType(traces))


def foresee(scenario: Scenario, seed: int | None = None) -> Truth:
    """Return the truth of every injection, peak and column without drawing a trace."""
    chosen = scenario.seed if seed is None else seed
    injections: list[TrueInjection] = []
    peaks: dict[tuple[str, str], TruePeak] = {}
    columns: dict[str, TrueColumn] = {}
    pressure: dict[str, FloatArray] = {}
    for order, column in enumerate(draw_columns(scenario, chosen)):
        own = _place(scenario, column, order, chosen)
        hours = np.array([injection.exposure_h for injection in own])
        injections += own
        peaks |= peaks_of_column(scenario, column, order, own, chosen)
        columns[column.id] = _true_column(scenario, column, own, hours)
        pressure[column.id] = _logged_pressure(scenario, column, order, hours, chosen)
    return Truth(
        tuple(injections), MappingProxyType(peaks), MappingProxyType(columns), MappingProxyType(pressure)
    )


def _place(scenario: Scenario, column: ColumnState, order: int, seed: int) -> tuple[TrueInjection, ...]:
    """Return the injections of one column, on the schedule or shifted a little, to 0.1 h."""
    stream = signals.random_stream(seed, 2, order)
    shift = (2 * signals.uniform(stream, (len(scenario.schedule_h),)) - 1) * scenario.schedule_jitter_h
    shift[: scenario.reference_injections] = 0.0
    shift[-1] = 0.0
    left_out = {m.turn: m.why for m in scenario.mishaps if m.column == column.id and m.why}
    return tuple(
        TrueInjection(
            id=f"{column.id}-{turn:02d}",
            column=column.id,
            group=column.group.name,
            turn=turn,
            exposure_h=round(planned + moved, 1),
            dialect=scenario.dialects[(column.number - 1) % len(scenario.dialects)],
            used=turn not in left_out,
            why=left_out.get(turn, ""),
        )
        for turn, (planned, moved) in enumerate(zip(scenario.schedule_h, shift.tolist(), strict=True), 1)
    )


def _true_column(
    scenario: Scenario, column: ColumnState, injections: tuple[TrueInjection, ...], hours: FloatArray
) -> TrueColumn:
    used = np.array([injection.exposure_h for injection in injections if injection.used])
    reference_h = used[: scenario.reference_injections]
    wanted = [("", "pressure_bar")]
    for marker in scenario.markers:
        if marker.role == "void":
            wanted.append((marker.id, "hold_up_time_min"))
        else:
            wanted += [(marker.id, "retention_factor"), (marker.id, "retention_time_min")]
        wanted += [(marker.id, "plate_number_half_height"), (marker.id, "symmetry_factor")]
    curves = {key: true_curve(column, *key, hours) for key in wanted}
    lives = {
        (marker, metric): true_life_h(column, marker, limit, reference_h, HORIZON * hours[-1])
        for limit in scenario.limits
        for marker, metric in wanted
        if metric == limit.metric
    }
    return TrueColumn(
        id=column.id,
        group=column.group.name,
        speed=column.speed,
        temperature_C=column.temperature_C,
        exposure_h=hours,
        curves=MappingProxyType(curves),
        lives_h=MappingProxyType(lives),
        tested_to_h=float(hours[-1]),
    )


def _logged_pressure(
    scenario: Scenario, column: ColumnState, order: int, hours: FloatArray, seed: int
) -> FloatArray:
    noise = signals.serial_normal(
        signals.random_stream(seed, 3, order), hours.shape, scenario.repeatability.serial
    )
    curve = true_curve(column, "", "pressure_bar", hours)
    return np.asarray(curve * np.exp(scenario.repeatability.pressure * noise))


def _draw_signals(scenario: Scenario, truth: Truth, seed: int) -> tuple[FloatArray, FloatArray]:
    """Return (points,) times in minutes and (injections, points) signals in mAU."""
    detector = scenario.detector
    time = np.asarray(np.arange(detector.points) * (detector.interval_s / 60.0), dtype=np.float64)
    shape = (len(truth.injections), detector.points)
    stream = signals.random_stream(seed, 4)
    signal = signals.drifting_baseline(stream, shape, detector.drift_mAU)
    signal += detector.white_noise_mAU * signals.normal(stream, shape)
    signal += detector.flicker_noise_mAU * signals.flicker(stream, shape)
    for i, injection in enumerate(truth.injections):
        for marker in scenario.markers:
            _add_peak(signal[i], time, truth.peaks[injection.id, marker.id])
    for i, injection in enumerate(truth.injections):
        for mishap in scenario.mishaps:
            if mishap.kind == "bubble" and (mishap.column, mishap.turn) == (injection.column, injection.turn):
                _add_bubble(signal[i], time, mishap, signals.random_stream(seed, 5, i))
    return time, np.asarray(np.minimum(signal, detector.saturates_at_mAU))


def _add_peak(signal: FloatArray, time: FloatArray, peak: TruePeak) -> None:
    """Add a peak where it is above 1e-16 of its height; a split one as its two halves."""
    if not peak.present:
        return
    first = np.searchsorted(time, peak.center_min - 9 * peak.sigma_min)
    last = np.searchsorted(time, peak.center_min + 9 * peak.sigma_min + 40 * peak.tau_min + peak.split_by_min)
    there = time[first:last]
    halves = (
        ((0.0, 1.0),)
        if not peak.split
        else ((0.0, peak.split_share), (peak.split_by_min, 1 - peak.split_share))
    )
    for later, share in halves:
        signal[first:last] += signals.emg(
            there, share * peak.area, peak.center_min + later, peak.sigma_min, peak.tau_min
        )


def _add_bubble(signal: FloatArray, time: FloatArray, mishap: Mishap, stream: np.random.PCG64) -> None:
    """Add what an air bubble in the cell shows: a jump, spikes, and a slow return."""
    begin = 0.2 + 0.3 * float(signals.uniform(stream, (1,))[0])
    since = time / time[-1] - begin
    inside = since > 0
    spikes = np.abs(signals.serial_normal(stream, time.shape, 0.9)) * mishap.size
    signal[inside] += (np.exp(-since[inside] / 0.15) * (mishap.size + spikes[inside])).astype(float)
