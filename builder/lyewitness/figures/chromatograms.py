"""What figures of several chromatograms share: which injections, where axes end, names at peaks, shifts told.

In: a report's traces and peak rows. Out: injections, arrays and words; names drawn on axes.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from lyewitness.figures.labels import spread
from lyewitness.figures.polylines import few_points
from lyewitness.figures.style import INK, Look
from lyewitness.figures.words import listed
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from lyewitness.quantities import rounded, with_unit
from lyewitness.study.records import Column, Injection
from lyewitness.traces.records import Trace

FloatArray = NDArray[np.float64]
Rows = dict[str, list[PeakRow]]
"""Peak rows by injection."""


def usable(report: Report, column: Column) -> list[Injection]:
    """Return the column's injections that count and have a trace, by exposure where it is known."""
    own = [
        one
        for one in report.study.injections
        if one.column == column.id and one.used and one.id in report.traces
    ]
    hours = {row.injection: row.exposure_h for row in report.measurements.rows}
    return sorted(own, key=lambda one: hours.get(one.id, one.exposure_h or 0.0))


def typical_column(report: Report, group: str) -> Column:
    """Return the column of `group` in the middle by what remained of the deciding metric."""
    columns = report.study.replicates(group)
    left = {
        one.series.column: one.remaining.value
        for one in report.judgement.declines
        if (one.series.marker, one.series.metric) == report.judgement.deciding
    }
    ranked = sorted(columns, key=lambda column: left.get(column.id) or 0.0)
    return ranked[(len(ranked) - 1) // 2]


def last_minute(report: Report, injections: Sequence[Injection], rows: Rows) -> float:
    """Return where the time axis ends: a little behind the last peak, as far as the traces go."""
    ends = [
        row.outline.end_min for one in injections for row in rows.get(one.id, []) if row.outline is not None
    ]
    strangers = [
        peak.end_min for one in injections for peak in report.measurements.unassigned.get(one.id, ())
    ]
    recorded = max(float(report.traces[one.id].time_min[-1]) for one in injections)
    return min(recorded, 1.12 * max([*ends, *strangers], default=recorded))


def thinned(trace: Trace, wide: float, high: float = 150.0) -> tuple[FloatArray, FloatArray]:
    """Return the trace with as many points as an eye needs in `wide` × `high` pixels."""
    x_scale = wide / max(float(trace.time_min[-1] - trace.time_min[0]), 1e-9)
    y_scale = high / max(float(np.ptp(trace.signal)), 1e-9)
    across, up = few_points(trace.time_min * x_scale, trace.signal * y_scale, 0.4)
    return across / x_scale, up / y_scale


def peak_names(axes: Axes, rows: Sequence[PeakRow], lift: float, look: Look, width: int) -> None:
    """Write the markers' names above their apexes, moved apart where they would touch."""
    found = [row for row in rows if row.outline is not None]
    if not found:
        return
    end = axes.get_xlim()[1]
    per_px = end / (width - 28)
    wide = [look.words_width(row.marker) * per_px for row in found]
    wanted = [row.outline.apex_min for row in found if row.outline is not None]
    places = spread(wanted, [one + 8 * per_px for one in wide], wide[0] / 2, end - wide[-1] / 2)
    for row, place in zip(found, places, strict=True):
        if row.outline is not None:
            axes.annotate(
                row.marker, (place, row.outline.apex_signal + lift), (0, 4), textcoords="offset points",
                ha="center", va="bottom", color=INK, zorder=5,
            )  # fmt: skip


def hours_of(injection: Injection, rows: Rows) -> float:
    """Return the exposure of an injection, hours."""
    return next((row.exposure_h for row in rows.get(injection.id, [])), injection.exposure_h or 0.0)


def moved(pair: tuple[Injection, Injection], rows: Rows) -> str:
    """Say where each marker stood first and last."""
    parts = []
    for before in rows.get(pair[0].id, []):
        after = next((row for row in rows.get(pair[1].id, []) if row.marker == before.marker), None)
        if before.retention_time_min is None:
            continue
        start = with_unit(rounded(before.retention_time_min, 4), "min")
        if after is None or after.retention_time_min is None:
            parts.append(f"{before.marker} from {start} to not found")
            continue
        end = with_unit(rounded(after.retention_time_min, 4), "min")
        parts.append(f"{before.marker} from {start} to {end}{_wider(before, after)}")
    return listed(parts)


def _wider(before: PeakRow, after: PeakRow) -> str:
    """Say how the plate number changed, where both are known."""
    first, last = before.plate_number_half_height, after.plate_number_half_height
    if first is None or last is None:
        return ""
    return f", plate number {rounded(first, 3)} to {rounded(last, 3)}"
