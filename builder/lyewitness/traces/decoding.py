"""Text of any usual encoding as UTF-8 bytes with plain line ends.

In: bytes of a text file. Out: the same text in UTF-8 without a byte order mark, lines ended by one
line feed, so that line numbers stay those of the file; typeset minus signs are plain ones.
"""

import codecs

_MARKS: tuple[tuple[bytes, str], ...] = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_CONTROLS = bytes(byte for byte in range(32) if byte not in b"\t\n\v\f\r\x1a\x1b")
_MINUS = "\N{MINUS SIGN}".encode()


def as_utf8(data: bytes) -> bytes:
    """Return the text of `data` in UTF-8 with `\\n` at the line ends; a broken last character is dropped."""
    text = _in_utf8(data).rstrip(b"\0\x1a")  # \x1a ended a text file once, NULs pad some to whole blocks
    if b"\r" in text:
        text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return text if text.isascii() else text.replace(_MINUS, b"-")


def looks_like_text(data: bytes) -> bool:
    """Whether `data`, the first bytes of a file, are text in an encoding that `as_utf8` knows."""
    text = as_utf8(data)
    return bool(text.strip()) and len(text.translate(None, _CONTROLS)) == len(text)


def _in_utf8(data: bytes) -> bytes:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            rest = data[len(mark) :]
            return rest if encoding == "utf-8" and _valid(rest) else _recode(rest, encoding)
    if data.isascii() and b"\0" not in data[:4096]:
        return data
    unmarked = _unmarked_utf16(data)
    if unmarked:
        return _recode(data, unmarked)
    return data if _valid(data) else data.decode("cp1252", errors="replace").encode()


def _recode(data: bytes, encoding: str) -> bytes:
    return data.decode(encoding, errors="ignore").encode("utf-8", errors="ignore")


def _valid(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _unmarked_utf16(data: bytes) -> str:
    """Return the byte order where every second byte of the beginning is NUL, as in UTF-16 without a mark."""
    head = data[:1024]
    even, odd = head[::2].count(0), head[1::2].count(0)
    pairs = max(len(head) // 2, 1)
    if odd > 0.7 * pairs and even < 0.05 * pairs:
        return "utf-16-le"
    return "utf-16-be" if even > 0.7 * pairs and odd < 0.05 * pairs else ""
