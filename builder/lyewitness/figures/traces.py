"""One injection's chromatogram with all that was measured on it, drawn by hand as SVG.

In: a trace, its peak rows and baseline. Out: the figures `trace-<injection>`, a few kilobytes each,
for light and dark ground in one file.

`Frame` turns minutes and signal into pixels.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

import numpy as np
from matplotlib.ticker import MaxNLocator

from lyewitness.figures.labels import above
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import same_decimals
from lyewitness.figures.slimming import few_points, path_data
from lyewitness.figures.style import Look, Palette
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakOutline, PeakRow
from lyewitness.study.records import Injection
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray
from lyewitness.words.names import slug
from lyewitness.words.numbers import rounded, with_unit
from lyewitness.words.phrases import listed, sentence

PLOT_PX = 172.0
"""From the highest to the lowest point of the signal."""
# Right: half a number of the axis; above: one line of marker names; below: numbers and the name of the axis.
_RIGHT, _HEAD, _FOOT = 12.0, 31.0, 54.0


class Frame:
    """Minutes and signal to pixels from the left and downwards, and what of the sheet the words take."""

    def __init__(self, trace: Trace, look: Look) -> None:
        low, high = float(trace.signal.min()), float(trace.signal.max())
        room = 0.03 * (high - low) or 1.0
        self.start, self.end = float(trace.time_min[0]), float(trace.time_min[-1])
        self.low, self.high = low - room, high + room
        ticks = MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]).tick_values(self.low, self.high)
        self.levels = [float(tick) for tick in ticks if self.low <= tick <= self.high]
        self.width, self.top = float(look.width_px), _HEAD
        widest = max(look.words_width(words) for words in ("0", *same_decimals(self.levels)))
        self.left = 12 + ENLARGED * widest

    @property
    def floor(self) -> float:
        """Where the axis of minutes lies."""
        return self.top + PLOT_PX + 6

    @property
    def height(self) -> int:
        """Height of the sheet."""
        return round(self.floor + _FOOT - 6)

    def x(self, minutes: FloatArray | float) -> FloatArray:
        """Return pixels across."""
        span = self.width - self.left - _RIGHT
        return np.asarray(self.left + (np.asarray(minutes) - self.start) / (self.end - self.start) * span)

    def y(self, signal: FloatArray | float) -> FloatArray:
        """Return pixels down."""
        return np.asarray(self.top + (self.high - np.asarray(signal)) / (self.high - self.low) * PLOT_PX)

    def at(self, minutes: float, signal: float) -> str:
        """Return a place as the numbers of a path."""
        return f"{float(self.x(minutes)):.1f} {float(self.y(signal)):.1f}"


SMALL_PX = 480
"""Shown no wider than this, as on a telephone, a drawing is made smaller and its letters larger in it."""
ENLARGED = 1.6
"""By how much: on 358 of 640 pixels letters of 14 are then 12.5 high, and names still stand apart."""


def centred(words: str, place: float, height: float, kind: str) -> str:
    """Return centred words."""
    sort = f' class="{kind}"' if kind else ""
    return f'<text{sort} x="{place:.0f}" y="{height:.0f}" text-anchor="middle">{escape(words)}</text>'


def time_axis(frame: Frame) -> str:
    """Return the axis of minutes, every tick with its number, the axis's name below them."""
    floor, right = frame.floor, frame.width - _RIGHT
    ticks = MaxNLocator(8, steps=[1, 2, 2.5, 5, 10]).tick_values(frame.start, frame.end)
    inside = [tick for tick in ticks if frame.start <= tick <= frame.end]
    strokes = "".join(f"M{float(frame.x(tick)):.1f} {floor:.0f}v4" for tick in inside)
    numbers = "".join(
        centred(words, float(frame.x(tick)), floor + 21, "")
        for tick, words in zip(inside, same_decimals(inside), strict=True)
    )
    return (
        f'<path class="x" d="M{frame.left:.0f} {floor:.0f}H{right:.0f}{strokes}"/>{numbers}'
        f'<text x="{right:.0f}" y="{floor + 40:.0f}" text-anchor="end">time / min</text>'
    )


def signal_axis(frame: Frame, unit: str) -> str:
    """Return the axis of the signal: numbers at their height, the axis's name above all."""
    strokes = "".join(f"M{frame.left - 4:.1f} {float(frame.y(level)):.1f}h4" for level in frame.levels)
    numbers = "".join(
        f'<text x="{frame.left - 7:.0f}" y="{float(frame.y(level)) + 5:.0f}" text-anchor="end">{words}</text>'
        for level, words in zip(frame.levels, same_decimals(frame.levels), strict=True)
    )
    name = f"signal / {escape(unit)}" if unit else "signal"
    upright = f"M{frame.left:.1f} {frame.top:.1f}V{frame.floor:.0f}"
    return f'<path class="x" d="{upright}{strokes}"/>{numbers}<text x="4" y="19">{name}</text>'


@dataclass(frozen=True, eq=False, slots=True)
class Names:
    """What stands above the peaks, and where: pixels from the left, and upwards from the frame."""

    words: tuple[tuple[str, str], ...]
    """(marker, flags); `?` for a stranger."""
    sizes: FloatArray
    """(n, 2) width and height."""
    apexes: FloatArray
    """(n, 2)"""
    places: FloatArray
    """(n, 2) centre and lower edge."""
    line_px: float
    """From one line of words to the next."""

    @property
    def room(self) -> float:
        """What the words take above the frame, a line at least."""
        return float(max([self.line_px + 2, *(self.places[:, 1] + self.sizes[:, 1])]))


def names_of(
    rows: Sequence[PeakRow], strangers: Sequence[PeakOutline], trace: Trace, frame: Frame, look: Look
) -> Names:
    """Return marker names, with flags above them, at the peaks, and `?` at strangers; nothing touches."""
    named = [(row.marker, ", ".join(row.flags), row.outline) for row in rows if row.outline is not None]
    named += [("?", "", stranger) for stranger in strangers]
    words = tuple((marker, flags) for marker, flags, _ in named)
    # Names have room at the size that they have on a telephone.
    line = 1.2 * ENLARGED * look.label_px
    wide = [ENLARGED * max(look.words_width(one) for one in pair) + 6 for pair in words]
    tall = [line * (2 if flags else 1) + 2 for _, flags in words]
    across = [float(frame.x(outline.apex_min)) for _, _, outline in named]
    up = [frame.top - float(frame.y(outline.apex_signal)) for _, _, outline in named]
    sizes, apexes = np.column_stack([wide, tall]), np.column_stack([across, up])
    outline = np.column_stack([frame.x(trace.time_min), frame.top - frame.y(trace.signal)])
    return Names(words, sizes, apexes, above(apexes, sizes, outline, (frame.left, frame.width)), line)


def written(names: Names, top: float) -> Iterator[str]:
    """Yield the words as SVG, `top` being the frame's upper edge.

    From a peak to words far above it goes a leader; words have a rim of the ground, as in all figures.
    """
    yield from _leaders(names, top)
    for (marker, flags), (across, up) in zip(names.words, names.places, strict=True):
        low = top - up
        yield centred(marker, across, low - 5, "m g" if marker == "?" else "g")
        if flags:
            yield centred(flags, across, low - 5 - names.line_px, "m g")


def _leaders(names: Names, top: float) -> Iterator[str]:
    """Yield lines from peaks to words that stand more than a few pixels above them."""
    for (wide, _), (across, up), (apex, peak) in zip(names.sizes, names.places, names.apexes, strict=True):
        end = float(np.clip(apex, across - wide / 2 + 4, across + wide / 2 - 4))
        if up - peak > 8 or abs(end - apex) > 4:
            yield f'<path class="u" d="M{apex:.1f} {top - peak - 2:.1f}L{end:.1f} {top - up - 2:.1f}"/>'


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
        f'<path class="t" d="{_whole_line(trace, outlines, frame)}"/>',
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
            f"text{{fill:{palette.ink}}}.m{{fill:{palette.muted}}}.g{{stroke:{palette.ground}}}"
        )

    return (
        ".t,.x,.h,.b,.l,.u{fill:none}.t{stroke-width:1.2;stroke-linejoin:round}.a{fill-opacity:.22}"
        ".g{paint-order:stroke;stroke-width:3;stroke-linejoin:round}"
        ".h{stroke-width:2}.b{stroke-width:1.5}.l{stroke-dasharray:4 2}.u{stroke-dasharray:1 2}"
        f"text{{font:{look.label_px:g}px {look.fallback_fonts}}}"
        f"@media (max-width:{SMALL_PX}px){{text{{font-size:{ENLARGED * look.label_px:g}px}}}}"
        + colours(look.light)
        + "@media (prefers-color-scheme:dark){"
        + colours(look.dark)
        + "}"
    )


# Of a peak's foot an eye sees the corners at less than half a pixel; of noise it sees none.
ON_PEAKS_PX, ELSEWHERE_PX = 0.2, 0.5


def _line(minutes: FloatArray, signal: FloatArray, frame: Frame, tolerance: float = ELSEWHERE_PX) -> str:
    """Return a line as path data, simplified to what an eye can tell; pure noise to its extremes."""
    return path_data(*few_points(frame.x(minutes), frame.y(signal), tolerance))


def _whole_line(trace: Trace, outlines: Sequence[PeakOutline], frame: Frame) -> str:
    """Return the whole trace as path data, its peaks with more points than what lies between."""
    on_peak = np.zeros(trace.time_min.size, dtype=bool)
    for one in outlines:
        on_peak |= (trace.time_min >= one.start_min) & (trace.time_min <= one.end_min)
    turns = [0, *(np.flatnonzero(np.diff(on_peak)) + 1).tolist(), on_peak.size]
    across, up = [], []
    for start, end in pairwise(turns):
        tolerance = ON_PEAKS_PX if on_peak[start] else ELSEWHERE_PX
        if end - start < 3:
            piece = frame.x(trace.time_min[start:end]), frame.y(trace.signal[start:end])
        else:
            piece = few_points(
                frame.x(trace.time_min[start:end]), frame.y(trace.signal[start:end]), tolerance
            )
        across.append(piece[0])
        up.append(piece[1])
    return path_data(np.concatenate(across), np.concatenate(up))


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
    said = [f"On {injection.column}{after}: " + (listed(found) or "no marker") + " found."]
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
