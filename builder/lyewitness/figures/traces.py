"""One injection's chromatogram with all that was measured on it, drawn by hand as SVG.

In: a trace, its peak rows and baseline. Out: the figures `trace-<injection>`, a few kilobytes each,
for light and dark ground in one file.
"""

from collections.abc import Sequence

from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.slimming import few_points, path_data
from lyewitness.figures.style import Look, Palette
from lyewitness.figures.trace_axes import Frame, names_of, signal_axis, time_axis, written
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakOutline, PeakRow
from lyewitness.study.records import Injection
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray
from lyewitness.words.names import slug
from lyewitness.words.numbers import rounded, with_unit
from lyewitness.words.phrases import listed, sentence


def trace_figure(report: Report, look: Look, injection: Injection, rows: Sequence[PeakRow]) -> Figure:
    """Return the chromatogram of `injection`; `rows` are its peak rows."""
    trace = report.traces[injection.id]
    group = report.study.groups.index(report.study.column(injection.column).group)
    baseline = report.measurements.baselines.get(injection.id)
    strangers = report.measurements.unassigned.get(injection.id, ())
    name = f"trace-{slug(injection.id)}"
    found = [row for row in rows if row.outline is not None]
    drawn, height = _svg(trace, found, baseline, strangers, look, group)
    return Figure(
        id=name,
        file=f"figures/traces/{slug(injection.id)}.svg",
        data=drawn.encode(),
        title=f"Injection {injection.id}",
        caption=_caption(injection, rows),
        alt=sentence(
            f"Chromatogram of injection {injection.id}: " + (_peaks_incentred(found) or "no peak found")
        ),
        width_px=look.width_px,
        height_px=height,
        table=_table(rows),
    )


def _svg(
    trace: Trace,
    rows: Sequence[PeakRow],
    baseline: tuple[FloatArray, FloatArray] | None,
    strangers: Sequence[PeakOutline],
    look: Look,
    group: int,
) -> tuple[str, int]:
    """Return the drawing and its height, which grows with what has to be written above the peaks."""
    frame = Frame(trace, look)
    names = names_of(rows, strangers, trace, frame, look)
    frame.top += names.room
    outlines = [row.outline for row in rows if row.outline is not None]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{look.width_px}" height="{frame.height}" '
        f'viewBox="0 0 {look.width_px} {frame.height}"><style>{_styles(look, group)}</style>',
        *(_area(trace, outline, frame) for outline in outlines),
        time_axis(frame),
        signal_axis(frame, trace.signal_unit),
        _baseline(baseline, outlines, frame),
        f'<path class="t" d="{_line(trace.time_min, trace.signal, frame)}"/>',
        *(_bounds(outline, frame, "b") for outline in outlines),
        *(_half_width(outline, frame) for outline in outlines),
        *(_bounds(outline, frame, "u") for outline in strangers),
        *written(names, frame.top),
        "</svg>",
    ]
    return "".join(parts), frame.height


def _styles(look: Look, group: int) -> str:
    """Return the classes, with the dark ground's colours where the reader prefers them."""
    index = group % len(look.light.groups)

    def colours(palette: Palette) -> str:
        own = palette.groups[index]
        return (
            f".t,.x{{stroke:{palette.ink}}}.a{{fill:{own}}}.h,.b{{stroke:{own}}}.l,.u{{stroke:{palette.muted}}}"
            f"text{{fill:{palette.ink}}}.m{{fill:{palette.muted}}}.g{{fill:{palette.ground};fill-opacity:.85}}"
        )

    return (
        ".t,.x,.h,.b,.l,.u{fill:none}.t{stroke-width:1.2;stroke-linejoin:round}.a{fill-opacity:.22}"
        ".h{stroke-width:2}.b{stroke-width:1.5}.l{stroke-dasharray:4 2}.u{stroke-dasharray:1 2}"
        f"text{{font:{look.label_px:g}px {look.fallback_fonts}}}"
        + colours(look.light)
        + "@media (prefers-color-scheme:dark){"
        + colours(look.dark)
        + "}"
    )


def _line(minutes: FloatArray, signal: FloatArray, frame: Frame) -> str:
    """Return a line as path data, simplified to what an eye can tell; pure noise to its extremes."""
    return path_data(*few_points(frame.x(minutes), frame.y(signal), 0.4))


def _area(trace: Trace, outline: PeakOutline, frame: Frame) -> str:
    """Return the peak's area between signal and baseline."""
    inside = (trace.time_min >= outline.start_min) & (trace.time_min <= outline.end_min)
    if inside.sum() < 2:
        return ""
    end, start = (outline.end_min, outline.baseline_end), (outline.start_min, outline.baseline_start)
    closing = f"L{frame.at(*end)}L{frame.at(*start)}z"
    return f'<path class="a" d="{_line(trace.time_min[inside], trace.signal[inside], frame)}{closing}"/>'


def _baseline(
    baseline: tuple[FloatArray, FloatArray] | None, outlines: Sequence[PeakOutline], frame: Frame
) -> str:
    """Return the baseline: the measured one, or where there is none the straight one below each peak."""
    if baseline is not None and baseline[0].size > 1:
        return f'<path class="l" d="{_line(baseline[0], baseline[1], frame)}"/>'
    pieces = "".join(
        f"M{frame.at(one.start_min, one.baseline_start)}L{frame.at(one.end_min, one.baseline_end)}"
        for one in outlines
    )
    return f'<path class="l" d="{pieces}"/>' if pieces else ""


def _bounds(outline: PeakOutline, frame: Frame, kind: str) -> str:
    """Return short upright strokes where the peak begins and ends."""
    strokes = "".join(
        f"M{float(frame.x(minutes)):.1f} {float(frame.y(level)) - 5:.1f}v10"
        for minutes, level in (
            (outline.start_min, outline.baseline_start),
            (outline.end_min, outline.baseline_end),
        )
    )
    return f'<path class="{kind}" d="{strokes}"/>'


def _half_width(outline: PeakOutline, frame: Frame) -> str:
    """Return the width at half height."""
    right = float(frame.x(outline.half_right_min))
    return f'<path class="h" d="M{frame.at(outline.half_left_min, outline.half_signal)}H{right:.1f}"/>'


def _caption(injection: Injection, rows: Sequence[PeakRow]) -> str:
    """Say which markers were found, which not and why, then what is drawn."""
    found = [row.marker for row in rows if row.found]
    absent = [f"{row.marker} ({row.absent_because})" for row in rows if not row.found]
    hours = next((row.exposure_h for row in rows), None)
    after = f" after {with_unit(rounded(hours), 'h')}" if hours is not None else ""
    said = [
        f"Injection {injection.id} on {injection.column}{after}: "
        + (listed(found) or "no marker")
        + " found."
    ]
    if absent:
        said.append(f"Not found: {listed(absent)}.")
    if not injection.used:
        said.append(f"Left out of every computation: {injection.why}.")
    said.append(
        "Shaded: peak area; dashed: baseline; strokes: begin and end of a peak; bar: width at half height."
    )
    return " ".join(said)


def _peaks_incentred(rows: Sequence[PeakRow]) -> str:
    """Return each peak with its retention time."""
    return listed(
        f"{row.marker} at {with_unit(rounded(row.outline.apex_min, 4), 'min')}"
        for row in rows
        if row.outline is not None
    )


def _table(rows: Sequence[PeakRow]) -> tuple[tuple[str, ...], ...]:
    """Return where each peak was measured."""
    header = ("marker", "start_min", "apex_min", "end_min", "half_left_min", "half_right_min", "flags")
    return table_of(
        header,
        (
            (
                row.marker,
                one.start_min,
                one.apex_min,
                one.end_min,
                one.half_left_min,
                one.half_right_min,
                " ".join(row.flags),
            )
            for row in rows
            if (one := row.outline) is not None
        ),
    )
