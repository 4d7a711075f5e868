"""All chromatograms of a column over its exposure, one behind the other.

In: traces and peak rows. Out: the figures `waterfall-<column>`.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from lyewitness.figures.axes import number
from lyewitness.figures.chromatograms import (
    Rows,
    hours_of,
    last_minute,
    moved,
    peak_names,
    usable,
)
from lyewitness.figures.records import Figure
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import INK, Look
from lyewitness.figures.words import hours_words, sentence, slug, table_of
from lyewitness.findings.records import Report
from lyewitness.study.records import Column, Injection
from lyewitness.traces.records import Trace

FloatArray = NDArray[np.float64]
MOST_TRACES = 24
"""More traces than this in one waterfall would hide each other; an even choice of them is drawn."""
STEP_PX = 21.0
PEAK_STEPS = 5.0
"""Height of the highest peak of a waterfall, in steps between traces."""


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
    hours = hours_words(hours_of(shown[-1], rows))
    finding = f"over {hours}: {moved((shown[0], shown[-1]), rows)}"
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
    axes.set_xlim(0.0, last_minute(report, shown, rows))
    axes.set_ylim(-0.3 * step, (len(shown) - 1) * step + 1.02 * tall)
    for across, up in _seen(traces, floors, step, axes.get_xlim()[1], 2 * look.width_px):
        axes.plot(across, up, color=ink.colour, linewidth=look.line_px * 0.7)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    number(axes.xaxis, 8)
    axes.set_xlabel("time / min", loc="right", labelpad=3)
    _exposures(axes, [hours_of(one, rows) for one in shown], step)
    peak_names(axes, rows.get(shown[0].id, []), (len(shown) - 1) * step - floors[0], look, look.width_px - 58)
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
