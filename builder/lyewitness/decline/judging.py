"""Everything this stage says about a study, in order.

In: `Study`, `Measurements`. Out: `Judgement`.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations

from lyewitness.decline.accelerated import fit_accelerated
from lyewitness.decline.column_lives import column_life, counted, log_rate
from lyewitness.decline.comparing import compare, settle
from lyewitness.decline.control_groups import with_control
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.factors import factor_effects
from lyewitness.decline.first_failures import first_failure
from lyewitness.decline.group_lives import group_life
from lyewitness.decline.life_ratios import Side
from lyewitness.decline.method_notes import FACTORS, method_notes
from lyewitness.decline.mixed_rates import with_mixed_rates
from lyewitness.decline.records import Comparison, Decline, FirstFailure, GroupLife, Judgement, Series
from lyewitness.decline.series import gather_series, limits_on
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Choices, Column, Limit, Study

Followed = tuple[str, str]
"""(marker, metric)"""
ByGroup = Mapping[str, Sequence[Decline]]


def judge(study: Study, measurements: Measurements) -> Judgement:
    """Return declines, lives, first failures and comparisons of every column and group of `study`."""
    series = gather_series(study, measurements)
    declines = judge_declines([Task(one, _limits(study, one)) for one in series], study.choices)
    followed = limited_by_group(study, declines)
    lives = tuple(
        group_life(members, study.choices.confidence)
        for groups in followed.values()
        for members in groups.values()
    )
    failures = tuple(
        first_failure(column.id, column.group, [d for d in declines if d.series.column == column.id])
        for column in study.columns
    )
    comparisons = compare_groups(study, followed)
    accelerated, why_not = fit_accelerated(study, declines)
    effects, interactions = factor_effects(study, followed)
    return Judgement(
        declines,
        lives,
        failures,
        comparisons,
        accelerated,
        why_not,
        deciding(failures, comparisons, lives),
        effects,
        interactions,
        (*method_notes(study.choices), *((FACTORS,) if study.factors else ())),
    )


def _limits(study: Study, series: Series) -> tuple[Limit, ...]:
    """Return the limits that stand on a series."""
    return limits_on(study, study.marker(series.marker) if series.marker else None, series.metric)


def limited_by_group(study: Study, declines: Iterable[Decline]) -> dict[Followed, dict[str, list[Decline]]]:
    """Return the declines to a limit by marker and metric, then by group, columns under one stress only."""
    together = {column.id for group in study.groups for column in under_one_stress(study, group)}
    followed: dict[Followed, dict[str, list[Decline]]] = {}
    for decline in declines:
        series = decline.series
        if decline.limit is not None and series.column in together:
            groups = followed.setdefault((series.marker, series.metric), {})
            groups.setdefault(series.group, []).append(decline)
    return followed


def under_one_stress(study: Study, group: str) -> tuple[Column, ...]:
    """Return the columns of `group` under the study's own stress, or else under the commonest one.

    Lives at different temperatures or pH are no replicates; they go into the accelerated fit.
    """
    columns = study.replicates(group)
    settings = [(column.temperature_C, column.ph) for column in columns]
    own = (None, None) if (None, None) in settings else Counter(settings).most_common(1)[0][0]
    return tuple(column for column, setting in zip(columns, settings, strict=True) if setting == own)


def compare_groups(study: Study, followed: Mapping[Followed, ByGroup]) -> tuple[Comparison, ...]:
    """Return every pair of groups compared on every marker and metric with a limit."""
    blocks = {column.id: column.block for column in study.columns}
    found: list[Comparison] = []
    for (marker, metric), groups in followed.items():
        sides = [side_of(group, members, blocks, study.choices) for group, members in groups.items()]
        pairs = [
            with_mixed_rates(
                compare(marker, metric, a, b, study.choices), groups[a.group], groups[b.group], study.choices
            )
            for a, b in combinations(sides, 2)
        ]
        found.extend(with_control(pairs, sides, study.choices))
    return settle(found, study.choices)


def side_of(group: str, declines: Sequence[Decline], blocks: Mapping[str, str], choices: Choices) -> Side:
    """Return one group's columns as a comparison takes them."""
    found = [column_life(d, blocks.get(d.series.column, ""), choices.confidence) for d in declines]
    rates = [log_rate(decline, choices.confidence) for decline in declines]
    return Side(
        group,
        counted([life for life in found if life is not None]),
        tuple(rate for rate in rates if rate is not None),
    )


def deciding(
    failures: Sequence[FirstFailure], comparisons: Sequence[Comparison], lives: Sequence[GroupLife]
) -> Followed:
    """Return the marker and metric that tells the groups apart best.

    The one that fails first on most columns; where several do as often, the one whose comparisons are the
    surest. Where nothing failed, the one of which least remained; without limits, nothing.
    """
    surest: dict[Followed, float] = {}
    for comparison in comparisons:
        key = (comparison.marker, comparison.metric)
        p_value = 1.0 if comparison.p_value is None else comparison.p_value
        surest[key] = min(surest.get(key, 1.0), p_value)
    count = Counter((failure.marker, failure.metric) for failure in failures if failure.metric)
    if count:
        return min(count, key=lambda key: (-count[key], surest.get(key, 1.0)))
    remains = [life for life in lives if life.remaining.value is not None]
    if not remains:
        return ("", "")
    nearest = min(remains, key=_room)
    return (nearest.marker, nearest.metric)


def _room(life: GroupLife) -> float:
    """Return how far the group's mean stands from its limit, as a share of the way from 100 %."""
    remaining, limit = life.remaining.value, life.limit
    bound = limit.at_least_percent if limit.at_least_percent is not None else limit.at_most_percent
    if remaining is None:
        return 1.0
    if bound is None or bound == 100.0:
        return 1.0 - abs(remaining - 100.0) / 100.0
    return (remaining - bound) / (100.0 - bound)
