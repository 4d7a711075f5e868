"""The first and the last chromatogram of a typical column, on one time axis.

In: traces and peak rows. Out: the figures `first-last-<group>`.
"""

from matplotlib.axes import Axes

from lyewitness.figures.axes import number
from lyewitness.figures.chromatograms import (
    Lifted,
    Rows,
    hours_of,
    last_minute,
    lifted,
    moved,
    name_peaks,
    signal_bar,
    signal_unit,
    tallest,
    typical_column,
    usable,
)
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import INK, MUTED, GroupInk, Look
from lyewitness.findings.records import Report
from lyewitness.study.records import Column, Injection
from lyewitness.words.names import slug
from lyewitness.words.phrases import exposure, sentence

WORDS = ("first", "last")
SHARE = 0.625
"""Width of this figure, as share of one that fills the main column: two or three stand side by side."""
PEAK_PX = 92.0
"""Height of the highest peak."""
LEAST_ROOM_PX = 34.0
"""Room for names above the peaks, so that figures beside each other have their traces at one height."""


def first_last_figure(report: Report, look: Look, group: str, rows: Rows) -> Figure | None:
    """Return the first and the last chromatogram of a typical column of `group`; None without two."""
    column = typical_column(report, group)
    injections = usable(report, column)
    if len(injections) < 2:
        return None
    pair = (injections[0], injections[-1])
    width, ink = round(SHARE * look.width_px), look.group(report.study.groups.index(group))
    with applied(look):
        light, dark, height = _draw_pair(report, pair, rows, look, width, ink)
        narrow, narrow_dark, low = _draw_pair(report, pair, rows, look, look.narrow().width_px, ink)
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
        height_px=height,
        table=_pair_table(pair, rows),
        narrow=narrow,
        narrow_dark=narrow_dark,
        narrow_width_px=look.narrow().width_px,
        narrow_height_px=low,
    )


def _draw_pair(
    report: Report, pair: tuple[Injection, Injection], rows: Rows, look: Look, width: int, ink: GroupInk
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height; the axes count minutes and pixels."""
    traces = [report.traces[one.id] for one in pair]
    words = [f"{word}\n{exposure(hours_of(one, rows))}" for word, one in zip(WORDS, pair, strict=True)]
    scale = PEAK_PX / tallest(traces)
    unit = signal_unit(traces)
    right = 12 + max(look.words_width(line) for word in words for line in word.split("\n"))
    right = max(right, 22 + look.words_width(unit))
    wide, end = width - 14 - right, last_minute(report, pair, rows)
    above, below = (
        lifted(trace, rows.get(one.id, []), look, end, wide, scale)
        for trace, one in zip(traces, pair, strict=True)
    )
    lift = 14 + max(below.room, PEAK_PX + LEAST_ROOM_PX)
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
    signal_bar(axes, look.label_px * 1.6, lift - 3.2 * look.label_px, scale, unit)
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
