"""Two chromatograms as lines of block signs show what differs between them."""

import numpy as np

from lyewitness.traces.records import Trace
from lyewitness.traces.sketches import BLOCKS, WIDE, sketches
from lyewitness.words.arrays import FloatArray


def trace_of(time: FloatArray, signal: FloatArray) -> Trace:
    """Return a trace of these values."""
    return Trace("x.csv", "", time, signal, "mAU", "min", "delimited text", "0" * 64)


def gaussian(time: FloatArray, at: float, high: float) -> FloatArray:
    """Return a peak with a standard deviation of 0.05 min."""
    return np.asarray(high * np.exp(-0.5 * ((time - at) / 0.05) ** 2))


def test_time_and_height_are_common_to_all_lines() -> None:
    """A peak twice as high and later stands further right, as a full block beside half a one."""
    time = np.linspace(0, 6, 1201)
    usual, later, wide = sketches(
        {
            "A-1": trace_of(time, 300 + gaussian(time, 2.05, 50)),
            "A-12": trace_of(time, -4 + gaussian(time, 4.05, 100)),
        }
    )
    assert usual[:5] == "A-1  "
    assert later[:5] == "A-12 "
    assert len(usual) == len(later) == len(wide) == 5 + WIDE
    assert usual[5:].index(BLOCKS[4]) == 20
    assert later[5:].index(BLOCKS[7]) == 40
    assert wide.split() == ["0", "6", "min"]


def test_what_was_not_recorded_is_blank() -> None:
    """A run that ends halfway leaves the rest of its line blank, and so does one that ends before zero."""
    whole, half = np.linspace(0, 6, 601), np.linspace(0, 2.99, 300)
    lines = sketches({"a": trace_of(whole, whole * 0), "b": trace_of(half, half * 0)})
    assert lines[0] == "a " + BLOCKS[0] * WIDE
    assert lines[1] == "b " + BLOCKS[0] * 30 + " " * 30
    early = np.linspace(-3, -1, 50)
    assert sketches({"c": trace_of(early, early * 0)})[0] == "c " + " " * WIDE
