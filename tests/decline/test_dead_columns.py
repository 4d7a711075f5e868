"""No column that is past its limit is called alive, and one that came back is told as that."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.decline.bands import Edges
from lyewitness.decline.group_lives import group_life
from lyewitness.decline.lives import LifeEdges, first_past_h, life_from_curve, limit_line
from lyewitness.decline.records import Life
from lyewitness.study.records import Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.lives import tell
from tests.decline.simulated_series import LIMIT, delayed, first_order, sigmoid, straight_line
from tests.decline.test_lives import judged

pytestmark = pytest.mark.usefixtures("lives_alone")

LAWS = (first_order, straight_line, delayed, sigmoid)


def with_end(seed: int, n: int, last: int, level: float, noise: float) -> FloatArray:
    """Return 3 % loss over the test, but for the `last` injections, which stand at `level` %."""
    rng = np.random.default_rng(seed)
    percent = np.linspace(100.0, 97.0, n)
    percent[n - last :] = level
    return np.asarray(120.0 * percent * (1 + noise / 100 * rng.standard_normal(n)))


@settings(max_examples=60, deadline=None)
@given(
    st.integers(0, 10_000),
    st.integers(6, 30),
    st.integers(2, 4),
    st.floats(5.0, 76.0),
    st.sampled_from((0.3, 1.0)),
)
def test_a_run_past_the_limit_at_the_end_is_a_life(
    seed: int, n: int, last: int, level: float, noise: float
) -> None:
    """Two injections or more past the limit at the end are never outlying: the life ended before them."""
    hours = np.linspace(0.0, 120.0, n)
    found = judged(hours, with_end(seed, n, last, level, noise))
    assert found.life.state == "reached"
    assert not set(found.outlying) & {f"i{k}" for k in range(n - min(last, 3), n)}
    assert found.life.hours.low is not None
    assert found.life.hours.high is not None
    assert found.life.hours.low <= hours[n - last]
    assert found.life.hours.high >= hours[n - last - 1]


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.integers(7, 16), st.floats(4.0, 60.0))
def test_a_loss_before_the_second_injection_is_a_loss(seed: int, n: int, lost: float) -> None:
    """A column that loses much in its first hours and hardly more is told so; its start is no outlier."""
    rng = np.random.default_rng(seed)
    percent = np.r_[100.0, np.linspace(100.0 - lost, 97.0 - lost, n - 1)]
    found = judged(np.linspace(0.0, 120.0, n), 120.0 * percent * (1 + 0.003 * rng.standard_normal(n)))
    assert "i0" not in found.outlying
    # The reference is the mean of the first three: the end stands below 80 % of it from a loss of 36 % on.
    assert found.life.state == "reached" or lost < 42.0
    assert found.life.state != "reached" or lost > 32.0


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.integers(6, 30), st.floats(5.0, 76.0))
def test_a_last_injection_alone_past_the_limit_is_unclear(seed: int, n: int, level: float) -> None:
    """One injection far past the limit may be an error or the end: the life is unclear."""
    found = judged(np.linspace(0.0, 120.0, n), with_end(seed, n, 1, level, 1.0))
    assert found.life.state == "unclear"
    assert f"i{n - 1}" not in found.outlying
    assert found.life.hours.high is None


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(LAWS),
    st.integers(0, 10_000),
    st.integers(5, 40),
    st.floats(25.0, 150.0),
    st.sampled_from((0.3, 1.0, 3.0)),
)
def test_the_interval_meets_the_bracket_and_the_end_is_never_denied(
    law: object, seed: int, n: int, life: float, noise: float
) -> None:
    """Whatever the law: life and bracket agree, and 'not reached' is never said past the limit."""
    hours = np.linspace(0.0, 120.0, n)
    rng = np.random.default_rng(seed)
    clean = law(hours, life)  # type: ignore[operator]
    found = judged(hours, 12_000.0 * np.maximum(clean * (1 + noise / 100 * rng.standard_normal(n)), 0.01))
    (low, high), own = found.life.bracket_h, found.life.hours
    if found.life.state == "not reached":
        assert not (found.percent[-2:] < 80.0).any()
    if found.life.state == "reached":
        assert low is None or own.high is None or own.high >= low
        assert high is None or own.low is None or own.low <= high


def test_a_column_that_came_back_is_told_as_that() -> None:
    """Past the limit at 40 and 50 h and well again from 60 h on: both times, and never 'outlived'."""
    hours = np.linspace(0.0, 110.0, 12)
    percent = np.array([100.0, 99.5, 100.2, 98.9, 62.0, 66.0, 97.1, 98.0, 96.8, 97.5, 97.0, 96.4])
    found = judged(hours, 120.0 * percent)
    assert found.life.state == "unclear"
    assert found.life.recovered_h == (50.0, 60.0)
    assert found.life.bracket_h[0] == 30.0
    assert found.life.hours.low == 30.0
    group = group_life([found, found], 0.95)
    assert group.life.state == "unclear"
    again = np.r_[percent[:10], 60.0, 58.0]
    passed_again = judged(hours, 120.0 * again).life
    assert passed_again.state == "reached"
    assert (passed_again.hours.low, passed_again.hours.high) == (30.0, 100.0)


def test_a_column_that_fell_all_the_while_and_came_back_is_told_as_that() -> None:
    """The steps of a metric that falls by itself hide no two injections past the limit."""
    hours = np.linspace(0.0, 120.0, 12)
    percent = np.array([101.5, 100.2, 98.3, 78.2, 75.4, 94.6, 93.5, 91.8, 90.6, 88.7, 87.2, 85.6])
    found = judged(hours, 120.0 * percent).life
    assert found.state == "unclear"
    assert found.recovered_h == pytest.approx((43.6, 54.5), abs=0.1)
    assert found.hours.low == pytest.approx(21.8, abs=0.1)


DIPPED: FloatArray = np.r_[
    100.1, 100.3, 99.6, 99.1, 98.1, 96.3, 94.5, 93.4, 80.2, 66.0, 83.0, 83.6, 78.1, 73.9, 70.0, 65.4, 60.9
]  # fmt: skip
DIPPED_AT: FloatArray = np.r_[
    0.6, 1.7, 3.0, 7.1, 15.6, 23.6, 33.5, 37.3, 46.5, 52.6, 62.9, 70.7, 80.4, 87.8, 94.8, 103.1, 111.0
]  # fmt: skip
"""A frit that clogged and was exchanged, on a column that fell for good afterwards."""


def test_one_injection_past_the_limit_within_a_dip_counts() -> None:
    """Another one on the way there bears it out: the limit was passed, left again and passed for good."""
    found = judged(DIPPED_AT, 80.0 * DIPPED)
    assert found.outlying == ()
    assert found.life.state == "reached"
    assert found.life.recovered_h == (52.6, 62.9)
    assert found.life.bracket_h == (46.5, 80.4)
    assert found.life.hours.low is not None
    assert 37.3 < found.life.hours.low <= 46.5
    assert found.life.hours.high == 80.4
    assert first_past_h(found) == 52.6


def test_a_pressure_that_came_back_held_until_it_first_passed_its_limit() -> None:
    """From 147 to 169 % and back to 106 %: it passed the limit of 150 % after the last reading below that."""
    hours = np.arange(1.0, 110.0, 4.0)
    percent = 100.0 + 0.1 * hours + 0.8 * np.random.default_rng(7).standard_normal(len(hours))
    percent[10:14] = (118.0, 131.0, 147.0, 169.0)
    limit = Limit("pressure_bar", at_most_percent=150.0)
    found = judged(hours, 160.0 * percent, limit)
    assert found.life.state == "unclear"
    assert found.life.hours.low == pytest.approx(hours[12], abs=1.0)
    assert found.life.recovered_h == (hours[13], hours[14])
    assert first_past_h(found) == hours[13]
    group = group_life([found, found], 0.95).life
    assert group.hours.low == pytest.approx(hours[12], abs=1.0)
    held = judged(hours, 160.0 * (100.0 + 0.1 * hours), limit)
    beside = group_life([found, held, held], 0.95).life
    assert (beside.state, beside.recovered_h[1]) == ("unclear", hours[14])
    assert tell(beside).startswith("passed the limit in one of three cases, within it again from 57")


def test_a_life_whose_metric_came_back_is_bounded_from_below() -> None:
    """What a curve did after its whole band had passed the limit takes no bound away."""
    hours = np.linspace(0.0, 100.0, 101)
    curve = 100.0 - 40.0 * np.exp(-(((hours - 50.0) / 10.0) ** 2))
    edges = LifeEdges(hours, Edges(curve, curve - 3.0, curve + 3.0, curve - 2.5, curve + 2.5))
    life = life_from_curve(edges, limit_line(LIMIT, 1.0), 100.0, (40.0, None))
    assert life.hours.low is not None
    assert life.hours.value is not None
    assert life.hours.high is not None
    assert 38.0 < life.hours.low < life.hours.value < life.hours.high < 50.0


@pytest.mark.parametrize("dip", [(79.2, 78.5), (80.2, 77.7), (79.0, 81.4, 79.6)])
def test_a_dip_at_the_limit_is_not_outlived(dip: tuple[float, ...]) -> None:
    """Injections in a row at the limit and then well again: nobody knows that the limit was never passed."""
    percent = np.r_[99.5, 100.4, 100.0, 99.2, dip, 99.5, 98.0, 98.4, 97.8, 98.7]
    found = judged(np.linspace(0.0, 120.0, len(percent)), 120.0 * percent).life
    assert found.state == "unclear"
    assert found.hours.low is not None
    assert found.hours.low <= 3 * 120.0 / (len(percent) - 1)
    assert found.hours.high is None


def test_noise_alone_makes_no_dip() -> None:
    """Steady columns well within the limit, and columns that fall for good, are not said to have dipped."""
    hours = np.linspace(0.0, 120.0, 16)
    for seed in range(20):
        noise = 1 + 0.02 * np.random.default_rng(seed).standard_normal(16)
        assert judged(hours, 9000.0 * np.linspace(1.0, 0.88, 16) * noise).life.state == "not reached"
        assert judged(hours, 9000.0 * np.linspace(1.0, 0.5, 16) * noise).life.state == "reached"


@pytest.mark.parametrize("law", LAWS)
def test_one_injection_more_moves_a_life_by_no_more_than_its_interval(law: object) -> None:
    """From 8 to 60 injections of one column: each life lies within the interval found with one fewer."""
    hours = np.linspace(0.0, 120.0, 60)
    clean = law(hours, 40.0)  # type: ignore[operator]
    value = 12_000.0 * clean * (1 + 0.01 * np.random.default_rng(11).standard_normal(60))
    before = None
    for n in range(40, 61, 2):
        hours_of_life = judged(hours[:n], value[:n]).life.hours
        if before is not None and before.low is not None and before.high is not None:
            assert hours_of_life.value is not None
            assert before.low <= hours_of_life.value <= before.high
        before = hours_of_life if hours_of_life.value is not None else None


def apart(one: Life, other: Life) -> bool:
    """Say whether the interval of one life does not hold the other's value."""
    low = one.hours.low or 0.0
    high = np.inf if one.hours.high is None else one.hours.high
    return other.hours.value is not None and not low <= other.hours.value <= high


@pytest.mark.parametrize("law", LAWS)
def test_one_injection_left_out_moves_a_life_by_no_more_than_its_interval(law: object) -> None:
    """From 5 to 60 injections: with one left out each life lies within the interval of the other.

    Unless other injections are called outlying then, which the report says: that is another reading.
    """
    rng = np.random.default_rng(11)
    for n in range(5, 61, 5):
        hours = np.linspace(0.0, 120.0, n)
        clean = law(hours, float(rng.uniform(30.0, 110.0)))  # type: ignore[operator]
        value = 12_000.0 * clean * (1 + 0.01 * rng.standard_normal(n))
        whole = judged(hours, value)
        for left_out in rng.choice(np.arange(3, n), size=min(3, n - 3), replace=False):
            less = judged(np.delete(hours, left_out), np.delete(value, left_out))
            if len(less.outlying) == len(whole.outlying):
                assert not apart(whole.life, less.life), (n, left_out)
                assert not apart(less.life, whole.life), (n, left_out)


def test_a_reference_ends_before_a_jump() -> None:
    """Of three reference injections the third fell with all later ones: the first two are the reference."""
    hours = np.linspace(0.0, 120.0, 6)
    fell = judged(hours, 120.0 * np.array([100.0, 99.4, 76.2, 75.8, 76.1, 75.5]))
    assert fell.reference_n == 2
    assert fell.reference_value == pytest.approx(120.0 * 99.7)
    assert fell.life.state == "reached"
    assert fell.life.bracket_h == (24.0, 48.0)
    came_back = judged(hours, 120.0 * np.array([100.0, 99.4, 76.2, 99.1, 98.7, 98.5]))
    assert came_back.reference_n == 3
    slow = judged(hours, 120.0 * np.array([100.0, 90.0, 80.0, 71.0, 63.0, 56.0]))
    assert slow.reference_n == 3
