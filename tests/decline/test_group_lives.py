"""What the columns of a group say together."""

from dataclasses import replace
from math import exp, log
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.regression
from lifelines import LogNormalFitter

from lyewitness.decline.accelerated import straight
from lyewitness.decline.column_lives import ColumnLife, column_life
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.group_lives import censored_interval, group_life, typical_life
from lyewitness.decline.records import Life, LifeState, Watched
from lyewitness.decline.small_samples import typical
from lyewitness.decline.usable_lives import UsableLife, told_together, usable_life
from lyewitness.study.records import Choices
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import tell
from tests.decline.simulated_series import exposures, first_order, straight_line
from tests.decline.small_study import noisy
from tests.decline.test_comparing import column, outlived
from tests.decline.test_lives import judged, series_of

OWN = Life("not measured")


def test_complete_lives_give_the_t_interval() -> None:
    """The likelihood for lives not reached falls back to the t interval where all were reached."""
    lives = [column(hours) for hours in (50.0, 62.0, 57.0, 66.0)]
    middle, low, high = censored_interval(lives, 0.95)
    exact = typical(np.log([50.0, 62.0, 57.0, 66.0]), np.zeros(4))
    assert middle == pytest.approx(exact.value, abs=2e-3)
    assert (low, high) == pytest.approx(exact.interval(0.95), abs=4e-3)


def test_censored_middle_agrees_with_an_independent_fit() -> None:
    """The typical life with three of eight not reached is the median of lifelines' log-normal fit."""
    hours = np.array([60.0, 72.0, 80.0, 95.0, 99.0, 120.0, 120.0, 120.0])
    failed = hours < 120.0
    lives = [column(h) if f else outlived(h) for h, f in zip(hours, failed, strict=True)]
    middle, _, _ = censored_interval(lives, 0.95)
    fitted = LogNormalFitter().fit(hours, failed)
    assert exp(middle) == pytest.approx(float(fitted.median_survival_time_), rel=5e-3)


def test_censored_interval_holds_the_truth() -> None:
    """Three columns of which one outlived the test: the interval holds the typical life in 93 % or more."""
    rng = np.random.default_rng(7)
    held = total = 0
    for _ in range(300):
        lives = np.exp(log(100.0) + 0.12 * rng.standard_normal(3))
        columns = [column(life) if life < 105.0 else outlived(105.0) for life in lives]
        if sum(one.value is not None for one in columns) != 2:
            continue
        _, low, high = censored_interval(columns, 0.95)
        held += (low is None or low <= log(100.0)) and (high is None or log(100.0) <= high)
        total += 1
    assert total > 80
    assert held / total >= 0.93


def test_none_failed_is_a_bound() -> None:
    """Three columns that outlived 120 h: at least so long, and no typical life."""
    life, reason = typical_life([outlived(120.0)] * 3, 0.95, OWN)
    assert (life.state, life.hours.value, life.hours.low, life.hours.high) == (
        "not reached",
        None,
        120.0,
        None,
    )
    assert "none of the three columns" in reason


def test_one_failure_is_too_few_for_a_spread() -> None:
    """One of three failed: the group has a bound, and the reason."""
    life, _ = typical_life([column(80.0), outlived(120.0), outlived(120.0)], 0.95, OWN)
    assert life.state == "unclear"
    assert life.hours.value is None
    assert life.hours.low == pytest.approx(80.0 * exp(-0.01))
    assert "one of three" in life.hours.reason


def test_a_column_that_was_taken_off_before_any_failed_takes_nothing_from_the_others() -> None:
    """A leak after 18 h says nothing of a type whose columns fail after 52 h and more."""
    failed = [column(52.0), column(59.0), column(60.0)]
    without, _ = typical_life(failed, 0.95, OWN)
    told, reason = typical_life([*failed, outlived(18.0)], 0.95, OWN)
    assert told.hours == without.hours
    assert reason == "one more was taken off before any failed, and says nothing of it"
    # One that was watched beyond the first failure does tell.
    longer, _ = typical_life([*failed, outlived(58.0)], 0.95, OWN)
    assert longer.hours.value is not None
    assert without.hours.value is not None
    assert longer.hours.value > without.hours.value
    # Beside a single failure it still bounds what is known.
    lone, _ = typical_life([column(52.0), outlived(18.0)], 0.95, OWN)
    assert lone.hours.low == pytest.approx(18.0)


def late(hours: float) -> ColumnLife:
    """Return a column whose curve passes the limit after `hours`, which its band does not show."""
    return ColumnLife("c", "", "unclear", log(hours), 0.03, log(hours) - 0.06, None)


def test_columns_that_passed_late_if_at_all_give_no_life() -> None:
    """Three columns whose bands do not show that they passed: unclear, at least so long, and no estimate."""
    life, reason = typical_life([late(113.0), late(115.0), late(114.0)], 0.95, OWN)
    assert (life.state, life.hours.value, life.hours.high) == ("unclear", None, None)
    assert life.hours.low == pytest.approx(113.0 * exp(-0.06))
    assert reason.startswith(
        "none of the three columns surely reached the limit; of all three the injections cannot tell"
    )


def test_half_of_the_columns_make_a_typical_life() -> None:
    """Two of four reached the limit: a typical life; two of five: the median column did not fail."""
    failed = [column(80.0), column(96.0)]
    of_four, _ = typical_life([*failed, late(118.0), outlived(120.0)], 0.95, OWN)
    assert of_four.state == "reached"
    assert of_four.hours.value is not None
    assert 80.0 < of_four.hours.value < 120.0
    of_five, reason = typical_life([*failed, *(outlived(120.0),) * 3], 0.95, OWN)
    assert (of_five.state, of_five.hours.value) == ("unclear", None)
    assert "two of five columns reached the limit: fewer than half" in reason


def test_the_shortest_watched_column_bounds_no_other() -> None:
    """Of columns that held for 99 to 239 h the type held for no `at least 99 h`, whoever failed beside them.

    Schedules that differ by minutes change nothing, nor does a bound that a failure sets.
    """
    held = [outlived(99.0), outlived(239.0)]
    none, _ = typical_life(held, 0.95, OWN)
    assert none.watched == Watched(2, 0, 99.0, 239.0)
    assert tell(none) == "at least 99 to 239\u2009h (as long as each was watched)"
    two, _ = typical_life([*held, outlived(239.0), column(110.0), column(160.0)], 0.95, OWN)
    assert two.watched == Watched(5, 2, 99.0, 239.0)
    assert typical_life([outlived(238.9), outlived(239.0)], 0.95, OWN)[0].watched is None
    sooner, _ = typical_life([*held, outlived(239.0), column(80.0), column(90.0)], 0.95, OWN)
    assert sooner.watched is None


def test_what_a_column_is_known_to_have_held_is_no_end_of_its_test() -> None:
    """Of three watched for 96 h, one of which surely held for 88 h only, the bound is told."""
    held = [replace(outlived(hours), end_h=96.0) for hours in (88.1, 96.0, 96.0)]
    life, _ = typical_life(held, 0.95, OWN)
    assert life.watched is None
    assert tell(life).startswith("at least 88")


def test_late_column_counts_by_its_curve_beside_failures() -> None:
    """Two of three failed, the third so late that its band does not show it: the t interval of all three."""
    life, note = typical_life([column(100.0), column(108.0), late(117.0)], 0.95, OWN)
    assert life.hours.value == pytest.approx((100.0 * 108.0 * 117.0) ** (1 / 3))
    assert note.startswith("two of three columns surely reached the limit")
    early, _ = typical_life([column(100.0), column(108.0), late(97.0)], 0.95, OWN)
    assert early.hours.value is not None
    assert early.hours.value > 100.0


def test_typical_life_beyond_the_test_is_not_stated() -> None:
    """Where likelihood puts the median column beyond what was run, there is a lower end only."""
    lives = [column(60.0), column(100.0), outlived(101.0), outlived(101.0)]
    life, reason = typical_life(lives, 0.95, OWN)
    assert (life.state, life.hours.value, life.hours.high) == ("unclear", None, None)
    assert "beyond what was run" in reason


def test_bracket_alone_counts_as_its_middle() -> None:
    """Lives known by their brackets only make a typical life."""
    lives = [
        ColumnLife("c", "", "reached", log(60.0), 0.1, log(50.0), log(72.0)),
        ColumnLife("c", "", "reached", log(66.0), 0.1, log(55.0), log(79.0)),
    ]
    life, _ = typical_life(lives, 0.95, OWN)
    assert life.hours.value == pytest.approx((60.0 * 66.0) ** 0.5)


def test_errors_that_all_columns_may_share_are_not_averaged_away() -> None:
    """Three lives that agree, each known to a fifth: of their type no more is known than of each."""
    lives = [
        ColumnLife("c", "", "reached", log(hours), 0.1, log(hours) - 0.2, log(hours) + 0.2, 0.05)
        for hours in (58.0, 60.0, 62.0)
    ]
    life, _ = typical_life(lives, 0.95, OWN)
    assert life.hours.low is not None
    assert life.hours.high is not None
    assert life.hours.low < 60.0 * exp(-0.196)
    assert life.hours.high > 60.0 * exp(0.196)


def test_group_of_three_has_everything() -> None:
    """Typical, first and last life, what remained, rate, Kaplan–Meier steps, and the conservative life."""
    hours, rng = exposures(), np.random.default_rng(3)
    declines = [judged(hours, 1e4 * noisy(rng, straight_line(hours, t), 0.3)) for t in (50.0, 60.0, 70.0)]
    found = group_life(declines, 0.95)
    assert found.states == ("reached",) * 3
    assert found.life.hours.value == pytest.approx((50 * 60 * 70) ** (1 / 3), rel=0.02)
    assert found.shortest_h == pytest.approx(50.0, rel=0.03)
    assert found.longest_h == pytest.approx(70.0, rel=0.03)
    assert found.survival == pytest.approx((2 / 3, 1 / 3, 0.0))
    assert found.tested_to_h == 120.0
    assert found.rate_per_h.low is not None
    mean_rates = [-np.log(1 - 0.2 * 120 / life) / 120 for life in (50, 60, 70)]
    assert found.rate_per_h.value == pytest.approx(np.mean(mean_rates), rel=0.03)
    assert found.life.conservative_h is not None
    assert found.shortest_h is not None
    assert 0.9 * found.shortest_h < found.life.conservative_h < found.shortest_h
    assert found.conservative_how.startswith("lines, not pooled (slopes p = ")


def test_group_life_needs_a_limit() -> None:
    """Without a limit there is no life of a group: a mistake of the caller."""
    hours = exposures()
    series = series_of(hours, 1e4 * noisy(np.random.default_rng(1), first_order(hours, 60.0)))
    with pytest.raises(ValueError, match="limit"):
        group_life(judge_declines([Task(series)], Choices()), 0.95)


def test_two_stages_agree_with_a_mixed_model() -> None:
    """Growth of 72 pigs: the mean of their own slopes is the slope of a mixed model of all weighings.

    Data of statsmodels' tests (dietox), Weight ~ Time | Pig by restricted likelihood: 6.94251 kg a week.
    Pigs weighed less often move the mean a little: within half a per cent.
    """
    path = Path(statsmodels.regression.__file__).parent / "tests" / "results" / "dietox.csv"
    pigs = pd.read_csv(path).groupby("Pig")
    slopes = [straight(pig["Time"].to_numpy(float), pig["Weight"].to_numpy(float)).slope for _, pig in pigs]
    assert len(slopes) == 72
    assert float(np.mean(slopes)) == pytest.approx(6.94251, rel=5e-3)


def test_columns_that_fell_alike_between_two_injections_are_told_by_their_bracket() -> None:
    """Five columns on one day's two injections: nobody saw which failed first, or when within the gap."""
    hours = np.array([0.0, 1.0, 2.0, 50.0, 94.0, 177.0, 200.0, 240.0])
    rng = np.random.default_rng(5)
    level = np.array([100.0, 100, 100, 99.5, 99, 55, 54, 53])
    declines = [judged(hours, 1e4 * noisy(rng, level, 0.2)) for _ in range(5)]
    assert all(decline.life.is_bracketed for decline in declines)
    found = group_life(declines, 0.95)
    assert (found.first, found.last) == (Estimate(None, 94.0, 177.0), Estimate(None, 94.0, 177.0))
    assert (found.shortest_h, found.longest_h) == (94.0, 177.0)
    low, high = found.life.hours.low, found.life.hours.high
    assert low is not None
    assert high is not None
    assert low < 115.0
    assert high > 145.0  # five equal brackets are one, however many columns
    assert found.life.conservative_h is None or found.life.conservative_h <= 94.0


def test_a_typical_life_of_which_little_is_known_is_told_with_what_the_columns_did() -> None:
    """Two failures of three bound the type at next to nothing: that all three held for 92 h is known."""
    one = judged(np.arange(0.0, 220.0, 20.0), 1e4 * np.linspace(100.0, 60.0, 11))
    ends = (Estimate(110.0, 92.0, 142.0), Estimate(173.0, 141.0, 233.0), Estimate(None, 117.0, None))
    states: tuple[LifeState, ...] = ("reached", "reached", "unclear")
    lives = [Life(state, hours) for state, hours in zip(states, ends, strict=True)]
    found = group_life([replace(one, life=life) for life in lives], 0.95).life
    assert found.hours.low is not None
    assert found.hours.low < 20.0
    assert "all three columns tested held for at least 92\u2009h" in tell(found)


def test_a_first_column_is_told_by_its_life_where_it_is_before_all_others() -> None:
    """Its change came between two injections, and its life has a value: it is told as it is elsewhere."""
    hours = np.array([0.0, 1.0, 2.0, 30.0, 50.0, 94.0, 177.0, 200.0, 240.0, 260.0, 280.0])
    rng = np.random.default_rng(5)
    early = np.array([100.0, 100, 100, 99.8, 99.5, 99, 55, 54, 53, 52, 51])
    late = np.array([100.0, 100, 100, 99.8, 99.5, 99, 98.7, 98.5, 98, 97.5, 55])
    first, *others = (judged(hours, 1e4 * noisy(rng, level, 0.2)) for level in (early, late, late))
    life = replace(first.life, hours=Estimate(130.0, 94.0, 177.0), from_bracket=True)
    first = replace(first, life=life)
    assert life.is_bracketed
    assert group_life([first, *others], 0.95).first == life.hours
    told = usable_life([first])
    assert told is not None
    assert tell(life) == "130\u2009h (94 to 177)"
    assert told_together([told]) == "between 94 and 177\u2009h"


@pytest.mark.parametrize("other_life", [133.0, None])
def test_none_is_first_by_its_injections_alone_where_another_may_have_the_shorter_life(
    other_life: float | None,
) -> None:
    """Looked at earlier on both sides of its limit, but told as the longer-lived, or beside one of which only
    a bracket is known: the first is not named."""
    hours = np.array([0.0, 1.0, 2.0, 30.0, 50.0, 94.0, 177.0, 200.0, 240.0])
    level = np.array([100.0, 100, 100, 99.8, 99.5, 99, 55, 54, 53])
    one, other = (judged(hours, 1e4 * noisy(np.random.default_rng(5), level, 0.2)) for _ in range(2))
    lives = (Estimate(140.0, 94.0, 177.0), Estimate(other_life, 97.0, 180.0))
    declines = [
        replace(decline, life=replace(decline.life, hours=life, from_bracket=True))
        for decline, life in zip((one, other), lives, strict=True)
    ]
    found = group_life(declines, 0.95)
    assert found.first == Estimate(None, 94.0, 177.0)
    assert found.last == Estimate(None, 97.0, 180.0)


def test_bounds_of_all_lives_hold_the_interval_of_each() -> None:
    """Beside one that failed between two injections, the value of another is no bound: its interval is."""
    one = judged(np.arange(0.0, 140.0, 20.0), 1e4 * np.array([100.0, 100, 99, 95, 80, 70, 60]))
    seen = replace(one, life=Life("reached", Estimate(None, 80.0, 160.0), bracket_h=(80.0, 160.0)))
    told = [replace(one, life=Life("reached", Estimate(at, 68.0, 170.0))) for at in (93.0, 120.0)]
    found = group_life([seen, *told], 0.95)
    assert (found.first, found.last) == (Estimate(None, 68.0, 160.0), Estimate(None, 80.0, 170.0))
    assert (found.shortest_h, found.longest_h) == (68.0, 170.0)


def failed_at(hours: Estimate, from_bracket: bool = False) -> UsableLife:
    """Return a column that failed then by a limit, as far as is known."""
    levels = np.array([100.0, 100, 99, 95, 80, 70, 60])
    one = judged(np.arange(0.0, 140.0, 20.0), 1e4 * levels)
    life = Life("reached", hours, from_bracket=from_bracket, bracket_h=(hours.low, hours.high))
    found = usable_life([replace(one, life=life)])
    assert found is not None
    return found


def test_a_list_has_a_number_alone_only_where_its_interval_is_narrow_beside_it() -> None:
    """118 h (101 to 124) may stand as 118 h; of 89 h (42 to 120) nobody saw more than the ends."""
    near, wide = Estimate(118.4, 101.0, 123.6), Estimate(89.0, 42.0, 120.0)
    assert told_together([failed_at(near)]) == "118\u2009h"
    assert told_together([failed_at(wide)]) == "between 42 and 120\u2009h"
    assert (
        told_together([failed_at(near), failed_at(wide)]) == "118\u2009h, another between 42 and 120\u2009h"
    )


def test_wide_lives_beside_a_narrow_one_are_counted() -> None:
    """Two columns of one bracket are `two others`; of two brackets each has its own."""
    near, wide, late = Estimate(118.4, 115.0, 121.0), Estimate(15.0, 10.0, 20.0), Estimate(89.0, 42.0, 120.0)
    alike = told_together([failed_at(near), failed_at(wide), failed_at(wide)])
    assert alike == "118\u2009h, two others between 10 and 20\u2009h"
    apart = told_together([failed_at(near), failed_at(wide), failed_at(late)])
    assert apart == "118\u2009h, others between 10 and 20\u2009h and between 42 and 120\u2009h"


def test_a_collapse_between_two_injections_is_told_by_them() -> None:
    """Its curve is drawn through nothing there: 104 h of a bracket of 20 h is a number that nobody saw."""
    hours = Estimate(104.0, 100.0, 114.0)
    assert told_together([failed_at(hours)]) == "104\u2009h"
    assert told_together([failed_at(hours, from_bracket=True)]) == "between 100 and 114\u2009h"
    assert told_together([failed_at(Estimate(104.0, 101.0, 107.0), from_bracket=True)]) == "104\u2009h"


def test_two_columns_get_two_numbers() -> None:
    """Lives that are rounded alike are not one."""
    alike = [failed_at(Estimate(hours, hours - 3, hours + 3)) for hours in (88.9, 89.2)]
    assert told_together(alike) == "each between 85.9 and 92.2\u2009h"
    later = failed_at(Estimate(102.0, 100.0, 105.0))
    assert told_together([*alike, later]) == "89, 89 and 102\u2009h"
    assert told_together([*alike, later], spread=True) == "89 to 102\u2009h"


@pytest.mark.parametrize("seed", range(6))
def test_a_staircase_has_no_life_after_the_injections_that_were_past_it(seed: int) -> None:
    """97 % until 348 h, then 78 %: smooth curves pass 80 % long after all injections were past it."""
    hours = np.array([0.0, 2.0, 5.0, 60, 120, 180, 240, 300, 348, 454, 560, 666])
    rng = np.random.default_rng(seed)
    level = np.where(hours < 400.0, 97.0, 78.0)
    level[:3] = 100.0
    life = judged(hours, 1e4 * noisy(rng, level, 0.7)).life
    value = life.hours.value
    assert life.state != "reached" or value is None or value <= 454.0
    assert life.conservative_h is None or life.conservative_h <= 454.0
    assert life.hours.low is not None
    assert life.hours.low <= 400.0


def test_lives_of_which_nobody_saw_the_beginning_have_no_narrow_ratio() -> None:
    """Past their limit when first looked at, after 60 h, two types may differ tenfold and more."""
    at_h = np.array([0.0, 60.0])
    sides = []
    for left in (0.15, 0.75):
        decline = judged(at_h, 12_000.0 * np.array([1.0, left]), choices=Choices(reference_injections=1))
        assert decline.life.hours.high == 60.0
        life = column_life(decline, "", 0.95)
        assert life is not None
        sides.append(life)
    assert all(life.own_error > np.log(100.0) / 4 for life in sides)
