"""The lives of all groups on one axis, as intervals, above the declines that they come from.

In: the group lives and declines of one marker and metric. Out: the figures `lives` and `lives-<question>`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet

from lyewitness.decline.records import Decline, FirstFailure, GroupLife
from lyewitness.figures.asked_times import asked_about, asked_told, draw_asked, end_with, head_px
from lyewitness.figures.curves import curves_of, in_own_unit
from lyewitness.figures.decline_curves import left_out_told
from lyewitness.figures.events import EventMarks, event_marks, marks_told
from lyewitness.figures.labels import CLEAR_PX, Words, fitted
from lyewitness.figures.life_bars import (
    Ended,
    bracketed_told,
    column_marks,
    column_of,
    draw_elsewhere,
    elsewhere_told,
    ended_elsewhere,
    failed_elsewhere,
    gaps,
    group_of,
    interval_bar,
    row_words,
)
from lyewitness.figures.one_axis import common_end, draw_on_one_axis
from lyewitness.figures.records import Figure, Frame, Trail, Trails, table_of
from lyewitness.figures.sheets import (
    applied,
    finished,
    name_scales,
    new_sheet,
    number,
    panel,
    volumes_per_hour,
)
from lyewitness.figures.style import FAINT, INK, MUTED, GroupInk, Look
from lyewitness.findings.records import Answer, AskedSpan, Report
from lyewitness.words.lives import limit_label, tell
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import sentence

FOOT_PX = 12.0
"""Room below the last row for the words at the end of the test."""
LEADING = 1.25
"""From line to line, in label sizes."""
NAMES_SHARE = 0.35
"""Of the width that names and lives may take beside the bars."""
NARROW_BELOW_PX = 480
"""Narrower figures carry their words above the bars."""


@dataclass(frozen=True, slots=True)
class _Form:
    """Where things go, pixels; within a row from above."""

    left_px: float
    row_px: float
    beside: bool
    """Words beside the bars, or above them."""
    name_px: float
    """Widest a name or a life may be before it goes on on the next line."""
    bar_px: float
    columns_px: float
    foot_px: float


def draw_lives(
    lives: Sequence[GroupLife],
    declines: Sequence[Decline],
    order: Sequence[str],
    look: Look,
    asked: Sequence[AskedSpan] = (),
    elsewhere: Sequence[FirstFailure] = (),
    ended: Sequence[FirstFailure] = (),
) -> tuple[bytes, bytes, int]:
    """Return the drawing for both grounds, and its height."""
    sheet, height = lives_sheet(lives, declines, order, look, asked, elsewhere, ended)
    return (*finished(sheet, look), height)


def lives_sheet(
    lives: Sequence[GroupLife],
    declines: Sequence[Decline],
    order: Sequence[str],
    look: Look,
    asked: Sequence[AskedSpan] = (),
    elsewhere: Sequence[FirstFailure] = (),
    ended: Sequence[FirstFailure] = (),
) -> tuple[Sheet, int]:
    """Return the drawn sheet and its height; `look` must be applied.

    `asked`: times to rule through the lives; `elsewhere`: columns that failed by another limit; `ended`: how
    each column did, where the lives are by any limit.
    """
    # Without declines below, no limit is another one.
    elsewhere = () if ended else elsewhere
    per_hour = volumes_per_hour([one.series for one in declines])
    told = {life.group: row_words(life, elsewhere) for life in lives}
    form = _form(told, look, per_hour is not None)
    tall = form.row_px * len(lives) + FOOT_PX
    head = 8 + head_px(asked, look)
    height = round(
        head
        + tall
        + (30 + 2 * look.label_px if per_hour and form.beside else 18 + look.label_px)
        + form.foot_px
    )
    sheet = new_sheet(look.width_px, height)
    axes = panel(sheet, form.left_px, head, look.width_px - form.left_px - 22, tall)
    run_h = max((life.tested_to_h or 0.0 for life in lives), default=0.0) or _span(lives)
    span = end_with(asked, _span(lives), run_h)
    axes.set_xlim(0, span)
    axes.set_ylim(tall, 0)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    _end_of_test(axes, lives, form.row_px)
    written: list[Words] = []
    for row, life in enumerate(lives):
        ink = look.group(order.index(life.group))
        top = row * form.row_px
        written += _names(axes, top, (life.group, told[life.group]), ink, form, look)
        interval_bar(axes, top + form.bar_px, life.life, ink, span, look)
        own: list[Ended] = [one for one in ended or declines if group_of(one) == life.group]
        column_marks(axes, top + form.columns_px, own, ink, look, life.columns)
        draw_elsewhere(axes, top + form.columns_px, elsewhere, life, ink, look)
    if asked:
        above = panel(sheet, form.left_px, 0, look.width_px - form.left_px - 22, height)
        above.set_xlim(0, span)
        above.set_ylim(height, 0)
        above.set_axis_off()
        lower = [replace(one, top=one.top + head, bottom=one.bottom + head) for one in written]
        draw_asked(above, asked, look, 6, head + tall, look.width_px, lower)
    number(axes.xaxis, 7)
    if form.beside:
        name_scales(axes, look, per_hour, "left")
    else:
        axes.set_xlabel("exposure / h", loc="right", labelpad=2)
    return sheet, height


def _form(told: Mapping[str, str], look: Look, volumes: bool) -> _Form:
    """Return where words and bars go: words beside the axis, or above each bar where there is no room."""
    line = LEADING * look.label_px
    if look.width_px < NARROW_BELOW_PX:
        room = look.width_px - 28.0
        lines = max(len(row) for one in told.items() for row in [_lines(one, room, False, look)])
        head = 10 + lines * line
        return _Form(14.0, head + 64, False, room, head + 21, head + 45, 14.0)
    wide = max(look.words_width(words) for one in told.items() for words in one)
    room = min(NAMES_SHARE * look.width_px, 4 + wide)
    lines = max(len(_lines(one, room, True, look)) for one in told.items())
    scales = look.words_width("column volumes" if volumes else "exposure / h") + 16
    return _Form(max(26 + room, scales), max(62.0, 16 + lines * line), True, room, 23.5, 46.0, 0.0)


def _lines(one: tuple[str, str], room: float, beside: bool, look: Look) -> list[tuple[str, str]]:
    """Return the lines beside a bar as (group, life): both on one where they are above it and fit."""
    group, words = one
    if not beside and look.words_width(f"{group}  {words}") <= room:
        return [one]
    names, told = (fitted(text, room, look.words_width) for text in (group, words))
    return [*((line, "") for line in names), *(("", line) for line in told)]


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


def _end_of_test(axes: Axes, lives: Sequence[GroupLife], row_px: float) -> None:
    """Mark where each row's test ended: one rule where all ended together."""
    for row, life in enumerate(lives):
        if life.tested_to_h is not None:
            rows = [row * row_px, (row + 1.2) * row_px]
            axes.plot([life.tested_to_h] * 2, rows, color=FAINT, linewidth=1.5, zorder=1)
    # The words stand at the last row's, below its marks; what a rule means in one row it means in all.
    if lives and (end := lives[-1].tested_to_h) is not None:
        axes.annotate(
            "end of test", (end, axes.get_ylim()[0]), (-4, 3), textcoords="offset points", color=MUTED,
            ha="right", va="bottom",
        )  # fmt: skip


def _names(
    axes: Axes, top: float, one: tuple[str, str], ink: GroupInk, form: _Form, look: Look
) -> Iterator[Words]:
    """Write group and life at the left of the row, behind the group's mark, and yield where they stand.

    Heights are pixels from the top of the axes.
    """
    start = 20 - form.left_px
    first = top + (16.5 if form.beside else 12.0)
    for row, (name, told) in enumerate(_lines(one, form.name_px, form.beside, look)):
        at = (0, first + row * LEADING * look.label_px)
        for words, colour, shift in (
            (name, INK, 0.0), (told, MUTED, look.words_width(name + "  ") if name else 0.0)
        ):  # fmt: skip
            axes.annotate(
                words, at, (start + shift, 0), va="center_baseline", color=colour,
                xycoords=("axes fraction", "data"), textcoords="offset points",
            )  # fmt: skip
            left, half = form.left_px + start + shift, LEADING * look.label_px / 2
            if words:
                yield Words(left, left + look.words_width(words) + CLEAR_PX, at[1] - half, at[1] + half)
    width = axes.get_position().width * look.width_px
    axes.plot(
        [(8 - form.left_px) / width], [first], ink.mark, color=ink.colour, clip_on=False,
        transform=axes.get_yaxis_transform(), markersize=look.mark_px * 1.3,
    )  # fmt: skip


@dataclass(frozen=True, eq=False, slots=True)
class Drawn:
    """What is drawn of the answer to one question."""

    lives: Sequence[GroupLife]
    """Of the groups, in the study's order: by one limit, or by whichever each column passed first."""
    declines: Sequence[Decline]
    """Of their columns, to one limit."""
    elsewhere: tuple[FirstFailure, ...]
    """Columns that another limit than that one ended."""
    ended: tuple[FirstFailure, ...] = ()
    """How each column ended, where the lives are by any limit."""

    @property
    def marked(self) -> Sequence[Ended]:
        """Return what the small marks are of."""
        return self.ended or self.declines


def lives_figures(report: Report, look: Look) -> list[Figure]:
    """Return the lives by what decides the first question, then one figure a question that differs in it.

    They are `lives` and `lives-<question>`; none where no group life was judged.
    """
    figures: list[Figure] = []
    drawn: set[tuple[tuple[str, str], tuple[str, ...], bool]] = set()
    everyone = report.study.groups
    for place, answer in enumerate(report.findings.answers or (None,)):
        name = f"lives-{slug(answer.question.id)}" if place and answer else "lives"
        deciding = answer.deciding if answer and any(answer.deciding) else report.judgement.deciding
        asked = (answer.question.groups if answer else ()) or everyone
        groups = tuple(group for group in everyone if group in asked)
        key = (deciding, groups, bool(answer and answer.ended))
        if key not in drawn:
            drawn.add(key)
            figures += _figure(report, look, name, deciding, groups, answer)
    return figures


def _figure(
    report: Report,
    look: Look,
    name: str,
    deciding: tuple[str, str],
    groups: tuple[str, ...],
    answer: Answer | None,
) -> list[Figure]:
    """Return the figure in a list; an empty one where no life of these groups was judged."""
    order = report.study.groups
    drawn = lives_drawn(report, deciding, groups, answer)
    if not drawn.lives:
        return []
    lives, declines = drawn.lives, drawn.declines
    curved = any(one.percent.size for one in declines)
    marks = event_marks(report.study, (one.series.column for one in declines)) if curved else ()
    asked = asked_about(report, deciding, groups)
    light, dark, height, frame = _drawn(drawn, order, marks, look, asked)
    narrow, narrow_dark, narrow_height, narrow_frame = _drawn(drawn, order, marks, look.narrow(), asked)
    told = "; ".join(f"{life.group} {tell(life.life)}" for life in lives)
    head = f"lives on one axis of hours, by {_by_words(drawn)}"
    return [
        Figure(
            id=name,
            file=f"figures/{name}.svg",
            data=light,
            dark=dark,
            title="How long each group lasted",
            caption=_caption(drawn, marks, report.study.choices.confidence, asked),
            alt=" ".join((sentence(f"{head}: {told}"), *_also(drawn), asked_told(asked))).strip(),
            width_px=look.width_px,
            height_px=height,
            table=_table(lives, drawn.marked),
            narrow=narrow,
            narrow_dark=narrow_dark,
            narrow_width_px=look.narrow().width_px,
            narrow_height_px=narrow_height,
            trails=_trails(declines, frame, narrow_frame) if frame and narrow_frame else None,
        )
    ]


def _trails(declines: Sequence[Decline], frame: Frame, narrow: Frame) -> Trails:
    """Return the declines as they are drawn, point by point."""
    own = in_own_unit(declines)
    return Trails(
        frame,
        narrow,
        declines[0].series.metric if own else "",
        tuple(
            Trail(
                one.decline.series.column,
                tuple(
                    name
                    for name, out in zip(one.decline.series.injections, one.doubted, strict=True)
                    if not out
                ),
                tuple(one.hours[~one.doubted].tolist()),
                tuple(one.value[~one.doubted].tolist()),
            )
            for one in curves_of(declines, own)
        ),
    )


def lives_drawn(
    report: Report, deciding: tuple[str, str], groups: Sequence[str], answer: Answer | None
) -> Drawn:
    """Return the lives of these groups that an answer rests on, and the declines of their columns."""
    by_any = answer is not None and bool(answer.ended)
    lives = [
        one
        for one in (answer.lives_by_any if answer and by_any else report.judgement.group_lives)
        if (by_any or (one.marker, one.metric) == deciding) and one.group in groups
    ]
    lives.sort(key=lambda life: report.study.groups.index(life.group))
    own = [one for one in report.judgement.declines if _of(one) == deciding and one.series.group in groups]
    if answer and by_any:
        return Drawn(lives, own, ended_elsewhere(answer.ended, deciding), answer.ended)
    return Drawn(lives, own, failed_elsewhere(report.judgement.first_failures, own))


def _drawn(
    drawn: Drawn, order: Sequence[str], marks: Sequence[EventMarks], look: Look, asked: Sequence[AskedSpan]
) -> tuple[bytes, bytes, int, Frame | None]:
    """Return the lives above their declines where there are any to be drawn, else the lives alone."""
    lives, declines, elsewhere, ended = drawn.lives, drawn.declines, drawn.elsewhere, drawn.ended
    if any(one.percent.size for one in declines):
        return draw_on_one_axis(lives, declines, order, marks, look, asked, elsewhere, ended)
    with applied(look):
        return (*draw_lives(lives, declines, order, look, asked, elsewhere, ended), None)


BY_ANY = "whichever limit each column passed first"


def _crosses_told(drawn: Drawn) -> str:
    """Return what the crosses are."""
    if drawn.ended:
        return elsewhere_told(drawn.elsewhere, "ended by another limit than the one drawn below")
    return elsewhere_told(drawn.elsewhere)


def _also(drawn: Drawn) -> tuple[str, ...]:
    """Return what crosses and brackets say, for those who do not see them."""
    told = (_crosses_told(drawn), bracketed_told(drawn.lives, drawn.marked))
    return tuple(one for one in told if one)


def _of(decline: Decline) -> tuple[str, str]:
    return decline.series.marker, decline.series.metric


def _caption(drawn: Drawn, marks: Sequence[EventMarks], confidence: float, asked: Sequence[AskedSpan]) -> str:
    """Say who lasted how long, then what the marks mean."""
    lives, declines = drawn.lives, drawn.declines
    finding = "; ".join(f"{life.group} {tell(life.life)}" for life in lives)
    curved = any(one.percent.size for one in declines)
    parts = [
        f"Life by {_by_words(drawn)}: {finding}.",
        _bars_words(lives, with_unit(stated(100 * confidence), "%")),
        "Pale: between the last injection within the limit and the first past it."
        if gaps(drawn.marked)
        else "",
        "Arrow, hollow mark: the limit was not passed within the hours run; the life is at least this."
        if any(life.life.state == "not reached" for life in lives)
        else "",
        _crosses_told(drawn),
        bracketed_told(lives, drawn.marked),
        _below_words(drawn) if curved else "",
        "Grey rule: the end of the test." if curved and common_end(lives) is not None else "",
        asked_told(asked),
        left_out_told(declines) if curved else "",
        marks_told(marks),
    ]
    return " ".join(part for part in parts if part)


def _by_words(drawn: Drawn) -> str:
    """Return by which limit the lives are."""
    if drawn.ended:
        return BY_ANY
    first = drawn.lives[0]
    return f"{metric_of_marker(first.marker, first.metric)}, {limit_label(first.limit)}"


def _below_words(drawn: Drawn) -> str:
    """Say what stands below the lives: of lives by any limit, the declines to one of the limits alone."""
    what, drops = "the injections of each column", "a line drops from each life to the limit"
    series = drawn.declines[0].series
    if drawn.ended:
        what += f" by {metric_of_marker(series.marker, series.metric)} alone,"
        drops = "a line drops from each life of a group that no other limit ended"
    return f"Below: {what} with the fitted curve and its interval; {drops}."


def _bars_words(lives: Sequence[GroupLife], confidence: str) -> str:
    """Say what the bars and marks are; where each group is one column, none of them is typical of others."""
    if all(len(life.columns) == 1 for life in lives):
        return f"Bar: {confidence} interval of the column’s life; mark: the estimate."
    return (
        f"Bar: {confidence} interval of the group’s typical column; large mark: the estimate; small marks: "
        "the single columns."
    )


def _table(lives: Sequence[GroupLife], ended: Sequence[Ended]) -> tuple[tuple[str, ...], ...]:
    """Return group lives and column lives as one table."""
    rows: list[tuple[str | float | None, ...]] = []
    for life in lives:
        hours = life.life.hours
        rows.append((life.group, "", life.life.state, hours.value, hours.low, hours.high))
        for one in ended:
            if group_of(one) == life.group:
                own = one.life.hours
                rows.append((life.group, column_of(one), one.life.state, own.value, own.low, own.high))
    return table_of(("group", "column", "state", "life_h", "low_h", "high_h"), rows)
