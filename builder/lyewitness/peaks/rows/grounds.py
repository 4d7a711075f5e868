"""The ground that peaks with slow tails stand on: a baseline that is told apart from all tails of its trace.

In: a survey and the peaks named on it. Out: for a peak of a trace with slow tails its survey as seen on that
ground, and its curves with the ends of their tails; every other peak stays as it was.

A worn bed, or one with few strong sites, gives back the last per cent of a peak several times as slowly as
the exponential of its fitted curve. A baseline through the signal between the peaks takes that for
background, and the symmetry factor, read at 0.05 of the height, is too small. But what holds molecules back
and lets them go at random, at one rate or at many, leaves a sum of exponentials with no negative term, and no
background does. So behind each peak such a sum, and one smooth baseline for all of the trace, are found
together, and are believed where they beat the fitted curves by far.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lyewitness.peaks.emg import emg
from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.rows.background import coarse_step
from lyewitness.peaks.rows.decays import told_apart
from lyewitness.peaks.survey.baseline import Baseline
from lyewitness.peaks.survey.surveys import EDGE_LEVEL, Component, Survey
from lyewitness.peaks.survey.tops import binned
from lyewitness.words.arrays import FloatArray

UNLIKE_NOISE = 1.25
"""A fit that leaves less than so many times the noise has no slow tail beside it: of exact curves one trace
in twenty has one that leaves more."""
CUT = 0.03
"""Share of the height from which on down a tail is looked at: symmetry factors are read at 0.05, above it."""
CONSTANTS = np.array([0.2, 0.36, 0.65, 1.2, 2.1, 3.8, 7.0])
"""Time constants, in widths at half height, each the former times 1.8: between two of them a sum of both
differs from an exponential by 1 % of it. The first are those of a curve's own tail, slower ones than the last
are background."""
SHARE = 0.03
"""Usual share of a peak's area in the tail of one time constant: where nothing tells a tail from a bend of
the baseline it is small."""
PER_WIDTH = 3.0
"""Means over a third of the sharpest width are looked at."""
KNOTS = 40
"""The baseline is straight between so many places, evenly over the trace."""
LEAST_POINTS = 60
"""In fewer there is no telling tails from a baseline."""
STIRRED = 6.0
"""Times its noise that a point ahead of all peaks stands off the baseline, which is no noise."""
GAIN = 25.0
"""In log likelihood: with exact curves one trace in a hundred came to more, with tails that make a symmetry
factor 0.01 too small nearly all that have a signal-to-noise ratio of 100."""
IN_ERRORS = 3.0
"""A tail is slower than its curve's where it has more area by so many of its standard errors. Overloaded
peaks, whose tails are quicker, gain as much by a sum of decays, and nothing is told apart for them."""
STILL_NOISE = 2.0
"""What is left, as variance ÷ that of noise, above which the trace holds something else."""
OPEN = 0.03
"""Of an area, by its ground, beyond which the ground tells nothing: `flags.UNCERTAIN`."""
PLACES = 60
"""Under a peak and behind it, at which a ground or a curve is summed up."""
FAR = 10.0
"""Widths behind a peak at which its curve is nothing."""


@dataclass(frozen=True, eq=False, slots=True)
class Tail:
    """What stands behind a curve in place of its own tail."""

    curve: Component
    start_min: float
    """Where it takes over."""
    amounts: FloatArray
    """Of the exponentials of `CONSTANTS`, at the start, signal unit."""
    places: slice
    """The parameters that tell them, in shares of the height."""

    def at(self, time: FloatArray) -> FloatArray:
        """Return the tail at `time`; 0 ahead of its start."""
        return np.asarray(self.amounts @ _decays(time, self.start_min, self.curve.width_min))

    def areas_from(self, time: float) -> FloatArray:
        """Return (k,) the area behind `time` of each exponential that stands at unit height at the start."""
        constants = CONSTANTS * self.curve.width_min
        return np.asarray(constants * np.exp(-(time - self.start_min) / constants))


@dataclass(frozen=True, eq=False, slots=True)
class Ground:
    """One trace told apart into background and tails."""

    baseline: Baseline
    tails: tuple[Tail, ...]
    """One for each component of the survey, in its order."""
    covariance: FloatArray
    """Of the baseline at its support points, and of the tails' parameters."""
    time: FloatArray
    """Where it was looked at, minutes."""
    surplus: FloatArray
    """(c, n) what each tail adds to its curve there …"""
    smooth_surplus: FloatArray
    """… and at the support points of the survey's smooth baseline."""
    gain: float
    """In log likelihood, over the fitted curves alone."""
    rest: float
    """Variance of what is left ÷ that of noise."""
    calm_from_min: float
    """Where the trace has come to rest after the injection."""


@dataclass(frozen=True, slots=True)
class Footing:
    """How a peak stands on the ground of its trace."""

    end_min: float
    """Where its tail is over, or the next peak begins."""
    beyond: float
    """Area of its tail behind that end, more than its curve has there."""
    off: float
    """Standard error of the ground where symmetry factors are read, signal unit."""
    area_off: float
    """Standard error of the area by the ground."""


@dataclass(frozen=True, eq=False, slots=True)
class Standing:
    """A peak, on the ground of its trace where there is one."""

    survey: Survey
    """As seen from the peak: the tails of the others are part of its baseline."""
    own: tuple[Component, ...]
    """Its components, with the ends of their tails."""
    footing: Footing | None = None


def ground_of(survey: Survey) -> Ground | None:
    """Return the ground of a trace; None where no fit speaks of slow tails, or no ground explains them."""
    is_odd = any(fit.residual_sd > UNLIKE_NOISE * fit.noise > 0.0 for fit in survey.fits)
    if not is_odd or not survey.components or survey.solvent or survey.edges:
        return None
    # Rounding too coarse for the noise to hide it leaves steps, which any sum of decays follows.
    return None if coarse_step(survey) else ground_and_tails(survey)


def ground_and_tails(survey: Survey, least_gain: float = GAIN) -> Ground | None:
    """Return background and tails of a trace; None where too little is free, or tails gain too little."""
    curves, whole = survey.components, survey.trace.time_min
    step = float(whole[-1] - whole[0]) / (len(whole) - 1)
    size = max(1, int(min(c.width_min for c in curves) / PER_WIDTH / step))
    time, signal = binned(whole, size), binned(survey.trace.signal, size)
    starts = _starts_of_tails(curves)
    free = np.ones(len(time), dtype=np.bool_)
    half = 0.5 * size * step
    for curve, start in zip(curves, starts, strict=True):
        free[slice(*time.searchsorted([curve.start_min - half, start + half]).tolist())] = False
    stirred = _behind_disturbances(survey, time, signal, size)
    free[:stirred] = False
    at, value = time[free], signal[free]
    if len(at) < LEAST_POINTS:
        return None
    knots = np.linspace(float(whole[0]), float(whole[-1]), KNOTS)
    groups = _groups(curves, starts)
    parts = [
        sum(curves[i].height * _decays(at, starts[i], curves[i].width_min) for i in group) for group in groups
    ]
    noise = max(survey.noise_sd, 1e-300) ** 2 / size
    pull = noise * np.tile(CONSTANTS / SHARE, len(groups)) ** 2
    fitted = _values(curves, at)
    # Ahead of its peak a curve stays as fitted.
    ahead = (fitted * (at < np.array([c.apex_min for c in curves])[:, None])).sum(axis=0)
    apart = told_apart(
        _hats(knots, at), np.concatenate(parts).T, pull, value - ahead, value - fitted.sum(axis=0)
    )
    rest = apart.variance / noise
    if apart.gain < least_gain or rest > STILL_NOISE:
        return None
    shares = apart.amounts.reshape(len(groups), -1)
    of = {i: place for place, group in enumerate(groups) for i in group}
    tails = tuple(
        Tail(curve, starts[i], curve.height * shares[of[i]], _places(of[i])) for i, curve in enumerate(curves)
    )
    covariance = apart.covariance
    if not any(_is_slow(tail, covariance) for tail in tails):
        return None
    return Ground(
        Baseline(knots, apart.line),
        tails,
        covariance,
        time,
        _surplus(tails, time),
        _surplus(tails, survey.smooth.time),
        apart.gain,
        rest,
        float(time[stirred] - half),
    )


def _behind_disturbances(survey: Survey, time: FloatArray, signal: FloatArray, size: int) -> int:
    """Return the first of some points, means of `size` samples, from which on the trace is looked at.

    What an injection stirs up ahead of all peaks is neither a tail nor a bend of the baseline.
    """
    first = int(time.searchsorted(min(c.start_min for c in survey.components)))
    off = np.abs(signal[:first] - survey.smooth.at(time[:first]))
    standing = np.flatnonzero(off > STIRRED * survey.noise_sd / np.sqrt(size))
    return int(standing[-1]) + 1 + int(PER_WIDTH) if len(standing) else 0


def _is_slow(tail: Tail, covariance: FloatArray) -> bool:
    """Tell whether a tail has more area than that of its curve, beyond error."""
    far = np.linspace(tail.start_min, tail.start_min + FAR * tail.curve.width_min, PLACES)
    known = float(np.trapezoid(_values([tail.curve], far)[0], far))
    areas = tail.areas_from(tail.start_min)
    by_share = tail.curve.height * areas
    error = float(np.sqrt(by_share @ covariance[tail.places, tail.places] @ by_share))
    return float(tail.amounts @ areas) - known > IN_ERRORS * error


def _places(group: int) -> slice:
    return slice(KNOTS + group * len(CONSTANTS), KNOTS + (group + 1) * len(CONSTANTS))


def _hats(knots: FloatArray, at: FloatArray) -> FloatArray:
    """Return (n, k) the weights of the knots at some times of a curve that is straight between them."""
    return np.asarray(np.maximum(1.0 - np.abs(at[:, None] - knots) / (knots[1] - knots[0]), 0.0))


def _values(curves: Sequence[Component], time: FloatArray) -> FloatArray:
    """Return (c, n) the curves at times (n,) or (c, n)."""
    shape = np.array([[c.area, c.center_min, c.sigma_min, c.tau_min] for c in curves])
    area, center, sigma, tau = shape.T[:, :, None]
    return np.asarray(area * emg(np.broadcast_to(time, (len(curves), time.shape[-1])), center, sigma, tau))


def _decays(time: FloatArray, start: float, width: float) -> FloatArray:
    """Return (k, n) the exponentials behind `start`; `time` rises."""
    first = int(time.searchsorted(start, side="right"))
    decays = np.zeros((len(CONSTANTS), len(time)))
    np.exp(-(time[first:] - start) / (CONSTANTS[:, None] * width), out=decays[:, first:])
    return decays


def _surplus(tails: Sequence[Tail], time: FloatArray) -> FloatArray:
    """Return (c, n) what tails add to their curves."""
    starts = np.array([tail.start_min for tail in tails])[:, None]
    curves = _values([tail.curve for tail in tails], time)
    return np.stack([tail.at(time) for tail in tails]) - curves * (time > starts)


def _starts_of_tails(curves: Sequence[Component]) -> list[float]:
    """Return where each curve has fallen to `CUT` of its height."""
    apex, wide, end, height = np.array([[c.apex_min, c.width_min, c.end_min, c.height] for c in curves]).T
    reach = np.maximum(end - apex, 3.0 * wide)
    time = apex[:, None] + reach[:, None] * np.linspace(0.0, 1.0, 100)
    below = _values(curves, time) < CUT * height[:, None]
    below[:, -1] = True
    return [float(t) for t in time[np.arange(len(time)), below.argmax(axis=1)]]


def _groups(curves: Sequence[Component], starts: Sequence[float]) -> list[list[int]]:
    """Return which curves have a tail in common, in shares of their heights: no sample lies between them."""
    groups: list[list[int]] = []
    for i in sorted(range(len(curves)), key=lambda i: curves[i].apex_min):
        if groups and curves[i].start_min < max(starts[j] for j in groups[-1]):
            groups[-1].append(i)
        else:
            groups.append([i])
    return groups


def stand(survey: Survey, ground: Ground | None, found: Assignment) -> Standing:
    """Return a peak on the ground of its trace.

    It stays as it stands where there is none, where two markers share the peak, and where the ground leaves
    its area open.
    """
    own = found.components
    if ground is None or found.shared_with or found.separated or not set(own) <= set(survey.components):
        return Standing(survey, own)
    is_mine = np.array([tail.curve in own for tail in ground.tails])
    footing = _footing(ground, is_mine)
    if footing.area_off > OPEN * sum(c.area for c in own):
        return Standing(survey, own)
    longer = {c: replace(c, end_min=max(footing.end_min, c.end_min)) for c in own}
    longer = {c: replace(one, free_from_min=one.end_min) for c, one in longer.items()}
    smooth = survey.smooth.time
    seen = replace(
        survey,
        components=tuple(longer.get(c, c) for c in survey.components),
        baseline=_under(ground, ground.time, ground.surplus[~is_mine]),
        smooth=_under(ground, smooth, ground.smooth_surplus[~is_mine]),
        free=_without(survey, ground.calm_from_min, min(c.start_min for c in own), footing.end_min),
    )
    return Standing(seen, tuple(longer[c] for c in own), footing)


def _under(ground: Ground, time: FloatArray, others: FloatArray) -> Baseline:
    """Return the baseline under a peak, with what the tails of others add to their curves."""
    return Baseline(time, ground.baseline.at(time) + others.sum(axis=0))


def _footing(ground: Ground, is_mine: FloatArray) -> Footing:
    """Return how a peak stands, of which some tails are its own."""
    mine = [tail for tail, own in zip(ground.tails, is_mine, strict=True) if own]
    others = [tail for tail, own in zip(ground.tails, is_mine, strict=True) if not own]
    own = [tail.curve for tail in mine]
    first, end = min(c.start_min for c in own), _end_of(ground, mine, others)
    far = np.linspace(end, end + FAR * max(c.width_min for c in own), PLACES)
    beyond = sum(float(tail.amounts @ tail.areas_from(end)) for tail in mine)
    beyond -= float(np.trapezoid(_values(own, far).sum(axis=0), far))
    at = np.append(np.linspace(first, end, PLACES), [tail.start_min for tail in mine])
    order = np.argsort(at)
    terms = np.empty((len(at), len(ground.covariance)))
    terms[order] = _terms(ground, at[order], others)
    by_area = -terms[:PLACES].sum(axis=0) * (end - first) / PLACES
    for tail in mine:
        by_area[tail.places] += tail.curve.height * tail.areas_from(end)
    read = terms[PLACES:]
    off = np.einsum("np,pq,nq->n", read, ground.covariance, read).max()
    area_off = by_area @ ground.covariance @ by_area
    return Footing(end, beyond, float(np.sqrt(max(off, 0.0))), float(np.sqrt(max(area_off, 0.0))))


def _terms(ground: Ground, at: FloatArray, others: Sequence[Tail]) -> FloatArray:
    """Return (n, p) by how much baseline and tails of others go with each parameter at rising times."""
    terms = np.zeros((len(at), len(ground.covariance)))
    terms[:, :KNOTS] = _hats(ground.baseline.time, at)
    for tail in others:
        terms[:, tail.places] += tail.curve.height * _decays(at, tail.start_min, tail.curve.width_min).T
    return terms


def _end_of(ground: Ground, mine: Sequence[Tail], others: Sequence[Tail]) -> float:
    """Return where tails are over, or the next peak begins."""
    tallest = max(mine, key=lambda tail: tail.curve.height).curve
    next_one = [tail.curve.start_min for tail in others if tail.curve.apex_min > tallest.apex_min]
    first = max(tail.start_min for tail in mine)
    time = ground.time[ground.time > first]
    standing = time[sum(tail.at(time) for tail in mine) > EDGE_LEVEL * tallest.height]
    end = float(standing[-1]) if len(standing) else first
    return max(first, min([end, *next_one]))


def _without(survey: Survey, calm: float, start: float, end: float) -> tuple[tuple[int, int], ...]:
    """Return the free parts of a trace from some time on, less what lies between two more."""
    calm_at, first, last = survey.trace.time_min.searchsorted([calm, start, end]).tolist()
    rested = [(max(a, calm_at), b) for a, b in survey.free]
    parts = [(a, min(b, first)) for a, b in rested] + [(max(a, last), b) for a, b in rested]
    return tuple(sorted({(a, b) for a, b in parts if a < b}))
