"""The curve of a decline with its band, and the injections that lie outside the rule.

In: series that share their exposures, in % of their references. Out: one `Band` a series.

A band is the quantiles of the mixture over shapes and noises (`averaging.py`), exposure by exposure: the
curve is its median, so that it never leaves its band.
"""

from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from lyewitness.decline.averaging import Mixture, Points, Weighed, look, quantiles, weigh
from lyewitness.words.arrays import BoolArray, FloatArray

OUTLYING = 0.04
"""Share of injections that are outlying, before anything was measured: one in five and twenty."""
ANYWHERE = 1 / 100.0
"""Density of an outlying injection: even over as much as the reference."""
CERTAIN = 3.0
"""Odds from which on an injection counts as outlying: three to one."""
INJECTIONS_TO_ONE_OUTLYING = 8
"""One injection in so many, and one more, may be left out: what errs more often is the noise itself."""
MOST_POINTS = 48
"""From more injections neighbours are averaged: what the curve then loses lies far below its band."""
NEIGHBOURS = 9
"""Injections that a running median goes over."""
FAR_OFF = 6.0
"""Robust standard deviations off the running median that make one of very many injections outlying."""
MAD_TO_SD = 1.4826
"""Standard deviation of a normal distribution ÷ its median absolute deviation."""


@dataclass(frozen=True, eq=False, slots=True)
class Edges:
    """Quantiles of the curve at m exposures, % of the reference."""

    curve: FloatArray
    low: FloatArray
    """Lower edge of the two-sided band."""
    high: FloatArray
    one_sided_low: FloatArray
    one_sided_high: FloatArray


@dataclass(frozen=True, eq=False, slots=True)
class Band:
    """What one series says of its curve."""

    absolute: Edges
    """The reference taken as exact: for a limit in the metric's own unit."""
    relative: Edges
    """Of the curve ÷ true reference: for a limit in % of it."""
    outlying: BoolArray
    """(n,)"""
    last_odds: float
    """Odds that the last injection is outlying, where it alone is past a limit; else 0."""
    fitted: FloatArray
    """(n,) mean curve at the injections, % of the reference."""
    noise_sd: float
    """Standard deviation of the noise, % of the reference."""
    jump: FloatArray
    """(n − 1,) chance that the metric jumped between an injection and the next."""


def bands(
    u: FloatArray, percent: FloatArray, reference_n: int, grid: FloatArray, kept: BoolArray, confidence: float
) -> list[Band]:
    """Return the bands of `percent` (S, n) at the scaled exposures `u` (n,), seen at `grid` (m,).

    `kept` (S, n) are injections that are never outlying.
    """
    if len(u) > MOST_POINTS:
        outlying = _far_off(percent) & ~kept
        return [
            _of_many(u, one, reference_n, grid, out, confidence)
            for one, out in zip(percent, outlying, strict=True)
        ]
    everyone = np.ones(len(u), dtype=bool)
    points = _points(u, everyone)
    found = weigh(points, percent)
    mixtures = look(points, percent, found, grid, u[:reference_n], u)
    view = _View(u, reference_n, grid, confidence)
    return [view.without_outlying(*one) for one in zip(percent, found, mixtures, kept, strict=True)]


def _points(u: FloatArray, used: BoolArray) -> Points:
    return Points(u[used], np.flatnonzero(used).astype(float), np.ones(int(used.sum())))


@dataclass(frozen=True, eq=False, slots=True)
class _View:
    """What the series of one batch share."""

    u: FloatArray
    reference_n: int
    grid: FloatArray
    confidence: float

    def without_outlying(
        self, percent: FloatArray, found: Weighed, mixture: Mixture, kept: BoolArray
    ) -> Band:
        """Return the band of one series, its outlying injections left out one by one, the worst first."""
        used = np.ones(len(self.u), dtype=bool)
        density = found.log_density
        while (~used).sum() <= len(used) // INJECTIONS_TO_ONE_OUTLYING and used.sum() > LEAST_LEFT:
            without = {
                suspect: self._weighed(percent, used & (np.arange(len(used)) != suspect))
                for suspect in suspects(self.u, percent, used & ~kept, used)
            }
            if not without:
                break
            worst = max(without, key=lambda suspect: without[suspect].log_density)
            if _odds(without[worst], density) < CERTAIN:
                break
            used[worst] = False
            density = without[worst].log_density
            points, values, near = _points(self.u, used), percent[None, used], self.u[: self.reference_n]
            (mixture,) = look(points, values, [without[worst]], self.grid, near, self.u)
        last_odds = 0.0
        if kept[-1] and not kept[-2:-1].any() and used.sum() > LEAST_LEFT:
            last_odds = _odds(self._weighed(percent, used & (np.arange(len(used)) < len(used) - 1)), density)
        return _band(mixture, ~used, last_odds, self.u, self.confidence)

    def _weighed(self, percent: FloatArray, used: BoolArray) -> Weighed:
        return weigh(_points(self.u, used), percent[None, used])[0]


def _odds(without: Weighed, log_density: float) -> float:
    """Return the odds that an injection is outlying, from the density of the values without and with it."""
    return float(OUTLYING * ANYWHERE * np.exp(np.clip(without.log_density - log_density, -300.0, 300.0)))


def suspects(u: FloatArray, percent: FloatArray, asked: BoolArray, used: BoolArray) -> list[int]:
    """Return the injections, two at most, that lie farthest off the line through their neighbours.

    Only those that lie farther off than is usual are worth to be left out on trial.
    """
    at = np.flatnonzero(used)
    x, y = u[at], percent[at]
    first, last = np.r_[1, np.arange(len(at) - 2), len(at) - 3], np.r_[2, np.arange(2, len(at)), len(at) - 2]
    width = x[last] - x[first]
    share = np.where(width > 0, (x - x[first]) / np.where(width > 0, width, 1.0), 0.5)
    apart = np.abs(y - (1 - share) * y[first] - share * y[last]) / np.sqrt(1 + (1 - share) ** 2 + share**2)
    usual = max(MAD_TO_SD * float(np.median(apart)), LEAST_USUAL)
    far = [k for k in np.argsort(-apart, kind="stable") if apart[k] > SUSPECT * usual and asked[at[k]]]
    return [int(at[k]) for k in far[:2]]


SUSPECT = 2.5
"""Robust standard deviations off the line through its neighbours from which on an injection is suspected."""
LEAST_USUAL = 0.02
"""Scatter counts as this much at least, % of the reference: rounding is no scatter."""
LEAST_LEFT = 5
"""Injections that a curve needs at least."""


def _band(mixture: Mixture, outlying: BoolArray, last_odds: float, u: FloatArray, confidence: float) -> Band:
    jump = np.zeros(max(len(u) - 1, 0))
    for (low, _), chance in mixture.jumps.items():
        jump[int(np.searchsorted(u, low, side="right")) - 1] += chance
    return Band(
        _edges(mixture, False, confidence),
        _edges(mixture, True, confidence),
        outlying,
        last_odds,
        mixture.fitted,
        mixture.noise_sd,
        jump,
    )


def _edges(mixture: Mixture, relative: bool, confidence: float) -> Edges:
    tail = (1 - confidence) / 2
    low, one_low, curve, one_high, high = quantiles(
        mixture, relative, (tail, 2 * tail, 0.5, 1 - 2 * tail, 1 - tail)
    )
    return Edges(curve, low, high, one_low, one_high)


def _of_many(
    u: FloatArray,
    percent: FloatArray,
    reference_n: int,
    grid: FloatArray,
    outlying: BoolArray,
    confidence: float,
) -> Band:
    """Return the band of one of the long series, from means over neighbours; the reference stays as it is."""
    used = np.flatnonzero(~outlying)
    first, rest = used[used < reference_n], used[used >= reference_n]
    size = ceil(len(rest) / (MOST_POINTS - reference_n))
    parts = [first[at : at + 1] for at in range(len(first))]
    parts += [rest[at : at + size] for at in range(0, len(rest), size)]
    means = [np.array([values[part].mean() for part in parts]) for values in (u, percent)]
    place = np.array([np.mean(part) for part in parts]) / size
    points = Points(means[0], place, np.array([float(len(part)) for part in parts]))
    y = means[1][None]
    (mixture,) = look(points, y, weigh(points, y), grid, u[:reference_n], u)
    return _band(replace(mixture, jumps={}), outlying, 0.0, u, confidence)


def _far_off(percent: FloatArray) -> BoolArray:
    """Return which of `percent` (S, n) lie far off the running median."""
    half = NEIGHBOURS // 2
    padded = np.pad(percent, ((0, 0), (half, half)), mode="edge")
    near = np.lib.stride_tricks.sliding_window_view(padded, NEIGHBOURS, axis=1)
    apart = np.abs(percent - np.median(near, axis=2))
    around = np.lib.stride_tricks.sliding_window_view(
        np.pad(apart, ((0, 0), (2 * half, 2 * half)), mode="reflect"), 4 * half + 1, axis=1
    )
    spread = MAD_TO_SD * np.maximum(np.median(around, axis=2), np.median(apart, axis=1, keepdims=True))
    return np.asarray(apart > FAR_OFF * np.maximum(spread, 0.02))
