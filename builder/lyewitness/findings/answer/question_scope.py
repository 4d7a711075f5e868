"""What one question is about: its groups, its limits, and the metric that decides it.

In: `Evidence` and a `Question`. Out: `Scope`.
"""

from collections import Counter
from dataclasses import dataclass
from itertools import combinations

from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import Decline
from lyewitness.findings.answer.next_column import UsableLife, usable_life
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
                and metric_key(decline) == self.deciding
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
    narrowed = question.groups or question.markers or question.metrics
    deciding = evidence.judgement.deciding
    if narrowed or not any(deciding == metric_key(decline) for decline in inside):
        deciding = _deciding(evidence, groups, inside)
    limits = [decline.limit for decline in inside if metric_key(decline) == deciding]
    return Scope(question, groups, deciding, limits[0] if limits else None)


def metric_key(decline: Decline) -> Metric:
    """Return (marker, metric) of a decline."""
    return decline.series.marker, decline.series.metric


def _concerns(question: Question, groups: tuple[str, ...], decline: Decline) -> bool:
    """Return whether a limited decline is within what the question names."""
    series = decline.series
    return (
        decline.limit is not None
        and series.group in groups
        and (not question.markers or series.marker in question.markers or not series.marker)
        and (not question.metrics or series.metric in question.metrics)
    )


def _deciding(evidence: Evidence, groups: tuple[str, ...], declines: list[Decline]) -> Metric:
    """Return the metric that fails first on most columns; where none failed, the one nearest its limit.

    Of metrics that fail first as often, the one whose comparison between these groups is the surest.
    """
    first: dict[str, tuple[float, Metric]] = {}
    for decline in declines:
        hours = decline.life.hours.value
        if decline.life.state == "reached" and hours is not None:
            found = (hours, metric_key(decline))
            first[decline.series.column] = min(first.get(decline.series.column, found), found)
    if first:
        votes = Counter(metric for _, metric in first.values())
        return min(votes, key=lambda metric: (-votes[metric], _surest_p(evidence, groups, metric), metric))
    nearest = max(declines, key=_way_gone, default=None)
    return metric_key(nearest) if nearest else ("", "")


def _surest_p(evidence: Evidence, groups: tuple[str, ...], metric: Metric) -> float:
    """Return the lowest p value with which that metric tells two of these groups apart."""
    found = (evidence.comparison(a, b, *metric) for a, b in combinations(groups, 2))
    return min((c.p_value for c in found if c is not None and c.p_value is not None), default=1.0)


def _way_gone(decline: Decline) -> float:
    """Return which part of the way from its reference to its limit a metric has gone."""
    if decline.remaining.value is None or decline.limit_percent in (None, 100.0):
        return float("-inf")
    return (100 - decline.remaining.value) / (100 - (decline.limit_percent or 0.0))
