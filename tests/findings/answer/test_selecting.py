"""Which of many types to keep or to leave, which last a span, and what was not tested at all."""

from dataclasses import replace

import pytest

from lyewitness.findings.answer.as_asked import ASKED_C
from lyewitness.findings.answer.reading_questions import COST, read_clauses
from lyewitness.findings.answer.selecting import KEEP, LEAVE
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.study.questions import named_groups
from lyewitness.study.records import Limit, Question
from tests.findings.making import evidence_of, found_in

LIVES = {
    "alpha": (10.0, 12.0),
    "bravo": (21.0, 24.0),
    "charlie": (48.0, 55.0),
    "delta": (46.0, 57.0),
    "echo": (900.0, 910.0),
}


@pytest.fixture(scope="module")
def five() -> Evidence:
    """Return five types, two columns each: two die early, two lie level, one outlasts the test."""
    limits = (Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),)
    return evidence_of(LIVES, limits=limits)


def answered(evidence: Evidence, text: str, expectation: str = "", **changes: object) -> Answer:
    """Return the answer to a question of the study."""
    question = Question("q1", text, expectation=expectation, **changes)  # type: ignore[arg-type]
    asked = replace(evidence, study=replace(evidence.study, questions=(question,)))
    return found_in(asked).answers[0]


def squeezed(text: str) -> str:
    """Return a text with plain spaces."""
    return text.replace("\u2009", " ").replace("\u00a0", " ").replace("\u202f", " ")


def test_what_can_be_ruled_out_is_what_most_others_outlasted(five: Evidence) -> None:
    """One sentence names it with its lives, the next what is left; no list of pairs."""
    answer = answered(five, "Which of the five can I rule out already?")
    short = squeezed(answer.short)
    assert short.startswith("Rule out alpha ("), short
    out, _, kept = short.partition("Keep ")
    assert "bravo" in out
    assert all(group in kept for group in ("charlie", "delta", "echo"))
    assert not any("prefer" in claim.text for claim in answer.recommendations)


def test_two_of_five_are_named_and_a_shared_place_is_left_open(five: Evidence) -> None:
    """That two lie level is no reason to name none."""
    short = squeezed(answered(five, "We can stock two of these five: which?").short)
    assert short.startswith("Take echo ("), short
    assert "for the other place charlie" in short or "for the other place delta" in short
    assert "Not " in short


def test_types_that_last_a_span_are_sorted_where_they_are_many(five: Evidence) -> None:
    """Those that did stand first, those that did not with when."""
    answer = answered(five, "Which of the columns lasts 40 h?")
    short = squeezed(answer.short)
    assert short.startswith("Charlie, delta and echo: all six columns"), short
    assert "Not alpha (" in short
    assert "we cannot tell of" not in short.lower()
    assert not any("do not choose" in claim.text for claim in answer.recommendations)


def test_a_life_at_conditions_that_were_not_tested_is_said_to_be_unknown(five: Evidence) -> None:
    """What is answered first is that nobody tested it, with what is known of the direction."""
    short = squeezed(
        answered(five, "If we went down to 30 °C, how long would the alpha columns last then?").short
    )
    assert short.startswith("We did not test 30 °C: at "), short
    assert "but by how much only a test tells" in short


def test_the_value_before_instead_is_the_one_asked_about() -> None:
    """`54 instead of 50 °C` asks about 54."""
    assert ASKED_C.findall("We run at 54 instead of 50 °C.") == ["54"]
    assert ASKED_C.findall("We run at 54 °C.") == ["54"]


def test_a_cheap_column_is_no_question_of_costs() -> None:
    """Who wants to keep the cheap one asks whether it lasts."""
    assert COST.search("Could we keep the cheap one?") is None
    assert COST.search("Which is cheaper?") is not None


def test_a_type_is_named_by_a_later_word_of_its_own_where_it_is_called_so() -> None:
    """`The zirconia type` is one; `zirconia` alone may be a word of the trade."""
    groups = ("polybutadiene zirconia", "polymeric C18")
    assert named_groups("The zirconia type lasts longest", groups) == ("polybutadiene zirconia",)
    assert named_groups("zirconia is hard", groups) == ()
    assert named_groups("Is a sacrificial column worth it?", ("C18", "C18 + sacrificial")) == ()


def test_that_one_outlasts_all_is_told_against_whom_it_did(five: Evidence) -> None:
    """Of many pairs some were seen so: these are named."""
    verdict = answered(
        five, "Which type lasts longest?", "The delta type outlasts all the others."
    ).expectation_verdict
    assert verdict is not None
    assert "five pairs" not in verdict.text


def test_what_is_said_of_it_behind_a_comparison_is_held_against_the_same_two() -> None:
    """`A loses its plates sooner than B, and its base tails sooner` are two statements on A and B."""
    text = "The new lot loses its plates sooner than the old lot, and its base tails sooner."
    clauses = read_clauses(text, ("old lot", "new lot", "returned"))
    assert [clause.expected.groups for clause in clauses if clause.expected] == [("old lot", "new lot")] * 2


@pytest.mark.parametrize(
    ("text", "selects"),
    [
        ("We can stock two of these six: which?", True),
        ("Which three should we keep?", True),
        ("Which should we take for three days at pH 11?", False),
        ("Which do we choose for the 2.1 mm format?", False),
        ("Which shall we keep at pH 3?", False),
        ("Of which should we order two columns?", False),
    ],
)
def test_days_and_columns_are_no_number_of_types(text: str, selects: bool) -> None:
    """`For three days` asks for no three types."""
    assert (KEEP.search(text) is not None) == selects


def test_a_drop_in_retention_rules_nothing_out() -> None:
    """Only who may drop types asks which are out."""
    assert LEAVE.search("Which of the columns shows a drop in retention first?") is None
    assert LEAVE.search("Which of the six can I rule out already?") is not None
    assert LEAVE.search("Which can be ruled out?") is not None
