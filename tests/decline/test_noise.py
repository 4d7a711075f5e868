"""The view of the noise against the same sums done with whole matrices."""

import numpy as np
import pytest
import statsmodels.api as sm

from lyewitness.decline.noise import CORRELATIONS, GROWTHS, progress, view_noise, whitener
from lyewitness.words.arrays import FloatArray

N, REFERENCE = 20, 3
U = np.linspace(0.0, 1.0, N)


def covariance_of(correlation: float, growth: float, way: FloatArray) -> FloatArray:
    """Return the (n, n) covariance of first-order autoregressive noise with unit innovations that grows."""
    scale = np.exp(growth * way)
    lag = np.abs(np.subtract.outer(np.arange(len(way)), np.arange(len(way))))
    return np.asarray(scale[:, None] * scale * correlation**lag / (1 - correlation**2))


def example() -> tuple[FloatArray, FloatArray]:
    """Return the Jacobian (n, 2) of a straight line and residuals (n,)."""
    return np.stack([np.ones(N), U], axis=1), np.random.default_rng(3).standard_normal(N)


def test_averages_agree_with_whole_matrices() -> None:
    """Weights, covariances and likelihoods are those of generalised least squares, node by node."""
    design, residual = example()
    view = view_noise(U[None, :], design[None], residual[None], REFERENCE)
    first = np.zeros(N)
    first[:REFERENCE] = 1 / REFERENCE
    restricted, likelihood, parts = [], [], []
    for growth in GROWTHS:
        for correlation in CORRELATIONS:
            sigma = covariance_of(float(correlation), float(growth), U)
            inverse = np.linalg.inv(sigma)
            normal = design.T @ inverse @ design
            shift = np.linalg.solve(normal, design.T @ inverse @ residual)
            left = residual - design @ shift
            squares = float(left @ inverse @ left)
            logs = np.linalg.slogdet(sigma)[1]
            restricted.append(-0.5 * ((N - 2) * np.log(squares) + np.linalg.slogdet(normal)[1] + logs))
            likelihood.append(-0.5 * (N * np.log(squares / N) + N * (1 + np.log(2 * np.pi)) + logs))
            variance = squares / (N - 2)
            gain = np.linalg.solve(normal, design.T @ inverse)
            shared, own = gain @ sigma @ first, first @ sigma @ first
            parts.append((shift, variance * np.linalg.inv(normal), variance * shared, variance * own))
    weight = np.exp(np.array(restricted) - max(restricted))
    weight /= weight.sum()
    shifts = np.array([part[0] for part in parts])
    mean = weight @ shifts
    between = np.einsum("g,gp,gq->pq", weight, shifts - mean, shifts - mean)
    assert view.weight[0].ravel() == pytest.approx(weight, rel=1e-6)
    assert view.log_likelihood[0].ravel() == pytest.approx(np.array(likelihood), rel=1e-9)
    assert view.shift[0] == pytest.approx(mean, rel=1e-6)
    within = np.einsum("g,gpq->pq", weight, np.array([part[1] for part in parts]))
    assert view.covariance[0] == pytest.approx(within + between, rel=1e-6)
    assert view.with_reference[0] == pytest.approx(weight @ np.array([part[2] for part in parts]), rel=1e-6)
    assert view.reference_variance[0] == pytest.approx(
        weight @ np.array([part[3] for part in parts]), rel=1e-6
    )


def test_whitened_noise_is_independent() -> None:
    """Whitening turns the covariance of correlated, growing noise into the identity."""
    way = U**2
    white = whitener(way[None, :], np.array([0.6]), np.array([np.log(3.0)]))
    root = np.asarray(np.linalg.cholesky(covariance_of(0.6, float(np.log(3.0)), way)), dtype=np.float64)
    whitened = white(root[None])[0]
    assert whitened @ whitened.T == pytest.approx(np.eye(N), abs=1e-12)


def test_whitened_fit_agrees_with_statsmodels() -> None:
    """A line fitted to whitened rows is statsmodels' generalised least squares with the same covariance."""
    design, values = example()
    white = whitener(U[None, :], np.array([0.45]), np.array([0.7]))
    beta = np.linalg.lstsq(white(design[None])[0], white(values[None])[0], rcond=None)[0]
    other = sm.GLS(values, design, sigma=covariance_of(0.45, 0.7, U)).fit()
    assert beta == pytest.approx(other.params, rel=1e-9)


def test_progress_is_the_share_of_the_way() -> None:
    """A curve from 100 to 60 has come half the way at 80; a steady one counts by exposure."""
    found = progress(np.array([0.0, 0.5, 1.0]), np.array([[100.0, 80.0, 60.0], [100.0, 100.0, 100.0]]))
    assert found.tolist() == [[0.0, 0.5, 1.0], [0.0, 0.5, 1.0]]
