"""The share of columns still within a limit, after Kaplan and Meier.

In: group lives. Out: the figures `survival-<marker>-<metric>`, only where a group has enough columns.
"""

from collections.abc import Sequence

from matplotlib.axes import Axes

from lyewitness.decline.records import GroupLife
from lyewitness.figures.axes import dress, end_label
from lyewitness.figures.labels import spread
from lyewitness.figures.records import Figure
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import GroupInk, Look
from lyewitness.figures.words import limit_words, percent_words, sentence, slug, subject, table_of
from lyewitness.findings.records import Report

ENOUGH_COLUMNS = 5
"""With fewer, steps of a quarter or more say less than the lives themselves."""
HEIGHT_PX = 320


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
    lives = [
        one
        for one in report.judgement.group_lives
        if (one.marker, one.metric) == (marker, metric) and one.survival_h
    ]
    with applied(look):
        light, dark = _draw(lives, groups, look)
    name = f"survival-{slug(marker)}-{slug(metric)}"
    at_end = "; ".join(
        f"{one.group} {percent_words(100 * one.survival[-1])} of {len(one.columns)} columns" for one in lives
    )
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"Columns within the limit: {subject(marker, metric)}",
        caption=sentence(f"Still within the {limit_words(lives[0].limit)} at the end: {at_end}")
        + " Steps after Kaplan and Meier; strokes: columns whose test ended before they failed.",
        alt=sentence(f"Share of columns within the limit against exposure; at the end {at_end}"),
        width_px=look.width_px,
        height_px=HEIGHT_PX,
        table=table_of(
            ("group", "exposure_h", "share"),
            (
                (one.group, h, share)
                for one in lives
                for h, share in zip(one.survival_h, one.survival, strict=True)
            ),
        ),
    )


def _draw(lives: Sequence[GroupLife], groups: Sequence[str], look: Look) -> tuple[bytes, bytes]:
    right = min(220.0, 30.0 + max(look.words_width(one.group) for one in lives))
    sheet = new_sheet(look.width_px, HEIGHT_PX)
    axes = panel(sheet, 46, 38, look.width_px - 46 - right, HEIGHT_PX - 38 - 50)
    end = max([one.tested_to_h or 0.0 for one in lives] + [max(one.survival_h) for one in lives]) or 1.0
    axes.set_xlim(0, 1.01 * end)
    axes.set_ylim(0, 104)
    for one in lives:
        _steps(axes, one, look.group(groups.index(one.group)), look)
    dress(axes, look, "exposure / h", "columns still within the limit / %")
    per_px = 104 / (HEIGHT_PX - 88)
    places = spread([100 * one.survival[-1] for one in lives], 1.4 * look.label_px * per_px, 4, 102)
    for one, place in zip(lives, places, strict=True):
        end_label(axes, one.group, float(place), look.group(groups.index(one.group)))
    return finished(sheet, look)


def _steps(axes: Axes, life: GroupLife, ink: GroupInk, look: Look) -> None:
    """Draw one group's steps to the end of its test, with a stroke where columns outlived it."""
    alive = life.survival[-1] > 0
    end = max(life.tested_to_h or 0.0, life.survival_h[-1]) if alive else life.survival_h[-1]
    hours = [*([] if life.survival_h[0] == 0 else [0.0]), *life.survival_h, end]
    shares = [*([] if life.survival_h[0] == 0 else [1.0]), *life.survival, life.survival[-1]]
    axes.plot(
        hours, [100 * share for share in shares], drawstyle="steps-post", color=ink.colour,
        dashes=ink.dashes or (None, None), linewidth=look.line_px * 1.3,
    )  # fmt: skip
    if alive:
        axes.plot([end], [100 * life.survival[-1]], "|", color=ink.colour, markersize=12, markeredgewidth=1.5)
