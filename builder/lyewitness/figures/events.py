"""What happened and was logged while the test ran: marks on every plot, and figures of the conditions.

In: a study's events and the columns that are drawn. Out: marks on axes, and the words for their letters.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from string import ascii_lowercase

import numpy as np
from matplotlib.axes import Axes

from lyewitness.figures.event_letters import FOOT
from lyewitness.figures.labels import DASHES, height_for, name_ends, room_for
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.shares import HOLD_UPS
from lyewitness.figures.sheets import applied, dress, finished, new_sheet, panel
from lyewitness.figures.style import INK, MUTED, Look
from lyewitness.findings.records import Report
from lyewitness.study.events import event_hours, event_name, exposure_of
from lyewitness.study.records import Column, LoggedCondition, Study
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import axis_words, metric_name, unit_of
from lyewitness.words.numbers import fixed, places_for, rounded, stated, with_unit
from lyewitness.words.phrases import counted, listed, sentence

TALL_PX = 7.0
"""Height of a mark: seen, and below most points."""
APART_PX = 12.0
"""From letter to letter: nearer they are read as one word."""
MOST_TOLD = 4
"""Moments of one kind that a caption lists; more are counted."""
MOST_OTHERS = 2
"""Sets of columns that came to events at exposures of their own and are told beside the others."""
AT_ONCE_H = 0.1
"""Hours: an event no later on a column's exposure is its start, and no mark on its course."""
SAME = 0.004
"""Share of the axis within which two moments fall on one mark: two pixels of a page's width."""


@dataclass(frozen=True, slots=True)
class EventMarks:
    """All events of one kind on the columns of one plot."""

    letter: str
    kind: str
    """Of kind `other`, what its note says."""
    spans_h: tuple[tuple[float, float], ...]
    """Where each began and ended on the axis, hours of exposure; a pause begins and ends at one place."""
    count: int
    """How many they are: columns that began at other times come to one event at another exposure."""
    begins_h: tuple[tuple[str, tuple[float, ...]], ...] = ()
    """Each column that they touched, with the exposures at which it came to them."""


def event_marks(study: Study, columns: Iterable[str]) -> tuple[EventMarks, ...]:
    """Return the marks of all events that touched `columns`, one letter a kind, in the order of the study."""
    found: dict[str, dict[str, list[tuple[float, float]]]] = {}
    counts: Counter[str] = Counter()
    drawn = [study.column(column) for column in dict.fromkeys(columns)]
    for event in study.events:
        touched = (column for column in drawn if event.touches(column.id))
        placed = {
            one.id: ends
            for one in touched
            if (ends := event_hours(event, one, study.events)) is not None and ends[1] > AT_ONCE_H
        }
        if placed:
            own = found.setdefault(event_name(event), {})
            for column, ends in placed.items():
                own.setdefault(column, []).append(ends)
            counts[event_name(event)] += 1
    return tuple(
        EventMarks(
            letter,
            kind,
            tuple(sorted({ends for spans in own.values() for ends in spans})),
            counts[kind],
            tuple((column, tuple(sorted(begin for begin, _ in spans))) for column, spans in own.items()),
        )
        for letter, (kind, own) in zip(ascii_lowercase, found.items(), strict=False)
    )


def mark_events(axes: Axes, marks: Sequence[EventMarks], look: Look, lettered: bool = True) -> None:
    """Draw a tick for each event at the foot of `axes`, whose scale is set, and its letter above the tick.

    The scale is extended downwards to make room for letters; letters that would touch are written beside each
    other; what lies beyond the axis is left out.
    """
    if not marks:
        return
    low, high = axes.get_xlim()
    sheet = axes.get_figure(root=True)
    wide = axes.get_position().width * (
        sheet.get_size_inches()[0] * 72 if sheet is not None else look.width_px
    )
    tall = axes.get_position().height * (sheet.get_size_inches()[1] * 72 if sheet is not None else 100.0)
    foot = axes.get_xaxis_transform()
    if lettered:
        bottom, top = axes.get_ylim()
        room = TALL_PX + look.label_px
        axes.set_ylim(bottom - (top - bottom) * room / max(tall - room, room), top)
    placed: list[tuple[float, str]] = []
    ticks, bars = list[float](), list[float]()
    for mark in marks:
        for begin, end in _apart(mark.spans_h, SAME * (high - low)):
            if not low <= begin <= high:
                continue
            ticks += [begin, begin, float("nan")]
            bars += [begin, min(end, high), float("nan")] if end > begin else []
            placed.append((begin, mark.letter))
    # One path for all ticks: a page holds hundreds of them.
    upright = [0.0, TALL_PX / tall, float("nan")] * (len(ticks) // 3)
    axes.plot(ticks, upright, color=MUTED, linewidth=1.1, transform=foot, zorder=2)
    if bars:
        axes.plot(bars, [0.0] * len(bars), color=MUTED, linewidth=3, transform=foot, zorder=2)
    for hours, letters in _together(sorted(placed) if lettered else [], APART_PX * (high - low) / wide):
        for place, letter in enumerate(letters):
            aside = APART_PX * (place - (len(letters) - 1) / 2)
            axes.annotate(
                letter, (hours, TALL_PX / tall), (aside, 1), xycoords=foot, textcoords="offset points",
                color=MUTED, ha="center", va="bottom", fontsize=look.label_px * 0.8, zorder=2,
            )  # fmt: skip


def _apart(spans: Sequence[tuple[float, float]], least: float) -> list[tuple[float, float]]:
    """Return spans whose beginnings lie apart: one event stands at nearly one place on each column."""
    kept: list[tuple[float, float]] = []
    for begin, end in spans:
        if kept and begin - kept[-1][0] < least:
            kept[-1] = (kept[-1][0], max(kept[-1][1], end))
        else:
            kept.append((begin, end))
    return kept


def _together(placed: Sequence[tuple[float, str]], least: float) -> list[tuple[float, str]]:
    """Join the letters that would touch, in their order along the axis."""
    joined: list[tuple[float, float, str]] = []
    for hours, letter in placed:
        if joined and hours - joined[-1][1] < least * len(joined[-1][2]):
            first, _, letters = joined[-1]
            joined[-1] = (first, hours, letters if letter in letters else letters + letter)
        else:
            joined.append((hours, hours, letter))
    return [((first + last) / 2, letters) for first, last, letters in joined]


def marks_told(marks: Sequence[EventMarks], lettered: bool = True) -> str:
    """Return the sentence that explains the marks; nothing where nothing is marked."""
    if not marks:
        return ""
    told = (f"{mark.letter}, {mark.kind}" if lettered else mark.kind for mark in marks)
    foot = "; ".join(f"{words} ({_when(mark)})" for words, mark in zip(told, marks, strict=True))
    return f"{FOOT if lettered else 'Ticks at the foot:'} {foot}."


def _when(mark: EventMarks) -> str:
    end = max(end for _, end in mark.spans_h) or 1.0
    moments = [begin for begin, _ in _apart(mark.spans_h, 0.01 * end)]
    if len(moments) > mark.count == 1:
        # One moment by the clock, at which columns that began at other times had come to other exposures.
        told = [rounded(moment, 3 if moment >= 100 else 2) for moment in moments]
        return with_unit(
            listed(told, "or") if len(told) <= MOST_TOLD else f"{told[0]} to {told[-1]} by the column", "h"
        )
    if len(moments) > mark.count:
        # More ticks than events: each stands where the columns, begun or paused apart, had come to.
        return f"{counted(mark.count, 'time')}{_by_course(mark, moments) or ', at different exposures'}"
    if len(moments) > MOST_TOLD:
        return counted(mark.count, "time")
    return _hours_told(moments)


def _hours_told(moments: Iterable[float]) -> str:
    # Columns come to one event some minutes apart: two figures hold for all of them.
    return with_unit(listed(rounded(moment, 3 if moment >= 100 else 2) for moment in moments), "h")


def _by_course(mark: EventMarks, moments: Sequence[float]) -> str:
    """Return when most columns came to all of the events, then which others when; empty where it is long."""
    courses: dict[tuple[float, ...], list[str]] = {}
    for column, begins in mark.begins_h:
        # The tick of an event is the last one at or before it: near ones were drawn as one.
        own = tuple(max(moment for moment in moments if moment <= begin) for begin in begins)
        courses.setdefault(own, []).append(column)
    most, *others = sorted(courses.items(), key=lambda one: -len(one[1]))
    few = len(others) <= MOST_OTHERS and all(len(one) <= MOST_TOLD for one in courses)
    if len(most[0]) != mark.count or not few:
        return ""
    told = (
        f"; on {listed(columns) if len(columns) <= MOST_TOLD else counted(len(columns), 'column')} "
        + _hours_told(own)
        for own, columns in others
    )
    return f": {_hours_told(most[0])}{''.join(told)}"


HEIGHT_PX = 300
PANEL_PX = 120.0
"""A course of conditions is a strip: only its steps and drifts are read from it."""
OTHERS = ("temperature_C", "ph", "flow_mL_min")
Points = Sequence[tuple[float, float]]
"""(exposure in hours, value) of one column, by exposure."""


def logged_points(report: Report, metric: str) -> dict[str, list[tuple[float, float]]]:
    """Return by column what was logged of `metric`, by exposure; columns without it are left out."""
    logged: dict[str, list[tuple[float, float]]] = {}
    for column in report.study.columns:
        void_mL = _void_volume(report, column)
        for entry in report.study.conditions:
            value = getattr(entry, metric)
            if entry.column != column.id or value is None:
                continue
            hours = _hours(entry, column, report.study.stress.flow_mL_min, void_mL)
            if hours is not None:
                logged.setdefault(column.id, []).append((hours, value))
    return {column: sorted(points) for column, points in logged.items()}


def _hours(entry: LoggedCondition, column: Column, flow: float | None, void_mL: float | None) -> float | None:
    return exposure_of(entry, column, flow, void_mL).hours


def _void_volume(report: Report, column: Column) -> float | None:
    """Return hold-up time × flow of the injections of `column`, mL; None where either is unknown."""
    flow = report.study.test.flow_mL_min or report.study.stress.flow_mL_min
    times = [row.hold_up_time_min for row in report.measurements.rows if row.column == column.id]
    known = [time for time in times if time is not None]
    return median(known[:HOLD_UPS]) * flow if known and flow else None


def logged_figures(report: Report, look: Look) -> list[Figure]:
    """Return pressure as a figure of its own, and what else was logged as panels of one figure."""
    pressure = logged_points(report, "pressure_bar")
    others = {metric: points for metric in OTHERS if (points := logged_points(report, metric))}
    figures = []
    if pressure:
        figures.append(_figure(report, look, "pressure", {"pressure_bar": pressure}, HEIGHT_PX - 88.0))
    if others:
        figures.append(_figure(report, look, "conditions", others, PANEL_PX))
    return figures


def _figure(
    report: Report, look: Look, name: str, metrics: Mapping[str, Mapping[str, Points]], tall: float
) -> Figure:
    """Return one figure with a panel a metric."""
    with applied(look):
        light, dark, height = _draw(report, look, metrics, tall)
    told = "; ".join(_told(metric, points) for metric, points in metrics.items())
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title="Pressure over the exposure" if name == "pressure" else "Logged conditions over the exposure",
        caption=f"{sentence(told)} As logged, a line for each column. "
        f"{marks_told(_marks(report, metrics))}".strip(),
        alt=sentence(f"Logged conditions against exposure in hours: {told}"),
        width_px=look.width_px,
        height_px=height,
        table=_table(report, metrics),
    )


def _marks(report: Report, metrics: Mapping[str, Mapping[str, Points]]) -> tuple[EventMarks, ...]:
    """Return what happened to the columns that are drawn."""
    return event_marks(
        report.study, dict.fromkeys(column for points in metrics.values() for column in points)
    )


def _draw(
    report: Report, look: Look, metrics: Mapping[str, Mapping[str, Points]], tall: float
) -> tuple[bytes, bytes, int]:
    groups = report.study.groups
    right = room_for(groups, look)
    tall = max(tall, height_for(groups, look))
    step = tall + 50.0
    height = round(step * len(metrics) + 38)
    sheet = new_sheet(look.width_px, height)
    end = max(hours for points in metrics.values() for line in points.values() for hours, _ in line) or 1.0
    for place, (metric, points) in enumerate(metrics.items()):
        axes = panel(sheet, 56, 38 + place * step, look.width_px - 56 - right, tall)
        axes.set_xlim(0, 1.01 * end)
        for column, line in points.items():
            ink = look.group(groups.index(report.study.column(column).group))
            across, up = np.asarray(line).T
            dashes = ink.dashes or (None, None)
            axes.plot(across, up, color=ink.colour, linewidth=look.line_px * 0.9, dashes=dashes)
        stated_as = stated_value(report, metric, points)
        values = [value for line in points.values() for _, value in line]
        axes.set_ylim(*level_axis(metric, values if stated_as is None else [*values, stated_as]))
        mark_events(axes, _marks(report, metrics), look)
        title = axis_words(metric)
        if stated_as is not None:
            axes.axhline(stated_as, color=INK, linewidth=1.0, dashes=DASHES, zorder=1)
            title += f" (dashed: stated {with_unit(stated(stated_as), unit_of(metric))})"
        lowest = place == len(metrics) - 1
        dress(axes, look, "exposure / h" if lowest else "", title, (7, 4))
        axes.tick_params(labelbottom=lowest)
        _name_groups(axes, report, points, look)
    return (*finished(sheet, look), height)


def stated_value(report: Report, metric: str, columns: Iterable[str]) -> float | None:
    """Return what the study says `metric` was under stress, where it says the same of all `columns`."""
    told = set()
    for column in map(report.study.column, columns):
        own = getattr(column, metric, None)
        told.add(own if own is not None else getattr(report.study.stress, metric, None))
    return told.pop() if len(told) == 1 else None


def level_axis(metric: str, values: Sequence[float]) -> tuple[float, float]:
    """Return the ends of an axis on which what does not matter looks steady.

    At least ± 3 °C, ± 0.3 pH, and ± 5 % (pressure ± 10 %) of the value around the middle of the values.
    """
    low, high = min(values), max(values)
    middle = (low + high) / 2
    share = 0.1 if metric == "pressure_bar" else 0.05
    half = max({"temperature_C": 3.0, "ph": 0.3}.get(metric, share * abs(middle)), 0.54 * (high - low))
    return (middle - half, middle + half) if half else (middle - 1, middle + 1)


def _name_groups(axes: Axes, report: Report, points: Mapping[str, Points], look: Look) -> None:
    """Write each group's name where its lines end."""
    groups = report.study.groups
    lines = {column: line for column, line in points.items() if line}
    present = [group for group in groups if any(report.study.column(one).group == group for one in lines)]
    ends = [
        float(
            np.mean([line[-1][1] for one, line in lines.items() if report.study.column(one).group == group])
        )
        for group in present
    ]
    name_ends(axes, look, present, ends, [look.group(groups.index(group)) for group in present])


def _told(metric: str, points: Mapping[str, Points]) -> str:
    """Say from where to where the logged values ran."""
    values = [value for line in points.values() for _, value in line]
    unit = unit_of(metric)
    places = places_for(Estimate(value=median(values), low=min(values), high=max(values)))
    low, high = (with_unit(fixed(end, places), unit) for end in (min(values), max(values)))
    rises = [(line[-1][1] / line[0][1] - 1) * 100 for line in points.values() if line[0][1]]
    if metric == "pressure_bar" and rises:
        return (
            f"pressure between {low} and {high}; it changed by {with_unit(rounded(min(rises), 2), '%')} to "
            f"{with_unit(rounded(max(rises), 2), '%')} from a column’s first entry to its last"
        )
    return f"{metric_name(metric)} between {low} and {high}"


def _table(report: Report, metrics: Mapping[str, Mapping[str, Points]]) -> tuple[tuple[str, ...], ...]:
    """Return every logged value that was drawn."""
    rows = (
        (column, report.study.column(column).group, metric, hours, value)
        for metric, points in metrics.items()
        for column, line in points.items()
        for hours, value in line
    )
    return table_of(("column", "group", "metric", "exposure_h", "value"), rows)
