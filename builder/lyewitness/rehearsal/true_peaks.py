"""The true peaks of one column, injection by injection.

In: a scenario, a column's state, its injections. Out: `TruePeak`s: apex, half-height plate number and
τ/σ are set from the column's curves and the noise between injections; everything else follows from the
exact curve.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.rehearsal import signals
from lyewitness.rehearsal.columns import ColumnState, true_curve
from lyewitness.rehearsal.plans import MarkerPlan, Mishap, Scenario
from lyewitness.rehearsal.records import TrueInjection, TruePeak
from lyewitness.rehearsal.shapes import Shape, shape_of
from lyewitness.rehearsal.splits import split_peak

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class _Noise:
    """Relative deviations of one column's injections, (n,) each, common to all its markers."""

    plates: FloatArray
    retention: FloatArray
    hold_up: FloatArray
    area: FloatArray


def peaks_of_column(
    scenario: Scenario, column: ColumnState, order: int, injections: tuple[TrueInjection, ...], seed: int
) -> dict[tuple[str, str], TruePeak]:
    """Return the peaks of every marker in every injection of `column`, by (injection, marker)."""
    hours = np.array([injection.exposure_h for injection in injections])
    common = _common_noise(scenario, order, hours.size, seed)
    peaks: dict[tuple[str, str], TruePeak] = {}
    for number, marker in enumerate(scenario.markers):
        stream = signals.random_stream(seed, 7, order, number)
        for peak in _peaks_of_marker(scenario, column, marker, injections, hours, common, stream):
            peaks[peak.injection, marker.id] = peak
    return peaks


def _common_noise(scenario: Scenario, order: int, count: int, seed: int) -> _Noise:
    repeat = scenario.repeatability
    draw = signals.serial_normal(signals.random_stream(seed, 6, order), (4, count), repeat.serial)
    sizes = (repeat.plates, repeat.retention, repeat.hold_up, repeat.area)
    return _Noise(*(size * row for size, row in zip(sizes, draw, strict=True)))


def _peaks_of_marker(
    scenario: Scenario,
    column: ColumnState,
    marker: MarkerPlan,
    injections: tuple[TrueInjection, ...],
    hours: FloatArray,
    common: _Noise,
    stream: np.random.PCG64,
) -> list[TruePeak]:
    """Return the peaks of one marker. Half of each variance is common to the markers of an injection."""
    repeat = scenario.repeatability
    own = signals.serial_normal(stream, (4, hours.size), repeat.serial)
    plates = true_curve(column, marker.id, "plate_number_half_height", hours)
    noisier = 1 + repeat.growth * np.clip(1 - plates / plates[0], 0, 1)
    share = np.sqrt(0.5)
    plates = plates * np.exp(share * noisier * (common.plates + repeat.plates * own[0]))
    hold_up = true_curve(column, marker.id, "hold_up_time_min", hours) * np.exp(common.hold_up)
    retention = true_curve(column, marker.id, "retention_factor", hours)
    retention = retention * np.exp(share * noisier * (common.retention + repeat.retention * own[1]))
    tailing = true_curve(column, marker.id, "tailing", hours) * np.exp(noisier * repeat.tailing * own[2])
    area = marker.area * np.exp(common.area + 0.3 * repeat.area * own[3])
    area = area * _injected_share(scenario, marker, injections)
    shape = shape_of(tailing)
    return [
        _finish(
            scenario,
            marker,
            injection,
            _Drawn(hold_up[i], retention[i], plates[i], tailing[i], area[i]),
            shape,
            i,
        )
        for i, injection in enumerate(injections)
    ]


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The numbers that fix one peak."""

    hold_up_min: float
    retention_factor: float
    plates: float
    tailing: float
    area: float


def _finish(
    scenario: Scenario, marker: MarkerPlan, injection: TrueInjection, drawn: _Drawn, shape: Shape, i: int
) -> TruePeak:
    """Return the peak whose exact curve has the drawn apex, half-height plate number and τ/σ."""
    retention = drawn.hold_up_min * (1 + drawn.retention_factor)
    width_half = retention * np.sqrt(5.54 / drawn.plates)
    sigma = float(width_half / shape.width_half[i])
    tau = drawn.tailing * sigma
    center = retention - float(shape.apex[i]) * sigma
    height = drawn.area * float(shape.height[i]) / sigma
    ten = float(shape.asymmetry_10[i])
    peak = TruePeak(
        injection=injection.id,
        column=injection.column,
        group=injection.group,
        marker=marker.id,
        exposure_h=injection.exposure_h,
        present=bool(drawn.area > 0),
        retention_time_min=float(retention),
        hold_up_time_min=float(drawn.hold_up_min),
        retention_factor=float(drawn.retention_factor),
        area=float(drawn.area),
        height=float(height),
        center_min=float(center),
        sigma_min=sigma,
        tau_min=float(tau),
        width_half_min=float(width_half),
        plate_number_half_height=float(drawn.plates),
        plate_number_tangent=16 * float(retention / (sigma * shape.width_tangent[i])) ** 2,
        plate_number_moments=float((center + tau) ** 2 / (sigma**2 + tau**2)),
        plate_number_emg=41.7 * float(retention / (sigma * shape.width_10[i])) ** 2 / (ten + 1.25),
        symmetry_factor=float(shape.symmetry_factor[i]),
        asymmetry_10=ten,
        saturated=bool(height > scenario.detector.saturates_at_mAU),
    )
    mishap = _mishap(scenario, injection, marker, "split")
    return split_peak(peak, mishap.size) if mishap is not None and peak.present else peak


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
