"""Lives to limits that were not the study's: the same curves, read at another height."""

from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.records import Decline, Life, Series
from lyewitness.decline.what_if import FALLING, levels_for, lives_at
from lyewitness.findings.records import Report
from lyewitness.study.records import Limit
from lyewitness.words.estimates import Estimate

AT_80 = Limit("plate_number_half_height", at_least_percent=80)


def exponential(column: str, rate_per_h: float, limit: Limit = AT_80) -> Decline:
    """Return a column that loses `rate_per_h` of what it has, known without noise to within ± 1 %."""
    hours, grid = np.linspace(0, 100, 21), np.linspace(0, 100, 161)
    percent, curve = 100 * np.exp(-rate_per_h * hours), 100 * np.exp(-rate_per_h * grid)
    names = tuple(f"{column}-{place}" for place in range(21))
    series = Series(column, "silica", "aniline", limit.metric, names, hours, hours, 90 * percent)
    life = Life("reached", Estimate(float(np.log(100 / 80) / rate_per_h)))
    return Decline(
        series, 9000.0, 10.0, 3, percent, curve_h=grid, curve_percent=curve, curve_low=curve - 1,
        curve_high=curve + 1, end_h=100.0, limit=limit, limit_percent=80.0, life=life,
    )  # fmt: skip


def test_a_life_to_another_limit_is_where_the_curve_passes_it() -> None:
    """For first order the life to L % is ln(100 / L) ÷ rate; the typical column is the median of three."""
    columns = [exponential(name, rate) for name, rate in (("S1", 0.009), ("S2", 0.010), ("S3", 0.0111))]
    for level in (90.0, 70.0, 50.0):
        life = lives_at(level, columns, 0.95, {}).lives["silica"]
        assert life.state == "reached"
        assert life.hours.value == pytest.approx(np.log(100 / level) / 0.010, rel=0.02)
        assert life.hours.low is not None
        assert life.hours.high is not None
        assert life.hours.value is not None
        assert life.hours.low < life.hours.value < life.hours.high


def test_what_no_column_came_to_is_a_bound() -> None:
    """Columns that still have 82 % at the end lasted at least as long as they ran to any lower limit."""
    columns = [exponential(name, 0.002) for name in ("S1", "S2", "S3")]
    life = lives_at(60.0, columns, 0.95, {}).lives["silica"]
    assert life.state == "not reached"
    assert life.hours.value is None
    assert life.hours.low == pytest.approx(100.0)


def test_only_one_limit_in_percent_can_be_moved() -> None:
    """Limits in the metric's own unit, or different ones on different columns, have no levels to try."""
    assert levels_for([exponential("S1", 0.01)]) == FALLING
    own = Limit("plate_number_half_height", at_least=5000)
    assert levels_for([exponential("S1", 0.01, own)]) == ()
    other = replace(AT_80, at_least_percent=85)
    assert 85.0 in levels_for([exponential("S1", 0.01, other)])
    assert levels_for([exponential("S1", 0.01), exponential("S2", 0.01, other)]) == ()
    assert levels_for([]) == ()


def test_to_the_study_s_own_limit_the_curves_give_the_lives_that_are_told(example: Report) -> None:
    """Read off at the limit itself, each group's life lies within its interval; a lower one comes later."""
    judgement = example.judgement
    deciding = [
        one for one in judgement.declines if (one.series.marker, one.series.metric) == judgement.deciding
    ]
    told = {
        one.group: one.life
        for one in judgement.group_lives
        if (one.marker, one.metric) == judgement.deciding and one.life.state == "reached"
    }
    limit = deciding[0].limit
    assert limit is not None
    assert limit.at_least_percent is not None
    at = {level: lives_at(level, deciding, 0.95, {}).lives for level in (limit.at_least_percent, 70.0, 60.0)}
    assert len(told) > 1
    for group, life in told.items():
        read = at[limit.at_least_percent][group].hours.value
        assert read is not None
        assert (life.hours.low or 0) < read < (life.hours.high or np.inf)
        later = [lives[group].hours.value or np.inf for lives in at.values()]
        assert later == sorted(later)
