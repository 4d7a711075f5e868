"""What came back when a part of a column was exchanged, or the column flushed: a blockage shows by that.

In: `Evidence` and a column. Out: `Mended`, or None.

At its end such a column has a free inlet, so that first against last tells nothing of what blocked it before.
Pressure that had risen while all peaks broadened, and both back at once, come of nothing but a narrower way.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from statistics import median

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.explained import BACK, PRESSED
from lyewitness.study.events import event_hours
from lyewitness.study.records import Event, EventKind
from lyewitness.words.numbers import rounded, with_unit
from lyewitness.words.phrases import exposure, listed, quoted

CLEARING: tuple[EventKind, ...] = ("part exchanged", "flush")
"""Kinds of events that clear a blocked inlet."""
FRESH = 0.5
"""Share of the exposure before the event whose readings tell the usual level: blockages come late."""
A_FEW = 3
"""Readings without which nobody knows the usual pressure."""
LOST = 0.9
"""Share of the usual plates below which a marker has surely broadened: a pharmacopoeia allows a tenth."""
REGAINED = 1 / 3
"""Share of its loss that each marker must have back at once: what wore the bed meanwhile does not return."""


@dataclass(frozen=True, slots=True)
class Mended:
    """Pressure and plates before and after an event that cleared a column."""

    event: Event
    at_h: float
    words: str
    """With the numbers."""


def mended(evidence: Evidence, column: str) -> Mended | None:
    """Return the event at which pressure and the plates of all markers of a column came back together."""
    study = evidence.study
    for event in study.events:
        if event.kind not in CLEARING:
            continue
        ends = event_hours(event, study.column(column), study.events)
        if ends is None or (pressure := _pressure(evidence, column, *ends)) is None:
            continue
        plates = _plates(evidence, column, *ends)
        if plates:
            name = f"the event {quoted(event.kind)} at {exposure(ends[0])}"
            return Mended(event, ends[0], f"before {name} {pressure}, and {plates}")
    return None


def _parted(
    points: Sequence[tuple[float, float]], begin: float, end: float
) -> tuple[list[float], list[float], list[float]]:
    """Return the values while the column was free, all before the event, and all after it."""
    before = [(hours, value) for hours, value in points if hours <= begin]
    after = [value for hours, value in points if hours > end]
    usual = [value for hours, value in before if hours <= FRESH * begin]
    return usual, [value for _, value in before], after


def _pressure(evidence: Evidence, column: str, begin: float, end: float) -> str | None:
    """Return how the pressure was up before the event and back right after it; None where it was not."""
    read = [point for point in evidence.logged(column, "pressure_bar") if point[0] == point[0]]
    usual, before, after = _parted(read, begin, end)
    if len(usual) < A_FEW or not after:
        return None
    free, high, then = median(usual), before[-1], after[0]
    if high < PRESSED * free or then - free > BACK * (high - free):
        return None
    return f"the pressure rose from {rounded(free, 3)} to {_bar(high)}, and was {_bar(then)} after it"


def _plates(evidence: Evidence, column: str, begin: float, end: float) -> str:
    """Return the plates of all markers lost before the event and back after it; empty where they were not."""
    told, shares = [], []
    for marker in evidence.study.markers:
        points = [
            (row.exposure_h, float(row.plate_number_half_height))
            for row in evidence.rows(column, marker.id)
            if row.found and row.used and row.plate_number_half_height
        ]
        usual, before, after = _parted(points, begin, end)
        if len(usual) < 2 or len(before) <= len(usual) or not after:
            continue
        free, low, then = median(usual), before[-1], after[0]
        if low > LOST * free:
            return ""
        shares.append(log(then / low) / log(free / low))
        told.append(f"{marker.id} from {rounded(free, 2)} to {rounded(low, 2)}, then {rounded(then, 2)}")
    back = len(shares) > 1 and min(shares) > REGAINED
    return f"the plates of all markers fell and came back with it ({listed(told)})" if back else ""


def _bar(value: float) -> str:
    return with_unit(rounded(value, 3), "bar")
