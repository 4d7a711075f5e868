"""One definition of 'failed': group lives and first failures agree with the states of their columns."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.decline.deciding import first_failure
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.group_lives import group_life
from lyewitness.decline.judging import side_of
from lyewitness.decline.life_ratios import compare_lives
from lyewitness.decline.records import Decline, GroupLife, Life
from lyewitness.study.records import Choices
from tests.decline.simulated_series import LIMIT, Noise, delayed, exposures, first_order, simulate_column

CHOICES = Choices()
BEYOND = Choices(extrapolate_to_h=200.0)
LIVES_H = (70.0, 100.0, 112.0, 117.0, 119.0, 121.0, 128.0, 160.0, 400.0)
"""Typical lives about the end of a test of 120 h, where states are all there are."""


@cache
def pool(choices: Choices, times: int) -> tuple[Decline, ...]:
    """Return columns of all sorts of lives, judged; with four injections only the injections speak."""
    rng, hours = np.random.default_rng(8), exposures(times)
    noises = (Noise(), Noise(percent=3.0), Noise(outlier_share=0.05))
    columns = [
        simulate_column(rng, law, life, "g", f"c{life:g}", hours, 0.12, noise, "m")
        for law in (first_order, delayed)
        for life in LIVES_H
        for noise in noises
    ]
    return judge_declines([Task(one.series, (LIMIT,)) for one in columns], choices)


@st.composite
def groups(draw: st.DrawFn) -> list[Decline]:
    """Draw a group of one to five columns."""
    choices = draw(st.sampled_from((CHOICES, BEYOND)))
    columns = st.sampled_from(pool(choices, 24) + pool(choices, 4) + unmeasured())
    return draw(st.lists(columns, min_size=1, max_size=5))


@cache
def unmeasured() -> tuple[Decline, ...]:
    """Return a column without any injection."""
    hours = np.empty(0)
    rng = np.random.default_rng(1)
    empty = simulate_column(rng, first_order, 60.0, "g", "none", exposures(), 0.0, Noise(), "m").series
    without = type(empty)(empty.column, "g", "m", empty.metric, (), hours, hours, hours)
    return judge_declines([Task(without, (LIMIT,))], CHOICES)


def test_the_pool_holds_every_state() -> None:
    """The simulated columns are reached, not reached, unclear, not measured and extrapolated."""
    lives = [one.life for one in pool(CHOICES, 24) + pool(BEYOND, 24) + pool(CHOICES, 4) + unmeasured()]
    assert {life.state for life in lives} == {"reached", "not reached", "unclear", "not measured"}
    assert sum(life.state == "unclear" for life in lives) > 5
    assert any(life.extrapolated for life in lives)
    assert any(life.state == "reached" and life.hours.value is None for life in lives)


@pytest.mark.parametrize("choices", [CHOICES, BEYOND], ids=["within the test", "beyond it on demand"])
@pytest.mark.parametrize("times", [24, 4])
def test_state_and_numbers_of_a_column_agree(choices: Choices, times: int) -> None:
    """Reached: an interval closed within the test; unclear: no upper end; not reached: a bound."""
    for decline in pool(choices, times):
        life, end = decline.life, decline.end_h or 0.0
        value, low, high = life.hours.value, life.hours.low, life.hours.high
        assert _in_order(low, value, high), life
        if life.state == "reached":
            assert high is not None
            assert high <= end
            assert (value is not None) or low is not None
        elif life.state == "unclear":
            assert low is not None
            assert value is None or value <= end
            assert high is None or high > end
        else:
            assert low is not None
            assert (value is not None) == life.extrapolated
            assert value is None or value > end


@given(groups())
def test_group_agrees_with_its_columns(declines: list[Decline]) -> None:
    """State, estimate, first and last to fail follow from how many columns reached the limit."""
    found = group_life(declines, 0.95)
    measured = [state for state in found.states if state != "not measured"]
    reached, hours = measured.count("reached"), found.life.hours
    assert (found.life.state == "not measured") == (not measured)
    if found.life.state == "reached":
        assert 2 * reached >= len(measured)
        assert reached >= min(2, len(measured))
        assert hours.value is not None or (hours.low is not None and hours.high is not None)
    else:
        assert (hours.value, hours.high) == (None, None)
        assert (hours.low is not None) == bool(measured)
    assert (found.life.state == "not reached") == (set(measured) == {"not reached"})
    assert not found.life.extrapolated
    assert _in_order(hours.low, hours.value, hours.high)
    _check_spread(found, declines, reached, len(measured))


def _check_spread(found: GroupLife, declines: list[Decline], reached: int, measured: int) -> None:
    """Check first and last to fail, and the survival steps, against the columns that reached the limit."""
    own = [_ends(one.life) for one in declines if one.life.state == "reached"]
    assert (found.shortest_h is None) == (reached == 0)
    assert (found.longest_h is None) == (reached < measured or not measured)
    assert len(found.survival_h) <= reached
    assert bool(found.survival_h) == bool(reached)
    tested = found.tested_to_h or 0.0
    if found.shortest_h is not None:
        assert min(low for low, _ in own) <= found.shortest_h <= min(high for _, high in own)
        assert found.shortest_h <= (found.longest_h or tested) <= tested
        assert found.life.hours.value is None or found.shortest_h <= found.life.hours.value * (1 + 1e-9)
    if found.longest_h is not None and found.life.hours.value is not None:
        assert found.life.hours.value <= found.longest_h * (1 + 1e-9)


@given(groups())
def test_first_failure_agrees_with_the_lives(declines: list[Decline]) -> None:
    """A metric failed first only where a life is reached; else the column has a bound within the test."""
    found = first_failure("c", "g", declines)
    states = {one.life.state for one in declines}
    assert bool(found.metric) == ("reached" in states)
    assert found.life.state in states
    if not found.metric:
        assert found.tied_with == ()
        assert (found.life.hours.value, found.life.hours.high) == (None, None)
        ends = [one.end_h for one in declines if one.end_h is not None]
        assert found.life.hours.low is None or found.life.hours.low <= max(ends)


@given(groups(), groups())
def test_ratio_needs_failures(a: list[Decline], b: list[Decline]) -> None:
    """A ratio of lives has a value only between groups that both have a typical life."""
    found = compare_lives(side_of("a", a, {}, CHOICES), side_of("b", b, {}, CHOICES), CHOICES)
    lives = [group_life(side, 0.95).life for side in (a, b)]
    if found.ratio.value is not None:
        assert [life.state for life in lives] == ["reached", "reached"]
    if "reached" not in {one.life.state for one in [*a, *b]}:
        assert (found.ratio.value, found.ratio.low, found.ratio.high) == (None, None, None)


def _in_order(low: float | None, value: float | None, high: float | None) -> bool:
    """Say whether what there is of an interval is in order."""
    known = [end for end in (low, value, high) if end is not None]
    return known == sorted(known)


def _ends(life: Life) -> tuple[float, float]:
    """Return the ends of a reached life."""
    assert life.hours.high is not None
    return life.hours.low or 0.0, life.hours.high
