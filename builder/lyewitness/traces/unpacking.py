"""The content of an export, freed of gzip and of its encoding.

In: a file as it lies on disk. Out: its content, as UTF-8 where it is text, or the reason why
it cannot be unpacked. The size is
bounded, because a few kilobytes can be made to swell into gigabytes.
"""

import zlib

from lyewitness.traces.drafts import unreadable
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


LARGEST_BYTES = 128 * 2**20
"""The largest content that is read: a day at 50 points a second, as text."""
MOST_MEMBERS = 10_000
"""Of one gzip file: programs that pack in blocks make one of every 64 KiB, which is 2048 of the largest."""

_GZIP = b"\x1f\x8b"


def unpack(data: bytes, file: str) -> bytes:
    """Return the content of `data`, unpacked where it is gzip-compressed.

    Raises StudyFolderError for an empty, damaged or oversized file.
    """
    content = _gunzip(data, file) if data.startswith(_GZIP) else data
    if len(content) > LARGEST_BYTES:
        raise _too_large(file)
    if not content.strip(b"\0 \t\r\n"):
        raise unreadable(file, "", "an empty file", "a chromatogram", "Export it again.")
    if content.startswith(_GZIP):
        raise unreadable(file, "", "a file compressed twice", "at most one gzip layer", "Unpack it once.")
    return content


def inflate(data: bytes, largest: int, wbits: int = zlib.MAX_WBITS) -> tuple[bytes, bytes]:
    """Return (content, what follows it) of one zlib stream, never more than `largest` + 1 bytes.

    Raises zlib.error for a damaged stream and EOFError for one that breaks off.
    """
    stream = zlib.decompressobj(wbits)
    content = stream.decompress(data, largest + 1)
    if not stream.eof and len(content) <= largest:
        raise EOFError("the compressed data break off")
    return content, stream.unused_data


def _gunzip(data: bytes, file: str) -> bytes:
    parts: list[bytes] = []
    size = 0
    while data.startswith(_GZIP):  # a gzip file may hold several members, one after another
        try:
            part, data = inflate(data, LARGEST_BYTES - size, wbits=31)
        except (zlib.error, EOFError) as error:
            raise unreadable(
                file,
                "",
                f"damaged gzip data ({error})",
                "a whole gzip file",
                "Copy or export the file again.",
            ) from error
        parts.append(part)
        if len(parts) > MOST_MEMBERS:
            found, expected = "gzip data in very many pieces", f"at most {MOST_MEMBERS}"
            raise unreadable(file, "", found, expected, "Unpack the file and pack it once.")
        size += len(part)
        if size > LARGEST_BYTES:
            raise _too_large(file)
    return b"".join(parts)


def _too_large(file: str) -> Exception:
    limit = f"{LARGEST_BYTES // 2**20} MiB"
    return unreadable(
        file, "", f"content of more than {limit}", f"at most {limit}", "Export one detector trace alone."
    )
