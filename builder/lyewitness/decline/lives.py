"""How long until a limit is passed.

In: a curve with its band, the injections and a limit. Out: `Life`.

The interval of a life is where the edges of the curve's band pass the limit (Fieller's argument turned
to a curve), so that it can be read off the figure: the curve gives the life, the band its ends. Where the
injections know better than any curve, they speak: a metric that jumped between two of them ended somewhere
between them, and nobody saw where.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lyewitness.decline.bands import Edges, scatter
from lyewitness.decline.records import Decline, Life, LifeState
from lyewitness.decline.shared_noise import HOURS_OF_A_DAY
from lyewitness.study.records import Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import is_lower

JUMPED = 0.5
"""A passage between two injections was a jump where a jump is likelier than not."""
AT_ONCE = 0.5
"""Share of a gap in the change over it and its two neighbours from which on it holds most; even: 1/3."""
AT_ONCE_AT_AN_END = 0.75
"""The same where there is one neighbour: a fourth power gives 0.7 in its last step of five."""
PLAINLY = 3.0
"""A run of injections is plainly on one side of the limit by so many standard errors of its mean."""
STEP_TO_SD = 1.4826 / 2**0.5
"""Standard deviation of independent normal values ÷ the median absolute difference of neighbours."""
FEWEST_BENDS = 6
"""Distances off the line through neighbours of which a median is no accident; a dip of two disturbs four."""
SEVERAL = 2
"""Injections in a row on one side of the limit that a curve on the other side does not outweigh."""
STANDS_ALONE = 0.1
"""Odds of being outlying from which on a last injection past the limit does not speak by itself."""


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit as a level in % of one column's reference."""

    percent: float
    falling: bool
    """True where the metric fails by falling below, false where by rising above."""
    relative: bool
    """True where the limit was stated in % of the reference, false where in the metric's unit."""

    def past(self, percent: FloatArray) -> NDArray[np.bool_]:
        """Return which of `percent` have passed the limit."""
        return percent < self.percent if self.falling else percent > self.percent


def limit_line(limit: Limit, reference_value: float) -> LimitLine:
    """Return where `limit` stands in % of a reference of `reference_value` (in the metric's unit)."""
    if limit.at_least_percent is not None:
        return LimitLine(limit.at_least_percent, True, True)
    if limit.at_most_percent is not None:
        return LimitLine(limit.at_most_percent, False, True)
    if limit.at_least is not None:
        return LimitLine(100.0 * limit.at_least / reference_value, True, False)
    if limit.at_most is not None:
        return LimitLine(100.0 * limit.at_most / reference_value, False, False)
    raise ValueError(f"limit without a bound: {limit}")


def crossing(hours: FloatArray, curve: FloatArray, line: LimitLine) -> float | None:
    """Return the first exposure at which `curve` (m,) is past `line`, by linear interpolation."""
    past = line.past(curve)
    if not past.any():
        return None
    first = int(np.argmax(past))
    if first == 0:
        return float(hours[0])
    before, after = curve[first - 1], curve[first]
    share = (line.percent - before) / (after - before)
    return float(hours[first - 1] + share * (hours[first] - hours[first - 1]))


def last_crossing(hours: FloatArray, curve: FloatArray, line: LimitLine) -> float | None:
    """Return the exposure from which on `curve` (m,) is past `line` for good; None where it is not.

    For the edge of a band that bounds a life from below. Columns do not recover: where the band lies within
    the limit later on, the limit had not been passed before, however wide the band was between two
    injections.
    """
    past = line.past(curve)
    if not past[-1]:
        return None
    within = np.flatnonzero(~past)
    first = int(within[-1]) if len(within) else 0
    return crossing(hours[first:], curve[first:], line)


def bracket(hours: FloatArray, percent: FloatArray, line: LimitLine) -> tuple[float | None, float | None]:
    """Return the last injection before any was past the limit, the first from which all were past.

    `hours` and `percent` (n,) are without outlying injections; None where there is no such injection.
    """
    past = line.past(percent)
    if len(past) == 0:
        return (None, None)
    first_past = int(np.argmax(past)) if past.any() else len(past)
    within = np.flatnonzero(~past)
    from_then = int(within[-1]) + 1 if len(within) else 0
    low = float(hours[first_past - 1]) if first_past > 0 else None
    return (low, float(hours[from_then]) if from_then < len(past) else None)


def first_past_h(decline: Decline) -> float | None:
    """Return the first injection that counts and is past the limit of a decline that passed it, hours.

    Later ones may lie within it again, as after a dip or in noise: where the bracket ends, all are past it.
    """
    life, limit, level = decline.life, decline.limit, decline.limit_percent
    low, high = life.bracket_h[0], life.bracket_h[1] if life.recovered_h[0] is None else life.recovered_h[0]
    if limit is None or level is None or high is None:
        return high
    seen = ~np.isin(decline.series.injections, decline.outlying)
    hours = decline.series.exposure_h[seen]
    past = LimitLine(level, is_lower(limit), True).past(decline.percent[seen])
    past &= (hours <= high) & (hours >= (-np.inf if low is None else low))
    return float(hours[past][0]) if past.any() else high


def run_at_end(past: NDArray[np.bool_]) -> int:
    """Return how many injections at the end of `past` (n,) are true."""
    return len(past) if past.all() else int(np.argmin(past[::-1]))


@dataclass(frozen=True, eq=False, slots=True)
class Seen:
    """What the injections of one series say of a limit, those outlying left out."""

    hours: FloatArray
    percent: FloatArray
    line: LimitLine
    noise_sd: float
    """% of the reference."""
    last_odds: float
    """Odds that the last injection is an outlying one."""
    jump: FloatArray
    """(n − 1,) chance of a jump between an injection and the next."""
    lasting: float
    """Chance that errors last: injections of one day then lie high or low together."""
    day: FloatArray
    """(n,) day on which each was made."""

    @property
    def past(self) -> NDArray[np.bool_]:
        """Return which injections are past the limit."""
        return self.line.past(self.percent)

    @property
    def bracket(self) -> tuple[float | None, float | None]:
        """Return the bracket of the life."""
        return bracket(self.hours, self.percent, self.line)

    def plainly(self, run: slice, past: bool, lasting: float = 0.0) -> bool:
        """Say whether the mean of a run of injections lies plainly past the limit, or plainly within it.

        `lasting` is the chance that injections of one day err together.
        """
        return self._beyond(run, past, lasting) > PLAINLY * min(self.noise_sd, self.usual_step(lasting))

    def plainly_for_a_while(self, run: slice, past: bool) -> bool:
        """Say so of a run that may be part of a dip: what falls between dips is no noise either."""
        noise = min(self.noise_sd, self.usual_step(0.0), self.usual_bend())
        return self._beyond(run, past, 0.0) > PLAINLY * noise

    def _beyond(self, run: slice, past: bool, lasting: float) -> float:
        """Return how far past the limit a run's mean lies, or within it, ÷ its error where noise is 1."""
        values = self.percent[run]
        beyond = float(values.mean()) - self.line.percent
        days = len(np.unique(self.day[run]))
        of_mean = (1 - lasting) / len(values) + lasting / days
        return (beyond if self.line.falling != past else -beyond) / float(of_mean**0.5)

    def usual_step(self, lasting: float) -> float:
        """Return the noise that the median step between injections stands for: no fit goes into it.

        Where no curve follows what happened, all of it is noise to the curves. Errors that last show from one
        day to the next.
        """
        near = STEP_TO_SD * float(np.median(np.abs(np.diff(self.percent))))
        later = np.searchsorted(self.hours, self.hours + HOURS_OF_A_DAY)
        there = later < len(self.hours)
        if not there.any():
            return near
        far = STEP_TO_SD * float(np.median(np.abs(self.percent[later[there]] - self.percent[there])))
        return near + lasting * max(far - near, 0.0)

    def usual_bend(self) -> float:
        """Return the noise that the median distance off the line through both neighbours stands for.

        No slope goes into it, as it does into the steps of a metric that falls fast.
        """
        return scatter(self.hours, self.percent) if len(self.hours) - 2 >= FEWEST_BENDS else np.inf

    def dipped(self) -> int | None:
        """Return the last injection plainly within the limit before a dip that touches it; None without one.

        A dip takes two injections or more, one after the other, none of which is plainly within the limit and
        one past it, and ends in one that is: whether the limit was passed there, they do not settle.
        """
        within = np.array(
            [self.plainly_for_a_while(slice(k, k + 1), False) for k in range(len(self.percent))]
        )
        standing = [int(k) for k in np.flatnonzero(within)]
        for before, after in pairwise(standing):
            if after - before > 2 and self.past[before + 1 : after].any():
                return before
        return None

    def recovered(self) -> tuple[int, int, int] | None:
        """Return first past, last past and first within again of a metric that came back.

        Two injections or more past it, one after the other, or one that is part of a dip, and then one or
        more within it, both plainly.
        """
        past = self.past
        turns = np.flatnonzero(np.diff(past.astype(int))) + 1
        ends = [0, *(int(turn) for turn in turns), len(past)]
        runs = list(pairwise(ends))
        for (first, end), (again, after) in pairwise(runs):
            if (
                past[first]
                and (end - first >= SEVERAL or self.dips_with_another(first))
                and self.plainly_for_a_while(slice(first, end), True)
                and self.plainly_for_a_while(slice(again, after), False)
            ):
                return first, end - 1, again
        return None

    def dips_with_another(self, place: int) -> bool:
        """Say whether an injection and one beside it both lie plainly beyond those before and after the two.

        A single one may be bad; that the metric was on the way there, or on the way back, is seen in another,
        on whichever side of the limit that lies.
        """
        towards = -self.percent if self.line.falling else self.percent
        least = PLAINLY * 2**0.5 * min(self.noise_sd, self.usual_step(0.0), self.usual_bend())
        pairs = (k for k in (place - 1, place) if 0 < k < len(towards) - 2)
        return any(
            float(towards[k : k + 2].min() - max(towards[k - 1], towards[k + 2])) > least for k in pairs
        )

    @property
    def gap(self) -> int | None:
        """Return the last injection before the gap in which the limit was passed; None if it spans more."""
        low, high = self.bracket
        if low is None or high is None or ((self.hours > low) & (self.hours < high)).any():
            return None
        return int(np.searchsorted(self.hours, low, side="right")) - 1

    def jumped(self) -> bool:
        """Say whether the metric passed the limit in a jump between two neighbouring injections."""
        return self.gap is not None and bool(self.jump[self.gap] > JUMPED)

    def fell_at_once(self) -> bool:
        """Say whether the gap holds more of the change than its neighbours together.

        Then the injections say little of the way that the metric took within it, whatever curve goes through.
        """
        if self.gap is None:
            return False
        steps = np.abs(np.diff(self.percent))
        near = steps[max(self.gap - 1, 0) : self.gap + 2]
        return bool(steps[self.gap] > (AT_ONCE if len(near) == 3 else AT_ONCE_AT_AN_END) * near.sum())


def life_of(edges: "LifeEdges", seen: Seen, end_h: float) -> Life:
    """Return the life that curve, band and injections show together; `end_h` is where the test ended."""
    back = seen.recovered()
    if back is not None:
        return _recovered(edges, seen, back)
    life = life_from_curve(edges, seen.line, end_h, seen.bracket)
    dip = seen.dipped() if life.bracket_h[1] is None else None
    if dip is not None:
        return _unclear(life, seen, "injections in a row lie at the limit, and later ones within it", dip)
    run = run_at_end(seen.past)
    if run == 1 and seen.last_odds > STANDS_ALONE:
        return _unclear(life, seen, "only the last injection is past the limit, and it stands alone")
    if life.state == "reached":
        if seen.jumped():
            return _met(_jumped(life, seen), seen)
        return _met(_with_bracket(life) if seen.fell_at_once() else life, seen)
    if run >= 2 and seen.plainly(slice(len(seen.past) - run, None), True, seen.lasting):
        return life_from_bracket(
            seen.bracket, end_h, "the injections pass the limit where the curve does not"
        )
    if life.state == "not reached" and seen.past[-2:].any():
        return _unclear(
            life, seen, "of the last two injections one or both are past the limit, the curve is not"
        )
    return life


def _recovered(edges: "LifeEdges", seen: Seen, back: tuple[int, int, int]) -> Life:
    """Return the life of a column that passed the limit and came back: unclear, unless it passed it again.

    It held until the last injection that was within before the first passing; where that is not plain, no
    longer than the band has it.
    """
    first, last, again = back
    hours, (low, high) = seen.hours, seen.bracket
    when = (float(hours[last]), float(hours[again]))
    plainly = [k for k in range(first) if seen.plainly(slice(k, k + 1), False)]
    passed = crossing(edges.hours, edges.near(seen.line), seen.line)
    held = min(low or 0.0, float(hours[first]) if passed is None else passed)
    held = max(held, float(hours[plainly[-1]]) if plainly else 0.0)
    if high is not None:
        why = "the metric passed the limit, came back and passed it again"
        return Life(
            "reached",
            Estimate(None, held, high, why),
            Estimate(),
            (low, high),
            recovered_h=when,
        )
    why = "the metric passed the limit and came back"
    bound = Estimate(None, held, None, why)
    return Life("unclear", bound, Estimate(), (low, None), recovered_h=when)


def _unclear(life: Life, seen: Seen, why: str, held: int | None = None) -> Life:
    """Return a life of which only a bound is known, no later than the last injection within the limit.

    `held` is the last injection that is known to be within it, where that comes before.
    """
    last = seen.bracket[0] or 0.0
    last = last if held is None else min(last, float(seen.hours[held]))
    low = last if life.hours.low is None else min(life.hours.low, last)
    return replace(life, state="unclear", hours=Estimate(None, low, None, why), extrapolated=False)


def _jumped(life: Life, seen: Seen) -> Life:
    """Return a life of which only the bracket is known; with the band where the limit lies in the noise."""
    low, high = life.bracket_h
    passed = int(np.argmax(seen.past))
    within, beyond = slice(passed - 1, passed), slice(passed, passed + 1)
    if seen.plainly(within, False, seen.lasting) and seen.plainly(beyond, True, seen.lasting):
        why = "the metric fell or rose between two injections: the life lies between them"
        return replace(life, hours=Estimate(None, low, high, why))
    return _with_bracket(life)


def _with_bracket(life: Life) -> Life:
    """Return a life whose interval holds its whole bracket."""
    (low, high), hours = life.bracket_h, life.hours
    lows = [end for end in (low, hours.low) if end is not None]
    highs = [end for end in (high, hours.high) if end is not None]
    why = "most of the change came between two injections: the interval holds all that lies between them"
    return replace(life, hours=Estimate(hours.value, min(lows), max(highs), why), from_bracket=True)


OF_A_GAP = 0.9
"""Share of the gap between two injections that the interval of a life within it holds at least: nobody saw
what went on between them. In studies by laws that no shape here knows, 27 % of the lives told to less than
0.6 of the gap lay outside their interval (19 of 69), of those told to the gap itself 5 % (4 of 74)."""


def _met(life: Life, seen: Seen) -> Life:
    """Return a life whose interval meets its bracket, and whose value no few injections contradict.

    A curve may pass the limit after injections that were all past it, or before ones that were within it: one
    may be noise, of `SEVERAL` the injections are believed. The bound of a life is never later than the
    bracket has it.
    """
    (low, high), hours = life.bracket_h, life.hours
    value = hours.value
    if value is not None and high is not None and value > high:
        passed = (seen.hours >= high) & (seen.hours <= value)
        value = high if life.from_bracket or passed.sum() >= SEVERAL else value
    if value is not None and low is not None and value < low:
        held = (seen.hours >= value) & (seen.hours <= low)
        value = low if life.from_bracket or held.sum() >= SEVERAL else value
    unseen = (1 - OF_A_GAP) / 2 * (high - low) if low is not None and high is not None else None
    first = _outermost(min, hours.low, high, value, None if unseen is None else (low or 0.0) + unseen)
    last = _outermost(max, hours.high, low, value, None if unseen is None else (high or 0.0) - unseen)
    met = replace(life, hours=Estimate(value, first, last, hours.reason))
    surely = low if met.is_bracketed else high
    if unseen is not None and low is not None and surely is not None:
        # One-sided, what lies before it is as little as on both sides together.
        surely = min(surely, low + 2 * unseen)
    if met.conservative_h is not None and surely is not None:
        met = replace(met, conservative_h=min(met.conservative_h, surely))
    return met


def _outermost(
    choose: Callable[[list[float]], float], end: float | None, *others: float | None
) -> float | None:
    """Return an end of an interval, moved out to what it has to hold; an open one stays open."""
    return None if end is None else choose([end, *(one for one in others if one is not None)])


@dataclass(frozen=True, eq=False, slots=True)
class LifeEdges:
    """A curve with its two-sided band and the one-sided bounds, at m exposures in hours."""

    hours: FloatArray
    edges: Edges

    def until(self, end_h: float, further: int = 0) -> "LifeEdges":
        """Return these without what lies beyond `end_h`, hours, but for so many exposures `further`."""
        known = slice(int(np.searchsorted(self.hours, end_h, side="right")) + further)
        part = (getattr(self.edges, field.name)[known] for field in fields(Edges))
        return LifeEdges(self.hours[known], Edges(*part))

    def near(self, line: LimitLine) -> FloatArray:
        """Return the edge of the band that passes the limit first."""
        return self.edges.low if line.falling else self.edges.high

    def far(self, line: LimitLine) -> FloatArray:
        """Return the edge of the band that passes the limit last."""
        return self.edges.high if line.falling else self.edges.low

    def bound(self, line: LimitLine) -> FloatArray:
        """Return the one-sided bound that passes the limit first."""
        return self.edges.one_sided_low if line.falling else self.edges.one_sided_high


def life_from_curve(
    edges: LifeEdges, line: LimitLine, end_h: float, bracketed: tuple[float | None, float | None]
) -> Life:
    """Return the life that the curve and its band show; `end_h` is where the test ended.

    What a metric did after its whole band had passed the limit bounds the life from below no more.
    """
    value = crossing(edges.hours, edges.edges.curve, line)
    high = crossing(edges.hours, edges.far(line), line)
    until = edges if high is None else edges.until(max(high, float(edges.hours[0])), 1)
    low = last_crossing(until.hours, until.near(line), line)
    conservative = last_crossing(until.hours, until.bound(line), line)
    if value is not None and low is not None:
        low = min(low, value)
    extrapolated = value is not None and value > end_h
    if conservative is not None and conservative > end_h:
        conservative = None
    if value is None:
        shown = min(low, end_h) if low is not None else end_h
        reason = "the limit was not reached during the test"
        return Life("not reached", Estimate(None, shown, None, reason), Estimate(), bracketed, conservative)
    state: LifeState = "reached" if not extrapolated and high is not None and high <= end_h else "unclear"
    if extrapolated:
        reason = f"beyond the {end_h:.4g} h that were run: an extrapolation"
        state = "not reached"
    elif state == "unclear":
        reason = "the curve passes the limit, but the band of the curve does not before the test ends"
    else:
        reason = ""
    hours = Estimate(value, low, high, reason)
    return Life(state, hours, Estimate(), bracketed, conservative, extrapolated)


def life_from_bracket(bracketed: tuple[float | None, float | None], end_h: float, why: str) -> Life:
    """Return the interval-censored life that the injections alone show, `why` no curve could be fitted."""
    low, high = bracketed
    if high is None:
        shown = end_h if low == end_h else low
        return Life("not reached", Estimate(None, shown, None, why), Estimate(), bracketed)
    return Life("reached", Estimate(None, low if low is not None else 0.0, high, why), Estimate(), bracketed)


def in_column_volumes(life: Life, exposure_h: FloatArray, exposure_cv: FloatArray) -> Life:
    """Return `life` with its hours also in column volumes, by the injections' own exposures."""
    known = np.isfinite(exposure_cv)
    if life.state == "not measured":
        return life
    if known.sum() < 2:
        return replace(life, column_volumes=Estimate(reason="flow or void volume is not known"))
    hours, volumes = exposure_h[known], exposure_cv[known]
    per_hour = (volumes[-1] - volumes[0]) / (hours[-1] - hours[0]) if hours[-1] > hours[0] else 0.0

    def convert(value: float | None) -> float | None:
        if value is None:
            return None
        beyond = max(value - hours[-1], 0.0) * per_hour
        return float(np.interp(value, hours, volumes) + beyond)

    ends = (convert(life.hours.value), convert(life.hours.low), convert(life.hours.high))
    return replace(life, column_volumes=Estimate(*ends, life.hours.reason))


def in_injections(hours: Estimate, run_time_min: float) -> Estimate:
    """Return a life in hours as injections of `run_time_min` minutes each."""
    per_hour = 60.0 / run_time_min
    value, low, high = (
        None if end is None else end * per_hour for end in (hours.value, hours.low, hours.high)
    )
    return Estimate(value, low, high, hours.reason)
