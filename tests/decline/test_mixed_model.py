"""The mixed model against published values and another library, and where it is used."""

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import statsmodels.regression

from lyewitness.decline.mixed_model import MixedFit, fit_mixed
from lyewitness.decline.mixed_rates import with_mixed_rates
from lyewitness.decline.records import Comparison, Decline, ModelFit, Series
from lyewitness.study.records import Choices
from lyewitness.words.estimates import Estimate


def by_animal(random_slope: bool) -> tuple[MixedFit, pd.DataFrame]:
    """Return the fit of weight on time, pigs at random: data of statsmodels' tests (dietox)."""
    path = Path(statsmodels.regression.__file__).parent / "tests" / "results" / "dietox.csv"
    data = pd.read_csv(path)
    pigs = [pig for _, pig in data.groupby("Pig")]
    values = [pig["Weight"].to_numpy(float) for pig in pigs]
    fixed = [np.column_stack([np.ones(len(pig)), pig["Time"].to_numpy(float)]) for pig in pigs]
    return fit_mixed(values, fixed, fixed if random_slope else [one[:, :1] for one in fixed]), data


def test_published_random_intercepts_are_met() -> None:
    """Weight ~ Time | Pig by restricted likelihood: 15.72352, 6.94251, variance 40.39387, scale 11.36692.

    Values: statsmodels' documentation of mixed models, computed there with another program too.
    """
    fit, _ = by_animal(random_slope=False)
    assert fit.effects == pytest.approx([15.72352, 6.94251], abs=2e-5)
    assert fit.random_variance[0] == pytest.approx(40.39387, rel=1e-4)
    assert fit.residual_variance == pytest.approx(11.36692, rel=1e-5)


def test_standard_errors_are_those_of_another_library() -> None:
    """The errors of the fixed effects agree with statsmodels' MixedLM."""
    fit, data = by_animal(random_slope=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        other = sm.MixedLM.from_formula("Weight ~ Time", data, groups=data["Pig"]).fit()
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(other.bse_fe.to_numpy(), rel=1e-3)


def test_a_random_slope_finds_what_was_simulated() -> None:
    """Forty columns whose slopes scatter: effects and variances come out within three standard errors."""
    stream = np.random.default_rng(20260101)
    time = np.linspace(-1.0, 1.0, 20)
    design = np.column_stack([np.ones(20), time])
    slopes = -2.0 + 0.3 * stream.standard_normal(40)
    levels = 5.0 + 0.2 * stream.standard_normal(40)
    values = [
        level + slope * time + 0.1 * stream.standard_normal(20)
        for level, slope in zip(levels, slopes, strict=True)
    ]
    fit = fit_mixed(values, [design] * 40, [design] * 40)
    assert fit.effects == pytest.approx([5.0, -2.0], abs=3 * 0.3 / 40**0.5)
    assert np.sqrt(fit.random_variance) == pytest.approx([0.2, 0.3], rel=0.35)
    assert fit.residual_variance == pytest.approx(0.01, rel=0.15)


def test_too_few_values_are_refused() -> None:
    """As many effects as values leave nothing to judge by."""
    with pytest.raises(ValueError, match="no more values"):
        fit_mixed([np.zeros(2)], [np.eye(2)], [np.ones((2, 1))])


TIME = np.linspace(0.0, 120.0, 24)


def column(name: str, rate: float, stream: np.random.Generator, times: int = 24) -> Decline:
    """Return a column that declines by first order at `rate`, with 1 % of noise."""
    hours = TIME[:times]
    percent = 100.0 * np.exp(-rate * hours + 0.01 * stream.standard_normal(times))
    series = Series(name, "g", "m", "k", tuple(map(str, range(times))), hours, hours, percent)
    return Decline(series, 1.0, 0.01, 3, percent, model=ModelFit("first order", {}, 0.0, 1.0))


def groups(ratio: float, columns: int, seed: int, times: int = 24) -> tuple[list[Decline], list[Decline]]:
    """Return two groups whose rates differ by `ratio` and scatter by 12 % between columns."""
    stream = np.random.default_rng(seed)
    rates = 0.003 * np.exp(0.12 * stream.standard_normal((2, columns)))
    return (
        [column(f"a{index}", ratio * rate, stream, times) for index, rate in enumerate(rates[0])],
        [column(f"b{index}", rate, stream, times) for index, rate in enumerate(rates[1])],
    )


BEFORE = Comparison(
    "m", "k", "a", "b", 5, 5, Estimate(), Estimate(reason="before"), None, None, "", "not settled"
)


def test_the_ratio_of_rates_holds_the_truth_as_often_as_it_says() -> None:
    """Of 150 simulated pairs, five columns a side, the 95 % interval holds the true ratio in 92 to 98 %."""
    held = 0
    for seed in range(150):
        found = with_mixed_rates(BEFORE, *groups(1.5, 5, seed), Choices()).rate_ratio
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 1.5 <= found.high
    assert 0.92 <= held / 150 <= 0.98


def test_equal_rates_are_seldom_said_to_differ() -> None:
    """Of 150 pairs with equal rates about one in twenty has a p value below 0.05."""
    found = [with_mixed_rates(BEFORE, *groups(1.0, 5, seed), Choices()).rate_p for seed in range(500, 650)]
    assert sum(p is not None and p < 0.05 for p in found) <= 0.09 * len(found)


@pytest.mark.parametrize(("columns", "times"), [(3, 24), (5, 7)])
def test_what_cannot_bear_the_model_is_left_as_it_was(columns: int, times: int) -> None:
    """Three columns a side, or seven injections, keep the comparison of the columns' own rates."""
    assert with_mixed_rates(BEFORE, *groups(1.5, columns, 1, times), Choices()) is BEFORE
