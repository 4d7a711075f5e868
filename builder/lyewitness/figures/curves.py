"""Declines in the unit they are drawn in: percent of the start, or the metric's own where the limit is.

In: declines of one metric. Out: `Curve`s, and the span of an axis on which noise looks like noise.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.decline.records import Decline
from lyewitness.study.records import Limit
from lyewitness.words.arrays import BoolArray, FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import unit_of
from lyewitness.words.numbers import interval
from lyewitness.words.phrases import exposure

LEAST_SHARE = 0.1
"""An axis reaches at least this share of the start to both sides of it: what changes by less is steady."""
BAND_SHARE = 0.2
"""Bands may lengthen an axis by this share of what points, curves and limits take; wider ones are cut."""


@dataclass(frozen=True, eq=False, slots=True)
class Curve:
    """One decline as it is drawn; all arrays in one unit."""

    decline: Decline
    hours: FloatArray
    """(n,) of the injections."""
    value: FloatArray
    """(n,)"""
    doubted: BoolArray
    """(n,) which of them were left out as doubtful."""
    curve_h: FloatArray
    """(m,) of the fitted curve; empty where none was fitted."""
    curve: FloatArray
    low: FloatArray
    """(m,) of the band; empty where there is none."""
    high: FloatArray
    limit: float | None
    start: float
    """100 %, or the reference in the metric's own unit."""

    @property
    def end(self) -> float:
        """Where the line ends."""
        return float(self.curve[-1] if self.curve.size else self.value[~self.doubted][-1])


def in_own_unit(declines: Sequence[Decline]) -> bool:
    """Say whether all limits are stated in the metric's own unit, so that one rule serves every column."""
    limits = [one.limit for one in declines if one.limit is not None]
    known = all(one.reference_value is not None for one in declines)
    return bool(limits) and known and all(_own_bound(limit) is not None for limit in limits)


def _own_bound(limit: Limit) -> float | None:
    return limit.at_least if limit.at_least is not None else limit.at_most


def curves_of(declines: Sequence[Decline], own: bool) -> list[Curve]:
    """Return the declines that have data, in the metric's own unit where `own`, else in percent."""
    return [_curve(one, own) for one in declines if one.percent.size]


def _curve(decline: Decline, own: bool) -> Curve:
    scale = (decline.reference_value or 0.0) / 100 if own else 1.0
    limit = decline.limit_percent
    if own and decline.limit is not None:
        limit = _own_bound(decline.limit)
    return Curve(
        decline,
        decline.series.exposure_h,
        decline.series.value if own else decline.percent,
        np.isin(np.asarray(decline.series.injections), decline.doubted),
        decline.curve_h,
        decline.curve_percent * scale,
        decline.curve_low * scale,
        decline.curve_high * scale,
        limit,
        100 * scale,
    )


def span(curves: Sequence[Curve], least_share: float = LEAST_SHARE) -> tuple[float, float]:
    """Return the axis for `curves`: all points, curves and limits, and never less than what matters.

    A doubted point lengthens no axis: the values of wrongly cut peaks may be any.
    """
    seen = np.concatenate([part for one in curves for part in (one.value[~one.doubted], one.curve)])
    limits = [one.limit for one in curves if one.limit is not None]
    least = [one.start * (1 + share) for one in curves for share in (-least_share, least_share)]
    low, high = min(float(seen.min()), *limits, *least), max(float(seen.max()), *limits, *least)
    bands = np.concatenate([part for one in curves for part in (one.low, one.high)])
    if bands.size:
        more = BAND_SHARE * (high - low)
        low, high = (
            min(low, max(low - more, float(bands.min()))),
            max(high, min(high + more, float(bands.max()))),
        )
    room = 0.04 * (high - low)
    return low - room, high + room


def end_words(curve: Curve, own: bool) -> str:
    """Return where one column ended: `H1 83 % (80 to 86) at 120 h`, `H1 1.9 (1.8 to 2.0) at 120 h`."""
    decline = curve.decline
    left, unit = decline.remaining, "%"
    if own:
        left, unit = _own_end(curve), unit_of(decline.series.metric, "signal")
    at = f" at {exposure(decline.end_h)}" if decline.end_h is not None else ""
    return f"{decline.series.column} {interval(left, unit)}{at}"


def _own_end(curve: Curve) -> Estimate:
    """Return the fitted end in the metric's own unit; where nothing was fitted, the last injection."""
    if not curve.curve.size:
        return Estimate(curve.end)
    low, high = (float(band[-1]) if band.size else None for band in (curve.low, curve.high))
    return Estimate(float(curve.curve[-1]), low, high)
