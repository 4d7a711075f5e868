"""Peak shapes, noise and baselines that a detector would show.

In: times and peak parameters. Out: signals, as arrays. Random numbers come from raw bits through the
inverse normal distribution, so that a seed gives the same numbers with every NumPy.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import erfc, erfcx, ndtri

from lyewitness.words.arrays import FloatArray


def gaussian(time: ArrayLike, area: ArrayLike, center: ArrayLike, sigma: ArrayLike) -> FloatArray:
    """Return a Gaussian of that area; all arguments broadcast."""
    width = np.asarray(sigma, float)
    u = (np.asarray(time, float) - np.asarray(center, float)) / width
    return np.asarray(np.asarray(area, float) / (np.sqrt(2 * np.pi) * width) * np.exp(-0.5 * u * u))


def emg(time: ArrayLike, area: ArrayLike, center: ArrayLike, sigma: ArrayLike, tau: ArrayLike) -> FloatArray:
    """Return an exponentially modified Gaussian: a Gaussian convolved with exp(−t/τ)/τ.

    Of the two algebraic forms each is used where it neither overflows nor cancels (scaled
    complementary error function before, plain one behind the peak); τ = 0 is a Gaussian.
    All arguments broadcast.
    """
    time, area, center, sigma, tau = np.broadcast_arrays(
        *(np.asarray(value, float) for value in (time, area, center, sigma, tau))
    )
    u = (time - center) / sigma
    tail = np.maximum(tau, 1e-9 * sigma)
    z = (sigma / tail - u) / np.sqrt(2)
    before = np.exp(-0.5 * u * u) * erfcx(np.maximum(z, 0))
    behind = np.exp(np.minimum(0.5 * (sigma / tail) ** 2 - u * sigma / tail, 0)) * erfc(np.minimum(z, 0))
    return np.asarray(area / (2 * tail) * np.where(z >= 0, before, behind))


def fronting(
    time: ArrayLike, area: ArrayLike, center: ArrayLike, sigma: ArrayLike, tau: ArrayLike
) -> FloatArray:
    """Return the mirror image of `emg` about `center`: a peak with a leading edge."""
    return emg(2 * np.asarray(center) - np.asarray(time), area, center, sigma, tau)


def random_stream(*keys: int) -> np.random.PCG64:
    """Return a bit generator for these keys; the same keys give the same bits everywhere."""
    return np.random.PCG64(np.random.SeedSequence(list(keys)))


def uniform(stream: np.random.PCG64, shape: Sequence[int]) -> FloatArray:
    """Return numbers between 0 and 1, both excluded."""
    raw = np.asarray(stream.random_raw(int(np.prod(shape))), dtype=np.uint64)
    return ((raw >> np.uint64(11)).astype(float) + 0.5).reshape(shape) * 2.0**-53


def normal(stream: np.random.PCG64, shape: Sequence[int]) -> FloatArray:
    """Return standard normal numbers."""
    return np.asarray(ndtri(uniform(stream, shape)))


def serial_normal(stream: np.random.PCG64, shape: Sequence[int], serial: float) -> FloatArray:
    """Return standard normal series along the last axis with lag-one correlation `serial`."""
    series = normal(stream, shape)
    fresh = np.sqrt(1 - serial**2)
    for i in range(1, series.shape[-1]):
        series[..., i] = serial * series[..., i - 1] + fresh * series[..., i]
    return series


def flicker(stream: np.random.PCG64, shape: tuple[int, int]) -> FloatArray:
    """Return series along the last axis whose power falls as 1/f, with unit standard deviation."""
    points = shape[-1]
    spectrum = np.fft.rfft(normal(stream, shape), axis=-1)
    weight = np.zeros(spectrum.shape[-1])
    weight[1:] = 1 / np.sqrt(np.arange(1, spectrum.shape[-1]))
    # Parseval: the weights are scaled so that the expected variance of the result is one.
    expected = np.sqrt(2 * np.sum(weight**2) / points)
    return np.asarray(np.fft.irfft(spectrum * weight, points, axis=-1) / expected)


def drifting_baseline(stream: np.random.PCG64, shape: tuple[int, int], size: float) -> FloatArray:
    """Return baselines along the last axis: offset, slope and two slow waves, each of about `size`."""
    x = np.linspace(0, 1, shape[-1])
    draw = normal(stream, (shape[0], 4))[:, :, None] * size
    phase = uniform(stream, (shape[0], 2))[:, :, None] * 2 * np.pi
    waves = 0.4 * draw[:, 2] * np.sin(np.pi * x + phase[:, 0])
    ripples = 0.1 * draw[:, 3] * np.sin(3 * np.pi * x + phase[:, 1])
    return np.asarray(draw[:, 0] + draw[:, 1] * x + waves + ripples)
