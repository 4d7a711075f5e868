"""How long a column was of use: until the limit in question was passed.

In: the declines of one column. Out: `UsableLife`, and what a next column of the group should hold.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import fmean, stdev

from scipy import stats

from lyewitness.decline.records import Decline
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import in_step, rounded


@dataclass(frozen=True, slots=True)
class UsableLife:
    """One column by whichever limit it passed first."""

    column: str
    hours: float | None
    """Life by the limit that was passed first; None where none was."""
    low: float
    """What it surely held by every limit, hours."""
    high: float | None
    """By when it had surely failed, hours; None where it did not."""
    decline: Decline
    """The one that bounds it."""

    @property
    def figures(self) -> str:
        """Return the life in two figures (three from 100 h on), and no more than its interval deserves."""
        ends = self.hours if self.hours is not None else self.high or self.low
        return min(rounded(ends, 3 if ends >= 100 else 2), in_step(ends, self.decline.life.hours), key=len)


def usable_life(declines: Iterable[Decline]) -> UsableLife | None:
    """Return the usable life of one column; None where no life by any of these limits is known."""
    known = [(low, d) for d in declines if d.limit is not None and (low := _low(d)) is not None]
    if not known:
        return None
    low, bounding = min(known, key=lambda pair: pair[0])
    reached = [d.life.hours for _, d in known if d.life.state == "reached"]
    values = [middle for hours in reached if (middle := _middle(hours)) is not None]
    highs = [hours.high for hours in reached if hours.high is not None]
    return UsableLife(
        bounding.series.column, min(values, default=None), low, min(highs, default=None), bounding
    )


def _middle(hours: Estimate) -> float | None:
    """Return a life, or the middle of its bracket on a log scale where only that is known."""
    if hours.value is None and hours.low and hours.high:
        return sqrt(hours.low * hours.high)
    return hours.value


def _low(decline: Decline) -> float | None:
    """Return what that column surely held by that limit, hours."""
    if decline.life.state == "not measured":
        return None
    ends = [
        end for end in (decline.life.hours.low, decline.life.conservative_h) if end is not None and end > 0
    ]
    return min(ends, default=None)


def next_column_h(lives: Sequence[UsableLife], confidence: float) -> float | None:
    """Return what a next column of the group should hold with that one-sided confidence, hours.

    Lower prediction bound of one further log-normal life, mean − t s √(1 + 1/n) (common practice), and never
    more than the least that any column surely held. A life not reached stands at what was held, which is less
    than it was. None below two columns, from one of which nothing follows for the next; and none where no
    column failed, for survivors show no scatter.
    """
    if len(lives) < 2 or all(life.high is None for life in lives):
        return None
    logs = [log(life.hours if life.hours is not None else life.low) for life in lives]
    reach = float(stats.t.ppf(confidence, len(logs) - 1)) * stdev(logs) * sqrt(1 + 1 / len(logs))
    return min(exp(fmean(logs) - reach), *(life.low for life in lives))
