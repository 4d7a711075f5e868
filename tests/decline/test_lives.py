"""Lives to a limit, from curves, bands and injections."""

import numpy as np
import pytest

from lyewitness.decline.bands import SHARED_BY_A_DAY, scatter
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.lives import bracket, crossing, in_injections, last_crossing, limit_line
from lyewitness.decline.records import Decline, Series
from lyewitness.study.records import Choices, Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from tests.decline.simulated_series import LIMIT, exposures, first_order, straight_line
from tests.decline.small_study import noisy

BELOW_80 = limit_line(LIMIT, 12_000.0)


def series_of(hours: FloatArray, value: FloatArray, metric: str = "plate_number_half_height") -> Series:
    """Return a series with names made up for its injections."""
    names = tuple(f"i{index}" for index in range(len(hours)))
    return Series("c", "g", "m", metric, names, hours, hours * 10.0, value)


def judged(
    hours: FloatArray, value: FloatArray, limit: Limit = LIMIT, choices: Choices | None = None
) -> Decline:
    """Return the decline of one series."""
    (decline,) = judge_declines([Task(series_of(hours, value), (limit,))], choices or Choices())
    return decline


def test_limits_in_percent_and_in_units_are_one_line() -> None:
    """80 % of 12 000 plates and 9600 plates are the same level, told apart by what they refer to."""
    absolute = limit_line(Limit("plate_number_half_height", at_least=9600.0), 12_000.0)
    assert absolute.percent == pytest.approx(BELOW_80.percent)
    assert (BELOW_80.relative, absolute.relative) == (True, False)
    assert limit_line(Limit("symmetry_factor", at_most=2.0), 1.25).percent == pytest.approx(160.0)
    assert not limit_line(Limit("pressure_bar", at_most_percent=150.0), 80.0).falling


def test_crossing_is_interpolated() -> None:
    """A curve from 100 % at 0 h to 60 % at 40 h passes 80 % at 20 h."""
    assert crossing(np.array([0.0, 40.0]), np.array([100.0, 60.0]), BELOW_80) == pytest.approx(20.0)


def test_last_crossing_passes_over_a_dip() -> None:
    """An edge that dips below the limit and comes back bounds the life where it is below for good."""
    hours = np.array([0.0, 10.0, 20.0, 30.0, 40.0])
    edge = np.array([95.0, 70.0, 90.0, 85.0, 75.0])
    assert crossing(hours, edge, BELOW_80) == pytest.approx(6.0)
    assert last_crossing(hours, edge, BELOW_80) == pytest.approx(35.0)
    assert last_crossing(hours, edge + 10.0, BELOW_80) is None


def test_bracket_spans_injections_that_go_to_and_fro() -> None:
    """Between the last injection before any was past and the first after which all were."""
    hours = np.arange(6.0)
    percent = np.array([100.0, 90.0, 79.0, 81.0, 78.0, 70.0])
    assert bracket(hours, percent, BELOW_80) == (1.0, 4.0)
    assert bracket(hours, percent[:2], BELOW_80) == (1.0, None)
    assert bracket(hours[2:3], percent[2:3], BELOW_80) == (None, 2.0)


def test_not_reached_is_a_bound_and_no_value() -> None:
    """A column that keeps 90 % has no life, only what the test shows: as long as it ran."""
    hours = exposures()
    found = judged(hours, 12_000.0 * noisy(np.random.default_rng(1), 1 - hours / 1200.0))
    assert found.life.state == "not reached"
    assert found.life.hours.value is None
    assert found.life.hours.high is None
    assert found.life.hours.low == pytest.approx(120.0)
    assert not found.life.extrapolated
    assert found.life.conservative_h is None


def test_extrapolation_on_demand_is_marked() -> None:
    """Asked to look up to 400 h, a column that loses 10 % in 120 h gets a marked life near 240 h."""
    hours = exposures()
    value = 12_000.0 * noisy(np.random.default_rng(1), 1 - hours / 1200.0, 0.2)
    found = judged(hours, value, choices=Choices(extrapolate_to_h=400.0))
    assert found.life.extrapolated
    assert found.life.state == "not reached"
    assert found.life.hours.value == pytest.approx(240.0, rel=0.1)
    assert found.life.hours.low is not None
    assert found.life.hours.low < 240.0
    assert "beyond" in found.life.hours.reason


def test_collapse_between_two_injections_is_interval_censored() -> None:
    """100 % at 48 h and 30 % at 72 h: the life lies between them, and no curve makes it narrower."""
    hours = np.array([0.0, 0.0, 0.0, 8.0, 16.0, 24.0, 32.0, 40.0, 48.0, 72.0, 80.0, 88.0, 96.0])
    value = np.where(hours < 60.0, 12_000.0, 3600.0) * noisy(np.random.default_rng(2), np.ones(13))
    found = judged(hours, value)
    assert found.life.bracket_h == (48.0, 72.0)
    assert found.life.state == "reached"
    assert found.life.hours.low is not None
    assert found.life.hours.high is not None
    assert found.life.hours.low <= 48.0
    assert found.life.hours.high >= 72.0
    assert "between two injections" in found.life.hours.reason


def test_too_few_points_leave_the_bracket_alone() -> None:
    """Three injections bear no curve: the life lies between those within and past the limit."""
    found = judged(np.array([0.0, 20.0, 50.0]), np.array([12_000.0, 11_800.0, 7000.0]))
    assert found.model is None
    assert found.life.hours == Estimate(None, 20.0, 50.0, "3 used injections are too few for a curve")
    within = judged(np.array([0.0, 20.0]), np.array([12_000.0, 11_900.0]))
    assert within.life.state == "not reached"
    assert within.life.hours.low == 20.0


def test_few_points_that_plainly_fall_are_not_called_steady() -> None:
    """Five injections at 100, 100, 81, 63 and 50 %: the limit of 80 % was passed, whatever the curve."""
    hours = np.array([0.0, 30.0, 60.0, 90.0, 120.0])
    found = judged(
        hours, 12_000.0 * np.array([1.0, 1.002, 0.81, 0.63, 0.5]), choices=Choices(reference_injections=1)
    )
    assert found.model is not None
    assert found.model.name != "steady"
    assert found.life.state in ("reached", "unclear")
    assert found.life.bracket_h == (60.0, 90.0)


def test_injections_go_before_a_curve_that_misses_them() -> None:
    """Where a collapse at the very end is missed by the curve, the injections past the limit speak."""
    hours = np.array([0.0, 0.0, 0.0, 30.0, 60.0, 90.0, 119.0, 120.0])
    value = 12_000.0 * np.array([1.0, 1.01, 0.99, 1.0, 1.01, 0.99, 0.75, 0.74])
    found = judged(hours, value)
    assert found.life.state in ("reached", "unclear")
    assert found.life.hours.low is not None
    assert found.life.hours.low <= 119.0


def test_life_is_also_given_in_column_volumes_and_injections() -> None:
    """At ten column volumes an hour t hours are 10 t volumes, and 15 t injections of four minutes."""
    hours = exposures()
    found = judged(hours, 12_000.0 * noisy(np.random.default_rng(4), first_order(hours, 60.0)))
    life = found.life
    assert life.hours.value is not None
    assert life.column_volumes.value == pytest.approx(10.0 * life.hours.value)
    assert in_injections(life.hours, 4.0).value == pytest.approx(15.0 * life.hours.value)


def test_the_band_gives_the_interval() -> None:
    """The curve passes the limit at the life, the edges of its band at the ends of the interval or within it.

    An end lies further out where the gap between two injections has it so.
    """
    hours = exposures()
    found = judged(hours, 12_000.0 * noisy(np.random.default_rng(4), first_order(hours, 60.0)))
    life = found.life.hours
    assert life.value is not None
    assert life.low is not None
    assert life.high is not None
    assert float(np.interp(life.value, found.curve_h, found.curve_percent)) == pytest.approx(80.0, abs=1e-6)
    first, last = (crossing(found.curve_h, edge, BELOW_80) for edge in (found.curve_low, found.curve_high))
    within, past = found.life.bracket_h
    assert first is not None
    assert last is not None
    assert within is not None
    assert past is not None
    assert life.low == pytest.approx(min(first, within + 0.05 * (past - within)), rel=1e-6)
    assert life.high == pytest.approx(max(last, past - 0.05 * (past - within)), rel=1e-6)


def test_the_day_of_the_reference_is_in_the_band() -> None:
    """Three references of one day and an injection a day: what their day had in common shifts all others."""
    hours = np.r_[0.0, 0.3, 0.6, np.arange(20.0, 150.0, 20.0)]
    rng = np.random.default_rng(5)
    found = judged(hours, 9000.0 * straight_line(hours, 100.0) * (1 + 0.01 * rng.standard_normal(len(hours))))
    later = found.percent[3:]
    noise = scatter(np.r_[0.3, hours[3:]], np.r_[100.0, later])
    assert found.errors_last is not None
    of_the_day = 1.96 * noise * (SHARED_BY_A_DAY * (1 - found.errors_last)) ** 0.5
    for edge in (found.curve_low, found.curve_high):
        assert (np.abs(edge - found.curve_percent) > 0.999 * of_the_day).all()


def test_conservative_life_lies_between_interval_and_life() -> None:
    """The one-sided 95 % bound meets the limit after the two-sided one and before the curve."""
    hours = exposures()
    life = judged(hours, 12_000.0 * noisy(np.random.default_rng(4), first_order(hours, 60.0))).life
    assert life.hours.low is not None
    assert life.hours.value is not None
    assert life.conservative_h is not None
    assert life.hours.low < life.conservative_h < life.hours.value


def test_rising_metric_fails_from_below() -> None:
    """A symmetry factor that rises from 1.2 by 1 % of it an hour passes 1.8 at 50 h, in its own unit."""
    hours = exposures()
    value = 1.2 * noisy(np.random.default_rng(6), 1 + hours / 100.0)
    found = judged(hours, value, Limit("symmetry_factor", at_most=1.8))
    assert not found.band_carries_reference
    assert found.life.hours.low is not None
    assert found.life.hours.high is not None
    assert found.life.hours.low < 50.0 < found.life.hours.high
    assert found.rate_per_h.value is not None
    assert found.rate_per_h.value < 0


def test_of_two_limits_the_one_passed_first_counts() -> None:
    """Limited from both sides, a metric that falls ends at its lower limit."""
    hours = exposures()
    value = 4.0 * noisy(np.random.default_rng(6), first_order(hours, 60.0))
    limits = (
        Limit("retention_factor", at_most_percent=120.0),
        Limit("retention_factor", at_least_percent=80.0),
    )
    (found,) = judge_declines([Task(series_of(hours, value, "retention_factor"), limits)], Choices())
    assert found.limit == limits[1]
    assert found.life.state == "reached"


def test_an_outlying_injection_is_no_part_of_the_reference() -> None:
    """4174, 3295, 4186: reference, percent, bracket and life are to what the two that agree have."""
    hours = np.array([0.0, 2.0, 4.0, 20, 40, 60, 80, 100, 120, 140, 160, 180])
    value = 4180.0 * (100.0 - 0.2 * hours) / 100.0
    value *= 1.0 + 0.002 * np.random.default_rng(4).standard_normal(12)
    value[1] *= 0.79
    decline = judged(hours, value)
    assert decline.outlying == ("i1",)
    assert decline.reference_value == pytest.approx(value[[0, 2]].mean())
    assert decline.percent[-1] == pytest.approx(100.0 * value[-1] / value[[0, 2]].mean())
    assert decline.life.hours.value == pytest.approx(101.0, rel=0.03)
    assert decline.life.bracket_h[0] is not None
    assert decline.life.bracket_h[0] <= 101.0 <= (decline.life.bracket_h[1] or 0.0)


def test_a_life_within_a_gap_holds_most_of_the_gap() -> None:
    """From 94 % at 51 h to 70 % at 82 h a column may have passed 80 % at almost any hour between them."""
    hours = np.array([0.0, 0.1, 0.2, 13.0, 26.0, 38.0, 51.0, 82.0, 95.0, 108.0])
    left = np.array([100.1, 99.9, 100.0, 99.2, 98.1, 96.3, 94.0, 70.0, 62.0, 55.0])
    life = judged(hours, left).life
    assert life.hours.low is not None
    assert life.hours.high is not None
    assert life.hours.low <= 51.0 + 0.06 * 31.0
    assert life.hours.high >= 82.0 - 0.06 * 31.0
