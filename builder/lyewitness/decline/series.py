"""Which metrics are followed on which column, and the limits that stand on them.

In: `Study`, `Measurements`. Out: `Series`, each with its limits.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, time
from statistics import median

import numpy as np

from lyewitness.decline.doubted import confidence_in
from lyewitness.decline.records import Series
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.study.events import exposure_of
from lyewitness.study.records import Column, Limit, Marker, Study
from lyewitness.words.arrays import FloatArray
from lyewitness.words.metrics import WATCHED

HOLD_UP = "hold_up_time_min"
PRESSURE = "pressure_bar"


def limits_on(study: Study, marker: Marker | None, metric: str) -> tuple[Limit, ...]:
    """Return the limits on `metric` of `marker` (None: the column's own metrics).

    Where a limit names the marker, only such limits count: the closer word goes before the general one.
    """
    about = [limit for limit in study.limits if limit.metric == metric and _is_about(limit, marker)]
    named = [limit for limit in about if limit.markers]
    return tuple(named or about)


def _is_about(limit: Limit, marker: Marker | None) -> bool:
    """Say whether `limit` is about `marker`.

    A limit that names no marker is not about the void marker, but for its retention, the hold-up time:
    the void marker has no retention factor, and its width is made outside the column as much as in it
    (common practice). Who wants it limited all the same names it in the limit's `markers`.
    """
    if marker is None:
        return limit.metric == PRESSURE
    if limit.metric == PRESSURE:
        return False
    if limit.metric == HOLD_UP:
        return marker.role == "void"
    if limit.markers:
        return marker.id in limit.markers
    return marker.role != "void"


def followed_metrics(study: Study, marker: Marker) -> tuple[str, ...]:
    """Return the metrics followed on `marker`: all limited ones, then those worth a look."""
    limited = [limit.metric for limit in study.limits if _is_about(limit, marker)]
    look = (HOLD_UP, "peak_area") if marker.role == "void" else WATCHED
    return tuple(dict.fromkeys([*limited, *look]))


def gather_series(study: Study, measurements: Measurements) -> tuple[Series, ...]:
    """Return every series of the study, in the order of columns, markers and metrics.

    Only injections that the study uses and whose peak was found count; a series may be empty.
    """
    rows: dict[tuple[str, str], list[PeakRow]] = {}
    clock = clock_hours(study)
    for row in sorted(measurements.rows, key=lambda row: row.exposure_h):
        if row.used and row.found and np.isfinite(row.exposure_h):
            rows.setdefault((row.column, row.marker), []).append(row)
    return tuple(_all_series(study, rows, clock))


def clock_hours(study: Study) -> Mapping[str, float]:
    """Return by injection when it was made, hours after the midnight before the first of the study.

    Empty where some times bear a zone and others do not: they cannot be told apart.
    """
    stated = {one.id: one.at for one in study.injections if one.used and one.at is not None}
    if len({at.tzinfo is None for at in stated.values()}) != 1:
        return {}
    midnight = datetime.combine(min(stated.values()), time.min, min(stated.values()).tzinfo)
    return {one: (at - midnight).total_seconds() / 3600.0 for one, at in stated.items()}


def _all_series(
    study: Study, rows: dict[tuple[str, str], list[PeakRow]], clock: Mapping[str, float]
) -> Iterator[Series]:
    """Yield the series of every column."""
    for column in study.columns:
        for marker in study.markers:
            for metric in followed_metrics(study, marker):
                yield _series_of(column, marker, metric, rows.get((column.id, marker.id), []), clock)
        logged = any(log.column == column.id and log.pressure_bar is not None for log in study.conditions)
        if logged or any(limit.metric == PRESSURE for limit in study.limits):
            yield _pressure(study, column, _void_volume(study, column, rows))


def _series_of(
    column: Column, marker: Marker, metric: str, rows: Sequence[PeakRow], clock: Mapping[str, float]
) -> Series:
    """Return one metric of one marker on one column."""
    name = "retention_time_min" if metric == HOLD_UP else metric
    points = [(row, getattr(row, name)) for row in rows]
    kept = [(row, value) for row, value in points if value is not None and np.isfinite(value)]
    return Series(
        column=column.id,
        group=column.group,
        marker=marker.id,
        metric=metric,
        injections=tuple(row.injection for row, _ in kept),
        exposure_h=read_only([row.exposure_h for row, _ in kept]),
        exposure_cv=read_only([np.nan if row.exposure_cv is None else row.exposure_cv for row, _ in kept]),
        value=read_only([value for _, value in kept]),
        clock_h=read_only([clock[row.injection] for row, _ in kept])
        if all(row.injection in clock for row, _ in kept)
        else None,
        confidence=read_only([confidence_in(row, name) for row, _ in kept]),
    )


def _pressure(study: Study, column: Column, void_volume_mL: float | None) -> Series:
    """Return the pressure of one column from the conditions log."""
    points: list[tuple[float, float, float, str]] = []
    for number, log in enumerate(study.conditions, start=1):
        if log.column != column.id or log.pressure_bar is None:
            continue
        flow = log.flow_mL_min or study.stress.flow_mL_min
        exposure = exposure_of(log, column, flow, void_volume_mL)
        if exposure.hours is not None:
            volumes = np.nan if exposure.column_volumes is None else exposure.column_volumes
            points.append((exposure.hours, volumes, log.pressure_bar, f"conditions.csv, entry {number}"))
    points.sort(key=lambda point: point[0])
    return Series(
        column=column.id,
        group=column.group,
        marker="",
        metric=PRESSURE,
        injections=tuple(point[3] for point in points),
        exposure_h=read_only([point[0] for point in points]),
        exposure_cv=read_only([point[1] for point in points]),
        value=read_only([point[2] for point in points]),
    )


def _void_volume(study: Study, column: Column, rows: dict[tuple[str, str], list[PeakRow]]) -> float | None:
    """Return hold-up time × flow of the injections, mL, from the column's first void peaks."""
    flow = study.test.flow_mL_min or study.stress.flow_mL_min
    void = study.void_marker
    if void is None or flow is None:
        return None
    first = rows.get((column.id, void.id), [])[: study.choices.reference_injections]
    times = [row.retention_time_min for row in first if row.retention_time_min is not None]
    return median(times) * flow if times else None


def read_only(values: Sequence[float] | FloatArray) -> FloatArray:
    """Return the values as an array that cannot be written to."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array
