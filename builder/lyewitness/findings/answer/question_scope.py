"""What one question is about: its groups, its limits, and the metric that decides it.

In: `Evidence` and a `Question`. Out: `Scope`.
"""

from dataclasses import dataclass
from itertools import combinations

from lyewitness.decline.deciding import deciding as decide
from lyewitness.decline.deciding import key_of, retention_factors
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import Decline
from lyewitness.findings.answer.next_column import UsableLife, usable_life
from lyewitness.findings.answer.reading_questions import asked_metric
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Limit, Question
from lyewitness.words.names import joined

Metric = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Scope:
    """One question and the part of the study that it is about."""

    question: Question
    groups: tuple[str, ...]
    deciding: Metric
    """(marker, metric); two empty words where no limit was measured."""
    limit: Limit | None
    """Of the deciding metric."""

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Return the pairs of groups to be compared."""
        return tuple(combinations(self.groups, 2))

    def concerns(self, decline: Decline) -> bool:
        """Return whether a decline to a limit is within what the question names."""
        return _concerns(self.question, self.groups, decline)

    def usable_lives(self, evidence: Evidence, group: str) -> tuple[UsableLife, ...]:
        """Return how long each column of `group` held by the deciding metric, where that is known.

        No other limit counts: what the headline tells and what is advised rest on one metric. Columns under
        another stress than the group's own are left out: they are no replicates.
        """
        found = []
        for column in under_one_stress(evidence.study, group):
            declines = [
                decline
                for decline in evidence.judgement.declines
                if decline.series.column == column.id
                and self.concerns(decline)
                and key_of(decline) == self.deciding
            ]
            found.append(usable_life(declines))
        return tuple(life for life in found if life is not None)

    def claim_id(self, *words: str) -> str:
        """Return a claim's id: other words, other id; the words of the claim's kind hold no hyphen."""
        return joined(self.question.id or "question", *words)


def scope_of(evidence: Evidence, question: Question) -> Scope:
    """Return what `question` is about; where it names no group that the study knows, it is about all."""
    named = tuple(group for group in evidence.study.groups if group in question.groups)
    groups = named or evidence.study.groups
    inside = [decline for decline in evidence.judgement.declines if _concerns(question, groups, decline)]
    deciding = _deciding(evidence, question, groups, inside)
    limits = [decline.limit for decline in inside if key_of(decline) == deciding]
    return Scope(question, groups, deciding, limits[0] if limits else None)


def _concerns(question: Question, groups: tuple[str, ...], decline: Decline) -> bool:
    """Return whether a limited decline is within what the question names."""
    series = decline.series
    return (
        decline.limit is not None
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
    named = asked_metric(question.text, evidence.study)
    if question.deciding in known:
        return question.deciding
    for metric in named:
        if metric in known:
            return metric
    if evidence.judgement.deciding in known:
        return evidence.judgement.deciding
    retention = retention_factors(evidence.study, evidence.judgement.declines)
    return decide(inside, evidence.judgement.comparisons, groups, retention)
