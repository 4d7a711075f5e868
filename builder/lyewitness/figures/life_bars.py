"""Lives as they are drawn on an axis of exposure: a bar for a group, a small mark for each of its columns.

In: lives and declines on axes whose scale across is set. Out: what is drawn there.
"""

from collections.abc import Iterable, Sequence
from typing import Any, Literal

from matplotlib.axes import Axes

from lyewitness.decline.records import Decline, Life
from lyewitness.figures.style import GroupInk, Look

GAP_ALPHA = 0.2
"""Of what lies between two injections: seen behind a bar, and never before it."""


def interval_bar(axes: Axes, height: float, life: Life, ink: GroupInk, span: float, look: Look) -> None:
    """Draw the interval as a bar, the estimate as the group's mark, an open end as an arrow."""
    hours = life.hours
    low = hours.low if hours.low is not None else (0.0 if hours.value is not None else None)
    if low is None:
        return
    solid = life.state in ("reached", "not reached")
    high = hours.high if hours.high is not None and life.state != "not reached" else None
    style: dict[str, Any] = {"color": ink.colour, "linewidth": 4.0, "solid_capstyle": "butt", "zorder": 3}
    if not solid:
        style |= {"dashes": (1.0, 0.6)}
    if high is None:
        arrow(axes, (low, height), (span, height), ink, 3.0)
        axes.plot([low], [height], "|", color=ink.colour, markersize=15, markeredgewidth=3.0, zorder=3)
    else:
        axes.plot([low, high], [height, height], **style)
    if hours.value is not None:
        axes.plot(
            [hours.value], [height], ink.mark, color=ink.colour, markersize=look.mark_px * 1.9, zorder=4
        )


def column_marks(axes: Axes, height: float, declines: Sequence[Decline], ink: GroupInk, look: Look) -> None:
    """Draw the single columns small: filled where they failed, hollow with an arrow where they did not.

    Columns at one place are stacked, so that each can be counted; many at one place stand closer.
    """
    span = axes.get_xlim()[1]
    placed = sorted((hours, failed) for one in declines for hours, failed in end_of_life(one))
    for one in declines:
        if one.life.state == "reached" and one.life.hours.value is None:
            ends = [one.life.hours.low or 0.0, one.life.hours.high or span]
            axes.plot(ends, [height, height], color=ink.colour, linewidth=1.0, marker="|", markersize=6)
    for i, (hours, failed) in enumerate(placed):
        near = [j for j, (other, _) in enumerate(placed) if abs(other - hours) < 0.014 * span]
        step = min(8.0, 26.0 / len(near))
        at = height + step * (near.index(i) - (len(near) - 1) / 2)
        size = look.mark_px * 0.8
        fill: Literal["full", "none"] = "full" if failed else "none"
        axes.plot([hours], [at], ink.mark, color=ink.colour, fillstyle=fill, markersize=size, zorder=3)
        if not failed:
            arrow(axes, (hours, at), (hours + 0.035 * span, at), ink, 1.0)


def end_of_life(decline: Decline) -> list[tuple[float, bool]]:
    """Return (hours, failed) of one column; empty where its life is not known."""
    hours = decline.life.hours
    if decline.life.state == "reached" and hours.value is not None:
        return [(hours.value, True)]
    return [(hours.low, False)] if decline.life.state == "not reached" and hours.low is not None else []


def arrow(
    axes: Axes, start: tuple[float, float], end: tuple[float, float], ink: GroupInk, width: float
) -> None:
    """Draw an arrow: at least this."""
    head = "-|>,head_length=0.7,head_width=0.4" if width > 2 else "->,head_length=0.25,head_width=0.18"
    style = {"arrowstyle": head, "color": ink.colour, "linewidth": width, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", end, start, arrowprops=style, annotation_clip=False, zorder=3)


def gaps(declines: Iterable[Decline]) -> list[tuple[float, float]]:
    """Return the spans between the last injection within the limit and the first past it, hours.

    Those of columns that overlap are one span: no injection saw where the limit was passed in it.
    """
    found = sorted(
        (before, after)
        for before, after in (one.life.bracket_h for one in declines if one.life.state == "reached")
        if before is not None and after is not None
    )
    spans: list[tuple[float, float]] = []
    for before, after in found:
        if spans and before <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(spans[-1][1], after))
        else:
            spans.append((before, after))
    return spans


def draw_gaps(
    axes: Axes, top: float, low: float, spans: Sequence[tuple[float, float]], ink: GroupInk
) -> None:
    """Draw spans in which no injection was made pale, from `top` to `low`."""
    for before, after in spans:
        axes.fill_between(
            [before, after], top, low, color=ink.colour, alpha=GAP_ALPHA, linewidth=0, zorder=0.5
        )
