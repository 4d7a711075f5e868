"""Why a marker has no peak: what is said must be true of the trace."""

import numpy as np
import pytest

from lyewitness.peaks.measuring import measure
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import as_trace, study_of

MARKERS = {"uracil": 0.5, "caffeine": 1.2, "metoprolol": 2.5}
TIME: FloatArray = np.arange(0.0, 4.0, 0.004)


def gaussians(*peaks: tuple[float, float, float]) -> FloatArray:
    """Return the sum of peaks of (height, apex, σ)."""
    return sum((h * np.exp(-0.5 * ((TIME - at) / sd) ** 2) for h, at, sd in peaks), np.zeros_like(TIME))


def reason_of_uracil(signal: FloatArray) -> str:
    """Return why the first of three markers is absent from a signal with noise; empty where it is not."""
    noise = np.random.default_rng(3).normal(0.0, 0.05, len(TIME))
    row = measure(study_of(MARKERS, [0.0]), {"i000": as_trace(TIME, signal + noise)}).rows[0]
    return row.absent_because


LATE = ((100.0, 1.2, 0.03), (100.0, 2.5, 0.03))


def test_where_nothing_stands_there_is_no_peak() -> None:
    """Between two times with nothing but noise it says so."""
    assert reason_of_uracil(gaussians(*LATE)).startswith("no peak between ")


@pytest.mark.parametrize(
    ("early", "why"),
    [
        ((100.0, 0.5, 0.055), "too wide beside the sharpest peak of the trace (0.07"),
        ((100.0, 0.5, 0.12), "too wide for its retention time to be told from drift"),
        ((0.2, 0.5, 0.03), "rises too little out of the noise (standard deviation 0.06"),
    ],
)
def test_what_was_taken_for_background_is_not_said_to_be_missing(
    early: tuple[float, float, float], why: str
) -> None:
    """A top that is clear, and too wide for this trace, is named with its place, its width and the reason."""
    told = reason_of_uracil(gaussians(early, *LATE))
    assert told.startswith("what stands at 0.5")
    assert why in told


def test_a_peak_as_wide_as_the_others_is_the_marker() -> None:
    """It has no reason to be absent."""
    assert reason_of_uracil(gaussians((100.0, 0.5, 0.03), *LATE)) == ""
