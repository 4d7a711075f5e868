"""Reads chromatograms in JCAMP-DX.

In: the bytes of a JCAMP-DX file. Out: one `Draft` for each block with points over time. The records of
owner, origin and source are not looked at. Numbers stand free (AFFN), packed (PAC), squeezed (SQZ), as
differences (DIF) or with repeats (DUP).
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from lyewitness.study.records import Exports
from lyewitness.traces.headings import read_heading
from lyewitness.traces.shaping import Draft, as_utf8, unit_of_time, unreadable
from lyewitness.traces.stamps import iso_time
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import shortened

_SQZ = {letter: digit for letters, sign in (("@ABCDEFGHI", ""), (" abcdefghi", "-")) for digit, letter in
        ((f"{sign}{place}", letter) for place, letter in enumerate(letters))}  # fmt: skip
_DIF = {letter: digit for letters, sign in (("%JKLMNOPQR", ""), (" jklmnopqr", "-")) for digit, letter in
        ((f"{sign}{place}", letter) for place, letter in enumerate(letters))}  # fmt: skip
_DUP = {letter: str(place) for place, letter in enumerate("STUVWXYZs", start=1)}

_FREE = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d{1,3}(?![\deE]))?|\?")
_FREE_LINE = re.compile(
    rf"[\s,;]*(?:{_FREE.pattern})(?:(?:[\s,;]+|(?=[-+]))(?:{_FREE.pattern}))*[\s,;]*"  # a sign sets apart
)
_PACKED = re.compile(
    r"(?P<free>[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]\d{2,3})?|\?)"  # here E without a sign is a squeezed 5
    r"|(?P<letter>[@A-Ia-i%J-Rj-rS-Zs])(?P<digits>[\d.]*)|(?P<gap>[\s,;]+)"
)
# A file of a few bytes may not ask for all memory: ten hours at 100 Hz are 3.6 million points.
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


FORMAT = "JCAMP-DX"

_LABEL = re.compile(r"^\s*##(?P<label>[^=]{0,80})=(?P<value>.*)$")
_DATA = ("XYDATA", "XYPOINTS")
_SAYS_NO_UNIT = re.compile(r"(?:retention |elution )?time|arbitrary units?|x|", re.IGNORECASE)


MOST_ROUNDED = 1.25
"""DELTAX is often rounded to one digit; what differs by more contradicts the ends of the axis."""


@dataclass(frozen=True, slots=True)
class _Record:
    """One labelled data record."""

    label: str
    """In capitals, without blanks, dashes, slashes and underlines, as the standard compares them."""
    value: str
    line: int
    following: list[tuple[int, str]] = field(default_factory=list)
    """(line number, text) of the lines after the first, without comments."""


def recognises(head: bytes) -> bool:
    """Whether a file that begins with `head` is JCAMP-DX."""
    return bool(re.match(rb"\s*(?:\$\$[^\n]*\n\s*)*##\s*(?:TITLE|JCAMP[-_ ]?DX)\s*=", as_utf8(head), re.I))


def read(data: bytes, file: str, exports: Exports) -> tuple[Draft, ...]:
    """Return the chromatograms of a JCAMP-DX file; raises StudyFolderError with the line."""
    records = list(_records(as_utf8(data).decode("utf-8", errors="replace")))
    blocks = [block for block in _blocks(records) if any(label in block for label in _DATA)]
    if not blocks:
        raise _no_points(records, file)
    return tuple(_Block(block, file, exports).draft() for block in blocks)


def _records(text: str) -> Iterator[_Record]:
    record: _Record | None = None
    for number, line in enumerate(text.split("\n"), start=1):
        line = line.partition("$$")[0]
        match = _LABEL.match(line)
        if match:
            if record:
                yield record
            record = _Record(re.sub(r"[-\s/_]", "", match["label"]).upper(), match["value"].strip(), number)
        elif record and line.strip():
            record.following.append((number, line))
    if record:
        yield record


def _blocks(records: Sequence[_Record]) -> Iterator[Mapping[str, _Record]]:
    """Yield the records of each block by label; a block ends at END, or where the next TITLE begins."""
    block: dict[str, _Record] = {}
    for record in records:
        if record.label == "TITLE" and block:
            yield block
            block = {}
        block.setdefault(record.label, record)
        if record.label == "END":
            yield block
            block = {}
    if block:
        yield block


def _no_points(records: Sequence[_Record], file: str) -> Exception:
    labels = {record.label: record for record in records}
    for label, words in (("NTUPLES", "data in NTUPLES"), ("PEAKTABLE", "a table of peaks without the trace")):
        if label in labels:
            place = f"line {labels[label].line}"
            raise unreadable(file, place, words, "XYDATA or XYPOINTS", "Export the trace as XYDATA.")
    return unreadable(
        file, "", "no points", "a record XYDATA or XYPOINTS", "Export the trace with its points."
    )


@dataclass(frozen=True, slots=True)
class _Block:
    """One block with its points."""

    records: Mapping[str, _Record]
    file: str
    exports: Exports

    def draft(self) -> Draft:
        unit = self._time_unit()
        data = next(self.records[label] for label in _DATA if label in self.records)
        try:
            if re.sub(r"\s", "", data.value).upper().startswith("(XY..XY)"):
                times, signal, places, cautions = self._pairs(data)
            else:
                times, signal, places, cautions = self._ordinates(data)
        except CodedDataError as error:
            raise self._refusal(error.line, error.found, error.expected) from error
        return Draft(
            time=times,
            signal=signal,
            time_unit=unit,
            signal_unit=shortened(self._word("YUNITS"), 20),
            name=self._word("TITLE")[:80],
            acquired_at=iso_time(re.sub(r"(\d{4})/(\d\d)/(\d\d)", r"\1-\2-\3", self._word("LONGDATE"))),
            cautions=cautions,
            point_word="line" if places else "point",
            point_numbers=places,
        )

    def _pairs(self, data: _Record) -> tuple[FloatArray, FloatArray, tuple[int, ...], tuple[str, ...]]:
        times, signal, places = decode_pairs(data.following)
        self._check_count(data, times.size)
        return times * self._factor("XFACTOR"), signal * self._factor("YFACTOR"), places, ()

    def _ordinates(self, data: _Record) -> tuple[FloatArray, FloatArray, tuple[int, ...], tuple[str, ...]]:
        if not re.sub(r"\s", "", data.value).upper().startswith("(X++(Y..Y))"):
            raise self._refusal(data.line, f"the form {shortened(data.value)!r}", "(X++(Y..Y)) or (XY..XY)")
        signal, starts = decode_ordinates(data.following)
        counted = self._check_count(data, signal.size)
        if signal.size < 2:
            raise self._refusal(data.line, f"{signal.size} points", "at least two")
        first, step = self._axis(starts, signal.size, data)
        cautions = self._check_abscissas(starts, first, step, counted)
        signal = signal * self._factor("YFACTOR")
        if "YFACTOR" not in self.records:
            cautions += ("The file states no YFACTOR; its numbers were taken as the signal.",)
        cautions += self._check_first_ordinate(float(signal[0]))
        return np.asarray(first + step * np.arange(signal.size), dtype=np.float64), signal, (), cautions

    def _axis(self, starts: Sequence[CodedLine], points: int, data: _Record) -> tuple[float, float]:
        """Return (first time, step): from both ends of the axis, else from the stated step."""
        first, last, step = (self._number(label) for label in ("FIRSTX", "LASTX", "DELTAX"))
        if first is None:
            first = starts[0].x * self._factor("XFACTOR")
        if last is not None and last != first:
            counted = (last - first) / (points - 1)
            if step and max(abs(step), abs(counted)) > MOST_ROUNDED * min(abs(step), abs(counted)):
                found = f"a step of {step:g} by DELTAX, and of {counted:.4g} by FIRSTX and LASTX"
                raise self._refusal(data.line, found, "one step of the time axis")
            return first, counted
        if step:
            return first, step
        raise self._refusal(data.line, "neither LASTX nor DELTAX", "the end of the time axis or its step")

    def _check_abscissas(
        self, starts: Sequence[CodedLine], first: float, step: float, counted: bool
    ) -> tuple[str, ...]:
        """Return a caution where a line does not begin where its place has it; raises where most do not."""
        factor = self._factor("XFACTOR")
        off = [
            start
            for start in starts
            if abs(start.x * factor - (first + step * start.first))
            > abs(start.x_rounding * factor) + 1.1 * abs(step)
        ]
        if not off:
            return ()
        found = f"a line that begins at {off[0].x * factor:g}"
        expected = f"{first + step * off[0].first:g}, as the points before it are counted"
        if 2 * len(off) > len(starts):
            expected = f"{first + step * off[0].first:g}, as FIRSTX, LASTX or DELTAX have it"
        elif counted:
            return (f"Line {off[0].line} is {found}, not {expected}; the count was followed.",)
        raise self._refusal(off[0].line, found, expected)

    def _check_count(self, data: _Record, points: int) -> bool:
        """Whether NPOINTS states the number of points; raises where it states another."""
        stated = self._number("NPOINTS")
        if stated is None:
            return False
        if stated != points:
            place = data.following[-1][0] if data.following else data.line
            raise self._refusal(place, f"{points} points", f"{stated:g} as NPOINTS states")
        return True

    def _check_first_ordinate(self, signal: float) -> tuple[str, ...]:
        stated = self._number("FIRSTY")
        if stated is None or abs(stated - signal) <= 1e-3 * abs(stated) + abs(self._factor("YFACTOR")):
            return ()
        return (f"FIRSTY states {stated:g}, the first point is {signal:g}; the point was followed.",)

    def _time_unit(self) -> str:
        word = self._word("XUNITS")
        unit = unit_of_time(word) or unit_of_time(read_heading(word).unit)
        unit = unit or (self.exports.time_unit if _SAYS_NO_UNIT.fullmatch(word) else "")
        if unit:
            return unit
        line = (
            self.records["XUNITS"].line
            if "XUNITS" in self.records
            else min(r.line for r in self.records.values())
        )
        if _SAYS_NO_UNIT.fullmatch(word):
            raise unreadable(
                self.file,
                f"line {line}",
                f"XUNITS {shortened(word)!r}" if word else "no XUNITS",
                "minutes or seconds",
                "State `time_unit` in [exports] of study.toml.",
            )
        raise self._refusal(line, f"an abscissa in {shortened(word)!r}", "a chromatogram, over time")

    def _word(self, label: str) -> str:
        return " ".join(self.records[label].value.split()) if label in self.records else ""

    def _number(self, label: str) -> float | None:
        word = self._word(label)
        if not word:
            return None
        try:
            number = float(word)
        except ValueError:
            number = float("nan")
        if not np.isfinite(number):
            raise self._refusal(self.records[label].line, f"{label} {shortened(word)!r}", "a number")
        return number

    def _factor(self, label: str) -> float:
        factor = self._number(label)
        if factor == 0:
            raise self._refusal(self.records[label].line, f"{label} 0", "a factor that leaves the numbers")
        return 1.0 if factor is None else factor

    def _refusal(self, line: int, found: str, expected: str) -> Exception:
        return unreadable(self.file, f"line {line}", found, expected, "Export the file again.")
