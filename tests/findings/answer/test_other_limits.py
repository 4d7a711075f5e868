"""Columns that fail by another limit than the one that decides: no more is told of them than they lived."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from lyewitness.findings.answer.costs import costs
from lyewitness.findings.answer.next_experiments import spread_of
from lyewitness.findings.answer.question_scope import Scope, scope_of
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Limit, Question
from tests.findings.making import column, evidence_of, found_in, judged

K = "retention_factor"
LIMITS = (
    Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
    Limit(K, at_least_percent=90.0, markers=("aniline",)),
)
GROUPS: Mapping[str, tuple[float, ...]] = {"hybrid": (60.0, 64.0, 57.0), "silica": (700.0, 720.0, 710.0)}
QUESTION = Question("q1", "Which costs less an hour?", decides="plate_number_half_height of caffeine")


@pytest.fixture(scope="module")
def fallen() -> Evidence:
    """Return three hybrid columns that fail by plates, three of silica that keep these and lose retention."""
    priced = tuple(
        replace(column(f"{group[0].upper()}{number}", group), price=500.0)
        for group in GROUPS
        for number in (1, 2, 3)
    )
    courses = {(f"S{number}", "aniline", K): -0.3 for number in (1, 2, 3)}
    return evidence_of(GROUPS, courses=courses, limits=LIMITS, questions=(QUESTION,), columns=priced)


@pytest.fixture(scope="module")
def scope(fallen: Evidence) -> Scope:
    """Return what the question is about."""
    return scope_of(fallen, QUESTION)


@pytest.fixture(scope="module")
def answer(fallen: Evidence) -> Answer:
    """Return the answer."""
    return found_in(fallen).answers[0]


def test_the_short_answer_names_them(answer: Answer) -> None:
    """Plates of silica hold to the end; that all three failed by retention stands beside it."""
    assert "All three silica columns failed by another limit" in answer.short
    assert "retention factor of aniline" in answer.short


def test_a_price_is_shared_out_over_what_they_lived(fallen: Evidence, scope: Scope) -> None:
    """They failed at about a third of the test: an hour costs as much, never what its end would give."""
    by_any = scope.usable_lives(fallen, "silica", every_limit=True)
    found = costs(fallen, scope)["silica"].each
    assert found.value is None
    assert found.high == pytest.approx(500.0 / min(life.low for life in by_any))
    assert found.high is not None
    assert found.high > 500.0 / 60.0
    assert found.low is not None


def test_what_is_priced_by_two_limits_is_not_compared(answer: Answer) -> None:
    """The ratio of lives by plates is none of the lives that they had."""
    assert not [claim for claim in answer.claims if "times as much" in claim.text]


def test_no_plan_runs_on_what_has_failed(answer: Answer) -> None:
    """Columns that have failed by retention are not run on until their plates fall."""
    assert not [plan for plan in answer.next_experiments if "silica columns on to" in plan.text]


def test_the_table_says_that_they_failed(answer: Answer) -> None:
    """`none failed by this limit` was true and misled."""
    (silica,) = (one for one in answer.advice if one.group == "silica")
    assert silica.tested == "three, all failed by another limit"


def test_a_column_that_fails_earlier_by_what_decides_is_no_such(fallen: Evidence, scope: Scope) -> None:
    """Hybrid columns failed by the deciding limit."""
    assert scope.failed_sooner(fallen, "hybrid") == ()
    assert len(scope.failed_sooner(fallen, "silica")) == 3


def test_a_limit_that_the_question_leaves_out_is_not_passed_over(fallen: Evidence) -> None:
    """Asked of plates alone, columns that failed by retention are not told as if nothing had failed."""
    question = replace(QUESTION, metrics=("plate_number_half_height",))
    study = replace(fallen.study, questions=(question,))
    (answer,) = found_in(judged(fallen, study)).answers
    (silica,) = (one for one in answer.advice if one.group == "silica")
    assert silica.tested == "three, none failed by this limit"


def test_columns_that_never_passed_a_limit_lasted_without_passing_it() -> None:
    """`Lasted at least 100 h before the plate number fell` says that it fell."""
    answer = found_in(evidence_of({"hybrid": (700.0, 720.0, 710.0)})).answers[0]
    for text in (answer.short, *(claim.text for claim in answer.claims)):
        assert "before the plate number" not in text
    assert "without the plate number (half height) of caffeine falling below 80" in answer.short


def test_a_lucky_column_counts_in_how_far_lives_differ() -> None:
    """Of three that lasted 40, 42 and more than the test, the plan does not rest on the two alike."""
    lucky = evidence_of({"hybrid": (40.0, 42.0, 900.0), "silica": (44.0, 52.0, 38.0)})
    plain = evidence_of({"hybrid": (40.0, 42.0), "silica": (44.0, 52.0, 38.0)})
    question = Question("q1", "Which lasts longest?")
    found = [spread_of(evidence, scope_of(evidence, question)) for evidence in (lucky, plain)]
    with_it, without = (one for one in found if one is not None)
    assert with_it.at_least
    assert not without.at_least
    assert with_it.sd > 2 * without.sd
    told = [plan.text for plan in found_in(lucky).answers[0].next_experiments if "spread by" in plan.text]
    assert told
    assert all("Lives of one type spread by at least " in text for text in told)


def test_what_is_not_known_by_another_marker_is_told_beside_a_life() -> None:
    """Held to the end by one marker; by another a column passed the limit and came back: both are told."""
    question = Question(
        "q1",
        "Which lasts longest?",
        expectation="They last at most 40 h.",
        decides="plate_number_half_height of caffeine",
    )
    held = evidence_of(
        {"hybrid": (700.0, 720.0, 710.0)},
        questions=(question,),
        limits=(Limit("plate_number_half_height", at_least_percent=80.0),),
    )
    rows = tuple(
        replace(row, plate_number_half_height=7000.0)
        if (row.column, row.marker) == ("H3", "aniline") and 15.0 < (row.exposure_h or 0.0) < 35.0
        else row
        for row in held.measurements.rows
    )
    (answer,) = found_in(judged(held, measurements=Measurements(rows))).answers
    beside = "y the plate number (half height) of aniline nothing sure is known of H3 beyond 10 h"
    assert f"B{beside}" in answer.short.replace("\u2009", " ")
    verdict = answer.expectation_verdict
    assert verdict is not None
    assert verdict.text.startswith("We cannot tell whether the expectation holds: ")
    assert f"b{beside}" in verdict.text.replace("\u2009", " ")
