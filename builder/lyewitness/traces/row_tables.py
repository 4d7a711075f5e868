"""The tables of a text file of any shape, read row by row.

In: text. Out: every `Table` long enough to be a trace; several where a file holds traces one below another.
A row that lacks its last values keeps its place; a last row that breaks off, or a line of words inside a
table, is passed over with a caution.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from lyewitness.traces.complaints import shortened, unreadable
from lyewitness.traces.dialect_finding import find_dialect
from lyewitness.traces.dialects import BLANKS, Dialect, looks_numeric
from lyewitness.traces.tables import SMALL_TABLE, Table, last_number_cut

_LIKE_A_ROW = re.compile(r"\s*[\"']?[-+]?[\d.,]*\d")
_LONGEST_LINE = 20_000
_MOST_LINES = 2_000_000
_MOST_COLUMNS = 500
_MOST_LONE_NUMBERS = 5  # lines
_LONGEST_INTERRUPTION = 3  # lines, and steps of the first column


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    fields: tuple[float, ...]
    places: int
    """Fields with a separator between them, empty ones counted."""


@dataclass(slots=True)
class _Block:
    """Rows that follow each other, while they are gathered."""

    rows: list[_Row] = field(default_factory=list)
    passed_over: list[int] = field(default_factory=list)

    def goes_on_with(self, row: _Row, lines_between: int) -> bool:
        """Whether `row`, after blank lines or `lines_between` lines of words, continues the table."""
        last = self.rows[-1]
        step = row.fields[0] - last.fields[0]
        if not lines_between:
            return not step < 0
        if len(self.rows) < 2 or lines_between > _LONGEST_INTERRUPTION or len(row.fields) != len(last.fields):
            return False
        usual = last.fields[0] - self.rows[-2].fields[0]
        return 0 < step <= 1.01 * _LONGEST_INTERRUPTION * usual


def read_row_tables(text: str, file: str) -> tuple[Table, ...]:
    """Return the tables of `text`, at least one; raises StudyFolderError with the line that is amiss."""
    if text.count("\n") > _MOST_LINES:
        found, cure = f"more than {_MOST_LINES} lines", "Export one run to a file."
        raise unreadable(file, "", found, "the trace of one run", cure)
    lines = text.split("\n")
    run, above = _longest_numeric_run(lines)
    dialect = find_dialect(run, above)
    if not dialect.decimal:
        found = "points and commas, either of which could be the decimal sign"
        raise unreadable(file, f"line {len(above) + 1}", found, "one decimal sign", "Export it with one.")
    blocks = [block for block in _blocks(lines, dialect) if len(block.rows) > 1]
    if not blocks:
        raise _no_numbers(lines, file)
    longest = max(len(block.rows) for block in blocks)
    tables: list[Table] = []
    end = 0
    for block in blocks:
        if len(block.rows) >= max(min(SMALL_TABLE, longest), longest / 10):
            start = block.rows[0].line
            tables.append(_table(block, lines[end : start - 1], dialect, lines, file))
            end = block.rows[-1].line
    return tuple(tables)


def _longest_numeric_run(lines: Sequence[str]) -> tuple[list[str], list[str]]:
    """Return the longest run of lines of numbers, blank lines left out, and the lines before it."""
    best: tuple[int, int, int] = (0, 0, 0)
    start = count = 0
    for place, line in enumerate(lines):
        if looks_numeric(line):
            start, count = (start, count + 1) if count else (place, 1)
            best = max(best, (count, -start, place + 1))
        elif line.strip():
            count = 0
    _, begin, end = best
    return [line for line in lines[-begin:end] if line.strip()], list(lines[:-begin])


def _blocks(lines: Sequence[str], dialect: Dialect) -> Iterator[_Block]:
    """Yield the runs of rows; a line of words or a blank one ends a run unless the rows go on after it."""
    block = _Block()
    words: list[int] = []
    blank = False
    for number, line in enumerate(lines, start=1):
        row = _row(number, line, dialect) if line.strip() else None
        if row is None:
            words += [number] if line.strip() else []
            blank = True
            continue
        if block.rows and blank:
            if block.goes_on_with(row, len(words)):
                block.passed_over += words
            else:
                yield block
                block = _Block()
        block.rows.append(row)
        words, blank = [], False
    if block.rows:
        yield block


def _row(number: int, line: str, dialect: Dialect) -> _Row | None:
    values = dialect.numbers(line) if len(line) <= _LONGEST_LINE else None
    if not values or len(values) > _MOST_COLUMNS or all(value != value for value in values):
        return None
    separated = dialect.separator not in ("", BLANKS) and not dialect.joined
    return _Row(number, values, line.count(dialect.separator) + 1 if separated else len(values))


def _table(block: _Block, above: Sequence[str], dialect: Dialect, lines: Sequence[str], file: str) -> Table:
    width = _width(block.rows)
    first = _first_whole_row(block.rows, width)
    above = [*above, *lines[block.rows[0].line - 1 : block.rows[first].line - 1]]
    rows, cautions = _whole_rows(block.rows[first:], width, dialect, lines)
    _check_widths(rows, width, lines, file)
    values = np.full((len(rows), width), np.nan)
    for place, row in enumerate(rows):
        values[place, : len(row.fields)] = row.fields
    if block.passed_over:
        places = f"{len(block.passed_over)} lines without numbers stand between the rows"
        cautions += (f"{places} (first: line {block.passed_over[0]}) and were passed over.",)
    clock = ":" in lines[rows[0].line - 1]
    return Table(values, [row.line for row in rows], tuple(above), dialect.separator, cautions, clock)


def _first_whole_row(rows: Sequence[_Row], width: int) -> int:
    """Return the index of the first row after the lone numbers that belong to the preamble."""
    for index, row in enumerate(rows[:_MOST_LONE_NUMBERS]):
        if width in (len(row.fields), row.places):
            return index
    return 0


def _check_widths(rows: Sequence[_Row], width: int, lines: Sequence[str], file: str) -> None:
    """Raise where a row has too many numbers, or too few to tell which of several columns they are in.

    Rows may end sooner, once and for all, where a trace beside another is shorter.
    """
    reached = 0
    for row in reversed(rows):
        lacks = len(row.fields) < width and row.places < reached and width > 2
        if len(row.fields) > width or lacks:
            found = f"{len(row.fields)} numbers ({shortened(lines[row.line - 1])})"
            raise unreadable(file, f"line {row.line}", found, f"{width} as in the others", "Mend this line.")
        reached = max(reached, row.places)


def _width(rows: Sequence[_Row]) -> int:
    """Return the largest number of columns that a row in twenty has; shorter rows lack their last values."""
    widths = [len(row.fields) for row in rows]
    return max(width for width in set(widths) if widths.count(width) >= max(1, len(widths) / 20))


def _whole_rows(
    rows: list[_Row], width: int, dialect: Dialect, lines: Sequence[str]
) -> tuple[list[_Row], tuple[str, ...]]:
    """Return the rows without a last one that breaks off, and a caution that says so."""
    last = rows[-1]
    cautions = (f"The file breaks off in its last line ({len(lines)}), which was left out.",)
    if last.line == len(lines) - 1 and looks_numeric(lines[-1]):  # such as `9.98,1.2e`: no row at all
        return rows, cautions
    if last.line != len(lines) or len(rows) < 3:
        return rows, ()
    short = len(last.fields) < width == len(rows[-2].fields)
    return (rows[:-1], cautions) if short or last_number_cut(lines[-12:], dialect) else (rows, ())


def _no_numbers(lines: Sequence[str], file: str) -> Exception:
    """Return the refusal of a text without a table; it quotes the first line that begins like a row."""
    filled = [(number, line) for number, line in enumerate(lines, start=1) if line.strip()] or [(1, "")]
    like_rows = [(number, line) for number, line in filled if _LIKE_A_ROW.match(line[:40])]
    number, line = like_rows[0] if len(like_rows) > 1 else filled[0]
    return unreadable(
        file,
        f"line {number}",
        f"text without a table of numbers ({shortened(line)!r} …)",
        "rows of times and signals, with nothing but numbers in them",
        "Export the trace with its data points.",
    )
