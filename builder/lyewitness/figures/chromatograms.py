"""Chromatograms of one column: the first and the last on one axis, and all of them one behind the other.

In: a report's traces and peak rows. Out: injections, arrays and words; names drawn on axes.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.transforms import ScaledTranslation

from lyewitness.figures.common_scales import (
    Common,
    Rows,
    first_and_last,
    last_minute,
    tallest,
    typical_column,
    usable,
)
from lyewitness.figures.labels import above
from lyewitness.figures.pictures import round_length
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, finished, new_sheet, number, panel
from lyewitness.figures.slimming import HALOED, few_points
from lyewitness.figures.style import INK, MUTED, NARROW_PX, GroupInk, Look
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Column, Injection
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray
from lyewitness.words.names import slug
from lyewitness.words.numbers import rounded, stated, with_unit
from lyewitness.words.phrases import exposure, listed, sentence


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


def bar_room(peak_px: float, px_per_signal: float, unit: str, look: Look) -> float:
    """Return the room that the words beside a bar about as high as a peak take, with the bar, pixels.

    How high it can be is known only when all else is drawn: a factor of two either way is one sign more.
    """
    heights = (round_length(share * peak_px / px_per_signal) for share in (0.5, 1.0, 2.0))
    words = (line for height in heights for line in bar_words(height, unit).split("\n"))
    return 22 + max(look.words_width(line) for line in words)


def bar_words(height: float, unit: str) -> str:
    """Return a bar's height, on two lines with its unit."""
    return f"{stated(height)}\n{unit}" if unit else stated(height)


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


WORDS = ("first", "last")
SHARE = 0.625
"""Width of this figure, as share of one that fills the main column: two or three stand side by side."""
PEAK_PX = 92.0
"""Height of the highest peak."""
LEAST_ROOM_PX = 34.0
"""Room for names above the peaks, so that figures beside each other have their traces at one height."""


def first_last_figure(report: Report, look: Look, group: str, common: Common, rows: Rows) -> Figure | None:
    """Return the first and the last chromatogram of a typical column of `group`; None without two."""
    column = typical_column(report, group)
    pair = first_and_last(report, group)
    if pair is None:
        return None
    width, ink = round(SHARE * look.width_px), look.group(report.study.groups.index(group))
    with applied(look):
        light, dark, height = _draw_pair(report, pair, rows, look, width, ink, common)
        narrow, narrow_dark, low = _draw_pair(report, pair, rows, look, look.narrow().width_px, ink, common)
    name = f"first-last-{slug(group)}"
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"First and last chromatogram of {group}",
        caption=_pair_caption(group, column, pair, rows),
        alt=sentence(f"Two chromatograms of {column.label} on one time axis. {moved(pair, rows)}"),
        width_px=width,
        height_px=height,
        table=_pair_table(pair, rows),
        narrow=narrow,
        narrow_dark=narrow_dark,
        narrow_width_px=look.narrow().width_px,
        narrow_height_px=low,
    )


def _draw_pair(
    report: Report,
    pair: tuple[Injection, Injection],
    rows: Rows,
    look: Look,
    width: int,
    ink: GroupInk,
    common: Common,
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height; the axes count minutes and pixels."""
    traces = [report.traces[one.id] for one in pair]
    words = [f"{word}\n{exposure(hours_of(one, rows))}" for word, one in zip(WORDS, pair, strict=True)]
    scale = PEAK_PX / (common.tallest or tallest(traces))
    unit = signal_unit(traces)
    right = 12 + max(look.words_width(line) for word in words for line in word.split("\n"))
    right = max(right, bar_room(PEAK_PX, scale, unit, look))
    wide, end = width - 14 - right, common.end_min or last_minute(report, pair, rows)
    above, below = (
        lifted(trace, rows.get(one.id, []), look, end, wide, scale)
        for trace, one in zip(traces, pair, strict=True)
    )
    least = 14 + PEAK_PX + LEAST_ROOM_PX
    lift = max(14 + below.room, least)
    tall = lift + max(above.room, PEAK_PX + LEAST_ROOM_PX) + 8
    sheet = new_sheet(width, tall + 52)
    axes = panel(sheet, 14, 4, wide, tall)
    axes.set_xlim(0.0, end)
    axes.set_ylim(-8, tall - 8)
    _join_apexes(axes, above, below, lift)
    for trace, up, colour, word in zip((above, below), (lift, 0.0), (MUTED, ink.colour), words, strict=True):
        axes.plot(trace.across, trace.up + up, color=colour, linewidth=look.line_px, zorder=3)
        name_peaks(axes, trace, up)
        axes.annotate(
            word, (1, up), (7, 0), textcoords="offset points", xycoords=("axes fraction", "data"),
            va="center", color=INK, linespacing=1.1,
        )  # fmt: skip
    # As high as in the figures beside it, whatever room names take in one of them.
    signal_bar(axes, look.label_px * 1.6, least - 3.2 * look.label_px, scale, unit)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    number(axes.xaxis, 6)
    axes.set_xlabel("time / min", loc="right", labelpad=3)
    return (*finished(sheet, look), round(tall + 52))


def _join_apexes(axes: Axes, before: Lifted, after: Lifted, lift: float) -> None:
    """Join one marker's foot above to its name below, so that the shift can be seen."""
    for marker, (start, _) in zip(before.markers, before.apexes, strict=True):
        if marker in after.markers:
            place = after.markers.index(marker)
            (end, _), (_, name) = after.apexes[place], after.names[place]
            axes.plot([start, end], [lift - 2, name + 20], ":", color=MUTED, linewidth=0.9, zorder=1)


def _pair_caption(group: str, column: Column, pair: tuple[Injection, Injection], rows: Rows) -> str:
    """Say how the peaks moved, then what is drawn."""
    hours = exposure(hours_of(pair[1], rows))
    finding = sentence(f"{column.label}, typical of {group}, over {hours}: {moved(pair, rows)}")
    return (
        f"{finding} Above: the first injection; below: the last, on the same scales; dotted: the same "
        "marker; bar: signal."
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


@dataclass(frozen=True, slots=True)
class Stack:
    """How many traces stand behind each other, and how far apart; all lengths in pixels."""

    most: int
    """More traces than this would hide each other; an even choice of them is drawn."""
    least_step: float
    """From one trace to the next at the least."""
    most_step: float
    """Few traces stand further apart, so that none hides another …"""
    even: float
    """… as long as all together take no more than this."""
    peak: float
    """Height of the highest peak."""
    foot: float
    """Below the front trace, with the numbers of the axis; its name stands below them where there is room."""


STACK = Stack(most=24, least_step=21.0, most_step=60.0, even=300.0, peak=105.0, foot=52.0)
"""A line of words from one trace to the next, so that every trace has its exposure beside it."""
LOW = Stack(most=8, least_step=17.0, most_step=30.0, even=119.0, peak=76.0, foot=34.0)
"""A fifth of a printed page, 50 mm: what the page of a column has left below its metrics."""
LOWEST = Stack(most=7, least_step=9.0, most_step=30.0, even=54.0, peak=42.0, foot=34.0)
"""32 mm: the page of the first column bears the head of its part, too."""


def waterfall_figure(report: Report, look: Look, column: Column, rows: Rows) -> Figure | None:
    """Return all chromatograms of `column` over its exposure; None without two."""
    injections = usable(report, column)
    if len(injections) < 2:
        return None
    shown = _evenly(injections, STACK.most)
    with applied(look):
        ink = look.group(report.study.groups.index(column.group))
        light, dark, height = _draw(report, shown, rows, look, ink, STACK)
    name = f"waterfall-{slug(column.id)}"
    hours = exposure(hours_of(shown[-1], rows))
    finding = f"over {hours}: {moved((shown[0], shown[-1]), rows)}"
    meaning = "Oldest at the back, all on one scale, the exposure beside each; bar: signal"
    if len(shown) < len(injections):
        meaning += f"; {len(shown)} of {len(injections)} injections, evenly chosen"
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"Chromatograms of {column.label} over the exposure",
        caption=f"{sentence(f'{column.label} {finding}')} {meaning}.",
        alt=sentence(f"{len(shown)} chromatograms of {column.label} one behind the other; {finding}"),
        width_px=look.width_px,
        height_px=height,
        table=_waterfall_table(shown, rows),
        low=_low(report, look, column, rows) if look.width_px > NARROW_PX else None,
    )


def _evenly(injections: Sequence[Injection], most: int) -> list[Injection]:
    """Return at most so many of the injections, the first and the last among them."""
    count = min(most, len(injections))
    return [injections[i] for i in np.unique(np.linspace(0, len(injections) - 1, count).round().astype(int))]


def _low(report: Report, look: Look, column: Column, rows: Rows) -> Figure:
    """Return a few of the chromatograms, told of in as few words: the site has all."""
    injections = usable(report, column)
    stack = LOWEST if column == report.study.columns[0] else LOW
    shown = _evenly(injections, stack.most)
    with applied(look):
        ink = look.group(report.study.groups.index(column.group))
        light, _, height = _draw(report, shown, rows, look, ink, stack)
    name, deciding = f"waterfall-{slug(column.id)}", report.judgement.deciding[0]
    told = {one: [row for row in own if row.marker == deciding] for one, own in rows.items()}
    pair, all_shown = (shown[0], shown[-1]), len(shown) == len(injections)
    ends, hours = moved(pair, told) or moved(pair, rows), exposure(hours_of(shown[-1], rows))
    told_first = f"Over {hours} {ends}".strip()
    many = "all injections" if all_shown else f"{len(shown)} of {len(injections)} injections"
    return Figure(
        id=name,
        file=f"figures/{name}-low.svg",
        data=light,
        title=f"Chromatograms of {column.label}",
        caption=f"{sentence(told_first)} Oldest at the back, on one scale; {many}; bar: signal.",
        alt=sentence(f"{len(shown)} chromatograms of {column.label} one behind the other; {ends}"),
        width_px=look.width_px,
        height_px=height,
    )


def _waterfall_table(shown: Sequence[Injection], rows: Rows) -> tuple[tuple[str, ...], ...]:
    """Return the apexes of the drawn traces."""
    cells = (
        (row.injection, row.exposure_h, row.marker, row.retention_time_min, row.peak_height)
        for injection in shown
        for row in rows.get(injection.id, [])
    )
    return table_of(("injection", "exposure_h", "marker", "retention_time_min", "peak_height"), cells)


def _draw(
    report: Report, shown: Sequence[Injection], rows: Rows, look: Look, ink: GroupInk, stack: Stack
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height; the axes count minutes and pixels."""
    traces = [report.traces[one.id] for one in shown]
    words = [exposure(hours_of(one, rows)) for one in shown]
    unit, scale = signal_unit(traces), stack.peak / tallest(traces)
    beside = stack.foot < BELOW_PX
    right = max(12 + max(look.words_width(word) for word in words), bar_room(stack.peak, scale, unit, look))
    right = max(right, 10 + look.words_width(TIME)) if beside else right
    wide, end = look.width_px - 14 - right, last_minute(report, shown, rows)
    spread = min(stack.most_step, stack.even / (len(shown) - 1))
    step = max(stack.least_step, spread) if beside else max(stack.least_step, 1.3 * look.label_px, spread)
    back = (len(shown) - 1) * step
    oldest = lifted(traces[0], rows.get(shown[0].id, []), look, end, wide, scale)
    tall = back + max(oldest.room, stack.peak) + 12
    sheet = new_sheet(look.width_px, tall + stack.foot)
    axes = panel(sheet, 14, 4, wide, tall)
    axes.set_xlim(0.0, end)
    axes.set_ylim(-8, tall - 8)
    for across, up in _seen(traces, scale, step, end, 2 * look.width_px):
        axes.plot(across, up, color=ink.colour, linewidth=look.line_px * 0.7)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    number(axes.xaxis, 8)
    if beside:
        axes.annotate(
            TIME, (1, 0), (7, -5), color=INK, va="top", xycoords="axes fraction", textcoords="offset points"
        )
    else:
        axes.set_xlabel(TIME, loc="right", labelpad=3)
    for row in _worded(len(words), step, look):
        axes.annotate(
            words[row], (1, back - row * step), (7, 0), color=INK, va="center_baseline",
            xycoords=("axes fraction", "data"), textcoords="offset points",
        )  # fmt: skip
    name_peaks(axes, oldest, back)
    signal_bar(axes, back + 1.6 * look.label_px, stack.peak - 1.6 * look.label_px, scale, unit)
    return (*finished(sheet, look), round(tall + stack.foot))


TIME = "time / min"
BELOW_PX = 50.0
"""Foot of a drawing that holds the numbers of an axis and its name below them."""


def _worded(count: int, step: float, look: Look) -> list[int]:
    """Return which of so many traces have their exposure beside them: the ends, others as room allows."""
    room = int((count - 1) * step / (1.2 * look.label_px)) + 1
    return [int(row) for row in np.unique(np.linspace(0, count - 1, min(count, room)).round())]


def _seen(
    traces: Sequence[Trace], scale: float, step: float, end: float, points: int
) -> list[tuple[FloatArray, FloatArray]]:
    """Return each trace lifted to its place (pixels), NaN where a trace in front of it hides it.

    From the front to the back, the outline of all that stands in front is carried along.
    """
    grid = np.linspace(0.0, end, points)
    outline = np.full(points, -np.inf)
    seen = []
    for row, trace in enumerate(traces[::-1]):
        signal = (trace.signal - np.median(trace.signal)) * scale
        up = np.interp(grid, trace.time_min, signal, left=np.nan, right=np.nan) + row * step
        seen.append((grid, np.where(up >= outline, up, np.nan)))
        outline = np.fmax(outline, up)
    return seen
