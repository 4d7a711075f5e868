"""Which columns of a table are times and which are signals.

In: the values and headings of a table. Out: pairs of a time column and a signal column. Headings decide;
without them the columns' own course does: times rise, counters rise by one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.traces.headings import Heading, is_unit, split_headings
from lyewitness.words.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Pair:
    """One signal with its times, both as column indices."""

    time: int | None
    """None where the points come at an interval."""
    signal: int


def read_headings(above: Sequence[str], columns: int, separator: str) -> tuple[Heading, ...]:
    """Return the headings of `columns` columns, empty ones where the lines above have none.

    They stand in the line above the numbers, or above the row of units there. A line counts only where some
    of its words can but belong to a trace: `Operator, A. Name` right above two columns is no heading.
    """
    near = [line for line in above[-10:] if _says_something(line)][-2:]
    found = [split_headings(line, columns, separator) for line in near]
    if not found or not _of_a_trace(found[-1]):
        return (Heading(),) * columns
    units = found[-1]
    if len(found) < 2 or not _is_unit_row(units):
        return units
    names = found[0] if _of_a_trace(found[0]) else (Heading(),) * columns
    return tuple(Heading(n.name, u.unit or u.name or n.unit) for n, u in zip(names, units, strict=True))


def _of_a_trace(headings: Sequence[Heading]) -> bool:
    return any(heading.is_of_a_trace for heading in headings)


def _says_something(line: str) -> bool:
    return any(sign.isalnum() or sign in "%#°" for sign in line)


def _is_unit_row(headings: Sequence[Heading]) -> bool:
    words = [heading.unit or heading.name for heading in headings]
    return not any(h.unit and h.name for h in headings) and all(is_unit(word) for word in words if word)


def headings_are_borne_out(headings: Sequence[Heading], values: FloatArray) -> bool:
    """Whether a column called a time rises, or no other one does: else the words above are no headings."""
    times = [column for column, heading in enumerate(headings) if heading.is_time]
    if not times or any(_rises(values[:, column]) for column in times):
        return True
    return not any(_rises(values[:, column]) for column in range(values.shape[1]))


def pair_columns(
    values: FloatArray, headings: Sequence[Heading], interval_known: bool, unit_known: bool
) -> tuple[Pair, ...]:
    """Return the signals of a table with their times; empty where no column is a signal.

    `interval_known`: whether points can be placed without a column of times; `unit_known`: whether the unit
    of a column of times without a heading is stated somewhere.
    """
    columns = range(values.shape[1])
    times = [column for column in columns if headings[column].is_time]
    counters = [column for column in columns if headings[column].is_counter and column not in times]
    if not times:
        counters = counters or _counters_by_course(values, interval_known and not unit_known)
        free = [column for column in columns if column not in counters]
        times = _times_by_course(values, free)
    signals = [column for column in columns if column not in times and column not in counters]
    return tuple(Pair(_nearest_time(times, signal), signal) for signal in signals)


def _nearest_time(times: Sequence[int], signal: int) -> int | None:
    before = [time for time in times if time < signal]
    return before[-1] if before else times[0] if times else None


def _counters_by_course(values: FloatArray, times_come_at_interval: bool) -> list[int]:
    """Return [0] where the first column only counts the points, beside times or a known interval."""
    if values.shape[1] < 2 or not np.all(np.diff(values[:, 0]) == 1):
        return []
    second = values[:, 1]
    followed_by_times = values.shape[1] > 2 and _rises(second) and not np.all(np.diff(second) == 1)
    return [0] if times_come_at_interval or followed_by_times else []


def _times_by_course(values: FloatArray, columns: Sequence[int]) -> list[int]:
    """Return the first column that rises, or every second one where all of these do."""
    if len(columns) < 2:
        return []
    alternate = list(columns[::2])
    if len(columns) % 2 == 0 and all(_rises(values[:, column]) for column in alternate):
        return alternate
    return [column for column in columns if _rises(values[:, column])][:1]


def _rises(column: FloatArray) -> bool:
    finite = np.isfinite(column)
    column = column if finite.all() else column[finite]
    before, after = column[:-1], column[1:]
    one_way = bool(np.all(after >= before) or np.all(after <= before))
    return one_way and bool(np.any(after != before))
