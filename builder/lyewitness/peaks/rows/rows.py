"""From one outline to the row of one marker in one injection.

In: outlines, the survey, the assignment, and where each injection stands on the exposure. Out: `PeakRow`s,
in which what could not be measured is None.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import erf, isfinite, nan, pi, sqrt
from typing import Any

import numpy as np

from lyewitness.peaks import formulas
from lyewitness.peaks.formulas import Outlines
from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.records import LEAST_TRUST, TOLERANCE, PeakOutline, PeakRow, VoidVolume
from lyewitness.peaks.rows.flags import flags_of, spikes_in
from lyewitness.peaks.rows.metrics import Measured, Metrics
from lyewitness.peaks.rows.outlines import Peak
from lyewitness.peaks.survey.disturbances import edges_at
from lyewitness.peaks.survey.surveys import Component, Survey
from lyewitness.study.events import Exposure, exposure_of
from lyewitness.study.records import Column, Injection, Marker, Study
from lyewitness.words.estimates import Estimate

TOTAL_POROSITY = 0.65
"""Share of an empty column that is mobile phase, packed with porous particles (from memory; 0.55 … 0.75)."""


def position_of(study: Study, column: Column, injection: Injection) -> float:
    """Return where an injection stands in its column's sequence, in whichever unit the study uses."""
    exposure = exposure_of(injection, column, study.stress.flow_mL_min, None)
    for value in (exposure.hours, injection.exposure_mL, exposure.column_volumes):
        if value is not None:
            return value
    return 0.0


def in_order(study: Study) -> dict[str, list[Injection]]:
    """Return the injections of each column in the order of exposure."""
    sequences: dict[str, list[Injection]] = {column.id: [] for column in study.columns}
    for injection in study.injections:
        sequences[injection.column].append(injection)
    for column in study.columns:
        sequences[column.id].sort(key=lambda injection, c=column: position_of(study, c, injection))  # type: ignore[misc]
    return sequences


def void_volume_of(
    study: Study, column: Column, ordered: Sequence[Injection], hold_up_min: Mapping[str, float]
) -> VoidVolume | None:
    """Return the void volume of a column: median hold-up time of its reference × flow of the test.

    Source: definition of the hold-up volume (IUPAC). Without hold-up times it is estimated from the column's
    dimensions and `TOTAL_POROSITY`, and says so; None where those are not known either.
    """
    flow = study.test.flow_mL_min or study.stress.flow_mL_min
    used = [injection.id for injection in ordered if injection.used]
    reference = used[: study.choices.reference_injections]
    times = [hold_up_min[injection] for injection in reference if injection in hold_up_min]
    if times and flow:
        return VoidVolume(float(np.median(times)) * flow, "hold-up time of the reference injections × flow")
    length, diameter = column.length_mm, column.inner_diameter_mm
    if length and diameter:
        volume = TOTAL_POROSITY * pi / 4.0 * diameter**2 * length / 1000.0
        return VoidVolume(volume, f"dimensions of the column × a total porosity of {TOTAL_POROSITY:g}")
    return None


def exposures_of(
    study: Study, sequences: Mapping[str, Sequence[Injection]], volumes: Mapping[str, VoidVolume]
) -> dict[str, Exposure]:
    """Return the exposure of every injection."""
    placed = {}
    for column in study.columns:
        volume = volumes[column.id].volume_mL if column.id in volumes else None
        for injection in sequences[column.id]:
            placed[injection.id] = exposure_of(injection, column, study.stress.flow_mL_min, volume)
    return placed


ODD_SHAPE = 0.005
"""A peak that differs from its fitted curve by this share of its height is no plain one."""
# Below the 0.99 from which a row is held to be sure.
UNSURE = 0.98
GRAVE = frozenset(
    {
        "saturated",
        "split",
        "overlap",
        "baseline",
        "disturbed",
        "inconsistent",
        "stranger",
        "edge",
        "few-points",
        "low-signal",
    }
)
"""Flags under which the numbers may be off by more than their errors say: such a row is never as sure as
0.99."""


MISLEADING = frozenset({"disturbed", "split", "stranger"})
"""Flags under which not one row in three had plate number and area within `TOLERANCE` (of 87 simulated ones):
only the name is trusted."""


@dataclass(frozen=True, slots=True)
class Setting:
    """An injection and what it belongs to."""

    study: Study
    injection: Injection
    column: Column
    exposure: Exposure
    assigned: Mapping[str, Assignment] | None
    """By marker; None where the injection has no trace."""

    def why_absent(self, marker: str) -> str:
        """Return the reason why a marker has no peak."""
        return "the injection has no trace" if self.assigned is None else self.assigned[marker].absent_because

    def is_not_recorded(self, marker: str) -> bool:
        """Tell whether the run ended before a marker could have eluted."""
        return self.assigned is not None and self.assigned[marker].not_recorded

    def expected_of_absent(self, found: Mapping[str, Peak]) -> dict[str, float | None]:
        """Return where the markers without a peak were expected, minutes."""
        assigned = self.assigned or {}
        return {name: one.expected_min for name, one in assigned.items() if name not in found}


def outline_of(peak: Peak, outlines: Outlines) -> PeakOutline | None:
    """Return where the peak was measured; None where half height is not crossed on both sides."""
    i, time = peak.place, peak.survey.trace.time_min
    left, right, apex, height = (
        outlines.left[i, 2],
        outlines.right[i, 2],
        outlines.apex[i],
        outlines.height[i],
    )
    if not (isfinite(left) and isfinite(right)):
        return None
    start = max(min(c.start_min for c in peak.own), float(time[0]))
    end = min(max(c.end_min for c in peak.own), float(time[-1]))
    places = np.array([start, end, apex, left])
    base = peak.local.baseline.at(places) + edges_at(peak.survey.edges, places)
    return PeakOutline(
        start_min=start,
        end_min=end,
        baseline_start=float(base[0]),
        baseline_end=float(base[1]),
        apex_min=float(apex),
        apex_signal=float(base[2] + height),
        half_left_min=float(left),
        half_right_min=float(right),
        half_signal=float(base[3] + height / 2.0),
    )


def rough_outline(survey: Survey, component: Component) -> PeakOutline:
    """Return the outline of a peak without a name, from its fitted curve."""
    half = component.width_min / 2.0
    at = np.array([component.start_min, component.end_min, component.apex_min])
    start, end, apex = (float(one) for one in survey.baseline.at(at) + edges_at(survey.edges, at))
    return PeakOutline(
        component.start_min,
        component.end_min,
        start,
        end,
        component.apex_min,
        apex + component.height,
        component.apex_min - half,
        component.apex_min + half,
        apex + component.height / 2.0,
    )


def emg_of(peak: Peak) -> dict[str, Estimate]:
    """Return the fitted parameters one standard error to both sides; empty for a peak of several curves."""
    if len(peak.own) != 1:
        return {}
    own = peak.own[0]
    error = np.sqrt(np.maximum(np.diag(peak.local.covariance), 0.0)) * [1.0, 1.0, own.sigma_min, 1.0]
    values = (own.area, own.center_min, own.sigma_min, own.tau_min)
    names = ("area", "center_min", "sigma_min", "tau_min")
    return {
        name: Estimate(value, value - e, value + e)
        if isfinite(e)
        else Estimate(value, reason="standard error cannot be computed")
        for name, value, e in zip(names, values, error.tolist(), strict=True)
    }


def rows_of_injection(
    setting: Setting, found: Mapping[str, Peak], outlines: Outlines, all_metrics: Sequence[Measured]
) -> list[PeakRow]:
    """Return one row for each marker of an injection; `found` are its peaks by marker.

    Outlines and metrics are those of all peaks, by `Peak.place`.
    """
    flags = {marker: flags_of(peak, all_metrics[peak.place], outlines) for marker, peak in found.items()}
    metrics = {m: _own_metrics(peak, all_metrics[peak.place].value) for m, peak in found.items()}
    errors = {m: _own_metrics(peak, all_metrics[peak.place].error) for m, peak in found.items()}
    separations = resolutions(metrics, errors, setting.expected_of_absent(found))
    void = setting.study.void_marker
    hold_up = metrics[void.id]["retention_time_min"] if void is not None and void.id in metrics else None
    rows = []
    for marker in setting.study.markers:
        row = _bare_row(setting, marker, hold_up)
        if marker.id not in found:
            reason = setting.why_absent(marker.id)
            row |= {"flags": ("not-recorded",)} if setting.is_not_recorded(marker.id) else {}
            rows.append(PeakRow(**row, found=False, absent_because=reason))
            continue
        peak, own, error = found[marker.id], metrics[marker.id], errors[marker.id]
        time = own["retention_time_min"]
        row |= own
        row |= {f"{name}_se": value for name, value in error.items()}
        # The hold-up marker is what retention is counted from and has no retention factor of its own.
        if time is not None and hold_up is not None and void is not None and marker is not void:
            row["retention_factor"] = formulas.retention_factor(time, hold_up)
            row["retention_factor_se"] = formulas.retention_factor_error(
                time,
                hold_up,
                error["retention_time_min"] or 0.0,
                errors[void.id]["retention_time_min"] or 0.0,
            )
        rows.append(
            PeakRow(
                **row,
                **separations.get(marker.id, {}),
                found=True,
                confidence=confidence_of(peak, own, error, flags[marker.id]),
                flags=flags[marker.id],
                emg={} if peak.assignment.shared_with else emg_of(peak),
                outline=outline_of(peak, outlines),
                baseline_doubt_percent=all_metrics[peak.place].baseline_doubt_percent(
                    peak.local.baseline_shift_percent
                ),
                spikes_removed=spikes_in(peak),
            )
        )
    return rows


def confidence_of(peak: Peak, own: Metrics, error: Metrics, flags: Sequence[str]) -> float:
    """Return how sure name and numbers are.

    That is the share of the ways to name the peaks that agree, times the chance that plate number and area
    are within `TOLERANCE` of the truth.
    """
    named = peak.assignment.confidence or 0.0
    inside = 1.0
    for name in ("plate_number_half_height", "peak_area"):
        value, spread = own[name], error[name]
        if value and spread:
            inside = min(inside, erf(TOLERANCE * value / (spread * sqrt(2.0))))
    inside = LEAST_TRUST if set(flags) & MISLEADING else max(inside, LEAST_TRUST)
    odd = peak.local.residual_share > ODD_SHAPE or bool(set(flags) & GRAVE)
    return named * (min(inside, UNSURE) if odd else inside)


def _own_metrics(peak: Peak, metrics: Metrics) -> Metrics:
    """Return the metrics that are the marker's own.

    Of one top for two markers it is known where it stands, not whose width and area it has.
    """
    if not peak.assignment.shared_with:
        return metrics
    return {name: value if name == "retention_time_min" else None for name, value in metrics.items()}


def _bare_row(setting: Setting, marker: Marker, hold_up: float | None) -> dict[str, Any]:
    """Return the fields of a row that do not depend on its peak."""
    injection, exposure = setting.injection, setting.exposure
    return {
        "injection": injection.id,
        "column": injection.column,
        "group": setting.column.group,
        "marker": marker.id,
        "exposure_h": nan if exposure.hours is None else exposure.hours,
        "exposure_cv": exposure.column_volumes,
        "used": injection.used,
        "hold_up_time_min": hold_up,
    }


def resolutions(
    metrics: Mapping[str, Metrics], errors: Mapping[str, Metrics], absent: Mapping[str, float | None]
) -> dict[str, dict[str, Any]]:
    """Return, by marker, the fields that tell its resolution from the marker that elutes before it.

    `absent` are the markers without a peak, and where they were expected: where one of them belongs between
    two peaks, the latter has no resolution. It is not measured to another neighbour.
    """
    found = sorted(
        (time, marker) for marker, own in metrics.items() if (time := own["retention_time_min"]) is not None
    )
    result: dict[str, dict[str, Any]] = {}
    for (time_before, before), (time, marker) in pairwise(found):
        lost = [name for name, at in absent.items() if at is not None and time_before < at < time]
        width, width_before = metrics[marker]["width_half_min"], metrics[before]["width_half_min"]
        if lost:
            result[marker] = {"resolution_because": f"{lost[-1]}, which elutes before it, has no peak"}
        elif width and width_before:
            spreads = [
                errors[m][n] or 0.0
                for m in (marker, before)
                for n in ("retention_time_min", "width_half_min")
            ]
            value = formulas.resolution(time, width, time_before, width_before)
            error = formulas.resolution_error(value, time - time_before, width + width_before, spreads)
            result[marker] = {"resolution": value, "resolution_se": error}
        else:
            result[marker] = {"resolution_because": f"its width or that of {before} is not known"}
    first = found[0] if found else None
    if first is not None:
        lost = [name for name, at in absent.items() if at is not None and at < first[0]]
        if lost:
            result[first[1]] = {"resolution_because": f"{lost[-1]}, which elutes before it, has no peak"}
    return result
