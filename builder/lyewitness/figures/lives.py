"""The lives of all groups on one axis, as intervals.

In: the group lives of one marker and metric. Out: the figures `lives` and `lives-<question>`.
"""

from collections.abc import Iterator, Sequence

from lyewitness.decline.records import Decline, GroupLife
from lyewitness.figures.life_bars import draw_lives
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied
from lyewitness.figures.style import Look
from lyewitness.findings.records import Report
from lyewitness.words.limits import limit_label
from lyewitness.words.lives import tell
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import sentence


def lives_figures(report: Report, look: Look) -> list[Figure]:
    """Return the lives by what decides the first question, then one figure a question that differs in it.

    They are `lives` and `lives-<question>`; none where no group life was judged.
    """
    figures: list[Figure] = []
    drawn: set[tuple[tuple[str, str], tuple[str, ...]]] = set()
    for name, deciding, groups in _asked(report):
        if (deciding, groups) not in drawn:
            drawn.add((deciding, groups))
            figures += _figure(report, look, name, deciding, groups)
    return figures


def _asked(report: Report) -> Iterator[tuple[str, tuple[str, str], tuple[str, ...]]]:
    """Yield (figure id, marker and metric, groups) of each question."""
    everyone = report.study.groups
    if not report.findings.answers:
        yield "lives", report.judgement.deciding, everyone
    for place, answer in enumerate(report.findings.answers):
        name = f"lives-{slug(answer.question.id)}" if place else "lives"
        deciding = answer.deciding if any(answer.deciding) else report.judgement.deciding
        yield (
            name,
            deciding,
            tuple(group for group in everyone if group in (answer.question.groups or everyone)),
        )


def _figure(
    report: Report, look: Look, name: str, deciding: tuple[str, str], groups: tuple[str, ...]
) -> list[Figure]:
    """Return the figure in a list; an empty one where no life of these groups was judged."""
    marker, metric = deciding
    order = report.study.groups
    lives = [
        one
        for one in report.judgement.group_lives
        if (one.marker, one.metric) == deciding and one.group in groups
    ]
    if not lives:
        return []
    lives.sort(key=lambda life: order.index(life.group))
    declines = [
        one for one in report.judgement.declines if _of(one) == deciding and one.series.group in groups
    ]
    with applied(look):
        light, dark, height = draw_lives(lives, declines, order, look)
        narrow, narrow_dark, narrow_height = draw_lives(lives, declines, order, look.narrow())
    told = "; ".join(f"{life.group} {tell(life.life)}" for life in lives)
    head = f"lives on one axis of hours, by {metric_of_marker(marker, metric)}, {limit_label(lives[0].limit)}"
    return [
        Figure(
            id=name,
            file=f"figures/{name}.svg",
            data=light,
            dark=dark,
            title="How long each group lasted",
            caption=_caption(lives, report.study.choices.confidence),
            alt=sentence(f"{head}: {told}"),
            width_px=look.width_px,
            height_px=height,
            table=_table(lives, declines),
            narrow=narrow,
            narrow_dark=narrow_dark,
            narrow_width_px=look.narrow().width_px,
            narrow_height_px=narrow_height,
        )
    ]


def _of(decline: Decline) -> tuple[str, str]:
    return decline.series.marker, decline.series.metric


def _caption(lives: Sequence[GroupLife], confidence: float) -> str:
    """Say who lasted how long, then what the marks mean."""
    finding = "; ".join(f"{life.group} {tell(life.life)}" for life in lives)
    unlimited = any(life.life.state == "not reached" for life in lives)
    parts = [
        f"Life by {metric_of_marker(lives[0].marker, lives[0].metric)}, "
        f"{limit_label(lives[0].limit)}: {finding}.",
        f"Bar: {with_unit(stated(100 * confidence), '%')} interval of the group’s typical column; "
        "large mark: the estimate; small marks: the single columns.",
    ]
    if unlimited:
        parts.append(
            "Arrow, hollow mark: the limit was not passed within the test; the life is at least this."
        )
    return " ".join(parts)


def _table(lives: Sequence[GroupLife], declines: Sequence[Decline]) -> tuple[tuple[str, ...], ...]:
    """Return group lives and column lives as one table."""
    rows: list[tuple[str | float | None, ...]] = []
    for life in lives:
        hours = life.life.hours
        rows.append((life.group, "", life.life.state, hours.value, hours.low, hours.high))
        for one in declines:
            if one.series.group == life.group:
                own = one.life.hours
                rows.append((life.group, one.series.column, one.life.state, own.value, own.low, own.high))
    return table_of(("group", "column", "state", "life_h", "low_h", "high_h"), rows)
