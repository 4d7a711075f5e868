"""Answers in the unit and the turn in which they are asked for: injections, a ratio that somebody named, one
limit, what is expected of every type."""

from dataclasses import replace

import pytest

from lyewitness.findings.answer.reading_questions import (
    Span,
    asked_sentence,
    own_span,
    read_clauses,
    read_expectation,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.study.records import Limit, Question
from tests.findings.making import evidence_of, found_in

LIVES = {"carbonate": (38.0, 44.0, 50.0), "amine": (75.0, 82.0, 90.0), "borate": (76.0, 80.0, 300.0)}


@pytest.fixture(scope="module")
def buffers() -> Evidence:
    """Return one type in three buffers, each a group."""
    limits = (Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),)
    return evidence_of(LIVES, limits=limits)


def answered(evidence: Evidence, text: str, expectation: str = "", minutes: float | None = None) -> Answer:
    """Return the answer to a question of the limit on plates."""
    question = Question(
        "q1",
        text,
        expectation=expectation,
        run_time_min=minutes,
        markers=("caffeine",),
        metrics=("plate_number_half_height",),
    )
    asked = replace(evidence, study=replace(evidence.study, questions=(question,)))
    return found_in(asked).answers[0]


def squeezed(text: str) -> str:
    """Return a text with plain spaces."""
    return text.replace("\u2009", " ").replace("\u00a0", " ").replace("\u202f", " ")


def test_who_asks_how_many_injections_gets_injections(buffers: Evidence) -> None:
    """A life in hours leaves the reckoning to the reader."""
    short = squeezed(answered(buffers, "How many injections of 9 minutes can I make?", minutes=9.0).short)
    assert "injections of 9 min on a typical amine column (8" in short
    assert short.index("amine") < short.index("carbonate"), "the longest-lived first"


@pytest.mark.parametrize("asks", ["True?", "Is that so?", "Right?"])
def test_what_a_supplier_says_is_the_sentence_asked(asks: str) -> None:
    """One word may ask whether the sentence before it holds."""
    assert asked_sentence(f"The supplier says that A doubles the life of B. {asks}").endswith("life of B")


def test_longer_is_granted_where_so_many_times_is_not_settled(buffers: Evidence) -> None:
    """That twice is open does not make open what every column showed."""
    short = answered(buffers, "The supplier says amine doubles the life compared with carbonate. True?").short
    assert squeezed(short).startswith("Longer, yes: the amine columns lasted longer"), short
    assert "not settled" in short


def test_what_is_expected_of_every_type_is_held_against_each(buffers: Evidence) -> None:
    """One type on which it is otherwise contradicts it."""
    text = "They stay within the limit for 60 h in every buffer, and it goes fastest in carbonate."
    verdict = answered(buffers, "Will we get there within 60 h?", text).expectation_verdict
    assert verdict is not None
    assert "contradict ‘They stay within the limit for 60 h in every buffer’: " in squeezed(verdict.text)
    assert "all three carbonate columns passed the limit before 60 h" in squeezed(verdict.text)


def test_below_a_limit_for_a_span_is_no_upper_end() -> None:
    """`Stays under 400 bar for 60 h` says how long it holds."""
    read = read_expectation("A stays under 400 bar for 60 h", ("A", "B"))
    assert read is not None
    assert (read.kind, read.at_most) == ("holds", False)


def test_types_that_all_held_stand_in_one_sentence(buffers: Evidence) -> None:
    """What is alike is told once."""
    short = squeezed(answered(buffers, "Does the column fail within 60 h?").short)
    assert "No for those tested of amine and borate: all three amine columns and all three borate" in short


def test_a_supplier_is_not_answered_by_lives_alone(buffers: Evidence) -> None:
    """Behind a yes stands what was asked: whether by so much."""
    short = answered(buffers, "The supplier says amine doubles the life compared with carbonate. True?").short
    assert "where 2 was expected" in squeezed(short)


def test_a_week_is_as_long_as_the_runs_of_who_asks() -> None:
    """`400 injections of 12 min a week` is a week of 80 h on the column."""
    week = Span("a week", 168.0)
    assert own_span(week, "We run 400 injections of 12 minutes a week.", 12.0).hours == pytest.approx(80.0)
    assert own_span(week, "We run 400 injections of 12 minutes.", 12.0) == week
    assert own_span(Span("two weeks", 336.0), "400 injections a week", 12.0).hours == 336.0


def test_a_sentence_on_two_types_is_two_statements() -> None:
    """Each type is held to what is said of it."""
    clauses = read_clauses("At A one column a week is enough, and at B a column lasts a day", ("A", "B"))
    assert [clause.expected.groups for clause in clauses if clause.expected] == [("A",), ("B",)]


def test_few_of_those_tested_are_no_yes() -> None:
    """One of three that passed the limit makes it possible that the next one does."""
    limits = (Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),)
    evidence = evidence_of({"carbonate": (50.0, 75.0, 80.0), "amine": (90.0, 95.0, 99.0)}, limits=limits)
    short = squeezed(answered(evidence, "Does the column fail within 60 h?").short)
    assert "Possibly for the carbonate columns: one of three" in short, short
