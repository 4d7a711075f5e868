"""From one outline to the row of one marker in one injection.

In: outlines, the survey, the assignment. Out: `PeakRow`s, in which what could not be measured is None.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite, nan
from typing import Any

import numpy as np

from lyewitness.peaks import formulas
from lyewitness.peaks.components import Component
from lyewitness.peaks.flagging import flags_of
from lyewitness.peaks.following import Assignment
from lyewitness.peaks.metrics import Metrics
from lyewitness.peaks.outlining import Outlines
from lyewitness.peaks.peak import Peak
from lyewitness.peaks.records import PeakOutline, PeakRow
from lyewitness.peaks.surveying import Survey
from lyewitness.study.exposure import Exposure
from lyewitness.study.records import Column, Injection, Marker, Study
from lyewitness.words.estimates import Estimate


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
    base = peak.survey.baseline.at(np.array([start, end, apex, left]))
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
    start, end, apex = (float(value) for value in survey.baseline.at(at))
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
    error = peak.survey.fits[own.span].error[own.top]
    values = (own.area, own.center_min, own.sigma_min, own.tau_min)
    names = ("area", "center_min", "sigma_min", "tau_min")
    return {
        name: Estimate(value, value - e, value + e)
        if isfinite(e)
        else Estimate(value, reason="standard error cannot be computed")
        for name, value, e in zip(names, values, error.tolist(), strict=True)
    }


def rows_of_injection(
    setting: Setting, found: Mapping[str, Peak], outlines: Outlines, all_metrics: Sequence[Metrics]
) -> list[PeakRow]:
    """Return one row for each marker of an injection; `found` are its peaks by marker.

    Outlines and metrics are those of all peaks, by `Peak.place`.
    """
    flags = {marker: flags_of(peak, all_metrics[peak.place], outlines) for marker, peak in found.items()}
    metrics = {marker: _own_metrics(peak, all_metrics[peak.place]) for marker, peak in found.items()}
    separations = resolutions(metrics)
    void = setting.study.void_marker
    hold_up = metrics[void.id]["retention_time_min"] if void is not None and void.id in metrics else None
    rows = []
    for marker in setting.study.markers:
        row = _bare_row(setting, marker, hold_up)
        if marker.id not in found:
            rows.append(PeakRow(**row, found=False, absent_because=setting.why_absent(marker.id)))
            continue
        peak, own = found[marker.id], metrics[marker.id]
        time = own["retention_time_min"]
        row |= own
        # The hold-up marker is what retention is counted from and has no retention factor of its own.
        if time is not None and hold_up is not None and marker is not void:
            row["retention_factor"] = formulas.retention_factor(time, hold_up)
        rows.append(
            PeakRow(
                **row,
                found=True,
                confidence=peak.assignment.confidence,
                resolution=separations.get(marker.id),
                flags=flags[marker.id],
                emg={} if peak.assignment.shared_with else emg_of(peak),
                outline=outline_of(peak, outlines),
            )
        )
    return rows


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


def resolutions(metrics: Mapping[str, Metrics]) -> dict[str, float]:
    """Return, by marker, the resolution to the marker eluting before it in the same injection."""
    timed = sorted(
        (own["retention_time_min"], marker, own["width_half_min"])
        for marker, own in metrics.items()
        if own["retention_time_min"] is not None
    )
    return {
        marker: formulas.resolution(time, width, time_before, width_before)
        for (time_before, _, width_before), (time, marker, width) in pairwise(timed)
        if width and width_before
    }
