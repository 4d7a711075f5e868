"""What a question gets first: the answer to what it asks, yes or no where that is what it wants.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`. Out: sentences; none where it
asks for an order only.
"""

import re
from collections.abc import Sequence
from statistics import fmean

from lyewitness.decline.deciding import key_of
from lyewitness.findings.answer.costs import cost_replies
from lyewitness.findings.answer.expectation import REPLIES, groups_by_factor, weigh
from lyewitness.findings.answer.factor_claims import effect_words
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Ranking
from lyewitness.findings.answer.reading_expectations import read_expectation
from lyewitness.findings.answer.reading_questions import (
    YES_OR_NO,
    asked_metric,
    named_factors,
    read_question,
)
from lyewitness.findings.answer.use_claims import asked_spans, held, reply_words
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import interval
from lyewitness.words.phrases import CANNOT_TELL, listed, percent

LEAST_RATE_PERCENT = 0.01
"""A loss of 1 % in 100 h; what is slower is not told from a standstill in a study of some days."""


def replies(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> list[str]:
    """Return the direct answers to a question, what it asks first first."""
    found = [held(evidence, scope, group, span) for group, span in asked_spans(evidence, scope)]
    spans = reply_words([one for one in found if one is not None]) if any(found) else []
    said = [*spans, *cost_replies(evidence, points, scope, ranking)]
    if not said and not _unlimited(evidence, scope):
        said = _effect(evidence, scope, ranking) or _yes_or_no(evidence, points, scope, ranking)
    return [*said, *_rates(evidence, scope), *_unlimited(evidence, scope)]


def _unlimited(evidence: Evidence, scope: Scope) -> list[str]:
    """Return what is known of a metric that is asked about and has no limit: how it stood at the end."""
    named = list(asked_metric(scope.question.text, evidence.study))
    limited = {key_of(decline) for decline in evidence.judgement.declines if decline.limit is not None}
    if not named or any(metric in limited for metric in named):
        return []
    marker, metric = named[0]
    said = []
    for group in scope.groups:
        found = [evidence.decline(column.id, marker, metric) for column in evidence.study.replicates(group)]
        left = [d.remaining.value for d in found if d is not None and d.remaining.value is not None]
        if left:
            said.append(f"{percent(fmean(left))} of its reference on {group}")
    none = f"{CANNOT_TELL} by lives: the study sets no limit on {the_metric(marker, metric)}"
    return [f"{none}; at the end it stood at {listed(said)}" if said else none]


def _effect(evidence: Evidence, scope: Scope, ranking: Ranking) -> list[str]:
    """Return whether a factor that is named does what is asked of it."""
    text = scope.question.text
    asks = read_question(text, evidence.study.groups)
    factors = named_factors(text, [factor.name for factor in evidence.study.factors])
    found = [verdict for verdict in ranking.factors if verdict.effect.factor in factors]
    if not (asks.yes_or_no and asks.effect and found) or read_expectation(
        _asked(text), scope.groups, None, dict.fromkeys(factors, ())
    ):
        return []
    said = []
    for verdict in found:
        ratio, word = verdict.ratio, ""
        if verdict.verdict == "alike":
            word = "No"
        elif verdict.verdict == "changes":
            middle = next(end for end in (ratio.value, ratio.low, ratio.high) if end is not None)
            word = "Yes" if (middle > 1) != verdict.by_rate else "No"
        if word and verdict.strength != "shown":
            word += ", as far as these data tell"
        said.append(f"{word}: {effect_words(verdict)}" if word else effect_words(verdict))
    return said


def _yes_or_no(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> list[str]:
    """Return yes or no to `do A outlast B?` and `does A fail first?`, read as an expectation would be."""
    text = scope.question.text
    if not read_question(text, evidence.study.groups).yes_or_no:
        return []
    factors = groups_by_factor(evidence, ranking)
    expected = read_expectation(_asked(text), evidence.study.groups, scope.question.run_time_min, factors)
    if expected is None or expected.span is not None:
        return []
    judged = weigh(evidence, points, scope, ranking, expected)
    if judged.leaning in REPLIES:
        return [f"{REPLIES[judged.leaning]}: {judged.words}"]
    return [f"{CANNOT_TELL}: {judged.words}"] if judged.leaning == "open" else []


def _asked(text: str) -> str:
    """Return the sentence that wants yes or no, as a statement would stand."""
    for part in re.split(r"(?<=[?.!])\s+", text):
        if YES_OR_NO.search(part):
            return part.strip().rstrip("?")
    return text


def _rates(evidence: Evidence, scope: Scope) -> list[str]:
    """Return how fast the deciding metric changes on each group, where that is asked."""
    if not read_question(scope.question.text, evidence.study.groups).rate or not scope.deciding[1]:
        return []
    said = []
    for group in scope.groups:
        life = evidence.group_life(group, *scope.deciding)
        rate = life.rate_per_h if life is not None else Estimate()
        if rate.value is not None:
            low, high = (None if end is None else 100 * end for end in (rate.low, rate.high))
            known = interval(Estimate(100 * rate.value, low, high), "%")
            known = known if low is not None else percent(100 * rate.value)
            none = abs(100 * rate.value) < LEAST_RATE_PERCENT
            said.append(f"{'nothing that could be seen' if none else f'{known} an hour'} on {group}")
    if _unlimited(evidence, scope):
        return []
    return [f"{the_metric(*scope.deciding)} loses {listed(said)}"] if said else []
