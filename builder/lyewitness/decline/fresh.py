"""What the reference leaves open where the metric moved while it was taken.

In: a curve with its band in % of the reference, and lives. Out: with what the curve began, and lives whose
interval also holds the life that a limit of that value gives.

A column that settles, or ages, within its first injections has a mean of them that it never was: a limit of
80 % of that mean is not one of 80 % of the fresh column. The stated rule gives the life; what the other
reading would make of it belongs to its interval. Where the reference reaches into the exposure, as that of a
log read every few hours does, that it moved is expected and need not be proved beyond noise.
"""

from dataclasses import replace

from lyewitness.decline.bands import Edges
from lyewitness.decline.lives import LimitLine
from lyewitness.decline.records import Decline, Life
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

MUCH = 0.05
"""Of the way to the limit by which a curve begins off its reference and is told: where it falls evenly the
life is off by as much, which is what the audit allows references to reach into the exposure. Of 480 series
with references within 0.2 h, by laws and noises that no shape here knows, five were told; of 480 with
references 5 to 11 h apart, of which 232 moved so far, 205. Of the lives of the latter 97 % held that of the
fresh column, without what is added here 73 %."""


AT_THE_START = 0.05
"""Share of the exposure up to which an injection stands at its start, as the audit asks of references. Of
695 pressures read every 3 to 9 h, which rose by a law that no shape here knows, 98 % of the lives held that
of the fresh column; where movement beyond noise was asked for, 94 %."""


def is_late(exposure_h: FloatArray, reference_n: int) -> bool:
    """Return whether the first `reference_n` values at `exposure_h` (n,), hours, reach into the exposure."""
    first, last = float(exposure_h[0]), float(exposure_h[-1])
    return float(exposure_h[reference_n - 1]) > first + AT_THE_START * (last - first)


def beginning(edges: Edges) -> Estimate:
    """Return with what the curve began, % of the reference, by edges ÷ the true reference.

    Empty where the band holds the reference there: then nothing shows that it moved beyond noise.
    """
    low, high = float(edges.low[0]), float(edges.high[0])
    return _first_of(edges.curve, edges.low, edges.high) if low > 100.0 or high < 100.0 else Estimate()


def beginning_of(decline: Decline) -> Estimate:
    """Return with what a curve began as its life is told: surely so, or with a late reference; else empty."""
    is_known = decline.began.value is not None or not decline.curve_h.size
    if is_known or not is_late(decline.series.exposure_h, decline.reference_n):
        return decline.began
    return _first_of(decline.curve_percent, decline.curve_low, decline.curve_high)


def beginning_held(edges: Edges, exposure_h: FloatArray, reference_n: int) -> Estimate:
    """Return with what a curve began, by edges ÷ the true reference, as far as its life is to hold it."""
    if is_late(exposure_h, reference_n):
        return _first_of(edges.curve, edges.low, edges.high)
    return beginning(edges)


def line_of_beginning(line: LimitLine, began: Estimate) -> LimitLine | None:
    """Return the limit in % of what the curve began with; None where it rests on no reference."""
    if began.value is None or not line.relative:
        return None
    return replace(line, percent=line.percent * began.value / 100.0)


def holding(life: Life, other: Life, end_h: float) -> Life:
    """Return a life whose interval holds that of the other as well; what it says of itself stays.

    A bound is the earlier of both. Where the other is not passed within the test, a reached life may end
    with the test at `end_h`, hours.
    """
    low = _least(life.hours.low, other.hours.low)
    high = life.hours.high
    if life.state == "reached" and high is not None:
        own = other.hours.high if other.state == "reached" else None
        high = max(high, end_h if own is None else own)
    conservative = _least(life.conservative_h, other.conservative_h)
    hours = replace(life.hours, low=low, high=high)
    return replace(life, hours=hours, conservative_h=None if life.conservative_h is None else conservative)


def share_moved(decline: Decline) -> float:
    """Return how far off its reference a curve surely began, as a share of the way to its limit in %."""
    if decline.began.value is None or decline.limit_percent is None or not decline.band_carries_reference:
        return 0.0
    way = abs(100.0 - decline.limit_percent)
    return abs(decline.began.value - 100.0) / way if way else 0.0


def _first_of(curve: FloatArray, low: FloatArray, high: FloatArray) -> Estimate:
    return Estimate(float(curve[0]), float(low[0]), float(high[0]))


def _least(own: float | None, other: float | None) -> float | None:
    known = [end for end in (own, other) if end is not None]
    return min(known) if known else None
