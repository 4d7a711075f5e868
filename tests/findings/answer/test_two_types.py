"""What is told of two types where one limit parts them and all limits together do not, or do."""

from dataclasses import replace

from lyewitness.findings.answer.one_limit import BEYOND_SCATTER
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Limit, Question
from lyewitness.words.phrases import sentences_of
from tests.findings.making import evidence_of, found_in

LIVES = {"old lot": (70.0, 76.0, 82.0, 88.0), "new lot": (62.0, 74.0, 86.0), "returned": (60.0,)}
"""Of plates: alike."""
TAILS = {
    (column, "aniline", "symmetry_factor"): rate
    for column, rate in (
        ("O1", 0.30), ("O2", 0.33), ("O3", 0.31), ("O4", 0.29), ("N1", 0.75), ("N2", 0.82), ("N3", 0.70),
    )
}  # fmt: skip
"""Percent an hour by which the base's symmetry rises: sooner on the new lot."""


def short(text: str, expectation: str = "") -> str:
    """Return the short answer about three groups, one of a single column."""
    evidence = lots()
    question = Question("q1", text, expectation=expectation)
    asked = replace(evidence, study=replace(evidence.study, questions=(question,)))
    told = found_in(asked).answers[0].short
    return told.replace("\u2009", " ").replace("\u00a0", " ").replace("\u202f", " ")


def lots() -> Evidence:
    """Return two lots whose plates last alike and of which one tails sooner, and one column sent back."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("symmetry_factor", at_most_percent=150.0, markers=("aniline",)),
    )
    return evidence_of(LIVES, courses=TAILS, limits=limits)


def test_the_one_limit_that_parts_two_lots_is_told() -> None:
    """Who asks whether a lot is worse hears of the limit by which it is, with the ratio."""
    told = short("Is the new lot worse?", "The new lot dies sooner than the old lot.")
    assert "earlier on the new lot columns than on the old lot columns" in told, told
    assert "by a factor of" in told
    assert "returned" not in told, "one column that was sent back is no candidate"


def test_whether_a_difference_is_real_is_what_the_test_of_types_says() -> None:
    """The scatter within a type is what its interval is made of."""
    assert BEYOND_SCATTER.search("Is the difference beyond what columns of one lot differ?")
    told = short("Is the difference between old lot and new lot beyond what columns of one lot differ?")
    assert not told.startswith(("Yes", "No:")), told
    assert "beyond what columns of one type differ by" in told or "earlier on the new lot" in told, told


def test_somebodys_words_are_no_end_of_a_sentence() -> None:
    """What an operator noted may hold full stops."""
    text = "It stood still (“Bottle made wrong. Changed.”). Then it ran."
    assert sentences_of(text) == ["It stood still (“Bottle made wrong. Changed.”).", "Then it ran."]
