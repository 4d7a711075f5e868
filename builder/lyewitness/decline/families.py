"""The shapes over which a decline is averaged.

In: scaled exposures (hours ÷ hours of the last injection, so 0 … 1). Out: `Family`: columns of which each
shape is a sum, and how far a shape is believed before anything was measured.

A shape is a level and one bend that goes from 0 at the start to 1 at the end of the test: a power of the
exposure, nothing up to a delay and a line from then on, an approach to a rest, a logistic step, or a jump
between two injections, with and without a line. Taken of the logarithm, the powers are Weibull's curves.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy

from lyewitness.words.arrays import FloatArray

# In shares of the test. Powers from a loss mostly at the start to a collapse at the end, delays in thirtieths
# and middles in twentieths: neighbours differ by less than the noise of common injections.
POWERS = (0.4, 0.55, 0.75, 1.0, 1.3, 1.7, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.5, 9.0)
DELAYS = tuple(np.arange(1, 33) / 33.5)
RATES = (1.0, 2.0, 4.0, 8.0, 16.0)
MIDDLES = tuple(np.arange(-1, 25) / 20.0)
# In shares of the test: from a step between two of forty injections to a fall that takes seven tenths of it
# (from 90 to 10 % a logistic curve needs 4.4 widths).
WIDTHS = (0.025, 0.05, 0.09, 0.16)
SHARES = {
    "steady": 0.08,
    "power": 0.36,
    "delay": 0.14,
    "rest": 0.08,
    "logistic": 0.2,
    "jump": 0.07,
    "jump on a line": 0.07,
}
"""How far each kind of shape is believed beforehand; shared evenly within a kind."""
WIDE = 50.0
"""Changes of this size, %, are as likely beforehand as none: the density of every bend is even, 1 ÷ this."""

LEAST_SEEN = 0.1
"""Share of a bend that the injections must show. One that comes wholly after them (the last one is outlying)
fits any noise by a change of thousands of per cent, of which nothing was seen."""
# As good as nothing, and still with a logarithm.
UNBELIEVED = 1e-200


@dataclass(frozen=True, eq=False, slots=True)
class Family:
    """Shapes at m exposures."""

    columns: FloatArray
    """(m, columns): one, the line, the other bends, the jumps."""
    members: tuple[tuple[int, ...], ...]
    """For every shape the columns that it is a sum of; steady, single bends, then jumps on a line."""
    log_prior: FloatArray
    """(shapes,)"""
    gaps: tuple[tuple[float, float] | None, ...]
    """For every shape the exposures between which it jumps."""
    single: slice
    """The columns that make a shape with the level alone, in order."""
    with_line: slice
    """The columns that make a shape with level and line, in order."""


def family(u: FloatArray, at: FloatArray | None = None, after: bool = False) -> Family:
    """Return the family of injections at `u` (n,), its columns at `at` (m,); between two injections a jump
    is taken to have come already where `after`."""
    at = u if at is None else at
    distinct = np.unique(u)
    gaps = [(float(a), float(b)) for a, b in pairwise(distinct)]
    bends = _bends(at)
    jumps = [at > low if after else at >= high for low, high in gaps]
    columns = np.array([np.ones(len(at)), *bends, *jumps], dtype=float).T
    one, all_bends, end = 1, 1 + len(bends), 1 + len(bends) + len(jumps)
    members = [(0,), *((0, k) for k in range(one, end)), *((0, one, k) for k in range(all_bends, end))]
    counts = {
        "power": len(POWERS), "delay": len(DELAYS), "rest": len(RATES),
        "logistic": len(MIDDLES) * len(WIDTHS), "jump": len(gaps), "jump on a line": len(gaps),
    }  # fmt: skip
    prior = np.concatenate(
        [[SHARES["steady"]], *(np.full(n, SHARES[kind] / n) for kind, n in counts.items())]
    )
    prior = prior / WIDE ** np.array([len(member) - 1 for member in members])
    unseen = np.ptp(np.array(_bends(u)), axis=1) < LEAST_SEEN
    prior[one:all_bends] = np.where(unseen, UNBELIEVED, prior[one:all_bends])
    places: list[tuple[float, float] | None] = [None] * all_bends
    return Family(
        columns,
        tuple(members),
        np.log(prior),
        (*places, *gaps, *gaps),
        slice(one, end),
        slice(all_bends, end),
    )


def _bends(u: FloatArray) -> list[FloatArray]:
    """Return every bend at `u` (m,); the line is the first."""
    powers = [u**power for power in (1.0, *(p for p in POWERS if p != 1.0))]
    delays = [np.maximum(u - delay, 0.0) / (1 - delay) for delay in DELAYS]
    rests = [np.expm1(-rate * u) / np.expm1(-rate) for rate in RATES]
    steps = []
    for width in WIDTHS:
        for middle in MIDDLES:
            low, high = scipy.special.expit(-middle / width), scipy.special.expit((1 - middle) / width)
            steps.append((scipy.special.expit((u - middle) / width) - low) / (high - low))
    return powers + delays + rests + steps
