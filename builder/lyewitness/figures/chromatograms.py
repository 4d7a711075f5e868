"""Chromatograms against each other: first and last of a group, and all of a column one behind the other.

In: traces and peak rows. Out: the figures `first-last-<group>` and `waterfall-<column>`.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from lyewitness.figures.axes import number
from lyewitness.figures.labels import spread
from lyewitness.figures.polylines import few_points
from lyewitness.figures.records import Figure
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import INK, MUTED, Look
from lyewitness.figures.words import hours_words, listed, sentence, slug, table_of
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from lyewitness.quantities import rounded, with_unit
from lyewitness.study.records import Column, Injection
from lyewitness.traces.records import Trace

FloatArray = NDArray[np.float64]
Rows = dict[str, list[PeakRow]]
PAIR_HEIGHT_PX = 300
MOST_TRACES = 24
"""More traces than this in one waterfall would hide each other; an even choice of them is drawn."""
STEP_PX = 21.0
PEAK_STEPS = 5.0
"""Height of the highest peak of a waterfall, in steps between traces."""


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


def first_last_figure(report: Report, look: Look, group: str, rows: Rows) -> Figure | None:
    """Return the first and the last chromatogram of a typical column of `group`; None without two."""
    column = typical_column(report, group)
    injections = usable(report, column)
    if len(injections) < 2:
        return None
    pair = (injections[0], injections[-1])
    width = (look.width_px - 20) // 2
    with applied(look):
        light, dark = _draw_pair(report, pair, rows, look, width, report.study.groups.index(group))
    name = f"first-last-{slug(group)}"
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"{group}: first and last chromatogram",
        caption=_pair_caption(group, column, pair, rows),
        alt=sentence(f"Two chromatograms of {column.label} on one time axis. {_moved(pair, rows)}"),
        width_px=width,
        height_px=PAIR_HEIGHT_PX,
        table=_pair_table(pair, rows),
    )


def _draw_pair(
    report: Report, pair: tuple[Injection, Injection], rows: Rows, look: Look, width: int, place: int
) -> tuple[bytes, bytes]:
    traces = [report.traces[one.id] for one in pair]
    ink = look.group(place)
    sheet = new_sheet(width, PAIR_HEIGHT_PX)
    axes = panel(sheet, 14, 24, width - 28, PAIR_HEIGHT_PX - 24 - 46)
    floors = [float(np.median(trace.signal)) for trace in traces]
    tall = max(float(trace.signal.max()) - floor for trace, floor in zip(traces, floors, strict=True)) or 1.0
    lifts = (1.25 * tall, 0.0)
    for trace, floor, lift, colour in zip(traces, floors, lifts, (MUTED, ink.colour), strict=True):
        _trace_line(axes, trace, lift - floor, colour, look.line_px, width)
    axes.set_ylim(-0.05 * tall, 2.4 * tall)
    words_width = look.words_width("last, 000.0 h") / (width - 28)
    axes.set_xlim(0.0, _last_minute(report, pair, rows) / (1.04 - words_width))
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    number(axes.xaxis, 6)
    axes.set_xlabel("time / min", loc="right", labelpad=3)
    raised = [lift - floor for lift, floor in zip(lifts, floors, strict=True)]
    name_height = (look.label_px + 7) * 2.45 * tall / (PAIR_HEIGHT_PX - 70)
    _join_apexes(axes, pair, rows, (raised[0], raised[1] + name_height))
    for injection, lift, word in zip(pair, lifts, ("first", "last"), strict=True):
        hours = hours_words(_hours(injection, rows))
        axes.annotate(
            f"{word}, {hours}", (1, lift), (0, 4), textcoords="offset points",
            xycoords=("axes fraction", "data"), ha="right", va="bottom", color=INK,
        )  # fmt: skip
        _peak_names(axes, rows.get(injection.id, []), raised[pair.index(injection)], look, width)
    return finished(sheet, look)


def _last_minute(report: Report, injections: Sequence[Injection], rows: Rows) -> float:
    """Return where the time axis ends: a little behind the last peak, as far as the traces go."""
    ends = [
        row.outline.end_min for one in injections for row in rows.get(one.id, []) if row.outline is not None
    ]
    strangers = [
        peak.end_min for one in injections for peak in report.measurements.unassigned.get(one.id, ())
    ]
    recorded = max(float(report.traces[one.id].time_min[-1]) for one in injections)
    return min(recorded, 1.12 * max([*ends, *strangers], default=recorded))


def _trace_line(axes: Axes, trace: Trace, lift: float, colour: str, width_px: float, wide: float) -> None:
    """Draw a trace lifted by `lift`."""
    across, up = thinned(trace, wide)
    axes.plot(across, up + lift, color=colour, linewidth=width_px, solid_joinstyle="round", zorder=3)


def thinned(trace: Trace, wide: float, high: float = 150.0) -> tuple[FloatArray, FloatArray]:
    """Return the trace with as many points as an eye needs in `wide` × `high` pixels."""
    x_scale = wide / max(float(trace.time_min[-1] - trace.time_min[0]), 1e-9)
    y_scale = high / max(float(np.ptp(trace.signal)), 1e-9)
    across, up = few_points(trace.time_min * x_scale, trace.signal * y_scale, 0.4)
    return across / x_scale, up / y_scale


def _peak_names(axes: Axes, rows: Sequence[PeakRow], lift: float, look: Look, width: int) -> None:
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


def _join_apexes(axes: Axes, pair: tuple[Injection, Injection], rows: Rows, lifts: Sequence[float]) -> None:
    """Join one marker's foot above to its name below, so that the shift can be seen."""
    for before in rows.get(pair[0].id, []):
        after = next((row for row in rows.get(pair[1].id, []) if row.marker == before.marker), None)
        if before.outline is None or after is None or after.outline is None:
            continue
        axes.plot(
            [before.outline.apex_min, after.outline.apex_min],
            [lifts[0] + before.outline.baseline_end, lifts[1] + after.outline.apex_signal],
            color=MUTED, linewidth=0.8, linestyle=(0, (2, 2)), zorder=1,
        )  # fmt: skip


def _hours(injection: Injection, rows: Rows) -> float:
    """Return the exposure of an injection, hours."""
    return next((row.exposure_h for row in rows.get(injection.id, [])), injection.exposure_h or 0.0)


def _moved(pair: tuple[Injection, Injection], rows: Rows) -> str:
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


def _pair_caption(group: str, column: Column, pair: tuple[Injection, Injection], rows: Rows) -> str:
    """Say how the peaks moved, then what is drawn."""
    hours = hours_words(_hours(pair[1], rows))
    finding = sentence(f"{column.label}, typical of {group}, over {hours}: {_moved(pair, rows)}")
    return (
        f"{finding} Above: the first injection; below: the last, on the same scales; dotted: the same marker."
    )


def _pair_table(pair: tuple[Injection, Injection], rows: Rows) -> tuple[tuple[str, ...], ...]:
    """Return the peaks of both injections."""
    header = ("injection", "exposure_h", "marker", "retention_time_min", "plate_number_half_height")
    both = [row for injection in pair for row in rows.get(injection.id, [])]
    cells = (
        (row.injection, row.exposure_h, row.marker, row.retention_time_min, row.plate_number_half_height)
        for row in both
    )
    return table_of(header, cells)


def waterfall_figure(report: Report, look: Look, column: Column, rows: Rows) -> Figure | None:
    """Return all chromatograms of `column` over its exposure; None without two."""
    injections = usable(report, column)
    if len(injections) < 2:
        return None
    count = min(MOST_TRACES, len(injections))
    shown = [injections[i] for i in np.unique(np.linspace(0, len(injections) - 1, count).round().astype(int))]
    height = round(STEP_PX * (len(shown) - 1 + PEAK_STEPS) + 70)
    with applied(look):
        light, dark = _draw_waterfall(
            report, shown, rows, look, height, report.study.groups.index(column.group)
        )
    name = f"waterfall-{slug(column.id)}"
    hours = hours_words(_hours(shown[-1], rows))
    finding = f"over {hours}: {_moved((shown[0], shown[-1]), rows)}"
    meaning = "Oldest at the back, all on one scale"
    if len(shown) < len(injections):
        meaning += f"; {len(shown)} of {len(injections)} injections, evenly chosen"
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"{column.label}: chromatograms over the exposure",
        caption=f"{sentence(f'{column.label} {finding}')} {meaning}.",
        alt=sentence(f"{len(shown)} chromatograms of {column.label} one behind the other; {finding}"),
        width_px=look.width_px,
        height_px=height,
        table=_waterfall_table(shown, rows),
    )


def _waterfall_table(shown: Sequence[Injection], rows: Rows) -> tuple[tuple[str, ...], ...]:
    """Return the apexes of the drawn traces."""
    cells = (
        (row.injection, row.exposure_h, row.marker, row.retention_time_min, row.peak_height)
        for injection in shown
        for row in rows.get(injection.id, [])
    )
    return table_of(("injection", "exposure_h", "marker", "retention_time_min", "peak_height"), cells)


def _draw_waterfall(
    report: Report, shown: Sequence[Injection], rows: Rows, look: Look, height: int, place: int
) -> tuple[bytes, bytes]:
    ink = look.group(place)
    traces = [report.traces[one.id] for one in shown]
    floors = [float(np.median(trace.signal)) for trace in traces]
    tall = max(float(trace.signal.max()) - floor for trace, floor in zip(traces, floors, strict=True)) or 1.0
    step = tall / PEAK_STEPS
    sheet = new_sheet(look.width_px, height)
    axes = panel(sheet, 14, 26, look.width_px - 14 - 66, height - 26 - 44)
    axes.set_xlim(0.0, _last_minute(report, shown, rows))
    axes.set_ylim(-0.3 * step, (len(shown) - 1) * step + 1.02 * tall)
    for across, up in _seen(traces, floors, step, axes.get_xlim()[1], 2 * look.width_px):
        axes.plot(across, up, color=ink.colour, linewidth=look.line_px * 0.7)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    number(axes.xaxis, 8)
    axes.set_xlabel("time / min", loc="right", labelpad=3)
    _exposures(axes, [_hours(one, rows) for one in shown], step)
    _peak_names(
        axes, rows.get(shown[0].id, []), (len(shown) - 1) * step - floors[0], look, look.width_px - 58
    )
    return finished(sheet, look)


def _seen(
    traces: Sequence[Trace], floors: Sequence[float], step: float, end: float, points: int
) -> list[tuple[FloatArray, FloatArray]]:
    """Return each trace lifted to its place, NaN where a trace in front of it hides it.

    From the front to the back, the outline of all that stands in front is carried along.
    """
    grid = np.linspace(0.0, end, points)
    outline = np.full(points, -np.inf)
    seen = []
    for row, (trace, floor) in enumerate(zip(traces[::-1], floors[::-1], strict=True)):
        up = np.interp(grid, trace.time_min, trace.signal - floor, left=np.nan, right=np.nan) + row * step
        seen.append((grid, np.where(up >= outline, up, np.nan)))
        outline = np.fmax(outline, up)
    return seen


def _exposures(axes: Axes, hours: Sequence[float], step: float) -> None:
    """Write the exposure at the right end of the first and the last trace, and of every other between."""
    last = len(hours) - 1
    for row, exposure in enumerate(hours):
        if row == last or (row % 2 == 0 and row != last - 1):
            axes.annotate(
                hours_words(exposure), (1, (last - row) * step), (60, 0), color=INK, ha="right", va="center",
                xycoords=("axes fraction", "data"), textcoords="offset points",
            )  # fmt: skip
