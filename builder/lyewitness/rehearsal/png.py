"""A grey PNG with sixteen levels, the same bytes everywhere.

In: a grey image. Out: bytes. The pixels are stored, not squeezed: compressors differ from one build of
zlib to the next, and the drawings must come out byte for byte.
"""

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

HEIGHT, WIDTH = 7, 5
DOTS: dict[str, str] = {
    " ": "..... ..... ..... ..... ..... ..... .....",
    "0": ".###. #...# #..## #.#.# ##..# #...# .###.",
    "1": "..#.. .##.. ..#.. ..#.. ..#.. ..#.. .###.",
    "2": ".###. #...# ....# ...#. ..#.. .#... #####",
    "5": "##### #.... ####. ....# ....# #...# .###.",
    "d": "....# ....# .##.# #..## #...# #...# .####",
    "r": "..... ..... #.##. ##..# #.... #.... #....",
    "a": "..... ..... .###. ....# .#### #...# .####",
    "w": "..... ..... #...# #...# #.#.# #.#.# .#.#.",
    "i": "..#.. ..... .##.. ..#.. ..#.. ..#.. .###.",
    "n": "..... ..... #.##. ##..# #...# #...# #...#",
    "g": "..... .#### #...# #...# .#### ....# .###.",
    "m": "..... ..... ##.#. #.#.# #.#.# #.#.# #.#.#",
    "µ": "..... #...# #...# #..## ###.# #.... #....",
}  # fmt: skip


def stamp(image: NDArray[np.float64], text: str, left: int, top: int, scale: int = 2) -> int:
    """Write `text` in black into `image`; return where it ends. KeyError for a sign that has no dots."""
    for sign in text:
        rows = DOTS[sign].split()
        dots = np.array([[dot == "#" for dot in row] for row in rows]).repeat(scale, 0).repeat(scale, 1)
        image[top : top + HEIGHT * scale, left : left + WIDTH * scale][dots] = 0.0
        left += (WIDTH + 1) * scale
    return left


STORED_BLOCK = 65535


def grey_png(image: NDArray[np.float64], description: str) -> bytes:
    """Return a PNG of `image`, (height, width) from 0 black to 1 white, with a description in it."""
    height, width = image.shape
    levels = np.clip(np.rint(image * 15), 0, 15).astype(np.uint8)
    if width % 2:
        levels = np.pad(levels, ((0, 0), (0, 1)))
    packed = (levels[:, ::2] << 4) | levels[:, 1::2]
    # Each row begins with its filter type, 0 for none.
    rows = np.pad(packed, ((0, 0), (1, 0))).tobytes()
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 4, 0, 0, 0, 0)),
            _chunk(b"tEXt", b"Description\0" + description.encode("latin-1")),
            _chunk(b"IDAT", _stored(rows)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _stored(data: bytes) -> bytes:
    """Return `data` as a zlib stream of stored blocks (RFC 1950, RFC 1951 section 3.2.4)."""
    blocks = [data[start : start + STORED_BLOCK] for start in range(0, len(data), STORED_BLOCK)]
    stream = bytearray(b"\x78\x01")
    for number, block in enumerate(blocks):
        last = number == len(blocks) - 1
        stream += struct.pack("<BHH", last, len(block), len(block) ^ 0xFFFF) + block
    return bytes(stream + struct.pack(">I", zlib.adler32(data)))
