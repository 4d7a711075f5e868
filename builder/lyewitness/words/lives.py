"""The one way to tell a limit and a life: sentence, table, figure, letter and print have it from here.

In: what is known of a life. Out: its words.
"""

import re
from collections.abc import Callable
from math import ceil, floor
from typing import Protocol

from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import ANY_LIMIT, metric_of
from lyewitness.words.numbers import (
    DASH,
    THIN_SPACE,
    ends_beside,
    fixed,
    in_step,
    interval,
    ratio_of,
    stated,
    with_unit,
)
from lyewitness.words.phrases import CANNOT_TELL, exposure, hours, share_of, spelled


class Bound(Protocol):
    """A limit: one bound on one metric; exactly one of the four is not None."""

    @property
    def metric(self) -> str:
        """Return the metric's id."""

    @property
    def at_least_percent(self) -> float | None:
        """Return the lower bound, % of the column's own reference value."""

    @property
    def at_most_percent(self) -> float | None:
        """Return the upper bound, % of the column's own reference value."""

    @property
    def at_least(self) -> float | None:
        """Return the lower bound in the metric's own unit."""

    @property
    def at_most(self) -> float | None:
        """Return the upper bound in the metric's own unit."""


def is_lower(limit: Bound) -> bool:
    """Say whether a metric passes the limit by falling below it."""
    return limit.at_least_percent is not None or limit.at_least is not None


def is_relative(limit: Bound) -> bool:
    """Say whether the limit is a share of the column's own reference value."""
    return limit.at_least_percent is not None or limit.at_most_percent is not None


def level_of(limit: Bound) -> str:
    """Return the limit's level: `80 %`, `2`, `150 bar`."""
    relative = limit.at_least_percent if limit.at_least_percent is not None else limit.at_most_percent
    if relative is not None:
        return with_unit(stated(relative), "%")
    absolute = limit.at_least if limit.at_least is not None else limit.at_most
    if absolute is None:
        raise ValueError(f"limit without a bound: {limit}")
    return with_unit(stated(absolute), metric_of(limit.metric).unit)


def bound_of(limit: Bound) -> str:
    """Return the limit itself: `80 % of its reference`, `2`."""
    return f"{level_of(limit)} of its reference" if is_relative(limit) else level_of(limit)


def falls_past(limit: Bound) -> str:
    """Return how a metric passes the limit: `falls below 80 % of its reference`."""
    if limit.metric == ANY_LIMIT:
        return "is passed"
    return f"{'falls below' if is_lower(limit) else 'rises above'} {bound_of(limit)}"


def fell_past(limit: Bound) -> str:
    """Return how a metric passed the limit: `fell below 80 % of its reference`."""
    if limit.metric == ANY_LIMIT:
        return "was passed"
    return f"{'fell below' if is_lower(limit) else 'rose above'} {bound_of(limit)}"


def falling_past(limit: Bound) -> str:
    """Return how a metric would pass the limit: `falling below 80 % of its reference`."""
    if limit.metric == ANY_LIMIT:
        return "being passed"
    return f"{'falling below' if is_lower(limit) else 'rising above'} {bound_of(limit)}"


def limit_text(limit: Bound | None) -> str:
    """Return a limit in a cell: `at least 80 % of its reference`, `at most 2`; empty where there is none."""
    if limit is None:
        return ""
    return f"{'at least' if is_lower(limit) else 'at most'} {bound_of(limit)}"


_WRITTEN = re.compile(r"(at_least|at_most)(_percent)? = (-?[\d.]+(?:e[+-]?\d+)?)")


def limit_read(written: str, metric: str) -> str:
    """Return a limit as tables have it in words: `at_least_percent = 80` is `at least 80 % of its reference`.

    What is not of that form comes back as it stands.
    """
    found = _WRITTEN.fullmatch(written.strip())
    if found is None:
        return written
    way, relative, level = found[1].replace("_", " "), found[2], stated(float(found[3]))
    unit = "%" if relative else metric_of(metric).unit
    return f"{way} {with_unit(level, unit) if unit else level}{' of its reference' if relative else ''}"


def limit_label(limit: Bound) -> str:
    """Return the limit as it stands on its rule: `limit 80 %`, `limit 2`."""
    return f"limit {level_of(limit)}"


def limit_of(limit: Bound) -> str:
    """Return the limit as it stands in a sentence: `limit of 80 %`."""
    return f"limit of {level_of(limit)}"


# An interval that reaches further than this factor from its value tells hardly more than a power of ten.
VAGUE = 5.0
UNBOUNDED = 1000.0
"""Times its value from which on an end of an interval is no end: no study tells lives so far apart."""


class Seen(Protocol):
    """How the columns of a group were watched."""

    @property
    def number(self) -> int:
        """Return how many there are."""

    @property
    def failed(self) -> int:
        """Return how many of them passed the limit."""

    @property
    def shortest_h(self) -> float:
        """Return how long the shortest-watched of the others was watched, hours."""

    @property
    def longest_h(self) -> float:
        """Return how long the longest-watched was."""


class Tried(Protocol):
    """What the columns of a group did, of which a typical life is told."""

    @property
    def number(self) -> int:
        """Return how many there are."""

    @property
    def low_h(self) -> float:
        """Return what every one of them surely held, hours."""

    @property
    def high_h(self) -> float | None:
        """Return by when all of them had surely failed; None where not all did."""


class Lived(Protocol):
    """What is known of how long a column or a group lasted."""

    @property
    def state(self) -> str:
        """Return `reached`, `not reached`, `unclear` or `not measured`."""

    @property
    def hours(self) -> Estimate:
        """Return value and ends, hours."""

    @property
    def bracket_h(self) -> tuple[float | None, float | None]:
        """Return the last injection seen within the limit, the first seen past it, hours."""

    @property
    def recovered_h(self) -> tuple[float | None, float | None]:
        """Return the last injection seen past the limit, the first seen within it again, hours."""

    @property
    def extrapolated(self) -> bool:
        """Return whether `hours` lies beyond what was run."""

    @property
    def watched(self) -> Seen | None:
        """Return how a group's columns were watched, where the shortest-watched one bounds all of them."""

    @property
    def tested(self) -> Tried | None:
        """Return what a group's columns did, where a typical life is told."""


def tell(life: Lived) -> str:
    """Return a life in words. There is one form for each thing that can be known of it:

    | state | known | form |
    |---|---|---|
    | reached | value and interval | `62 h (55 to 71)` |
    | reached | an end further than `VAGUE` from the value | `roughly 8 h (anywhere from 0.2 to 100 h)` |
    | reached | such an end, of a group | `roughly 143 h (all three columns tested held for at least 92 h,
      which says little of others)` |
    | reached | only between which injections | `between 43.4 and 50.2 h`, `before 5 h` |
    | reached | the value alone | `62 h` |
    | not reached | how long it was seen within the limit | `at least 120 h` |
    | not reached | of columns not watched alike | `at least 99 to 239 h (as long as each was watched)` |
    | not reached | and what the curve has beyond the test | `at least 110 h (extrapolated beyond the test:
      roughly 150 h)` |
    | unclear | past the limit, later within it again | `passed the limit between 40 and 45 h and was
      within it again from 52 h on` |
    | unclear | past it at the very end | `at least 96 h (too near to the limit to tell at 110 h, apparently
      past it from 120 h on)` |
    | unclear | how long it was within the limit | `at least 109 h` |
    | unclear | both ends, and no value | `between 10 and 20 h` |
    | unclear | of columns not watched alike | `passed the limit in two of five cases and not in the
      99 to 239 h for which each of the others was watched` |
    | unclear | and those that passed it came back | `passed the limit in one of three cases, within it again
      from 58 h on, and not in the 99 to 239 h for which …` |
    | unclear | nothing | `we cannot tell (too few points)` |
    | not measured | why | `not measured (no peak was found)`, `no limit set` |

    What the curve says inside the test is no life while its band does not say it: an unclear life's `value`
    is never told. A low end is never rounded up, nor a high end down.
    """
    return _FORMS[life.state](life)


def label_of(life: Lived) -> str:
    """Return a life as it stands beside its bar, where a sentence has no place."""
    seen = life.watched
    if life.state == "reached" and is_vague(life.hours) and (own := _tested_words(life)):
        return f"roughly {hours(life.hours.value or 0.0)}; {own}"
    if seen is None or not seen.failed:
        return tell(life)
    passed = "failed" if life.recovered_h[1] is None else "passed the limit and came back"
    failed = f"{spelled(seen.failed)} of {spelled(seen.number)} {passed}"
    return f"{failed}; {'other' if seen.number - seen.failed == 1 else 'others'} held {_watched_for(seen)}"


def lasting(life: Lived, verb: str = "lasted") -> str:
    """Return a life with its verb: `lasted 62 h (55 to 71)`; what tells its own story needs none."""
    told = tell(life)
    if told.startswith("before "):
        # What ended before an hour did not last before it.
        return f"{verb} less than {told.removeprefix('before ')}"
    return told if has_own_verb(life) else f"{verb} {told}"


def has_own_verb(life: Lived) -> bool:
    """Return whether a life is told as what happened: `passed the limit between …`, `within the limit …`."""
    return tell(life).startswith(("passed", "within the"))


def when(life: Lived) -> str:
    """Return at what exposure a `reached` life ended: `after 62 h (55 to 71)`, `between 43.4 and 50.2 h`."""
    told = tell(life)
    return told if told.startswith(("between", "before")) else f"after {told}"


def is_known(life: Lived) -> bool:
    """Say whether anything is known of a life but why there is none."""
    ends = (life.hours.value, life.hours.low, life.hours.high, *life.bracket_h, *life.recovered_h)
    return life.state != "not measured" and any(end is not None for end in ends)


def is_vague(estimate: Estimate) -> bool:
    """Return whether an end of the interval lies further than a factor of `VAGUE` from the value."""
    if estimate.value is None or estimate.value <= 0:
        return False
    low, high = estimate.low, estimate.high
    return (low is not None and low * VAGUE < estimate.value) or (
        high is not None and high > VAGUE * estimate.value
    )


def tell_ratio(ratio: Estimate) -> str:
    """Return a ratio of lives or rates: `1.60 (1.52 to 1.68)`, `at least 2.1`; empty where it says nothing.

    A lone bound beyond `VAGUE` on the side that rules nothing out, such as `at least 0.02`, says nothing.
    """
    if is_vague(ratio):
        return _loosely(ratio, ratio_of)
    low, high = ratio.low, ratio.high
    idle_low = low is not None and high is None and low * VAGUE < 1
    idle_high = high is not None and low is None and high > VAGUE
    return "" if ratio.value is None and (idle_low or idle_high) else ratio_of(ratio)


def _loosely(estimate: Estimate, write: Callable[[Estimate], str]) -> str:
    """Return how little is known: `anywhere from 0.2 to 100 h`, `known only to be at least 0.1 h`."""
    value = estimate.value or 1.0
    low, high = (
        end if end is not None and 1 / UNBOUNDED <= end / value <= UNBOUNDED else None
        for end in (estimate.low, estimate.high)
    )
    if low is None and high is None:
        return "hardly known"
    told = write(Estimate(None, low, high))
    return f"known only to be {told}" if low is None or high is None else f"anywhere from {told}"


def failed_when(moment: Estimate, beside: Estimate) -> str:
    """Return when a column failed: `after 62 h (55 to 71)`, `between 43.4 and 50.2 h` where nobody saw."""
    if moment.value is not None and moment.low != moment.high:
        return f"after {interval(moment, 'h')}"
    told = moment_text(moment, beside)
    return told if moment.value is None else f"after {told}"


def moment_text(moment: Estimate, beside: Estimate) -> str:
    """Return the same for a cell: `62 h`, `between 43.4 and 50.2 h`; a dash where it is not known."""
    if moment == Estimate():
        return DASH
    if moment.value is None:
        return between(moment.low, moment.high)
    return with_unit(in_step(moment.value, beside), "h")


def between(low: float | None, high: float | None) -> str:
    """Return `between 43.4 and 50.2 h`: two injections, to tenths, the first never later, the second never
    earlier than it was; `before 5 h` where there is no first."""
    after = with_unit(_tenth(ceil, high), "h") if high is not None else ""
    if not low:
        return f"before {after}"
    return (
        f"between {_tenth(floor, low)} and {after}"
        if after
        else f"after {with_unit(_tenth(floor, low), 'h')}"
    )


def between_ends(own: Estimate) -> str:
    """Return between which hours a life ended: `between 43.4 and 50.2 h` where no more is known, else
    `between 55 and 71 h` with the ends that `tell` puts beside its value."""
    if own.value is None or own.low is None or own.high is None:
        return between(own.low, own.high)
    low, high = ends_beside(own)
    return f"between {low} and {with_unit(high, 'h')}"


def bracket_of(life: Lived) -> tuple[float | None, float | None]:
    """Return between which hours a life ended of which no more is known.

    One that was widened for what moved the metric besides ageing reaches beyond its injections.
    """
    lows, highs = (
        [end for end in ends if end is not None]
        for ends in zip((life.hours.low, life.hours.high), life.bracket_h, strict=True)
    )
    return min(lows, default=None), max(highs, default=None)


def _reached(life: Lived) -> str:
    own = life.hours
    if own.value is None:
        low, high = bracket_of(life)
        return _not_reached(life) if high is None else between(low, high)
    if is_vague(own):
        # What few columns tell of their type reaches below all that any of them did: that they did is known.
        tested = _tested_words(life)
        little = f"{tested}, which says little of others" if tested else ""
        return f"roughly {hours(own.value)} ({little or _loosely(own, lambda ends: interval(ends, 'h'))})"
    return interval(own, "h")


def _tested_words(life: Lived) -> str:
    """Return `all three columns tested held for at least 92 h`, `both columns tested failed between 33 and
    102 h`; nothing where the interval of the type says more."""
    seen, own = life.tested, life.hours
    if seen is None:
        return ""
    every = f"{share_of(seen.number, seen.number, 'column')} tested"
    if seen.high_h is not None:
        return f"{every} failed {between(seen.low_h, seen.high_h)}"
    if seen.low_h <= (own.low or 0.0):
        return ""
    return f"{every} held for {interval(Estimate(None, seen.low_h, None), 'h')}"


def _not_reached(life: Lived) -> str:
    if life.hours.low is None:
        return _nothing_known(life)
    if life.watched is not None:
        return f"at least {_watched_for(life.watched)} (as long as each was watched)"
    shown = interval(Estimate(None, life.hours.low, None), "h")
    if life.extrapolated and life.hours.value is not None:
        return f"{shown} (extrapolated beyond the test: roughly {hours(life.hours.value)})"
    return shown


def _watched_for(seen: Seen) -> str:
    """Return `99 to 239 h`, neither end rounded up."""
    ends = (interval(Estimate(None, end, None), "h") for end in (seen.shortest_h, seen.longest_h))
    least, most = (told.removeprefix("at least ") for told in ends)
    return most if least == most else f"{least.partition(THIN_SPACE)[0]} to {most}"


def _unclear(life: Lived) -> str:
    if life.watched is not None:
        seen = life.watched
        cases = f"{spelled(seen.failed)} of {spelled(seen.number)} cases"
        others = "the other was" if seen.number - seen.failed == 1 else "each of the others was"
        if life.recovered_h[1] is not None:
            cases += f", within it again from {exposure(life.recovered_h[1])} on,"
        return f"passed the limit in {cases} and not in the {_watched_for(seen)} for which {others} watched"
    within, past = life.bracket_h
    last_past, within_again = life.recovered_h
    if within_again is not None:
        since = past if past is not None else last_past
        passed = f"passed the limit {between(within, since)}"
        return f"{passed} and was within it again from {exposure(within_again)} on"
    if life.hours.value is None and within is not None and past is not None:
        late = f"from {exposure(past)} on"
        if life.hours.low is None:
            return f"within the limit at {exposure(within)}, apparently past it {late}"
        shown = _not_reached(life)
        if life.hours.low >= within or shown == f"at least {exposure(within)}":
            return f"{shown} (apparently past the limit {late})"
        return f"{shown} (too near to the limit to tell at {exposure(within)}, apparently past it {late})"
    if life.hours.value is None and life.hours.low is not None and life.hours.high is not None:
        return between(life.hours.low, life.hours.high)
    return _not_reached(life)


def _nothing_known(life: Lived) -> str:
    return f"{CANNOT_TELL} ({life.hours.reason})" if life.hours.reason else CANNOT_TELL


def _not_measured(life: Lived) -> str:
    if life.hours.reason.startswith("no limit"):
        # The metric was measured; what there is none of is a limit.
        return "no limit set"
    return f"not measured ({life.hours.reason})" if life.hours.reason else "not measured"


_FORMS = {
    "reached": _reached,
    "not reached": _not_reached,
    "unclear": _unclear,
    "not measured": _not_measured,
}


def _tenth(towards: Callable[[float], int], value: float) -> str:
    """Return hours to a tenth, rounded `towards` the safe side."""
    return fixed(towards(round(value * 10.0, 6)) / 10.0, 1).removesuffix(".0")
