"""A study that still runs: how far it has come, and what may be said at a look that was planned.

In: the study's plan and the exposures of its injections. Out: `Standing`, with the level at which a
difference counts now.

Whoever looks again and again, and stops when a difference shows, finds one that is not there far more often
than one time in twenty. So before its planned end a study shows nothing, unless looks were planned: then the
error is spent over the looks (Lan and DeMets 1983, Biometrika 70, 659), little at first, by their function of
the O'Brien–Fleming type.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import pairwise
from statistics import median

import numpy as np
import scipy

from lyewitness.decline.distributions import norm
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Study
from lyewitness.words.arrays import FloatArray

GRID_POINTS = 2001
"""Points between the bounds over which the density of the score is carried on: five-figure bounds."""
HIGHEST_BOUND = 12.0
"""Standard deviations; beyond, the level is below 1e-32 and nothing is spent."""
LATE_SHARE = 0.02
"""A last injection this share before the planned end has reached it: nobody injects to the minute."""
LAST_STEP_SHARE = 0.1
"""So has one after which the next would fall behind the end; but no end is taken this share early or more."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a study has come."""

    reached_h: float
    """Exposure of the column that has come furthest, hours."""
    ends_h: float | None
    """Planned end, hours; None where none is stated."""
    running: bool
    look: int = 0
    """Number of the planned look at which it stands, from 1; 0 between looks and where none were planned."""
    looks: int = 0
    """How many were planned, the end among them."""
    level: float | None = None
    """Two-sided p value below which a difference counts at this look; None between looks."""


def standing_of(study: Study, measurements: Measurements) -> Standing:
    """Return how far the study has come."""
    exposures: dict[str, set[float]] = {}
    for row in measurements.rows:
        if row.used:
            exposures.setdefault(row.column, set()).add(row.exposure_h)
    reached = max((max(hours) for hours in exposures.values()), default=0.0)
    looks = study.plan.looks_h
    ends = study.plan.ends_h if study.plan.ends_h is not None else (looks[-1] if looks else None)
    over = ends is not None and reached > _last_before(ends, exposures.values())
    # What says that it runs is believed where no end is stated, and where the end was put off.
    running = study.running or (ends is not None and not over)
    if not looks or ends is None:
        return Standing(reached, ends, running)
    planned = tuple(sorted({hours for hours in looks if 0 < hours < ends} | {ends}))
    number = len(planned) if over else _look_at(planned, reached, list(exposures.values()))
    fractions = tuple(hours / ends for hours in planned)
    level = nominal_levels(fractions, study.choices.alpha)[number - 1] if number else None
    return Standing(reached, ends, running, number, len(planned), level)


def _last_before(ends: float, exposures: Collection[set[float]]) -> float:
    """Return the exposure behind which an injection is the last one before the planned end, hours.

    What is left until then is less than the usual step, by which the columns were injected so far.
    """
    steps = [later - earlier for hours in exposures for earlier, later in pairwise(sorted(hours))]
    usual = median(steps) if steps else 0.0
    return ends - max(LATE_SHARE * ends, min(usual, LAST_STEP_SHARE * ends)) - 1e-9 * ends


def _look_at(planned: Sequence[float], reached: float, exposures: Sequence[set[float]]) -> int:
    """Return the number of the look at which the injections stand; 0 where they are past one or before all.

    A look is made with the first injection of each column at or after it; with a second one it is over.
    """
    done = [number for number, hours in enumerate(planned, start=1) if reached >= (1 - LATE_SHARE) * hours]
    if not done:
        return 0
    since = (1 - LATE_SHARE) * planned[done[-1] - 1]
    at_end = done[-1] == len(planned)
    return done[-1] if at_end or all(sum(h >= since for h in one) <= 1 for one in exposures) else 0


def spent(fraction: float, alpha: float) -> float:
    """Return the two-sided error spent when a share `fraction` of the information is in.

    2 · 2 (1 − Φ(z / √t)) with z the upper α/4 point: both sides of the O'Brien–Fleming type of Lan and DeMets
    (1983), each of α/2.
    """
    return float(4.0 * norm.sf(norm.isf(alpha / 4) / np.sqrt(fraction)))


@lru_cache(maxsize=64)
def bounds(fractions: tuple[float, ...], alpha: float) -> tuple[float, ...]:
    """Return the symmetric bounds of the standardised difference at looks with these shares of information.

    Between two looks the score gains an independent normal step; its density within the bounds so far is
    carried on numerically (Armitage, McPherson and Rowe 1969).
    """
    found: list[float] = []
    place, density, before, already = np.zeros(1), np.ones(1), 0.0, 0.0
    for fraction in fractions:
        step = float(np.sqrt(fraction - before))
        over = partial(_over, place=place, density=density, step=step, root=float(np.sqrt(fraction)))
        wanted = spent(fraction, alpha) - already
        bound = HIGHEST_BOUND
        if over(HIGHEST_BOUND, wanted=wanted) < 0.0:
            bound = float(scipy.optimize.brentq(partial(over, wanted=wanted), 0.0, HIGHEST_BOUND))
        found.append(bound)
        place, density = _carried_on(place, density, step, bound * np.sqrt(fraction))
        before, already = fraction, spent(fraction, alpha)
    return tuple(found)


def _over(
    bound: float, wanted: float, place: FloatArray, density: FloatArray, step: float, root: float
) -> float:
    """Return by how much the chance to leave the bounds at this look and none before exceeds `wanted`."""
    out = norm.sf((bound * root - place) / step) + norm.cdf((-bound * root - place) / step)
    return float((density * out).sum()) - wanted


def _carried_on(
    place: FloatArray, density: FloatArray, step: float, edge: float
) -> tuple[FloatArray, FloatArray]:
    """Return places within the bounds and the probability at each, by Simpson's rule, one step later."""
    places = np.linspace(-edge, edge, GRID_POINTS)
    weights = np.full(GRID_POINTS, 2.0)
    weights[1::2], weights[[0, -1]] = 4.0, 1.0
    weights *= (places[1] - places[0]) / 3
    kernel = norm.pdf((places[:, None] - place[None, :]) / step) / step
    return places, weights * (kernel @ density)


def nominal_levels(fractions: tuple[float, ...], alpha: float) -> tuple[float, ...]:
    """Return the two-sided p value below which a difference counts, at each look."""
    return tuple(float(2.0 * norm.sf(bound)) for bound in bounds(fractions, alpha))
