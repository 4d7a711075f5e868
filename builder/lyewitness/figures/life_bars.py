"""Lives as bars on one axis, with words beside or above them.

In: group lives and the declines of their columns. Out: the drawing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any, Literal

from matplotlib.axes import Axes

from lyewitness.decline.records import Decline, GroupLife, Life
from lyewitness.figures.axes import name_scales, number, volumes_per_hour
from lyewitness.figures.sheets import finished, new_sheet, panel
from lyewitness.figures.style import FAINT, INK, MUTED, GroupInk, Look
from lyewitness.figures.words import life_words

FOOT_PX = 12.0
"""Room below the last row for the words at the end of the test."""
NARROW_BELOW_PX = 480
"""Narrower figures carry their words above the bars."""


@dataclass(frozen=True, slots=True)
class _Form:
    """Where things go; places within a row are shares of its height from above."""

    left_px: float
    row_px: float
    beside: bool
    names_at: float
    bar_at: float
    columns_at: float
    foot_px: float


def draw_lives(
    lives: Sequence[GroupLife], declines: Sequence[Decline], order: Sequence[str], look: Look
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height."""
    per_hour = volumes_per_hour([one.series for one in declines])
    form = _form(lives, look)
    tall = form.row_px * len(lives) + FOOT_PX
    height = round(8 + tall + (58 if per_hour and form.beside else 32) + form.foot_px)
    sheet = new_sheet(look.width_px, height)
    axes = panel(sheet, form.left_px, 8, look.width_px - form.left_px - 22, tall)
    span = _span(lives)
    axes.set_xlim(0, span)
    axes.set_ylim(tall / form.row_px, 0)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    _end_of_test(axes, lives)
    for row, life in enumerate(lives):
        ink = look.group(order.index(life.group))
        _names(axes, row, life, ink, form, look)
        _interval(axes, row + form.bar_at, life.life, ink, span, look)
        own = [one for one in declines if one.series.group == life.group]
        _columns(axes, row + form.columns_at, own, ink, look, 8 / form.row_px)
    number(axes.xaxis, 7)
    if form.beside:
        name_scales(axes, look, per_hour, "left")
    else:
        axes.set_xlabel("exposure / h", loc="right", labelpad=2)
    return (*finished(sheet, look), height)


def _form(lives: Sequence[GroupLife], look: Look) -> _Form:
    """Return where words and bars go: words beside the axis, or above each bar where there is no room."""
    if look.width_px < NARROW_BELOW_PX:
        return _Form(14.0, 88.0, False, 0.14, 0.55, 0.82, 14.0)
    wide = max(look.words_width(words) for life in lives for words in (life.group, life_words(life.life)))
    return _Form(min(250.0, 30.0 + wide), 62.0, True, 0.38, 0.38, 0.74, 0.0)


def _span(lives: Sequence[GroupLife]) -> float:
    """Return the end of the axis: a little beyond all that is known."""
    ends = [end for life in lives for end in _known(life)]
    return 1.06 * max(ends, default=1.0)


def _known(life: GroupLife) -> list[float]:
    """Return every exposure this life speaks of."""
    hours = life.life.hours
    return [
        end
        for end in (hours.value, hours.low, hours.high, life.longest_h, life.tested_to_h)
        if end is not None
    ]


def _end_of_test(axes: Axes, lives: Sequence[GroupLife]) -> None:
    """Mark where each row's test ended: one rule where all ended together."""
    for row, life in enumerate(lives):
        if life.tested_to_h is not None:
            axes.plot([life.tested_to_h] * 2, [row, row + 1.2], color=FAINT, linewidth=1.5, zorder=1)
    ends = {life.tested_to_h for life in lives} - {None}
    if len(ends) == 1:
        axes.annotate(
            "end of test", (max(end for end in ends if end is not None), axes.get_ylim()[0]), (-4, 3),
            textcoords="offset points", color=MUTED, ha="right", va="bottom",
        )  # fmt: skip


def _names(axes: Axes, row: int, life: GroupLife, ink: GroupInk, form: _Form, look: Look) -> None:
    """Write group and life at the left of the row, with the group's mark before them."""
    place: dict[str, Any] = {
        "xycoords": ("axes fraction", "data"),
        "textcoords": "offset points",
        "color": MUTED,
    }
    at, start = (0, row + form.names_at), 20 - form.left_px
    axes.annotate(life.group, at, (start, 0), va="center", **(place | {"color": INK}))
    words, shift = life_words(life.life), -0.75 * look.label_px
    if form.beside:
        room = (form.left_px - 26) / look.words_width("n")
        axes.annotate("\n".join(wrap(words, int(room))), at, (start, shift), va="top", **place)
    else:
        axes.annotate(words, at, (start + look.words_width(life.group + "  "), 0), va="center", **place)
    width = axes.get_position().width * look.width_px
    axes.plot(
        [(8 - form.left_px) / width], [row + form.names_at], ink.mark, color=ink.colour, clip_on=False,
        transform=axes.get_yaxis_transform(), markersize=look.mark_px * 1.3,
    )  # fmt: skip


def _interval(axes: Axes, height: float, life: Life, ink: GroupInk, span: float, look: Look) -> None:
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
        _arrow(axes, (low, height), (span, height), ink, 3.0)
        axes.plot([low], [height], "|", color=ink.colour, markersize=15, markeredgewidth=3.0, zorder=3)
    else:
        axes.plot([low, high], [height, height], **style)
    if hours.value is not None:
        axes.plot(
            [hours.value], [height], ink.mark, color=ink.colour, markersize=look.mark_px * 1.9, zorder=4
        )


def _columns(
    axes: Axes, height: float, declines: Sequence[Decline], ink: GroupInk, look: Look, step: float
) -> None:
    """Draw the single columns small: filled where they failed, hollow with an arrow where they did not.

    Columns at one place are stacked, `step` of a row apart, so that each can be counted.
    """
    span = axes.get_xlim()[1]
    placed = sorted((hours, failed) for one in declines for hours, failed in _end_of_life(one))
    for i, (hours, failed) in enumerate(placed):
        near = [j for j, (other, _) in enumerate(placed) if abs(other - hours) < 0.014 * span]
        at = height + step * (near.index(i) - (len(near) - 1) / 2)
        size = look.mark_px * 0.8
        fill: Literal["full", "none"] = "full" if failed else "none"
        axes.plot([hours], [at], ink.mark, color=ink.colour, fillstyle=fill, markersize=size, zorder=3)
        if not failed:
            _arrow(axes, (hours, at), (hours + 0.035 * span, at), ink, 1.0)


def _end_of_life(decline: Decline) -> list[tuple[float, bool]]:
    """Return (hours, failed) of one column; empty where its life is not known."""
    hours = decline.life.hours
    if decline.life.state == "reached" and hours.value is not None:
        return [(hours.value, True)]
    return [(hours.low, False)] if decline.life.state == "not reached" and hours.low is not None else []


def _arrow(
    axes: Axes, start: tuple[float, float], end: tuple[float, float], ink: GroupInk, width: float
) -> None:
    """Draw an arrow: at least this."""
    head = "-|>,head_length=0.7,head_width=0.4" if width > 2 else "->,head_length=0.25,head_width=0.18"
    style = {"arrowstyle": head, "color": ink.colour, "linewidth": width, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", end, start, arrowprops=style, annotation_clip=False, zorder=3)
