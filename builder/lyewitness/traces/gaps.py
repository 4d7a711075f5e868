"""Rows with gaps, set aside so that all others can be parsed as a whole, and put back.

In: UTF-8 text with plain line ends; later the table of what was left. Out: the text without such rows; the
table with them. A row is read the same way as by the reader that goes row by row; in doubt there is no table.
"""

import re
from dataclasses import dataclass, replace

import numpy as np

from lyewitness.traces.dialects import BLANKS, MISSING_WORDS, Dialect, looks_numeric
from lyewitness.traces.tables import Table

_LONGEST_LINE = 20_000
_LAST_LINES = 12
_WORDS = b"|".join(re.escape(word.encode()) for word in sorted(MISSING_WORDS, key=len, reverse=True) if word)
_GAP = re.compile(  # so few blanks at most that a file of nothing but blanks cannot take long
    rb"[,;\t|] {0,20}(?=[,;\t|\n])|[,;\t| ](?:%b)(?=[,;\t| \n])" % _WORDS, re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Aside:
    """One row that was set aside."""

    line: int
    """Its number in the file, from 1."""
    text: str


def set_gaps_aside(text: bytes) -> tuple[bytes, list[Aside]]:
    """Return the text without the lines of numbers that have a gap, and these."""
    kept: list[bytes] = []
    aside: list[Aside] = []
    done, line = 0, 1
    match = _GAP.search(text)
    while match:
        start, feed = text.rfind(b"\n", 0, match.start()) + 1, text.find(b"\n", match.start())
        if feed < 0:  # a last line without an end stays: it may break off
            break
        end = feed + 1
        if looks_numeric(_GAP.sub(b"", text[start:end]).decode("utf-8", errors="replace").rstrip()):
            line += text.count(b"\n", done, start)
            aside.append(Aside(line, text[start:feed].decode("utf-8", errors="replace")))
            kept.append(text[done:start])
            done, line = end, line + 1
        match = _GAP.search(text, end)
    return b"".join([*kept, text[done:]]), aside


def put_gaps_back(table: Table, dialect: Dialect, aside: list[Aside], text: bytes) -> Table | None:
    """Return the table with the rows set aside; None where one is no row of it or stands at either end.

    `table` is that of the text without these rows, `text` the whole one.
    """
    rows, width = len(table.values) + len(aside), table.values.shape[1]
    places = np.array([row.line - table.lines[0] for row in aside])
    room_behind = 1 if text.endswith(b"\n") else _LAST_LINES  # so many lines tell whether the last is whole
    if places[0] < 1 or places[-1] >= rows - room_behind:
        return None
    values = np.full((rows, width), np.nan)
    is_aside = np.zeros(rows, dtype=np.bool_)
    is_aside[places] = True
    values[~is_aside] = table.values
    for place, row in zip(places.tolist(), aside, strict=True):
        numbers = _numbers(row.text, dialect, width)
        if numbers is None:
            return None
        values[place, : len(numbers)] = numbers
    return replace(table, values=values, lines=range(table.lines[0], table.lines[0] + rows))


def _numbers(line: str, dialect: Dialect, width: int) -> tuple[float, ...] | None:
    """Return the numbers of a row of `width` fields, empty ones counted; None where it is none."""
    numbers = dialect.numbers(line) if len(line) <= _LONGEST_LINE else None
    if not numbers or all(number != number for number in numbers):
        return None
    is_separated = dialect.separator not in ("", BLANKS)
    places = line.count(dialect.separator) + 1 if is_separated else len(numbers)
    return numbers if places == width and len(numbers) <= width else None
