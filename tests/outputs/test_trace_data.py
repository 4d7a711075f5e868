"""What the viewer reads is the trace that was measured."""

from base64 import b64decode

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.outputs.trace_data import (
    MOST_POINTS,
    SIGNAL_STEPS,
    TIME_STEP_MIN,
    PackedTrace,
    packed,
    thinned,
)
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray


def trace_of(time: FloatArray, signal: FloatArray) -> Trace:
    """Return a trace of the given points."""
    return Trace("x.csv", "", time, signal, "mAU", "min", "delimited text", "0" * 64)


def unpacked(text: str) -> list[int]:
    """Return the integers of a packed text: seven bits a byte, lowest first, zigzag as in LEB128 streams."""
    numbers, value, shift = [], 0, 0
    for byte in b64decode(text):
        value |= (byte & 127) << shift
        shift += 7
        if not byte & 128:
            numbers.append((value >> 1) ^ -(value & 1))
            value, shift = 0, 0
    return numbers


def read_back(data: PackedTrace) -> tuple[FloatArray, FloatArray]:
    """Return (time, signal) as the viewer decodes them."""
    time = np.cumsum(np.cumsum(unpacked(data["t"]))) * TIME_STEP_MIN
    levels = np.cumsum(unpacked(data["y"]))
    return time, data["y0"] + levels * data["dy"]


@given(
    st.lists(st.floats(-1e4, 1e4), min_size=2, max_size=300),
    st.floats(0.001, 0.1),
    st.floats(-1.0, 30.0),
)
def test_a_packed_trace_reads_back_within_a_step(signal: list[float], step: float, start: float) -> None:
    """Times come back within half a time step, signals within half a signal step."""
    time: FloatArray = np.asarray(start + step * np.arange(len(signal)), dtype=np.float64)
    values = np.array(signal)
    read_time, read_signal = read_back(packed(trace_of(time, values)))
    assert np.abs(read_time - time).max() <= 0.51 * TIME_STEP_MIN
    assert np.abs(read_signal - values).max() <= 0.51 * (np.ptp(values) / SIGNAL_STEPS or 1.0)


def test_thinning_leaves_peaks_whole_where_the_rest_has_points_to_spare() -> None:
    """Of twice as many points as are kept those of a peak all stay: seen closely, its apex has no corners."""
    time = np.linspace(0, 4, 2 * MOST_POINTS)
    noise = np.random.default_rng(4).normal(0, 0.02, time.size)
    signal = 50 * np.exp(-0.5 * ((time - 1.04) / 0.018) ** 2) + noise
    kept_time, _ = thinned(time, signal)
    near = np.abs(time - 1.04) < 0.05
    assert kept_time.size <= MOST_POINTS + 2
    assert np.isin(time[near], kept_time).all()
    bare = kept_time[kept_time < 0.9]
    assert np.diff(bare).max() < 4 / (MOST_POINTS / 8), "a baseline is drawn from both ends of each stretch"


def test_thinning_keeps_every_apex() -> None:
    """A long trace is thinned to what a screen can show, and a peak one point wide is still at its height."""
    time = np.linspace(0, 10, 60_000)
    signal = np.random.default_rng(4).normal(0, 0.1, time.size)
    signal[31_234] = 50.0
    kept_time, kept = thinned(time, signal)
    assert kept.size <= MOST_POINTS + 2
    assert kept.max() == 50.0
    assert kept_time[kept.argmax()] == time[31_234]
    assert (np.diff(kept_time) > 0).all()
