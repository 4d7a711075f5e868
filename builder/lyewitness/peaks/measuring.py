"""From the traces of a study to one row for every injection and marker.

In: a `Study` and its traces by injection id. Out: `Measurements`. The order of the steps and nothing else:
survey all traces, follow the markers along each column, outline the peaks found, write the rows.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import nan

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.following import Assignment, follow
from lyewitness.peaks.outlining import Outlines, PeakWindow, outline_peaks
from lyewitness.peaks.records import Measurements, PeakOutline, PeakRow
from lyewitness.peaks.rows import Peak, among_each_other, found_row, rough_outline
from lyewitness.peaks.sharing import separate_meetings
from lyewitness.peaks.surveying import Survey, survey_traces
from lyewitness.peaks.windows import window_of
from lyewitness.study.exposure import Exposure, exposure_of
from lyewitness.study.records import Column, Injection, Study
from lyewitness.traces.records import Trace

FloatArray = NDArray[np.float64]
Progress = Callable[[int, int], None]
"""Told (injections done, injections in all)."""

MOST_PLATES = 30000.0
"""Sharpest first peak to be looked for: σ = tR/√N."""
WITHOUT_RETENTION_MIN = 0.3
"""Retention assumed for the sharpest peak where the study states none for a column."""


def measure(study: Study, traces: Mapping[str, Trace], progress: Progress | None = None) -> Measurements:
    """Return every marker of every injection of `study`; `traces` are by injection id.

    Injections that the study does not use are measured all the same. One whose trace is not in `traces` has
    rows that say so.
    """
    measured = [injection for injection in study.injections if injection.id in traces]
    sharpest = [_narrowest_sigma(study, study.column(injection.column)) for injection in measured]
    surveys = dict(
        zip(
            (injection.id for injection in measured),
            survey_traces([traces[injection.id] for injection in measured], sharpest),
            strict=True,
        )
    )
    assigned = _assign(study, surveys)
    surveys, assigned = separate_meetings(surveys, assigned)
    peaks = _peaks(study, surveys, assigned)
    outlines = outline_peaks([_window(peak) for peak in peaks.values()])
    rows: list[PeakRow] = []
    for number, injection in enumerate(study.injections, start=1):
        rows += _rows_of(study, injection, assigned.get(injection.id), peaks, outlines)
        if progress is not None:
            progress(number, len(study.injections))
    return Measurements(
        rows=_with_exposure(study, rows),
        baselines={name: _support(survey) for name, survey in surveys.items()},
        unassigned={name: _unassigned(survey, assigned[name]) for name, survey in surveys.items()},
    )


def _narrowest_sigma(study: Study, column: Column) -> float:
    """Return the sharpest σ to be looked for on a column, minutes."""
    stated = [marker.expected_retention(column) for marker in study.markers]
    shortest = min((time for time in stated if time), default=WITHOUT_RETENTION_MIN)
    return float(shortest / np.sqrt(MOST_PLATES))


def _assign(study: Study, surveys: Mapping[str, Survey]) -> dict[str, dict[str, Assignment]]:
    """Return, by injection, which peak is which marker; column by column in the order of exposure."""
    assigned: dict[str, dict[str, Assignment]] = {}
    for column in study.columns:
        own = [i for i in study.injections if i.column == column.id and i.id in surveys]
        own.sort(key=lambda injection: _position(study, column, injection))
        exposures = [_position(study, column, injection) for injection in own]
        expected = [marker.expected_retention(column) for marker in study.markers]
        decided = follow([surveys[i.id].components for i in own], study.markers, expected, exposures)
        assigned.update({i.id: found for i, found in zip(own, decided, strict=True)})
    return assigned


def _position(study: Study, column: Column, injection: Injection) -> float:
    """Return where an injection stands in its column's sequence, in whichever unit the study uses."""
    exposure = exposure_of(injection, column, study.stress.flow_mL_min, None)
    for value in (exposure.hours, injection.exposure_mL, exposure.column_volumes):
        if value is not None:
            return value
    return 0.0


def _peaks(
    study: Study, surveys: Mapping[str, Survey], assigned: Mapping[str, Mapping[str, Assignment]]
) -> dict[tuple[str, str], Peak]:
    """Return the found peaks by (injection, marker), numbered in order."""
    peaks: dict[tuple[str, str], Peak] = {}
    for injection in study.injections:
        for marker, assignment in assigned.get(injection.id, {}).items():
            if assignment.components:
                column = study.column(injection.column)
                peaks[injection.id, marker] = Peak(surveys[injection.id], assignment, column, len(peaks))
    return peaks


def _window(peak: Peak) -> PeakWindow:
    """Return the signal of one peak, with every other curve of its trace taken off."""
    others = [component for component in peak.survey.components if component not in peak.own]
    return window_of(peak.survey, peak.own, others)


def _rows_of(
    study: Study,
    injection: Injection,
    assigned: Mapping[str, Assignment] | None,
    peaks: Mapping[tuple[str, str], Peak],
    outlines: Outlines,
) -> list[PeakRow]:
    """Return the rows of one injection, without exposure; hold-up time and neighbours come last."""
    rows = []
    for marker in study.markers:
        row = PeakRow(
            injection=injection.id,
            column=injection.column,
            group=study.column(injection.column).group,
            marker=marker.id,
            exposure_h=nan,
            exposure_cv=None,
            used=injection.used,
            found=False,
        )
        peak = peaks.get((injection.id, marker.id))
        if assigned is None:
            row = replace(row, absent_because="the injection has no trace")
        elif peak is None:
            row = replace(row, absent_because=assigned[marker.id].absent_because)
        else:
            row = found_row(row, peak, outlines, study.choices.noise_window_half_widths)
        rows.append(row)
    return among_each_other(rows, study.void_marker)


def _with_exposure(study: Study, rows: Sequence[PeakRow]) -> tuple[PeakRow, ...]:
    """Return the rows with the exposure of their injections."""
    flow = study.stress.flow_mL_min
    placed: dict[str, Exposure] = {}
    for column in study.columns:
        own = [injection for injection in study.injections if injection.column == column.id]
        own.sort(key=lambda injection: _position(study, column, injection))
        volume = void_volume(study, own, rows)
        placed.update({injection.id: exposure_of(injection, column, flow, volume) for injection in own})
    return tuple(
        replace(
            row,
            exposure_h=nan
            if placed[row.injection].hours is None
            else float(placed[row.injection].hours or 0.0),
            exposure_cv=placed[row.injection].column_volumes,
        )
        for row in rows
    )


def void_volume(study: Study, ordered: Sequence[Injection], rows: Sequence[PeakRow]) -> float | None:
    """Return the column's void volume, mL: median hold-up time of its reference × flow of the test.

    None without a void marker, its peak or a flow. Source: definition of the hold-up volume (IUPAC).
    """
    flow = study.test.flow_mL_min or study.stress.flow_mL_min
    reference = [injection.id for injection in ordered if injection.used][
        : study.choices.reference_injections
    ]
    times = [row.hold_up_time_min for row in rows if row.injection in set(reference)]
    known = [time for time in times if time is not None]
    return float(np.median(known)) * flow if known and flow else None


def _support(survey: Survey) -> tuple[FloatArray, FloatArray]:
    """Return the support points of a baseline, read-only."""
    time, value = survey.baseline.time.copy(), survey.baseline.value.copy()
    time.setflags(write=False)
    value.setflags(write=False)
    return time, value


def _unassigned(survey: Survey, assigned: Mapping[str, Assignment]) -> tuple[PeakOutline, ...]:
    """Return the outlines of the peaks that belong to no marker."""
    named = {component for assignment in assigned.values() for component in assignment.components}
    return tuple(
        rough_outline(survey, component) for component in survey.components if component not in named
    )
