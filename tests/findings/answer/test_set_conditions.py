"""A comparison of what columns were set to: the pH is what is asked about, and no fault of the answer."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from lyewitness.decline.factors import mixed_levels
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.study.records import Factor, Limit
from tests.findings.making import check_of, evidence_of, found_in, judged

LIVES = {"mild": (88.0, 84.0, 78.0, 74.0), "harsh": (38.0, 36.0, 33.0, 31.0)}
PH = {"mild": 10.0, "harsh": 10.8}
LIMITS = (
    Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
    Limit("symmetry_factor", at_most=2.0, markers=("aniline",)),
)


def plain(text: str) -> str:
    """Return a text with ordinary spaces."""
    return text.replace("\u2009", " ").replace("\u00a0", " ")


def at_two_values(factor: str = "pH", **changes: Any) -> Evidence:
    """Return four columns at each pH, two of each from either lot, on which bases tail as plates fall."""
    courses: Mapping[tuple[str, str, str], float] = {("", "aniline", "symmetry_factor"): 0.4}
    evidence = evidence_of(LIVES, courses=courses, limits=LIMITS)
    columns = tuple(replace(one, ph=PH[one.group]) for one in evidence.study.columns)
    at = {str(PH[group]): tuple(c.id for c in columns if c.group == group) for group in PH}
    lots = {lot: tuple(c.id for c in columns if (int(c.id[1]) < 3) == first) for lot, first in LOTS.items()}
    study = replace(evidence.study, columns=columns, factors=(Factor(factor, at), Factor("lot", lots)))
    return judged(evidence, replace(study, **changes))


LOTS = {"2407": True, "2431": False}


@pytest.fixture(scope="module")
def harsh() -> Evidence:
    """Return the study that asks what pH does."""
    return at_two_values()


def answered(evidence: Evidence, text: str, **changes: Any) -> Answer:
    """Return the answer to that question alone."""
    asked = replace(evidence.study.questions[0], text=text, **changes)
    return found_in(judged(evidence, replace(evidence.study, questions=(asked,)))).answers[0]


def test_what_is_varied_on_purpose_is_no_fault_of_the_comparison(harsh: Evidence) -> None:
    """The factor bears the name of the setting: that groups differ in it is the question."""
    check = check_of(found_in(harsh), "same-settings")
    assert check.result == "good"
    assert plain(check.detail) == "Varied on purpose: 50 °C and pH 10 and 50 °C and pH 10.8."


def test_a_setting_that_differs_along_with_something_else_stays_a_fault() -> None:
    """Two makes at two values of pH are not told apart by any test of them."""
    found = found_in(at_two_values("make"))
    assert check_of(found, "same-settings").result == "problem"
    told = [one for one in found.answers[0].claims if "-pair-" in one.id or "-factor-make" in one.id]
    assert told
    assert all(one.strength == "not settled" for one in told)


def test_the_effect_of_a_condition_is_told_whichever_limit_came_first(harsh: Evidence) -> None:
    """True ratio 81 / 34; a column of either lot is a column of the type."""
    answer = answered(harsh, "Is pH 10.8 still safe, or should we stay at pH 10.0?")
    short = plain(answer.short)
    assert "Life at pH 10.0 is 2." in short, short
    assert "times that at pH 10.8" in short
    assert "cannot tell" not in short.partition("Typical lives")[0], short
    assert "lots together" not in short
    assert not mixed_levels(harsh.study, "mild")


def test_a_lot_that_is_blamed_is_held_against_the_other(harsh: Evidence) -> None:
    """True ratio about 0.9, within what columns differ by."""
    asked = "Did we get a bad lot? I feel that 2431 goes down faster than 2407."
    short = plain(answered(harsh, asked).short)
    start = "No bad lot that these data show: columns from lot 2431 lasted 0."
    assert short.startswith((start, "It seems so: columns from lot 2431 lasted 0.", "Yes: columns from")), (
        short
    )
    assert "times as long as those from lot 2407" in short


def test_a_value_between_two_that_were_tested_lies_between_their_lives(harsh: Evidence) -> None:
    """Nothing is foretold of it but the order, which is known."""
    short = plain(answered(harsh, "How long would a column last at pH 10.4 and 40 °C?").short)
    assert short.startswith("pH 10.4 was not tested; it lies between pH 10.0 and pH 10.8, where columns"), (
        short
    )
    assert short.endswith(": a life between these is to be expected, longer at 40 °C."), short
    outside = plain(answered(harsh, "How long would a column last at pH 11.4?").short)
    assert "a life between" not in outside


def test_which_kind_of_marker_comes_first_is_asked_of_every_column(harsh: Evidence) -> None:
    """Plates of the neutral went first on all columns, so a base that goes first is no fit."""
    asked = "My base tails first, the neutral looks fine: does that fit with what you see?"
    short = plain(answered(harsh, asked).short)
    assert short.startswith("No: in this test caffeine passed a limit first on "), short
    other = "My neutral loses plates first, the base looks fine: does that fit?"
    told = plain(answered(harsh, other).short)
    assert told.startswith("Yes: in this test caffeine passed a limit first on all"), told
    assert "aniline passed no limit on any column" in told


def test_both_halves_on_kinds_of_markers_are_judged(harsh: Evidence) -> None:
    """Nobody is left to judge what every column shows."""
    answer = answered(
        harsh,
        "Which limit is passed first?",
        expectation="The neutral reaches its limit first, and the neutral keeps its plates to the end.",
    )
    assert answer.expectation_verdict is not None
    told = plain(answer.expectation_verdict.text)
    assert "leave the judgement" not in told
    assert "‘The neutral reaches its limit first’" in told
    assert "‘the neutral keeps its plates to the end’" in told


def test_whoever_asks_whether_to_go_on_hears_that_the_test_has_ended(harsh: Evidence) -> None:
    """The same question is answered while it runs, and once more when it has ended."""
    asked = "Can you say already, or must the test go on?"
    assert plain(answered(harsh, asked).short).startswith("Yes: the test has ended, after 100 h. ")
    running = judged(harsh, replace(harsh.study, running=True))
    said = plain(answered(running, asked).short)
    assert "the test must go on: it does not tell yet" in said or "it could stop" in said, said


def test_of_a_test_that_ran_too_short_it_is_said_once(harsh: Evidence) -> None:
    """What is not known of either group needs one sentence."""
    short = plain(answered(harsh, "Does a column last 400 hours at either pH?").short)
    assert short.count("run for more than") <= 1, short
    assert "400 hours (400 h)" not in short


def test_a_correction_names_the_question_that_asks_for_the_tests(harsh: Evidence) -> None:
    """What another question asked for is not put down to the one that is read."""
    first = replace(harsh.study.questions[0], text="What does the pH do to life?")
    other = replace(first, id="q2", text="Which of them should we take?")
    found = found_in(judged(harsh, replace(harsh.study, questions=(first, other))))
    own, beside = (
        next(c.text for c in answer.claims if "-factor-pH" in c.id and "asks for" in c.text)
        for answer in found.answers
    )
    assert "that the question asks for" in own, own
    assert "that the question ‘What does the pH do to life?’ asks for" in beside, beside
