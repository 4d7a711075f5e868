"""Peak shapes, noise and baselines that a detector would show.

In: times and peak parameters. Out: signals, as arrays. Random numbers come from raw bits through the
inverse normal distribution, so that a seed gives the same numbers with every NumPy.

What the exact exponentially modified Gaussian is like is had by bisection on the exact curve, never from a
sampled trace, so that a measured value can be compared with it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from functools import cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline
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


# The bits of a double: no further halving moves a root.
HALVINGS = 52
LARGEST_RATIO = 20.0


@dataclass(frozen=True, eq=False, slots=True)
class Shape:
    """Dimensions of peaks of unit area and σ = 1 with the centre at 0; arrays of one length."""

    apex: FloatArray
    """Where the top is."""
    height: FloatArray
    width_half: FloatArray
    width_tangent: FloatArray
    """Between the points where the tangents at the inflections meet the baseline."""
    width_10: FloatArray
    symmetry_factor: FloatArray
    """Width at 5 % ÷ twice its front part."""
    asymmetry_10: FloatArray
    """Rear ÷ front part at 10 %."""


def exact_shape(ratio: ArrayLike) -> Shape:
    """Return the dimensions of the exact curves with these τ ÷ σ, (n,), 0 … 20."""
    r = np.atleast_1d(np.asarray(ratio, float))
    apex = _apex(r)
    height = emg(apex, 1.0, 0.0, 1.0, r)
    half = _ends(r, apex, 0.5 * height)
    ten = _ends(r, apex, 0.1 * height)
    five = _ends(r, apex, 0.05 * height)
    return Shape(
        apex=apex,
        height=height,
        width_half=half[1] - half[0],
        width_tangent=_tangent_width(np.maximum(r, 1e-3)),
        width_10=ten[1] - ten[0],
        symmetry_factor=(five[1] - five[0]) / (2 * (apex - five[0])),
        asymmetry_10=(ten[1] - apex) / (apex - ten[0]),
    )


def shape_of(ratio: ArrayLike) -> Shape:
    """Return `exact_shape` from a cubic through exact curves, within 1e-8; much faster for many peaks.

    Raises ValueError for τ ÷ σ above 20.
    """
    r = np.atleast_1d(np.asarray(ratio, float))
    if r.max(initial=0.0) > LARGEST_RATIO:
        raise ValueError(f"τ/σ is {r.max()}, above {LARGEST_RATIO}")
    return Shape(*np.moveaxis(_table()(np.sqrt(r)), -1, 0))


def symmetry_of(ratio: ArrayLike) -> FloatArray:
    """Return the symmetry factor for τ ÷ σ, as `shape_of` does."""
    return shape_of(ratio).symmetry_factor.reshape(np.shape(ratio))


@cache
def _table() -> CubicSpline:
    """Return all dimensions over √(τ/σ), which spreads the knots to where the curves bend."""
    roots = np.linspace(0, np.sqrt(LARGEST_RATIO), 901)
    shape = exact_shape(roots**2)
    return CubicSpline(roots, np.stack([getattr(shape, field.name) for field in fields(Shape)], axis=-1))


def _root(function: Callable[[FloatArray], FloatArray], below: FloatArray, above: FloatArray) -> FloatArray:
    """Return where `function` changes sign: it is negative at `below` and positive at `above`."""
    for _ in range(HALVINGS):
        middle = 0.5 * (below + above)
        positive = function(middle) > 0
        below, above = np.where(positive, below, middle), np.where(positive, middle, above)
    return np.asarray(0.5 * (below + above))


def _apex(r: FloatArray) -> FloatArray:
    """Return the top: τ f′ = g − f for the Gaussian g inside, so that f meets g there."""
    return _root(lambda t: emg(t, 1.0, 0.0, 1.0, r) - gaussian(t, 1.0, 0.0, 1.0), np.zeros_like(r), r.copy())


def _ends(r: FloatArray, apex: FloatArray, level: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the front and the rear of the peak pass `level`."""

    def above_level(t: FloatArray) -> FloatArray:
        return emg(t, 1.0, 0.0, 1.0, r) - level

    return _root(above_level, apex - 9, apex), _root(above_level, apex + 9 + 5 * r, apex)


def _tangent_width(r: FloatArray) -> FloatArray:
    """Return the base width between the tangents; f″ = 0 where f = g (1 + τ t)."""

    def curving(t: FloatArray) -> FloatArray:
        return emg(t, 1.0, 0.0, 1.0, r) - gaussian(t, 1.0, 0.0, 1.0) * (1 + r * t)

    apex = _apex(r)
    front = _root(curving, apex, apex - 9)
    rear = _root(curving, apex, apex + 9 + r)
    return _foot(r, rear) - _foot(r, front)


def _foot(r: FloatArray, t: FloatArray) -> FloatArray:
    """Return where the tangent at `t` meets the baseline."""
    f = emg(t, 1.0, 0.0, 1.0, r)
    slope = (gaussian(t, 1.0, 0.0, 1.0) - f) / r
    return np.asarray(t - f / slope)
