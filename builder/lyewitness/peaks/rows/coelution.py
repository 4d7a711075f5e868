"""What elutes in or beside a marker, told by how its peak has changed since the column was fresh.

In: one marker's peaks in the order of exposure. Out: of each whether something stands in it that the fresh
column did not show.

Whatever a column does to a peak delays some of its molecules, and a bed that wears makes ever longer delays
of a density with one top: a clean peak is the fresh one folded with such a density, whatever the law of its
tail. What elutes beside it is a second top of the delays. Any density with one top is a sum of boxes that
begin or end there (Khinchin's theorem), so that a fit by boxes none of which is negative leaves a stranger
unexplained and no tail.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.peaks.rows.outlines import Peak
from lyewitness.peaks.survey.surveys import Component
from lyewitness.words.arrays import FloatArray

FRESH = 3
"""Injections that show a marker as it was injected: as many as a reference usually has."""
MORE_AREA = 0.05
"""Above that of the injection on its other side, beside one that holds a stranger: injectors repeat
themselves five times better, and nothing that a column does adds to what was injected."""
PLACES = np.linspace(-3.0, 5.0, 81)
"""Where a peak is looked at, in its widths at half height from its apex."""
FINE = np.linspace(-6.0, 10.0, 801)
"""The same, to read a shape between its samples."""
SMOOTHED = 0.04
"""Widths over which a shape is smoothed (standard deviation): 0.4 % of a Gaussian's width is added to it."""
SHARPER = 0.74
"""The fresh shape is taken so much narrower: overload makes one side steeper, in widths, than it was."""
REACH = np.array([0.12, 0.25, 0.4, 0.6, 0.85, 1.15, 1.5, 2.0, 2.6, 3.4])
"""How far boxes of delays reach behind the top of the density, in widths …"""
BOXES = np.concatenate([-REACH[:-1][::-1], [0.0], REACH])
"""… and where they end, before it, too: overload makes fronts."""
MODES = (7, 9)
"""Which of these places the density may have its top at: the apex, or somewhat before it."""
STRANGERS = np.concatenate([np.arange(-24, -8), np.arange(9, 25)]) / 10.0
"""Where a stranger may stand: from a resolution of 0.5 on. What is farther is a peak of its own."""
AROUND = 0.9
"""Widths to both sides of a stranger in which it must explain what is left."""
SHAPELESS = 0.0015
"""A peak that its curve describes to this share of its height hides nothing that could be told."""
# By simulation of eleven laws of tailing peaks, of which three are not in the tests.
SEEN = (2.5, 0.35, 0.006)
"""A stranger must be so many standard errors high, leave no more than this share of the sum of squares, and
have this share of the peak's height. So much in two injections in turn shows one …"""
CLEARLY = (5.0, 0.3, 0.015)
"""… and so much in the last one, for which no other can speak."""
NO_EXACT_SHAPE = 0.0013
"""What boxes leave of a clean peak, as share of its height, at one of `PLACES`."""
RIDGE = 1e-4
"""Keeps apart boxes that look alike: 100 dB below them, far below any noise."""
# Each box enters and leaves a handful of times.
MOST_STEPS = 1000
IN_DOUBT = 2.0
"""It must exceed the doubt about the baseline by this factor."""
MORE_THAN_BEFORE = 2.0
"""What was there before counts so much: in a wider peak it looks taller."""
FEWEST = 8.0
"""Samples across half height, of which a shape can be read."""
CLEAR_OF_OTHERS = 0.02
"""No place counts at which the peak of another marker has this share of the height."""


@dataclass(frozen=True, eq=False, slots=True)
class _Shape:
    """One peak of unit height and unit width at half height, its apex at 0."""

    fine: FloatArray
    """Smoothed, at `FINE`."""
    noise: float
    """Of the value at one of `PLACES`, as share of the height."""
    doubt: float
    """About the baseline, as share of the height."""
    free: FloatArray
    """1 at `PLACES` that the trace shows and no other marker reaches, else 0."""

    def at(self, places: FloatArray) -> FloatArray:
        """Return the value there."""
        return np.interp(places, FINE, self.fine, left=0.0, right=0.0)


def hold_strangers(peaks: Sequence[tuple[Peak, Sequence[Component]]]) -> list[bool]:
    """Tell of each peak of one marker, in the order of exposure, whether something elutes in or beside it.

    Each is given with the curves of the other markers of its injection. The first that a product stands in
    shows no second top yet, but more of it than was injected, beside one that shows both.
    """
    told = [peak.assignment.holds_stranger or len(peak.own) > 1 for peak, _ in peaks]
    seen = _by_shape(peaks)
    area = [peak.own[0].area for peak, _ in peaks]
    holds = [a or b for a, b in zip(told, seen, strict=True)]
    for places in (range(len(peaks)), range(len(peaks))[::-1]):
        # Held against the injection on its other side, for areas creep.
        for beside, place, other in zip(places, places[1:], places[2:], strict=False):
            holds[place] = holds[place] or (holds[beside] and area[place] > (1.0 + MORE_AREA) * area[other])
    return [holds[place] and not told[place] for place in range(len(peaks))]


def _by_shape(peaks: Sequence[tuple[Peak, Sequence[Component]]]) -> list[bool]:
    """Tell of each peak that is not told otherwise whether its shape has a second top that has come."""
    told = [peak.assignment.holds_stranger or len(peak.own) > 1 for peak, _ in peaks]
    plain = [place for place, is_told in enumerate(told) if not is_told]
    later = [i for i in plain[FRESH:] if peaks[i][0].local.residual_share > SHAPELESS]
    if not later:
        return [False] * len(peaks)
    shapes = [_shape(*peaks[place]) for place in plain[:FRESH]]
    known = [one for one in shapes if one is not None]
    if len(known) < FRESH:
        return [False] * len(peaks)
    was = np.median([one.fine for one in known], axis=0)

    def sharper(places: FloatArray) -> FloatArray:
        return np.asarray(np.interp(places / SHARPER, FINE, was, left=0.0, right=0.0))

    everywhere = _delays(sharper, np.ones(len(PLACES)))
    # What stood beside the marker at first has not come with the stress.
    at_first = _second_tops(replace(known[-1], fine=was), everywhere).height
    before = np.maximum.reduce(
        [at_first, np.roll(at_first, 1), np.roll(at_first, -1), np.zeros_like(at_first)]
    )
    weak, strong = np.zeros((2, len(peaks), len(STRANGERS)), dtype=np.bool_)
    for place in later:
        shape = _shape(*peaks[place])
        if shape is not None:
            delays = everywhere if shape.free.all() else _delays(sharper, shape.free)
            tops = _second_tops(shape, delays)
            weak[place], strong[place] = (tops.are_seen(least, before) for least in (SEEN, CLEARLY))
    # What is parted already speaks for those beside it, at whatever place.
    weak[told] = True
    found: list[bool] = (_in_turn(weak, strong) & ~np.array(told)).tolist()
    return found


def _in_turn(weak: NDArray[np.bool_], strong: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Tell where a stranger is seen at one place in two injections in turn, or clearly in the last one."""
    wide = weak.copy()
    wide[:, 1:] |= weak[:, :-1]
    wide[:, :-1] |= weak[:, 1:]
    found = np.zeros(len(weak), dtype=np.bool_)
    found[1:] |= (weak[1:] & wide[:-1]).any(axis=1)
    found[:-1] |= (weak[:-1] & wide[1:]).any(axis=1)
    found[-1] |= strong[-1].any()
    return found


def _shape(peak: Peak, others: Sequence[Component]) -> _Shape | None:
    """Return the shape of a peak on its own baseline; None where it cannot be read."""
    own, trace, local = peak.own[0], peak.survey.trace, peak.local
    first, last = trace.time_min.searchsorted(own.apex_min + own.width_min * PLACES[[0, -1]]).tolist()
    time = trace.time_min[first:last]
    if len(time) < FEWEST * 4.0:
        return None
    step = float(time[-1] - time[0]) / (len(time) - 1)
    if own.width_min < FEWEST * step:
        return None
    beside = peak.survey.curve(time, others)
    net = trace.signal[first:last] - local.baseline.at(time) - beside
    smooth = _smoothed(net, SMOOTHED * own.width_min / step)
    found = _half_height(time, smooth, own)
    if found is None:
        return None
    apex, height, width = found
    place = (time - apex) / width
    fine = np.interp(FINE, place, smooth / height, left=0.0, right=0.0)
    covered = np.interp(PLACES, place, np.ones_like(place), left=0.0, right=0.0) > 0.0
    clear = np.interp(PLACES, place, beside) < CLEAR_OF_OTHERS * height
    together = max((PLACES[1] - PLACES[0]) * width / step, 1.0)
    noise = max(local.noise_sd, 1e-6 * height) / height / float(np.sqrt(together))
    return _Shape(fine, noise, local.baseline_share, (covered & clear).astype(np.float64))


def _smoothed(net: FloatArray, sigma: float) -> FloatArray:
    """Return the signal under a Gaussian of `sigma` samples, its ends carried on."""
    arm = int(4.0 * max(sigma, 0.3)) + 1
    kernel = np.exp(-0.5 * (np.arange(-arm, arm + 1) / max(sigma, 0.3)) ** 2)
    padded = np.concatenate([np.full(arm, net[0]), net, np.full(arm, net[-1])])
    return np.convolve(padded, kernel / kernel.sum(), "valid")


def _half_height(time: FloatArray, smooth: FloatArray, own: Component) -> tuple[float, float, float] | None:
    """Return apex, height and width at half height of a smoothed peak, as its samples show them."""
    near = np.flatnonzero(np.abs(time - own.apex_min) < 0.8 * own.width_min)
    if not len(near):
        return None
    top = int(near[smooth[near].argmax()])
    if not 0 < top < len(smooth) - 1 or smooth[top] <= 0.0:
        return None
    a, b, c = smooth[top - 1 : top + 2].tolist()
    bend = a - 2.0 * b + c
    apex = float(time[top]) + (0.5 * (a - c) / bend if bend < 0.0 else 0.0) * float(time[top] - time[top - 1])
    below = smooth < 0.5 * b
    before, behind = np.flatnonzero(below[:top]), np.flatnonzero(below[top:])
    if not len(before) or not len(behind):
        return None
    i, j = int(before[-1]), top + int(behind[0])
    left = np.interp(0.5 * b, smooth[i : i + 2], time[i : i + 2])
    right = np.interp(-0.5 * b, -smooth[j - 1 : j + 1], time[j - 1 : j + 1])
    return apex, b, float(right - left)


@dataclass(frozen=True, eq=False, slots=True)
class _Delayed:
    """What delays of a density with one top make of the fresh shape."""

    columns: FloatArray
    """(x, k) its delay to the top, and its boxes to either side …"""
    free: FloatArray
    """… where these are 1."""
    line: FloatArray
    """(x, 2) level and slope of the baseline, of unit length and at right angles."""
    turned: FloatArray
    """(k, x) turns a signal …"""
    reduced: FloatArray
    """(k, k) … to where this upper triangle stands for the columns: as many equations as unknowns."""

    def rest(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return what the best such shape leaves of `value`, and the (x, r) columns it takes for that."""
        share, _ = scipy.optimize.nnls(self.reduced, self.turned @ value, maxiter=MOST_STEPS)
        used = np.hstack([self.line, self.columns[:, share > 0.0]])
        basis = np.linalg.qr(used)[0]
        return value - basis @ (basis.T @ value), basis


def _delays(fresh: Callable[[FloatArray], FloatArray], free: FloatArray) -> list[_Delayed]:
    """Return what delays make of the fresh shape, one for each of `MODES`."""
    delayed = fresh(PLACES[:, None] - BOXES[None, :]) * free[:, None]
    weighted = delayed * np.gradient(BOXES)
    line = np.linalg.qr(np.stack([free, free * PLACES], axis=1))[0]
    return [_of_mode(delayed, weighted, mode, line, free) for mode in MODES]


def _of_mode(
    delayed: FloatArray, weighted: FloatArray, mode: int, line: FloatArray, free: FloatArray
) -> _Delayed:
    """Return what delays with their top at one place make of the fresh shape."""
    later, sooner = np.cumsum(weighted[:, mode:], axis=1), np.cumsum(weighted[:, mode::-1], axis=1)[:, 1:]
    columns = np.hstack([delayed[:, mode : mode + 1], later, sooner])
    columns = columns / np.maximum(np.linalg.norm(columns, axis=0), 1e-12)
    net = columns - line @ (line.T @ columns)
    turned, reduced = np.linalg.qr(np.vstack([net, RIDGE * np.eye(columns.shape[1])]))
    return _Delayed(columns, free, line, turned[: len(PLACES)].T, reduced)


@dataclass(frozen=True, eq=False, slots=True)
class _SecondTops:
    """What a peak like the marker's would explain at each of `STRANGERS`, (s,) each."""

    height: FloatArray
    """Of that peak, as share of the marker's height."""
    error: FloatArray
    """Its standard error."""
    left: FloatArray
    """Share of the sum of squares around it that it leaves."""
    doubt: float
    """About the baseline, as share of the height."""

    def are_seen(self, least: tuple[float, float, float], before: FloatArray) -> NDArray[np.bool_]:
        """Tell where one has come that was not there `before` (heights)."""
        sure, share_left, tall = least
        grown = self.height - MORE_THAN_BEFORE * before
        return np.asarray(
            (grown > sure * self.error)
            & (self.left < share_left)
            & (grown > max(tall, IN_DOUBT * self.doubt))
        )


def _second_tops(shape: _Shape, delays: Sequence[_Delayed]) -> _SecondTops:
    """Return what second tops would explain of what delays leave of a peak."""
    value = shape.at(PLACES) * shape.free
    rest, basis = min((one.rest(value) for one in delays), key=lambda fit: float((fit[0] ** 2).sum()))
    stranger = shape.at(PLACES[:, None] - STRANGERS[None, :]) * shape.free[:, None]
    stranger -= basis @ (basis.T @ stranger)
    power = np.maximum((stranger**2).sum(axis=0), 1e-12)
    height = (rest @ stranger) / power
    error = float(np.hypot(shape.noise, NO_EXACT_SHAPE)) / np.sqrt(power)
    around = (np.abs(PLACES[:, None] - STRANGERS[None, :]) < AROUND) * shape.free[:, None]
    before = (rest**2) @ around
    left = (((rest[:, None] - height * stranger) ** 2) * around).sum(axis=0) / np.maximum(before, 1e-300)
    # Where another marker covers half of the place nothing is told.
    closed = around.sum(axis=0) < AROUND / float(PLACES[1] - PLACES[0])
    return _SecondTops(height, error, np.where(closed, 1.0, left), shape.doubt)
