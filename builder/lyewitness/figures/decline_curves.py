"""What remained of a metric against exposure, every column as a thin line.

In: the declines of one marker and metric. Out: the figures `decline-<marker>-<metric>`.
"""

from collections.abc import Sequence
from textwrap import wrap

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from lyewitness.decline.records import Decline, GroupLife
from lyewitness.figures.axes import dress, end_label, name_scales, rule, volumes_per_hour
from lyewitness.figures.labels import spread
from lyewitness.figures.records import Figure
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import GROUND, INK, MUTED, GroupInk, Look
from lyewitness.figures.words import (
    life_words,
    limit_words,
    listed,
    remaining_words,
    sentence,
    slug,
    stated,
    subject,
    table_of,
)
from lyewitness.findings.records import Report
from lyewitness.quantities import with_unit

FloatArray = NDArray[np.float64]
HEIGHT_PX = 420
MANY_POINTS = 60
"""From here on injections are drawn as dots without the group's mark."""


def limited_pairs(report: Report) -> tuple[tuple[str, str], ...]:
    """Return each (marker, metric) that has a limit and data, the deciding one first."""
    pairs = dict.fromkeys(
        (one.series.marker, one.series.metric)
        for one in report.judgement.declines
        if one.limit is not None and one.percent.size
    )
    deciding = report.judgement.deciding
    return tuple(sorted(pairs, key=lambda pair: pair != deciding))


def _deciding(report: Report) -> tuple[tuple[str, str], ...]:
    """Return what decides the questions: these figures stand on front pages, also on a phone."""
    return (report.judgement.deciding, *(answer.deciding for answer in report.findings.answers))


def decline_figure(report: Report, look: Look, marker: str, metric: str) -> Figure:
    """Return percent remaining against exposure for one limited marker and metric."""
    declines = [
        one
        for one in report.judgement.declines
        if (one.series.marker, one.series.metric) == (marker, metric) and one.percent.size
    ]
    lives = [one for one in report.judgement.group_lives if (one.marker, one.metric) == (marker, metric)]
    groups = report.study.groups
    decides = (marker, metric) in _deciding(report)
    with applied(look):
        light, dark = _draw(declines, groups, look)
        narrow, narrow_dark = _draw(declines, groups, look.narrow()) if decides else (b"", b"")
    name = f"decline-{slug(marker)}-{slug(metric)}"
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=sentence(f"{subject(marker, metric)} against exposure").rstrip("."),
        caption=_caption(declines, lives, report.study.choices.confidence),
        alt=sentence(
            f"{subject(marker, metric)} in percent of each column's reference against exposure in hours; "
            "what remained: " + "; ".join(remaining_words(one) for one in declines)
        ),
        width_px=look.width_px,
        height_px=HEIGHT_PX,
        table=_table(declines),
        narrow=narrow,
        narrow_dark=narrow_dark,
        narrow_width_px=look.narrow().width_px if decides else 0,
        narrow_height_px=HEIGHT_PX if decides else 0,
    )


def _draw(declines: Sequence[Decline], groups: Sequence[str], look: Look) -> tuple[bytes, bytes]:
    marker, metric = declines[0].series.marker, declines[0].series.metric
    present = [group for group in groups if any(one.series.group == group for one in declines)]
    per_hour = volumes_per_hour([one.series for one in declines])
    named = [line for group in present for line in _two_lines(group)] + ["exposure / h"]
    named += ["column volumes"] if per_hour else []
    right = min(200.0, 30.0 + max(look.words_width(line) for line in named))
    title = f"{subject(marker, metric)} /\u00a0%\u00a0of each column’s own reference"
    title = "\n".join(wrap(title, int(0.97 * len(title) * (look.width_px - 50) / look.words_width(title))))
    top = 38 + 1.2 * look.label_px * title.count("\n")
    sheet = new_sheet(look.width_px, HEIGHT_PX)
    axes = panel(sheet, 46, top, look.width_px - 46 - right, HEIGHT_PX - top - (58 if per_hour else 34))
    _limits_of_axes(axes, declines)
    for one in declines:
        draw_column(axes, one, look.group(groups.index(one.series.group)), look)
    limit_rules(axes, declines, look)
    dress(axes, look, "", title, (7 if look.width_px > 480 else 4, 6))
    name_scales(axes, look, per_hour, "right")
    end_labels(axes, declines, groups, look)
    return finished(sheet, look)


def _limits_of_axes(axes: Axes, declines: Sequence[Decline]) -> None:
    """Show all points and curves and the limit; bands may leave the picture."""
    limits = [one.limit_percent for one in declines if one.limit_percent is not None]
    values = np.concatenate([one.percent for one in declines] + [one.curve_percent for one in declines])
    low, high = min(values.min(), *limits, 95.0), max(values.max(), *limits, 102.0)
    room = 0.04 * (high - low)
    axes.set_ylim(low - room, high + room)
    axes.set_xlim(0, 1.01 * max(float(one.series.exposure_h[-1]) for one in declines) or 1.0)


def draw_column(axes: Axes, decline: Decline, ink: GroupInk, look: Look) -> None:
    """Draw one column: band, fitted curve (or the points joined), points, rings on outlying injections."""
    hours = decline.series.exposure_h
    if decline.curve_low.size:
        few = np.unique(np.linspace(0, decline.curve_h.size - 1, 64).round().astype(int))
        across, low, high = (curve[few] for curve in (decline.curve_h, decline.curve_low, decline.curve_high))
        axes.fill_between(across, low, high, color=ink.colour, alpha=0.1, linewidth=0, zorder=1)
    fitted = decline.curve_h.size > 0
    curve = (decline.curve_h, decline.curve_percent) if fitted else (hours, decline.percent)
    axes.plot(
        *curve, color=ink.colour, linewidth=look.line_px * 0.8, dashes=ink.dashes or (None, None), zorder=3
    )
    draw_points(axes, hours, decline.percent, ink, look)
    outlying = np.isin(np.asarray(decline.series.injections), decline.outlying)
    if outlying.any():
        axes.plot(
            hours[outlying], decline.percent[outlying], "o", color=INK, fillstyle="none", markeredgewidth=1.0,
            markersize=look.mark_px * 1.9, zorder=5,
        )  # fmt: skip


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


def limit_rules(axes: Axes, declines: Sequence[Decline], look: Look) -> None:
    """Draw each limit across: one rule where it is one percentage for all columns, else a band of them."""
    limits = dict.fromkeys(one.limit for one in declines if one.limit is not None)
    for limit in limits:
        percents = [
            one.limit_percent for one in declines if one.limit == limit and one.limit_percent is not None
        ]
        if not percents:
            continue
        low, high = min(percents), max(percents)
        single = high - low < 1e-6
        if not single:
            axes.axhspan(low, high, color=MUTED, alpha=0.15, linewidth=0, zorder=0.5)
        falling = limit.at_least is not None or limit.at_least_percent is not None
        words = (
            limit_words(limit) if single else f"{limit_words(limit)}; grey: in % of each column’s reference"
        )
        rule(axes, look, low if falling else high, words)


def end_labels(axes: Axes, declines: Sequence[Decline], groups: Sequence[str], look: Look) -> None:
    """Write each group's name at the end of its lines, moved apart where they would touch."""
    present = [group for group in groups if any(one.series.group == group for one in declines)]
    bottom, top = axes.get_ylim()
    per_px = (top - bottom) / (axes.get_position().height * HEIGHT_PX)
    ends = [float(np.mean([_end(one) for one in declines if one.series.group == group])) for group in present]
    lines = 1 if all(len(_two_lines(group)) == 1 for group in present) else 2
    places = spread(ends, 1.3 * lines * look.label_px * per_px, bottom + 8 * per_px, top - 4 * per_px)
    for group, place in zip(present, places, strict=True):
        end_label(axes, "\n".join(_two_lines(group)), float(place), look.group(groups.index(group)))


def _end(decline: Decline) -> float:
    """Return where the column's line ends, percent."""
    return float(decline.curve_percent[-1] if decline.curve_percent.size else decline.percent[-1])


def _two_lines(group: str) -> tuple[str, ...]:
    """Return a group's name on one line, or on two where it is long."""
    if len(group) <= 16 or " " not in group:
        return (group,)
    words = group.split(" ")
    cuts = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
    return min(cuts, key=lambda cut: max(len(cut[0]), len(cut[1])))


def _caption(declines: Sequence[Decline], lives: Sequence[GroupLife], confidence: float) -> str:
    """Say which groups passed the limit and when, then what is drawn."""
    limit = next(one.limit for one in declines if one.limit is not None)
    head = subject(declines[0].series.marker, declines[0].series.metric)
    bound = limit_words(limit).replace("limit ", "limit of ", 1)
    reached = [one for one in lives if one.life.state == "reached"]
    passed = "; ".join(f"{one.group} after {life_words(one.life)}" for one in reached)
    held = listed(one.group for one in lives if one.life.state == "not reached")
    said = [f"The {head} passed its {bound}: {passed}." if passed else f"The {head} has a {bound}."]
    said.append(sentence(f"{held} did not pass it within the test") if held else "")
    said.append(
        f"Points: injections; thin line: the fitted curve of each column; band: its "
        f"{with_unit(stated(100 * confidence), '%')} interval."
        if any(one.curve_h.size for one in declines)
        else "Points: injections, joined for each column."
    )
    if any(one.outlying for one in declines):
        said.append("Ringed: outlying injections, kept.")
    return " ".join(part for part in said if part)


def _table(declines: Sequence[Decline]) -> tuple[tuple[str, ...], ...]:
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
            "outlying" if one.series.injections[i] in one.outlying else "",
        )
        for one in declines
        for i in range(len(one.series.injections))
    )
    header = ("injection", "column", "group", "exposure_h", "exposure_cv", "value", "percent", "note")
    return table_of(header, rows)
