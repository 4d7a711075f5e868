"""Small-sample statistics against independent libraries and by simulation."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.weightstats import ttost_ind

from lyewitness.decline.small_samples import (
    holm,
    least_of_more,
    least_of_more_limit,
    log_margin,
    paired,
    permutation_p,
    typical,
    welch,
)

A = np.log([52.0, 61.0, 57.0])
B = np.log([88.0, 71.0, 79.0, 93.0])
NONE_A, NONE_B = np.zeros(3), np.zeros(4)


def test_welch_agrees_with_scipy() -> None:
    """Difference, p value and interval of log lives are those of scipy's Welch test."""
    found = welch(A, B, NONE_A, NONE_B)
    other = stats.ttest_ind(A, B, equal_var=False)
    interval = other.confidence_interval(0.95)
    assert found.p_value == pytest.approx(float(other.pvalue), rel=1e-12)
    assert found.freedom == pytest.approx(float(other.df), rel=1e-12)
    assert found.interval(0.95) == pytest.approx((float(interval.low), float(interval.high)), rel=1e-12)


def test_equivalence_agrees_with_statsmodels() -> None:
    """The p value of two one-sided tests is that of statsmodels with unequal variances."""
    near = B - 0.3
    margin = log_margin(25.0)
    found = welch(A, near, NONE_A, NONE_B).equivalence_p(margin)
    assert found == pytest.approx(float(ttost_ind(A, near, -margin, margin, usevar="unequal")[0]), rel=1e-10)


def test_paired_agrees_with_scipy() -> None:
    """Blocks compared within themselves are scipy's paired t test."""
    found = paired(A - B[:3], NONE_A)
    assert found.p_value == pytest.approx(float(stats.ttest_rel(A, B[:3]).pvalue), rel=1e-12)


def test_typical_agrees_with_scipy() -> None:
    """The typical column's interval is scipy's one-sample t interval."""
    interval = stats.ttest_1samp(A, 0.0).confidence_interval(0.95)
    assert typical(A, NONE_A).interval(0.95) == pytest.approx((interval.low, interval.high), rel=1e-12)


def test_own_errors_stand_in_where_columns_agree_by_luck() -> None:
    """Columns that agree to the last digit still have the share of their own uncertainty."""
    lucky = np.log([60.0, 60.0, 60.0])
    low, high = typical(lucky, np.full(3, 0.05)).interval(0.95)
    assert high - low > 0.1


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(1e-6, 1.0), min_size=1, max_size=20))
def test_holm_agrees_with_statsmodels(p_values: list[float]) -> None:
    """Holm's adjustment is that of statsmodels, ties included."""
    assert holm(p_values) == pytest.approx(list(multipletests(p_values, method="holm")[1]), rel=1e-12)


def test_holm_by_hand() -> None:
    """.01 .02 .03 .04 .05: 5 × .01, then 4 × .02 = .08, 3 × .03 = .09, and no later one smaller."""
    assert holm([0.01, 0.02, 0.03, 0.04, 0.05]) == pytest.approx([0.05, 0.08, 0.09, 0.09, 0.09])


def test_least_of_one_more_is_a_prediction_interval() -> None:
    """For one further value the chance is Student's t with the prediction error √(1 + 1/n) (textbook)."""
    for n, k in ((3, 0.5), (3, 6.0), (3, 200.0), (2, 50.0), (5, 20.0)):
        known = float(stats.t.sf(k / np.sqrt(1 + 1 / n), n - 1))
        assert least_of_more(k, n, 1) == pytest.approx(known, rel=2e-3)


@pytest.mark.parametrize(("n", "more", "k"), [(3, 3, 0.5), (3, 3, 1.5), (4, 2, 1.0), (2, 3, 2.0)])
def test_least_of_more_agrees_with_simulation(n: int, more: int, k: float) -> None:
    """The chance is met by drawing normal samples, within four standard errors of 400 000 draws."""
    rng = np.random.default_rng(3)
    draws = 400_000
    first, further = rng.standard_normal((draws, n)), rng.standard_normal((draws, more))
    met = further.min(axis=1) > first.mean(axis=1) + k * first.std(axis=1, ddof=1)
    expected = least_of_more(k, n, more)
    assert met.mean() == pytest.approx(expected, abs=4 * np.sqrt(expected * (1 - expected) / draws))


def test_limit_of_the_least_is_the_inverse_of_its_chance() -> None:
    """The limit at a chance has that chance."""
    for chance in (0.3, 0.025, 0.001):
        assert least_of_more(least_of_more_limit(chance, 3, 3), 3, 3) == pytest.approx(chance, rel=1e-6)


def test_permutation_agrees_with_scipy() -> None:
    """The exact permutation p value of a sum is scipy's, over all arrangements."""
    rng = np.random.default_rng(1)
    scores = rng.standard_normal(8)
    in_a = np.arange(8) < 4
    other = stats.permutation_test(
        (scores[in_a], scores[~in_a]),
        lambda x, y: x.mean() - y.mean(),
        n_resamples=1000,
        permutation_type="independent",
    )
    assert permutation_p(scores, in_a) == pytest.approx(float(other.pvalue), rel=1e-9)
