"""What one question is about: its groups, its limits, and the metric that decides it.

In: `Evidence` and a `Question`. Out: `Scope`.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from lyewitness.decline.deciding import deciding as decide
from lyewitness.decline.deciding import first_failure, key_of, retention_factors
from lyewitness.decline.first_limits import ANY, with_first_limits
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import Decline, FactorEffect, FirstFailure, Judgement
from lyewitness.decline.usable_lives import UsableLife, usable_life
from lyewitness.findings.answer.reading_questions import COST, RATE, parts_of, read_spans
from lyewitness.findings.audit.points import Point
from lyewitness.findings.audit.results import FIRST
from lyewitness.findings.evidence import Evidence
from lyewitness.study.factor_words import is_presence
from lyewitness.study.questions import (
    asked_metric,
    family_of,
    named_factors,
    named_groups,
    named_levels,
    stated_beforehand,
)
from lyewitness.study.records import Limit, Question, Study
from lyewitness.words.metrics import ANY_LIMIT
from lyewitness.words.names import joined

LESS_KNOWN = 0.8
"""Share of the life by the deciding metric: columns of a type seldom agree better than within a fifth."""


Metric = tuple[str, str]
LIVES = re.compile(
    r"\b(lasts?|outlasts?|outlives?|outlived?|longer|longest|li(fe|ves)|lifetimes?|surviv\w+|endur\w+|stable)\b",
    re.IGNORECASE,
)
"""How a question sounds that is after lives, whatever metric it would have them by."""


@dataclass(frozen=True, slots=True)
class Scope:
    """One question and the part of the study that it is about."""

    question: Question
    groups: tuple[str, ...]
    deciding: Metric
    """(marker, metric), `ANY` for whichever limit comes first; two empty words where none was measured."""
    limit: Limit | None
    """Of the deciding metric."""
    named: bool = False
    """Whether the question names the deciding metric and is after its course, not after lives."""
    every_limit: bool = False
    """Whether nothing says which limit decides: then a column lasts only as long as it passes none."""
    asked: tuple[str, ...] = ()
    """Those of its groups that the question's text names, in its order; none where it names none."""
    alone: Metric = ("", "")
    """The metric that would decide by itself, where `deciding` is any limit; else empty."""

    beside: tuple[Question, ...] = ()
    """The study's other questions."""
    is_late: bool = False
    """Whether it was asked when the last injection had been made, its comparisons chosen with it in view."""

    @property
    def by_any(self) -> bool:
        """Return whether the answer rests on whichever limit each column passed first."""
        return self.deciding == ANY

    @property
    def single(self) -> Metric:
        """Return the one metric that figures show and rates are told of."""
        return self.alone if self.by_any else self.deciding

    @property
    def compared(self) -> tuple[str, ...]:
        """Return the groups that the question sets against each other: all, unless it names two or more.

        What weakens the word on others weakens no answer to it.
        """
        return self.asked if len(self.asked) > 1 else self.groups

    @property
    def about(self) -> tuple[str, ...]:
        """Return the groups whose lives an answer tells: those that the text names, unless the question
        states several and its text calls some of them otherwise."""
        short = len(self.asked) == 1 < len(self.question.groups)
        return self.groups if short or not self.asked else self.asked

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Return the pairs of groups to be compared."""
        return tuple(combinations(self.groups, 2))

    def concerns(self, decline: Decline) -> bool:
        """Return whether a decline to a limit is within what the question names."""
        return _concerns(self.question, self.groups, decline)

    def usable_lives(
        self, evidence: Evidence, group: str, every_limit: bool = False
    ) -> tuple[UsableLife, ...]:
        """Return how long each column of `group` held by the deciding metric, where that is known.

        No other limit counts, unless `every_limit`: what the headline tells and what is advised rest on one
        metric. Columns under another stress than the group's own are left out: they are no replicates. So are
        those that were past the deciding limit when they were first held against it.
        """
        found, by_every = [], every_limit or self.by_any
        for column in under_one_stress(evidence.study, group):
            declines = [
                decline
                for decline in evidence.judgement.declines
                if decline.series.column == column.id
                and self.concerns(decline)
                and (by_every or key_of(decline) == self.deciding)
            ]
            found.append(usable_life(declines))
        return tuple(life for life in found if life is not None and (by_every or life.low > 0))

    def failed_sooner(self, evidence: Evidence, group: str) -> tuple[UsableLife, ...]:
        """Return the columns that surely failed by another limit before they did by the deciding one.

        What is said of lives, prices and replacement by the deciding metric alone is untrue of them.
        """
        own = {life.column: life for life in self.usable_lives(evidence, group)}
        return tuple(
            life
            for life in self.usable_lives(evidence, group, every_limit=True)
            if life.failed_by is not None and key_of(life.failed_by) != self.deciding
            and life.high is not None and _is_later(own.get(life.column), life.high)
            and not (life.column not in own and self.failed_at_once(evidence, life.column))
        )  # fmt: skip

    def failed_at_once(self, evidence: Evidence, column: str) -> bool:
        """Return whether a column was past the deciding limit when it was first held against it.

        Its life has no beginning that anybody saw, so that no bound of it is known but the upper one.
        """
        decline = evidence.decline(column, *self.deciding)
        return decline is not None and decline.life.state == "reached" and not decline.life.hours.low

    def less_known(self, evidence: Evidence, group: str) -> tuple[UsableLife, ...]:
        """Return the columns of which another limit is known to have been kept for much shorter, and no more.

        The deciding metric alone would tell a life that nobody saw by all limits that the study names.
        """
        own = {life.column: life for life in self.usable_lives(evidence, group)}
        return tuple(
            life
            for life in self.usable_lives(evidence, group, every_limit=True)
            if key_of(life.decline) != self.deciding and life.decline.life.state == "unclear"
            and life.column in own and life.low < LESS_KNOWN * own[life.column].low
        )  # fmt: skip

    def fails_by_several(self, evidence: Evidence) -> bool:
        """Return whether nothing says what decides and columns surely passed another limit than the one that
        would, before it or without it: no order by that one is an order of their lives.

        What the factors of a design do is told by one metric.
        """
        return (
            self.every_limit
            and not self.named
            and not self._told_by_factors(evidence)
            and any(self.failed_sooner(evidence, group) for group in self.groups)
        )

    def _told_by_factors(self, evidence: Evidence) -> bool:
        """Return whether the factors of the design tell of pairs of groups, or the question is after one.

        What is varied within each type makes no difference between types.
        """
        asked = f"{self.question.text} {self.question.expectation}"
        names = named_factors(asked, [factor.name for factor in evidence.study.factors])
        between = [
            effect
            for effect in evidence.judgement.factor_effects
            if not effect.other
            and {evidence.study.column(one).group for one in effect.columns}
            != {evidence.study.column(one).group for one in effect.columns_against}
        ]
        return bool(names or between) and not (between and self._untold_by_factors(evidence, between))

    def _untold_by_factors(self, evidence: Evidence, effects: Sequence[FactorEffect]) -> bool:
        """Return whether no factor is known to change the life by the one metric, and types have several
        columns each that surely ended by another limit: their lives are by whichever came first."""
        alpha = 1 - evidence.study.choices.confidence
        own = [one for one in effects if (one.marker, one.metric) == self.deciding]
        settled = any(one.p_adjusted is not None and one.p_adjusted <= alpha for one in own)
        several = all(len(evidence.study.replicates(group)) > 1 for group in self.groups)
        return not settled and several and any(self.failed_sooner(evidence, g) for g in self.groups)

    def leaves_use_open(self, evidence: Evidence) -> bool:
        """Return whether whichever limit is passed first may tell groups apart that the deciding metric does
        not: another one surely ended columns before, or nothing says that this one decides.
        """
        return (
            not (self.by_any or self.named or self._told_by_factors(evidence))
            and len(self.groups) > 1
            and (self.every_limit or any(self.failed_sooner(evidence, group) for group in self.groups))
        )

    def claim_id(self, *words: str) -> str:
        """Return a claim's id: other words, other id; the words of the claim's kind hold no hyphen."""
        return joined(self.question.id or "question", *words)


def by_first_limits(evidence: Evidence, scope: Scope) -> tuple[Evidence, Scope]:
    """Return evidence and scope by whichever limit each column passed first, where no one tells its life.

    Both come back as they are where one does. All questions that are answered so share the correction.
    """
    return _by_any(evidence, scope) if scope.fails_by_several(evidence) else (evidence, scope)


def beside_what_decides(evidence: Evidence, scope: Scope) -> tuple[Evidence, Scope] | None:
    """Return evidence and scope by whichever limit each column passed first, beside a metric that decides.

    None where that metric tells as much.
    """
    return _by_any(evidence, scope, (scope.deciding,)) if scope.leaves_use_open(evidence) else None


def _by_any(evidence: Evidence, scope: Scope, beside: Sequence[Metric] = ()) -> tuple[Evidence, Scope]:
    """Return both by whichever limit comes first; what was tested `beside` it for the same question counts
    among the tests that are corrected for."""
    study = evidence.study
    within = (scope.question.markers, scope.question.metrics)
    families = [
        replace(family_of(study, one, [ANY]), metrics=frozenset([ANY, *beside]))
        for one in study.questions
        if (one.markers, one.metrics) == within
        and stated_beforehand(study, one)
        and _asks_by_any(evidence, scope_of(evidence, one))
    ]

    def amended(judgement: Judgement) -> Judgement:
        return with_first_limits(study, judgement, filter(scope.concerns, judgement.declines), families)

    without, planned = evidence.without_doubtful, evidence.without_unplanned
    told = replace(
        evidence,
        judgement=amended(evidence.judgement),
        without_doubtful=amended(without) if without is not None else None,
        without_unplanned=amended(planned) if planned is not None else None,
    )
    return told, replace(scope, deciding=ANY, alone=scope.deciding, limit=Limit(ANY_LIMIT))


def _asks_by_any(evidence: Evidence, scope: Scope) -> bool:
    return scope.fails_by_several(evidence) or scope.leaves_use_open(evidence)


def ended_columns(evidence: Evidence, scope: Scope) -> tuple[FirstFailure, ...]:
    """Return what ended each column of the groups, with its life by any limit; none where one metric decides.

    `evidence` as `by_first_limits` gives it.
    """
    found = []
    for column in evidence.study.columns if scope.by_any else ():
        whole = evidence.decline(column.id, *ANY)
        if column.group in scope.groups and whole is not None:
            own = [
                decline
                for decline in evidence.judgement.declines
                if decline.series.column == column.id and scope.concerns(decline)
            ]
            found.append(replace(first_failure(column.id, column.group, own), life=whole.life))
    return tuple(found)


def drawn_metric(scope: Scope, ended: Iterable[FirstFailure]) -> Metric:
    """Return the metric of which the answer draws the declines: of any limit, one that ended its columns."""
    votes = Counter(key for one in ended if one.metric for key in ((one.marker, one.metric), *one.tied_with))
    if not votes or scope.single in votes:
        return scope.single
    return min(votes, key=lambda key: (-votes[key], key))


def without_single_metric(points: Iterable[Point]) -> tuple[Point, ...]:
    """Return the audit without the point that asks whether another limit was passed before the deciding one.

    That limits favour different groups stays: who thinks one of them too strict ranks them otherwise.
    """
    return tuple(p for p in points if not p.check.id.startswith(FIRST.id))


def _is_later(life: UsableLife | None, hours: float) -> bool:
    """Return whether a life did not end within the test, or surely ended after those hours."""
    return life is None or life.high is None or life.low > hours


def scope_of(evidence: Evidence, question: Question) -> Scope:
    """Return what `question` is about; where it names no group that the study knows, it is about all."""
    named = tuple(group for group in evidence.study.groups if group in question.groups)
    groups = named or evidence.study.groups
    inside = [decline for decline in evidence.judgement.declines if _concerns(question, groups, decline)]
    deciding = _deciding(evidence, question, groups, inside)
    limits = [decline.limit for decline in inside if key_of(decline) == deciding]
    about_it = deciding in _named_metrics(evidence, question) and not LIVES.search(question.text)
    known = {key_of(decline) for decline in inside}
    said = [
        question.deciding,
        evidence.study.questions[0].deciding,
        *_named_metrics(evidence, question),
    ]
    every = len(known) > 1 and not known.intersection(said)
    asked = tuple(g for g in named_groups(question.text, evidence.study.groups) if g in groups)
    asked = asked or groups_at_named_levels(evidence.study, question.text, groups)
    asked = _with_the_other(evidence.study, question, groups, asked)
    return Scope(
        question,
        groups,
        deciding,
        limits[0] if limits else None,
        about_it,
        every,
        asked,
        beside=tuple(one for one in evidence.study.questions if one.id != question.id),
        is_late=not stated_beforehand(evidence.study, question),
    )


WORSE_THAN_WHAT = re.compile(r"\b(worse|better|longer|shorter|sooner|earlier|faster)\b", re.IGNORECASE)
"""How a question sounds that compares the type it names with another."""


def _with_the_other(
    study: Study, question: Question, groups: Sequence[str], asked: tuple[str, ...]
) -> tuple[str, ...]:
    """Return the types asked about, with the one that the expectation holds against a single type that the
    question calls worse or better: `is the new lot worse?` of three groups."""
    spans = read_spans(question.text, question.run_time_min)
    if len(asked) != 1 or spans or not WORSE_THAN_WHAT.search(question.text):
        return asked
    expected = tuple(g for g in named_groups(question.expectation, study.groups) if g in groups)
    others = tuple(group for group in expected if group not in asked)
    return (*asked, *others) if len(others) == 1 and asked[0] in expected else asked


def groups_at_named_levels(study: Study, text: str, groups: Sequence[str], but: str = "") -> tuple[str, ...]:
    """Return the groups at the level of a factor that `text` names alone: `the Alpha` of `Alpha, ammonia` and
    `Alpha, borate`. None where it names no level, all of a factor's, or that a part is there or not. Levels
    of the factor `but` count for nothing.
    """
    found, told = list(groups), False
    for factor in study.factors:
        named = named_levels(text, factor)
        if factor.name == but or is_presence(factor.name, list(factor.levels)) or len(named) != 1:
            continue
        at = {
            group
            for group in groups
            for column in study.replicates(group)
            if factor.level_of(column) == named[0]
        }
        found, told = [group for group in found if group in at], True
    return tuple(found) if told and 0 < len(found) < len(groups) else ()


def _named_metrics(evidence: Evidence, question: Question) -> Sequence[Metric]:
    """Return the metrics by which a question wants its answer.

    Whoever asks whether a type is worth its price, and whether it slows the tailing, does not want the price
    shared out over the time until the base tails.
    """
    parts = parts_of(question.text)
    if any(COST.search(part) for part in parts):
        parts = tuple(part for part in parts if COST.search(part) or not RATE.search(part))
    return list(asked_metric(" ".join(parts), evidence.study))


def _concerns(question: Question, groups: tuple[str, ...], decline: Decline) -> bool:
    """Return whether a limited decline is within what the question names."""
    series = decline.series
    return (
        decline.limit is not None
        # What tells of all limits together is none of them.
        and series.metric != ANY_LIMIT
        and series.group in groups
        and (not question.markers or series.marker in question.markers or not series.marker)
        and (not question.metrics or series.metric in question.metrics)
    )


def _deciding(
    evidence: Evidence, question: Question, groups: tuple[str, ...], inside: list[Decline]
) -> Metric:
    """Return what decides: what the question states, then what its words name, then what decides the study.

    Only where the study's own is not within what the question is about is another one sought.
    """
    known = {key_of(decline) for decline in inside}
    named = _named_metrics(evidence, question)
    if question.deciding in known:
        return question.deciding
    meant = [metric for metric in named if metric in known]
    # `The peak shape` is that of every base, and what is lost first decides.
    meant = [metric for metric in meant if _alike(evidence, metric, meant[0])]
    if evidence.judgement.deciding in (meant or known):
        return evidence.judgement.deciding
    retention = retention_factors(evidence.study, evidence.judgement.declines)
    within = [decline for decline in inside if not meant or key_of(decline) in meant]
    return decide(within, evidence.judgement.comparisons, groups, retention)


def _alike(evidence: Evidence, one: Metric, other: Metric) -> bool:
    """Return whether two metrics are the same but for the marker, of one role."""
    roles = {marker.id: marker.role for marker in evidence.study.markers}
    return one[1] == other[1] and roles.get(one[0]) == roles.get(other[0])
