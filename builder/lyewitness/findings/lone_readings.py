"""One reading of a log that those before and after it do not bear out: what befell one injection, or a slip.

In: the study with its conditions log. Out: `LoneReading`s, and the study without them.

What a column went through shows in more readings than one, or in those that other columns have of the same
hours. One that stands alone says something of one injection at most, and nothing of a life.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from statistics import fmean, median
from typing import Any

from lyewitness.study.events import event_hours
from lyewitness.study.placing import comparable
from lyewitness.study.records import Event, Injection, LoggedCondition, Study
from lyewitness.study.setpoints import PH, TEMPERATURE, Setpoint
from lyewitness.words.numbers import fixed, with_unit
from lyewitness.words.phrases import exposure

OF_ONE_MOMENT = (TEMPERATURE, PH)
"""What an open door or an electrode puts off for one reading. A flow that is off leaks, or lost its prime:
that lasts until someone mends it."""
FEWEST = 5
"""Other readings of a column without which nobody knows what is usual on it."""
BORNE_OUT = 0.5
"""Of its distance by which another column, read between its neighbours, must be off its own usual."""


@dataclass(frozen=True, slots=True)
class LoneReading:
    """One reading far outside of all others of its column, with none beside it that bears it out."""

    row: LoggedCondition
    setpoint: Setpoint
    injection: str
    """The counted injection of the column that was made nearest to it, and nearer than to another reading;
    empty for none."""

    @property
    def size(self) -> str:
        """Return `41.0 °C`, or `pH 9.80`."""
        number = fixed(getattr(self.row, self.setpoint.quantity), self.setpoint.places)
        unit = self.setpoint.unit
        return with_unit(number, unit) if unit else f"{self.setpoint.name} {number}"

    @property
    def words(self) -> str:
        """Return `one reading of 41.0 °C on P1 at 86.6 h`."""
        hours = self.row.exposure_h
        at = f" at {exposure(hours)}" if hours is not None else ""
        return f"one reading of {self.size} on {self.row.column}{at}"


Placed = Sequence[tuple[float, LoggedCondition, float]]
"""When each row of a column was read, in hours of one clock; the row and its reading."""


def lone_readings(study: Study) -> tuple[LoneReading, ...]:
    """Return the readings that stand alone, those of one quantity after the other, by column and time."""
    found = []
    for setpoint in OF_ONE_MOMENT:
        by_column = _by_column(study, setpoint)
        for column, placed in by_column.items():
            others = [own for name, own in by_column.items() if name != column]
            values = [value for _, _, value in placed]
            ends = {min(values), max(values)}
            found += [
                LoneReading(placed[at][1], setpoint, _injection_at(study, placed, at))
                for at in range(1, len(placed) - 1)
                # What lies between others does not lie outside of them.
                if values[at] in ends
                and (off := _off(placed, at, setpoint))
                and not _is_shared(placed, at, off, others)
                and not any(e.touches(column) and is_within(placed[at][1], e, study) for e in study.events)
            ]
    return tuple(found)


def without_lone(study: Study, lone: Sequence[LoneReading]) -> Study:
    """Return the study as if these readings had not been made."""
    gone: dict[LoggedCondition, dict[str, Any]] = {}
    for one in lone:
        gone.setdefault(one.row, {})[one.setpoint.quantity] = None
    rows = tuple(replace(row, **gone[row]) if row in gone else row for row in study.conditions)
    return replace(study, conditions=rows) if gone else study


def _by_column(study: Study, setpoint: Setpoint) -> Mapping[str, Placed]:
    """Return the readings by column, by the clock where every row bears a time, else by the exposure."""
    read = [(row, float(v)) for row in study.conditions if (v := getattr(row, setpoint.quantity)) is not None]
    first = next((row.at for row, _ in read if row.at is not None), None)
    timed = all(comparable(row.at, first) for row, _ in read)
    found: dict[str, list[tuple[float, LoggedCondition, float]]] = {}
    for row, value in read:
        place = row.exposure_h
        if timed and first is not None and row.at is not None:
            place = (row.at - first).total_seconds() / 3600.0
        if place is not None:
            found.setdefault(row.column, []).append((place, row, value))
    return {column: sorted(own, key=lambda one: one[0]) for column, own in found.items()}


def _off(placed: Placed, at: int, setpoint: Setpoint) -> float:
    """Return how far one reading lies outside of all others of its column; 0 where it does not stand alone.

    It does by more than these lie apart among themselves, and by more than may do no harm.
    """
    own = placed[at][2]
    others = [value for place, (_, _, value) in enumerate(placed) if place != at]
    if len(others) < FEWEST:
        return 0.0
    low, high = min(others), max(others)
    off = own - min(max(own, low), high)
    harmless = setpoint.steady * (fmean(others) if setpoint.relative else 1.0)
    return off if abs(off) > max(harmless, high - low) else 0.0


def _is_shared(placed: Placed, at: int, off: float, others: Sequence[Placed]) -> bool:
    """Return whether another column was off as well between the readings before and after: one oven."""
    begin, end = placed[at - 1][0], placed[at + 1][0]
    for own in others:
        usual = median(value for _, _, value in own)
        if any(begin < place < end and (value - usual) / off > BORNE_OUT for place, _, value in own):
            return True
    return False


def _injection_at(study: Study, placed: Placed, at: int) -> str:
    """Return the counted injection that was made nearest to a reading, and nearer than to the next ones."""
    hours = [row.exposure_h for _, row, _ in placed[at - 1 : at + 2]]
    if None in hours:
        return ""
    before, own, after = (hour for hour in hours if hour is not None)
    low, high = (before + own) / 2, (own + after) / 2
    near = [
        one
        for one in study.injections
        if one.used and one.column == placed[at][1].column and low < _hours(one) < high
    ]
    return min(near, key=lambda one: abs(_hours(one) - own)).id if near else ""


def _hours(injection: Injection) -> float:
    return float("nan") if injection.exposure_h is None else injection.exposure_h


def is_within(row: LoggedCondition, event: Event, study: Study) -> bool:
    """Return whether a reading was made between beginning and end of an event, both included."""
    begin, end = event.begin, event.begin if event.end is None else event.end
    if row.at is not None and isinstance(begin, datetime) and isinstance(end, datetime):
        times = (begin, row.at, end)
        if len({one.tzinfo is None for one in times}) == 1:
            first, at, last = (one.astimezone(UTC) if one.tzinfo else one for one in times)
            return first <= at <= last
    ends = event_hours(event, study.column(row.column), study.events)
    return ends is not None and row.exposure_h is not None and ends[0] <= row.exposure_h <= ends[1]
