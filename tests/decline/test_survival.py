"""Lives that were not all reached, against independent libraries."""

from itertools import combinations

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from lifelines.datasets import load_leukemia
from lifelines.statistics import logrank_test
from scipy import stats

from lyewitness.decline.small_samples import kaplan_meier, log_rank
from lyewitness.words.arrays import BoolArray, FloatArray


def leukemia() -> tuple[FloatArray, BoolArray, BoolArray]:
    """Return weeks of remission, whether it ended, and who had 6-MP (Freireich 1963, as lifelines has it)."""
    data = load_leukemia()
    return data["t"].to_numpy(float), data["status"].to_numpy() == 1, data["Rx"].to_numpy() == 0


def test_kaplan_meier_of_the_published_trial() -> None:
    """6-MP: the published shares at 6, 7, 10, 13, 16, 22 and 23 weeks, as lifelines 0.30 prints them."""
    weeks, ended, treated = leukemia()
    times, shares = kaplan_meier(weeks[treated], ended[treated])
    assert times == (6, 7, 10, 13, 16, 22, 23)
    assert shares == pytest.approx([0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482], abs=5e-5)


def test_log_rank_of_the_published_trial() -> None:
    """6-MP against placebo: χ² 16.792941, p 4.1688e-5 by lifelines; too many for an exact test."""
    weeks, ended, treated = leukemia()
    found = log_rank(weeks, ended, treated)
    assert found.chi_square == pytest.approx(16.792941, abs=1e-6)
    assert found.p_value == pytest.approx(4.1688e-5, rel=1e-4)
    assert found.exact_p is None


@pytest.mark.parametrize("seed", range(8))
def test_random_lives_agree_with_other_libraries(seed: int) -> None:
    """Kaplan–Meier and log-rank of random censored lives, with ties, agree with lifelines and scipy."""
    rng = np.random.default_rng(seed)
    hours = np.ceil(rng.exponential(10.0, 24))
    failed = rng.random(24) < 0.7
    in_a = np.arange(24) < 11
    found = log_rank(hours, failed, in_a)
    other = logrank_test(hours[in_a], hours[~in_a], failed[in_a], failed[~in_a])
    assert found.chi_square == pytest.approx(other.test_statistic, rel=1e-9)
    assert found.p_value == pytest.approx(other.p_value, rel=1e-9)
    a, b = (stats.CensoredData.right_censored(hours[side], ~failed[side]) for side in (in_a, ~in_a))
    assert found.chi_square == pytest.approx(float(stats.logrank(a, b).statistic) ** 2, rel=1e-9)
    times, shares = kaplan_meier(hours, failed)
    curve = KaplanMeierFitter().fit(hours, failed).survival_function_at_times(list(times))
    assert shares == pytest.approx(curve.to_numpy(), rel=1e-9)


def test_exact_test_goes_through_all_arrangements() -> None:
    """Three against three, all of one side outliving the other: 2 of the 20 arrangements are as far apart."""
    hours, failed = np.array([10.0, 11.0, 12.0, 50.0, 50.0, 50.0]), np.array([True] * 3 + [False] * 3)
    found = log_rank(hours, failed, np.arange(6) < 3)
    assert len(list(combinations(range(6), 3))) == 20
    assert found.exact_p == pytest.approx(0.1)


def test_nothing_failed_tells_nothing() -> None:
    """Without a failure there is no evidence of a difference."""
    found = log_rank(np.full(6, 100.0), np.zeros(6, dtype=bool), np.arange(6) < 3)
    assert (found.chi_square, found.p_value, found.exact_p) == (0.0, 1.0, 1.0)
    assert kaplan_meier(np.full(3, 100.0), np.zeros(3, dtype=bool)) == ((), ())
