"""The lives of all groups above the declines that they are read from, on one axis of exposure.

In: group lives and declines of one marker and metric. Out: a drawing, on which a thin line drops from each
life to where the curves pass the limit, so that a reader sees what a life is.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes

from lyewitness.decline.records import Decline, FirstFailure, GroupLife
from lyewitness.figures.asked_times import draw_asked, end_with, head_px
from lyewitness.figures.curves import Curve, curves_of, in_own_unit
from lyewitness.figures.decline_curves import decline_title, fill, last_exposure, name_groups, ticks_for
from lyewitness.figures.events import EventMarks
from lyewitness.figures.labels import CLEAR_PX, Words, clear_of, fitted, height_for, room_for, standing
from lyewitness.figures.life_bars import (
    Ended,
    column_marks,
    draw_elsewhere,
    draw_gaps,
    gaps,
    group_of,
    interval_bar,
    row_words,
)
from lyewitness.figures.records import Frame
from lyewitness.figures.sheets import (
    applied,
    dress,
    finished,
    name_scales,
    new_sheet,
    panel,
    volumes_per_hour,
)
from lyewitness.figures.slimming import HALOED
from lyewitness.figures.style import FAINT, INK, GroupInk, Look
from lyewitness.findings.records import AskedSpan
from lyewitness.words.lives import limit_label
from lyewitness.words.metrics import ANY_LIMIT
from lyewitness.words.phrases import exposure

NARROW_BELOW_PX = 480
"""Narrower figures name groups above their bars only."""
TOP_PX = 6.0
"""Room above the first bar."""
BARS_PX = 42.0
"""Bar and small marks of one group."""
LEADING = 1.25
"""From line to line, in label sizes."""
BESIDE_PX = 12.0
"""From a bar to its words."""
ARROW_PX = 22.0
"""How far an arrow reaches beyond the axis: at least this."""
END_OF_TEST = "end of test, {hours}"
ENDED_TOGETHER = 0.98
"""Share of the longest test from which on tests ended together: one rule stands for all."""
FURTHEST = 1.6
"""Ends of intervals lengthen the axis to this multiple of what was run: beyond, they would crush all else."""


@dataclass(frozen=True, eq=False, slots=True)
class _Row:
    """What is drawn of one group above the declines."""

    life: GroupLife
    ended: tuple[Ended, ...]
    """Its columns, but of lives by any limit those that another ended than the one drawn below."""
    ink: GroupInk
    limit: float | None
    """In the unit of the curves, the mean over the columns; None where its life does not end there."""
    elsewhere: tuple[FirstFailure, ...] = ()
    """Columns that failed by another limit."""

    @property
    def words(self) -> str:
        """Return the group, how long it lasted, and what its crosses are."""
        return f"{self.life.group}  {row_words(self.life, self.elsewhere)}"

    @property
    def gaps(self) -> list[tuple[float, float]]:
        """Return the spans between two injections in which its columns ended, hours."""
        by_any = self.elsewhere if self.life.metric == ANY_LIMIT else ()
        return gaps((*self.ended, *(one for one in by_any if one.group == self.life.group)))

    def ends(self, beyond_h: float) -> tuple[float, float]:
        """Return from where to where something is drawn, hours; what is open ends at `beyond_h`."""
        hours = self.life.life.hours
        known = [end for end in (hours.low, hours.value, hours.high) if end is not None]
        known += [end for gap in self.gaps for end in gap]
        is_open = self.life.life.state == "not reached" or hours.high is None
        return min(known, default=0.0), beyond_h if is_open else max(known)


@dataclass(frozen=True, slots=True)
class _Axis:
    """The axis of exposure, pixels from the left of the sheet."""

    left: float
    wide: float
    end_h: float
    sheet_px: int
    head_px: float
    """Room above the first bar."""
    ruled_h: tuple[float, ...]
    """Exposures that are asked about: a rule runs through all rows at each."""

    def across(self, hours: float) -> float:
        """Return where an exposure lies on the sheet."""
        return self.left + self.wide * hours / self.end_h

    @property
    def beyond_h(self) -> float:
        """Return where arrows end, hours."""
        return self.end_h * (1 + ARROW_PX / self.wide)

    def beside(self, row: _Row, look: Look) -> tuple[str, float]:
        """Return how the words of a row are set and where, beside its bar; empty where there is no room.

        They stand where no rule runs through them, if there is such a side.
        """
        start, end = (self.across(min(hours, self.beyond_h)) for hours in row.ends(self.beyond_h))
        need = look.words_width(row.words) + 8
        sides = [
            (side, at, low)
            for side, at, low in (("left", end + BESIDE_PX, end + BESIDE_PX),
                                  ("right", start - BESIDE_PX, start - BESIDE_PX - need))
            if low >= 6 and low + need <= self.sheet_px
        ]  # fmt: skip
        rules = [self.across(hours) for hours in self.ruled_h]
        clear = [one for one in sides if not any(one[2] < rule < one[2] + need for rule in rules)]
        return next(((side, at) for side, at, _ in (*clear, *sides)), ("", 0.0))


def draw_on_one_axis(
    lives: Sequence[GroupLife],
    declines: Sequence[Decline],
    order: Sequence[str],
    marks: Sequence[EventMarks],
    look: Look,
    asked: Sequence[AskedSpan] = (),
    elsewhere: Sequence[FirstFailure] = (),
    ended: Sequence[FirstFailure] = (),
) -> tuple[bytes, bytes, int, Frame]:
    """Return the drawing for both grounds, its height, and where the declines lie on it.

    `asked`: times to rule through all of it; `elsewhere`: columns that failed by another limit; `ended`: how
    each column did, where the lives are by any limit.
    """
    own = in_own_unit(declines)
    curves = curves_of(declines, own)
    first = curves[0].decline.series
    narrow = look.width_px < NARROW_BELOW_PX
    title = decline_title(first.marker, first.metric, own, brief=narrow)
    rows = [
        _row(life, declines, curves, look.group(order.index(life.group)), elsewhere, ended) for life in lives
    ]
    with applied(look):
        if narrow and (drawn := _drawn(rows, curves, order, marks, asked, title, look, ends_named=False)):
            return drawn
        drawn = _drawn(rows, curves, order, marks, asked, title, look, ends_named=True)
    if drawn is None:
        raise ValueError("a limit has no place although room was made for its words")
    return drawn


def _row(
    life: GroupLife,
    declines: Sequence[Decline],
    curves: Sequence[Curve],
    ink: GroupInk,
    elsewhere: Sequence[FirstFailure],
    ended: Sequence[FirstFailure],
) -> _Row:
    limits = [one.limit for one in curves if one.decline.series.group == life.group and one.limit is not None]
    own: list[Ended] = [one for one in ended or declines if group_of(one) == life.group]
    level = sum(limits) / len(limits) if limits else None
    if ended:
        own = [one for one in own if one not in elsewhere]
        # Where another limit ended some of them, what is typical of all does not end at this one.
        level = None if any(one.group == life.group for one in elsewhere) else level
    return _Row(life, tuple(own), ink, level, tuple(elsewhere))


def _drawn(
    rows: Sequence[_Row],
    curves: Sequence[Curve],
    order: Sequence[str],
    marks: Sequence[EventMarks],
    asked: Sequence[AskedSpan],
    title: str,
    look: Look,
    ends_named: bool,
) -> tuple[bytes, bytes, int, Frame] | None:
    """Return the drawing; None where nothing is to stand beside the axes and a limit's words have to."""
    narrow = look.width_px < NARROW_BELOW_PX
    per_hour = None if narrow else volumes_per_hour([one.decline.series for one in curves])
    axis, tall = _axis(rows, curves, order, asked, look, per_hour is not None, ends_named)
    places, low = _places(rows, axis, look)
    titles = fitted(title, look.width_px - axis.left - 8, look.words_width)
    top = low + 14 + LEADING * look.label_px * len(titles)
    height = top + tall + (58 if per_hour else 22 + 1.7 * look.label_px)
    sheet = new_sheet(look.width_px, height)
    # Bars and lines lie on axes of their own below the declines, with pixels from above as heights.
    above = panel(sheet, axis.left, 0, axis.wide, height)
    above.set_xlim(0, axis.end_h)
    above.set_ylim(height, 0)
    above.set_axis_off()
    axes = panel(sheet, axis.left, top, axis.wide, tall)
    axes.set_xlim(0, axis.end_h)
    left_over = fill(axes, curves, order, marks, look)
    if left_over and not ends_named:
        return None
    dress(axes, look, "exposure / h" if narrow else "", "", ticks_for(look))
    if not narrow:
        name_scales(axes, look, per_hour, "right")
    name_groups(axes, curves, order, left_over, look, by_mark=narrow)
    written = [
        _write(above, line, axis.left, top - 12 - LEADING * look.label_px * number, "left", look)
        for number, line in enumerate(reversed(titles))
    ]
    for row, (start, lines) in zip(rows, places, strict=True):
        written += _name(above, row, start, lines, axis, look)
    bottom, upper = axes.get_ylim()
    if (end_h := common_end(row.life for row in rows)) is not None:
        heights = [start + LEADING * look.label_px * len(lines) + 9 for start, lines in places]
        written += _draw_end(above, end_h, list(zip(rows, heights, strict=True)), written, axis, look)
        axes.axvline(end_h, color=FAINT, linewidth=1.5, zorder=0.4)
    for row, (start, lines) in zip(rows, places, strict=True):
        at = start + LEADING * look.label_px * len(lines) + 9
        _draw_bars(above, row, at, axis, look)
        if (
            row.limit is not None
            and row.life.life.state == "reached"
            and row.life.life.hours.value is not None
        ):
            hours, end = row.life.life.hours.value, top + tall * (upper - row.limit) / (upper - bottom)
            for piece in clear_of(written, axis.across(hours), at, end):
                above.plot([hours] * 2, piece, color=row.ink.colour, linewidth=0.9, zorder=1)
            # It is seen to end at the limit: what is marked below at the same hour is another matter.
            above.plot(
                [hours], [end], row.ink.mark, color=row.ink.colour, zorder=3,
                markersize=look.mark_px, markeredgecolor=INK, markeredgewidth=0.9,
            )  # fmt: skip
    if asked:
        draw_asked(above, asked, look, TOP_PX - 2, top + tall, axis.sheet_px, [*written, *standing(axes)])
    frame = Frame(axis.left, top, axis.wide, tall, 0.0, axis.end_h, bottom, upper)
    return (*finished(sheet, look), round(height), frame)


def _axis(
    rows: Sequence[_Row],
    curves: Sequence[Curve],
    order: Sequence[str],
    asked: Sequence[AskedSpan],
    look: Look,
    volumes: bool,
    ends_named: bool,
) -> tuple[_Axis, float]:
    """Return the axis of exposure, and how tall the declines are."""
    narrow = look.width_px < NARROW_BELOW_PX
    names = [group for group in order if any(one.decline.series.group == group for one in curves)]
    bounds = [*dict.fromkeys(limit_label(one.decline.limit) for one in curves if one.decline.limit)]
    beside = [*([] if narrow else names), *bounds] if ends_named else []
    scales = [] if narrow else ["exposure / h", *(["column volumes"] if volumes else [])]
    named_px = room_for(beside, look) if beside else 0.0
    right = max(ARROW_PX + 6, named_px, *(24 + look.words_width(one) for one in scales))
    left = 36.0 if narrow else 46.0
    run = last_exposure(curves)
    known = [row.life.life.hours for row in rows if row.life.life.state != "not reached"]
    ends = [end for one in known for end in (one.value, one.low, one.high) if end is not None]
    end_h = max(1.01 * run, min(1.06 * max(ends, default=0.0), FURTHEST * run))
    tall = max(210.0 if narrow else 290.0, height_for(beside or names, look))
    end_h = end_with(asked, end_h, run)
    head = TOP_PX + head_px(asked, look)
    ruled = tuple(one.hours for one in asked if one.hours <= end_h)
    return _Axis(left, look.width_px - left - right, end_h, look.width_px, head, ruled), tall


def _places(
    rows: Sequence[_Row], axis: _Axis, look: Look
) -> tuple[list[tuple[float, tuple[str, ...]]], float]:
    """Return top and lines above its bar of each row, and where the last one ends.

    Words stand beside the bars where they fit beside every one, else above each.
    """
    if all(axis.beside(row, look)[0] for row in rows):
        starts = [axis.head_px + BARS_PX * place for place in range(len(rows) + 1)]
        return [(start, ()) for start in starts[:-1]], starts[-1]
    places, top = [], axis.head_px
    for row in rows:
        lines = fitted(row.words, look.width_px - 30, look.words_width)
        places.append((top, lines))
        top += LEADING * look.label_px * len(lines) + BARS_PX + 4
    return places, top


def common_end(lives: Iterable[GroupLife]) -> float | None:
    """Return where the test ended, hours, where it ended for all groups at about the same exposure."""
    ends = [one.tested_to_h for one in lives]
    known = [end for end in ends if end is not None]
    together = len(known) == len(ends) > 0 and min(known) >= ENDED_TOGETHER * max(known)
    return max(known) if together else None


def _draw_end(
    above: Axes, end_h: float, rows: Sequence[tuple[_Row, float]], written: Sequence[Words], axis: _Axis,
    look: Look,
) -> list[Words]:  # fmt: skip
    """Rule the end of the test through the rows, and name it beside the first bar where there is room.

    The result is where the words stand, none where they have no place.
    """
    told = END_OF_TEST.format(hours=exposure(end_h))
    across, wide, half = (
        axis.across(end_h),
        look.words_width(told) + CLEAR_PX,
        look.label_px * LEADING / 2,
    )
    named: list[Words] = []
    for row, at in rows:
        start, end = (axis.across(min(hours, axis.beyond_h)) for hours in row.ends(axis.beyond_h))
        for left in (across + BESIDE_PX / 2, across - BESIDE_PX / 2 - wide):
            box = Words(left, left + wide, at - half, at + half)
            over = [one for one in written if one.left < box.right and box.left < one.right
                    and one.top < box.bottom and box.top < one.bottom]  # fmt: skip
            clear = left >= 6 and box.right <= axis.sheet_px - 4 and not over
            if not named and clear and not (start - 8 < box.right and box.left < end + 8):
                _write(above, told, left, at, "left", look)
                named = [box]
    for piece in clear_of([*written, *named], across, axis.head_px, rows[-1][1] + 34):
        above.plot([end_h] * 2, piece, color=FAINT, linewidth=1.5, zorder=0.4)
    return named


def _draw_bars(above: Axes, row: _Row, at: float, axis: _Axis, look: Look) -> None:
    """Draw the interval of a life at a height, and below it the lives of the single columns."""
    tested = row.life.tested_to_h
    if tested is not None and tested < 0.95 * axis.end_h:
        above.plot([tested] * 2, [at - 8, at + 30], color=FAINT, linewidth=1.5, zorder=0.4)
    draw_gaps(above, at - 7, at + 30, row.gaps, row.ink)
    interval_bar(above, at, row.life.life, row.ink, axis.beyond_h, look)
    column_marks(above, at + 18, row.ended, row.ink, look, row.life.columns)
    draw_elsewhere(above, at + 18, row.elsewhere, row.life, row.ink, look)


def _name(above: Axes, row: _Row, top: float, lines: Sequence[str], axis: _Axis, look: Look) -> list[Words]:
    """Write group and life above the bar in their lines, behind the group's mark; without lines beside it."""
    if not lines:
        side, across = axis.beside(row, look)
        return [_write(above, row.words, across, top + 9, side, look)]
    written = [
        _write(above, line, 20.0, top + LEADING * look.label_px * (number + 0.55), "left", look)
        for number, line in enumerate(lines)
    ]
    above.plot(
        [(8.0 - axis.left) / axis.wide], [top + LEADING * look.label_px * 0.55], row.ink.mark,
        color=row.ink.colour, clip_on=False, transform=above.get_yaxis_transform(),
        markersize=look.mark_px * 1.3,
    )  # fmt: skip
    return written


def _write(above: Axes, words: str, across: float, down: float, side: str, look: Look) -> Words:
    """Write words at a place of the sheet, and return where they stand."""
    above.annotate(
        words, (across, above.get_ylim()[0] - down), xycoords="figure pixels", color=INK, ha=side,
        va="center_baseline", zorder=6, gid=HALOED, annotation_clip=False,
    )  # fmt: skip
    wide, half = look.words_width(words), LEADING * look.label_px / 2
    left = across if side == "left" else across - wide
    return Words(left - CLEAR_PX, left + wide + CLEAR_PX, down - half, down + half)
