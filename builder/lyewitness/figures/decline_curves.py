"""What remained of a metric against exposure, every column as a thin line.

In: the declines of one marker and metric. Out: the figures `decline-<marker>-<metric>`.

For those who check the method, the figure `residuals` with their serial correlation.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from matplotlib.axes import Axes

from lyewitness.decline.records import Decline, GroupLife
from lyewitness.figures.curves import Curve, curves_of, end_words, in_own_unit, span
from lyewitness.figures.events import EventMarks, event_marks, mark_events, marks_told
from lyewitness.figures.labels import fitted, height_for, name_ends, room_for, rules
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import (
    KEY_PX,
    applied,
    draw_key,
    dress,
    finished,
    key_places,
    name_scales,
    new_sheet,
    number,
    panel,
    volumes_per_hour,
)
from lyewitness.figures.slimming import HALOED
from lyewitness.figures.style import FAINT, GROUND, INK, MUTED, NARROW_PX, GroupInk, Look
from lyewitness.findings.records import Report
from lyewitness.words.arrays import FloatArray
from lyewitness.words.lives import lasting, limit_label, limit_of, when
from lyewitness.words.metrics import axis_words, metric_name, metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import fixed, rounded, stated, with_unit
from lyewitness.words.phrases import listed, sentence, share_of

HEIGHT_PX = 420
"""Near the golden section of the width of a page."""
MANY_POINTS = 60
"""From here on injections are drawn as dots without the group's mark."""


def decline_figure(report: Report, look: Look, marker: str, metric: str) -> Figure:
    """Return percent remaining against exposure for one limited marker and metric."""
    declines = [
        one
        for one in report.judgement.declines
        if (one.series.marker, one.series.metric) == (marker, metric) and one.percent.size
    ]
    lives = [one for one in report.judgement.group_lives if (one.marker, one.metric) == (marker, metric)]
    groups = report.study.groups
    own = in_own_unit(declines)
    curves = curves_of(declines, own)
    marks = event_marks(report.study, (one.series.column for one in declines))
    with applied(look):
        light, dark, height = _draw(curves, own, groups, marks, look)
    name = f"decline-{slug(marker)}-{slug(metric)}"
    unit = "" if own else " in percent of each column’s reference"
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=sentence(f"{metric_of_marker(marker, metric)} against exposure").rstrip("."),
        caption=f"{_caption(declines, lives, report.study.choices.confidence)} {marks_told(marks)}".strip(),
        alt=sentence(
            f"{metric_of_marker(marker, metric)}{unit} against exposure in hours, "
            f"{listed(dict.fromkeys(limit_label(one.limit) for one in declines if one.limit))}; "
            "at the end: " + "; ".join(end_words(one, own) for one in curves)
        ),
        width_px=look.width_px,
        height_px=height,
        table=_table(tuple(declines)),
    )


def _draw(
    curves: Sequence[Curve], own: bool, groups: Sequence[str], marks: Sequence[EventMarks], look: Look
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height: taller where many groups have to be named at the right."""
    series = [one.decline.series for one in curves]
    present = [group for group in groups if any(one.group == group for one in series)]
    per_hour = volumes_per_hour(series)
    scales = ["exposure / h"] + (["column volumes"] if per_hour else [])
    bounds = dict.fromkeys(limit_label(one.decline.limit) for one in curves if one.decline.limit)
    right = max(room_for([*present, *bounds], look), *(24 + look.words_width(words) for words in scales))
    titles = fitted(
        decline_title(series[0].marker, series[0].metric, own), look.width_px - 54, look.words_width
    )
    top = 38 + 1.2 * look.label_px * (len(titles) - 1)
    foot = 58 if per_hour else 34
    height = round(max(HEIGHT_PX, top + foot + height_for([*present, *bounds], look)))
    sheet = new_sheet(look.width_px, height)
    axes = panel(sheet, 46, top, look.width_px - 46 - right, height - top - foot)
    axes.set_xlim(0, 1.01 * last_exposure(curves))
    left_over = fill(axes, curves, groups, marks, look)
    dress(axes, look, "", "\n".join(titles), ticks_for(look))
    name_scales(axes, look, per_hour, "right")
    name_groups(axes, curves, groups, left_over, look)
    return (*finished(sheet, look), height)


def last_exposure(curves: Sequence[Curve]) -> float:
    """Return the last exposure of any curve, hours; 1 where none went on."""
    return max(float(one.hours[-1]) for one in curves) or 1.0


def ticks_for(look: Look) -> tuple[int, int]:
    """Return how many numbers stand along and beside the axes of a decline."""
    return (7 if look.width_px > 480 else 4, 6)


def fill(
    axes: Axes, curves: Sequence[Curve], groups: Sequence[str], marks: Sequence[EventMarks], look: Look
) -> list[tuple[float, str]]:
    """Draw curves, events and limits on axes whose scale across is set.

    Returns height and words of the limits that could not be named on their rule.
    """
    axes.set_ylim(*span(curves))
    for one in curves:
        draw_column(axes, one, look.group(groups.index(one.decline.series.group)), look)
    mark_events(axes, marks, look)
    return limit_rules(axes, curves, look)


def name_groups(
    axes: Axes,
    curves: Sequence[Curve],
    groups: Sequence[str],
    left_over: Sequence[tuple[float, str]],
    look: Look,
    by_mark: bool = False,
) -> None:
    """Name at the right each group where its lines end, by its mark alone if `by_mark`, and other heights."""
    present = [group for group in groups if any(one.decline.series.group == group for one in curves)]
    ends = [
        float(np.mean([one.end for one in curves if one.decline.series.group == group])) for group in present
    ]
    inks = [look.group(groups.index(group)) for group in present]
    names = [*("" if by_mark else group for group in present), *(words for _, words in left_over)]
    name_ends(axes, look, names, [*ends, *(up for up, _ in left_over)], [*inks, *(None for _ in left_over)])


def decline_title(marker: str, metric: str, own: bool, brief: bool = False) -> str:
    """Return what is drawn upwards, with its unit."""
    if not own:
        of = "of the reference" if brief else "of each column’s own reference"
        return f"{metric_of_marker(marker, metric)}\u00a0/\u00a0% {of}"
    return metric_of_marker(marker, metric) + axis_words(metric).removeprefix(metric_name(metric))


def draw_column(axes: Axes, one: Curve, ink: GroupInk, look: Look) -> None:
    """Draw one column: band, fitted curve (or the points joined), points, rings on outlying injections.

    What was left out as doubtful is hollow, at the edge where it lies beyond the axis.
    """
    draw_band(axes, one, ink)
    sound = ~one.doubted
    joined = (one.hours[sound], one.value[sound])
    across, up = (one.curve_h, one.curve) if one.curve_h.size else joined
    dashes = ink.dashes or (None, None)
    axes.plot(across, up, color=ink.colour, linewidth=look.line_px * 0.8, dashes=dashes, zorder=3)
    draw_points(axes, *joined, ink, look)
    if one.doubted.any():
        axes.plot(
            one.hours[one.doubted], np.clip(one.value[one.doubted], *axes.get_ylim()), ink.mark,
            color=ink.colour, markerfacecolor=GROUND, markeredgewidth=1.0, markersize=look.mark_px * 0.75,
            clip_on=False, zorder=5,
        )  # fmt: skip
    outlying = np.isin(np.asarray(one.decline.series.injections), one.decline.outlying) & sound
    if outlying.any():
        axes.plot(
            one.hours[outlying], one.value[outlying], "o", color=INK, fillstyle="none", markeredgewidth=1.0,
            markersize=look.mark_px * 1.9, zorder=5,
        )  # fmt: skip


def draw_band(axes: Axes, one: Curve, ink: GroupInk, points: int = 36) -> None:
    """Draw the interval of the fitted curve, with as many corners as an eye needs."""
    if not one.low.size:
        return
    few = np.unique(np.linspace(0, one.curve_h.size - 1, points).round().astype(int))
    across, low, high = (curve[few] for curve in (one.curve_h, one.low, one.high))
    axes.fill_between(across, low, high, color=ink.colour, alpha=0.13, linewidth=0, zorder=1)


def draw_points(axes: Axes, across: FloatArray, up: FloatArray, ink: GroupInk, look: Look) -> None:
    """Draw measured values: the group's mark, or for many injections dots that cost fewer bytes."""
    if across.size <= MANY_POINTS:
        axes.plot(
            across, up, ink.mark, color=ink.colour, markersize=look.mark_px * 0.75, markeredgecolor=GROUND,
            markeredgewidth=0.5, zorder=4,
        )  # fmt: skip
        return
    dots(axes, across, up, ink.colour, 2.4)


def dots(axes: Axes, across: FloatArray, up: FloatArray, colour: str, size_px: float) -> None:
    """Draw values as round dots in one path: a fifth of the bytes of as many marks."""
    gaps = np.full(across.size, np.nan)
    drawn = axes.plot(
        np.column_stack([across, across, gaps]).ravel(), np.column_stack([up, up, gaps]).ravel(),
        color=colour, linewidth=size_px, solid_capstyle="round", zorder=2,
    )[0]  # fmt: skip
    drawn.get_path().should_simplify = False


def limit_rules(axes: Axes, curves: Sequence[Curve], look: Look) -> list[tuple[float, str]]:
    """Draw each limit across: one rule where it is one height for all columns, else a band of them.

    Returns height and words of those that could not be named on their rule.
    """
    found = []
    for limit in dict.fromkeys(one.decline.limit for one in curves if one.decline.limit is not None):
        heights = [one.limit for one in curves if one.decline.limit == limit and one.limit is not None]
        if not heights:
            continue
        low, high = min(heights), max(heights)
        single = high - low < 1e-6 * abs(high)
        if not single:
            axes.axhspan(low, high, color=MUTED, alpha=0.15, linewidth=0, zorder=0.5)
        falling = limit.at_least is not None or limit.at_least_percent is not None
        words = limit_label(limit) + ("" if single else "; grey: in % of each column’s reference")
        found.append((low if falling else high, words))
    return rules(axes, look, found)


def _caption(declines: Sequence[Decline], lives: Sequence[GroupLife], confidence: float) -> str:
    """Say which groups went beyond the limit and when, then what is drawn."""
    limit = next(one.limit for one in declines if one.limit is not None)
    head = metric_of_marker(declines[0].series.marker, declines[0].series.metric)
    bound = limit_of(limit)
    reached = [one for one in lives if one.life.state == "reached"]
    passed = "; ".join(f"{one.group} {when(one.life)}" for one in reached)
    held = listed(one.group for one in lives if one.life.state == "not reached")
    said = [f"The {head} went beyond its {bound}: {passed}." if passed else f"The {head} has a {bound}."]
    said.append(sentence(f"{held} stayed within it during the test") if held else "")
    said += [sentence(_in_part(one)) for one in lives if one.life.state == "unclear"]
    said.append(
        f"Points: injections; thin line: the fitted curve of each column; band: its "
        f"{with_unit(stated(100 * confidence), '%')} interval."
        if any(one.curve_h.size for one in declines)
        else "Points: injections, joined for each column."
    )
    said.append(left_out_told(declines))
    return " ".join(part for part in said if part)


def left_out_told(declines: Sequence[Decline]) -> str:
    """Return what rings and hollow marks mean, where there are some."""
    ringed = any(set(one.outlying) - set(one.doubted) for one in declines)
    hollow = any(one.doubted for one in declines)
    told = ["Ringed: outlying injections, shown but left out of curve and life."] if ringed else []
    if hollow:
        told.append("Hollow: doubtful peaks, left out of curve and life; at the edge where they lie beyond.")
    return " ".join(told)


def _in_part(life: GroupLife) -> str:
    """Return what is known of a group that neither passed the limit nor held: how many columns passed it."""
    passed = life.states.count("reached")
    if passed:
        return f"of {life.group}, {share_of(passed, len(life.columns), 'column')} surely went beyond it"
    return f"{life.group} {lasting(life.life)}"


# The form for a phone has the same.
@lru_cache(maxsize=1)
def _table(declines: tuple[Decline, ...]) -> tuple[tuple[str, ...], ...]:
    """Return every drawn injection."""
    rows = (
        (
            one.series.injections[i],
            one.series.column,
            one.series.group,
            float(one.series.exposure_h[i]),
            float(one.series.exposure_cv[i]),
            float(one.series.value[i]),
            float(one.percent[i]),
            _note(one, one.series.injections[i]),
        )
        for one in declines
        for i in range(len(one.series.injections))
    )
    header = ("injection", "column", "group", "exposure_h", "exposure_cv", "value", "percent", "note")
    return table_of(header, rows)


def _note(decline: Decline, injection: str) -> str:
    """Return why an injection is no part of a curve; empty where it is."""
    if injection in decline.doubted:
        return "doubtful, left out"
    return "outlying" if injection in decline.outlying else ""


def residuals_figure(report: Report, look: Look) -> Figure | None:
    """Return residuals of the deciding metric, and the serial correlation of all; None without fits."""
    fitted = [one for one in report.judgement.declines if one.residuals.size and one.curve_h.size]
    deciding = [one for one in fitted if (one.series.marker, one.series.metric) == report.judgement.deciding]
    shown = deciding or fitted[:9]
    if not shown:
        return None
    marks = event_marks(report.study, (one.series.column for one in shown))
    with applied(look):
        light, dark, height = _draw_residuals(shown, fitted, report.study.groups, marks, look)
    said = _said(shown, fitted)
    return Figure(
        id="residuals",
        file="figures/residuals.svg",
        data=light,
        dark=dark,
        title="Residuals of the fitted curves",
        caption=f"{said} Points: measured − fitted, every column. Strokes: lag-one correlation of the "
        f"residuals, one a series, by metric; at 0 the noise is not serial. {marks_told(marks)}".strip(),
        alt=said,
        width_px=look.width_px,
        height_px=height,
        table=_residual_table(fitted),
    )


def _said(shown: Sequence[Decline], fitted: Sequence[Decline]) -> str:
    """Say how large and how serial the residuals are."""
    sds = [one.model.residual_sd for one in shown if one.model is not None]
    correlations = [one.serial_correlation for one in fitted if one.serial_correlation is not None]
    words = metric_of_marker(shown[0].series.marker, shown[0].series.metric)
    size = with_unit(rounded(float(np.median(sds)), 2), "%") if sds else ""
    parts = [
        f"residuals of the {words}: standard deviation {size} of the reference (median column)"
        if size
        else ""
    ]
    if correlations:
        middle = fixed(float(np.median(correlations)), 2)
        parts.append(f"median lag-one correlation over {len(correlations)} series {middle}")
    return sentence("; ".join(part for part in parts if part))


def _draw_residuals(
    shown: Sequence[Decline],
    fitted: Sequence[Decline],
    groups: Sequence[str],
    marks: Sequence[EventMarks],
    look: Look,
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height."""
    metrics = tuple(dict.fromkeys(one.series.metric for one in fitted if one.serial_correlation is not None))
    present = [group for group in groups if any(one.series.group == group for one in fitted)]
    inks = {group: look.group(groups.index(group)) for group in present}
    places = key_places(inks, look)
    top = 42 + KEY_PX * (1 + places[-1][0])
    # On a telephone the strokes stand below the residuals: beside them their names had no room.
    below = look.width_px <= NARROW_PX and bool(metrics)
    rows_px = 2.9 * look.label_px * len(metrics)
    tall = 200.0 if below else max(242.0, rows_px)
    height = round(top + tall + 50 + (rows_px + 50 if below else 0))
    sheet = new_sheet(look.width_px, height)
    draw_key(sheet, inks, places, look)
    wide = look.width_px * (0.48 if metrics and not below else 1.0)
    left = panel(sheet, 46, top, wide - 54, tall)
    _residuals(left, shown, groups, look)
    mark_events(left, marks, look)
    dress(left, look, "exposure / h", "measured − fitted / % of reference", (5, 6))
    if metrics:
        right = (
            panel(sheet, 14, top + tall + 50, look.width_px - 28, rows_px)
            if below
            else panel(sheet, wide + 24, top, look.width_px - wide - 34, tall)
        )
        _correlations(right, fitted, metrics, groups, look)
    return (*finished(sheet, look), height)


def _residuals(axes: Axes, shown: Sequence[Decline], groups: Sequence[str], look: Look) -> None:
    """Draw residuals against exposure, joined thinly so that runs can be seen."""
    axes.axhline(0, color=MUTED, linewidth=1.0)
    for one in shown:
        ink = look.group(groups.index(one.series.group))
        dashes = ink.dashes or (None, None)
        axes.plot(
            one.series.exposure_h, one.residuals, color=ink.colour, linewidth=0.7, alpha=0.6, dashes=dashes
        )
        dots(axes, one.series.exposure_h, one.residuals, ink.colour, 3.0)
    largest = max(float(np.max(np.abs(one.residuals))) for one in shown) or 1.0
    axes.set_ylim(-1.1 * largest, 1.1 * largest)
    axes.set_xlim(0, 1.01 * max(float(one.series.exposure_h[-1]) for one in shown) or 1.0)


def _correlations(
    axes: Axes, fitted: Sequence[Decline], metrics: Sequence[str], groups: Sequence[str], look: Look
) -> None:
    """Draw one stroke a series on a line for each metric, the metric's name above its line."""
    axes.set_xlim(-1, 1)
    axes.set_ylim(len(metrics) - 0.4, -0.7)
    axes.axvline(0, color=MUTED, linewidth=1.0)
    for row, metric in enumerate(metrics):
        axes.axhline(row, color=FAINT, linewidth=1.0, zorder=0)
        axes.annotate(
            metric_name(metric),
            (0, row),
            (0, 9),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            color=INK,
            gid=HALOED,
            zorder=5,
        )
        for one in fitted:
            if one.series.metric == metric and one.serial_correlation is not None:
                colour = look.group(groups.index(one.series.group)).colour
                axes.plot(
                    [one.serial_correlation], [row], "|", color=colour, markersize=12, markeredgewidth=1.5
                )
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    axes.set_xlabel("lag-one correlation", loc="right", labelpad=3)
    number(axes.xaxis, 5)


def _residual_table(fitted: Sequence[Decline]) -> tuple[tuple[str, ...], ...]:
    """Return size and serial correlation of the residuals of every series."""
    rows = (
        (
            one.series.column,
            one.series.group,
            one.series.marker,
            one.series.metric,
            one.model.name if one.model is not None else "",
            one.model.residual_sd if one.model is not None else None,
            one.serial_correlation,
        )
        for one in fitted
    )
    header = ("column", "group", "marker", "metric", "model", "residual_sd_percent", "serial_correlation")
    return table_of(header, rows)
