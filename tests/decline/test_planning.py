"""How many columns a comparison needs, against values from outside."""

import numpy as np
import pytest
from statsmodels.stats.power import TTestIndPower

from lyewitness.decline.comparing import columns_needed, pooled_sd, power, upper_sd


@pytest.mark.parametrize("columns", [2, 3, 5, 10])
@pytest.mark.parametrize("ratio", [1.25, 1.5, 2.0])
@pytest.mark.parametrize("alpha", [0.05, 0.0167])
def test_power_agrees_with_statsmodels(columns: int, ratio: float, alpha: float) -> None:
    """Power of the t test on log lives agrees with statsmodels' TTestIndPower."""
    effect = float(np.log(ratio)) / 0.2
    reference = float(TTestIndPower().power(effect, columns, alpha, ratio=1.0, alternative="two-sided"))
    assert power(ratio, 0.2, columns, alpha) == pytest.approx(reference, abs=1e-6)


def test_columns_needed_is_the_fewest_with_the_power() -> None:
    """One column fewer has less than the power wanted, as statsmodels' solver says as well."""
    needed = columns_needed(1.5, 0.2, 0.05)
    solved = TTestIndPower().solve_power(float(np.log(1.5)) / 0.2, None, 0.05, 0.8)
    assert needed == int(np.ceil(solved))


def test_a_ratio_of_one_needs_no_number_of_columns() -> None:
    """No number of columns tells equal lives apart; too small a ratio needs more than fifty."""
    assert columns_needed(1.0, 0.2, 0.05) is None
    assert columns_needed(1.01, 0.2, 0.05) is None


def test_pooled_spread_by_hand() -> None:
    """Squares 2 and 0.5 over two degrees of freedom: √1.25 (by hand)."""
    found = pooled_sd([[1.0, 3.0], [2.0, 3.0], [7.0]])
    assert found is not None
    assert found[0] == pytest.approx(1.25**0.5)
    assert found[1] == 2


def test_upper_spread_covers_as_often_as_it_says() -> None:
    """The upper bound of a standard deviation at 80 % lies above the true one in 80 % of draws."""
    random = np.random.default_rng(5)
    sds = random.standard_normal((4000, 5)).std(axis=1, ddof=1)
    assert np.mean([upper_sd(sd, 4, 0.8) >= 1.0 for sd in sds]) == pytest.approx(0.8, abs=0.02)
