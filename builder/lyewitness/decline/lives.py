"""How long until a limit is passed.

In: a curve with its band, the injections and a limit. Out: `Life`.

The interval of a life is where the edges of the curve's band pass the limit (Fieller's argument turned
to a curve), so that it can be read off the figure: the curve gives the life, the band its ends.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lyewitness.decline.records import Life, LifeState
from lyewitness.study.records import Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

COLLAPSE = 0.5
"""A passage between two injections is a collapse where it holds more than this share of the whole change."""


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


def surely_past(percent: FloatArray, line: LimitLine) -> bool:
    """Say whether the last two of `percent` (n,) or more are past the limit."""
    return len(percent) >= 2 and bool(line.past(percent[-2:]).all())


def share_of_fall(hours: FloatArray, percent: FloatArray, seen: tuple[float | None, float | None]) -> float:
    """Return which share of all that the metric changed by, first to last, it changed by in the bracket.

    0 where there is no bracket, or where it spans more than one gap between injections.
    """
    low, high = seen
    if low is None or high is None or ((hours > low) & (hours < high)).any():
        return 0.0
    before, after = percent[hours == low].mean(), percent[hours == high].mean()
    whole = float(np.ptp(percent))
    return float(abs(after - before)) / whole if whole > 0 else 0.0


def widened_to_bracket(life: Life, fall: float) -> Life:
    """Return `life` with an interval that spans the bracket, where the metric collapsed within it.

    A curve through a collapse between two injections knows nothing of what came between them.
    """
    low, high = life.bracket_h
    if fall <= COLLAPSE or low is None or high is None or life.hours.value is None:
        return life
    hours = life.hours
    widened = Estimate(
        hours.value,
        low if hours.low is None else min(hours.low, low),
        high if hours.high is None else max(hours.high, high),
        "the metric collapsed between two injections: the life lies between them",
    )
    return replace(life, state="reached", hours=widened)


@dataclass(frozen=True, eq=False, slots=True)
class Edges:
    """A curve with the two-sided band for life, and the one-sided one, at m exposures in hours."""

    hours: FloatArray
    curve: FloatArray
    error: FloatArray
    """Standard error, % of the reference."""
    two_sided: float
    """Quantile of the two-sided interval."""
    one_sided: float
    """Quantile of the one-sided bound."""

    def edge(self, line: LimitLine, quantile: float) -> FloatArray:
        """Return the edge of the band on the limit's side (negative `quantile`: the far side)."""
        return self.curve - quantile * self.error if line.falling else self.curve + quantile * self.error


def life_from_curve(
    edges: Edges, line: LimitLine, end_h: float, bracketed: tuple[float | None, float | None]
) -> Life:
    """Return the life that the curve and its band show; `end_h` is where the test ended."""
    value = crossing(edges.hours, edges.curve, line)
    low = last_crossing(edges.hours, edges.edge(line, edges.two_sided), line)
    high = crossing(edges.hours, edges.edge(line, -edges.two_sided), line)
    conservative = last_crossing(edges.hours, edges.edge(line, edges.one_sided), line)
    extrapolated = value is not None and value > end_h
    if conservative is not None and conservative > end_h:
        conservative = None
    if value is None:
        shown = min(low, end_h) if low is not None else end_h
        reason = "the limit was not reached within the test"
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
