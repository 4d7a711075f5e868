"""The one place that owns rounding, units and significant figures."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed, in_step, interval, p_value, ratio_of, rounded, stated


@pytest.mark.parametrize(
    ("estimate", "text"),
    [
        (Estimate(62.3, 55.1, 70.9), "62 h (55 to 71)"),
        (Estimate(None, 120.0, None, "limit not reached"), "at least 120 h"),
        (Estimate(3.14159, 3.0, 3.3), "3.1 h (3.0 to 3.3)"),
        (Estimate(reason="too few points"), "too few points"),
        (Estimate(0.0123, 0.0119, 0.0127), "0.0123 h (0.0119 to 0.0127)"),
        (Estimate(622.0, 285.0, 1355.0), "620 h (280 to 1400)"),
        (Estimate(1143.0, 1040.0, 1256.0), "1140 h (1040 to 1260)"),
        (Estimate(77.0, 67.0, 89.0), "77 h (67 to 89)"),
        (Estimate(40.0, 25.0, 260.0), "40 h (25 to 260)"),
        (Estimate(62.0, 4.0, 320.0), "62 h (4 to 320)"),
        (Estimate(15.0, 0.04, 62.2), "15 h (0.04 to 63)"),
        (Estimate(None, 109.7), "at least 109 h"),
        (Estimate(None, None, 3.01), "at most 3.01 h"),
        (Estimate(None, 43.4, 50.2), "43 to 51 h"),
        (Estimate(-0.00002, -0.04, 0.02), "0.00 h (−0.04 to 0.02)"),
        (Estimate(0.00002, 0.00001, 0.04), "0.00002 h (0.00001 to 0.04)"),
    ],
)
def test_interval_prints_as_many_figures_as_it_deserves(estimate: Estimate, text: str) -> None:
    """An interval is printed with the decimals that its half width deserves, an open end in words."""
    assert interval(estimate, "h").replace("\u2009", " ") == text


def test_minus_is_a_true_minus_sign_and_zero_has_none() -> None:
    """A negative number bears U+2212; what rounds to zero bears no sign."""
    assert fixed(-1.25, 1) == "\u22121.2"
    assert fixed(-0.01, 1) == "0.0"
    assert rounded(12345.6, 3) == "12\u2009346"


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0092, "p = 0.009"), (0.0131, "p = 0.013"), (0.4, "p = 0.40"), (0.0002, "p < 0.001")],
)
def test_a_p_value_has_no_more_figures_than_it_deserves(value: float, text: str) -> None:
    """Three decimals below a hundredth, two figures above, and a bound below a thousandth."""
    assert p_value(value).replace("\u2009", " ") == text


def read(text: str) -> list[float]:
    """Return the numbers that stand in a printed text."""
    plain = text.replace("\u2212", "-").replace("\u2009", "")
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", plain)]


LIVES = st.floats(1e-3, 1e5)


@given(st.tuples(LIVES, LIVES, LIVES).map(sorted))
def test_no_end_of_an_interval_is_rounded_to_the_unsafe_side(ends: list[float]) -> None:
    """A low end is never printed higher, a high end never lower, neither ever as 0; the value is between."""
    low, value, high = ends
    told, told_low, told_high = read(interval(Estimate(value, low, high), "h"))
    assert 0 < told_low <= low * (1 + 1e-5)
    assert told_high >= high * (1 - 1e-5)
    assert told_low <= told <= told_high


@given(LIVES, st.booleans())
def test_no_bound_is_rounded_to_the_unsafe_side(end: float, lower: bool) -> None:
    """`at least` is never more than the data show, `at most` never less."""
    (told,) = read(interval(Estimate(None, end) if lower else Estimate(None, None, end), "h"))
    assert 0 < told <= end * (1 + 1e-5) if lower else told >= end * (1 - 1e-5)


@given(LIVES, st.tuples(LIVES, LIVES, LIVES).map(sorted), st.booleans())
def test_what_must_lie_on_the_safe_side_is_never_rounded_up(
    safe: float, ends: list[float], known: bool
) -> None:
    """`in_step` with `down` never prints more than the number is, beside a life or beside none."""
    low, value, high = ends
    (told,) = read(in_step(safe, Estimate(value, low, high) if known else Estimate(), down=True))
    assert 0 < told <= safe * (1 + 1e-5)


def test_what_must_lie_on_the_safe_side_is_rounded_down() -> None:
    """119.7 beside a life in whole hours is told as 119, 284 beside one in tens as 280."""
    assert in_step(119.7, Estimate(150.0, 130.0, 171.0), down=True) == "119"
    assert in_step(119.7, Estimate(150.0, 130.0, 171.0)) == "120"
    assert in_step(288.0, Estimate(622.0, 285.0, 1355.0), down=True) == "280"
    assert in_step(119.97, Estimate(), down=True) == "119"


@given(st.tuples(LIVES, LIVES, LIVES).map(sorted))
def test_no_end_of_a_ratio_is_rounded_to_the_unsafe_side(ends: list[float]) -> None:
    """The ends of a ratio of lives are rounded away from its value, as those of a life are."""
    low, value, high = ends
    _, told_low, told_high = read(ratio_of(Estimate(value, low, high)))
    assert 0 < told_low <= low * (1 + 1e-5)
    assert told_high >= high * (1 - 1e-5)


@pytest.mark.parametrize(
    ("value", "text"), [(80.0, "80"), (2.05, "2.05"), (30000.0, "30 000"), (-0.5, "−0.5"), (0.0, "0")]
)
def test_a_stated_number_stays_as_it_was_stated(value: float, text: str) -> None:
    """What somebody stated is printed with the decimals it was stated with."""
    assert stated(value).replace("\u2009", " ") == text


def test_a_narrow_interval_keeps_whole_numbers_however_large_they_are() -> None:
    """The step follows from how far the ends lie apart, not from how large they are; a sign is kept."""
    assert interval(Estimate(300.4, 290.2, 310.7)) == "300 (290 to 311)"
    assert (
        interval(Estimate(100.0, 99.99981, 100.0001), "%").replace("\u2009", " ") == "100.0 % (99.9 to 100.1)"
    )
    assert interval(Estimate(None, 16361.0)) == "at least 16\u2009361"
    assert rounded(-12.34) == "\u221212.3"


def test_p_values_have_one_figure_below_a_hundredth() -> None:
    """0.0012 is told as a value, 0.0009 as a bound, and none as a dash."""
    told = [p_value(value) for value in (0.0012, 0.0009, 0.013, None)]
    assert [one.replace("\u2009", " ") for one in told] == ["p = 0.001", "p < 0.001", "p = 0.013", "–"]


def test_a_ratio_may_have_a_value_or_a_bound_alone() -> None:
    """A lone value stands by itself, a lone bound says which way it is open."""
    assert ratio_of(Estimate(15.3)) == "15"
    assert ratio_of(Estimate(None, 15.3)) == "at least 15"
    assert ratio_of(Estimate()) == ""


def test_thousands_are_told_one_way() -> None:
    """Five digits stand in groups of three behind a thin space, in tables as in sentences; four do not."""
    assert fixed(16423.0, 0) == "16\u2009423"
    assert fixed(-10059.25, 1) == "\u221210\u2009059.2"
    assert fixed(8850.0, 0) == "8850"
    assert interval(Estimate(16423.0, 16400.0, 16500.0)) == "16\u2009423 (16\u2009400 to 16\u2009500)"
