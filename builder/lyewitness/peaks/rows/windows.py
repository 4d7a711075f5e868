"""Windows of many peaks as arrays of one length, with the fitted curve as a guide to where to look.

In: `PeakWindow`s. Out: `Padded` windows, the guide and its rough crossings.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks import formulas
from lyewitness.peaks.emg import LEVELS, emg
from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.rows.local_fits import LocalFit
from lyewitness.peaks.sampling import binned
from lyewitness.peaks.survey.components import Component
from lyewitness.peaks.survey.surveys import Survey
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


def window_of(survey: Survey, local: LocalFit) -> PeakWindow:
    """Return the window of a peak, with its baseline and every other curve of its trace taken off."""
    own, time = local.own, survey.trace.time_min
    start, end = min([c.start_min for c in own]), max([c.end_min for c in own])
    first = max(int(time.searchsorted(start)) - 2, 0)
    last = min(int(time.searchsorted(end)) + 2, len(time))
    step = float(time[last - 1] - time[first]) / max(last - 1 - first, 1)
    size = max(1, int(min(c.width_min for c in own) / step / POINTS_PER_WIDTH))
    stretch, signal = binned(time[first:last], size), binned(survey.trace.signal[first:last], size)
    net = signal - local.baseline.at(stretch)
    if local.beside:
        net -= survey.curve(stretch, local.beside)
    tallest = max(own, key=lambda c: c.height)
    return PeakWindow(
        time=stretch,
        net=net,
        curves=np.array([[c.area, c.center_min, c.sigma_min, c.tau_min] for c in own]),
        apex=tallest.apex_min,
        height=tallest.height,
        bin_variance=(size**2 - 1) / 12.0 * step**2,
        noise=survey.noise_sd / float(np.sqrt(size)),
        samples_per_point=size,
    )
