"""Reads delimited text: any separator, decimal sign, preamble, encoding, number of columns and traces.

In: the bytes of an export. Out: `Draft`s. The unit of time comes from the heading, the unit row, the
preamble or `[exports]`, in this order, and from nowhere else.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lyewitness.study.records import Exports
from lyewitness.traces.columns import Pair, headings_are_borne_out, pair_columns, read_headings
from lyewitness.traces.complaints import shortened, unreadable
from lyewitness.traces.decoding import as_utf8, looks_like_text
from lyewitness.traces.drafts import Draft
from lyewitness.traces.headings import Heading
from lyewitness.traces.plain_table import read_plain_table
from lyewitness.traces.row_tables import read_row_tables
from lyewitness.traces.statements import Statements, read_statements
from lyewitness.traces.tables import Table
from lyewitness.traces.time_units import MINUTES_IN, time_unit
from lyewitness.words.arrays import FloatArray

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
        caution = f"The file states time in {stated}, [exports] in {asked}; the file was followed."
        differs = stated and asked and stated != asked
        return self.table.values[:, pair.time], unit, (caution,) if differs else ()

    def _stated_unit(self, heading: Heading) -> str:
        if self.table.clock_times:
            return "s"
        return time_unit(heading.unit) or ("" if heading.unit else self.said.time_unit)

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
