"""Small multiples: all metrics of one column, or of one marker over all columns, on common axes.

In: declines. Out: the figures `column-<column>` and `marker-<marker>`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from matplotlib.axes import Axes

from lyewitness.decline.records import Decline
from lyewitness.figures.curves import Curve, curves_of, in_own_unit, span
from lyewitness.figures.decline_curves import dots, draw_band, limit_rules
from lyewitness.figures.events import EventMarks, event_marks, mark_events, marks_told
from lyewitness.figures.labels import fitted, name_ends
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import (
    KEY_PX,
    applied,
    draw_key,
    finished,
    key_places,
    new_sheet,
    number,
    panel,
)
from lyewitness.figures.style import FAINT, INK, GroupInk, Look
from lyewitness.findings.ends import end_of
from lyewitness.findings.records import Report
from lyewitness.study.records import Column
from lyewitness.words.lives import when
from lyewitness.words.metrics import axis_words, metric_name, metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import exposure, sentence, share_percent

MOST_ACROSS = 3
"""Panels abreast: of four the numbers on the axes meet."""
LEAST_PANEL_PX = 160.0
"""Width of a panel with its numbers, on a phone two abreast: narrower ones show no course."""
PANEL_PX = 128.0
"""Height of one panel's axes."""
NUMBERS_PX = 40.0
"""Room for the numbers at the left of a panel."""
GAP_PX, RIGHT_PX, PANEL_GAP_PX, FOOT_PX = 18.0, 20.0, 24.0, 46.0
"""Between panels, right of the last, between rows (a title), and below (numbers and the name of the axis)."""

InkOf = Callable[[Decline], GroupInk]


def column_figure(report: Report, look: Look, column: Column) -> Figure | None:
    """Return every metric of `column` over its exposure, all markers; None where nothing was followed."""
    declines = [
        one for one in report.judgement.declines if one.series.column == column.id and one.percent.size
    ]
    if not declines:
        return None
    markers = list(dict.fromkeys(one.series.marker for one in declines if one.series.marker))
    # The first marks are those of the groups on every other page: compounds take what they leave.
    taken = len(report.study.groups)
    colour = look.group(report.study.groups.index(column.group)).colour

    def ink_of(one: Decline) -> GroupInk:
        place = markers.index(one.series.marker) if one.series.marker else 0
        mark = look.marks[(taken + place) % len(look.marks)]
        return GroupInk(colour, mark, look.dashes[place % len(look.dashes)])

    inks = {
        marker: ink_of(next(one for one in declines if one.series.marker == marker)) for marker in markers
    }
    marks = event_marks(report.study, [column.id])
    with applied(look):
        light, dark, height = _draw(declines, ink_of, inks, marks, look)
    limited = [one for one in declines if one.limit is not None]
    seen_h = end_of(report.study, report.measurements, column).seen_h
    meaning = _meaning("markers", report.study.choices.confidence)
    name = f"column-{slug(column.id)}"
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"Every metric of {column.label} over its exposure",
        caption=f"{_passed(column.label, limited, seen_h)} {meaning} "
        f"{marks_told(marks, lettered=False)}".strip(),
        alt=sentence(f"{len(_metrics(declines))} panels of {column.label}: " + _left(declines)),
        width_px=look.width_px,
        height_px=height,
        table=_table(tuple(declines)),
    )


def marker_figure(report: Report, look: Look, marker: str) -> Figure | None:
    """Return every metric of `marker` over the exposure, all columns; None where nothing was followed."""
    declines = [one for one in report.judgement.declines if one.series.marker == marker and one.percent.size]
    if not declines:
        return None
    groups = report.study.groups
    inks = {group: look.group(i) for i, group in enumerate(groups)}
    marks = event_marks(report.study, dict.fromkeys(one.series.column for one in declines))
    with applied(look):
        light, dark, height = _draw(declines, lambda one: inks[one.series.group], inks, marks, look)
    name = f"marker-{slug(marker)}"
    passed = [one for one in declines if one.life.state == "reached"]
    failed = len({one.series.column for one in passed})
    finding = (
        f"{failed} of {len({one.series.column for one in declines})} columns failed a limit by {marker}."
        if any(one.limit is not None for one in declines)
        else f"No limit stands on {marker}."
    )
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"Every metric of {marker} on every column",
        caption=f"{finding} {_meaning('groups', report.study.choices.confidence)} "
        f"{marks_told(marks, lettered=False)}".strip(),
        alt=sentence(f"{len(_metrics(declines))} panels of {marker}: " + _left(declines)),
        width_px=look.width_px,
        height_px=height,
        table=_table(tuple(declines)),
    )


def _metrics(declines: Sequence[Decline]) -> tuple[str, ...]:
    """Return the metrics, limited ones first."""
    names = dict.fromkeys(one.series.metric for one in declines)
    limited = {one.series.metric for one in declines if one.limit is not None}
    return tuple(sorted(names, key=lambda metric: metric not in limited))


def _draw(
    declines: Sequence[Decline],
    ink_of: InkOf,
    inks: dict[str, GroupInk],
    marks: Sequence[EventMarks],
    look: Look,
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height."""
    metrics = _metrics(declines)
    panels = [_panel_of(metric, declines) for metric in metrics]
    across = min(2 if len(panels) in (1, 2, 4) else MOST_ACROSS, int(look.width_px // LEAST_PANEL_PX))
    wide = (look.width_px - RIGHT_PX - (across - 1) * GAP_PX) / across - NUMBERS_PX
    titles = [fitted(one.title, wide + NUMBERS_PX - 6, look.words_width) for one in panels]
    head = PANEL_GAP_PX + 1.2 * look.label_px * max(len(title) for title in titles)
    places = key_places(inks, look)
    top = KEY_PX * (1 + max((row for row, _ in places), default=0)) + 4
    height = round(top + -(-len(panels) // across) * (head + PANEL_PX) + FOOT_PX)
    sheet = new_sheet(look.width_px, height)
    draw_key(sheet, inks, places, look)
    end = max(float(one.series.exposure_h[-1]) for one in declines) or 1.0
    for place, (one, title) in enumerate(zip(panels, titles, strict=True)):
        row, column = divmod(place, across)
        left = NUMBERS_PX + column * (wide + NUMBERS_PX + GAP_PX)
        axes = panel(sheet, left, top + row * (head + PANEL_PX) + head, wide, PANEL_PX)
        axes.set_xlim(0, 1.02 * end)
        _draw_panel(axes, one, ink_of, look)
        mark_events(axes, marks, look, lettered=False)
        _dress(axes, title, place + across >= len(panels))
    return (*finished(sheet, look), height)


@dataclass(frozen=True, slots=True)
class _Panel:
    """One metric in one unit."""

    title: str
    curves: list[Curve]


def _panel_of(metric: str, declines: Sequence[Decline]) -> _Panel:
    """Return the panel of `metric`: in its own unit where its limits are stated in it, else in percent."""
    own_metric = [one for one in declines if one.series.metric == metric]
    own = in_own_unit([one for one in own_metric if one.limit is not None])
    own = own and all(one.reference_value is not None for one in own_metric)
    title = axis_words(metric) if own else f"{metric_name(metric)}\u00a0/\u00a0%"
    return _Panel(title, curves_of(own_metric, own))


def _draw_panel(axes: Axes, one: _Panel, ink_of: InkOf, look: Look) -> None:
    """Draw one metric: where it started, limit, bands, curves, points."""
    axes.set_ylim(*span(one.curves))
    starts = [curve.start for curve in one.curves]
    axes.axhline(float(np.median(starts)), color=FAINT, linewidth=1.0, zorder=0.5)
    for curve in one.curves:
        ink = ink_of(curve.decline)
        draw_band(axes, curve, ink, 20)
        sound = ~curve.doubted
        joined = (curve.hours[sound], curve.value[sound])
        across, up = (curve.curve_h, curve.curve) if curve.curve_h.size else joined
        dashes = ink.dashes or (None, None)
        axes.plot(across, up, color=ink.colour, linewidth=look.line_px * 0.7, dashes=dashes, zorder=3)
        dots(axes, *joined, ink.colour, 2.6)
    _mark_ends(axes, one.curves, ink_of, look)
    limit_rules(axes, one.curves, look)


def _mark_ends(axes: Axes, curves: Sequence[Curve], ink_of: InkOf, look: Look) -> None:
    """Set the mark of each marker or group where its lines end, as the key above names it.

    Markers of one column have one colour: by strokes alone few tell three lines apart.
    """
    ends: dict[GroupInk, list[float]] = {}
    for curve in curves:
        ends.setdefault(ink_of(curve.decline), []).append(curve.end)
    if len(ends) > 1:
        name_ends(axes, look, [""] * len(ends), [float(np.mean(own)) for own in ends.values()], list(ends))


def _dress(axes: Axes, title: Sequence[str], lowest: bool) -> None:
    """Title the panel with its metric and unit; hours only where the column of panels ends."""
    axes.annotate(
        "\n".join(title), (0, 1), (8 - NUMBERS_PX, 7), xycoords="axes fraction", textcoords="offset points",
        color=INK, linespacing=1.1,
    )  # fmt: skip
    number(axes.xaxis, 4)
    number(axes.yaxis, 4)
    axes.tick_params(labelbottom=lowest)
    if lowest:
        axes.set_xlabel("exposure / h", loc="right", labelpad=3)


def _meaning(lines: str, confidence: float) -> str:
    """Say what is drawn."""
    return (
        f"In percent of each column’s own reference, but in the metric’s own unit where its limit is; "
        f"{lines} as named above; points: injections; lines: fitted curves; bands: their "
        f"{with_unit(stated(100 * confidence), '%')} intervals; dashed across: limits."
    )


def _passed(label: str, limited: Sequence[Decline], seen_h: float) -> str:
    """Say which limits the column failed, and when; else until which injection it was seen."""
    reached = [one for one in limited if one.life.state == "reached"]
    if not limited:
        return f"No limit stands on {label}."
    if not reached:
        last = f"up to its last injection at {exposure(seen_h)}"
        if any(one.life.state == "unclear" for one in limited):
            return f"{label} failed no limit for sure {last}."
        within = "its one limit" if len(limited) == 1 else f"all its {len(limited)} limits"
        return f"{label} stayed within {within} {last}."
    reached.sort(key=lambda one: one.life.hours.value or one.life.hours.low or 0.0)
    parts = (f"{metric_of_marker(one.series.marker, one.series.metric)} {when(one.life)}" for one in reached)
    return f"{label} failed {len(reached)} of {len(limited)} limits: {'; '.join(parts)}."


def _left(declines: Sequence[Decline]) -> str:
    """Say what remained of each metric at the end: of each group the mean over its columns."""
    left: dict[tuple[str, str], dict[str, list[float]]] = {}
    for one in declines:
        if one.remaining.value is not None:
            groups = left.setdefault((one.series.marker, one.series.metric), {})
            groups.setdefault(one.series.group, []).append(one.remaining.value)
    told = (f"{metric_of_marker(*pair)} {_means(groups)}" for pair, groups in left.items())
    return "remaining at the last injection: " + "; ".join(told)


def _means(groups: dict[str, list[float]]) -> str:
    """Return `polymer 100 %, porous hybrid 70 %`."""
    return ", ".join(f"{group} {share_percent(float(np.mean(values)))}" for group, values in groups.items())


# The form for a phone has the same.
@lru_cache(maxsize=1)
def _table(declines: tuple[Decline, ...]) -> tuple[tuple[str, ...], ...]:
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
