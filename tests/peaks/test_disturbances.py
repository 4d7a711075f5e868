"""Edges of the level: told from every peak, taken off before measuring, and drawn in the baseline."""

import numpy as np
import pytest
from scipy.stats import exponnorm

from lyewitness.peaks.survey.disturbances import edges_at, without_edges
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import reference_curve
from tests.peaks.test_detectors import PEAKS, clean, grid, measured

STEP, PLACE = 5.0, 2.41
"""A tenth of the last peak's height, on its crest."""


def stepped(signal: FloatArray, size: float, at: float, return_min: float = np.inf) -> FloatArray:
    """Return a signal whose level jumps, and may come back."""
    since = grid() - at
    return signal + np.where(since >= 0.0, size * np.exp(-np.maximum(since, 0.0) / return_min), 0.0)


@pytest.mark.parametrize("at", [2.36, PLACE, 2.46, 2.52])
@pytest.mark.parametrize(
    ("size", "return_min"), [(STEP, np.inf), (-STEP, np.inf), (3.0 * STEP, 0.02), (-3.0 * STEP, 0.02)]
)
def test_a_step_or_a_bubble_on_a_peak_changes_no_metric_and_is_flagged(
    at: float, size: float, return_min: float
) -> None:
    """A jump of a tenth of the height anywhere on a peak moves area and plate number by 1.5 % at most."""
    signal = clean()
    plain, row = (
        measured([one]).of("i000", "metoprolol") for one in (signal, stepped(signal, size, at, return_min))
    )
    for name in ("peak_area", "plate_number_half_height"):
        assert getattr(row, name) == pytest.approx(getattr(plain, name), rel=0.015), name
    assert "disturbed" in row.flags
    assert row.spikes_removed == 0


def test_the_drawn_baseline_holds_the_step() -> None:
    """The baseline of the report jumps where the trace does, and the outline stands on it."""
    found = measured([stepped(clean(), STEP, PLACE)])
    time, value = found.baselines["i000"]
    before, behind = np.interp([PLACE - 0.002, PLACE + 0.002], time, value)
    assert behind - before == pytest.approx(STEP, rel=0.05)
    outline = found.of("i000", "metoprolol").outline
    assert outline is not None
    assert outline.baseline_end - outline.baseline_start == pytest.approx(STEP, rel=0.1)


@pytest.mark.parametrize("tail", [0.001, 0.5, 2.0])
@pytest.mark.parametrize("sigma", [0.7, 1.0, 1.5, 2.0, 2.5, 3.0, 5.0, 12.0])
def test_no_peak_is_taken_for_an_edge(sigma: float, tail: float) -> None:
    """However sharp a peak and wherever its samples lie, nothing is taken off it."""
    samples = np.arange(400.0)
    for phase in np.linspace(0.0, 1.0, 9):
        signal = exponnorm.pdf(samples, tail, loc=200.0 + phase, scale=sigma) * sigma * 250.0
        signal += np.random.default_rng(5).normal(0.0, 0.02, len(samples))
        assert without_edges(samples / 600.0, signal, 0.02)[1] == ()


@pytest.mark.parametrize("rounding", [0.0, 0.02])
def test_the_end_of_a_detector_is_no_edge(rounding: float) -> None:
    """Where a top is cut, sharply or not quite, a flank has a corner and the level does not jump."""
    signal = clean()
    end = 0.6 * signal.max()
    bent = np.minimum(signal, end)
    if rounding:
        bent = -rounding * end * np.logaddexp(-signal / (rounding * end), -1.0 / rounding)
    assert without_edges(grid(), bent, 0.1)[1] == ()


def test_missing_points_on_a_flank_are_no_edge() -> None:
    """Where points are missing the signal goes on elsewhere, and nothing has jumped."""
    time, signal = grid(), sum((reference_curve(grid(), one) for one in PEAKS), np.zeros(len(grid())))
    place = int(2.36 * 1200)
    kept = np.r_[0:place, place + 12 : len(time)]
    assert without_edges(time[kept], signal[kept], 0.01)[1] == ()


def test_what_was_taken_off_and_what_is_left_make_the_signal() -> None:
    """But for the sample amid it an edge is told whole: signal without it, and it, add up."""
    signal = stepped(stepped(clean(), STEP, PLACE), -8.0, 1.7, 0.015)
    left, edges = without_edges(grid(), signal, 0.1)
    assert [edge.passing != 0.0 for edge in edges] == [True, False]
    off = np.abs(left + edges_at(edges, grid()) - signal) > 1e-9
    assert np.count_nonzero(off) <= len(edges)
