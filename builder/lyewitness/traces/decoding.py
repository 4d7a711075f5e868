"""Text of any usual encoding as UTF-8 bytes with plain line ends.

In: bytes of a text file. Out: the same text in UTF-8 without a byte order mark, lines ended by one
line feed, so that line numbers stay those of the file; typeset minus signs are plain ones.
"""

from lyewitness.words.decoding import decoded

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
    # Most exports are plain ASCII and large: they are not decoded and encoded again.
    if data.isascii() and b"\0" not in data[:4096]:
        return data
    return decoded(data).encode("utf-8", errors="ignore")
