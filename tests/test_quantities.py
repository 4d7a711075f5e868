"""The one place that owns rounding, units and significant figures."""

import pytest

from lyewitness.estimates import Estimate
from lyewitness.quantities import fixed, interval, rounded


@pytest.mark.parametrize(
    ("estimate", "text"),
    [
        (Estimate(62.3, 55.1, 70.9), "62 h (55 to 71)"),
        (Estimate(None, 120.0, None, "limit not reached"), "at least 120 h"),
        (Estimate(3.14159, 3.0, 3.3), "3.1 h (3.0 to 3.3)"),
        (Estimate(reason="too few points"), "too few points"),
        (Estimate(0.0123, 0.0119, 0.0127), "0.0123 h (0.0119 to 0.0127)"),
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
