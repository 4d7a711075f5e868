"""Which type to take where no order is settled."""

from collections.abc import Mapping

from lyewitness.findings.answer.choosing import for_want_of_order
from lyewitness.findings.answer.question_scope import scope_of
from lyewitness.study.records import Limit, Question
from tests.findings.making import evidence_of, found_in

PLATES = "plate_number_half_height"
LIMITS = (Limit(PLATES, at_least_percent=80.0, markers=("caffeine",)),)
WHICH = Question("q1", "Which of the two should we take?")


def _told(lives: Mapping[str, tuple[float, ...]]) -> str:
    evidence = evidence_of(lives, limits=LIMITS, questions=(WHICH,))
    found_in(evidence)
    return for_want_of_order(evidence, scope_of(evidence, WHICH)).replace("\u2009", " ")


def test_the_longest_by_its_middle_column_is_told_with_its_early_loss() -> None:
    """Who must take one has both: the type that lasted longest, and the one that lost none early."""
    told = _told({"silica": (31.0, 83.0, 90.0), "oxide": (54.0, 56.0, 58.0)})
    assert told.startswith("of the silica columns the middle one lasted longest (8")
    assert "but one failed early (" in told
    assert "; no oxide column failed before 5" in told


def test_nothing_is_told_where_none_stands_out() -> None:
    """Middle columns that differ by less than lives of one type do say nothing."""
    assert _told({"silica": (52.0, 57.0, 62.0), "oxide": (54.0, 56.0, 58.0)}) == ""
