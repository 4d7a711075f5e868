"""What failed first on a column."""

from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.deciding import first_failure
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.records import Decline, Life
from lyewitness.study.records import Choices, Limit
from lyewitness.words.estimates import Estimate
from tests.decline.simulated_series import LIMIT, exposures, first_order
from tests.decline.small_study import noisy
from tests.decline.test_lives import series_of

HOURS = exposures()
RETENTION = Limit("retention_factor", at_least_percent=90.0)


def declines(plates_life_h: float, retention_life_h: float) -> tuple[Decline, ...]:
    """Return plate number and retention factor of one column, by when each passes its limit."""
    rng = np.random.default_rng(2)
    plates = 9000.0 * noisy(rng, first_order(HOURS, plates_life_h))
    retention = 4.0 * noisy(rng, np.exp(np.log(0.9) * HOURS / retention_life_h), 0.1)
    tasks = [
        Task(series_of(HOURS, plates), (LIMIT,)),
        Task(series_of(HOURS, retention, "retention_factor"), (RETENTION,)),
        Task(series_of(HOURS, retention, "peak_area")),
    ]
    return judge_declines(tasks, Choices())


def test_earliest_limit_is_the_first_failure() -> None:
    """Plates at 40 h before retention at 80 h: plates, with nothing tied."""
    found = first_failure("c", "g", declines(40.0, 80.0))
    assert (found.metric, found.tied_with) == ("plate_number_half_height", ())
    assert found.life.hours.value == pytest.approx(40.0, rel=0.05)


def test_lives_that_cannot_be_told_apart_are_tied() -> None:
    """Plates and retention that pass their limits within an hour of each other are tied."""
    found = first_failure("c", "g", declines(60.0, 60.5))
    assert len(found.tied_with) == 1


def test_what_was_seen_past_its_limit_while_another_was_within_failed_first() -> None:
    """Of 0 and 60 and 120 h: plates gone at 60 h, retention only at 120 h. The brackets touch, and tell."""
    at_h = np.array([0.0, 0.1, 0.2, 60.0, 120.0])
    tasks = [
        Task(series_of(at_h, np.array([9000.0, 9010.0, 8990.0, 1000.0, 500.0])), (LIMIT,)),
        Task(series_of(at_h, np.array([4.0, 4.01, 4.0, 3.98, 2.0]), "retention_factor"), (RETENTION,)),
    ]
    found = first_failure("c", "g", judge_declines(tasks, Choices()))
    assert (found.metric, found.tied_with) == ("plate_number_half_height", ())


def test_what_may_have_passed_its_limit_before_is_tied_though_no_end_of_it_is_known() -> None:
    """Unclear since before the life that is known ends; not where an injection behind that was within."""
    plates, retention, _ = declines(40.0, 80.0)
    life = Life("reached", Estimate(173.0, 141.0, 233.0), bracket_h=(144.0, 192.0))
    first = replace(plates, life=life)
    for within, past, tied in ((192.0, 240.0, 1), (None, None, 1), (240.0, None, 0)):
        unclear = Life("unclear", Estimate(None, 118.0, None), bracket_h=(within, past))
        found = first_failure("c", "g", [first, replace(retention, life=unclear)])
        assert (found.metric, len(found.tied_with)) == ("plate_number_half_height", tied)


def test_nothing_failed_is_at_least_as_long_as_the_test() -> None:
    """Where no limit was reached the column has no first failure, and a bound."""
    found = first_failure("c", "g", declines(400.0, 500.0))
    assert (found.metric, found.life.state) == ("", "not reached")
    assert found.life.hours.low == pytest.approx(120.0)


def test_without_limits_nothing_can_fail() -> None:
    """A column of which nothing is limited has no life."""
    found = first_failure("c", "g", declines(40.0, 80.0)[2:])
    assert found.life.state == "not measured"
