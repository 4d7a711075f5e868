"""A whole study through the stage."""

import numpy as np
import pytest

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Decline, Judgement
from tests.decline.simulated_series import delayed, exposures, first_order
from tests.decline.small_study import noisy, study_of, with_values

GROUPS = {"hybrid": ("H1", "H2", "H3"), "polymer": ("P1", "P2", "P3")}
LIVES = {"H1": 30.0, "H2": 34.0, "H3": 32.0, "P1": 90.0, "P2": 99.0, "P3": 93.0}


@pytest.fixture(scope="module")
def judgement() -> Judgement:
    """Return the judgement of a study of two types, one of which dies early."""
    rng = np.random.default_rng(5)
    hours = exposures()
    values = {}
    for column, life in LIVES.items():
        law = delayed if column.startswith("H") else first_order
        values[column, "base"] = {
            "plate_number_half_height": 12_000.0 * noisy(rng, law(hours, life)),
            "retention_factor": 4.0 * noisy(rng, np.ones_like(hours)),
            "symmetry_factor": 1.1 * noisy(rng, 1 + hours / 200.0),
            "peak_area": 30.0 * noisy(rng, np.ones_like(hours)),
        }
        values[column, "uracil"] = {"retention_time_min": 0.42 * noisy(rng, np.ones_like(hours))}
    return judge(*with_values(study_of(GROUPS), hours, values))


def decline_of(judgement: Judgement, column: str, marker: str, metric: str) -> Decline:
    """Return one decline of a judgement."""
    return next(
        decline
        for decline in judgement.declines
        if (decline.series.column, decline.series.marker, decline.series.metric) == (column, marker, metric)
    )


@pytest.mark.parametrize("column", LIVES)
def test_life_holds_the_truth(judgement: Judgement, column: str) -> None:
    """The interval of each life holds the exposure at which the noise-free column passed its limit."""
    hours = decline_of(judgement, column, "base", "plate_number_half_height").life.hours
    assert hours.low is not None
    assert hours.high is not None
    assert hours.low < LIVES[column] < hours.high
    assert hours.high / hours.low < 1.25


def test_rising_metric_is_limited_from_above(judgement: Judgement) -> None:
    """A symmetry factor of 1.1 that rises by half a percent an hour passes 2.0 after the test ended."""
    life = decline_of(judgement, "P1", "base", "symmetry_factor").life
    assert life.state == "not reached"
    assert life.hours.value is None
    assert life.hours.low == pytest.approx(120.0)


def test_types_are_told_apart(judgement: Judgement) -> None:
    """Lives of 32 h and 94 h with little scatter are told apart after Holm's correction."""
    comparison = next(c for c in judgement.comparisons if c.metric == "plate_number_half_height")
    assert (comparison.group_a, comparison.group_b) == ("hybrid", "polymer")
    assert comparison.finding == "b lasts longer"
    assert comparison.p_value is not None
    assert comparison.p_adjusted is not None
    assert comparison.p_value <= comparison.p_adjusted < 0.05
    low, high = comparison.life_ratio.low, comparison.life_ratio.high
    assert low is not None
    assert high is not None
    assert low < 32 / 94 < high < 1


def test_plates_fail_first_and_decide(judgement: Judgement) -> None:
    """Where the plate number fails first on every column, it is the metric that decides."""
    assert {failure.metric for failure in judgement.first_failures} == {"plate_number_half_height"}
    assert judgement.deciding == ("base", "plate_number_half_height")
    assert [failure.column for failure in judgement.first_failures] == list(LIVES)


def test_metrics_worth_a_look_are_followed_without_a_limit(judgement: Judgement) -> None:
    """Peak area and hold-up time are followed though nothing limits them, and say so."""
    hold_up = decline_of(judgement, "H1", "uracil", "hold_up_time_min")
    assert hold_up.limit is None
    assert hold_up.life.state == "not measured"
    assert hold_up.life.hours.reason == "no limit is set on this metric"
    assert hold_up.remaining.value == pytest.approx(100.0, abs=1.5)
