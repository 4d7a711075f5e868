"""Values that are likelier another peak's, or cut wrongly, than right: are they part of a decline?

In: rows with their confidence, series in % of the reference. Out: the doubted values that the sound ones do
not bear out, and lives that claim nothing of exposures where only such values were measured.

A column may die in peaks that nobody can cut well, so what is doubted stays in where the sound injections
lead to expect it. What is left out is not dropped in silence: nothing is said to have held beyond the last
injection that counts, and where values after it lie past the limit, the life is open.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import erf, sqrt

import numpy as np

from lyewitness.decline.averaging import weigh
from lyewitness.decline.bands import (
    ANYWHERE,
    CERTAIN,
    FAR_OFF,
    LEAST_LEFT,
    LEAST_USUAL,
    MAD_TO_SD,
    MOST_POINTS,
    NEIGHBOURS,
    OUTLYING,
    SUSPECT,
    Asked,
    points_of,
)
from lyewitness.decline.lasting_steps import without_borne_out
from lyewitness.decline.lives import LimitLine
from lyewitness.decline.records import Decline, Life
from lyewitness.peaks.records import LEAST_TRUST, TOLERANCE, PeakRow
from lyewitness.words.arrays import BoolArray, FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import counted, exposure, listed

OF_THE_NAME = frozenset({"retention_time_min", "retention_factor"})
"""What a peak of the right name shows however badly it is cut."""
DOUBTED = 0.5
"""Confidence below which name and numbers together are likelier wrong than right."""
LEAST_CONFIDENCE = 0.01
"""Nothing is so surely wrong that no sound injection could bear it out."""
MOST_NAMED = 6
"""So many injections are named, of more the first and the last."""


def confidence_in(row: PeakRow, name: str) -> float:
    """Return how sure the value `name` of a row is; that of the name alone where no cut touches it.

    Where its own standard error leaves less than the row's confidence grants to any numbers, that counts.
    """
    if row.confidence is None:
        return 1.0
    named = min(1.0, row.confidence / LEAST_TRUST)
    value, error = getattr(row, name), getattr(row, f"{name}_se")
    inside = erf(TOLERANCE * abs(value) / (error * sqrt(2.0))) if error else 1.0
    return min(named if name in OF_THE_NAME else row.confidence, named * inside)


def prior_odds(confidence: FloatArray) -> FloatArray:
    """Return the odds of being wrong that `confidence` gives, where a value is doubtful; else `OUTLYING`."""
    sure = np.maximum(confidence, LEAST_CONFIDENCE)
    return np.where(confidence < DOUBTED, (1 - sure) / sure, OUTLYING)


def doubted_in(confidence: FloatArray, reference_n: int) -> BoolArray:
    """Return which of `confidence` (n,) make their values doubtful.

    Where all of the reference would be it stays: there is nothing else to hold the others against.
    """
    doubted = confidence < DOUBTED
    if doubted[:reference_n].all():
        doubted[:reference_n] = False
    return doubted


def not_borne_out(
    asked: Asked, percent: FloatArray, confidence: FloatArray, beliefs: Sequence[FloatArray]
) -> BoolArray:
    """Return which doubted values of `percent` (S, n) the sound ones of their series do not bear out.

    Each is foretold by the sound ones alone, for what makes one peak doubtful makes its neighbours so: a run
    of wrongly cut peaks agrees with itself. `confidence` is (S, n), `beliefs` (S, noises).
    """
    doubted = np.stack([doubted_in(own, asked.reference_n) for own in confidence])
    found = np.zeros(doubted.shape, dtype=bool)
    patterns, members = np.unique(doubted, axis=0, return_inverse=True)
    for number, pattern in enumerate(patterns):
        rows = [int(row) for row in np.flatnonzero(members.ravel() == number)]
        if pattern.any() and (~pattern).sum() >= LEAST_LEFT:
            judge = _by_odds if len(asked.u) <= MOST_POINTS else _by_distance
            own = [beliefs[row] for row in rows]
            found[rows] = judge(asked, percent[rows], confidence[rows], own, pattern)
            # What is counted bears out what it stays with, be it doubtful itself.
            for row in rows:
                found[row] = without_borne_out(percent[row], found[row])
    return found


def _by_odds(
    asked: Asked,
    percent: FloatArray,
    confidence: FloatArray,
    beliefs: Sequence[FloatArray],
    doubted: BoolArray,
) -> BoolArray:
    """Return which of the `doubted` (n,) of each series are outlying, at the odds that confidence gives."""
    found = np.zeros(percent.shape, dtype=bool)
    sound = ~doubted
    # What lies on the line of its neighbours is borne out whatever its odds; a trial takes 0.1 s.
    suspected = _off_the_line(asked, percent, doubted) > SUSPECT
    if not suspected.any():
        return found
    alone = _densities(asked, percent, beliefs, sound)
    for place in np.flatnonzero(suspected.any(axis=0)):
        with_it = _densities(asked, percent, beliefs, sound | (np.arange(len(sound)) == place))
        prior = np.log(prior_odds(confidence[:, place]) * ANYWHERE)
        found[:, place] = suspected[:, place] & (prior + alone - with_it > np.log(CERTAIN))
    return found


def _densities(
    asked: Asked, percent: FloatArray, beliefs: Sequence[FloatArray], used: BoolArray
) -> FloatArray:
    """Return (S,) the log densities of the `used` (n,) values of each series."""
    found = weigh(points_of(asked, used), percent[:, used])
    return np.array([one.log_density(belief) for one, belief in zip(found, beliefs, strict=True)])


def _by_distance(
    asked: Asked,
    percent: FloatArray,
    _confidence: FloatArray,
    _beliefs: Sequence[FloatArray],
    doubted: BoolArray,
) -> BoolArray:
    """Return which of the `doubted` (n,) of very many lie far off the line through the sound ones near."""
    return _off_the_line(asked, percent, doubted) > FAR_OFF


def _off_the_line(asked: Asked, percent: FloatArray, doubted: BoolArray) -> FloatArray:
    """Return (S, n) how far each doubted value lies off the line of the sound ones near ÷ their scatter."""
    found = np.zeros(percent.shape)
    sound = np.flatnonzero(~doubted)
    for place in np.flatnonzero(doubted):
        near = np.sort(sound[np.argsort(np.abs(sound - place), kind="stable")[:NEIGHBOURS]])
        terms = np.column_stack([np.ones(len(near)), asked.u[near] - asked.u[place]])
        line = np.linalg.lstsq(terms, percent[:, near].T, rcond=None)[0]
        off = np.abs(percent[:, near] - (terms @ line).T)
        usual = np.maximum(MAD_TO_SD * np.median(off, axis=1), LEAST_USUAL)
        found[:, place] = np.abs(percent[:, place] - line[0]) / usual
    return found


def held_back(
    life: Life, hours: FloatArray, percent: FloatArray, left_out: BoolArray, line: LimitLine
) -> Life:
    """Return a life that says nothing of where there are only values `left_out` (n,) as doubtful.

    `hours` and `percent` are (n,), of all injections.
    """
    last = float(hours[~left_out][-1])
    late = left_out & (hours > last)
    if life.state != "not reached" or not line.past(percent[late]).any():
        return life
    why = f"what was measured after {exposure(last)} is doubtful, and some of it lies past the limit"
    low = last if life.hours.low is None else min(life.hours.low, last)
    return replace(life, state="unclear", hours=Estimate(None, low, None, why), extrapolated=False)


def doubted_words(decline: Decline) -> str:
    """Return `the peaks of A1-11 and A1-12`, those that a decline is without; empty where there are none."""
    names = decline.doubted
    if not names:
        return ""
    if len(names) > MOST_NAMED:
        return f"{counted(len(names), 'peak')} from {names[0]} to {names[-1]}"
    return f"the peak{'s' if len(names) > 1 else ''} of {listed(names)}"


def left_out_words(decline: Decline) -> str:
    """Return `doubtful and left out: the peaks of A1-11 and A1-12`; empty where none are."""
    return f"doubtful and left out: {doubted_words(decline)}" if decline.doubted else ""
