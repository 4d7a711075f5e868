"""Widths, tangents and moments on curves that are known in closed form."""

from dataclasses import replace
from math import log, pi, sqrt

import numpy as np
import pytest
from scipy.stats import norm

from lyewitness.peaks.emg import LEVELS
from lyewitness.peaks.formulas import Outlines
from lyewitness.peaks.rows.outlines import PeakWindow, outline_peaks
from lyewitness.words.arrays import FloatArray

SIGMA = 0.02


def gaussian_window(points: float, shift: float, guide_sigma: float = 1.03 * SIGMA) -> PeakWindow:
    """Return a noiseless Gaussian of unit height at 1.5 min; the guiding curve is 3 % too wide."""
    step = 2.355 * SIGMA / points
    time = np.arange(1.5 - 5 * SIGMA, 1.5 + 5 * SIGMA, step) + shift * step
    area = sqrt(2.0 * pi)
    net = area * SIGMA * norm.pdf(time, 1.5, SIGMA)
    return PeakWindow(time, net, np.array([[area * SIGMA, 1.5, guide_sigma, 0.0]]), 1.5, SIGMA / guide_sigma)


def measured(windows: list[PeakWindow]) -> Outlines:
    """Return the outlines of windows."""
    return outline_peaks(windows)


@pytest.mark.parametrize("points", [10.0, 25.0, 80.0])
def test_a_gaussian_has_its_closed_form_widths(points: float) -> None:
    """W = 2σ√(2 ln 1/x) at each level x, tangents 4σ apart, variance σ², wherever the samples fall."""
    outlines = measured([gaussian_window(points, shift) for shift in np.linspace(0.0, 0.9, 10)])
    for place, level in enumerate(LEVELS):
        width = outlines.right[:, place] - outlines.left[:, place]
        assert np.allclose(width, 2.0 * SIGMA * sqrt(2.0 * log(1.0 / level)), rtol=1.5e-3)
    assert np.allclose(outlines.tangent_right - outlines.tangent_left, 4.0 * SIGMA, rtol=2e-3)
    assert np.allclose(outlines.apex, 1.5, atol=1e-3 * SIGMA)
    assert np.allclose(outlines.height, 1.0, rtol=1.5e-3)
    assert np.allclose(outlines.area, sqrt(2.0 * pi) * SIGMA, rtol=3e-4)
    assert np.allclose(outlines.variance, SIGMA**2, rtol=5e-3)


def test_widths_are_finer_than_the_sampling() -> None:
    """With ten samples across half height the width moves by less than a hundredth of a sample with phase."""
    outlines = measured([gaussian_window(10.0, shift) for shift in np.linspace(0.0, 0.9, 10)])
    width = outlines.right[:, 2] - outlines.left[:, 2]
    assert np.ptp(width) < 0.01 * 2.355 * SIGMA / 10.0


def test_a_split_peak_is_as_wide_as_its_outermost_flanks() -> None:
    """Two equal Gaussians 4σ apart are measured as one: at half height as wide as from flank to flank."""
    time = np.arange(1.3, 1.7, SIGMA / 12.0)

    def two(t: FloatArray) -> FloatArray:
        return np.asarray(SIGMA * (norm.pdf(t, 1.46, SIGMA) + norm.pdf(t, 1.54, SIGMA)))

    curves = np.array([[SIGMA, 1.46, SIGMA, 0.0], [SIGMA, 1.54, SIGMA, 0.0]])
    window = PeakWindow(time, two(time), curves, 1.46, float(two(time).max()))
    outlines = measured([window])
    fine = np.linspace(1.3, 1.7, 400_001)
    above = fine[two(fine) >= 0.5 * two(fine).max()]
    assert outlines.right[0, 2] - outlines.left[0, 2] == pytest.approx(above[-1] - above[0], rel=2e-3)


def test_a_skewed_triangle_keeps_its_ratio_at_every_level() -> None:
    """Front 1 and back 3: B/A at 10 % is 3 and the half width is half of the base."""
    time = np.arange(0.0, 6.0, 0.01)
    net = np.interp(time, [0.0, 1.0, 2.0, 5.0, 6.0], [0.0, 0.0, 1.0, 0.0, 0.0])
    outlines = measured([PeakWindow(time, net, np.array([[2.0, 1.9, 0.4, 1.0]]), 2.0, 1.0)])
    left, right = outlines.left[0], outlines.right[0]
    assert (right[1] - 2.0) / (2.0 - left[1]) == pytest.approx(3.0, rel=0.02)
    assert right[2] - left[2] == pytest.approx(2.0, rel=0.03)


def test_a_peak_cut_off_has_no_width() -> None:
    """Where the trace ends above half height there is no crossing, and none is made up."""
    whole = gaussian_window(25.0, 0.0)
    keep = whole.time < 1.5 + 0.5 * SIGMA
    cut = replace(whole, time=whole.time[keep], net=whole.net[keep])
    outlines = measured([cut])
    assert np.isnan(outlines.right[0]).all()
    assert np.isfinite(outlines.left[0]).all()


def test_noise_averages_out_of_the_widths() -> None:
    """At a height of 100 noise sds and 25 samples the half width has no bias above 0.3 % and 1 % spread."""
    rng = np.random.default_rng(3)
    windows = []
    for _ in range(300):
        clean = gaussian_window(25.0, rng.uniform())
        windows.append(replace(clean, net=clean.net + rng.normal(0.0, 0.01, len(clean.time))))
    outlines = measured(windows)
    ratio = (outlines.right[:, 2] - outlines.left[:, 2]) / (2.0 * SIGMA * sqrt(2.0 * log(2.0)))
    assert abs(float(ratio.mean()) - 1.0) < 0.003
    assert float(ratio.std()) < 0.01


def test_moments_are_those_of_the_signal_where_the_guide_stands_beside_it() -> None:
    """A guiding curve half a σ late, and of another area, leaves mean and area of a Gaussian alone."""
    true = gaussian_window(25.0, 0.0, SIGMA)
    off = replace(true, curves=true.curves * [1.1, 1.0, 1.0, 1.0] + [0.0, 0.5 * SIGMA, 0.0, 0.0])
    off = replace(off, apex=off.apex + 0.5 * SIGMA)
    outlines = measured([true, off])
    assert np.allclose(outlines.mean, 1.5, atol=0.02 * SIGMA)
    assert np.allclose(outlines.area, sqrt(2.0 * pi) * SIGMA, rtol=0.01)
