"""What the reference leaves open where the metric moved while it was taken."""

import numpy as np
import pytest

from lyewitness.decline.fresh import holding, share_moved
from lyewitness.decline.records import Decline, Life
from lyewitness.study.records import Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from tests.decline.simulated_series import LIMIT
from tests.decline.test_lives import judged

HOURS = np.array([0.0, 1.0, 2.0, 4.0, 8.0, 12.0, 17.0, 22.0, 28.0, 34.0, 41.0, 48.0, 56.0, 64.0, 72.0])
BY_WHICH_80 = 57.0
"""Exposure at which a column that loses 5 % in its first hours is at 80 % of its start."""


def settling(hours: FloatArray, loss: float = 5.0) -> FloatArray:
    """Return a metric that loses so many per cent with a half time of an hour, and 15 % evenly by 57 h."""
    return np.asarray(120.0 * (100.0 - loss * (1 - 2.0**-hours) - 15.0 * hours / BY_WHICH_80))


def with_noise(seed: int, loss: float = 5.0, limit: Limit = LIMIT) -> Decline:
    """Return the decline of the settling metric, measured with a scatter of 0.1 %."""
    noise = np.random.default_rng(seed).standard_normal(len(HOURS))
    return judged(HOURS, settling(HOURS, loss) * (1 + 0.001 * noise), limit)


@pytest.mark.parametrize("seed", range(5))
def test_a_life_holds_what_the_fresh_column_makes_of_its_limit(seed: int) -> None:
    """80 % of a mean over settling references is later than 80 % of the fresh column: both are held."""
    found = with_noise(seed)
    assert found.began.value == pytest.approx(102.2, abs=0.5)
    assert share_moved(found) > 0.05
    life = found.life.hours
    assert life.low is not None
    assert life.value is not None
    assert life.low < BY_WHICH_80 < life.value


@pytest.mark.parametrize("seed", range(8))
def test_a_late_reference_need_not_be_seen_to_move(seed: int) -> None:
    """A log read every five hours has a reference of its first ten: noise may hide what it aged in them."""
    hours = np.arange(0.0, 111.0, 5.0)
    noise = np.random.default_rng(seed).standard_normal(len(hours))
    pressure = 180.0 * (1 + 0.001 * hours + 4e-5 * hours**2) * (1 + 0.008 * noise)
    found = judged(hours, pressure, Limit("pressure_bar", at_most_percent=150.0))
    level = 1.5 * min(float(found.curve_percent[0]), 100.0)
    earliest = float(found.curve_h[int(np.argmax(found.curve_high > level))])
    life = found.life.hours
    assert life.low is not None
    assert life.low < earliest + 0.5


@pytest.mark.parametrize("seed", range(5))
def test_a_column_that_stood_still_keeps_its_life(seed: int) -> None:
    """Where the references repeat nothing is known to have moved, and nothing is told of it."""
    assert share_moved(with_noise(seed, loss=0.0)) < 0.05


def test_a_limit_in_its_own_unit_rests_on_no_reference() -> None:
    """A life to 9600 plates is the same whatever the references did."""
    found = with_noise(1, limit=Limit("plate_number_half_height", at_least=9600.0))
    assert share_moved(found) == 0.0
    assert found.life.hours.low is not None
    assert found.life.hours.low > BY_WHICH_80 - 3.0


def test_an_interval_never_shrinks() -> None:
    """What the other reading says is added to the interval; value and state stay."""
    life = Life("reached", Estimate(50.0, 45.0, 55.0), conservative_h=46.0)
    other = Life("reached", Estimate(44.0, 40.0, 52.0), conservative_h=41.0)
    held = holding(life, other, 100.0)
    assert (held.hours.value, held.hours.low, held.hours.high) == (50.0, 40.0, 55.0)
    assert held.conservative_h == 41.0
    later = holding(life, Life("not reached", Estimate(None, 90.0)), 100.0)
    assert (later.hours.low, later.hours.high, later.state) == (45.0, 100.0, "reached")
    bound = holding(Life("not reached", Estimate(None, 100.0)), other, 100.0)
    assert (bound.state, bound.hours.low, bound.hours.high) == ("not reached", 40.0, None)
