"""Small multiples: all metrics of one column, or of one marker over all columns, on common axes.

In: declines. Out: the figures `column-<column>` and `marker-<marker>`.
"""

from collections.abc import Callable, Sequence
from textwrap import wrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet

from lyewitness.decline.records import Decline
from lyewitness.figures.axes import number
from lyewitness.figures.decline_curves import dots
from lyewitness.figures.records import Figure
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import FAINT, INK, MUTED, GroupInk, Look
from lyewitness.figures.words import (
    life_words,
    metric_name,
    percent_words,
    sentence,
    slug,
    stated,
    subject,
    table_of,
)
from lyewitness.findings.records import Report
from lyewitness.quantities import with_unit
from lyewitness.study.records import Column

ACROSS = 3
PANEL_PX = 128.0
"""Height of one panel's axes."""
LEFT_PX, GAP_PX, TOP_PX, FOOT_PX = 44.0, 20.0, 36.0, 46.0
HIGHEST_PERCENT = 200.0
"""Lines that go higher leave their panel: else one metric would flatten all others."""

InkOf = Callable[[Decline], GroupInk]


def column_figure(report: Report, look: Look, column: Column) -> Figure | None:
    """Return every metric of `column` over its exposure, all markers; None where nothing was followed."""
    declines = [
        one for one in report.judgement.declines if one.series.column == column.id and one.percent.size
    ]
    if not declines:
        return None
    markers = list(dict.fromkeys(one.series.marker for one in declines if one.series.marker))
    colour = look.group(report.study.groups.index(column.group)).colour

    def ink_of(one: Decline) -> GroupInk:
        place = markers.index(one.series.marker) if one.series.marker else 0
        return GroupInk(colour, look.marks[place % len(look.marks)], look.dashes[place % len(look.dashes)])

    inks = {
        marker: ink_of(next(one for one in declines if one.series.marker == marker)) for marker in markers
    }
    with applied(look):
        light, dark, height = _draw(declines, ink_of, inks, look)
    limited = [one for one in declines if one.limit is not None]
    name = f"column-{slug(column.id)}"
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"{column.label}: every metric over its exposure",
        caption=f"{_passed(column.label, limited)} {_meaning('markers')}",
        alt=sentence(f"{len(_metrics(declines))} panels of {column.label}: " + _left(declines)),
        width_px=look.width_px,
        height_px=height,
        table=_table(declines),
    )


def marker_figure(report: Report, look: Look, marker: str) -> Figure | None:
    """Return every metric of `marker` over the exposure, all columns; None where nothing was followed."""
    declines = [one for one in report.judgement.declines if one.series.marker == marker and one.percent.size]
    if not declines:
        return None
    groups = report.study.groups
    inks = {group: look.group(i) for i, group in enumerate(groups)}
    with applied(look):
        light, dark, height = _draw(declines, lambda one: inks[one.series.group], inks, look)
    name = f"marker-{slug(marker)}"
    passed = [one for one in declines if one.life.state == "reached"]
    failed = len({one.series.column for one in passed})
    finding = (
        f"{failed} of {len({one.series.column for one in declines})} columns passed a limit by {marker}."
        if any(one.limit is not None for one in declines)
        else f"No limit stands on {marker}."
    )
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"{marker}: every metric on every column",
        caption=f"{finding} {_meaning('groups')}",
        alt=sentence(f"{len(_metrics(declines))} panels of {marker}: " + _left(declines)),
        width_px=look.width_px,
        height_px=height,
        table=_table(declines),
    )


def _metrics(declines: Sequence[Decline]) -> tuple[str, ...]:
    """Return the metrics, limited ones first."""
    names = dict.fromkeys(one.series.metric for one in declines)
    limited = {one.series.metric for one in declines if one.limit is not None}
    return tuple(sorted(names, key=lambda metric: metric not in limited))


def _draw(
    declines: Sequence[Decline], ink_of: InkOf, inks: dict[str, GroupInk], look: Look
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height."""
    metrics = _metrics(declines)
    rows = -(-len(metrics) // ACROSS)
    wide = (look.width_px - LEFT_PX - (ACROSS - 1) * GAP_PX - 8) / ACROSS
    titles = [_title(metric, wide, look) for metric in metrics]
    tall = PANEL_PX + 22 + 1.2 * look.label_px * max(title.count("\n") + 1 for title in titles)
    height = round(TOP_PX + rows * tall + FOOT_PX - 12)
    sheet = new_sheet(look.width_px, height)
    _key(sheet, inks, look)
    low, high = _common(declines)
    end = max(float(one.series.exposure_h[-1]) for one in declines) or 1.0
    for place, metric in enumerate(metrics):
        row, across = divmod(place, ACROSS)
        left, top = LEFT_PX + across * (wide + GAP_PX), TOP_PX + (row + 1) * tall - PANEL_PX - 12
        axes = panel(sheet, left, top, wide, PANEL_PX)
        axes.set_xlim(0, 1.02 * end)
        axes.set_ylim(low, high)
        _panel(axes, [one for one in declines if one.series.metric == metric], ink_of, look)
        _dress(axes, titles[place], across == 0, place + ACROSS >= len(metrics))
    return (*finished(sheet, look), height)


def _common(declines: Sequence[Decline]) -> tuple[float, float]:
    """Return the common axis of percent."""
    values = np.concatenate([one.percent for one in declines])
    limits = [one.limit_percent for one in declines if one.limit_percent is not None]
    low = min(float(np.min(values)), *limits, 80.0)
    high = max(float(np.max(values)), *limits, 110.0)
    return max(0.0, low - 5), min(high + 5, HIGHEST_PERCENT)


def _panel(axes: Axes, declines: Sequence[Decline], ink_of: InkOf, look: Look) -> None:
    """Draw one metric: limit, curves, points."""
    axes.axhline(100, color=FAINT, linewidth=1.0, zorder=0.5)
    for limit in dict.fromkeys(one.limit for one in declines if one.limit is not None):
        percents = [p for one in declines if one.limit == limit and (p := one.limit_percent) is not None]
        if percents:
            axes.axhspan(min(percents), max(percents), color=MUTED, alpha=0.15, linewidth=0, zorder=0.5)
            axes.axhline(float(np.median(percents)), color=INK, linewidth=0.8, dashes=(4, 2), zorder=2)
    for one in declines:
        ink = ink_of(one)
        fitted = one.curve_h.size > 0
        across, up = (one.curve_h, one.curve_percent) if fitted else (one.series.exposure_h, one.percent)
        dashes = ink.dashes or (None, None)
        axes.plot(across, up, color=ink.colour, linewidth=look.line_px * 0.7, dashes=dashes, zorder=3)
        dots(axes, one.series.exposure_h, one.percent, ink.colour, 2.6)


def _title(metric: str, wide: float, look: Look) -> str:
    """Return the metric's words on as many lines as the panel needs."""
    letters = int(wide / (look.words_width("plate number (half height)") / 26))
    return "\n".join(wrap(metric_name(metric), letters))


def _dress(axes: Axes, title: str, first: bool, lowest: bool) -> None:
    """Title the panel with its metric; numbers only where the row or the column of panels begins."""
    axes.set_title(title, loc="left", pad=5, linespacing=1.1)
    number(axes.xaxis, 4)
    number(axes.yaxis, 5)
    axes.tick_params(labelleft=first, labelbottom=lowest)
    if lowest:
        axes.set_xlabel("exposure / h", loc="right", labelpad=3)


def _key(sheet: Sheet, inks: dict[str, GroupInk], look: Look) -> None:
    """Say above the panels which line is which: a sample of each and its name; then the common unit."""
    top = panel(sheet, 0, 0, look.width_px, 26)
    top.set_axis_off()
    top.set_xlim(0, look.width_px)
    top.set_ylim(0, 26)
    place = 10.0
    for name, ink in inks.items():
        dashes = ink.dashes or (None, None)
        top.plot([place, place + 26], [12, 12], color=ink.colour, linewidth=look.line_px, dashes=dashes)
        top.plot([place + 13], [12], ink.mark, color=ink.colour)
        top.text(place + 33, 12, name, va="center_baseline")
        place += 33 + look.words_width(name) + 22
    top.text(look.width_px - 8, 12, "% of reference", ha="right", va="center_baseline")


def _meaning(lines: str) -> str:
    """Say what is drawn."""
    return (
        f"In percent of each column’s own reference, on common axes, {lines} as named above; points: "
        f"injections; lines: fitted curves; dashed across: limits. What rises above "
        f"{with_unit(stated(HIGHEST_PERCENT), '%')} leaves its panel."
    )


def _passed(label: str, limited: Sequence[Decline]) -> str:
    """Say which limits the column passed, and when."""
    reached = [one for one in limited if one.life.state == "reached" and one.life.hours.value is not None]
    if not limited:
        return f"No limit stands on {label}."
    if not reached:
        return f"{label} passed no limit within the test."
    reached.sort(key=lambda one: one.life.hours.value or 0.0)
    parts = (
        f"{subject(one.series.marker, one.series.metric)} after {life_words(one.life)}" for one in reached
    )
    return f"{label} passed {len(reached)} of {len(limited)} limits: {'; '.join(parts)}."


def _left(declines: Sequence[Decline]) -> str:
    """Say what remained of each metric at the end: of each group the mean over its columns."""
    left: dict[tuple[str, str], dict[str, list[float]]] = {}
    for one in declines:
        if one.remaining.value is not None:
            groups = left.setdefault((one.series.marker, one.series.metric), {})
            groups.setdefault(one.series.group, []).append(one.remaining.value)
    told = (f"{subject(*pair)} {_means(groups)}" for pair, groups in left.items())
    return "remaining at the end of the test: " + "; ".join(told)


def _means(groups: dict[str, list[float]]) -> str:
    """Return `polymer 100 %, porous hybrid 70 %`."""
    return ", ".join(f"{group} {percent_words(float(np.mean(values)))}" for group, values in groups.items())


def _table(declines: Sequence[Decline]) -> tuple[tuple[str, ...], ...]:
    """Return every drawn value."""
    rows = (
        (
            one.series.column,
            one.series.group,
            one.series.marker,
            one.series.metric,
            one.series.injections[i],
            float(one.series.exposure_h[i]),
            float(one.percent[i]),
        )
        for one in declines
        for i in range(len(one.series.injections))
    )
    return table_of(("column", "group", "marker", "metric", "injection", "exposure_h", "percent"), rows)
