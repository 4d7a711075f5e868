"""What figures of several chromatograms share: which injections, where axes end, names at peaks, shifts told.

In: a report's traces and peak rows. Out: injections, arrays and words; names drawn on axes.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.transforms import ScaledTranslation

from lyewitness.figures.labels import above
from lyewitness.figures.scale_bars import round_length
from lyewitness.figures.slimming import HALOED, few_points
from lyewitness.figures.style import INK, MUTED, Look
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Column, Injection
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray
from lyewitness.words.numbers import rounded, stated, with_unit
from lyewitness.words.phrases import listed

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


@dataclass(frozen=True, eq=False, slots=True)
class Lifted:
    """One chromatogram in pixels above its own floor, with the names of its peaks."""

    across: FloatArray
    """(n,) minutes."""
    up: FloatArray
    """(n,) pixels above the floor, which is the median of the signal."""
    markers: tuple[str, ...]
    names: FloatArray
    """(k, 2) where names stand: minutes of the centre, pixels of the lower edge."""
    apexes: FloatArray
    """(k, 2) minutes and pixels."""
    room: float
    """Pixels that trace and names take above the floor."""


def lifted(
    trace: Trace, rows: Sequence[PeakRow], look: Look, end_min: float, wide: float, px_per_signal: float
) -> Lifted:
    """Return the trace in pixels, simplified, for an axis from 0 to `end_min` that is `wide` pixels long."""
    scale = wide / end_min
    floor = float(np.median(trace.signal))
    outline = np.column_stack([trace.time_min * scale, (trace.signal - floor) * px_per_signal])
    across, up = few_points(outline[:, 0], outline[:, 1], 0.4)
    found = [(row.marker, row.outline) for row in rows if row.outline is not None]
    apexes = np.array([(one.apex_min * scale, (one.apex_signal - floor) * px_per_signal) for _, one in found])
    sizes = np.array([(look.words_width(marker) + 8, 1.25 * look.label_px) for marker, _ in found])
    apexes, sizes = apexes.reshape(-1, 2), sizes.reshape(-1, 2)
    places = above(apexes, sizes, outline, (0.0, wide + 8))
    tops = [float(up.max()), *(places[:, 1] + sizes[:, 1] + 3).tolist()]
    to_minutes = np.array([1 / scale, 1.0])
    markers = tuple(marker for marker, _ in found)
    return Lifted(across / scale, up, markers, places * to_minutes, apexes * to_minutes, max(tops))


def name_peaks(axes: Axes, trace: Lifted, lift: float) -> None:
    """Write the markers' names on axes of minutes and pixels; a leader where one stands far from its peak."""
    for marker, (across, up), (apex, top) in zip(trace.markers, trace.names, trace.apexes, strict=True):
        if up - top > 8:
            axes.plot([apex, apex], [lift + top + 2, lift + up + 3], ":", color=MUTED, linewidth=0.8)
        axes.annotate(
            marker, (across, lift + up), (0, 4), textcoords="offset points", ha="center", va="bottom",
            color=INK, zorder=5, gid=HALOED,
        )  # fmt: skip


def signal_bar(axes: Axes, low: float, most: float, px_per_signal: float, unit: str) -> None:
    """Draw beside axes of pixels, upwards from `low`, a bar of round signal, at most `most` pixels high."""
    height = round_length(most / px_per_signal)
    beside = axes.get_yaxis_transform() + ScaledTranslation(10 / 72, 0, axes.figure.dpi_scale_trans)
    axes.plot(
        [1, 1], [low, low + height * px_per_signal], color=MUTED, linewidth=1.5, transform=beside,
        clip_on=False, solid_capstyle="butt",
    )  # fmt: skip
    axes.annotate(
        bar_words(height, unit), (1, low + height * px_per_signal / 2), (15, 0), color=MUTED, va="center",
        xycoords=("axes fraction", "data"), textcoords="offset points",
    )  # fmt: skip


def bar_words(height: float, unit: str) -> str:
    """Return a bar's height, on two lines with its unit."""
    return f"{stated(height)}\n{unit}" if unit else stated(height)


def tallest(traces: Sequence[Trace]) -> float:
    """Return the height of the highest peak above the median of its trace; 1 where all are flat."""
    heights = [float(trace.signal.max() - np.median(trace.signal)) for trace in traces]
    return max(heights) or 1.0


def signal_unit(traces: Sequence[Trace]) -> str:
    """Return the unit that all traces share, else nothing."""
    units = {trace.signal_unit for trace in traces}
    return units.pop() if len(units) == 1 else ""


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
