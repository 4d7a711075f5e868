"""Limits, promises, lists and counts in words."""

import pytest

from lyewitness.study.records import Limit
from lyewitness.words.lives import falls_past
from lyewitness.words.phrases import columns_of, counted, down, listed, run_together, share_of


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
