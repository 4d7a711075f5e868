"""One injection's chromatogram with all that was measured on it, drawn by hand as SVG.

In: a trace, its peak rows and baseline. Out: the figures `trace-<injection>`, a few kilobytes each,
for light and dark ground in one file.
"""

from collections.abc import Sequence
from html import escape

import numpy as np
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from lyewitness.figures.axes import same_decimals
from lyewitness.figures.labels import spread
from lyewitness.figures.polylines import few_points, path_data
from lyewitness.figures.records import Figure
from lyewitness.figures.style import Look, Palette
from lyewitness.figures.words import listed, sentence, slug, table_of
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakOutline, PeakRow
from lyewitness.quantities import rounded, with_unit
from lyewitness.study.records import Injection
from lyewitness.traces.records import Trace

FloatArray = NDArray[np.float64]
HEIGHT_PX = 260
_LEFT, _RIGHT, _TOP, _BOTTOM = 12.0, 12.0, 46.0, 44.0


class _Frame:
    """Minutes and signal to pixels."""

    def __init__(self, trace: Trace, width: int, low: float, high: float) -> None:
        self.start, self.end = float(trace.time_min[0]), float(trace.time_min[-1])
        self.width, self.low, self.high = width, low, high

    def x(self, minutes: FloatArray | float) -> FloatArray:
        """Return pixels across."""
        span = self.width - _LEFT - _RIGHT
        return np.asarray(_LEFT + (np.asarray(minutes) - self.start) / (self.end - self.start) * span)

    def y(self, signal: FloatArray | float) -> FloatArray:
        """Return pixels down."""
        span = HEIGHT_PX - _TOP - _BOTTOM
        return np.asarray(_TOP + (self.high - np.asarray(signal)) / (self.high - self.low) * span)

    def at(self, minutes: float, signal: float) -> str:
        """Return a place as the numbers of a path."""
        return f"{float(self.x(minutes)):.1f} {float(self.y(signal)):.1f}"


def trace_figure(report: Report, look: Look, injection: Injection, rows: Sequence[PeakRow]) -> Figure:
    """Return the chromatogram of `injection`; `rows` are its peak rows."""
    trace = report.traces[injection.id]
    group = report.study.groups.index(report.study.column(injection.column).group)
    baseline = report.measurements.baselines.get(injection.id)
    strangers = report.measurements.unassigned.get(injection.id, ())
    name = f"trace-{slug(injection.id)}"
    found = [row for row in rows if row.outline is not None]
    return Figure(
        id=name,
        file=f"figures/traces/{slug(injection.id)}.svg",
        data=_svg(trace, found, baseline, strangers, look, group).encode(),
        title=f"Injection {injection.id}",
        caption=_caption(injection, rows),
        alt=sentence(
            f"Chromatogram of injection {injection.id}: " + (_peaks_in_words(found) or "no peak found")
        ),
        width_px=look.width_px,
        height_px=HEIGHT_PX,
        table=_table(rows),
    )


def _svg(
    trace: Trace,
    rows: Sequence[PeakRow],
    baseline: tuple[FloatArray, FloatArray] | None,
    strangers: Sequence[PeakOutline],
    look: Look,
    group: int,
) -> str:
    low, high = float(trace.signal.min()), float(trace.signal.max())
    room = 0.03 * (high - low) or 1.0
    frame = _Frame(trace, look.width_px, low - room, high + room)
    outlines = [row.outline for row in rows if row.outline is not None]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{look.width_px}" height="{HEIGHT_PX}" '
        f'viewBox="0 0 {look.width_px} {HEIGHT_PX}"><style>{_styles(look, group)}</style>',
        *(_area(trace, outline, frame) for outline in outlines),
        _time_axis(frame, trace),
        _baseline(baseline, outlines, frame),
        f'<path class="t" d="{_line(trace.time_min, trace.signal, frame)}"/>',
        *(_bounds(outline, frame, "b") for outline in outlines),
        *(_half_width(outline, frame) for outline in outlines),
        *(_bounds(outline, frame, "u") for outline in strangers),
        *_names(rows, strangers, frame, look),
        "</svg>",
    ]
    return "".join(parts)


def _styles(look: Look, group: int) -> str:
    """Return the classes, with the dark ground's colours where the reader prefers them."""
    index = group % len(look.light.groups)

    def colours(palette: Palette) -> str:
        own = palette.groups[index]
        return (
            f".t,.x{{stroke:{palette.ink}}}.a{{fill:{own}}}.h,.b{{stroke:{own}}}.l,.u{{stroke:{palette.muted}}}"
            f"text{{fill:{palette.ink}}}.m{{fill:{palette.muted}}}"
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


def _line(minutes: FloatArray, signal: FloatArray, frame: _Frame) -> str:
    """Return a line as path data, simplified to what an eye can tell; pure noise to its extremes."""
    return path_data(*few_points(frame.x(minutes), frame.y(signal), 0.4))


def _area(trace: Trace, outline: PeakOutline, frame: _Frame) -> str:
    """Return the peak's area between signal and baseline."""
    inside = (trace.time_min >= outline.start_min) & (trace.time_min <= outline.end_min)
    if inside.sum() < 2:
        return ""
    end, start = (outline.end_min, outline.baseline_end), (outline.start_min, outline.baseline_start)
    closing = f"L{frame.at(*end)}L{frame.at(*start)}z"
    return f'<path class="a" d="{_line(trace.time_min[inside], trace.signal[inside], frame)}{closing}"/>'


def _baseline(
    baseline: tuple[FloatArray, FloatArray] | None, outlines: Sequence[PeakOutline], frame: _Frame
) -> str:
    """Return the baseline: the measured one, or where there is none the straight one below each peak."""
    if baseline is not None and baseline[0].size > 1:
        return f'<path class="l" d="{_line(baseline[0], baseline[1], frame)}"/>'
    pieces = "".join(
        f"M{frame.at(one.start_min, one.baseline_start)}L{frame.at(one.end_min, one.baseline_end)}"
        for one in outlines
    )
    return f'<path class="l" d="{pieces}"/>' if pieces else ""


def _bounds(outline: PeakOutline, frame: _Frame, kind: str) -> str:
    """Return short upright strokes where the peak begins and ends."""
    strokes = "".join(
        f"M{float(frame.x(minutes)):.1f} {float(frame.y(level)) - 5:.1f}v10"
        for minutes, level in (
            (outline.start_min, outline.baseline_start),
            (outline.end_min, outline.baseline_end),
        )
    )
    return f'<path class="{kind}" d="{strokes}"/>'


def _half_width(outline: PeakOutline, frame: _Frame) -> str:
    """Return the width at half height."""
    right = float(frame.x(outline.half_right_min))
    return f'<path class="h" d="M{frame.at(outline.half_left_min, outline.half_signal)}H{right:.1f}"/>'


def _names(rows: Sequence[PeakRow], strangers: Sequence[PeakOutline], frame: _Frame, look: Look) -> list[str]:
    """Return marker names above their peaks, flags above the names; '?' for strangers."""
    named = [(row, row.outline, ", ".join(row.flags)) for row in rows if row.outline is not None]
    wide = [max(look.words_width(row.marker), look.words_width(flags)) + 6 for row, _, flags in named]
    apexes = [float(frame.x(outline.apex_min)) for _, outline, _ in named]
    ends = (wide[0] / 2, frame.width - wide[-1] / 2) if wide else (0.0, 0.0)
    written = []
    for (row, outline, flags), place in zip(named, spread(apexes, wide, *ends), strict=True):
        above = float(frame.y(outline.apex_signal))
        written.append(_words(row.marker, float(place), above - 8, "", look))
        written += [_words(flags, float(place), above - 23, "m", look)] if flags else []
    for stranger in strangers:
        above = float(frame.y(stranger.apex_signal))
        written.append(_words("?", float(frame.x(stranger.apex_min)), above - 6, "m", look))
    return written


def _words(words: str, place: float, height: float, kind: str, look: Look) -> str:
    """Return centred words that stay below the picture's upper edge."""
    sort = f' class="{kind}"' if kind else ""
    height = max(height, look.label_px)
    return f'<text{sort} x="{place:.0f}" y="{height:.0f}" text-anchor="middle">{escape(words)}</text>'


def _time_axis(frame: _Frame, trace: Trace) -> str:
    """Return the axis of minutes, and the height of the picture in signal units."""
    floor = HEIGHT_PX - _BOTTOM + 6
    ticks = MaxNLocator(8, steps=[1, 2, 2.5, 5, 10]).tick_values(frame.start, frame.end)
    inside = [tick for tick in ticks if frame.start <= tick <= frame.end]
    strokes = "".join(f"M{float(frame.x(tick)):.1f} {floor:.0f}v4" for tick in inside)
    numbers = "".join(
        f'<text x="{float(frame.x(tick)):.0f}" y="{floor + 18:.0f}" text-anchor="middle">{words}</text>'
        for tick, words in zip(inside[:-1], same_decimals(inside), strict=False)
    )
    unit = f" / {escape(trace.signal_unit)}" if trace.signal_unit else ""
    tall = f"signal{unit}, highest {rounded(float(trace.signal.max()))}"
    return (
        f'<path class="x" d="M{_LEFT:.0f} {floor:.0f}H{frame.width - _RIGHT:.0f}{strokes}"/>{numbers}'
        f'<text x="{frame.width - _RIGHT:.0f}" y="{floor + 18:.0f}" text-anchor="end">time / min</text>'
        f'<text class="m" x="{_LEFT:.0f}" y="14">{tall}</text>'
    )


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


def _peaks_in_words(rows: Sequence[PeakRow]) -> str:
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
