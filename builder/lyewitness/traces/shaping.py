"""From the bytes of an export to a trace: unpacking, what every reader hands over, and the rules for all.

In: a `Draft`. Out: a `Trace` in minutes: finite, strictly increasing, read-only; or the reason why not.

The rules, each with a caution where it changed anything: a point without a finite time and signal is left
out; a trace that runs backwards is turned round; times that repeat or jitter only because they were rounded
are put back on their even step; other points at one and the same time become their mean.

The unpacked size is bounded, because a few kilobytes can be made to swell into gigabytes.
"""

import hashlib
import re
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lyewitness.study.records import Exports
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray
from lyewitness.words.decoding import decoded
from lyewitness.words.problems import Problem, StudyFolderError, told_plainly

MINUTES_IN: Mapping[str, float] = {"ms": 1 / 60_000, "s": 1 / 60, "min": 1.0, "h": 60.0}
"""Minutes in one unit of time."""

_WORDS: Mapping[str, str] = {
    word: unit
    for unit, words in {
        "ms": "ms msec msecs millisecond milliseconds millisekunde millisekunden milliseconde millisecondes",
        "s": "s sec secs second seconds sek sekunde sekunden seconde secondes segundo segundos secondi",
        "min": "min mins minute minutes minuten minuto minutos minuti",
        "h": "h hr hrs hour hours std stunde stunden heure heures hora horas ore",
    }.items()
    for word in words.split()
}


def unit_of_time(word: str) -> str:
    """Return the unit that `word` names, a key of `MINUTES_IN`; empty where it names none."""
    return _WORDS.get(re.sub(r"[\s\0.()\[\]]+", "", word).casefold(), "")


def unreadable(file: str, place: str, found: str, expected: str, cure: str) -> StudyFolderError:
    """Return the error for a file that cannot be read; `place` is a line, a variable or an element."""
    return StudyFolderError((Problem("error", file, place, found, expected, cure),))


Indices = NDArray[np.intp]


@dataclass(frozen=True, eq=False, slots=True)
class Draft:
    """One trace as the file holds it: times in `time_unit`, points perhaps missing or out of order."""

    time: FloatArray
    """(n,) times in `time_unit`; NaN where the file has none."""
    signal: FloatArray
    """(n,) signal; NaN where the file has none."""
    time_unit: str
    """A key of `MINUTES_IN`."""
    signal_unit: str = ""
    """As the file states it; empty where it does not."""
    name: str = ""
    """Name of the trace in its file."""
    acquired_at: str = ""
    """ISO 8601; empty where the file has none."""
    stamp_words: str = ""
    """What looks like a time stamp, as it stands in a text, read surely or not; empty where nothing does."""
    cautions: tuple[str, ...] = ()
    point_word: str = "point"
    """What the numbers in `point_numbers` count: `line` or `point`."""
    point_numbers: Sequence[int] = ()
    """(n,) the place of every point in the file; empty for 1 … n."""

    def place(self, index: int) -> str:
        """Return where the point of that index stands in the file, such as `line 12`."""
        number = self.point_numbers[index] if len(self.point_numbers) else index + 1
        return f"{self.point_word} {number}"

    def at(self, indices: Indices) -> "Draft":
        """Return the draft with the points at `indices` alone, in their order."""
        numbers = self.point_numbers or range(1, self.time.size + 1)
        return replace(
            self,
            time=self.time[indices],
            signal=self.signal[indices],
            point_numbers=[numbers[index] for index in indices.tolist()],
        )

    def with_caution(self, *cautions: str) -> "Draft":
        """Return the draft with further cautions."""
        return replace(self, cautions=(*self.cautions, *cautions))


NOTHING_THERE = 1e30
"""Magnitudes from here on mean 'no value' (netCDF fills gaps with 9.97e36): no detector reaches them."""
MOST_GAPS = 3
"""Of so many gaps each is told: who has more looks at the trace anyway."""
# Where most of a signal is missing, what is left is no chromatogram.
LARGEST_MISSING_SHARE = 0.5
_ROUNDING_WORTH_MENDING = 0.01  # of the step: less moves no width by a thousandth
# A step that occurs more seldom may be a gap and no rounding.
_OFTEN = 5
_LONGEST_MIN = 1e7  # 19 years: beyond it the numbers are no times of a run


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a draft came from."""

    file: str
    format: str
    sha256: str
    names: frozenset[str] = frozenset()


def shape(draft: Draft, origin: Origin, exports: Exports) -> Trace:
    """Return `draft` as a `Trace`; raises StudyFolderError where the rules find no honest one."""
    draft = _right_way_round(_without_gaps(draft, origin.file))
    draft = _distinct_times(_even_step(draft), origin.file)
    minutes = draft.time * MINUTES_IN[draft.time_unit]
    _check_extent(minutes, draft, origin.file)
    unit, caution = _signal_unit(draft.signal_unit, exports.signal_unit)
    trace = Trace(
        file=origin.file,
        name=_without_folders(draft.name),
        time_min=_read_only(minutes),
        signal=_read_only(draft.signal),
        signal_unit=unit,
        time_unit=draft.time_unit,
        format=origin.format,
        sha256=origin.sha256,
        acquired_at=draft.acquired_at,
        stamp_words=draft.stamp_words,
        cautions=draft.cautions + caution,
        points=_digest(minutes, draft.signal),
        names=origin.names,
    )
    gaps = tuple(f"No points from {start:.4g} to {end:.4g} min: a gap." for start, end in trace.gaps_min)
    return replace(trace, cautions=trace.cautions + gaps[:MOST_GAPS]) if gaps else trace


def _digest(*arrays: FloatArray) -> str:
    digest = hashlib.blake2b(digest_size=16)
    for one in arrays:
        digest.update(np.ascontiguousarray(one).tobytes())
    return digest.hexdigest()


def _without_gaps(draft: Draft, file: str) -> Draft:
    with np.errstate(invalid="ignore"):
        there = (np.abs(draft.signal) < NOTHING_THERE) & (np.abs(draft.time) < NOTHING_THERE)
    missing = int(there.size - np.count_nonzero(there))
    if there.size - missing < 2:
        found = f"{there.size - missing} points with a time and a signal"
        raise unreadable(file, "", found, "at least two", "Export the trace itself, with its points.")
    if not missing:
        return draft
    first = draft.place(int(np.argmin(there)))
    if missing > LARGEST_MISSING_SHARE * there.size:
        found = f"no value in {missing} of {there.size} points, first at {first}"
        raise unreadable(file, first, found, "values in at least half of them", "Export the trace again.")
    words = "1 point has" if missing == 1 else f"{missing} points have"
    kept = draft.at(np.flatnonzero(there))
    return kept.with_caution(f"{words} no value (first: {first}): left out of the trace.")


def _right_way_round(draft: Draft) -> Draft:
    time = draft.time
    if time[0] <= time[-1] or np.any(time[1:] > time[:-1]):
        return draft
    backwards = draft.at(np.arange(draft.time.size)[::-1])
    return backwards.with_caution("The points run backwards in time and were turned round.")


def _even_step(draft: Draft) -> Draft:
    """Return the times on the one even step that explains them all within their rounding, if there is one."""
    time = draft.time
    if time.size < 10 or time[-1] <= time[0]:
        return draft
    place = np.arange(time.size, dtype=np.float64)
    place -= (time.size - 1) / 2
    step = float(place @ time / (place @ place))  # least squares: the end points are rounded too
    even = step * place
    even += time.mean()
    largest = float(np.abs(time - even).max())
    if step <= 0 or largest <= _ROUNDING_WORTH_MENDING * step:
        return draft
    rounding = _rounding(time)
    if largest > 0.55 * rounding or not _steps_alternate(time, rounding):
        return draft
    words = f"Times are rounded to {rounding:g} {draft.time_unit} and fit an even step of {step:.5g}"
    caution = f"{words} {draft.time_unit} within that rounding; the even step was used."
    return replace(draft, time=even).with_caution(caution)


def _steps_alternate(time: FloatArray, rounding: float) -> bool:
    """Whether the steps are of two neighbouring lengths, each met often: a single long one is a gap."""
    steps = np.rint(np.diff(time) / rounding)
    longer = int(np.count_nonzero(steps == steps.max()))
    return bool(steps.max() - steps.min() == 1) and min(longer, steps.size - longer) >= _OFTEN


def _rounding(time: FloatArray) -> float:
    """Return the decimal place to which all of `time` is rounded; 0 where beyond a millionth."""
    for decimals in range(7):
        scaled = time * 10**decimals
        if np.all(np.abs(scaled - np.rint(scaled)) < 1e-4):
            return float(10.0**-decimals)
    return 0.0


def _distinct_times(draft: Draft, file: str) -> Draft:
    if _rise(draft.time):
        return draft
    steps = np.diff(draft.time)
    back = np.flatnonzero(steps < 0)
    if back.size:
        raise _goes_back(draft, int(back[0]), file)
    if draft.time[0] == draft.time[-1]:
        raise unreadable(
            file, draft.place(0), "one and the same time in every point", "times that rise", "Export again."
        )
    starts = np.flatnonzero(np.concatenate(([True], steps > 0)))
    counts = np.diff(np.append(starts, draft.time.size))
    means = np.add.reduceat(draft.signal, starts) / counts
    first = draft.place(int(starts[np.argmax(counts > 1)]))
    caution = f"{int(np.sum(counts > 1))} times stand more than once (first: {first}): their mean was taken."
    return replace(draft.at(starts), signal=means).with_caution(caution)


def _rise(times: FloatArray) -> bool:
    return bool(np.all(times[1:] > times[:-1]))


def _goes_back(draft: Draft, index: int, file: str) -> Exception:
    before, after = draft.time[index], draft.time[index + 1]
    return unreadable(
        file,
        draft.place(index + 1),
        f"a time that goes back from {before:g} to {after:g} {draft.time_unit}",
        "times that rise from point to point",
        "Export one run to a file; if this column is no time, export the time as well.",
    )


def _check_extent(minutes: FloatArray, draft: Draft, file: str) -> None:
    if not _rise(minutes) or max(abs(minutes[0]), abs(minutes[-1])) > _LONGEST_MIN:
        found = f"times from {draft.time[0]:g} to {draft.time[-1]:g} {draft.time_unit}"
        raise unreadable(file, "", found, "the times of a run", "Check the time axis and its unit.")


def _signal_unit(in_file: str, in_study: str) -> tuple[str, tuple[str, ...]]:
    if not in_file or not in_study or in_file.casefold() == in_study.casefold():
        return in_file or in_study, ()
    caution = f"The file states the signal in {in_file}, [exports] in {in_study}; the file was followed."
    return in_file, (caution,)


def _without_folders(name: str) -> str:
    """Return a name that is a path as its last part: folders tell of persons and machines."""
    is_path = re.match(r"[A-Za-z]:[\\/]|[\\/~]|file:", name) or "\\" in name
    return re.split(r"[\\/]", name)[-1] if is_path else name


def _read_only(values: FloatArray) -> FloatArray:
    fixed = np.array(values, dtype=np.float64)
    fixed.setflags(write=False)
    return fixed


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
                f"damaged gzip data ({told_plainly(error)})",
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
