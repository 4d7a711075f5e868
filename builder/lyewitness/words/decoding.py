"""Text of any usual encoding, read one way: study.toml, tables, notes and exports alike.

In: the bytes of a text file. Out: its text, and where it is to be shown, without the characters that no page,
drawing or letter can hold.
"""

import codecs
import re

# What XML 1.0 cannot hold (production 2, Char), and so neither SVG nor the metadata of a PDF; tabulator and
# line breaks stay. Codes 7F to 9F are allowed there, but HTML forbids them (13.2.3.5).
_FORBIDDEN = "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff"
# What turns the direction of all that follows it, in the rest of a sentence as well (UAX #9, 2.1 to 2.4);
# letters that run from right to left keep their own direction without it.
_TURNING = "\u202a-\u202e\u2066-\u2069"
_UNPRINTABLE = re.compile(f"[{_FORBIDDEN}{_TURNING}]")


def printable(text: str) -> str:
    """Return `text` without the characters that a document cannot hold or that would turn its neighbours."""
    return _UNPRINTABLE.sub("", text) if _UNPRINTABLE.search(text) else text


MARKS: tuple[tuple[bytes, str], ...] = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_UNDEFINED = {0xDC00 + byte: byte for byte in (0x81, 0x8D, 0x8F, 0x90, 0x9D)}
"""Bytes to which Windows-1252 gives no letter, as Python hands them on; in Latin-1 they are controls."""


def decoded(data: bytes) -> str:
    """Return the text of `data` with `\\n` at the line ends, whatever its encoding.

    By its mark, as UTF-16 without one, as UTF-8, else in Windows-1252. That is Latin-1 with letters where
    Latin-1 has controls (€, typeset dashes and quotes); the five bytes that it leaves open are read as
    Latin-1, so that any bytes can be read. A broken last character is dropped.
    """
    return _text(data).replace("\r\n", "\n").replace("\r", "\n")


def _text(data: bytes) -> str:
    for mark, encoding in MARKS:
        if data.startswith(mark):
            return data[len(mark) :].decode(encoding, errors="ignore")
    if unmarked := _unmarked_utf16(data):
        return data.decode(unmarked, errors="ignore")
    for encoding in ("utf-8", "cp1252"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    # Ten times as long as the others: only where bytes stand for which Windows-1252 has no letter.
    return data.decode("cp1252", errors="surrogateescape").translate(_UNDEFINED)


def _unmarked_utf16(data: bytes) -> str:
    """Return the byte order where every second byte of the beginning is NUL, as in UTF-16 without a mark."""
    head = data[:1024]
    even, odd = head[::2].count(0), head[1::2].count(0)
    pairs = max(len(head) // 2, 1)
    if odd > 0.7 * pairs and even < 0.05 * pairs:
        return "utf-16-le"
    return "utf-16-be" if even > 0.7 * pairs and odd < 0.05 * pairs else ""
