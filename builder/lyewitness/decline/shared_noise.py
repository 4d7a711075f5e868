"""What the noise of a study may be like, and what its columns say of it together.

In: how likely every description of the noise makes each series, by column. Out: for every series how far
each description is to be believed before that series itself is looked at.

One column cannot tell lasting errors (days on which all injections lie high, a lamp that drifts) from a
decline that bends. But all columns are injected by one instrument and in one way. So each series takes of
the others how serial the noise is and how it grows, and keeps its own shape and its own size of the noise.
"""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import scipy

from lyewitness.words.arrays import FloatArray

HOURS_OF_A_DAY = 24.0
OF_A_DRIFT = 0.2
"""Share of the test over which a drift keeps its course: slow waves of one turn in 1.3 tests bend so."""


@dataclass(frozen=True, eq=False, slots=True)
class Placed:
    """Where n injections stand, each (n,)."""

    place: FloatArray
    """Number in the order of the series."""
    hours: FloatArray
    share: FloatArray
    """Of the test."""


@dataclass(frozen=True, slots=True)
class Serial:
    """How the errors of injections go together."""

    correlation: float
    """Of the lasting part, injection to injection; 1 where it goes by the clock."""
    apart: float
    """Share of the variance that is each injection's own."""
    prior: float
    """Weight before the other columns speak."""
    alone: float
    """Weight in a column that has no others beside it."""
    course: Literal["injections", "day", "days", "drift"] = "injections"
    """What the lasting part keeps to: it fades injection by injection, is one for a whole day, fades within a
    day, or drifts slowly over the test."""
    begins: float = 0.0
    """When a day begins, in days after the start."""

    @property
    def growths(self) -> tuple[float, ...]:
        """Return the growths of the noise over the test that are told apart; by the clock, none."""
        return tuple(GROWTHS) if self.course == "injections" else (1.0,)

    def correlated(self, placed: Placed) -> FloatArray:
        """Return the correlation (n, n) of injections."""
        own = np.subtract.outer(placed.place, placed.place) == 0
        return np.asarray((1 - self.apart) * self._lasting(placed) + self.apart * own)

    def _lasting(self, placed: Placed) -> FloatArray:
        """Return the correlation (n, n) of the lasting parts."""
        days = placed.hours / HOURS_OF_A_DAY
        match self.course:
            case "injections":
                lag = np.abs(np.subtract.outer(placed.place, placed.place))
                return np.asarray(self.correlation**lag)
            case "day":
                day = np.floor(days - self.begins)
                return np.asarray(day[:, None] == day[None, :], dtype=float)
            case "days":
                return np.maximum(1.0 - np.abs(np.subtract.outer(days, days)), 0.0)
            case "drift":
                apart = np.subtract.outer(placed.share, placed.share)
                return np.asarray(np.exp(-0.5 * (apart / OF_A_DRIFT) ** 2))


BEGINNINGS = (0.0, 0.25, 0.5, 0.75)
"""When a day may begin: nobody states when the instrument was set up anew, and four times differ by less than
the injections of a day lie apart."""
SERIALS = (
    Serial(0.0, 0.0, 0.2, 0.34),
    Serial(0.4, 0.0, 0.09, 0.21),
    Serial(0.65, 0.0, 0.13, 0.17),
    Serial(0.9, 0.0, 0.13, 0.1),
    Serial(0.93, 0.25, 0.1, 0.03),
    *(Serial(1.0, 0.07, 0.2 / 4, 0.08 / 4, "day", begins) for begins in BEGINNINGS),
    Serial(1.0, 0.3, 0.05, 0.03, "days"),
    Serial(1.0, 0.1, 0.1, 0.04, "drift"),
)
"""Independent, serial, and errors that last: of a day that begins at some hour, fading within a day, drifting
over the test, each with a part of every injection's own. A drift looks like a bend of the decline: of a
column alone its own injections cannot settle it. Were a drift as likely as all else there, its band would be
twice as wide where there is none, of 48 injections, too; with others, a third wider (simulated)."""
GROWTHS = {1.0: 0.6, 0.5: 0.1, 2.5: 0.3}
"""Prior weight of the growth of the noise over the test: a dying column scatters more."""
OF_OTHERS = 0.7
"""How much another column counts beside a series' own: columns run side by side share errors, too."""
OWN_WAY = 0.1
"""Chance that a series' noise is of another kind than that of the others."""
STEP = 1.5
"""Logs of beliefs are told in such steps, a factor of 4.5: finer they are not known, and one more injection
on one column leaves what another believes as it was in three of five cases (simulated)."""
UNHEARD = 1 / 16
"""Of a long series, at most this share of its injections waits until a batch is full before it is heard: it
holds no more of what is known of the noise, and one more injection on one column leaves all others as they
were, as figures and pages of them, but for the last of a batch."""
LONG = 64
"""Shorter series are heard to the last injection: batches of two or three of them would gain nothing."""
LEAST_FREEDOM = 4.0
"""Degrees of freedom of the noise at least. With 3 the bands of clean series of 8 and 12 injections, which
cannot show that their noise is not serial, would be 1.2 to 1.4 times as wide as needed (simulated)."""


@dataclass(frozen=True, slots=True)
class Noise:
    """One description of the noise."""

    serial: Serial
    growth: float
    """Standard deviation at the end of the test ÷ at its start."""

    @property
    def share(self) -> float:
        """Return how far its growth is believed among those of its kind."""
        return GROWTHS[self.growth] / sum(GROWTHS[growth] for growth in self.serial.growths)

    def covariance(self, u: FloatArray, placed: Placed, count: FloatArray) -> FloatArray:
        """Return (n, n) of unit size at scaled exposures `u`; `count` (n,) were averaged into each."""
        scale = self.growth**u / np.sqrt(count)
        return np.asarray(scale[:, None] * self.serial.correlated(placed) * scale[None, :])

    def independent(self, placed: Placed) -> float:
        """Return the number of independent injections whose mean errs as much as that of these.

        Bayley and Hammersley, Suppl. J. R. Stat. Soc. 1946, 8, 184.
        """
        return float(len(placed.place) ** 2 / self.serial.correlated(placed).sum())


NOISES = tuple(Noise(serial, growth) for serial in SERIALS for growth in serial.growths)
LASTING = np.array([noise.serial.correlation >= 0.9 for noise in NOISES])
"""(noises,) which errors hardly fade from one injection to the next: those of days, of a lamp, a wander."""
PRIOR = np.log([noise.serial.prior * noise.share for noise in NOISES])
"""(noises,) of what is believed before the other columns speak."""
ALONE = np.log([noise.serial.alone * noise.share for noise in NOISES])
"""(noises,) of what is believed of a column alone."""

DRIFTING = np.where([noise.serial.course == "drift" for noise in NOISES], 0.0, -100.0)
"""(noises,) of a drift and of nothing else: what it would make of a column."""


@dataclass(frozen=True, eq=False, slots=True)
class Witness:
    """What one series says of the noise."""

    kind: Hashable
    """Series of one kind have noise of one kind: the metric."""
    column: str
    log_evidence: FloatArray
    """(noises,) of its values under each, its prior left out."""


def heard(n: int) -> int:
    """Return of how many of `n` injections, the first, the evidence is taken: whole batches of 4, 8, 16 …"""
    return n - n % (1 << int(n * UNHEARD).bit_length() - 1) if n >= LONG else n


def beliefs(witnesses: Sequence[Witness]) -> list[FloatArray]:
    """Return for each series (noises,) the log of how far each noise is believed from what the others say.

    Series of one column are seen in the same injections: together they count as one, by their mean.
    """
    said: dict[Hashable, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for index, one in enumerate(witnesses):
        said[one.kind][one.column].append(index)
    likely = [one.log_evidence - one.log_evidence.max() for one in witnesses]
    found = [ALONE] * len(witnesses)
    for columns in said.values():
        means = {column: np.mean([likely[i] for i in own], axis=0) for column, own in sorted(columns.items())}
        for column, own in columns.items():
            others = [mean for other, mean in means.items() if other != column]
            for index in own if others else ():
                found[index] = _believed(np.sum(others, axis=0))
    return found


def _believed(others: FloatArray) -> FloatArray:
    """Return the log belief (noises,) after `others` (noises,) spoke."""
    told = PRIOR + OF_OTHERS * others
    told = told - scipy.special.logsumexp(told)
    told = np.logaddexp(np.log(1 - OWN_WAY) + told, np.log(OWN_WAY) + ALONE)
    return np.asarray(STEP * np.round(told / STEP))
