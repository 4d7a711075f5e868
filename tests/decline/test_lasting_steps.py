"""A sudden loss is the column's from the first injection that shows it, where the later ones stay there."""

import numpy as np
import pytest

from lyewitness.decline.bands import MOST_POINTS
from lyewitness.decline.lasting_steps import borne_out
from lyewitness.words.arrays import FloatArray
from tests.decline.small_study import noisy
from tests.decline.test_doubted import judged as judged_with_doubts
from tests.decline.test_lives import judged

pytestmark = pytest.mark.usefixtures("lives_alone")


def collapsed(n: int, first: float, then: float) -> tuple[FloatArray, FloatArray, int]:
    """Return hours and percent of a column that fell to `then` half-way, and the place of the `first`."""
    hours, place = np.linspace(0.0, 120.0, n), n // 2
    percent = np.r_[100.0 - 0.02 * hours[:place], first, np.full(n - place - 1, then)]
    return hours, noisy(np.random.default_rng(3), percent, 0.3), place


@pytest.mark.parametrize("n", [12, 20, 60])
@pytest.mark.parametrize("first", [23.0, 30.0, 15.0])
def test_the_first_injection_after_a_collapse_counts(n: int, first: float) -> None:
    """A bed that goes on settling after it fell was past its limit already: the life ended before that."""
    hours, percent, place = collapsed(n, first, 15.0)
    found = judged(hours, 80.0 * percent)
    assert found.outlying == ()
    assert found.life.bracket_h == (hours[place - 1], hours[place])
    if n <= MOST_POINTS:
        assert found.life.hours.high is not None
        assert found.life.hours.high < hours[place + 1]


@pytest.mark.parametrize("later", [0.5, 0.49])
def test_split_peaks_after_a_collapse_count_where_they_stay_alike(later: float) -> None:
    """Peaks of a broken bed are split for good: the first is as sure as the later ones that count."""
    hours = np.array([0.3, 1.5, 3.0, 5.7, 9.7, 12.2, 18.6, 26.2, 34.0, 44.9])
    percent = np.array([100.3, 99.9, 99.7, 99.0, 96.3, 17.7, 14.9, 14.8, 14.7, 14.5])
    doubts = {5: 0.49, **dict.fromkeys(range(6, 10), later)}
    found = judged_with_doubts(percent, doubts, hours)
    assert found.doubted == found.outlying == ()
    assert found.life.bracket_h == (9.7, 12.2)
    assert (found.life.hours.low, found.life.hours.high) == (9.7, 12.2)


@pytest.mark.parametrize("n", [20, 60])
def test_one_bad_injection_between_two_good_ones_stays_outlying(n: int) -> None:
    """What the next injection does not show either was the injection's."""
    hours, percent, place = collapsed(n, 30.0, 98.0)
    found = judged(hours, 80.0 * percent)
    assert found.outlying == (f"i{place}",)
    assert found.life.state == "not reached"


@pytest.mark.parametrize("n", [20, 60])
def test_an_injection_far_worse_than_the_later_ones_stays_outlying(n: int) -> None:
    """A column that fell to 60 % says nothing for the injection at 5 % with which that began."""
    hours, percent, place = collapsed(n, 5.0, 60.0)
    assert judged(hours, 80.0 * percent).outlying == (f"i{place}",)


def test_what_the_later_ones_must_show() -> None:
    """They stay down, all of those that count, by as much; one that has none before or after has no step."""
    percent, all_of_them = np.array([100.0, 98.0, 40.0, 38.0, 45.0, 95.0]), np.ones(6, dtype=bool)
    but_the_last = all_of_them & (np.arange(6) < 5)
    assert not borne_out(percent, all_of_them, 2)
    assert borne_out(percent, but_the_last, 2)
    assert not borne_out(np.r_[percent[:4], 70.0, 95.0], but_the_last, 2)
    assert not borne_out(percent, all_of_them, 0)
    assert not borne_out(percent, all_of_them, 5)
