"""Limits, promises, lists and counts in words."""

import pytest

from lyewitness.study.records import Limit
from lyewitness.words.lives import falls_past
from lyewitness.words.phrases import (
    columns_of,
    counted,
    down,
    kind_of,
    listed,
    mid_sentence,
    percent_of,
    run_together,
    share_of,
)
from lyewitness.words.problems import Problem, merged
from lyewitness.words.problems import listed as quoted


def test_limits_in_words() -> None:
    """A limit says which way it is passed, with the decimals it was stated with."""
    plain = falls_past(Limit("plate_number_half_height", at_least_percent=80.0)).replace("\u2009", " ")
    assert plain == "falls below 80 % of its reference"
    assert falls_past(Limit("symmetry_factor", at_most=2.05)) == "rises above 2.05"


def test_a_promise_is_rounded_down() -> None:
    """55.9 h may be promised as 55 h, 996 as 990, and 50 stays 50."""
    assert [down(value) for value in (55.9, 996.0, 50.0, 0.0)] == pytest.approx([55.0, 990.0, 50.0, 0.0])


def test_lists_counts_and_shares() -> None:
    """Words for lists, counts and shares."""
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed(["a"]) == "a"
    assert counted(1, "column") == "one column"
    assert counted(14, "column") == "14 columns"
    assert share_of(0, 3, "column") == "none of the three columns"
    assert share_of(2, 3, "column") == "two of three columns"
    assert share_of(2, 2, "column") == "both columns"
    assert share_of(3, 3, "column") == "all three columns"
    assert columns_of("polymer columns") == "the polymer columns"
    assert run_together(["one", "", "two."]) == "One. Two."


def test_words_within_a_sentence_begin_small_unless_they_are_names() -> None:
    """Plain words lose their capital within a sentence; signs, shortenings and `I` keep it."""
    said = ["Columns of silica", "A column", "I saw it", "C18 columns", "Half-height plates", ""]
    assert [mid_sentence(one) for one in said] == [
        "columns of silica",
        "a column",
        "I saw it",
        "C18 columns",
        "half-height plates",
        "",
    ]


def test_a_group_called_columns_keeps_its_name() -> None:
    """`coated` of `coated columns`; what would leave nothing is left alone."""
    assert [kind_of(one) for one in ("coated columns", "Coated Column", "columns")] == [
        "coated",
        "Coated",
        "columns",
    ]


def test_shares_have_three_figures() -> None:
    """0.12345 is 12.3 %, a whole percentage has no idle decimal."""
    assert [percent_of(one).replace("\u2009", " ") for one in (0.12345, 0.5)] == ["12.3 %", "50 %"]


def test_one_mistake_in_many_rows_is_one_message() -> None:
    """The first place is named with how many more; what stands alone or nowhere is left as it is."""

    def problem(place: str) -> Problem:
        return Problem("error", "injections.csv", place, "nothing", "a number", "Fill it in.")

    def places(*said: str) -> list[str]:
        return [one.place for one in merged(problem(place) for place in said)]

    assert places("line 2") == ["line 2"]
    assert places("line 2", "line 3") == ["line 2 (and one more place)"]
    assert places("line 2", "line 3", "line 9") == ["line 2 (and 2 more places, to line 9)"]
    assert places("", "") == [""]
    assert quoted([]) == "none"
    assert quoted("abc", most=2) == "'a', 'b' and 1 more"
