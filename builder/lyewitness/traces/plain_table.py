"""The common shape of a text file, parsed as a whole: words, rows of one width, perhaps words again.

In: UTF-8 text with plain line ends. Out: its `Table`, or None where the file is not that plain; the reader
that goes row by row takes it then. In doubt it is not plain: this way may be quicker, never different.
"""

import io
import re

import numpy as np

from lyewitness.traces.dialect_finding import find_dialect
from lyewitness.traces.dialects import BLANKS, Dialect, looks_numeric
from lyewitness.traces.tables import SMALL_TABLE, Table, last_number_cut
from lyewitness.words.arrays import FloatArray

_SAMPLE_LINES = 40
_SAMPLE_BYTES = 12_800
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
