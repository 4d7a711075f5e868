"""The table of numbers in a text file, and the lines above it.

In: UTF-8 text with plain line ends. Out: `Table`s. The common shape (a preamble, then rows of one width to
the end) is parsed as a whole by NumPy; everything else row by row.
"""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.traces.complaints import shortened, unreadable
from lyewitness.traces.dialects import BLANKS, Dialect, find_dialect, looks_numeric
from lyewitness.traces.drafts import FloatArray


@dataclass(frozen=True, eq=False, slots=True)
class Table:
    """Rows of numbers of one width."""

    values: FloatArray
    """(rows, columns); NaN where a field has no value."""
    lines: Sequence[int]
    """(rows,) line numbers in the file, from 1."""
    above: tuple[str, ...]
    """The lines between the table before, or the start of the file, and this one."""
    separator: str
    cautions: tuple[str, ...] = ()
    clock_times: bool = False
    """Whether times stand as `h:mm:ss`; they are in `values` as seconds."""


_SAMPLE = 64
_LONGEST_LINE = 20_000
_SMALL_TABLE = 20  # rows; a table of peaks in a preamble is shorter, a trace longer
_NUMERIC = np.zeros(256, dtype=np.bool_)
_NUMERIC[list(b"0123456789.,;+-eE| \t\n")] = True


def read_tables(text: bytes, file: str) -> tuple[Table, ...]:
    """Return every table of `text` that is long enough to be a trace; raises StudyFolderError for none."""
    quick = _read_plain_table(text)
    return (quick,) if quick else _read_tables_by_row(text.decode("utf-8", errors="replace"), file)


def _read_plain_table(text: bytes) -> Table | None:
    """Return the one table that reaches to the end of the text; None where the shape is not that plain."""
    start = _start_of_numbers(text)
    broken_off = not text.endswith(b"\n")
    body = text[start:].rstrip()
    rows = body.count(b"\n") + 1
    if rows < _SMALL_TABLE:
        return None
    lines = body[: 200 * _SAMPLE].decode().split("\n")[1 : _SAMPLE + 1]
    above = tuple(text[:start].decode("utf-8", errors="replace").split("\n")[:-1])
    dialect = find_dialect([line for line in lines[:-1] if line.strip()], above)
    if dialect.joined or not _plain(body, dialect):
        return None
    values = _load(body, dialect)
    if values is None or len(values) != rows:
        return None
    if broken_off and _last_number_cut(body.decode().rsplit("\n", 12)[1:], dialect):
        return None
    return Table(values, range(len(above) + 1, len(above) + 1 + rows), above, dialect.separator)


def _start_of_numbers(text: bytes) -> int:
    """Return where the last line with anything but numbers ends."""
    words = np.flatnonzero(~_NUMERIC[np.frombuffer(text, dtype=np.uint8)])
    return text.find(b"\n", int(words[-1])) + 1 or len(text) if words.size else 0


def _plain(body: bytes, dialect: Dialect) -> bool:
    """Whether commas and points in `body` can have but one meaning."""
    if dialect.decimal == ",":
        return b"." not in body
    return dialect.decimal == "." and (dialect.separator == "," or b"," not in body)


def _load(body: bytes, dialect: Dialect) -> FloatArray | None:
    body = body.replace(b",", b".") if dialect.decimal == "," else body
    delimiter = None if dialect.separator in ("", BLANKS) else dialect.separator
    try:
        return np.loadtxt(io.BytesIO(body), delimiter=delimiter, ndmin=2, comments=None, encoding="ascii")
    except ValueError:  # rows of several widths, empty fields, signs inside a number
        return None


def _last_number_cut(tail: Sequence[str], dialect: Dialect) -> bool:
    """Whether the file breaks off inside its last number: no line end, and decimals that all others have."""
    if len(tail) < 12 or not tail[-1]:
        return False
    decimals = [
        len(line.split(dialect.separator or None)[-1].strip().rpartition(dialect.decimal)[2]) for line in tail
    ]
    return len(set(decimals[:-1])) == 1 and decimals[-1] < decimals[0] and dialect.decimal in tail[0]


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    fields: tuple[float, ...]


def _read_tables_by_row(text: str, file: str) -> tuple[Table, ...]:
    lines = text.split("\n")
    run, above = _longest_numeric_run(lines)
    if not run:
        raise _no_numbers(lines, file)
    dialect = find_dialect(run, above)
    if not dialect.decimal:
        raise unreadable(
            file, "", "both points and commas as decimal signs", "one decimal sign", "Export again with one."
        )
    blocks = list(_blocks(lines, dialect))
    longest = max((len(block) for block in blocks), default=0)
    kept = [
        block for block in blocks if len(block) >= min(_SMALL_TABLE, longest) and len(block) >= longest / 10
    ]
    if longest < 2:
        raise _no_numbers(lines, file)
    tables: list[Table] = []
    end = 0
    for block in kept:
        tables.append(_table(block, lines[end : block[0].line - 1], dialect, lines, file))
        end = block[-1].line
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


def _blocks(lines: Sequence[str], dialect: Dialect) -> Iterator[list[_Row]]:
    """Yield the runs of rows of numbers; a blank line ends one only where time starts anew after it."""
    block: list[_Row] = []
    after_blank = False
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            after_blank = bool(block)
            continue
        row = _row(number, line, dialect)
        ends = row is None or (after_blank and row.fields[0] < block[-1].fields[0])
        if ends and block:
            yield block
            block = []
        if row is not None:
            block.append(row)
        after_blank = False
    if block:
        yield block


def _row(number: int, line: str, dialect: Dialect) -> _Row | None:
    if len(line) > _LONGEST_LINE:
        return None
    fields = [dialect.number(field) for field in dialect.split(line)]
    values = tuple(value for value in fields if value is not None)
    if len(values) < len(fields) or not any(value == value for value in values):
        return None
    return _Row(number, values)


def _table(
    block: Sequence[_Row], above: Sequence[str], dialect: Dialect, lines: Sequence[str], file: str
) -> Table:
    width = _width(block)
    rows = list(block)
    while len(rows[0].fields) != width:  # numbers that stand alone before the table belong to its preamble
        above = [*above, *lines[rows[0].line - 1 : rows[1].line - 1]]
        del rows[0]
    rows, cautions = _whole_rows(rows, width, dialect, lines)
    values = np.full((len(rows), width), np.nan)
    for place, row in enumerate(rows):
        if len(row.fields) > width:
            found = f"{len(row.fields)} numbers ({shortened(lines[row.line - 1])})"
            raise unreadable(file, f"line {row.line}", found, f"{width} as in the others", "Mend this line.")
        values[place, : len(row.fields)] = row.fields
    clock = ":" in lines[rows[0].line - 1]
    return Table(values, [row.line for row in rows], tuple(above), dialect.separator, cautions, clock)


def _width(block: Sequence[_Row]) -> int:
    """Return the largest number of columns that a row in twenty has; shorter rows lack their last values."""
    widths = [len(row.fields) for row in block]
    return max(width for width in set(widths) if widths.count(width) >= max(1, len(widths) / 20))


def _whole_rows(
    rows: list[_Row], width: int, dialect: Dialect, lines: Sequence[str]
) -> tuple[list[_Row], tuple[str, ...]]:
    """Return the rows without a last one that breaks off, and a caution that says so."""
    last = rows[-1]
    if last.line == len(lines) - 1 and looks_numeric(lines[-1]):  # such as `9.98,1.2e`
        return rows, (f"The file breaks off in its last line ({len(lines)}), which was left out.",)
    is_end = not any(line.strip() for line in lines[last.line :])
    short = len(last.fields) < width and len(rows) > 2 and len(rows[-2].fields) == width
    cut = last.line == len(lines) and _last_number_cut(lines[-12:], dialect)
    if is_end and (short or cut):
        return rows[:-1], (f"The file breaks off in its last line ({last.line}), which was left out.",)
    return rows, ()


def _no_numbers(lines: Sequence[str], file: str) -> Exception:
    first = next((number for number, line in enumerate(lines, start=1) if line.strip()), 1)
    found = f"text without a table of numbers ({shortened(lines[first - 1])!r} …)"
    return unreadable(
        file, f"line {first}", found, "rows of times and signals", "Export the trace with its data points."
    )
