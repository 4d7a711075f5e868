"""Declines: shapes, noise, outlying injections, and what must not change them."""

from dataclasses import replace
from functools import cache
from unittest import mock

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.decline import bands, lives, shared_noise
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.records import Decline
from lyewitness.study.records import Choices, Limit
from tests.decline.simulated_series import (
    LIMIT,
    Law,
    Noise,
    delayed,
    exposures,
    first_order,
    sigmoid,
    simulate_column,
    steady,
    straight_line,
)
from tests.decline.small_study import noisy
from tests.decline.test_lives import judged, series_of

LAWS: dict[str, Law] = {
    "steady": steady,
    "straight line": straight_line,
    "first order": first_order,
    "delayed": delayed,
    "sigmoid": sigmoid,
}


@pytest.mark.parametrize("name", LAWS)
def test_the_shape_of_a_clear_decline_is_found(name: str) -> None:
    """With little noise, each law is called by its name, and its rivals are worse."""
    hours = exposures(40)
    found = judged(hours, 12_000.0 * noisy(np.random.default_rng(1), LAWS[name](hours, 60.0), 0.3))
    assert found.model is not None
    assert found.model.name == name
    assert all(rival.aicc >= found.model.aicc for rival in found.rivals)
    assert len({rival.name for rival in found.rivals} | {name}) == len(found.rivals) + 1


def test_parameters_have_their_units() -> None:
    """A delay of 33 h and a rate of ln(1/0.8)/27 per hour come back with their names."""
    hours = exposures(40)
    found = judged(hours, 12_000.0 * noisy(np.random.default_rng(8), delayed(hours, 60.0), 0.2))
    assert found.model is not None
    assert found.model.parameters["delay_h"] == pytest.approx(33.0, rel=0.04)
    assert found.model.parameters["rate_per_h"] == pytest.approx(-np.log(0.8) / 27.0, rel=0.05)


def test_the_rate_is_the_mean_loss_of_the_curve() -> None:
    """What remains, the rate and the end of the curve are one number said three ways, whatever the shape."""
    hours = exposures(24)
    for law in (first_order, delayed, sigmoid):
        found = judged(hours, 12_000.0 * noisy(np.random.default_rng(8), law(hours, 60.0), 0.2))
        remaining, rate = found.remaining, found.rate_per_h
        assert remaining.value == pytest.approx(found.curve_percent[-1])
        assert rate.value is not None
        assert 100.0 * np.exp(-rate.value * 120.0) == pytest.approx(remaining.value, rel=1e-6)
        assert rate.low is not None
        assert rate.high is not None
        assert rate.low < rate.value < rate.high
    constant = judged(hours, 12_000.0 * noisy(np.random.default_rng(8), first_order(hours, 60.0), 0.1))
    assert constant.rate_per_h.value == pytest.approx(-np.log(0.8) / 60.0, rel=0.01)


def test_few_points_bear_few_parameters() -> None:
    """Six injections allow a line, never a delay or a sigmoid."""
    found = judged(np.linspace(0.0, 50.0, 6), 12_000.0 * (1 - np.linspace(0.0, 0.4, 6)))
    assert found.model is not None
    assert {found.model.name, *(rival.name for rival in found.rivals)} <= {
        "steady",
        "straight line",
        "first order",
    }


def test_outlying_injection_is_named_kept_and_held_at_arm_s_length() -> None:
    """An injection a fifth too low is named, stays among the values, and moves the life little."""
    hours = exposures()
    value = 12_000.0 * noisy(np.random.default_rng(1), first_order(hours, 60.0))
    thrown = value.copy()
    thrown[12] *= 0.8
    clean, found = judged(hours, value), judged(hours, thrown)
    assert clean.outlying == ()
    assert found.outlying == ("i12",)
    assert found.percent[12] == pytest.approx(0.8 * clean.percent[12])
    assert clean.life.hours.value is not None
    assert found.life.hours.value == pytest.approx(clean.life.hours.value, rel=0.03)


@cache
def judged_columns(noise: Noise) -> tuple[Decline, ...]:
    """Return the declines of 60 steady columns with this noise."""
    rng = np.random.default_rng(4)
    tasks = [
        Task(simulate_column(rng, steady, 60.0, hours=exposures(60), noise=noise).series, (LIMIT,))
        for _ in range(60)
    ]
    return judge_declines(tasks, Choices())


def share_found(noise: Noise, pick: str) -> float:
    """Return in how many of 60 columns a property of the noise is found at 5 %."""
    found = judged_columns(noise)
    return float(np.mean([(getattr(decline, pick) or 0.0) < 0.05 for decline in found]))


def test_serial_noise_is_found_where_there_is_some() -> None:
    """Noise with a lag-one correlation of 0.6 is found serial; independent noise is not."""
    assert share_found(Noise(correlation=0.6, growth=1.0), "serial_p") > 0.8
    assert share_found(Noise(correlation=0.0, growth=1.0), "serial_p") < 0.12


def test_growing_noise_is_found_where_there_is_some() -> None:
    """Noise that grows threefold is found to grow; even noise is not."""
    assert share_found(Noise(correlation=0.0, growth=3.0), "noise_growth_p") > 0.8
    assert share_found(Noise(correlation=0.0, growth=1.0), "noise_growth_p") < 0.12


def test_without_values_the_reason_is_given() -> None:
    """A marker that was never found has no decline, and says why."""
    found = judged(np.array([]), np.array([]))
    assert found.reference_value is None
    assert found.life.state == "not measured"
    assert found.reason == "not measured in any used injection"
    assert found.remaining.reason == found.reason


def test_reference_of_nothing_is_no_reference() -> None:
    """A metric of zero on the fresh column has no percent."""
    assert judged(exposures(), np.zeros(24)).reason == "the reference value is not above zero"
    assert judged(np.array([0.0, 5.0]), np.zeros(2)).reason == "the reference value is not above zero"


def test_arrays_are_read_only() -> None:
    """Nobody can change a decline after it was made."""
    hours = exposures()
    found = judged(hours, 12_000.0 * noisy(np.random.default_rng(3), first_order(hours, 60.0)))
    for array in (found.percent, found.curve_h, found.curve_low, found.residuals):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0.0


def life_of(found: Decline) -> tuple[float | None, float | None, float | None]:
    """Return life and interval."""
    return (found.life.hours.value, found.life.hours.low, found.life.hours.high)


@settings(max_examples=15, deadline=None)
@given(st.floats(1e-3, 1e3), st.floats(0.01, 100.0), st.integers(0, 50))
def test_units_change_nothing(value_factor: float, hour_factor: float, seed: int) -> None:
    """Another unit of the metric leaves lives alone; another unit of time scales them."""
    hours = exposures()
    value = 12_000.0 * noisy(np.random.default_rng(seed), first_order(hours, 60.0), 1.0)
    plain = life_of(judged(hours, value))
    # A day of errors lasts as long in any unit.
    day = shared_noise.HOURS_OF_A_DAY * hour_factor
    with (
        mock.patch.object(shared_noise, "HOURS_OF_A_DAY", day),
        mock.patch.object(lives, "HOURS_OF_A_DAY", day),
        mock.patch.object(bands, "HOURS_OF_A_DAY", day),
    ):
        other = life_of(judged(hours * hour_factor, value * value_factor))
    for one, two in zip(plain, other, strict=True):
        assert (one is None) == (two is None)
        if one is not None:
            assert two == pytest.approx(one * hour_factor, rel=1e-4)


@pytest.mark.usefixtures("lives_alone")
def test_company_of_its_own_column_changes_nothing() -> None:
    """A series has the same life by itself as among a hundred: only other columns tell of its noise."""
    rng = np.random.default_rng(9)
    tasks = [Task(simulate_column(rng, first_order, 60.0).series, (LIMIT,)) for _ in range(110)]
    together = judge_declines(tasks, Choices())
    for index in (0, 55, 109):
        (alone,) = judge_declines([tasks[index]], Choices())
        assert life_of(alone) == pytest.approx(life_of(together[index]), rel=1e-6)


def test_two_builds_are_the_same() -> None:
    """The same values give the same numbers to the last bit."""
    hours = exposures()
    value = 12_000.0 * noisy(np.random.default_rng(3), first_order(hours, 60.0))
    one, two = judged(hours, value), judged(hours, value)
    assert one.curve_low.tobytes() == two.curve_low.tobytes()
    assert one.life == two.life


def test_column_volumes_unknown_is_said() -> None:
    """Without column volumes the life has hours, and the reason why it has nothing else."""
    hours = exposures()
    series = series_of(hours, 12_000.0 * noisy(np.random.default_rng(3), first_order(hours, 60.0)))
    (found,) = judge_declines([Task(replace(series, exposure_cv=np.full(24, np.nan)), (LIMIT,))], Choices())
    assert found.life.hours.value is not None
    assert found.life.column_volumes.value is None
    assert found.life.column_volumes.reason == "flow or void volume is not known"


def test_no_life_rests_on_the_shapes_that_name_a_decline(request: pytest.FixtureRequest) -> None:
    """Without them lives, bands, what remains and what is outlying are the same to the last bit."""
    hours, rng = exposures(), np.random.default_rng(7)
    values = [12_000.0 * noisy(rng, law(hours, 60.0), 1.0) for law in LAWS.values()]
    values[1][9] *= 0.8
    tasks = [
        Task(replace(series_of(hours, value), column=f"c{n}"), (LIMIT,)) for n, value in enumerate(values)
    ]
    named = judge_declines(tasks, Choices())
    request.getfixturevalue("lives_alone")
    for one, other in zip(named, judge_declines(tasks, Choices()), strict=True):
        assert other.model is not None
        assert other.model.name == "steady"
        assert (one.life, one.remaining, one.rate_per_h) == (other.life, other.remaining, other.rate_per_h)
        assert (one.outlying, one.errors_last, one.if_drifting) == (
            other.outlying, other.errors_last, other.if_drifting,
        )  # fmt: skip
        assert one.curve_low.tobytes() == other.curve_low.tobytes()


def numbers_in(found: Decline) -> list[float]:
    """Return every number that a decline states."""
    estimates = (found.life.hours, found.life.column_volumes, found.remaining, found.rate_per_h)
    ends = [end for one in estimates for end in (one.value, one.low, one.high) if end is not None]
    own = [found.life.conservative_h, *found.life.bracket_h, found.serial_correlation, found.serial_p]
    arrays = [float(x) for array in (found.percent, found.curve_low, found.curve_high) for x in array]
    return [*ends, *(value for value in own if value is not None), *arrays]


@pytest.mark.slow
@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 12), st.floats(0.0, 1e7)), min_size=0, max_size=16),
    st.sampled_from(["at_least_percent", "at_most_percent", "at_least", "at_most"]),
    st.floats(0.1, 200.0),
)
def test_whatever_was_measured_there_is_a_finite_answer(
    points: list[tuple[int, float]], bound: str, level: float
) -> None:
    """Any exposures and any values, constant, wild, few or none, give finite numbers or a reason."""
    points = sorted(points, key=lambda point: point[0])
    hours = np.array([10.0 * hour for hour, _ in points])
    value = np.array([value for _, value in points])
    limit = Limit("plate_number_half_height", **{bound: level})  # type: ignore[arg-type]
    with np.errstate(over="raise", invalid="raise", divide="raise"):
        found = judged(hours, value, limit)
    assert all(np.isfinite(number) for number in numbers_in(found))
    if found.life.hours.value is None:
        assert found.life.hours.reason
    low, high = found.life.hours.low, found.life.hours.high
    assert low is None or high is None or low <= high
    assert (found.model is None) == (len(found.curve_h) == 0)


@pytest.mark.parametrize(
    ("hours", "references"), [((0, 30, 60), 1), ((0, 0.1, 60), 2), ((0, 0.1, 0.2, 60), 3)]
)
def test_references_leave_something_to_hold_against_them(hours: tuple[float, ...], references: int) -> None:
    """Where the references would be all injections, those at the start are: a dead column is dead."""
    at_h = np.array(hours, dtype=float)
    found = judged(at_h, 12_000.0 * np.exp(-at_h / 155.0))
    assert found.reference_n == references
    assert found.life.state == "reached"
    low, high = found.life.hours.low, found.life.hours.high
    assert low is not None
    assert high is not None
    assert low < 155.0 * np.log(1.25) < high
