"""All chromatograms of a column over its exposure, one behind the other.

In: traces and peak rows. Out: the figures `waterfall-<column>`.
"""

from collections.abc import Sequence

import numpy as np

from lyewitness.figures.axes import number
from lyewitness.figures.chromatograms import (
    Rows,
    hours_of,
    last_minute,
    lifted,
    moved,
    name_peaks,
    signal_bar,
    signal_unit,
    tallest,
    usable,
)
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import INK, GroupInk, Look
from lyewitness.findings.records import Report
from lyewitness.study.records import Column, Injection
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray
from lyewitness.words.names import slug
from lyewitness.words.phrases import exposure, sentence

MOST_TRACES = 24
"""More traces than this in one waterfall would hide each other; an even choice of them is drawn."""
LEAST_STEP_PX = 21.0
"""From one trace to the next: enough for a line of words, so that every trace has its exposure beside it."""
MOST_STEP_PX = 60.0
"""Few traces stand further apart, so that none hides another …"""
EVEN_PX = 300.0
"""… as long as all together take no more than this."""
PEAK_PX = 105.0
"""Height of the highest peak of a waterfall."""


def waterfall_figure(report: Report, look: Look, column: Column, rows: Rows) -> Figure | None:
    """Return all chromatograms of `column` over its exposure; None without two."""
    injections = usable(report, column)
    if len(injections) < 2:
        return None
    count = min(MOST_TRACES, len(injections))
    shown = [injections[i] for i in np.unique(np.linspace(0, len(injections) - 1, count).round().astype(int))]
    with applied(look):
        ink = look.group(report.study.groups.index(column.group))
        light, dark, height = _draw(report, shown, rows, look, ink)
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


def _draw(
    report: Report, shown: Sequence[Injection], rows: Rows, look: Look, ink: GroupInk
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height; the axes count minutes and pixels."""
    traces = [report.traces[one.id] for one in shown]
    words = [exposure(hours_of(one, rows)) for one in shown]
    unit, scale = signal_unit(traces), PEAK_PX / tallest(traces)
    right = max(12 + max(look.words_width(word) for word in words), 22 + look.words_width(unit))
    wide, end = look.width_px - 14 - right, last_minute(report, shown, rows)
    step = max(LEAST_STEP_PX, 1.3 * look.label_px, min(MOST_STEP_PX, EVEN_PX / (len(shown) - 1)))
    back = (len(shown) - 1) * step
    oldest = lifted(traces[0], rows.get(shown[0].id, []), look, end, wide, scale)
    tall = back + max(oldest.room, PEAK_PX) + 12
    sheet = new_sheet(look.width_px, tall + 52)
    axes = panel(sheet, 14, 4, wide, tall)
    axes.set_xlim(0.0, end)
    axes.set_ylim(-8, tall - 8)
    for across, up in _seen(traces, scale, step, end, 2 * look.width_px):
        axes.plot(across, up, color=ink.colour, linewidth=look.line_px * 0.7)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    number(axes.xaxis, 8)
    axes.set_xlabel("time / min", loc="right", labelpad=3)
    for row, word in enumerate(words):
        axes.annotate(
            word, (1, back - row * step), (7, 0), color=INK, va="center_baseline",
            xycoords=("axes fraction", "data"), textcoords="offset points",
        )  # fmt: skip
    name_peaks(axes, oldest, back)
    signal_bar(axes, back + 1.6 * look.label_px, PEAK_PX - 1.6 * look.label_px, scale, unit)
    return (*finished(sheet, look), round(tall + 52))


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
