"""Apex, widths and moments of many peaks at once, read off the signal between its samples.

In: `PeakWindow`s, the signal of one peak each with baseline and neighbours taken off, and the fitted curve as
a rough guide. Out: `Outlines`, arrays over the peaks. Every crossing is the root of a polynomial of fifth
degree fitted to the measured points around it, so its precision is below the sampling interval; the fitted
curve only says where to look and supplies what lies outside the window of the moments.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.peaks.emg import LEVELS, emg_moments
from lyewitness.peaks.rows.windows import (
    Padded,
    PeakWindow,
    curves_of,
    flanks,
    guide_of,
    outermost,
    pad,
)
from lyewitness.words.arrays import FloatArray

DEGREE = 5
LEAST_POINTS = 3.6
"""A polynomial reaches at least this many sampling intervals to both sides."""


def local_polynomials(padded: Padded, centre: FloatArray, reach: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return coefficients (…, 6) in x = (t − centre)/reach and the reach used; NaN centres give NaN.

    `centre` and `reach` are (p,) or (p, k), one or several places a peak. Weighted least squares with weights
    (1 − |x|³)³ (Cleveland's tricube, from memory).
    """
    shape, (peaks, length) = centre.shape, padded.time.shape
    rows = np.repeat(np.arange(peaks), centre.size // peaks)
    known = (np.isfinite(centre) & np.isfinite(reach)).ravel()
    centre, reach = np.where(known, centre.ravel(), 0.0), np.where(known, reach.ravel(), 0.0)
    reach = np.maximum(reach, LEAST_POINTS * padded.step[rows])
    # All rows laid end to end rise steadily, so that one search finds the places in all of them.
    shift = rows * padded.span
    first = np.searchsorted(padded.end_to_end, centre - reach + shift, side="right")
    last = np.searchsorted(padded.end_to_end, centre + reach + shift)
    places = first[:, None] + np.arange(int(np.max(last - first)))[None, :]
    places = np.clip(places, (rows * length)[:, None], (rows * length + length - 1)[:, None])
    x = (padded.time.ravel()[places] - centre[:, None]) / reach[:, None]
    flat = np.maximum(1.0 - np.abs(x * x * x), 0.0)
    weight = flat * flat * flat * padded.inside.ravel()[places]
    x = np.clip(x, -1.0, 1.0)
    powers = np.ones((len(x), DEGREE + 1, x.shape[1]))
    for power in range(1, DEGREE + 1):
        np.multiply(powers[:, power - 1], x, out=powers[:, power])
    weighted = powers * weight[:, None, :]
    normal = np.matmul(weighted, powers.transpose(0, 2, 1)) + 1e-10 * np.eye(DEGREE + 1)
    right = np.matmul(weighted, padded.net.ravel()[places][:, :, None])
    coefficients = np.where(known[:, None], np.linalg.solve(normal, right)[:, :, 0], np.nan)
    return coefficients.reshape(*shape, DEGREE + 1), reach.reshape(shape)


def value_at(c: FloatArray, x: FloatArray) -> FloatArray:
    """Return the polynomials at x, by Horner's scheme."""
    result = np.zeros_like(x)
    for i in range(c.shape[-1] - 1, -1, -1):
        result = result * x + c[..., i]
    return result


def slope_of(c: FloatArray) -> FloatArray:
    """Return the coefficients of the first derivatives."""
    return np.asarray(c[..., 1:] * np.arange(1, c.shape[-1]))


def root_of(c: FloatArray, level: FloatArray, most: float = 0.6) -> FloatArray:
    """Return x near 0 where the polynomials meet `level`, by Newton's method, kept within ± `most`."""
    x, d = np.zeros(c.shape[:-1]), slope_of(c)
    for _ in range(6):
        slope = value_at(d, x)
        x = np.clip(x - (value_at(c, x) - level) / np.where(slope == 0, np.inf, slope), -most, most)
    return x


APEX_REACH = (1.0, 1.4)
"""Reach of the polynomial at the apex, in the shorter half of the half-height width; farther in noise."""
NOISE_OF_REACH = 4e-4
"""Noise ÷ height at which the apex is looked at most closely."""
TANGENT_REACH = 1.15
"""Reach of the polynomial at an inflection, in half-widths at half height."""
MOMENT_LEVEL = 0.005
"""Moments are summed where the peak stands above this share of its height; the fit supplies the rest."""


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


def outline_peaks(windows: Sequence[PeakWindow], most: int = 64) -> Outlines:
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


def _outline_batch(windows: Sequence[PeakWindow]) -> Outlines:
    """Measure windows of similar length together."""
    padded, zero, scale = pad(windows)
    guide = guide_of(padded)
    top = np.argmax(np.where(padded.inside > 0, guide, -np.inf), axis=1)
    rough_top = np.take_along_axis(guide, top[:, None], axis=1)[:, 0]
    rough_apex = np.take_along_axis(padded.time, top[:, None], axis=1)[:, 0]
    left, right = outermost(padded, guide, rough_top)
    distances = rough_apex[:, None] - left, right - rough_apex[:, None]
    front, back = (flanks(part) for part in distances)
    # Around the apex both halves count, but not another top of a split peak.
    halves = [
        np.fmin(far[:, 2], 1.4 * near[:, 2]) for far, near in zip(distances, (front, back), strict=True)
    ]
    noise = np.array([window.noise for window in windows]) / scale
    reach = np.clip((noise / NOISE_OF_REACH) ** 0.1, *APEX_REACH) * np.fmin(*halves)
    apex, height = _apex(padded, rough_apex, reach)
    sharper = _crossings(padded, np.hstack([left, right]), 0.62 * np.hstack([front, back]), height)
    sharper_left, sharper_right = sharper[:, :3], sharper[:, 3:]
    steep_left, steep_right = _steepest(padded, guide, rough_apex)
    flank = np.stack([front[:, 2], np.fmin(back[:, 2], 1.25 * front[:, 2])], axis=1)
    tangents = _tangents(padded, np.stack([steep_left, steep_right], axis=1), TANGENT_REACH * flank)
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
        tangent_left=tangents[:, 0] + zero,
        tangent_right=tangents[:, 1] + zero,
        area=area * scale,
        mean=mean + zero,
        variance=variance - bins,
        points_half=points * np.array([float(window.samples_per_point) for window in windows]),
    )


def _apex(padded: Padded, rough: FloatArray, reach: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return apex times and heights: where the local polynomial has its maximum."""
    c, used = local_polynomials(padded, rough, np.where(np.isfinite(reach), reach, 0.0))
    x = root_of(slope_of(c), np.zeros(len(c)))
    return rough + x * used, value_at(c, x)


def _crossings(padded: Padded, rough: FloatArray, reach: FloatArray, height: FloatArray) -> FloatArray:
    """Return the (p, 6) crossings at `LEVELS`, front and back, sharpened from the rough ones."""
    levels = np.array(LEVELS * 2)
    # The foot of a peak is less curved than its flank: look as far there as the flank is wide.
    c, used = local_polynomials(padded, rough, reach * np.where(levels == 0.5, 1.6, 1.0))
    return np.asarray(rough + root_of(c, levels * height[:, None]) * used)


def _steepest(padded: Padded, guide: FloatArray, apex: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the guide rises and falls most steeply, before and behind the apex."""
    arm = 2
    rise = np.zeros_like(guide)
    rise[:, arm:-arm] = guide[:, 2 * arm :] - guide[:, : -2 * arm]
    rise[:, -arm - 1 :] = 0.0
    rows = np.arange(len(apex))
    up = np.argmax(np.where(padded.time <= apex[:, None], rise, -np.inf), axis=1)
    down = np.argmin(np.where(padded.time >= apex[:, None], rise * padded.inside, np.inf), axis=1)
    return padded.time[rows, up], padded.time[rows, down]


def _tangents(padded: Padded, flank: FloatArray, reach: FloatArray) -> FloatArray:
    """Return (p, 2) where the tangents at the inflections next to `flank` meet the baseline."""
    c, used = local_polynomials(padded, flank, reach)
    x = root_of(slope_of(slope_of(c)), np.zeros(flank.shape), most=0.4)
    return np.asarray(flank + (x - value_at(c, x) / value_at(slope_of(c), x)) * used)


def _moments(
    padded: Padded, windows: Sequence[PeakWindow], zero: FloatArray, scale: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return area, mean and variance: those of the fit plus what the signal adds where the peak stands.

    Inside the window that is the plain sum over the signal, outside it the integral of the fit, so that the
    cut through the tail costs nothing.
    """
    everywhere = (padded.net - padded.model) * np.gradient(padded.time, axis=1) * padded.inside
    # Far from the mean noise and baseline weigh with the square of the distance: look less far there.
    rest = everywhere * (padded.model > MOMENT_LEVEL)
    curves = curves_of(windows, zero, scale)
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
