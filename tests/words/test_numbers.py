"""The one place that owns rounding, units and significant figures."""

import pytest

from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed, interval, p_value, rounded


@pytest.mark.parametrize(
    ("estimate", "text"),
    [
        (Estimate(62.3, 55.1, 70.9), "62 h (55 to 71)"),
        (Estimate(None, 120.0, None, "limit not reached"), "at least 120 h"),
        (Estimate(3.14159, 3.0, 3.3), "3.1 h (3.0 to 3.3)"),
        (Estimate(reason="too few points"), "too few points"),
        (Estimate(0.0123, 0.0119, 0.0127), "0.0123 h (0.0119 to 0.0127)"),
        (Estimate(622.0, 285.0, 1355.0), "620 h (290 to 1400)"),
        (Estimate(1143.0, 1040.0, 1256.0), "1140 h (1040 to 1260)"),
        (Estimate(77.0, 67.0, 89.0), "77 h (67 to 89)"),
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
