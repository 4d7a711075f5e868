"""Everything this stage says about a study, in order.

In: `Study`, `Measurements`. Out: `Judgement`.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import combinations

from lyewitness.decline.accelerated import fit_accelerated
from lyewitness.decline.column_lives import at_risk, column_life, counted, log_rate
from lyewitness.decline.comparing import compare, with_control
from lyewitness.decline.corrections import settle
from lyewitness.decline.deciding import NOTHING, Followed, deciding, first_failure, key_of, retention_factors
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.factors import factor_effects
from lyewitness.decline.group_lives import group_life
from lyewitness.decline.life_ratios import Side
from lyewitness.decline.method_notes import FACTORS, method_notes
from lyewitness.decline.records import Comparison, Decline, Judgement, Series
from lyewitness.decline.series import gather_series, limits_on
from lyewitness.peaks.records import Measurements
from lyewitness.store import NO_STORE, Store
from lyewitness.study.questions import families_of
from lyewitness.study.records import Choices, Column, Limit, Study

ByGroup = Mapping[str, Sequence[Decline]]


def judge(
    study: Study,
    measurements: Measurements,
    store: Store = NO_STORE,
    amend: Callable[[tuple[Decline, ...]], tuple[Decline, ...]] | None = None,
) -> Judgement:
    """Return declines, lives, first failures and comparisons of every column and group of `study`.

    The declines of a column come from `store` where they were judged from the same series before. `amend`
    widens lives for what the metrics alone do not show; all else follows from what it returns.
    """
    tasks = [Task(one, _limits(study, one)) for one in gather_series(study, measurements)]
    declines = judge_declines(tasks, study.choices, store)
    declines = amend(declines) if amend is not None else declines
    followed = limited_by_group(study, declines)
    blocks = {column.id: column.block for column in study.columns} if study.choices.paired_blocks else {}
    lives = tuple(
        group_life(members, study.choices.confidence, blocks)
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
        _stated_or_found(study, declines, comparisons),
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
    return settle(compared(study, followed), study.choices, families_of(study, list(followed)))


def compared(study: Study, followed: Mapping[Followed, ByGroup]) -> list[Comparison]:
    """Return the same before anything is corrected for how many there are."""
    blocks = {column.id: column.block for column in study.columns}
    found: list[Comparison] = []
    for (marker, metric), groups in followed.items():
        sides = [side_of(group, members, blocks, study.choices) for group, members in groups.items()]
        pairs = [compare(marker, metric, a, b, study.choices) for a, b in combinations(sides, 2)]
        found.extend(with_control(pairs, sides, study.choices))
    return found


def side_of(group: str, declines: Sequence[Decline], blocks: Mapping[str, str], choices: Choices) -> Side:
    """Return one group's columns as a comparison takes them."""
    found = [column_life(d, blocks.get(d.series.column, ""), choices.confidence) for d in declines]
    rates = [log_rate(decline, choices.confidence) for decline in declines]
    return Side(
        group,
        counted(at_risk([life for life in found if life is not None])),
        tuple(rate for rate in rates if rate is not None),
    )


def _stated_or_found(
    study: Study, declines: Sequence[Decline], comparisons: Sequence[Comparison]
) -> Followed:
    """Return what decides: what the first question says, where that has a limit; else what fails first."""
    stated = study.questions[0].deciding if study.questions else NOTHING
    if any(key_of(decline) == stated and decline.limit is not None for decline in declines):
        return stated
    return deciding(declines, comparisons, study.groups, retention_factors(study, declines))
