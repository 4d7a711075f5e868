"""A life that hangs on a doubtful injection is not told without the other one."""

from dataclasses import replace

import pytest

from lyewitness.decline.records import GroupLife, Life
from lyewitness.findings.answer.claims import doubt_claims
from lyewitness.findings.answer.question_scope import scope_of
from lyewitness.findings.answer.without_doubtful import without_doubtful
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.words.estimates import Estimate
from tests.findings.making import evidence_of


@pytest.mark.parametrize(("low", "is_told"), [(16.6, True), (0.12, False)])
def test_a_bound_of_a_doubtful_injection_is_told_beside_the_other(low: float, is_told: bool) -> None:
    """At least 0.11 h by an interchanged file stands beside what the others show; near ones are not told."""
    evidence = evidence_of({"silica": (50.0, 60.0), "hybrid": (50.0, 60.0)})
    scope = scope_of(evidence, evidence.study.questions[0])

    def bounded(hours: float) -> Life:
        return Life("not reached", Estimate(None, hours))

    def lives(hours: float) -> tuple[GroupLife, ...]:
        judged = evidence.judgement.group_lives
        return tuple(replace(one, life=bounded(hours)) if one.group == "silica" else one for one in judged)

    doubtful = (
        DoubtfulInjection("S1-05", "other column", "", ""), DoubtfulInjection("H1-05", "leak", "", "")
    )  # fmt: skip
    bent = replace(
        evidence,
        doubtful=doubtful,
        judgement=replace(evidence.judgement, group_lives=lives(0.11)),
        without_doubtful=replace(evidence.judgement, group_lives=lives(low)),
    )
    said = without_doubtful(bent, scope)
    told = "without S1-05, which is doubtful but counted, it would be at least 16.6\u2009h for silica"
    assert said == ([told] if is_told else [])
    assert without_doubtful(evidence, scope) == []


def test_what_fewer_injections_saw_less_long_is_no_other_life() -> None:
    """At least 40 h stays what was seen where the others alone end at 0.46 h; a failure is told."""
    evidence = evidence_of({"silica": (50.0, 60.0), "hybrid": (50.0, 60.0)})
    scope = scope_of(evidence, evidence.study.questions[0])
    life = next(one for one in evidence.judgement.group_lives if one.group == "silica")
    seen, less, failed = (
        replace(life, life=one)
        for one in (
            Life("not reached", Estimate(None, 40.0)),
            Life("not reached", Estimate(None, 0.46)),
            Life("reached", Estimate(20.0, 15.0, 25.0)),
        )
    )
    doubtful = (DoubtfulInjection("S1-05", "leak", "", ""),)

    def told(after: GroupLife) -> tuple[list[str], list[str]]:
        judged, sound = (replace(evidence.judgement, group_lives=(one,)) for one in (seen, after))
        bent = replace(evidence, doubtful=doubtful, judgement=judged, without_doubtful=sound)
        return without_doubtful(bent, scope), [one.text for one in doubt_claims(bent, scope)]

    assert told(less) == ([], [])
    assert all(told(failed))
