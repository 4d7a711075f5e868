"""Peak shapes, exact dimensions and random numbers, against scipy and closed forms."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import exponnorm

from lyewitness.rehearsal.signals import (
    drifting_baseline,
    emg,
    exact_shape,
    flicker,
    fronting,
    gaussian,
    normal,
    random_stream,
    serial_normal,
    shape_of,
    symmetry_of,
)


@pytest.mark.parametrize("ratio", [0.01, 0.1, 0.5, 1.0, 2.0, 4.0, 10.0])
def test_emg_is_the_exponentially_modified_normal_density(ratio: float) -> None:
    """Reference: scipy.stats.exponnorm(K = τ/σ)."""
    time = np.linspace(9, 14, 4001)
    ours = emg(time, 1.0, 10.0, 0.1, 0.1 * ratio)
    np.testing.assert_allclose(ours, exponnorm.pdf(time, K=ratio, loc=10, scale=0.1), rtol=1e-9, atol=1e-12)


@given(st.floats(0, 1e3), st.floats(1e-3, 10))
def test_emg_is_finite_and_never_negative(tau: float, sigma: float) -> None:
    """Neither a vanishing nor a huge time constant overflows."""
    signal = emg(np.linspace(-50, 50, 501), 1.0, 0.0, sigma, tau)
    assert np.isfinite(signal).all()
    assert (signal >= 0).all()


def test_without_tail_it_is_a_gaussian() -> None:
    """τ = 0 is the limit, not a division by zero."""
    time = np.linspace(-4, 4, 101)
    np.testing.assert_allclose(emg(time, 2.0, 0.0, 1.0, 0.0), gaussian(time, 2.0, 0.0, 1.0), rtol=1e-7)


def test_a_fronting_peak_is_the_mirror_image() -> None:
    """Its mean lies before its centre by τ."""
    time = np.linspace(-80, 20, 100001)
    signal = fronting(time, 1.0, 0.0, 1.0, 2.0)
    assert np.trapezoid(time * signal, time) == pytest.approx(-2.0, abs=1e-6)


def test_apex_of_the_published_curve() -> None:
    """For centre 10, σ 0.1, τ 0.15 the apex is at 10.0880939 and 2.7064018 high (scipy, lmfit)."""
    shape = exact_shape([1.5])
    assert 10 + 0.1 * shape.apex[0] == pytest.approx(10.0880939, abs=1e-7)
    assert shape.height[0] / 0.1 == pytest.approx(2.7064018, abs=1e-6)


def test_dimensions_of_a_gaussian_are_known_in_closed_form() -> None:
    """Half width 2 √(2 ln 2), width at 10 % 2 √(2 ln 10), tangents 4, symmetry 1."""
    shape = exact_shape([0.0])
    assert shape.width_half[0] == pytest.approx(2 * np.sqrt(2 * np.log(2)), rel=1e-9)
    assert shape.width_10[0] == pytest.approx(2 * np.sqrt(2 * np.log(10)), rel=1e-9)
    assert shape.width_tangent[0] == pytest.approx(4.0, rel=1e-5)
    assert shape.symmetry_factor[0] == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("ratio", [0.3, 1.0, 3.0, 8.0])
def test_dimensions_agree_with_a_fine_grid(ratio: float) -> None:
    """Reference: scipy's density on a grid of 1e-4 σ, read off without any root finding."""
    time = np.arange(-8, 60, 1e-4)
    signal = exponnorm.pdf(time, K=ratio)
    shape = exact_shape([ratio])
    top = int(np.argmax(signal))
    assert shape.apex[0] == pytest.approx(time[top], abs=2e-4)
    for width, level in ((shape.width_half[0], 0.5), (shape.width_10[0], 0.1)):
        above = np.flatnonzero(signal >= level * signal[top])
        assert width == pytest.approx(time[above[-1]] - time[above[0]], abs=4e-4)
    five = time[np.flatnonzero(signal >= 0.05 * signal[top])[[0, -1]]]
    expected = (five[1] - five[0]) / (2 * (time[top] - five[0]))
    assert shape.symmetry_factor[0] == pytest.approx(expected, abs=4e-4)
    assert symmetry_of(ratio) == pytest.approx(shape.symmetry_factor[0], abs=2e-6)
    slope = np.gradient(signal, time)
    feet = [time[i] - signal[i] / slope[i] for i in (int(np.argmax(slope)), int(np.argmin(slope)))]
    assert shape.width_tangent[0] == pytest.approx(feet[1] - feet[0], rel=1e-4)


def test_random_numbers_are_normal_serial_and_repeatable() -> None:
    """Mean 0, standard deviation 1, the wanted lag-one correlation, and the same bits for the same keys."""
    draw = serial_normal(random_stream(3, 1), (400, 200), 0.5)
    assert abs(draw.mean()) < 0.02
    assert draw.std() == pytest.approx(1.0, abs=0.02)
    assert np.mean(draw[:, 1:] * draw[:, :-1]) == pytest.approx(0.5, abs=0.02)
    np.testing.assert_array_equal(normal(random_stream(5), (9,)), normal(random_stream(5), (9,)))
    assert not np.array_equal(normal(random_stream(5), (9,)), normal(random_stream(6), (9,)))


def test_flicker_noise_falls_as_one_over_f() -> None:
    """The power in octaves is equal, the standard deviation one."""
    noise = flicker(random_stream(1), (200, 4096))
    assert noise.std() == pytest.approx(1.0, abs=0.05)
    power = (np.abs(np.fft.rfft(noise, axis=-1)) ** 2).mean(axis=0)
    octaves = [power[2**k : 2 ** (k + 1)].sum() for k in range(3, 10)]
    np.testing.assert_allclose(octaves, np.mean(octaves), rtol=0.2)


def test_baselines_are_slow() -> None:
    """A baseline changes from point to point by far less than its size."""
    lines = drifting_baseline(random_stream(1), (50, 4800), 1.0)
    assert np.abs(np.diff(lines, axis=-1)).max() < 0.01
    assert lines.std() > 0.3


def test_the_table_of_shapes_is_as_good_as_the_exact_curves() -> None:
    """Every dimension agrees within 1e-8 between the knots, and beyond the table is an error."""
    ratios = np.array([0.0, 0.0123, 0.4567, 0.9, 2.345, 5.55, 13.3, 19.9])
    exact, quick = exact_shape(ratios), shape_of(ratios)
    for name in ("apex", "height", "width_half", "width_10", "symmetry_factor", "asymmetry_10"):
        np.testing.assert_allclose(getattr(quick, name), getattr(exact, name), rtol=1e-8, atol=1e-9)
    np.testing.assert_allclose(quick.width_tangent, exact.width_tangent, rtol=1e-5)
    with pytest.raises(ValueError, match="above"):
        shape_of(21.0)
