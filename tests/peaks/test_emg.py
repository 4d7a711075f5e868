"""The exponentially modified Gaussian against scipy, lmfit and its own calculus."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lmfit.lineshapes import expgaussian
from numpy.testing import assert_allclose
from scipy.stats import exponnorm, norm

from lyewitness.peaks.emg import emg, emg_moments, emg_with_slopes
from lyewitness.words.arrays import FloatArray


def at(value: float) -> FloatArray:
    """Return a number as the array that the curves take."""
    return np.array(value)


@pytest.mark.parametrize("ratio", [0.05, 0.3, 1.0, 1.5, 4.0, 30.0])
def test_curve_agrees_with_scipy(ratio: float) -> None:
    """The curve is scipy.stats.exponnorm(K = τ/σ) to rounding, far into both feet."""
    time = np.linspace(8.0, 30.0, 2201)
    ours = emg(time, at(10.0), at(0.1), at(0.1 * ratio))
    assert_allclose(ours, exponnorm.pdf(time, ratio, loc=10.0, scale=0.1), rtol=2e-9, atol=1e-12)


def test_curve_agrees_with_lmfit() -> None:
    """The curve is lmfit's exponential Gaussian with gamma = 1/τ."""
    time = np.linspace(9.0, 12.0, 601)
    theirs = expgaussian(time, amplitude=2.5, center=10.0, sigma=0.1, gamma=1 / 0.15)
    assert_allclose(2.5 * emg(time, at(10.0), at(0.1), at(0.15)), theirs, rtol=1e-10, atol=1e-14)


def test_values_computed_elsewhere() -> None:
    """tG 10, σ 0.1, τ 0.15, unit area; values from scipy 1.17 exponnorm and lmfit 1.3, which agree."""
    time = np.array([9.9, 10.0, 10.3, 10.8])
    known = [0.7749764622516508, 2.102166799645596, 1.1156959611515864, 0.04019586592928244]
    assert_allclose(emg(time, at(10.0), at(0.1), at(0.15)), known, rtol=1e-13)


@pytest.mark.parametrize("tau", [0.0, 1e-300, 1e-12, 1e-5, 9.9e-6, 1.01e-5])
def test_without_a_tail_it_is_the_gaussian(tau: float) -> None:
    """For τ → 0 the curve goes to scipy's normal density; its first-order difference is τ times the slope."""
    time = np.linspace(9.0, 11.0, 401)
    gauss = norm.pdf(time, 10.0, 0.1)
    expected = gauss - tau * np.gradient(gauss, time)
    assert_allclose(emg(time, at(10.0), at(0.1), at(tau)), expected, atol=1e-6)


@pytest.mark.parametrize("ratio", [-2.0, -0.3, -1e-3, 1e-3, 0.3, 2.0])
def test_slopes_are_those_of_the_curve(ratio: float) -> None:
    """Derivatives by centre, log σ and τ agree with central differences."""
    time, small = np.linspace(9.0, 11.5, 501), 1e-4
    center, sigma, tau = 10.0, 0.1, 0.1 * ratio
    _, by_center, by_log_sigma, by_tau = emg_with_slopes(time, at(center), at(sigma), at(tau))

    def difference(pair: list[FloatArray], step: float) -> FloatArray:
        return np.asarray((pair[0] - pair[1]) / (2.0 * step))

    moved = [emg(time, at(center + s * small * sigma), at(sigma), at(tau)) for s in (1, -1)]
    assert_allclose(by_center, difference(moved, small * sigma), atol=1e-5 * float(np.abs(by_center).max()))
    wider = [emg(time, at(center), at(sigma * np.exp(s * small)), at(tau)) for s in (1, -1)]
    assert_allclose(by_log_sigma, difference(wider, small), atol=1e-5 * float(np.abs(by_log_sigma).max()))
    longer = [emg(time, at(center), at(sigma), at(tau + s * small * sigma)) for s in (1, -1)]
    assert_allclose(by_tau, difference(longer, small * sigma), atol=1e-5 * float(np.abs(by_tau).max()))


def test_curve_and_slopes_do_not_jump_where_the_expansion_takes_over() -> None:
    """On both sides of τ = 0.0001 σ, of either sign, curve and slopes agree to the width of the step."""
    time, sides = np.linspace(9.0, 11.0, 401), []
    for ratio in (-1.01e-4, -0.99e-4, 0.0, 0.99e-4, 1.01e-4):
        sides.append(emg_with_slopes(time, at(10.0), at(0.1), at(0.1 * ratio)))
    for parts in zip(*sides, strict=True):
        largest = float(np.abs(parts[0]).max())
        for part in parts[1:]:
            assert_allclose(part, parts[0], atol=1e-3 * largest)


def test_moments_agree_with_scipy() -> None:
    """Mean, variance and third moment are those of scipy.stats.exponnorm."""
    mean, variance, third = emg_moments(at(10.0), at(0.1), at(0.15))
    theirs = exponnorm(1.5, loc=10.0, scale=0.1)
    assert_allclose(mean, theirs.mean(), rtol=1e-12)
    assert_allclose(variance, theirs.var(), rtol=1e-12)
    assert_allclose(third / variance**1.5, theirs.stats("s"), rtol=1e-12)


@given(st.floats(-8.0, 8.0), st.floats(1e-3, 10.0), st.floats(-12.0, 12.0))
def test_a_negative_tail_mirrors_the_curve(place: float, sigma: float, ratio: float) -> None:
    """Fronting is tailing with time running backwards, and the curve is finite and never negative."""
    one = emg(at(place * sigma), at(0.0), at(sigma), at(ratio * sigma))
    other = emg(at(-place * sigma), at(0.0), at(sigma), at(-ratio * sigma))
    assert np.isfinite(one)
    assert one >= 0.0
    assert_allclose(one, other, rtol=1e-9, atol=1e-12)
