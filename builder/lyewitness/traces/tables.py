"""The tables of numbers that a text file holds.

In: text. Out: every `Table` long enough to be a trace; several where a file holds traces one below another.
The common shape (words, rows of one width, perhaps words again) is parsed as a whole, any other row by row.
A row that lacks its last values keeps its place; a last row that breaks off, or a line of words inside a
table, is passed over with a caution.
"""

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from lyewitness.traces.dialects import BLANKS, Dialect, find_dialect, looks_numeric
from lyewitness.traces.shaping import unreadable
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import shortened

SMALL_TABLE = 20
"""Rows; a table of peaks in a preamble is shorter, a trace longer."""


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


def last_number_cut(tail: Sequence[str], dialect: Dialect) -> bool:
    """Whether the last of these lines breaks off in its last number: decimals that all others have lack.

    `tail` are the last twelve lines of a file without a line end at its end.
    """
    if len(tail) < 12 or not tail[-1]:
        return False
    fields = [dialect.split(line)[-1:] for line in tail]
    if not all(fields) or not all(dialect.decimal in field[0] for field in fields[:-1]):
        return False
    decimals = [len(field[0].strip().partition(dialect.decimal)[2]) for field in fields]
    return len(set(decimals[:-1])) == 1 and decimals[-1] < decimals[0]


_LIKE_A_ROW = re.compile(r"\s*[\"']?[-+]?[\d.,]*\d")
# 500 columns of 40 signs.
_LONGEST_LINE = 20_000
# Five hours at 100 Hz are 1.8 million: one run, not a day's.
_MOST_LINES = 2_000_000
# Wavelengths of a diode array at one nanometre; a wider line is no table of signals.
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


# Enough lines to show a form that changes, and bytes for them of 320 each.
_SAMPLE_LINES = 40
_SAMPLE_BYTES = 12_800
# Preambles of exports end well before.
_HEAD_BYTES = 4096
_NO_WORD = b"0123456789.,;+-eE| \t\n"
_IS_WORD = bytes(sign not in _NO_WORD for sign in range(256))
_DECIMALS: dict[str, re.Pattern[bytes]] = {
    sign: re.compile(rb"(?<![\d,.])0[%b]\d|\d[%b](?:\d{1,2}|\d{4,})(?![\d,.])" % (mark, mark))
    for sign, mark in ((".", b"."), (",", b","))
}
"""What only a decimal sign gives: a zero before it, or another number of digits behind it than three."""


def read_plain_table(text: bytes) -> Table | None:
    """Return the one table of the text; None where its shape is not that plain."""
    text = _without_quotes(text)
    start, end = _longest_stretch(text)
    body = text[start:end].rstrip(b"\n ")
    above = tuple(text[:start].decode("utf-8", errors="replace").split("\n")[:-1])
    if len(body) < 2 * SMALL_TABLE or _borders_on_numbers(above, text[end : end + _SAMPLE_BYTES]):
        return None
    sample = body[:_SAMPLE_BYTES].decode().split("\n", _SAMPLE_LINES + 2)[1 : _SAMPLE_LINES + 1]
    dialect = find_dialect([line for line in sample[:-1] if line.strip()], above)
    if not _is_plain(body, dialect):
        return None
    breaks_off = end == len(text) and not text.endswith(b"\n")
    if breaks_off and last_number_cut(body.decode().rsplit("\n", 12)[1:], dialect):
        return None
    values = _load(body, dialect)
    if values is None or len(values) < SMALL_TABLE:
        return None
    lines = range(len(above) + 1, len(above) + 1 + len(values))
    return Table(values, lines, above, dialect.separator)


def _without_quotes(text: bytes) -> bytes:
    """Return the text without the quotes around its fields, where none of them holds a separator."""
    if b'"' not in text:
        return text
    parts = text.split(b'"')
    quoted = b"".join(parts[1::2])
    is_safe = len(parts) % 2 == 1 and len(quoted.translate(None, b",;|\t\n")) == len(quoted)
    return b"".join(parts) if is_safe else text


def _longest_stretch(text: bytes) -> tuple[int, int]:
    """Return where the longest run of whole lines without words begins and ends.

    (0, 0) where another run is a fortieth as long: that could be a trace as well.
    """
    # Most files have words in their head alone, and to see that there are none is quicker than to find them.
    head = text if text[_HEAD_BYTES:].translate(None, _NO_WORD) else text[:_HEAD_BYTES]
    words = np.flatnonzero(np.frombuffer(head.translate(_IS_WORD), dtype=np.bool_))
    borders = np.concatenate(([-1], words, [len(text)]))
    lengths = np.diff(borders)
    longest = int(np.argmax(lengths))
    start, end = int(borders[longest]), int(borders[longest + 1])
    lengths[longest] = 0
    if 40 * int(lengths.max(initial=0)) > end - start:
        return 0, 0
    start = text.find(b"\n", start, end) + 1 if longest else 0
    end = text.rfind(b"\n", start, end) + 1 if end < len(text) else end
    return start, end


def _borders_on_numbers(above: tuple[str, ...], below: bytes) -> bool:
    """Whether rows stand right above or below the words at either end: then these stand inside a table."""
    following = below.decode("utf-8", errors="replace").split("\n")[:5]
    return any(looks_numeric(line) for line in (*above[-5:], *following))


def _is_plain(body: bytes, dialect: Dialect) -> bool:
    """Whether commas and points in `body` can have but one meaning."""
    if dialect.joined or not dialect.decimal:
        return False
    other = b"." if dialect.decimal == "," else b","
    if other in body and not (other == b"," and dialect.separator == ","):
        return False
    if dialect.decimal.encode() not in body:
        return True
    return bool(_DECIMALS[dialect.decimal].search(body[:_SAMPLE_BYTES]))


def _without_last_separators(body: bytes, separator: str) -> bytes:
    """Return the rows without a separator at their ends, where every row has one."""
    mark = separator.encode()
    if not separator.strip() and separator != "\t":
        return body
    while body.endswith(mark) and body.count(mark + b"\n") == body.count(b"\n"):
        body = body.replace(mark + b"\n", b"\n").removesuffix(mark)
    return body


def _load(body: bytes, dialect: Dialect) -> FloatArray | None:
    body = _without_last_separators(body, dialect.separator)
    if not body.strip():
        return None
    body = body.replace(b",", b".") if dialect.decimal == "," else body
    delimiter = None if dialect.separator in ("", BLANKS) else dialect.separator
    try:
        values = np.loadtxt(io.BytesIO(body), delimiter=delimiter, ndmin=2, comments=None, encoding="ascii")
    except ValueError:  # rows of several widths, empty fields, signs inside a number
        return None
    return (
        values if len(values) == body.count(b"\n") + 1 else None
    )  # blank lines would shift the line numbers
