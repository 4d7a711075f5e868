"""Reads chromatograms in AnIML, the Analytical Information Markup Language of ASTM E13.15 (core schema 0.90).

In: the bytes of an AnIML file. Out: one `Draft` for each series of numbers over a series of times. A result
has a set of series; one is independent, and where its unit is one of time the others are traces. Peak tables,
which have no such series, methods, samples, authors and devices of the file are passed over.
"""

import base64
import binascii
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from lyewitness.study.records import Exports
from lyewitness.traces.markup import local, new_parser, parse
from lyewitness.traces.shaping import (
    LARGEST_BYTES,
    MINUTES_IN,
    Draft,
    as_utf8,
    unit_of_time,
    unreadable,
)
from lyewitness.traces.stamps import iso_time
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import shortened, told_plainly

FORMAT = "AnIML"
_TYPES = {"Int32": "<i4", "Int64": "<i8", "Float32": "<f4", "Float64": "<f8"}
"""Types of series that are numbers; encoded, they are little-endian (core schema, EncodedValueSet)."""
_NUMBERS = ("I", "L", "F", "D")
_MOST_POINTS = LARGEST_BYTES // 8
"""A set may state any length, and say its values in a start and a step."""
_SAME = 1e-6
"""Relative difference up to which two statements of one unit agree."""


@dataclass(slots=True)
class _Values:
    """Values of a part of a series, in the order of the file."""

    kind: str
    start: str
    end: str
    texts: list[str] = field(default_factory=list)
    """Individual values, or start and step, or pieces of base64."""


@dataclass(slots=True)
class _Series:
    name: str
    independent: bool
    kind: str
    line: int
    values: list[_Values] = field(default_factory=list)
    unit: str = ""
    si: list[tuple[str, str, str]] = field(default_factory=list)
    """Name, factor and exponent of each SI unit that the unit is made of."""


@dataclass(slots=True)
class _Set:
    """One set of series of a result."""

    name: str
    length: str
    series: list[_Series] = field(default_factory=list)


@dataclass(slots=True)
class _Step:
    """One step of an experiment, with the sets of its own results."""

    at: str = ""
    sets: list[_Set] = field(default_factory=list)


def recognises(head: bytes) -> bool:
    """Whether a file that begins with `head` is AnIML."""
    return bool(re.search(rb"<(?:\w+:)?AnIML[\s/>]", as_utf8(head)))


def read(data: bytes, file: str, exports: Exports) -> tuple[Draft, ...]:
    """Return the chromatograms of an AnIML file; raises StudyFolderError with line or element."""
    gathering = _Gathering()
    parse(gathering.parser, data, file, FORMAT)
    drafts: list[Draft] = []
    for step in gathering.steps:
        for one in step.sets:
            drafts += _drafts(one, step.at, file, exports)
    if not drafts:
        raise _none(gathering.steps, file)
    return tuple(drafts)


class _Gathering:
    """Takes the sets of series out of the stream of elements; everything else is passed over."""

    def __init__(self) -> None:
        self.steps: list[_Step] = [_Step()]
        self.parser = new_parser()
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self._path: list[str] = []
        self._within: list[_Step] = [self.steps[0]]
        """The step at hand and those around it: a result may hold further steps."""
        self._set: _Set | None = None
        self._series: _Series | None = None
        self._text: list[str] = []

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        tag, above = local(name), self._path[-1] if self._path else ""
        self._path.append(tag)
        if tag == "ExperimentStep":
            self.steps.append(_Step())
            self._within.append(self.steps[-1])
        elif tag == "SeriesSet" and above == "Result":
            self._set = _Set(attributes.get("name", ""), attributes.get("length", ""))
            self._within[-1].sets.append(self._set)
        elif tag == "Series" and self._set is not None:
            independent = attributes.get("dependency", "") == "independent"
            kind, line = attributes.get("seriesType", ""), self.parser.CurrentLineNumber
            self._series = _Series(attributes.get("name", ""), independent, kind, line)
            self._set.series.append(self._series)
        elif self._series is not None:
            self._start_in_series(self._series, tag, attributes)
        elif tag == "Timestamp" and above == "Infrastructure":
            self._listen()

    def _start_in_series(self, series: _Series, tag: str, attributes: dict[str, str]) -> None:
        if tag in ("IndividualValueSet", "EncodedValueSet", "AutoIncrementedValueSet"):
            begin, end = (attributes.get(name, "") for name in ("startIndex", "endIndex"))
            series.values.append(_Values(tag, begin, end))
            if tag == "EncodedValueSet":
                self._listen()
        elif tag in _NUMBERS and series.values:
            self._listen()
        elif tag == "Unit":
            series.unit = attributes.get("label", "")
        elif tag == "SIUnit":
            series.si.append(("", attributes.get("factor", "1"), attributes.get("exponent", "1")))
            self._listen()

    def _listen(self) -> None:
        self._text.clear()
        self.parser.CharacterDataHandler = self._text.append

    def _end(self, name: str) -> None:
        tag = local(name)
        self._path.pop()
        if tag == "SeriesSet":
            self._set = None
        elif tag == "Series":
            self._series = None
        elif tag == "ExperimentStep":
            self._within.pop()
        elif self.parser.CharacterDataHandler is not None:
            self.parser.CharacterDataHandler = None
            self._take(tag, "".join(self._text))

    def _take(self, tag: str, text: str) -> None:
        """Keep the text of an element that was listened to."""
        if tag == "Timestamp":
            self._within[-1].at = iso_time(text)
        elif self._series is not None and tag == "SIUnit":
            self._series.si[-1] = (text.strip(), *self._series.si[-1][1:])
        elif self._series is not None and self._series.values:
            self._series.values[-1].texts.append(text)


def _drafts(one: _Set, at: str, file: str, exports: Exports) -> list[Draft]:
    """Return the traces of a set of series; none where it is no chromatogram."""
    axes = [series for series in one.series if series.independent]
    traces = [series for series in one.series if not series.independent and series.kind in _TYPES]
    if len(axes) != 1 or not traces or axes[0].kind not in _TYPES or not _may_be_time(axes[0]):
        return []
    length = _length(one, file)
    unit = _unit(axes[0], file, exports)
    times = _numbers(axes[0], length, file)
    return [
        Draft(
            times,
            _numbers(series, length, file),
            unit,
            series.unit,
            (one.name if len(traces) == 1 else series.name)[:80],
            at,
        )
        for series in traces
    ]


def _may_be_time(axis: _Series) -> bool:
    """Return whether a series has a unit of time, or none."""
    seconds = [name for name, _, _ in axis.si] == ["s"]
    return not axis.unit or bool(unit_of_time(axis.unit)) or seconds


def _place(series: _Series) -> str:
    return f"series {shortened(series.name)!r}, line {series.line}"


def _unit(axis: _Series, file: str, exports: Exports) -> str:
    """Return the unit of the times: by its label, by what it is in seconds, or as the study states it."""
    labelled = unit_of_time(axis.unit)
    if not axis.unit and exports.time_unit:
        return exports.time_unit
    factors = [_number(factor) for name, factor, exponent in axis.si if (name, _number(exponent)) == ("s", 1)]
    told = [
        unit for unit, minutes in MINUTES_IN.items() for factor in factors if _close(factor, 60 * minutes)
    ]
    if labelled and (not factors or told == [labelled]):
        return labelled
    if not labelled and len(told) == 1:
        return told[0]
    found = f"times in {shortened(axis.unit)!r}" if axis.unit else "times without a unit"
    if factors:
        found += f", which is told to be {factors[0]:g} s"
    raise unreadable(
        file,
        _place(axis),
        found,
        "seconds or minutes, label and SI units agreeing",
        "Export it again with a unit of time, or state `time_unit` in [exports] where the file has none.",
    )


def _close(one: float, other: float) -> bool:
    return abs(one - other) <= _SAME * other


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")


def _length(one: _Set, file: str) -> int:
    """Return how many points each series of a set has."""
    stated = one.length.strip()
    if stated.isascii() and stated.isdigit() and len(stated) < 12 and int(stated) <= _MOST_POINTS:
        return int(stated)
    raise unreadable(
        file,
        f"set of series {shortened(one.name)!r}",
        f"a length of {shortened(stated)!r}",
        f"a whole number of points, at most {_MOST_POINTS}",
        "Export the file again.",
    )


def _numbers(series: _Series, length: int, file: str) -> FloatArray:
    """Return (length,) numbers of a series, NaN where it states none."""
    found = np.full(length, np.nan)
    begin = 0
    for part in series.values:
        try:
            begin = int(part.start) if part.start else begin
            end = int(part.end) + 1 if part.end else None
            numbers = _part(part, series.kind, begin, length if end is None else end)
            if len(series.values) == 1 and not (part.start or part.end) and numbers.size != length:
                raise ValueError(f"{numbers.size} values, and no word on which of {length} these are")
            if not 0 <= begin <= begin + numbers.size <= length:
                raise ValueError(f"values {begin} to {begin + numbers.size - 1} of {length}")
            if end is not None and numbers.size != end - begin:
                raise ValueError(f"{numbers.size} values for the places {begin} to {end - 1}")
        except (ValueError, OverflowError, binascii.Error) as error:
            raise unreadable(
                file,
                _place(series),
                told_plainly(error),
                f"the {length} numbers of its set",
                "Export the file again.",
            ) from error
        found[begin : begin + numbers.size] = numbers
        begin += numbers.size
    return found


def _part(part: _Values, kind: str, begin: int, end: int) -> FloatArray:
    """Return the numbers of one set of values; raises ValueError or binascii.Error."""
    if part.kind == "EncodedValueSet":
        raw = base64.b64decode("".join("".join(part.texts).split()), validate=True)
        with np.errstate(invalid="ignore"):  # NaNs of the signalling kind
            return np.frombuffer(raw, dtype=_TYPES[kind]).astype(np.float64)
    numbers = np.array([float(text) for text in part.texts], dtype=np.float64)
    if part.kind == "IndividualValueSet":
        return numbers
    if numbers.size != 2 or not 0 <= end - begin <= _MOST_POINTS:
        raise ValueError(f"{numbers.size} numbers for a start and a step")
    start, step = part.texts
    return float(start) + float(step) * np.arange(end - begin, dtype=np.float64)


def _none(steps: Sequence[_Step], file: str) -> Exception:
    sets = [one for step in steps for one in step.sets]
    names = ", ".join(sorted({one.name for one in sets if one.name}))
    return unreadable(
        file,
        "ExperimentStepSet",
        f"{len(sets)} sets of series{f' ({shortened(names, 80)})' if names else ''}, none over time",
        "a result with signals over an independent series of times (core schema 0.90)",
        "Export the trace of the UV detector.",
    )
