"""Of several statements on how types fail each is held against its own type."""

from collections.abc import Mapping

import pytest

from lyewitness.findings.answer.question_scope import scope_of
from lyewitness.findings.answer.ways_expected import ways_expected
from lyewitness.study.records import Limit, Question
from tests.findings.making import evidence_of, found_in

PLATES, K = "plate_number_half_height", "retention_factor"
GROUPS: Mapping[str, tuple[float, ...]] = {"silica": (41.0, 47.0, 52.0), "oxide": (900.0, 950.0, 990.0)}
LIMITS = (
    Limit(PLATES, at_least_percent=80.0, markers=("caffeine",)),
    Limit(K, at_least_percent=90.0, markers=("caffeine",)),
)


def test_each_statement_is_held_against_its_own_type() -> None:
    """What the data speak against stands first, so that a letter that is cut still tells it."""
    asked = Question(
        "how",
        "How do these columns die?",
        expectation="The oxide loses its retention over time, and on the silica retention goes first.",
    )
    courses = {("O1", "caffeine", K): -0.3, ("O2", "caffeine", K): -0.3, ("O3", "caffeine", K): -0.3}
    evidence = evidence_of(GROUPS, courses=courses, limits=LIMITS, questions=(asked,))
    verdict = found_in(evidence).answers[0].expectation_verdict
    assert verdict is not None
    first, second = verdict.text.split(". ")
    assert first.startswith("The data contradict ‘on the silica retention goes first’: first went the plate")
    assert second.startswith("The data point the way of ‘The oxide loses its retention over time’: ")


def test_one_statement_on_lives_and_one_on_how_a_type_fails() -> None:
    """Each half of an expectation gets its verdict, whatever it is about."""
    asked = Question(
        "which",
        "Which of the two should we take?",
        expectation="Oxide outlasts silica, and the silica goes by losing its plates.",
    )
    verdict = found_in(evidence_of(GROUPS, limits=LIMITS, questions=(asked,))).answers[0].expectation_verdict
    assert verdict is not None
    assert verdict.text.startswith("The data bear out ‘Oxide outlasts silica’: ")
    assert (
        "‘the silica goes by losing its plates’: the limit on the plate number (half height) was passed."
        in verdict.text
    )


@pytest.mark.parametrize(
    "expected",
    [
        "The silica does not go by its plates, and the oxide never loses retention.",
        "The silica goes without losing plates; the oxide isn't lost by retention.",
    ],
)
def test_what_is_denied_is_not_borne_out_by_its_contrary(expected: str) -> None:
    """`It never loses its plates` of columns that lost them is no statement that they did."""
    asked = Question("how", "How do these columns die?", expectation=expected)
    evidence = evidence_of(GROUPS, limits=LIMITS, questions=(asked,))
    assert ways_expected(evidence, scope_of(evidence, asked), expected) == []


def test_what_is_said_of_one_type_beside_another_is_no_way_of_failing() -> None:
    """`Plates fall sooner on silica than on oxide` compares lives."""
    asked = Question(
        "how", "How do these columns die?", expectation="Plates fall sooner on silica than on oxide."
    )
    evidence = evidence_of(GROUPS, limits=LIMITS, questions=(asked,))
    assert ways_expected(evidence, scope_of(evidence, asked), asked.expectation) == []
