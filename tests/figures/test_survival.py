"""The share of columns within a limit, with its interval."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from lyewitness.figures.survival import share_interval


@given(st.integers(2, 30), st.data())
def test_without_early_ends_the_interval_is_the_exact_binomial_one(columns: int, data: st.DataObject) -> None:
    """Where no test ended early the interval is that of Clopper and Pearson (scipy.stats.binomtest)."""
    lost = data.draw(st.integers(0, columns))
    greenwood = sum(1 / ((columns - i) * (columns - i - 1)) for i in range(lost) if columns - i > 1)
    low, high = share_interval((columns - lost) / columns, greenwood, columns, 0.95)
    expected = binomtest(columns - lost, columns).proportion_ci(0.95, "exact")
    assert (low, high) == pytest.approx((expected.low, expected.high), abs=1e-9)


def test_tests_that_ended_early_widen_the_interval() -> None:
    """Six of ten columns were taken out before the one failure: 3 of 4 are less sure than 9 of 12."""
    few = share_interval(0.75, 1 / (4 * 3), 10, 0.95)
    assert few == pytest.approx(tuple(binomtest(3, 4).proportion_ci(0.95, "exact")))
