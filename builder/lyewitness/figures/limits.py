"""Every life on one axis, a line for each limit and on it a mark for each group: what fails first.

In: all group lives. Out: the figure `limits`.
"""

from collections.abc import Mapping, Sequence

from matplotlib.axes import Axes

from lyewitness.decline.records import GroupLife
from lyewitness.figures.labels import fitted
from lyewitness.figures.life_bars import arrow
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import (
    KEY_PX,
    applied,
    draw_key,
    finished,
    key_places,
    new_sheet,
    number,
    panel,
)
from lyewitness.figures.style import FAINT, INK, GroupInk, Look
from lyewitness.findings.records import Report
from lyewitness.study.records import Limit
from lyewitness.words.lives import limit_label, tell
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.phrases import exposure, sentence, spelled

NARROW_BELOW_PX = 480
"""Narrower figures carry the words of a limit above its line."""
LEADING = 1.25
"""From line to line, in label sizes."""
GROUP_PX = 9.0
"""From one group to the next below it, so that equal lives hide none."""
ARROW_PX = 18.0
"""How far an arrow reaches beyond the axis: at least this."""
FURTHEST = 1.5
"""The axis ends at this multiple of what was run: an interval that reaches further is cut."""

Asked = tuple[str, str, Limit]
"""Marker, metric and limit."""


def limits_figure(report: Report, look: Look) -> Figure | None:
    """Return the lives of all groups at all limits; None where fewer than two limits have any."""
    lives = report.judgement.group_lives
    by_limit: dict[Asked, list[GroupLife]] = {}
    for one in lives:
        by_limit.setdefault((one.marker, one.metric, one.limit), []).append(one)
    if len(by_limit) < 2 or not any(_ends(one) for one in lives):
        return None
    asked = dict(sorted(by_limit.items(), key=lambda pair: _soonest(pair[1])))
    groups = report.study.groups
    inks = {
        group: look.group(i) for i, group in enumerate(groups) if any(one.group == group for one in lives)
    }
    with applied(look):
        light, dark, height = _draw(asked, inks, look)
        narrow, narrow_dark, low = _draw(asked, inks, look.narrow())
    told = "; ".join(f"{_words(key)}: {_lives_words(some)}" for key, some in asked.items())
    return Figure(
        id="limits",
        file="figures/limits.svg",
        data=light,
        dark=dark,
        title="What fails first",
        caption=f"{_finding(asked, _is_tied(report, asked))} A line for each limit, the one that was "
        f"exceeded first at the top. Mark: "
        f"{_whose(lives)}; bar: its interval; arrow: only a lower bound is known.",
        alt=sentence(f"lives at every limit on one axis of hours; {told}"),
        width_px=look.width_px,
        height_px=height,
        table=_table(lives),
        narrow=narrow,
        narrow_dark=narrow_dark,
        narrow_width_px=look.narrow().width_px,
        narrow_height_px=low,
    )


def _ends(life: GroupLife) -> list[float]:
    """Return every exposure that is known of a life, hours."""
    hours = life.life.hours
    return [end for end in (hours.low, hours.value, hours.high) if end is not None]


def _soonest(lives: Sequence[GroupLife]) -> float:
    """Return the first life that ended at a limit, hours; infinite where none did."""
    return min(
        (min(_ends(one)) for one in lives if one.life.state == "reached" and _ends(one)), default=1e300
    )


def _words(key: Asked) -> str:
    marker, metric, limit = key
    return f"{metric_of_marker(marker, metric)}, {limit_label(limit)}"


def _lives_words(lives: Sequence[GroupLife]) -> str:
    return ", ".join(f"{one.group} {tell(one.life)}" for one in lives)


ONE = "the group’s one column"
NONE_TYPICAL = "No group’s typical column failed a limit"


def _whose(lives: Sequence[GroupLife]) -> str:
    """Return of which column a life is told: one column is not typical of others."""
    return ONE if all(len(life.columns) == 1 for life in lives) else "the group’s typical column"


def _first(asked: Mapping[Asked, Sequence[GroupLife]]) -> tuple[GroupLife, Asked] | None:
    """Return the shortest life that ended at a limit, with the limit; None where none did."""
    reached = [(one, key) for key, lives in asked.items() for one in lives if one.life.state == "reached"]
    return min(reached, key=lambda one: one[0].life.hours.value or float("inf"), default=None)


def _is_tied(report: Report, asked: Mapping[Asked, Sequence[GroupLife]]) -> bool:
    """Return whether on a column of the shortest-lived group another limit may have been passed before."""
    found = _first(asked)
    firsts = report.judgement.first_failures
    return found is not None and any(one.tied_with for one in firsts if one.group == found[0].group)


def _finding(asked: Mapping[Asked, Sequence[GroupLife]], tied: bool = False) -> str:
    """Say which limit failed first, and how many did not fail at all.

    `tied`: another limit cannot be told apart from it.
    """
    passed = [key for key, lives in asked.items() if any(one.life.state == "reached" for one in lives)]
    if not passed:
        whose = _whose([life for lives in asked.values() for life in lives])
        held = [one for lives in asked.values() for one in lives if one.life.state == "not reached"]
        hours = max((end for one in held for end in _ends(one)), default=None)
        tested = f"during the {exposure(hours)} tested" if hours else "during the test"
        return f"{'No column failed a limit' if whose == ONE else NONE_TYPICAL} {tested}."
    found = _first(asked)
    if found is None:
        return ""
    first, key = found
    left = len(asked) - len(passed)
    count = f"{spelled(left)} of the {spelled(len(asked))} limits {'was' if left == 1 else 'were'}"
    rest = f"; {count} exceeded by no group" if left else ""
    lead = "the shortest life of all is" if tied else "the first of all to fail is"
    near = "; another limit may have been passed as early" if tied else ""
    return sentence(f"{lead} {'by ' if tied else ''}the {_words(key)}: {_lives_words([first])}{near}{rest}")


def _draw(
    asked: Mapping[Asked, Sequence[GroupLife]], inks: Mapping[str, GroupInk], look: Look
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height."""
    narrow = look.width_px < NARROW_BELOW_PX
    room = look.width_px - 24.0 if narrow else 0.36 * look.width_px
    lines = [fitted(_words(key), room, look.words_width) for key in asked]
    left = 14.0 if narrow else 20 + max(look.words_width(one) for some in lines for one in some)
    marks_px = GROUP_PX * len(inks)
    words_px = [LEADING * look.label_px * len(some) for some in lines]
    steps = [words + marks_px + 14 if narrow else max(words, marks_px) + 12 for words in words_px]
    places = key_places(dict(inks), look)
    top = KEY_PX * (1 + places[-1][0]) + 8
    tall = sum(steps)
    sheet = new_sheet(look.width_px, top + tall + 42)
    draw_key(sheet, dict(inks), places, look)
    axes = panel(sheet, left, top, look.width_px - left - ARROW_PX - 8, tall)
    run = max((one.tested_to_h or 0.0 for some in asked.values() for one in some), default=0.0)
    ends = [end for some in asked.values() for one in some for end in _ends(one)]
    axes.set_xlim(0, 1.03 * (min(max(ends), FURTHEST * run) if run else max(ends)))
    axes.set_ylim(tall, 0)
    down = 0.0
    for lives, words, words_high, step in zip(asked.values(), lines, words_px, steps, strict=True):
        head = words_high + 2 if narrow else (step - 12 - marks_px) / 2 + 2
        _draw_limit(axes, lives, list(inks), inks, down + head, look)
        start = down if narrow else down + (step - 12 - words_high) / 2 + 2
        for i, line in enumerate(words):
            axes.annotate(
                line, (0, start + LEADING * look.label_px * (i + 0.5)), (10 - left, 0), color=INK,
                va="center_baseline", xycoords=("axes fraction", "data"), textcoords="offset points",
            )  # fmt: skip
        down += step
        if down < tall - 1:
            axes.axhline(down - 4, color=FAINT, linewidth=1.0, zorder=0)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    number(axes.xaxis, 4 if narrow else 6)
    axes.set_xlabel("exposure / h", loc="right", labelpad=3)
    return (*finished(sheet, look), round(top + tall + 42))


def _draw_limit(
    axes: Axes,
    lives: Sequence[GroupLife],
    order: Sequence[str],
    inks: Mapping[str, GroupInk],
    top: float,
    look: Look,
) -> None:
    """Draw the lives of all groups at one limit, a little below each other in the order of the key."""
    end = axes.get_xlim()[1]
    wide = axes.get_position().width * look.width_px
    for life in lives:
        ink, hours = inks[life.group], life.life.hours
        at = top + GROUP_PX * (order.index(life.group) + 0.5)
        known = _ends(life)
        if not known:
            continue
        is_open = life.life.state == "not reached" or hours.high is None
        low, high = min(known), end if is_open else max(known)
        if is_open and hours.value is None:
            arrow(axes, (low, at), (min(low + ARROW_PX * end / wide, end * 1.1), at), ink, 1.0)
        elif low < high:
            axes.plot([low, high], [at, at], color=ink.colour, linewidth=2.5, solid_capstyle="butt", zorder=2)
        fill = "full" if hours.value is not None else "none"
        if hours.value is not None or is_open:
            axes.plot(
                [hours.value if hours.value is not None else low], [at], ink.mark, color=ink.colour,
                fillstyle=fill, markersize=look.mark_px * 1.1, zorder=3, clip_on=False,
            )  # fmt: skip


def _table(lives: Sequence[GroupLife]) -> tuple[tuple[str, ...], ...]:
    """Return every drawn life."""
    rows = (
        (one.group, one.marker, one.metric, one.life.state, one.life.hours.value, *_low_and_high(one))
        for one in lives
    )
    return table_of(("group", "marker", "metric", "state", "life_h", "low_h", "high_h"), rows)


def _low_and_high(life: GroupLife) -> tuple[float | None, float | None]:
    return life.life.hours.low, life.life.hours.high
