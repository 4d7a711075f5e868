"""How long one column was of use: by whichever of its limits it passed first.

In: one column's declines to limits. Out: `UsableLife`; what a next column should hold.

What failed first, lives by any limit, what is advised and what is drawn all rest on these.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, inf, log, sqrt
from statistics import fmean, stdev

from lyewitness.decline import distributions as stats
from lyewitness.decline.records import Decline, Life
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import between, between_ends, bracket_of
from lyewitness.words.numbers import in_step, rounded, with_unit
from lyewitness.words.phrases import listed, spelled

NARROW = 0.15
"""Share of a life within which both ends of its interval lie where the number alone may stand for it in a
list. Columns of a type seldom agree better than within a fifth (common practice): what such a number leaves
out is less than what the next one differs by. Of wider ends the number says more than anybody saw."""
MOST_BRACKETS = 2
"""Different brackets that a list of lives tells one by one."""
UNSEEN = 0.05
"""The same where most of the change came between two injections: its curve is drawn through nothing there,
and a number stands for its bracket only where it would be rounded to it, two figures being good to 5 %."""


@dataclass(frozen=True, slots=True)
class UsableLife:
    """One column by whichever limit it passed first."""

    column: str
    hours: float | None
    """Life by the limit that was passed first; the middle of its bracket where only that is known; None where
    none was passed."""
    low: float
    """What it surely held by every limit, hours: another may have been passed before the first that is told.
    0 where one was past its limit when it was first held against it."""
    high: float | None
    """By when it had surely failed, hours; None where it did not."""
    decline: Decline
    """The one that bounds it from below."""
    failed_by: Decline | None = None
    """The one by which it failed first, as far as its lives tell; None where it did not."""

    @property
    def bracket(self) -> Estimate | None:
        """Return the ends between which it failed where a number alone would tell more than is known.

        By the limit that it is told of, with the ends that its life has everywhere. None where both lie
        within `NARROW` or `UNSEEN` of its life, or where it did not fail.
        """
        if self.failed_by is None:
            return None
        own = self.failed_by.life.hours
        if own.value is None:
            low, high = bracket_of(self.failed_by.life)
            return None if high is None else Estimate(None, low or 0.0, high)
        if own.low is None or own.high is None:
            return None
        reach = UNSEEN if self.failed_by.life.is_bracketed else NARROW
        near = (1 - reach) * own.value <= own.low and own.high <= (1 + reach) * own.value
        return None if near else own

    @property
    def figures(self) -> str:
        """Return the life in two figures (three from 100 h on), and no more than its interval deserves.

        The value, whatever its interval: beside a `bracket` stands `told_together`.
        """
        ends = self.hours if self.hours is not None else self.high or self.low
        return min(rounded(ends, 3 if ends >= 100 else 2), in_step(ends, self.decline.life.hours), key=len)


def told_together(lives: Iterable[UsableLife], spread: bool = False) -> str:
    """Return `58 and 66 h`, `99 and 107 h, another between 60 and 80 h`: the lives of columns that failed.

    Two columns get two numbers, and one whose life is known within wide ends only gets these; numbers that
    are rounded alike stand as the ends between which they lie. Of more than two numbers only the first and
    the last where `spread`. Brackets stand behind: `23 h and between 12 and 25 h` would be read as one span.
    """
    failed = sorted(lives, key=lambda one: one.hours if one.hours is not None else one.high or inf)
    sharp = [one for one in failed if one.bracket is None]
    known = [one.figures for one in sharp]
    gaps = Counter(between_ends(one.bracket) for one in failed if one.bracket is not None)
    said = []
    if len(sharp) > 1 and len({*known}) == 1:
        # One number for several columns reads as if they had agreed to the hour.
        gaps = Counter({_between_all(sharp): len(sharp)}) + gaps
        known = []
    if known:
        ends = [f"{known[0]} to {known[-1]}"] if spread and len(known) > 2 else known
        said.append(with_unit(listed(ends), "h"))
    if gaps:
        alike, merged = len(gaps) == 1, len(gaps) > MOST_BRACKETS
        if merged:
            # A list of brackets nobody reads: these columns failed between the first end and the last.
            within_all = _between_all([one for one in failed if not known or one.bracket is not None])
            gaps, alike = Counter({within_all: gaps.total()}), True
        several = ("all" if merged else "each") if not known and alike else ""
        one_by_one = not known and not several and gaps.total() > len(gaps)
        within = listed(
            f"{several or spelled(n)} {words}" if n > 1 or one_by_one else words for words, n in gaps.items()
        )
        if known and alike:
            within = (
                f"{'another' if gaps.total() == 1 else f'{spelled(gaps.total())} others'} {next(iter(gaps))}"
            )
        elif known:
            within = f"others {within}"
        said.append(within)
    return ", ".join(said)


def _between_all(lives: Sequence[UsableLife]) -> str:
    """Return between which hours the lives of all these columns lie, with the ends of their intervals, as the
    lives of a group have it."""
    ends = [one.bracket or (one.failed_by.life.hours if one.failed_by else Estimate()) for one in lives]
    low = min(one.value or 0.0 if one.low is None else one.low for one in ends)
    high = max(one.value or 0.0 if one.high is None else one.high for one in ends)
    return between(low, high)


def usable_life(declines: Iterable[Decline]) -> UsableLife | None:
    """Return the usable life of the column that all `declines` are of; None where no limit was measured."""
    limited = [one for one in declines if one.limit is not None and one.life.state != "not measured"]
    if not limited:
        return None
    bounding = min(limited, key=held_h)
    failed = [one for one in limited if one.life.state == "reached"]
    first = min(failed, key=lambda one: ended_at(one.life), default=None)
    return UsableLife(
        bounding.series.column,
        middle_h(first.life.hours) if first is not None else None,
        held_h(bounding),
        min((high for one in failed if (high := one.life.hours.high) is not None), default=None),
        bounding,
        first,
    )


def held_h(decline: Decline) -> float:
    """Return how long the limit was surely not passed, hours: never longer than the test ran."""
    low, end_h = decline.life.hours.low or 0.0, decline.end_h
    return low if end_h is None else min(low, end_h)


def ended_at(life: Life) -> float:
    """Return the hours at which a life ended, by the curve or else by the injections; inf for never."""
    if life.extrapolated or life.state not in ("reached", "unclear"):
        return inf
    ended = middle_h(life.hours)
    if ended is None:
        ended = life.hours.high
    return inf if ended is None else ended


def failed_by_h(life: Life) -> float | None:
    """Return the hours of a life, or those by which it had surely ended where only its bracket is known."""
    return life.hours.value if life.hours.value is not None else life.hours.high


def middle_h(hours: Estimate) -> float | None:
    """Return a life, or the middle of its bracket on a log scale where only that is known."""
    if hours.value is None and hours.low and hours.high:
        return sqrt(hours.low * hours.high)
    return hours.value


def failed_before(lives: Iterable[UsableLife], hours: float) -> list[UsableLife]:
    """Return the columns that surely failed before these hours, the first first."""
    failed = [life for life in lives if life.high is not None and life.high < hours]
    return sorted(failed, key=lambda life: life.hours if life.hours is not None else life.high or 0.0)


FAILURES = 2
"""Columns that must have failed for one that was taken off before them to count for nothing beside them."""


def at_risk(lives: Sequence[UsableLife]) -> Sequence[UsableLife]:
    """Return the columns without those that were taken off, within every limit, before any of them failed.

    None failed while they ran (see `column_lives.at_risk`): they bound nothing.
    """
    failed = [life.low for life in lives if life.high is not None]
    if len(failed) < FAILURES:
        return lives
    return [
        life
        for life in lives
        if life.high is not None or life.failed_by is not None or life.low >= min(failed)
    ]


def next_column_h(lives: Sequence[UsableLife], confidence: float) -> float | None:
    """Return what a next column of the group should hold with that one-sided confidence, hours.

    Lower prediction bound of one further log-normal life, mean − t s √(1 + 1/n) (common practice), and never
    more than the least that any column surely held. A life not reached stands at what was held, which is less
    than it was; one that was taken off before any failed counts for nothing. None below two that failed: from
    one nothing follows for the next, and how far it lies from survivors nobody has seen. None where a column
    had failed when it was first looked at.
    """
    lives = at_risk(lives)
    if sum(life.high is not None for life in lives) < 2 or min(life.low for life in lives) <= 0:
        return None
    logs = [log(life.hours if life.hours is not None else life.low) for life in lives]
    reach = float(stats.t.ppf(confidence, len(logs) - 1)) * stdev(logs) * sqrt(1 + 1 / len(logs))
    return min(exp(fmean(logs) - reach), *(life.low for life in lives))
