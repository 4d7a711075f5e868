"""A flush or storage that a question is about: what this test shows of it, or that it was not tested."""

from dataclasses import replace
from typing import Any

import pytest

from lyewitness.findings.answer.question_scope import scope_of
from lyewitness.findings.answer.treatments import asks_treatment
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Event, Question
from tests.findings.making import evidence_of, found_in, judged

LIVES = {"amine": (52.0, 55.0, 83.0), "carbonate": (31.0, 33.0, 35.0)}
FLUSHED = Event("flush", 45.0, columns=("A3",), note="turned round and flushed")
STORED = Event("storage", 25.0, 35.0, still_exposed=True)


def short(evidence: Evidence, text: str, *events: Event, **changes: Any) -> str:
    """Return the short answer to that question, with what happened while the study ran."""
    asked = replace(evidence.study.questions[0], text=text, **changes)
    study = replace(evidence.study, questions=(asked,), events=events)
    return found_in(judged(evidence, study)).answers[0].short.replace("\u2009", " ")


@pytest.fixture(scope="module")
def evidence() -> Evidence:
    """Return two types, of which every column of one outlasts every one of the other."""
    return evidence_of(LIVES)


def test_what_became_of_a_flushed_column_is_told(evidence: Evidence) -> None:
    """Who flushed a column hears when ours failed after it, and when those that were not flushed did."""
    asked = "Our column came back after a flush: may we go on using it?"
    told = short(evidence, asked, FLUSHED)
    assert told.startswith("For a while: A3 (amine) was flushed at 45 h in this test; it passed the limit"), (
        told
    )
    assert "the others of its type without a flush at 5" in told
    assert told.endswith("one column says little of yours, whose cause may be another."), told
    assert "we flushed no column in this test" in short(evidence, asked).lower()


def test_of_storage_it_is_said_what_was_tested(evidence: Evidence) -> None:
    """A night in the oven says little of a weekend on the bench; a test without one says nothing."""
    asked = "Can we leave the column in the buffer over the weekend, pump off?"
    told = short(evidence, asked, STORED)
    assert told == (
        "Better not: we did not test it, and common practice is to rinse the buffer out and to store the "
        "column in the organic solvent. In this test columns stood for 10 h from 25 h of exposure on, hot "
        "all the while, which says little of other times."
    ), told
    assert short(evidence, asked).endswith("No column stood in its mobile phase here.")


def test_other_questions_are_about_no_treatment(evidence: Evidence) -> None:
    """Words that sound like it are none, nor is what is told on the way to another question."""
    assert not about_treatment(evidence, "Which buffer is kindest to the column?")
    assert not about_treatment(evidence, "How long does it last at pH 11?")
    assert about_treatment(evidence, "Did the clogged frit or the packing fail?")
    assert not about_treatment(evidence, "With a guard or without: which columns last longer?")
    assert not about_treatment(evidence, "We rinse columns and store them: which type lasts longest?")
    assert about_treatment(evidence, "May we go on after a flush?")


def about_treatment(evidence: Evidence, text: str) -> bool:
    """Return whether a question is about a flush or storage."""
    return asks_treatment(scope_of(evidence, replace(evidence.study.questions[0], text=text)))


def test_whether_a_pressure_is_reached_is_no_question_of_holding(evidence: Evidence) -> None:
    """`Will we get there` is answered yes of the columns that failed."""
    told = short(evidence, "Our pump stops at 400 bar: will we get there within 48 h?")
    assert "Yes for the carbonate columns" in told or told.startswith("Yes"), told
    assert "No for the amine columns tested: all three amine columns lasted 48 h" in told, told
    lasting = short(evidence, "Does a carbonate column reach 48 h?")
    assert lasting.startswith("No"), lasting


def test_what_befell_one_column_is_not_weakened_by_the_number_of_columns(evidence: Evidence) -> None:
    """Of a flush the number of columns of another type tells nothing."""
    question = Question("q1", "Ours came back after a flush: may we go on using it?")
    asked = replace(evidence, study=replace(evidence.study, questions=(question,)))
    sure = found_in(asked).answers[0].how_sure
    assert "were tested" not in sure, sure
