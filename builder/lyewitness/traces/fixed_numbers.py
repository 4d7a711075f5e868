"""Rows of numbers with a fixed number of decimals, as most exports have them, parsed as whole numbers.

In: the rows as bytes. Out: their values, or None where the rows are not that regular. A whole number below
2**53 divided by a power of ten is the very double that the written number stands for, and whole numbers are
read several times as fast: eight digits at a time, as the bytes of one machine word.
"""

import numpy as np
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray

Words = NDArray[np.uint64]
Places = NDArray[np.intp]

_LONGEST_NUMBER = 16  # signs: fifteen digits and the decimal sign
_WORD = 8  # bytes
_LAST_BYTES: Words = np.array([(1 << 64) - (1 << 8 * (_WORD - n)) for n in range(_WORD + 1)], dtype=np.uint64)
"""By n: a word whose last n bytes are full, the others empty."""
_ZEROS = np.uint64(0x3030303030303030)  # eight times the sign `0`


def read_fixed_numbers(body: bytes, separator: str, decimal: str) -> FloatArray | None:
    """Return (rows, columns) values of rows of one width; None where another way must be taken.

    `body` has no line feed at its end. Exponents, plus signs, blanks and empty fields are left to others.
    """
    text = bytes(2 * _WORD) + body + b"\n"  # so that two whole words stand before the end of every number
    marks = f"{separator}{decimal}\n".encode()
    pattern = bytes(sign for sign in text[: text.index(b"\n") + 1] if sign in marks)
    if separator in ("", " ") or decimal.encode() * 2 in pattern:
        return None
    signs = np.frombuffer(text, dtype=np.uint8)
    places = _places(signs, pattern, marks)
    decimals = None if places is None else _decimals(places, pattern, decimal)
    if places is None or decimals is None:
        return None
    ends = np.stack([place for place, sign in zip(places, pattern, strict=True) if sign != ord(decimal)])
    starts = _starts(ends)
    negative = signs[starts] == ord("-")
    lengths = ends - starts - negative
    if lengths.min() < 1 or lengths.max() > _LONGEST_NUMBER:
        return None
    whole = _whole_numbers(text, ends, lengths, decimals)
    if whole is None:
        return None
    values: FloatArray = whole / 10.0 ** np.maximum(decimals, 0)[:, None]
    return np.negative(values, out=values, where=negative).T


def _places(signs: NDArray[np.uint8], pattern: bytes, marks: bytes) -> Places | None:
    """Return (marks, rows) where the marks of each row stand; None where a row has others than the first."""
    is_mark = signs == marks[0]
    for mark in marks[1:]:
        is_mark |= signs == mark
    places = np.flatnonzero(is_mark)
    rows, beyond = divmod(places.size, len(pattern))
    return None if beyond or signs[places].tobytes() != pattern * rows else places.reshape(rows, -1).T


def _starts(ends: Places) -> Places:
    """Return (columns, rows) where the numbers begin: behind the end of the one before."""
    starts = np.empty_like(ends)
    starts[1:] = ends[:-1]
    starts[0, 1:], starts[0, 0] = ends[-1, :-1], 2 * _WORD - 1
    return starts + 1


def _decimals(places: Places, pattern: bytes, decimal: str) -> Places | None:
    """Return (columns,) the number of decimals, −1 without a decimal sign; None where it varies in one."""
    decimals: list[int] = []
    for index, sign in enumerate(pattern):
        if sign == ord(decimal):
            behind = places[index + 1] - places[index] - 1
            if behind[0] < 1 or np.any(behind != behind[0]):
                return None
            decimals.append(int(behind[0]))
        elif index == 0 or pattern[index - 1] != ord(decimal):
            decimals.append(-1)
    return np.array(decimals, dtype=np.intp)


def _whole_numbers(text: bytes, ends: Places, lengths: Places, decimals: Places) -> Words | None:
    """Return numbers of up to sixteen signs without their decimal signs; None where one is no digit."""
    before_each: Words = np.ndarray((len(text) - _WORD + 1,), "<u8", text, 0, (1,))
    low = _joined(before_each[ends - _WORD], np.minimum(lengths, _WORD), decimals)
    if low is None or lengths.max() <= _WORD:
        return low
    high = _joined(before_each[ends - 2 * _WORD], np.maximum(lengths - _WORD, 0), decimals - _WORD)
    digits_below = np.where((decimals >= 0) & (decimals < _WORD), _WORD - 1, _WORD)[:, None]
    return None if high is None else high * np.uint64(10) ** digits_below.astype(np.uint64) + low


def _joined(words: Words, lengths: Places, decimals: Places) -> Words | None:
    """Return the numbers that the last `lengths` signs of words make; None where one is no digit.

    The first sign is the lowest byte of a word, so that neighbouring digits, then pairs and fours of them,
    are joined by one multiplication each.
    """
    digits = (words ^ _ZEROS) & _LAST_BYTES[lengths]
    has_sign = (decimals >= 0) & (decimals < _WORD)
    if np.any(has_sign):  # close the gap that the decimal sign leaves
        behind = _LAST_BYTES[np.where(has_sign, decimals, _WORD)][:, None]
        ahead = ~_LAST_BYTES[np.where(has_sign, decimals + 1, _WORD)][:, None]
        digits = (digits & behind) | ((digits & ahead) << np.uint64(8))
    above_nine = (digits + np.uint64(0x7676767676767676)) | digits
    if np.any(above_nine & np.uint64(0x8080808080808080)):
        return None
    digits = (digits * np.uint64(10) + (digits >> np.uint64(8))) & np.uint64(0x00FF00FF00FF00FF)
    digits = (digits * np.uint64(100) + (digits >> np.uint64(16))) & np.uint64(0x0000FFFF0000FFFF)
    return (digits * np.uint64(10_000) + (digits >> np.uint64(32))) & np.uint64(0xFFFFFFFF)
