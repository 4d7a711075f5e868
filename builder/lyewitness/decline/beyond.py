"""What a curve says of the time after the last injection.

In: the mixture of a series at exposures that reach beyond its last injection. Out: the same with what nobody
knows of the pace from there on.

No shape need hold on. A slow phase may follow a fast one, a delay may end, a decline may come to rest; what
is seen up to now tells none of it. So a curve is led on at its own pace times a factor, as likely above one
as below, and every value of the factor adds its share of curves to the mixture. A pace that has just changed
may change back: a dip in progress looks like the beginning of the end.
"""

from dataclasses import replace

import numpy as np

from lyewitness.decline.averaging import Mixture, back
from lyewitness.words.arrays import FloatArray

PACE_SD = 0.5
"""Standard deviation of the logarithm of that factor: of laws that the shapes do not hold, 0.35 left one in
six foretold crossings outside (delayed ones, with errors by the day), 0.5 one in ten at most
(`tests.foretold`, chosen and judged on different seeds)."""
NODES = 5
"""Values of the factor that stand for all of them: Gauss and Hermite's, the outermost 2.86 deviations off."""
LATELY = 0.2
"""Share of the test over which the pace at its end is taken: two injections of ten."""
CHANGES_BACK = 1.0
"""Standard deviation of that logarithm ÷ the logarithm of the pace at the end over the pace before it."""
MOST_CHANGED = 2.0
"""Logarithm of a change of pace at most: a delay that ended had no pace before."""

FURTHEST = 1000.0
"""Curves are told apart up to here, % of the reference or 100 ln: no limit lies beyond."""


def _factors(pace_sd: float = PACE_SD) -> tuple[FloatArray, FloatArray]:
    """Return values of the factor (NODES,) and their chances; none is faster than it is without a change."""
    at, weight = np.polynomial.hermite_e.hermegauss(NODES)
    return np.exp(np.minimum(pace_sd * at, PACE_SD * at.max())), weight / weight.sum()


def pace_sd(mixture: Mixture, known: FloatArray) -> float:
    """Return the standard deviation of the logarithm of the factor of one series."""
    parts = at_places(mixture, known, np.array([known[0], 1.0 - LATELY, 1.0]))
    each = np.where(parts.logarithmic[:, None], back(parts.relative_middle), parts.relative_middle)
    first, then, last = (parts.weight * each).sum(axis=0) / parts.weight.sum(axis=0)
    before = (then - first) / (1.0 - LATELY - known[0])
    lately = (last - then) / LATELY
    same = lately * before > 0
    changed = min(abs(float(np.log(lately / before))), MOST_CHANGED) if same else MOST_CHANGED
    return float(np.hypot(PACE_SD, CHANGES_BACK * changed))


def furthest(u: FloatArray) -> float:
    """Return how far a curve must be known so that every pace can be followed to the last of `u` (m,)."""
    return float(1.0 + max(u[-1] - 1.0, 0.0) * _factors()[0].max())


def at_places(mixture: Mixture, known: FloatArray, places: FloatArray) -> Mixture:
    """Return the mixture at `places` (m,), read off between the `known` exposures."""
    if len(places) == len(known):
        return mixture

    def at(values: FloatArray) -> FloatArray:
        return np.array([np.interp(places, known, one) for one in values])

    return replace(
        mixture,
        weight=at(mixture.weight),
        middle=np.clip(at(mixture.middle), -FURTHEST, FURTHEST),
        error=np.minimum(at(mixture.error), FURTHEST),
        relative_middle=np.clip(at(mixture.relative_middle), -FURTHEST, FURTHEST),
        relative_error=np.minimum(at(mixture.relative_error), FURTHEST),
    )


def led_on(mixture: Mixture, known: FloatArray, u: FloatArray) -> Mixture:
    """Return the mixture at `u` (m,), all after the last injection, from the one at `known` exposures.

    At a factor f the curve is at 1 + f (u − 1) where it would have been at u.
    """
    factors, chances = _factors(pace_sd(mixture, known))
    each = [
        (at_places(mixture, known, 1.0 + factor * (u - 1.0)), chance)
        for factor, chance in zip(factors, chances, strict=True)
    ]

    def joined(name: str) -> FloatArray:
        return np.concatenate([getattr(one, name) for one, _ in each])

    return replace(
        mixture,
        weight=np.concatenate([one.weight * chance for one, chance in each]),
        logarithmic=joined("logarithmic").astype(bool),
        freedom=joined("freedom"),
        middle=joined("middle"),
        error=joined("error"),
        relative_middle=joined("relative_middle"),
        relative_error=joined("relative_error"),
    )
