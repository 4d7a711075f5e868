"""The lives of columns by whichever limit they pass first, and how groups compare by them.

In: declines to several limits, the families of the questions that are answered so. Out: a `Judgement` with
one more decline a column, of the metric `ANY_LIMIT`, and the group lives and comparisons that follow.

Where one type of column loses its retention and another its plates, a ranking by either says of one of them
that nothing happened. The tests are those of any metric.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from lyewitness.decline.corrections import settle
from lyewitness.decline.deciding import Followed
from lyewitness.decline.factors import factor_effects
from lyewitness.decline.group_lives import group_life
from lyewitness.decline.judging import compared, limited_by_group
from lyewitness.decline.lives import in_column_volumes
from lyewitness.decline.records import Decline, Judgement, Life
from lyewitness.decline.usable_lives import UsableLife, usable_life
from lyewitness.study.questions import Family
from lyewitness.study.records import Limit, Study
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import ANY_LIMIT

ANY: Followed = ("", ANY_LIMIT)
NO_RATE = "several metrics have no rate in common"


def with_first_limits(
    study: Study, judgement: Judgement, counted: Iterable[Decline], families: Sequence[Family]
) -> Judgement:
    """Return the judgement with lives and comparisons by whichever limit of `counted` was passed first.

    The comparisons are corrected for those that each family asks for, or for all of the study where none
    does. What the judgement held stays as it is.
    """
    by_column: dict[str, list[Decline]] = {}
    for decline in counted:
        if decline.limit is not None and decline.life.state != "not measured":
            by_column.setdefault(decline.series.column, []).append(decline)
    firsts = tuple(first for own in by_column.values() for first in _first(own))
    followed = limited_by_group(study, firsts)
    blocks = {column.id: column.block for column in study.columns} if study.choices.paired_blocks else {}
    lives = tuple(
        group_life(members, study.choices.confidence, blocks) for members in followed.get(ANY, {}).values()
    )
    pairs = compared(study, followed)
    effects, interactions = factor_effects(study, followed, families)
    settled = settle([*judgement.comparisons, *pairs], study.choices, families)[len(judgement.comparisons) :]
    return replace(
        judgement,
        declines=(*judgement.declines, *firsts),
        group_lives=(*judgement.group_lives, *lives),
        comparisons=(*judgement.comparisons, *settled),
        factor_effects=(*judgement.factor_effects, *effects),
        interactions=(*judgement.interactions, *interactions),
    )


def _first(declines: Sequence[Decline]) -> Iterable[Decline]:
    """Yield one column's decline to the limit that it passed first, with what all of them say of its life.

    Nothing where none was measured.
    """
    whole = usable_life(declines)
    if whole is None:
        return
    first = whole.failed_by
    bounding = first or whole.decline
    life = _bound(declines, whole.low) if first is None else _ended(declines, first.life, whole)
    yield replace(
        bounding,
        series=replace(bounding.series, marker="", metric=ANY_LIMIT),
        limit=Limit(ANY_LIMIT),
        limit_percent=None,
        life=in_column_volumes(life, bounding.series.exposure_h, bounding.series.exposure_cv),
        model=None,
        rivals=(),
        remaining=Estimate(reason=NO_RATE),
        rate_per_h=Estimate(reason=NO_RATE),
        end_h=max((d.end_h for d in declines if d.end_h is not None), default=None),
        as_measured=None,
    )


def _bound(declines: Iterable[Decline], low: float) -> Life:
    """Return the life of a column that passed no limit surely: at least what it kept all of them for."""
    unclear = any(decline.life.state == "unclear" for decline in declines)
    why = "of a limit nobody knows whether it was passed" if unclear else "no limit was reached"
    return Life("unclear" if unclear else "not reached", Estimate(None, low, None, why))


def _ended(declines: Iterable[Decline], first: Life, whole: UsableLife) -> Life:
    """Return the life of a column that passed a limit: that of the `first`, bounded by all."""
    value = first.hours.value
    if value is not None:
        value = max(whole.low, value if whole.high is None else min(value, whole.high))
    brackets = (decline.life.bracket_h for decline in declines if decline.life.state == "reached")
    before, after = zip(*brackets, strict=True)
    seen, past = ([end for end in ends if end is not None] for ends in (before, after))
    return replace(
        first,
        hours=Estimate(value, whole.low, whole.high),
        bracket_h=(min(seen, default=None), min(past, default=None)),
        conservative_h=None,
    )
