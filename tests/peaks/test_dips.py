"""Dips of the solvent beside and under a peak; their shapes here are none that the program fits."""

import numpy as np
import pytest

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import PeakRow
from lyewitness.peaks.survey.surveys import Survey, survey_traces
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import TruePeak, as_trace, reference_curve, study_of

TIME: FloatArray = np.arange(0.0, 4.0, 1.0 / 1200.0)
MARKERS = {"uracil": 0.61, "caffeine": 1.2, "metoprolol": 2.4}
PEAKS: tuple[TruePeak, ...] = (
    (3.0, 0.6, 0.01, 0.006),
    (5.0, 1.2, 0.014, 0.006),
    (6.0, 2.4, 0.022, 0.012),
)
HALF = 0.027
"""Width at half height of the first, minutes."""


def hump(at: float, wide: float) -> FloatArray:
    """Return a bump of height 1: the square of a hyperbolic secant, with tails that no Gaussian has."""
    return np.asarray(np.cosh(np.clip((TIME - at) / wide, -300.0, 300.0)) ** -2)


def signal_of(disturbance: FloatArray, seed: int) -> FloatArray:
    """Return the peaks on a disturbance, with noise."""
    noise = np.random.default_rng(seed).normal(0.0, 0.05, len(TIME))
    return np.asarray(sum((reference_curve(TIME, peak) for peak in PEAKS), disturbance + noise))


def uracil(disturbance: FloatArray, seed: int = 1) -> PeakRow:
    """Return the first marker as measured."""
    trace = as_trace(TIME, signal_of(disturbance, seed))
    return measure(study_of(MARKERS, [0.0]), {"i000": trace}).rows[0]


def surveyed(signal: FloatArray) -> Survey:
    """Return what stands on a signal."""
    return survey_traces([as_trace(TIME, signal)], [0.003])[0]


FREE = uracil(np.zeros_like(TIME))


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("depth", [20.0, 60.0])
@pytest.mark.parametrize("before", [1.5, 2.2])
def test_a_dip_beside_a_peak_costs_it_little(before: float, depth: float, seed: int) -> None:
    """A dip as wide as two peaks leaves area and plates of the one behind it as they are."""
    row = uracil(-depth * hump(0.6 - before * HALF, 0.026), seed)
    assert row.peak_area == pytest.approx(FREE.peak_area, rel=0.06)
    assert row.plate_number_half_height == pytest.approx(FREE.plate_number_half_height, rel=0.06)


@pytest.mark.parametrize("depth", [20.0, 60.0])
def test_a_peak_over_a_dip_says_how_little_is_known(depth: float) -> None:
    """How much lies above a dip under a peak its shape leaves open: its errors hold it, a flag tells."""
    row = uracil(-depth * hump(0.6 - 0.7 * HALF, 0.026))
    for name in ("peak_area", "plate_number_half_height"):
        off = abs(getattr(row, name) - getattr(FREE, name))
        assert off < 2.0 * getattr(row, f"{name}_se")
        assert off < 0.3 * getattr(FREE, name)
    assert "disturbed" in row.flags


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("size", [10.0, 40.0])
def test_the_lobe_of_a_lens_is_no_marker(size: float, seed: int) -> None:
    """A dip and a rise in front of the hold-up marker leave it its name and its area, or a flag."""
    at = 0.6 - 2.0 * HALF
    row = uracil(size * (hump(at + 0.02, 0.02) - hump(at - 0.02, 0.02)), seed)
    assert row.retention_time_min == pytest.approx(FREE.retention_time_min, abs=0.2 * HALF)
    is_right = abs((row.peak_area or 0.0) / (FREE.peak_area or 1.0) - 1.0) < 0.1
    assert is_right or set(row.flags) & {"disturbed", "merged", "overlap", "uncertain"}


def test_the_valley_between_two_peaks_is_no_dip() -> None:
    """What stays above the baseline is explained by peaks alone."""
    pair = [(5.0, 1.2, 0.014, 0.006), (5.0, 1.28, 0.014, 0.006)]
    noise = np.random.default_rng(1).normal(0.0, 0.05, len(TIME))
    survey = surveyed(np.asarray(sum((reference_curve(TIME, peak) for peak in pair), noise)))
    assert survey.solvent == ()
    assert len(survey.components) == 2


@pytest.mark.parametrize("ratio", [0.7, 1.0, 1.4])
def test_a_peak_that_looks_like_the_mirror_of_a_dip_is_not_lost(ratio: float) -> None:
    """A marker with a dip of its own height and width right before it stays a peak."""
    height = float(reference_curve(TIME, PEAKS[0]).max())
    survey = surveyed(signal_of(-ratio * height * hump(0.6 - 1.2 * HALF, 0.015), 1))
    assert any(abs(c.apex_min - 0.605) < 0.3 * HALF for c in survey.components)
