"""The share of columns still within a limit, after Kaplan and Meier.

In: group lives. Out: the figures `survival-<marker>-<metric>`, only where a group has enough columns.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from lyewitness.decline import distributions as stats
from lyewitness.decline.records import Decline, GroupLife
from lyewitness.figures.events import EventMarks, event_marks, mark_events, marks_told
from lyewitness.figures.labels import height_for, name_ends, room_for
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, dress, finished, new_sheet, panel
from lyewitness.figures.style import GroupInk, Look
from lyewitness.findings.records import Report
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import limit_of
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import interval, stated, with_unit
from lyewitness.words.phrases import sentence

ENOUGH_COLUMNS = 5
"""With fewer, steps of a quarter or more say less than the lives themselves."""
HEIGHT_PX = 320
"""Steps need less height than curves."""


@dataclass(frozen=True, eq=False, slots=True)
class Steps:
    """The steps of one group, from hour 0 to the end of its test."""

    life: GroupLife
    hours: FloatArray
    """(n,) of the steps; the first is 0, the last the end of the test."""
    share: FloatArray
    """(n,) within the limit from there on, 0 to 1."""
    low: FloatArray
    high: FloatArray
    """(n,) ends of the share's interval."""


def survival_figures(report: Report, look: Look) -> list[Figure]:
    """Return one figure a marker and metric in which some group has enough columns."""
    pairs = dict.fromkeys(
        (one.marker, one.metric)
        for one in report.judgement.group_lives
        if len(one.columns) >= ENOUGH_COLUMNS and one.survival_h
    )
    return [_figure(report, look, *pair) for pair in pairs]


def _figure(report: Report, look: Look, marker: str, metric: str) -> Figure:
    groups = report.study.groups
    confidence = report.study.choices.confidence
    steps = [
        _steps_of(one, report.judgement.declines, confidence)
        for one in report.judgement.group_lives
        if (one.marker, one.metric) == (marker, metric) and one.survival_h
    ]
    marks = event_marks(report.study, (column for one in steps for column in one.life.columns))
    with applied(look):
        light, dark, height = _draw(steps, groups, marks, look)
    name = f"survival-{slug(marker)}-{slug(metric)}"
    limit = limit_of(steps[0].life.limit)
    at_end = "; ".join(_end_words(one) for one in steps)
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"Columns within the limit: {metric_of_marker(marker, metric)}",
        caption=sentence(f"Still within the {limit} at the end: {at_end}")
        + f" Steps after Kaplan and Meier; upright bars: {with_unit(stated(100 * confidence), '%')} interval "
        "of the share at the end; strokes: columns whose test ended before they failed. " + marks_told(marks),
        alt=sentence(f"Share of columns within the {limit} against exposure; at the end {at_end}"),
        width_px=look.width_px,
        height_px=height,
        table=table_of(
            ("group", "exposure_h", "share", "low", "high"),
            (
                (one.life.group, *(float(part[i]) for part in (one.hours, one.share, one.low, one.high)))
                for one in steps
                for i in range(one.hours.size)
            ),
        ),
    )


def _end_words(steps: Steps) -> str:
    """Return `polymer 100 % (48 to 100) of 5 columns`."""
    share, low, high = (100 * float(part[-1]) for part in (steps.share, steps.low, steps.high))
    left = interval(Estimate(share, low, high), "%")
    return f"{steps.life.group} {left} of {len(steps.life.columns)} columns"


def _steps_of(life: GroupLife, declines: Sequence[Decline], confidence: float) -> Steps:
    """Return the steps of one group with the interval of each share.

    How many columns each step had at risk follows from the shares and from the tests that ended before it.
    """
    pair = (life.marker, life.metric)
    ended = [
        one.life.hours.low
        for one in declines
        if (one.series.marker, one.series.metric) == pair and one.series.column in life.columns
        and one.life.state == "not reached" and one.life.hours.low is not None
    ]  # fmt: skip
    hours, share = [0.0], [1.0]
    total = sum(state in ("reached", "not reached") for state in life.states) or len(life.columns)
    failed, greenwood = 0.0, 0.0
    low, high = ([end] for end in share_interval(1.0, 0.0, total, confidence))
    for when, left in zip(life.survival_h, life.survival, strict=True):
        at_risk = total - failed - sum(end < when for end in ended)
        lost = at_risk * (1 - left / share[-1]) if share[-1] > 0 else 0.0
        failed += lost
        greenwood += lost / (at_risk * (at_risk - lost)) if at_risk - lost > 1e-9 else 0.0
        hours.append(when)
        share.append(left)
        for ends, end in zip((low, high), share_interval(left, greenwood, total, confidence), strict=True):
            ends.append(end)
    last = max(life.tested_to_h or 0.0, hours[-1]) if share[-1] > 0 else hours[-1]
    parts = (np.array([*part, part[-1]]) for part in (share, low, high))
    return Steps(life, np.array([*hours, last]), *parts)


def share_interval(share: float, greenwood: float, columns: int, confidence: float) -> tuple[float, float]:
    """Return the two-sided interval of a Kaplan–Meier share, 0 to 1.

    Clopper and Pearson (1934) with the effective number of columns, share (1 − share) ÷ variance, where the
    variance is share² × `greenwood`, the sum of d ÷ (n (n − d)) of Greenwood (1926); with no test that ended
    early this is the exact binomial interval. (Effective numbers: Dorey and Korn 1987, from memory.)
    """
    number = float(columns)
    if 0 < share < 1 and greenwood > 0:
        number = min(number, (1 - share) / (share * greenwood))
    alive = number * share
    tail = (1 - confidence) / 2
    low = float(stats.beta.ppf(tail, alive, number - alive + 1)) if share > 0 else 0.0
    high = float(stats.beta.ppf(1 - tail, alive + 1, number - alive)) if share < 1 else 1.0
    return low, high


def _draw(
    steps: Sequence[Steps], groups: Sequence[str], marks: Sequence[EventMarks], look: Look
) -> tuple[bytes, bytes, int]:
    names = [one.life.group for one in steps]
    inks = [look.group(groups.index(name)) for name in names]
    height = round(max(HEIGHT_PX, 88 + height_for(names, look)))
    sheet = new_sheet(look.width_px, height)
    axes = panel(sheet, 46, 38, look.width_px - 46 - room_for(names, look), height - 38 - 50)
    axes.set_xlim(0, 1.01 * max(float(one.hours[-1]) for one in steps) or 1.0)
    axes.set_ylim(-2, 104)
    for place, (one, ink) in enumerate(zip(steps, inks, strict=True)):
        _draw_steps(axes, one, ink, 4.0 + 7.0 * (place % 6), look)
    mark_events(axes, marks, look)
    dress(axes, look, "exposure / h", "columns still within the limit / %")
    name_ends(axes, look, names, [100 * float(one.share[-1]) for one in steps], inks)
    return (*finished(sheet, look), height)


def _draw_steps(axes: Axes, steps: Steps, ink: GroupInk, aside_px: float, look: Look) -> None:
    """Draw one group's steps, and at their end the interval of the share, `aside_px` to the left."""
    axes.plot(
        steps.hours, 100 * steps.share, drawstyle="steps-post", color=ink.colour,
        dashes=ink.dashes or (None, None), linewidth=look.line_px * 1.3, zorder=3,
    )  # fmt: skip
    end = steps.hours[-1] - aside_px * axes.get_xlim()[1] / axes.get_window_extent().width
    low, high = 100 * steps.low[-1], 100 * steps.high[-1]
    axes.plot([end, end], [low, high], color=ink.colour, linewidth=1.2, zorder=2)
    axes.plot([end, end], [low, high], "_", color=ink.colour, markersize=6, markeredgewidth=1.2)
    if steps.share[-1] > 0:
        axes.plot(
            steps.hours[-1:],
            100 * steps.share[-1:],
            "|",
            color=ink.colour,
            markersize=12,
            markeredgewidth=1.5,
        )
