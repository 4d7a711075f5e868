"""Peak formulas on curves whose widths are known in closed form."""

from math import erf, log, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq, minimize_scalar
from scipy.stats import exponnorm, norm

from lyewitness.peaks import formulas

GAUSSIAN_HALF_WIDTH = 2.0 * sqrt(2.0 * log(2.0))
"""Width at half height ÷ σ of a Gaussian (closed form)."""


def test_plate_numbers_of_a_gaussian() -> None:
    """A Gaussian with tR/σ = 100 has 10 000 plates; the chapter's 5.54 reads 0.09 % less than 8 ln 2."""
    half = formulas.plate_number_half_height(100.0, GAUSSIAN_HALF_WIDTH)
    assert half == pytest.approx(10_000 * 5.54 / (8.0 * log(2.0)))
    assert formulas.plate_number_tangent(100.0, 4.0) == 10_000
    assert formulas.plate_number_moments(100.0, 1.0) == 10_000


def test_resolution_of_two_gaussians() -> None:
    """Four σ apart is a resolution of one by base widths; the chapter's 1.18 reads 0.22 % more."""
    found = formulas.resolution(14.0, GAUSSIAN_HALF_WIDTH, 10.0, GAUSSIAN_HALF_WIDTH)
    assert found == pytest.approx(1.18 / sqrt(2.0 * log(2.0)))
    assert found == pytest.approx(1.0022, abs=1e-4)


def test_symmetry_of_a_skewed_triangle() -> None:
    """A triangle with front 1 and back 3 keeps that ratio at every height: As = 2, B/A = 3."""
    front, back = 0.95, 2.85
    assert formulas.symmetry_factor(front + back, front) == pytest.approx(2.0)
    assert formulas.asymmetry_10(0.9, 2.7) == pytest.approx(3.0)


@pytest.mark.parametrize("ratio", [0.3, 0.6, 1.0, 1.5, 2.0, 2.5, 3.0])
def test_foley_dorsey_keeps_its_error_limits(ratio: float) -> None:
    """Against tR²/M2 of exact curves N is off by −1.3 … +0.7 % up to B/A 2.76, by −9.2 … −1.4 % up to 4.

    Limits computed from exact curves with scipy's exponnorm; σ = tR/100.
    """

    def curve(t: float) -> float:
        return float(exponnorm.pdf(t, ratio, loc=100.0))

    apex = minimize_scalar(lambda t: -curve(t), bounds=(99.0, 101.0 + ratio), method="bounded").x
    level = 0.1 * curve(apex)
    left = brentq(lambda t: curve(t) - level, 90.0, apex)
    right = brentq(lambda t: curve(t) - level, apex, 130.0)
    asymmetry = formulas.asymmetry_10(apex - left, right - apex)
    plates = formulas.plate_number_emg(apex, right - left, asymmetry)
    error = 100.0 * (plates / (apex**2 / (1.0 + ratio**2)) - 1.0)
    low, high = (-1.31, 0.71) if asymmetry <= 2.76 else (-9.2, -1.3)
    assert low <= error <= high


def test_foley_dorsey_sigma_and_variance_of_a_tailing_peak() -> None:
    """Their σ and M2 agree with the curve's own at τ = σ within 2 % (limits from memory)."""
    ratio = 1.0
    grid = np.linspace(-5.0, 15.0, 200_001)
    curve = exponnorm.pdf(grid, ratio)
    above = grid[curve >= 0.1 * curve.max()]
    apex = grid[curve.argmax()]
    asymmetry = (above[-1] - apex) / (apex - above[0])
    width = above[-1] - above[0]
    assert formulas.emg_sigma(width, asymmetry) == pytest.approx(1.0, rel=0.02)
    assert formulas.emg_variance(width, asymmetry) == pytest.approx(1.0 + ratio**2, rel=0.02)


def test_area_between_the_tangents_of_a_gaussian() -> None:
    """The inflection tangents of a Gaussian meet the baseline 4 σ apart and enclose all but 4.6 % (erf)."""
    assert 1.0 - erf(2.0 / sqrt(2.0)) == pytest.approx(0.0455, abs=1e-4)
    assert formulas.plate_number_tangent(8.0, 4.0) == 64.0


def test_simple_ratios() -> None:
    """S/N = 2H/h, Hp/Hv, k = (tR − t0)/t0 and h = L/(N dp), by their definitions."""
    assert formulas.signal_to_noise(50.0, 4.0) == 25.0
    assert formulas.peak_to_valley(20.0, 4.0) == 5.0
    assert formulas.retention_factor(1.5, 0.3) == pytest.approx(4.0)
    assert formulas.reduced_plate_height(10_000.0, 50.0, 2.5) == pytest.approx(2.0)


def test_a_fronting_peak_has_the_plates_of_its_mirror_image() -> None:
    """Foley and Dorsey's N takes A/B where the front is the longer side."""
    assert formulas.plate_number_emg(5.0, 0.2, 0.5) == formulas.plate_number_emg(5.0, 0.2, 2.0)


@given(st.floats(0.01, 100.0), st.floats(1e-3, 0.5), st.floats(1.0, 4.0), st.floats(1e-3, 1e3))
def test_plate_numbers_have_no_unit(retention: float, share: float, asymmetry: float, scale: float) -> None:
    """Rescaling time leaves every plate number as it is."""
    width = share * retention
    assert_allclose(
        formulas.plate_number_half_height(scale * retention, scale * width),
        formulas.plate_number_half_height(retention, width),
    )
    assert_allclose(
        formulas.plate_number_emg(scale * retention, scale * width, asymmetry),
        formulas.plate_number_emg(retention, width, asymmetry),
    )


@pytest.mark.parametrize("phase", [0.02, 0.25, 0.5, 0.75, 0.98])
def test_a_rounded_top_keeps_one_value_no_longer_than_the_curvature_allows(phase: float) -> None:
    """Of a Gaussian rounded to 0.1 the highest value lasts as long as its definition says, at most."""
    time = np.linspace(-1.0, 1.0, 40001)
    top = 0.1 * (200.5 + phase)
    rounded = np.round(top * norm.pdf(time) / norm.pdf(0.0) / 0.1)
    lasts = float(np.ptp(time[rounded == rounded.max()]))
    longest = formulas.rounded_top(top, 2.0 * np.sqrt(2.0 * np.log(2.0)), 0.1)
    assert lasts == pytest.approx(longest * np.sqrt(phase), rel=0.02)
