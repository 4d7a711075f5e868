"""Apex, widths and moments of many peaks at once, read off the signal between its samples.

In: `PeakWindow`s, the signal of one peak each with baseline and neighbours taken off, and the fitted curve as
a rough guide. Out: `Outlines`, arrays over the peaks. Every crossing is the root of a polynomial of fifth
degree fitted to the measured points around it, so its precision is below the sampling interval; the fitted
curve only says where to look and supplies what lies outside the window of the moments.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.emg import emg, emg_moments

FloatArray = NDArray[np.float64]

DEGREE = 5
LEAST_POINTS = 3.6
"""A polynomial reaches at least this many sampling intervals to both sides."""
LEVELS = (0.05, 0.10, 0.50)
APEX_REACH = (1.0, 1.4)
"""Reach of the polynomial at the apex, in the shorter half of the half-height width; farther in noise."""
NOISE_OF_REACH = 4e-4
"""Noise ÷ height at which the apex is looked at most closely."""
TANGENT_REACH = 1.15
"""Reach of the polynomial at an inflection, in half-widths at half height."""
MOMENT_LEVEL = 0.005
"""Moments are summed where the peak stands above this share of its height; the fit supplies the rest."""


@dataclass(frozen=True, eq=False, slots=True)
class PeakWindow:
    """The signal of one peak."""

    time: FloatArray
    """Minutes."""
    net: FloatArray
    """Signal less baseline and neighbours."""
    curves: FloatArray
    """(k, 4) area, centre, σ and τ of the fitted curves whose sum is this peak; all other arrays (n,)."""
    apex: float
    """Of the tallest curve, minutes."""
    height: float
    """Of the tallest curve."""
    bin_variance: float = 0.0
    """What averaging neighbouring points added to the variance, min²."""
    noise: float = 0.0
    """Standard deviation of the noise of a point."""
    samples_per_point: int = 1
    """Samples averaged into one point."""


@dataclass(frozen=True, eq=False, slots=True)
class Outlines:
    """Measured shapes, each (p,); NaN where a level is not crossed. Times in minutes."""

    apex: FloatArray
    height: FloatArray
    left: FloatArray
    """(p, 3) front crossings at `LEVELS` …"""
    right: FloatArray
    """… and those of the back."""
    tangent_left: FloatArray
    """Where the front inflection tangent meets the baseline …"""
    tangent_right: FloatArray
    """… and the back one."""
    area: FloatArray
    mean: FloatArray
    variance: FloatArray
    points_half: FloatArray
    """Samples above half height."""


def outline_peaks(windows: Sequence[PeakWindow], most: int = 128) -> Outlines:
    """Return the outlines of all peaks; windows of similar length go together."""
    if not windows:
        none, three = np.zeros(0), np.zeros((0, 3))
        return Outlines(none, none, three, three, none, none, none, none, none, none)
    order = sorted(range(len(windows)), key=lambda place: len(windows[place].time))
    parts = [
        _outline_batch([windows[place] for place in order[first : first + most]])
        for first in range(0, len(order), most)
    ]
    back = np.argsort(order)
    names = Outlines.__dataclass_fields__
    return Outlines(**{n: np.concatenate([getattr(part, n) for part in parts])[back] for n in names})


@dataclass(slots=True)
class _Padded:
    """Windows padded to one length; signal in units of the model's height, time from the model's apex."""

    time: FloatArray
    net: FloatArray
    model: FloatArray
    inside: FloatArray
    """1 for a measured point, 0 for padding."""
    step: FloatArray
    """(p,) sampling interval."""


def _outline_batch(windows: Sequence[PeakWindow]) -> Outlines:
    """Measure windows of similar length together."""
    padded, zero, scale = _pad(windows)
    guide = _guide(padded)
    top = np.argmax(np.where(padded.inside > 0, guide, -np.inf), axis=1)
    rough_top = np.take_along_axis(guide, top[:, None], axis=1)[:, 0]
    rough_apex = np.take_along_axis(padded.time, top[:, None], axis=1)[:, 0]
    left, right = _outermost(padded, guide, rough_top)
    distances = rough_apex[:, None] - left, right - rough_apex[:, None]
    front, back = (_flanks(part) for part in distances)
    # Around the apex both halves count, but not another top of a split peak.
    halves = [
        np.fmin(far[:, 2], 1.4 * near[:, 2]) for far, near in zip(distances, (front, back), strict=True)
    ]
    noise = np.array([window.noise for window in windows]) / scale
    reach = np.clip((noise / NOISE_OF_REACH) ** 0.1, *APEX_REACH) * np.fmin(*halves)
    apex, height = _apex(padded, rough_apex, reach)
    sharper_left = _crossings(padded, left, 0.62 * front, height)
    sharper_right = _crossings(padded, right, 0.62 * back, height)
    steep_left, steep_right = _steepest(padded, guide, rough_apex)
    area, mean, variance = _moments(padded, windows, zero, scale)
    bins = np.array([window.bin_variance for window in windows])
    points = (
        (padded.time >= sharper_left[:, 2:]) & (padded.time <= sharper_right[:, 2:]) & (padded.inside > 0)
    ).sum(1)
    return Outlines(
        apex=apex + zero,
        height=height * scale,
        left=sharper_left + zero[:, None],
        right=sharper_right + zero[:, None],
        tangent_left=_tangent(padded, steep_left, TANGENT_REACH * front[:, 2]) + zero,
        tangent_right=_tangent(padded, steep_right, TANGENT_REACH * np.fmin(back[:, 2], 1.25 * front[:, 2]))
        + zero,
        area=area * scale,
        mean=mean + zero,
        variance=variance - bins,
        points_half=points * np.array([float(window.samples_per_point) for window in windows]),
    )


def _pad(windows: Sequence[PeakWindow]) -> tuple[_Padded, FloatArray, FloatArray]:
    """Return the padded windows, their zeros of time and their scales."""
    shape = (len(windows), max(len(window.time) for window in windows))
    time, net, inside = (np.zeros(shape) for _ in range(3))
    zero, scale, step = (
        np.array(values) for values in zip(*(_frame(window) for window in windows), strict=True)
    )
    for i, window in enumerate(windows):
        n = len(window.time)
        time[i, :n] = window.time - zero[i]
        time[i, n:] = time[i, n - 1] + step[i] * np.arange(1, shape[1] - n + 1)
        net[i, :n], inside[i, :n] = window.net / scale[i], 1.0
    model = _model(time, _curves(windows, zero, scale)) * inside
    return _Padded(time, net, model, inside, step), zero, scale


def _frame(window: PeakWindow) -> tuple[float, float, float]:
    """Return zero of time, scale of signal and sampling interval of a window."""
    step = (window.time[-1] - window.time[0]) / (len(window.time) - 1)
    return window.apex, max(window.height, 1e-300), step


def _curves(windows: Sequence[PeakWindow], zero: FloatArray, scale: FloatArray) -> FloatArray:
    """Return (p, k, 4) fitted curves in the units of the batch; padded with curves of no area."""
    most = max(len(window.curves) for window in windows)
    curves = np.zeros((len(windows), most, 4))
    curves[:, :, 2] = 1.0
    for i, window in enumerate(windows):
        curves[i, : len(window.curves)] = window.curves
        curves[i, : len(window.curves), 1] -= zero[i]
    curves[:, :, 0] /= scale[:, None]
    return curves


def _model(time: FloatArray, curves: FloatArray) -> FloatArray:
    """Return (p, n) sums of the fitted curves."""
    area, center, sigma, tau = (curves[:, :, i, None] for i in range(4))
    return np.asarray((area * emg(time[:, None, :], center, sigma, tau)).sum(axis=1))


def _guide(padded: _Padded) -> FloatArray:
    """Return the fitted curve plus the running mean of what it leaves, over half a half-height width."""
    rest = (padded.net - padded.model) * padded.inside
    wide = (padded.model > 0.5).sum(axis=1)
    arm = np.maximum(1, (0.12 * wide).astype(np.intp))[:, None]
    n = rest.shape[1]
    sums = np.concatenate([np.zeros((len(rest), 1)), np.cumsum(rest, axis=1)], axis=1)
    counts = np.concatenate([np.zeros((len(rest), 1)), np.cumsum(padded.inside, axis=1)], axis=1)
    place = np.arange(n)[None, :]
    low, high = np.maximum(place - arm, 0), np.minimum(place + arm + 1, n)
    total = np.take_along_axis(sums, high, 1) - np.take_along_axis(sums, low, 1)
    count = np.take_along_axis(counts, high, 1) - np.take_along_axis(counts, low, 1)
    return np.where(padded.inside > 0, padded.model + total / np.maximum(count, 1.0), 0.0)


def _outermost(padded: _Padded, guide: FloatArray, top: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return (p, 3) first and last crossings of the guide at `LEVELS`; NaN where it starts or ends above."""
    left, right = np.full((len(top), 3), np.nan), np.full((len(top), 3), np.nan)
    rows = np.arange(len(top))
    last = padded.inside.sum(axis=1).astype(np.intp) - 1
    for i, level in enumerate(LEVELS):
        above = guide > level * top[:, None]
        first_above = np.argmax(above, axis=1)
        last_above = above.shape[1] - 1 - np.argmax(above[:, ::-1], axis=1)
        a, b = np.maximum(first_above - 1, 0), first_above
        left[:, i] = np.where(first_above > 0, _between(padded, guide, rows, a, b, level * top), np.nan)
        a, b = last_above, np.minimum(last_above + 1, above.shape[1] - 1)
        right[:, i] = np.where(last_above < last, _between(padded, guide, rows, a, b, level * top), np.nan)
    return left, right


def _flanks(distances: FloatArray) -> FloatArray:
    """Return the distances from apex to crossings (p, 3), cut down to what the flank itself is wide.

    On a split peak they reach across the other top; a Gaussian flank is 1.08 half-widths wide from 5 to 50 %.
    """
    flank = (distances[:, 0] - distances[:, 2])[:, None]
    return np.asarray(np.fmin(distances, flank * np.array([2.1, 1.9, 0.95])))


def _between(
    padded: _Padded,
    guide: FloatArray,
    rows: NDArray[np.intp],
    a: NDArray[np.intp],
    b: NDArray[np.intp],
    level: FloatArray,
) -> FloatArray:
    """Return where a straight line between samples `a` and `b` meets `level`."""
    ya, yb = guide[rows, a], guide[rows, b]
    share = np.clip((level - ya) / np.where(yb == ya, 1.0, yb - ya), 0.0, 1.0)
    return np.asarray(padded.time[rows, a] + share * (padded.time[rows, b] - padded.time[rows, a]))


def _local_polynomials(
    padded: _Padded, centre: FloatArray, reach: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return (p, 6) coefficients in x = (t − centre)/reach and the (p,) reach used; NaN centres give NaN.

    Weighted least squares with weights (1 − |x|³)³ (Cleveland's tricube, from memory).
    """
    known = np.isfinite(centre) & np.isfinite(reach)
    centre, reach = np.where(known, centre, 0.0), np.where(known, reach, 0.0)
    reach = np.maximum(reach, LEAST_POINTS * padded.step)
    first = np.argmax(padded.time > (centre - reach)[:, None], axis=1)
    count = int(np.max((np.abs(padded.time - centre[:, None]) < reach[:, None]).sum(axis=1)))
    places = np.minimum(first[:, None] + np.arange(count)[None, :], padded.time.shape[1] - 1)
    x = (np.take_along_axis(padded.time, places, 1) - centre[:, None]) / reach[:, None]
    flat = np.maximum(1.0 - np.abs(x * x * x), 0.0)
    weight = flat * flat * flat * np.take_along_axis(padded.inside, places, 1)
    x = np.clip(x, -1.0, 1.0)
    powers = np.ones((len(x), DEGREE + 1, x.shape[1]))
    for power in range(1, DEGREE + 1):
        np.multiply(powers[:, power - 1], x, out=powers[:, power])
    weighted = powers * weight[:, None, :]
    normal = np.matmul(weighted, powers.transpose(0, 2, 1)) + 1e-10 * np.eye(DEGREE + 1)
    right = np.matmul(weighted, np.take_along_axis(padded.net, places, 1)[:, :, None])
    coefficients = np.linalg.solve(normal, right)[:, :, 0]
    return np.where(known[:, None], coefficients, np.nan), reach


def _value(c: FloatArray, x: FloatArray) -> FloatArray:
    """Return the polynomials at x, by Horner's scheme."""
    result = np.zeros_like(x)
    for i in range(c.shape[1] - 1, -1, -1):
        result = result * x + c[:, i]
    return result


def _slope(c: FloatArray) -> FloatArray:
    """Return the coefficients of the first derivatives."""
    return c[:, 1:] * np.arange(1, c.shape[1])


def _root(c: FloatArray, level: FloatArray, most: float = 0.6) -> FloatArray:
    """Return x near 0 where the polynomials meet `level`, by Newton's method, kept within ± `most`."""
    x, d = np.zeros(len(c)), _slope(c)
    for _ in range(6):
        slope = _value(d, x)
        x = np.clip(x - (_value(c, x) - level) / np.where(slope == 0, np.inf, slope), -most, most)
    return x


def _apex(padded: _Padded, rough: FloatArray, reach: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return apex times and heights: where the local polynomial has its maximum."""
    c, used = _local_polynomials(padded, rough, np.where(np.isfinite(reach), reach, 0.0))
    x = _root(_slope(c), np.zeros(len(c)))
    return rough + x * used, _value(c, x)


def _crossings(padded: _Padded, rough: FloatArray, reach: FloatArray, height: FloatArray) -> FloatArray:
    """Return the (p, 3) crossings at `LEVELS`, sharpened from the rough ones."""
    sharp = np.empty_like(rough)
    for i, level in enumerate(LEVELS):
        # The foot of a peak is less curved than its flank: look as far there as the flank is wide.
        c, used = _local_polynomials(padded, rough[:, i], reach[:, i] * (1.6 if level == 0.5 else 1.0))
        sharp[:, i] = rough[:, i] + _root(c, level * height) * used
    return sharp


def _steepest(padded: _Padded, guide: FloatArray, apex: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the guide rises and falls most steeply, before and behind the apex."""
    arm = 2
    rise = np.zeros_like(guide)
    rise[:, arm:-arm] = guide[:, 2 * arm :] - guide[:, : -2 * arm]
    rise[:, -arm - 1 :] = 0.0
    rows = np.arange(len(apex))
    up = np.argmax(np.where(padded.time <= apex[:, None], rise, -np.inf), axis=1)
    down = np.argmin(np.where(padded.time >= apex[:, None], rise * padded.inside, np.inf), axis=1)
    return padded.time[rows, up], padded.time[rows, down]


def _tangent(padded: _Padded, flank: FloatArray, reach: FloatArray) -> FloatArray:
    """Return where the tangent at the inflection next to `flank` meets the baseline."""
    c, used = _local_polynomials(padded, flank, reach)
    x = _root(_slope(_slope(c)), np.zeros(len(c)), most=0.4)
    return flank + (x - _value(c, x) / _value(_slope(c), x)) * used


def _moments(
    padded: _Padded, windows: Sequence[PeakWindow], zero: FloatArray, scale: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return area, mean and variance: those of the fit plus what the signal adds where the peak stands.

    Inside the window that is the plain sum over the signal, outside it the integral of the fit, so that the
    cut through the tail costs nothing.
    """
    everywhere = (padded.net - padded.model) * np.gradient(padded.time, axis=1) * padded.inside
    # Far from the mean noise and baseline weigh with the square of the distance: look less far there.
    rest = everywhere * (padded.model > MOMENT_LEVEL)
    curves = _curves(windows, zero, scale)
    means, variances, _ = emg_moments(*(curves[:, :, i] for i in (1, 2, 3)))
    area_fit = curves[:, :, 0].sum(axis=1)
    share = curves[:, :, 0] / area_fit[:, None]
    mean_fit = (share * means).sum(axis=1)
    bins = np.array([window.bin_variance for window in windows])
    variance_fit = (share * (variances + (means - mean_fit[:, None]) ** 2)).sum(axis=1) + bins
    inner = area_fit + rest.sum(axis=1)
    mean = (area_fit * mean_fit + (rest * padded.time).sum(axis=1)) / inner
    second = area_fit * (variance_fit + mean_fit**2) + (rest * padded.time**2).sum(axis=1)
    return area_fit + everywhere.sum(axis=1), mean, second / inner - mean**2
