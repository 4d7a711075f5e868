"""Lives as they are drawn on an axis of exposure: a bar for a group, a small mark for each of its columns.

In: lives and declines on axes whose scale across is set. Out: what is drawn there.
"""

from collections.abc import Collection, Iterable, Sequence
from typing import Any, Literal

from matplotlib.axes import Axes

from lyewitness.decline.deciding import key_of
from lyewitness.decline.records import Decline, FirstFailure, GroupLife, Life
from lyewitness.figures.style import GroupInk, Look
from lyewitness.words.lives import label_of, tell
from lyewitness.words.metrics import ANY_LIMIT, metric_of_marker
from lyewitness.words.phrases import listed

GAP_ALPHA = 0.2
"""Of what lies between two injections: seen behind a bar, and never before it."""


Ended = Decline | FirstFailure
"""What tells how a column ended: by one limit, or by whichever it passed first."""


def column_of(one: Ended) -> str:
    """Return which column it is told of."""
    return one.column if isinstance(one, FirstFailure) else one.series.column


def group_of(one: Ended) -> str:
    """Return of which group that column is."""
    return one.group if isinstance(one, FirstFailure) else one.series.group


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


def column_marks(
    axes: Axes,
    height: float,
    ended: Sequence[Ended],
    ink: GroupInk,
    look: Look,
    compared: Collection[str],
) -> None:
    """Draw the single columns small: filled where they failed, hollow with an arrow where they did not.

    Columns at one place are stacked, so that each can be counted; many at one place stand closer. What is not
    among the `compared` stands in brackets.
    """
    span = axes.get_xlim()[1]
    placed = sorted((*end, column_of(one)) for one in ended for end in end_of_life(one))
    for one in ended:
        if one.life.state == "reached" and one.life.hours.value is None:
            ends = [one.life.hours.low or 0.0, one.life.hours.high or span]
            axes.plot(ends, [height, height], color=ink.colour, linewidth=1.0, marker="|", markersize=6)
    for i, (hours, failed, name) in enumerate(placed):
        near = [j for j, (other, *_) in enumerate(placed) if abs(other - hours) < 0.014 * span]
        step = min(8.0, 26.0 / len(near))
        at = height + step * (near.index(i) - (len(near) - 1) / 2)
        size = look.mark_px * 0.8
        fill: Literal["full", "none"] = "full" if failed else "none"
        axes.plot([hours], [at], ink.mark, color=ink.colour, fillstyle=fill, markersize=size, zorder=3)
        if not failed:
            arrow(axes, (hours, at), (hours + 0.035 * span, at), ink, 1.0)
        if name not in compared:
            _bracketed(axes, hours, at, ink, look)


def _bracketed(axes: Axes, hours: float, at: float, ink: GroupInk, look: Look) -> None:
    """Set a mark in brackets: its column is drawn, and counts in no life of its group."""
    for sign, shift in (("(", -0.62 * look.mark_px - 3), (")", 0.62 * look.mark_px + 3)):
        axes.annotate(
            sign, (hours, at), (shift, 0), textcoords="offset points", color=ink.colour, ha="center",
            va="center_baseline", annotation_clip=False, zorder=4,
        )  # fmt: skip


def bracketed_told(lives: Iterable[GroupLife], ended: Iterable[Ended]) -> str:
    """Return which columns stand in brackets, and why; empty where none does."""
    compared = {column for life in lives for column in life.columns}
    groups = {life.group for life in lives}
    left = [column_of(one) for one in ended if group_of(one) in groups and column_of(one) not in compared]
    return f"In brackets: left out of the lives and of the comparison: {listed(left)}." if left else ""


def failed_elsewhere(firsts: Iterable[FirstFailure], declines: Sequence[Decline]) -> tuple[FirstFailure, ...]:
    """Return the columns of these declines to one limit that surely failed by another before, or without it.

    An arrow alone would say of them that nothing happened.
    """
    own = {one.series.column: one for one in declines}
    found = []
    for first in firsts:
        decline, high = own.get(first.column), first.life.hours.high
        if decline is None or high is None or (first.marker, first.metric) == key_of(decline):
            continue
        life = decline.life
        if life.state != "reached" or (life.hours.low is not None and life.hours.low > high):
            found.append(first)
    return tuple(found)


def row_words(life: GroupLife, elsewhere: Iterable[FirstFailure]) -> str:
    """Return how long a group lasted, and what the crosses in its row are: few read a caption first."""
    crossed = any(one.group == life.group for one in elsewhere)
    words = "by another limit than below" if life.metric == ANY_LIMIT else "failed by another limit"
    return label_of(life.life) + (f"; \u00d7 {words}" if crossed else "")


def ended_elsewhere(ended: Iterable[FirstFailure], drawn: tuple[str, str]) -> tuple[FirstFailure, ...]:
    """Return the columns that another limit ended than the one whose declines are drawn."""
    return tuple(
        one for one in ended if one.metric and drawn not in ((one.marker, one.metric), *one.tied_with)
    )


def elsewhere_told(found: Iterable[FirstFailure], lead: str = "failed by another limit") -> str:
    """Return what the crosses are, with each column and its life by the limit that ended it."""
    by_metric: dict[str, list[str]] = {}
    for one in found:
        words = metric_of_marker(one.marker, one.metric)
        by_metric.setdefault(words, []).append(f"{one.column} {tell(one.life)}")
    told = "; ".join(f"{listed(columns)} ({words})" for words, columns in by_metric.items())
    return f"Crosses: {lead}: {told}." if told else ""


def draw_elsewhere(
    axes: Axes, height: float, found: Iterable[FirstFailure], life: GroupLife, ink: GroupInk, look: Look
) -> None:
    """Draw a cross where a column of the group failed by another limit; in the middle of a bracket."""
    for one in found:
        hours = one.life.hours
        low, high = hours.low or 0.0, hours.high or 0.0
        if one.group != life.group:
            continue
        if hours.value is None:
            axes.plot(
                [low, high], [height, height], color=ink.colour, linewidth=1.0, marker="|", markersize=6
            )
        at = hours.value if hours.value is not None else (low + high) / 2
        axes.plot(
            [at], [height], "x", color=ink.colour, markersize=look.mark_px, markeredgewidth=1.8, zorder=4
        )
        if one.column not in life.columns:
            _bracketed(axes, at, height, ink, look)


def end_of_life(one: Ended) -> list[tuple[float, bool]]:
    """Return (hours, failed) of one column; empty where its life is not known."""
    hours = one.life.hours
    if one.life.state == "reached" and hours.value is not None:
        return [(hours.value, True)]
    return [(hours.low, False)] if one.life.state == "not reached" and hours.low is not None else []


def arrow(
    axes: Axes, start: tuple[float, float], end: tuple[float, float], ink: GroupInk, width: float
) -> None:
    """Draw an arrow: at least this."""
    head = "-|>,head_length=0.7,head_width=0.4" if width > 2 else "->,head_length=0.25,head_width=0.18"
    style = {"arrowstyle": head, "color": ink.colour, "linewidth": width, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", end, start, arrowprops=style, annotation_clip=False, zorder=3)


def gaps(ended: Iterable[Ended]) -> list[tuple[float, float]]:
    """Return the spans between the last injection within the limit and the first past it, hours.

    Those of columns that overlap are one span: no injection saw where the limit was passed in it.
    """
    found = sorted(
        (before, after)
        for before, after in (one.life.bracket_h for one in ended if one.life.state == "reached")
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
