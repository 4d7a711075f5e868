"""Apex, widths and moments of many peaks at once, read off the signal between its samples.

In: `PeakWindow`s, the signal of one peak each with baseline and neighbours taken off, and the fitted curve as
a rough guide. Out: `Outlines`, arrays over the peaks. Every crossing is the root of a polynomial of fifth
degree fitted to the measured points around it, so its precision is below the sampling interval; the fitted
curve only says where to look and supplies what lies outside the window of the moments.

Windows of many peaks are padded to arrays of one length.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks import formulas
from lyewitness.peaks.emg import LEVELS, emg, emg_moments
from lyewitness.peaks.formulas import Outlines
from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.rows.grounds import Footing
from lyewitness.peaks.rows.local_fits import LocalFit
from lyewitness.peaks.survey.surveys import Component, Survey
from lyewitness.peaks.survey.tops import binned
from lyewitness.study.records import Column
from lyewitness.words.arrays import FloatArray


@dataclass(frozen=True, eq=False, slots=True)
class Peak:
    """One found peak with all that its row is made of."""

    survey: Survey
    assignment: Assignment
    column: Column
    place: int
    """Index into the outlines."""
    local: LocalFit
    is_unlike: bool = False
    """Whether it fits its curve far worse than the same marker does before and behind it."""
    footing: Footing | None = None
    """How it stands on a ground that was told apart from slow tails; None for any other."""

    @property
    def own(self) -> tuple[Component, ...]:
        """Return the curves that make up the peak."""
        return self.local.own

    @property
    def neighbours(self) -> list[Component]:
        """Return the other components of the same cluster."""
        named = self.assignment.components
        return [c for c in self.survey.components if c.span == named[0].span and c not in named]


def valleys(peak: Peak) -> list[tuple[float, float]]:
    """Return, for each neighbour in the same cluster, height of the lower of both tops and of the valley.

    Both stand on the baseline and are read off the fitted curves; without a dip they are equal.
    """
    own, found = peak.own, []
    apex = max(own, key=lambda c: c.height).apex_min
    for other in peak.neighbours:
        pair = peak.survey.curve(np.linspace(apex, other.apex_min, 80), [*own, other])
        found.append((float(min(pair[0], pair[-1])), float(pair.min())))
    return found


def peak_to_valley(peak: Peak, height: float) -> float | None:
    """Return the smaller peak-to-valley ratio to a neighbour; None without a dip, or down to the baseline."""
    ratios = [
        formulas.peak_to_valley(top, valley)
        for top, valley in valleys(peak)
        if valley < 0.995 * top and valley > max(2.0 * peak.survey.noise_sd, 0.001 * height)
    ]
    return min(ratios, default=None)


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
    beyond: float = 0.0
    """Area behind the window that the curves do not have."""


@dataclass(slots=True)
class Padded:
    """Windows padded to one length; signal in units of the model's height, time from the model's apex."""

    time: FloatArray
    net: FloatArray
    model: FloatArray
    inside: FloatArray
    """1 for a measured point, 0 for padding."""
    step: FloatArray
    """(p,) sampling interval."""
    span: float
    """Longer than any window, minutes."""
    end_to_end: FloatArray
    """(p n,) times of all rows, each row moved on by `span`."""


def pad(windows: Sequence[PeakWindow]) -> tuple[Padded, FloatArray, FloatArray]:
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
    model = _model(time, curves_of(windows, zero, scale)) * inside
    span = 1.1 * float(time.max() - time.min())
    end_to_end = (time + span * np.arange(len(time))[:, None]).ravel()
    return Padded(time, net, model, inside, step, span, end_to_end), zero, scale


def _frame(window: PeakWindow) -> tuple[float, float, float]:
    """Return zero of time, scale of signal and sampling interval of a window."""
    step = (window.time[-1] - window.time[0]) / (len(window.time) - 1)
    return window.apex, max(window.height, 1e-300), step


def curves_of(windows: Sequence[PeakWindow], zero: FloatArray, scale: FloatArray) -> FloatArray:
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


def guide_of(padded: Padded) -> FloatArray:
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


def outermost(padded: Padded, guide: FloatArray, top: FloatArray) -> tuple[FloatArray, FloatArray]:
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


def flanks(distances: FloatArray) -> FloatArray:
    """Return the distances from apex to crossings (p, 3), cut down to what the flank itself is wide.

    On a split peak they reach across the other top; a Gaussian flank is 1.08 half-widths wide from 5 to 50 %.
    """
    flank = (distances[:, 0] - distances[:, 2])[:, None]
    return np.asarray(np.fmin(distances, flank * np.array([2.1, 1.9, 0.95])))


def _between(
    padded: Padded,
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


POINTS_PER_WIDTH = 30.0
"""More samples than this across half height are averaged in pairs, threes, …"""


FOOT = 0.15
"""Below this share of its height a peak is its curve alone where a neighbour stands higher: of no peak the
curve is exact, and what is left of the neighbour would pass for this one."""


def window_of(survey: Survey, local: LocalFit, footing: Footing | None = None) -> PeakWindow:
    """Return the window of a peak, with its baseline and every other curve of its trace taken off.

    On a footing it ends where the next peak begins.
    """
    own, time = local.own, survey.trace.time_min
    start, end = min([c.start_min for c in own]), max([c.end_min for c in own])
    end = end if footing is None else footing.end_min
    first = max(int(time.searchsorted(start)) - 2, 0)
    last = min(int(time.searchsorted(end)) + 2, len(time))
    step = float(time[last - 1] - time[first]) / max(last - 1 - first, 1)
    size = max(1, int(min(c.width_min for c in own) / step / POINTS_PER_WIDTH))
    stretch, signal = binned(time[first:last], size), binned(survey.trace.signal[first:last], size)
    net = signal - local.baseline.at(stretch)
    tallest = max(own, key=lambda c: c.height)
    if local.beside:
        beside, curve = survey.curve(stretch, local.beside), survey.curve(stretch, own)
        is_theirs = (beside > curve) & (curve < FOOT * tallest.height)
        net = np.where(is_theirs, curve, net - beside)
    if local.cap is not None:
        inside = (stretch >= local.cap.start_min) & (stretch <= local.cap.end_min)
        net = np.where(inside, survey.curve(stretch, [local.cap.curve]), net)
    return PeakWindow(
        time=stretch,
        net=net,
        curves=np.array([[c.area, c.center_min, c.sigma_min, c.tau_min] for c in own]),
        apex=tallest.apex_min,
        height=tallest.height,
        bin_variance=(size**2 - 1) / 12.0 * step**2,
        noise=survey.noise_sd / float(np.sqrt(size)),
        samples_per_point=size,
        beyond=0.0 if footing is None else footing.beyond,
    )


# Six coefficients, which the seven samples within `LEAST_POINTS` intervals to both sides just bear.
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


def outline_peaks(windows: Sequence[PeakWindow], most: int = 64) -> Outlines:
    """Return the outlines of all peaks; windows of similar length go together."""
    order = sorted(range(len(windows)), key=lambda place: len(windows[place].time))
    parts = [
        _outline_batch([windows[place] for place in order[first : first + most]])
        for first in range(0, len(order), most)
    ]
    return joined(parts, np.argsort(order))


def joined(parts: Sequence[Outlines], order: NDArray[np.intp] | None = None) -> Outlines:
    """Return the outlines of all parts as one, in the order of the parts or in `order`."""
    if not parts:
        none, three = np.zeros(0), np.zeros((0, 3))
        return Outlines(none, none, three, three, none, none, none, none, none, none)
    whole = {n: np.concatenate([getattr(part, n) for part in parts]) for n in Outlines.__dataclass_fields__}
    return Outlines(**(whole if order is None else {n: values[order] for n, values in whole.items()}))


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
        area=area * scale + np.array([window.beyond for window in windows]),
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
