"""The first and the last chromatogram of a typical column, on one time axis.

In: traces and peak rows. Out: the figures `first-last-<group>`.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from lyewitness.figures.axes import number
from lyewitness.figures.chromatograms import (
    Rows,
    hours_of,
    last_minute,
    moved,
    peak_names,
    thinned,
    typical_column,
    usable,
)
from lyewitness.figures.records import Figure
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import INK, MUTED, Look
from lyewitness.figures.words import hours_words, sentence, slug, table_of
from lyewitness.findings.records import Report
from lyewitness.study.records import Column, Injection
from lyewitness.traces.records import Trace

PAIR_HEIGHT_PX = 300


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
        alt=sentence(f"Two chromatograms of {column.label} on one time axis. {moved(pair, rows)}"),
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
    axes.set_xlim(0.0, last_minute(report, pair, rows) / (1.04 - words_width))
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    number(axes.xaxis, 6)
    axes.set_xlabel("time / min", loc="right", labelpad=3)
    raised = [lift - floor for lift, floor in zip(lifts, floors, strict=True)]
    name_height = (look.label_px + 7) * 2.45 * tall / (PAIR_HEIGHT_PX - 70)
    _join_apexes(axes, pair, rows, (raised[0], raised[1] + name_height))
    for injection, lift, word in zip(pair, lifts, ("first", "last"), strict=True):
        hours = hours_words(hours_of(injection, rows))
        axes.annotate(
            f"{word}, {hours}", (1, lift), (0, 4), textcoords="offset points",
            xycoords=("axes fraction", "data"), ha="right", va="bottom", color=INK,
        )  # fmt: skip
        peak_names(axes, rows.get(injection.id, []), raised[pair.index(injection)], look, width)
    return finished(sheet, look)


def _trace_line(axes: Axes, trace: Trace, lift: float, colour: str, width_px: float, wide: float) -> None:
    """Draw a trace lifted by `lift`."""
    across, up = thinned(trace, wide)
    axes.plot(across, up + lift, color=colour, linewidth=width_px, solid_joinstyle="round", zorder=3)


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


def _pair_caption(group: str, column: Column, pair: tuple[Injection, Injection], rows: Rows) -> str:
    """Say how the peaks moved, then what is drawn."""
    hours = hours_words(hours_of(pair[1], rows))
    finding = sentence(f"{column.label}, typical of {group}, over {hours}: {moved(pair, rows)}")
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
