"""The curve of a decline with its band, and the injections that lie outside the rule.

In: series that share their exposures, in % of their references. Out: one `Band` a series.

A band is the quantiles of the mixture over shapes and noises (`averaging.py`), exposure by exposure: the
curve is its median, so that it never leaves its band.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np
import scipy

from lyewitness.decline.averaging import (
    Mixture,
    Points,
    Weighed,
    densities_without,
    look,
    quantiles,
    weigh,
)
from lyewitness.decline.beyond import at_places, furthest, led_on
from lyewitness.decline.lasting_steps import borne_out, without_borne_out
from lyewitness.decline.shared_noise import HOURS_OF_A_DAY
from lyewitness.store import remembered
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

    absolute: Edges | None
    """The reference taken as exact: for a limit in the metric's own unit, where there is one."""
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
    lasting: float
    """Chance that errors last from one injection to the next."""


@dataclass(frozen=True, eq=False, slots=True)
class Asked:
    """What is asked of every series of a batch."""

    u: FloatArray
    """(n,) scaled exposures of the injections."""
    reference_n: int
    grid: FloatArray
    """(m,) scaled exposures at which the curve is wanted."""
    confidence: float
    end_h: float
    """Exposure of the last injection, hours: of what scaled exposures are shares."""
    clock_h: FloatArray | None = None
    """(n,) when the injections were made, hours; None where nothing but their exposures is known."""

    @property
    def known(self) -> FloatArray:
        """Return the scaled exposures at which the curve must be known: beyond the test for every pace."""
        if self.grid[-1] <= 1.0:
            return self.grid
        more = np.linspace(self.grid[-1], furthest(self.grid), len(self.grid))[1:]
        return np.concatenate([self.grid, more])

    @property
    def made_h(self) -> FloatArray:
        """Return (n,) when the injections were made, as far as it is known, hours."""
        return self.end_h * self.u if self.clock_h is None else self.clock_h

    @property
    def reference_u(self) -> FloatArray:
        """Return the scaled exposures of the reference injections."""
        return self.u[: self.reference_n]


@dataclass(frozen=True, eq=False, slots=True)
class Sight:
    """What the injections of one series look like, before it is known what the study's noise is like."""

    percent: FloatArray
    """(n,)"""
    outlying: BoolArray
    """(n,) injections left out from the beginning: of many, and what is known to be outlying."""
    points: Points
    values: FloatArray
    """At the points: of many injections, means over neighbours."""
    weighed: Weighed


def sights(asked: Asked, percent: FloatArray, kept: BoolArray) -> list[Sight]:
    """Return those of `percent` (S, n); `kept` (S, n) are injections that are never outlying."""
    if len(asked.u) > MOST_POINTS:
        outlying = _far_off(percent) & ~kept
        return [_sight_of_many(asked, *one) for one in zip(percent, outlying, strict=True)]
    points, none = points_of(asked, np.ones(len(asked.u), dtype=bool)), np.zeros(len(asked.u), dtype=bool)
    found = weigh(points, percent)
    return [Sight(own, none, points, own, one) for own, one in zip(percent, found, strict=True)]


@dataclass(frozen=True, eq=False, slots=True)
class Known:
    """What is known of the injections of S series before their curves; all (S, n)."""

    kept: BoolArray
    """Injections that are never outlying."""
    left_out: BoolArray
    """Injections that surely are."""
    prior: FloatArray
    """Odds of any other to be outlying, before it is looked at."""


def bands(
    asked: Asked,
    seen: Sequence[Sight],
    beliefs: Sequence[FloatArray],
    known: Known,
    absolute: Sequence[bool],
) -> list[Band]:
    """Return the bands of series `seen`.

    `beliefs` (S, noises) are logs of how far each noise is believed; `absolute` (S,) says which series want a
    band for a limit in the metric's own unit, too.
    """
    many = len(asked.u) > MOST_POINTS
    found = [_seen_without(asked, *one) for one in zip(seen, known.left_out, strict=True)]
    return [
        _of_many(asked, one, belief, wanted)
        if many
        else _without_outlying(asked, one, belief, (known.kept[row], known.prior[row]), wanted)
        for row, (one, belief, wanted) in enumerate(zip(found, beliefs, absolute, strict=True))
    ]


def _seen_without(asked: Asked, seen: Sight, left_out: BoolArray) -> Sight:
    """Return what is seen of one series without the injections `left_out` (n,)."""
    if not left_out.any():
        return seen
    outlying = seen.outlying | left_out
    if len(asked.u) > MOST_POINTS:
        return _sight_of_many(asked, seen.percent, outlying)
    points, values = points_of(asked, ~outlying), seen.percent[~outlying]
    return Sight(seen.percent, outlying, points, values, weigh(points, values[None])[0])


def _look(asked: Asked, points: Points, values: FloatArray, weighed: Weighed, belief: FloatArray) -> Mixture:
    """Return the mixture of one series."""
    return look(points, values[None], [weighed], [belief], asked.known, asked.reference_u, asked.u)[0]


def points_of(asked: Asked, used: BoolArray) -> Points:
    """Return the injections of which `used` (n,) is true, each by itself."""
    place, one_each = np.flatnonzero(used).astype(float), np.ones(int(used.sum()))
    return Points(asked.u[used], place, one_each, asked.made_h[used])


MOST_BANDS = 1024
"""Series whose bands are remembered: the audit has a study judged twice more, with some injections counted
otherwise, and most series are as they were. Each takes 40 kB."""


@remembered(MOST_BANDS)
def _without_outlying(
    asked: Asked, seen: Sight, belief: FloatArray, known: tuple[BoolArray, FloatArray], absolute: bool
) -> Band:
    """Return the band of one series, its outlying injections left out one by one, the worst first.

    `known` are what is kept and the prior odds, (n,) each. Two neighbours that would both be outlying speak
    for each other: the column was so, and both are kept. So do all later ones that stay where one stepped to.
    """
    kept, prior = known[0].copy(), known[1]
    stepped = np.zeros(len(kept), dtype=bool)
    u, percent, weighed = asked.u, seen.percent, seen.weighed
    points, values = seen.points, seen.values
    used, density = ~seen.outlying, weighed.log_density(belief)
    most = seen.outlying.sum() + len(used) // INJECTIONS_TO_ONE_OUTLYING
    while (~used).sum() <= most and used.sum() > LEAST_LEFT:
        at = np.flatnonzero(used)
        tried = suspects(u[at], percent[at], ~kept[at])
        if not tried:
            break
        without = densities_without(points, values, tried, belief)
        odds = _log_odds(prior[at[tried]], without, density)
        if odds.max() < np.log(CERTAIN):
            break
        worst = at[tried[int(np.argmax(odds))]]
        if borne_out(percent, used, int(worst)):
            kept[worst] = stepped[worst] = True
            continue
        left = (~used & ~seen.outlying) | stepped
        beside = np.flatnonzero(left & (np.abs(np.arange(len(used)) - worst) == 1))
        used[worst], used[beside] = len(beside) > 0, True
        kept[[worst, *beside]] = len(beside) > 0
        points, values = points_of(asked, used), percent[used]
        (weighed,) = weigh(points, values[None])
        density = weighed.log_density(belief)
    last_odds = 0.0
    last = np.flatnonzero(~seen.outlying)[-2:]
    if kept[last[-1]] and not (kept & ~stepped)[last[:-1]].any() and used.sum() > LEAST_LEFT:
        alone = densities_without(points, values, [len(values) - 1], belief)
        last_odds = float(np.exp(np.minimum(_log_odds(prior[last[-1:]], alone, density), MOST_ODDS))[0])
    mixture = _look(asked, points, values, weighed, belief)
    lasting = weighed.lasting(belief)
    band = _band(asked, mixture, ~used, last_odds, lasting, absolute)
    return _offset(band, asked, _of_a_day(asked, percent, used, lasting))


SHARED_BY_A_DAY = 0.25
"""Share of the variance of an injection that its whole day may have in common, though nothing shows it.

Of 948 lives by laws and noises that no shape here knows, with none of it 93.2 % held (errors of days 86 %),
with a quarter 94.7 % (90 %), their median interval 5 % wider; half would have cost twice as much for one life
in a hundred more."""
SEEN_IN_A_DAY = 2.0
"""Injections a day from which on they show more and more what a day has in common: of one or two no curve
tells it from a decline. Without this, 48 injections of independent noise gave lives a fifth wider."""
FEWEST_PLACES = 5
"""Injections, the references counted as one, whose distances off their neighbours have a median."""


def scatter(x: FloatArray, y: FloatArray) -> float:
    """Return the noise of `y` (n,) from its distances off the line through both neighbours, by their median.

    No slope goes into it, and nothing that a curve took for a decline is missing from it.
    """
    around = x[2:] - x[:-2]
    share = np.where(around > 0, (x[1:-1] - x[:-2]) / np.where(around > 0, around, 1.0), 0.5)
    off = np.abs(y[1:-1] - (1 - share) * y[:-2] - share * y[2:]) / np.sqrt(1 + share**2 + (1 - share) ** 2)
    return MAD_TO_SD * float(np.median(off))


def _of_a_day(asked: Asked, percent: FloatArray, used: BoolArray, lasting: float) -> float:
    """Return the standard error that the references' days may give all later injections, % of the reference.

    `lasting` is the chance of errors that last: what these do to the curve its band holds already.
    """
    first = used & (np.arange(len(used)) < asked.reference_n)
    rest = used & ~first
    if not first.any() or rest.sum() + 1 < FEWEST_PLACES:
        return 0.0
    x, y = (np.r_[series[first].mean(), series[rest]] for series in (asked.u, percent))
    days = len(np.unique(asked.made_h[first] // HOURS_OF_A_DAY))
    in_a_day = rest.sum() * HOURS_OF_A_DAY / max(float(np.ptp(asked.made_h[used])), HOURS_OF_A_DAY)
    unseen = min(1.0, SEEN_IN_A_DAY / in_a_day)
    return scatter(x, y) * float((SHARED_BY_A_DAY * unseen * (1 - lasting) / days) ** 0.5)


def _offset(band: Band, asked: Asked, error: float) -> Band:
    """Return a band with a further, independent standard error, % of the reference."""
    tail = (1 - asked.confidence) / 2
    both, one = (float(scipy.special.ndtri(1 - part)) * error for part in (tail, 2 * tail))

    def wider(edges: Edges) -> Edges:
        curve = edges.curve
        return Edges(
            curve,
            curve - np.hypot(curve - edges.low, both),
            curve + np.hypot(edges.high - curve, both),
            curve - np.hypot(curve - edges.one_sided_low, one),
            curve + np.hypot(edges.one_sided_high - curve, one),
        )

    absolute = None if band.absolute is None else wider(band.absolute)
    return replace(band, absolute=absolute, relative=wider(band.relative))


MOST_ODDS = 300.0
"""Log of odds beyond which nothing more is said, and numbers have no end."""


def _log_odds(prior: FloatArray, without: FloatArray, density: float) -> FloatArray:
    """Return the log odds that injections are outlying, from the log densities without and with them."""
    return np.asarray(np.log(prior * ANYWHERE) + without - density)


def suspects(x: FloatArray, y: FloatArray, asked: BoolArray) -> list[int]:
    """Return the injections of (n,), two at most, that lie farthest off the line through their neighbours.

    Only what lies farther off than is usual is worth to be left out on trial.
    """
    n = len(x)
    first, last = np.r_[1, np.arange(n - 2), n - 3], np.r_[2, np.arange(2, n), n - 2]
    width = x[last] - x[first]
    share = np.where(width > 0, (x - x[first]) / np.where(width > 0, width, 1.0), 0.5)
    apart = np.abs(y - (1 - share) * y[first] - share * y[last]) / np.sqrt(1 + (1 - share) ** 2 + share**2)
    usual = max(MAD_TO_SD * float(np.median(apart)), LEAST_USUAL)
    return [int(k) for k in np.argsort(-apart, kind="stable") if apart[k] > SUSPECT * usual and asked[k]][:2]


SUSPECT = 3.0
"""Robust standard deviations off the line through its neighbours from which on an injection is suspected."""
LEAST_USUAL = 0.02
"""Scatter counts as this much at least, % of the reference: rounding is no scatter."""
STEPS_BEYOND = 16
"""Steps towards a quantile beyond the test, where curves lie hundreds of times as far apart."""
LEAST_LEFT = 5
"""Injections that a curve needs at least."""


def _band(
    asked: Asked, mixture: Mixture, outlying: BoolArray, last_odds: float, lasting: float, absolute: bool
) -> Band:
    jump = np.zeros(max(len(asked.u) - 1, 0))
    for (low, _), chance in mixture.jumps.items():
        jump[int(np.searchsorted(asked.u, low, side="right")) - 1] += chance
    return Band(
        _edges(mixture, False, asked) if absolute else None,
        _edges(mixture, True, asked),
        outlying,
        last_odds,
        mixture.fitted,
        mixture.noise_sd,
        jump,
        lasting,
    )


def _edges(mixture: Mixture, relative: bool, asked: Asked) -> Edges:
    tail = (1 - asked.confidence) / 2
    wanted = (tail, 2 * tail, 0.5, 1 - 2 * tail, 1 - tail)
    within, beyond = asked.grid <= 1.0, asked.grid > 1.0
    found = quantiles(at_places(mixture, asked.known, asked.grid[within]), relative, wanted)
    if beyond.any():
        further = quantiles(led_on(mixture, asked.known, asked.grid[beyond]), relative, wanted, STEPS_BEYOND)
        found = np.concatenate([found, further], axis=1)
    low, one_low, curve, one_high, high = found
    return Edges(curve, low, high, one_low, one_high)


def _sight_of_many(asked: Asked, percent: FloatArray, outlying: BoolArray) -> Sight:
    """Return that of one of the long series, by means over neighbours; the reference stays as it is."""
    used = np.flatnonzero(~outlying)
    first, rest = used[used < asked.reference_n], used[used >= asked.reference_n]
    size = ceil(len(rest) / (MOST_POINTS - asked.reference_n))
    parts = [first[at : at + 1] for at in range(len(first))]
    parts += [rest[at : at + size] for at in range(0, len(rest), size)]
    means = ([series[part].mean() for part in parts] for series in (asked.u, percent, asked.made_h))
    u, values, made_h = (np.array(one) for one in means)
    place = np.array([np.mean(part) for part in parts]) / size
    points = Points(u, place, np.array([float(len(part)) for part in parts]), made_h)
    return Sight(percent, outlying, points, values, weigh(points, values[None])[0])


@remembered(MOST_BANDS)
def _of_many(asked: Asked, seen: Sight, belief: FloatArray, absolute: bool) -> Band:
    """Return the band of one of the long series."""
    mixture = _look(asked, seen.points, seen.values, seen.weighed, belief)
    lasting = seen.weighed.lasting(belief)
    band = _band(asked, replace(mixture, jumps={}), seen.outlying, 0.0, lasting, absolute)
    return _offset(band, asked, _of_a_day(asked, seen.percent, ~seen.outlying, lasting))


def _far_off(percent: FloatArray) -> BoolArray:
    """Return which of `percent` (S, n) lie far off the median of their neighbours, and off that of each side.

    Not those at the ends, which have neighbours on one side only. Beside a step that lasts an injection has
    its like on one side, or all later ones.
    """
    half = NEIGHBOURS // 2
    windows = np.lib.stride_tricks.sliding_window_view(percent, NEIGHBOURS, axis=1)
    others, own = np.delete(windows, half, axis=2), percent[:, half:-half]
    apart = np.abs(own - np.median(others, axis=2))
    sides = (np.median(side, axis=2) for side in (others[:, :, :half], others[:, :, half:]))
    beside = np.min([np.abs(own - side) for side in sides], axis=0)
    around = np.lib.stride_tricks.sliding_window_view(
        np.pad(apart, ((0, 0), (NEIGHBOURS, NEIGHBOURS)), mode="reflect"), 2 * NEIGHBOURS + 1, axis=1
    )
    spread = MAD_TO_SD * np.maximum(np.median(around, axis=2), np.median(apart, axis=1, keepdims=True))
    far = np.zeros(percent.shape, dtype=bool)
    far[:, half:-half] = np.minimum(apart, beside) > FAR_OFF * np.maximum(spread, LEAST_USUAL)
    return np.stack([without_borne_out(*one) for one in zip(percent, far, strict=True)])
