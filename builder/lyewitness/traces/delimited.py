"""Reads delimited text: any separator, decimal sign, preamble, encoding, number of columns and traces.

In: the bytes of an export. Out: `Draft`s. The unit of time comes from the heading, the unit row, the
preamble or `[exports]`, in this order, and from nowhere else.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lyewitness.study.records import Exports
from lyewitness.traces.headings import Heading, Statements, is_unit, read_statements, split_headings
from lyewitness.traces.shaping import (
    MINUTES_IN,
    Draft,
    as_utf8,
    looks_like_text,
    unit_of_time,
    unreadable,
)
from lyewitness.traces.stamps import stamp_words
from lyewitness.traces.tables import Table, read_plain_table, read_row_tables
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import shortened


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


FORMAT = "delimited text"


def recognises(head: bytes) -> bool:
    """Whether a file that begins with `head` is text; asked last, after the formats that are text as well."""
    return looks_like_text(head)


def read(data: bytes, file: str, exports: Exports) -> tuple[Draft, ...]:
    """Return every trace of a text file; raises StudyFolderError with the line that cannot be read."""
    text = as_utf8(data)
    plain = read_plain_table(text)
    tables = (plain,) if plain else read_row_tables(text.decode("utf-8", errors="replace"), file)
    drafts: list[Draft] = []
    said = Statements()
    for table in tables:  # what an earlier preamble states holds until a later one says otherwise
        said = read_statements(table.above, replace(said, trace_name=""))
        drafts += _TableReading(table, said, file, exports).drafts()
    return tuple(drafts)


@dataclass(frozen=True, eq=False, slots=True)
class _TableReading:
    """One table with all that is known of it."""

    table: Table
    said: Statements
    file: str
    exports: Exports

    def drafts(self) -> tuple[Draft, ...]:
        columns = self.table.values.shape[1]
        headings = read_headings(self.table.above, columns, self.table.separator)
        if not headings_are_borne_out(headings, self.table.values):
            headings = (Heading(),) * columns
        unit_known = bool(self.said.time_unit or self.exports.time_unit)
        pairs = pair_columns(self.table.values, headings, self._interval_s() is not None, unit_known)
        if not pairs:
            raise self._refusal("times without a signal", "a column of signals", "Export the signal as well.")
        return tuple(self._draft(pair, headings, len(pairs) > 1) for pair in pairs)

    def _draft(self, pair: Pair, headings: Sequence[Heading], one_of_several: bool) -> Draft:
        heading = headings[pair.signal]
        unnamed = f"column {pair.signal + 1}" if one_of_several else ""
        times, unit, caution = self._times(pair, headings)
        draft = Draft(
            time=times,
            signal=self.table.values[:, pair.signal],
            time_unit=unit,
            signal_unit=heading.unit or self.said.signal_unit,
            name=heading.name or self.said.trace_name or unnamed,
            acquired_at=self.said.acquired_at,
            stamp_words=stamp_words(self.table.above),
            cautions=(*self.table.cautions, *caution),
            point_word="line",
            point_numbers=self.table.lines,
        )
        return _without_padding(draft) if one_of_several and pair.time else draft

    def _times(self, pair: Pair, headings: Sequence[Heading]) -> tuple[FloatArray, str, tuple[str, ...]]:
        if pair.time is None:
            return self._times_at_interval(), "s", ()
        stated = self._stated_unit(headings[pair.time])
        asked = self.exports.time_unit
        unit = stated or asked
        if not unit:
            raise self._no_unit(headings[pair.time])
        cautions = []
        if stated and asked and stated != asked:
            cautions.append(f"The file states time in {stated}, [exports] in {asked}; the file was followed.")
        above = self.said.time_unit
        if unit_of_time(headings[pair.time].unit) and above and above != stated:
            cautions.append(
                f"The heading states time in {stated}, a line above it in {above}; the heading was followed."
            )
        return self.table.values[:, pair.time], unit, tuple(cautions)

    def _stated_unit(self, heading: Heading) -> str:
        if self.table.clock_times:
            return "s"
        return unit_of_time(heading.unit) or ("" if heading.unit else self.said.time_unit)

    def _interval_s(self) -> float | None:
        return self.said.interval_s or self.exports.sampling_interval_s

    def _times_at_interval(self) -> FloatArray:
        interval = self._interval_s()
        if interval is None:
            raise self._refusal(
                "signals without times and without a sampling interval",
                "a column of times, or the interval from point to point",
                "State `sampling_interval_s` in [exports] of study.toml, or export the times as well.",
            )
        delay = self.exports.delay_s if self.said.delay_s is None else self.said.delay_s
        return np.asarray(delay + interval * np.arange(len(self.table.values)), dtype=np.float64)

    def _no_unit(self, heading: Heading) -> Exception:
        words = f"{heading.name} ({heading.unit})" if heading.unit else heading.name
        found = f"times headed {shortened(words)!r}" if words.strip() else "times without a heading"
        if strange := heading.unit or self.said.strange_time_unit:
            return self._refusal(
                f"{found}, in {shortened(strange)!r}, which is no unit that is known here",
                f"one of the units {', '.join(MINUTES_IN)}",
                "State in `time_unit` of [exports] in study.toml in which of them the numbers are; if in "
                "none, export them again in minutes.",
            )
        return self._refusal(
            f"{found}, in a unit that is stated nowhere",
            f"one of the units {', '.join(MINUTES_IN)}",
            "State `time_unit` in [exports] of study.toml.",
        )

    def _refusal(self, found: str, expected: str, cure: str) -> Exception:
        return unreadable(self.file, f"line {self.table.lines[0]}", found, expected, cure)


def _without_padding(draft: Draft) -> Draft:
    """Return the draft without the rows that only a longer trace beside it has."""
    return draft.at(np.flatnonzero(~(np.isnan(draft.time) & np.isnan(draft.signal))))
