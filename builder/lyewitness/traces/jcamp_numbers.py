"""The number forms of JCAMP-DX: free (AFFN), packed (PAC), squeezed (SQZ), differences (DIF), repeats (DUP).

In: the lines of an `XYDATA` or `XYPOINTS` record. Out: the ordinates with the abscissa that each line begins
with. Source: JCAMP-DX 4.24 (McDonald and Wilks, Appl. Spectrosc. 1988, 42, 151), section 5.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from lyewitness.words.arrays import FloatArray

_SQZ = {letter: digit for letters, sign in (("@ABCDEFGHI", ""), (" abcdefghi", "-")) for digit, letter in
        ((f"{sign}{place}", letter) for place, letter in enumerate(letters))}  # fmt: skip
_DIF = {letter: digit for letters, sign in (("%JKLMNOPQR", ""), (" jklmnopqr", "-")) for digit, letter in
        ((f"{sign}{place}", letter) for place, letter in enumerate(letters))}  # fmt: skip
_DUP = {letter: str(place) for place, letter in enumerate("STUVWXYZs", start=1)}

_FREE = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3}(?![\deE]))?|\?")
_FREE_LINE = re.compile(
    rf"[\s,;]*(?:{_FREE.pattern})(?:(?:[\s,;]+|(?=[-+]))(?:{_FREE.pattern}))*[\s,;]*"  # a sign sets apart
)
_PACKED = re.compile(
    r"(?P<free>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]\d{2,3})?|\?)"  # here E without a sign is a squeezed 5
    r"|(?P<letter>[@A-Ia-i%J-Rj-rS-Zs])(?P<digits>[\d.]*)|(?P<gap>[\s,;]+)"
)
_LARGEST_REPEAT = 1_000_000
_MOST_POINTS = 5_000_000


@dataclass(frozen=True, slots=True)
class CodedLine:
    """One line of ordinates."""

    line: int
    """Line number in the file."""
    x: float
    """The abscissa it begins with, before the factor."""
    x_rounding: float
    """Half a unit in the last place of `x`."""
    first: int
    """Index of its first ordinate; of the repeated one where the line before ended in differences."""


class CodedDataError(ValueError):
    """A line that cannot be decoded."""

    def __init__(self, line: int, found: str, expected: str) -> None:
        super().__init__(found)
        self.line, self.found, self.expected = line, found, expected


def decode_ordinates(lines: Iterable[tuple[int, str]]) -> tuple[FloatArray, tuple[CodedLine, ...]]:
    """Return (n,) ordinates of `(X++(Y..Y))` lines and what each line begins with.

    `lines` are (line number, text). Raises CodedDataError for a sign that has no meaning, and where the
    repeated ordinate at the start of a line is not the last of the line before.
    """
    lines = list(lines)
    packed = not all(_FREE_LINE.fullmatch(text) or not text.strip() for _, text in lines)
    decoder = _Decoder()
    starts: list[CodedLine] = []
    for number, text in lines:
        tokens = list(_tokens(number, text, packed))
        if not tokens:
            continue
        kind, x = tokens[0]
        if kind != "free" or x == "?":
            raise CodedDataError(number, f"a line that begins with {x!r}", "an abscissa as a plain number")
        starts.append(CodedLine(number, float(x), _half_unit(x), decoder.index_of_next_line(tokens)))
        decoder.take_line(number, tokens[1:])
    return np.array(decoder.values, dtype=np.float64), tuple(starts)


def decode_pairs(lines: Iterable[tuple[int, str]]) -> tuple[FloatArray, FloatArray, tuple[int, ...]]:
    """Return (n,) abscissas, ordinates and line numbers of `(XY..XY)` lines; raises CodedDataError."""
    values: list[float] = []
    places: list[int] = []
    for number, text in lines:
        if not text.strip(" \t,;"):
            continue
        if not _FREE_LINE.fullmatch(text):
            raise CodedDataError(number, "something else than plain numbers", "pairs of numbers")
        found = [_float(word) for word in _FREE.findall(text)]
        if len(found) % 2:
            raise CodedDataError(number, f"{len(found)} numbers", "pairs of numbers")
        values += found
        places += [number] * (len(found) // 2)
    pairs = np.array(values, dtype=np.float64).reshape(-1, 2)
    return pairs[:, 0].copy(), pairs[:, 1].copy(), tuple(places)


def _tokens(number: int, text: str, packed: bool) -> Iterator[tuple[str, str]]:
    """Yield (kind, digits) of a line; kinds are free, sqz, dif and dup.

    `1E309` is a number in a plain record; in a packed one it is the abscissa 1 and the ordinate 5309.
    """
    if not packed:
        yield from (("free", word) for word in _FREE.findall(text))
        return
    end = 0
    while end < len(text):
        match = _PACKED.match(text, end)
        if not match:
            raise CodedDataError(number, f"the sign {text[end]!r}", "a number form of JCAMP-DX")
        end = match.end()
        if match["free"]:
            yield "free", match["free"]
        elif match["letter"]:
            yield _letter(match["letter"], match["digits"])


def _letter(letter: str, digits: str) -> tuple[str, str]:
    for kind, table in (("sqz", _SQZ), ("dif", _DIF)):
        if letter in table:
            return kind, table[letter] + digits
    return "dup", _DUP[letter] + digits


class _Decoder:
    """Turns tokens into ordinates; differences and repeats reach over the end of a line."""

    def __init__(self) -> None:
        self.values: list[float] = []
        self._difference: float | None = None

    def index_of_next_line(self, tokens: list[tuple[str, str]]) -> int:
        return len(self.values) - self._repeats_last(tokens[1:2])

    def _repeats_last(self, first: list[tuple[str, str]]) -> bool:
        """Whether a line that begins so repeats the last ordinate, as a check on the differences."""
        return self._difference is not None and bool(first) and first[0][0] in ("sqz", "free")

    def take_line(self, number: int, tokens: list[tuple[str, str]]) -> None:
        if self._repeats_last(tokens[:1]):
            self._check(number, _float(tokens[0][1]))
            tokens = tokens[1:]
            self._difference = None
        for kind, digits in tokens:
            self._take(number, kind, digits)
            if len(self.values) > _MOST_POINTS:
                raise CodedDataError(number, f"more than {_MOST_POINTS} points", "fewer")

    def _check(self, number: int, repeated: float) -> None:
        last = self.values[-1]
        if not abs(repeated - last) <= 1e-6 * max(abs(last), 1.0):
            found = f"the repeated ordinate {repeated:g} after {last:g}"
            raise CodedDataError(number, found, "the last ordinate of the line before")

    def _take(self, number: int, kind: str, digits: str) -> None:
        if kind in ("free", "sqz"):
            self.values.append(_float(digits))
            self._difference = None
            return
        if not self.values:
            raise CodedDataError(number, "a difference or repeat without a number before it", "a number")
        if kind == "dif":
            self._difference = _float(digits)
            self.values.append(self.values[-1] + self._difference)
            return
        count = _float(digits)
        if not 1 <= count <= _LARGEST_REPEAT or count != int(count):
            raise CodedDataError(number, f"a repeat of {digits}", f"from 1 to {_LARGEST_REPEAT}")
        for _ in range(int(count) - 1):
            self.values.append(self.values[-1] + (self._difference or 0.0))


def _float(word: str) -> float:
    try:
        return float(word) if word != "?" else float("nan")
    except ValueError:
        return float("nan")  # such as `A1.2.3`


def _half_unit(word: str) -> float:
    mantissa, _, exponent = word.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return float(f"0.5e{int(exponent or 0) - decimals}")
