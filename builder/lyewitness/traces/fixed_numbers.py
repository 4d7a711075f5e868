"""Rows of numbers with a fixed number of decimals, as most exports have them, parsed as whole numbers.

In: the rows as bytes. Out: their values, or None where the rows are not that regular. A whole number below
2**53 divided by a power of ten is the very double that the written number stands for, and whole numbers are
read more than twice as fast.
"""

import numpy as np
from numpy.typing import NDArray

from lyewitness.traces.drafts import FloatArray

_LONGEST_NUMBER = 17  # signs: fifteen digits, the sign and the decimal sign


def read_fixed_numbers(body: bytes, separator: str, decimal: str) -> FloatArray | None:
    """Return (rows, columns) values of rows of one width; None where another way must be taken.

    `body` has no line feed at its end. Exponents, plus signs, blanks and empty fields are left to others.
    """
    text = body + b"\n"
    marks = f"{separator}{decimal}\n".encode()
    if separator in ("", " ") or text.translate(None, b"0123456789-" + marks):
        return None
    pattern = bytes(sign for sign in text[: text.index(b"\n") + 1] if sign in marks)
    places = None if decimal.encode() * 2 in pattern else _places(text, pattern, marks)
    if places is None or not _signs_lead(text, separator):
        return None
    ends = [index for index, sign in enumerate(pattern) if sign != ord(decimal)]
    lengths = np.diff(places[:, ends], axis=1, prepend=np.concatenate(([-1], places[:-1, -1]))[:, None])
    decimals = _decimals(places, pattern, decimal)
    if decimals is None or lengths.min() < 2 or lengths.max() > _LONGEST_NUMBER + 1:
        return None
    blanks = bytes.maketrans(separator.encode() + b"\n", b"  ")
    whole = np.fromstring(text.translate(blanks, decimal.encode()), dtype=np.int64, sep=" ")
    if whole.size != lengths.size:
        return None
    return np.asarray(whole.reshape(lengths.shape) / 10.0**decimals, dtype=np.float64)


def _places(text: bytes, pattern: bytes, marks: bytes) -> NDArray[np.intp] | None:
    """Return (rows, marks) where the marks of each row stand; None where a row has others than the first."""
    is_mark = text.translate(bytes(sign in marks for sign in range(256)))
    places = np.flatnonzero(np.frombuffer(is_mark, dtype=np.bool_))
    if places.size % len(pattern):
        return None
    found = np.frombuffer(text, dtype=np.uint8)[places].reshape(-1, len(pattern))
    same = np.all(found == np.frombuffer(pattern, dtype=np.uint8))
    return places.reshape(found.shape) if same else None


def _decimals(places: NDArray[np.intp], pattern: bytes, decimal: str) -> NDArray[np.float64] | None:
    """Return (columns,) the number of decimals of each column; None where one has rows of several."""
    decimals: list[int] = []
    for index, sign in enumerate(pattern):
        if sign == ord(decimal):
            behind = places[:, index + 1] - places[:, index] - 1
            if behind[0] < 1 or np.any(behind != behind[0]):
                return None
            decimals.append(int(behind[0]))
        elif index == 0 or pattern[index - 1] != ord(decimal):
            decimals.append(0)
    return np.array(decimals, dtype=np.float64)


def _signs_lead(text: bytes, separator: str) -> bool:
    """Whether every minus sign begins a number and is followed by more of it."""
    signs = np.frombuffer(text, dtype=np.uint8)
    minus = np.flatnonzero(signs == ord("-"))
    mark, feed = ord(separator), ord("\n")
    before, after = signs[minus - 1], signs[minus + 1]  # before the first sign: the line feed at the end
    alone = np.any((after == mark) | (after == feed))
    return bool(np.all((before == mark) | (before == feed)) and not alone)
