"""The rules by which every draft becomes a trace."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.study.records import Exports
from lyewitness.traces.records import Trace
from lyewitness.traces.shaping import Draft, Origin, shape
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import StudyFolderError

ORIGIN = Origin("a.csv", "delimited text", "0" * 64)


def shaped(time: FloatArray, signal: FloatArray | None = None, unit: str = "min") -> Trace:
    """Return the trace of these points."""
    values: FloatArray = np.arange(time.size, dtype=np.float64) if signal is None else signal
    return shape(Draft(time, values, unit), ORIGIN, Exports())


def problem_of(time: FloatArray, signal: FloatArray | None = None, unit: str = "min") -> str:
    """Return the message with which these points are refused."""
    with pytest.raises(StudyFolderError) as error:
        shaped(time, signal, unit)
    return str(error.value)


def test_rounded_times_are_put_back_on_their_step() -> None:
    """Times cut to two decimals, so that several are equal, become the even times that they were."""
    true = np.arange(3000) / 300
    trace = shaped(np.round(true, 2))
    np.testing.assert_allclose(trace.time_min, true, atol=0.0002)
    assert trace.cautions == (
        "Times are rounded to 0.01 min and fit an even step of 0.0033333 min within that rounding; "
        "the even step was used.",
    )


def test_a_jitter_from_rounding_is_taken_out() -> None:
    """Times that rounding moves by a few hundredths of a step are made even again."""
    true = 1 / 600 * np.arange(6000)
    trace = shaped(np.round(true, 4))
    np.testing.assert_allclose(np.diff(trace.time_min), 1 / 600, rtol=1e-5)
    assert len(trace.cautions) == 1


@pytest.mark.parametrize("decimals", [5, 6, 9])
def test_a_jitter_that_moves_nothing_is_left(decimals: int) -> None:
    """Times that rounding moves by less than a hundredth of a step stay as they are."""
    time: FloatArray = np.round(np.arange(6000.0) / 600, decimals)
    trace = shaped(time)
    np.testing.assert_array_equal(trace.time_min, time)
    assert trace.cautions == ()


def test_a_gap_is_no_rounding() -> None:
    """Points that lack one in the middle keep their gap."""
    time: FloatArray = np.delete(np.arange(60.0), 30)
    trace = shaped(time)
    np.testing.assert_array_equal(trace.time_min, time)
    assert trace.cautions == ()


def test_uneven_sampling_is_kept() -> None:
    """Steps that no rounding explains are honest and stay."""
    time: FloatArray = np.round(np.cumsum(0.01 + 0.004 * np.sin(np.arange(500.0))), 3)
    trace = shaped(time)
    np.testing.assert_array_equal(trace.time_min, time)
    assert trace.cautions == ()


def test_two_rates_of_sampling_are_kept() -> None:
    """A run that changes its rate half way keeps both rates."""
    time = np.concatenate([np.arange(100) * 0.01, 1 + np.arange(100) * 0.05])
    np.testing.assert_array_equal(shaped(time).time_min, time)


def test_points_at_one_time_become_their_mean() -> None:
    """Points that share a time without being rounded from an even step are averaged, with a caution."""
    trace = shaped(np.array([0, 1.5, 1.5, 4, 4, 4, 9]), np.array([0, 2, 4, 3, 6, 9, 1.0]))
    np.testing.assert_array_equal(trace.time_min, [0, 1.5, 4, 9])
    np.testing.assert_array_equal(trace.signal, [0, 3, 6, 1])
    assert trace.cautions == ("2 times stand more than once (first: point 2): their mean was taken.",)


def test_time_that_goes_back_is_refused() -> None:
    """A time below the one before it names the point and both times."""
    message = problem_of(np.array([0, 1, 2, 1.5, 3]))
    assert "point 4" in message
    assert "from 2 to 1.5 min" in message


def test_one_time_throughout_is_refused() -> None:
    """A column in which nothing moves is no time."""
    assert "one and the same time" in problem_of(np.zeros(30))


def test_huge_values_count_as_missing() -> None:
    """Values that no detector gives are gaps."""
    trace = shaped(np.arange(10.0), np.array([0, 1, np.inf, 3, 4, 5e37, 6, 7, 8, 9]))
    np.testing.assert_array_equal(trace.signal, [0, 1, 3, 4, 6, 7, 8, 9])
    assert trace.cautions == ("2 points have no value (first: point 3): left out of the trace.",)


def test_a_trace_that_is_mostly_missing_is_refused() -> None:
    """More gaps than values is no trace."""
    signal = np.full(10, np.nan)
    signal[:4] = 1
    assert "no value in 6 of 10 points" in problem_of(np.arange(10.0), signal)


def test_too_few_points_are_refused() -> None:
    """One point is no trace."""
    assert "1 points" in problem_of(np.array([1.0]))


@pytest.mark.parametrize("time", [[0.0, 1e9], [1e300, 2e300], [0, 1e-320]])
def test_times_of_no_run_are_refused(time: list[float]) -> None:
    """Times beyond any run, or too small to tell apart in minutes, are refused."""
    assert problem_of(np.array(time), unit="ms" if time[1] < 1 else "h")


@pytest.mark.parametrize(("unit", "minutes"), [("ms", 1 / 60_000), ("s", 1 / 60), ("min", 1), ("h", 60)])
def test_units_become_minutes(unit: str, minutes: float) -> None:
    """Every unit becomes minutes, and the trace keeps its word."""
    trace = shaped(np.arange(5.0), unit=unit)
    np.testing.assert_allclose(trace.time_min, np.arange(5) * minutes)
    assert trace.time_unit == unit


@settings(deadline=None)
@given(
    st.lists(st.floats(0.001, 10), min_size=2, max_size=40),
    st.sampled_from([0.001, 0.5, 3.0, 1000.0]),
)
def test_the_unit_of_time_changes_nothing_else(steps: list[float], scale: float) -> None:
    """Times of any spacing stay in order and keep their spacing, whatever their scale."""
    time: FloatArray = np.cumsum(np.array(steps)) * scale
    trace = shaped(time, unit="s")
    assert np.all(np.diff(trace.time_min) > 0)
    assert trace.time_min[-1] - trace.time_min[0] == pytest.approx((time[-1] - time[0]) / 60, rel=1e-2)


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        (r"C:\Users\private\run 3", "run 3"),
        ("/home/private/run", "run"),
        (r"\\server\private\UV", "UV"),
        ("file:///private/UV", "UV"),
        ("UV 220/254 nm", "UV 220/254 nm"),
    ],
)
def test_a_path_as_name_loses_its_folders(name: str, kept: str) -> None:
    """Folders tell of persons and machines; a slash between wavelengths is no folder."""
    draft = Draft(np.arange(3.0), np.arange(3.0), "s", name=name)
    assert shape(draft, ORIGIN, Exports()).name == kept
