"""A scenario run: first its truth, then the traces that show it.

In: `Scenario` and a seed. Out: `Truth`, `Rehearsal`. Whoever needs no traces calls `foresee` alone.
"""

from types import MappingProxyType

import numpy as np

from lyewitness.rehearsal import signals
from lyewitness.rehearsal.columns import ColumnState, draw_columns, true_curve, true_life_h
from lyewitness.rehearsal.plans import Mishap, Scenario
from lyewitness.rehearsal.records import DrawnTrace, Rehearsal, TrueColumn, TrueInjection, TruePeak, Truth
from lyewitness.rehearsal.true_peaks import peaks_of_column
from lyewitness.words.arrays import FloatArray

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
