"""Reads chromatograms in the open JSON model of the Allotrope Foundation (simple model, REC 2022/12 on).

In: the bytes of a JSON file. Out: one `Draft` for each `chromatogram data cube`: a cube tells its structure
(one dimension, a time; one measure or several) beside its data (arrays, a start and a step, or points).
Cubes of other kinds, such as spectra and ion chromatograms, and all that names people, samples and devices
are passed over.
"""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from lyewitness.study.records import Exports
from lyewitness.traces.shaping import (
    LARGEST_BYTES,
    Draft,
    as_utf8,
    unit_of_time,
    unreadable,
)
from lyewitness.traces.stamps import iso_time
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import shortened, told_plainly

FORMAT = "JSON data cubes"
CUBE = "chromatogram data cube"
_MOST_POINTS = LARGEST_BYTES // 8
"""A dimension may state any length in a start and a step."""
_TIMES_OF_RUN = ("injection time", "measurement time")
"""Where a document says when it began, the better first."""
_LONGEST_PLACE = 90
"""Signs of a path that are shown: its end is what tells one cube from another."""
_AGAIN = "Export the file again."


@dataclass(frozen=True, slots=True)
class _Found:
    """A cube with the key that it stands under, and when its measurement began."""

    key: str
    content: Mapping[str, Any]
    place: str
    at: str


def recognises(head: bytes) -> bool:
    """Whether a file that begins with `head` is JSON of such documents."""
    text = as_utf8(head).lstrip()
    return text.startswith(b"{") and bool(
        re.search(rb'"\$asm\.manifest"|"cube-structure"|"[^"]* aggregate document"\s*:', text)
    )


def read(data: bytes, file: str, exports: Exports) -> tuple[Draft, ...]:
    """Return the chromatograms of a JSON file; raises StudyFolderError with the place in it."""
    try:
        content = json.loads(as_utf8(data))
    except (ValueError, RecursionError) as error:
        found = f"JSON that breaks off or is malformed ({told_plainly(error)})"
        raise unreadable(file, "", found, "a whole JSON file", _AGAIN) from error
    cubes = list(_cubes(content))
    chosen = [cube for cube in cubes if cube.key == CUBE]
    if not chosen:
        names = ", ".join(sorted({cube.key for cube in cubes}))
        found = f"{len(cubes)} data cubes{f' ({shortened(names, 80)})' if names else ''}"
        raise unreadable(file, "", found, f"a '{CUBE}'", "Export the trace of the UV detector.")
    return tuple(draft for cube in chosen for draft in _drafts(cube, file, exports))


def _cubes(content: Any) -> Iterator[_Found]:
    """Yield every data cube in the order of the file; no depth of nesting makes this call itself."""
    waiting = [("", content, "")]
    while waiting:
        place, one, at = waiting.pop()
        if isinstance(one, dict):
            at = _time_of(one) or at
            for key, inner in one.items():
                if key.endswith("data cube") and isinstance(inner, dict):
                    yield _Found(key, inner, f"{place}/{key}", at)
            inside = [(f"{place}/{key}", inner, at) for key, inner in one.items()]
        elif isinstance(one, list):
            inside = [(f"{place}/{number}", inner, at) for number, inner in enumerate(one)]
        else:
            continue
        waiting += [kept for kept in reversed(inside) if isinstance(kept[1], dict | list)]


def _time_of(document: Mapping[str, Any]) -> str:
    """Return when a run began, as the document or its injection says; nothing where neither does."""
    injection = document.get("injection document")
    for held in (injection, document):
        for name in _TIMES_OF_RUN:
            value = held.get(name) if isinstance(held, dict) else None
            if isinstance(value, str) and (at := iso_time(value[:80])):
                return at
    return ""


def _drafts(cube: _Found, file: str, exports: Exports) -> Iterator[Draft]:
    """Yield the traces of a cube: one for each of its measures."""
    place = cube.place if len(cube.place) <= _LONGEST_PLACE else f"…{cube.place[-_LONGEST_PLACE:]}"
    structure, data = (_within(cube.content, name, file, place) for name in ("cube-structure", "data"))
    dimensions, measures = (_parts(structure, name, file, place) for name in ("dimensions", "measures"))
    if len(dimensions) != 1:
        found = f"a cube of {len(dimensions)} dimensions"
        raise unreadable(file, place, found, "one dimension, the time", "Export the trace of one wavelength.")
    unit = _unit(dimensions[0], file, place, exports)
    times, signals = _columns(data, len(measures), file, place)
    label = cube.content.get("label")
    name = label if isinstance(label, str) else ""
    for measure, signal in zip(measures, signals, strict=True):
        if times.size != signal.size:
            found, expected = f"{signal.size} signals", f"one for each of {times.size} times"
            raise unreadable(file, place, found, expected, _AGAIN)
        own = str(measure.get("concept", "")) if len(measures) > 1 else ""
        called = " ".join(word for word in (name, own) if word)
        yield Draft(times, signal, unit, str(measure.get("unit", "")), called[:80], cube.at)


def _within(holder: Mapping[str, Any], name: str, file: str, place: str) -> Mapping[str, Any]:
    held = holder.get(name)
    if isinstance(held, dict):
        return held
    raise unreadable(file, place, f"no '{name}'", "a data cube with its structure and its data", _AGAIN)


def _parts(structure: Mapping[str, Any], name: str, file: str, place: str) -> Sequence[Mapping[str, Any]]:
    held = structure.get(name)
    if isinstance(held, list) and held and all(isinstance(one, dict) for one in held):
        return held
    raise unreadable(file, f"{place}/cube-structure", f"no '{name}'", "what each axis of the cube is", _AGAIN)


def _unit(dimension: Mapping[str, Any], file: str, place: str, exports: Exports) -> str:
    stated = dimension.get("unit", "")
    unit = unit_of_time(str(stated)) or ("" if stated else exports.time_unit)
    if unit:
        return unit
    found = f"times in {shortened(str(stated))!r}" if stated else "times without a unit"
    cure = "State `time_unit` in [exports] of study.toml where the file has none; else export it over time."
    raise unreadable(file, f"{place}/cube-structure", found, "seconds or minutes", cure)


def _columns(
    data: Mapping[str, Any], count: int, file: str, place: str
) -> tuple[FloatArray, list[FloatArray]]:
    """Return the times (n,) and `count` signals (n,) of a cube's data, NaN for a gap."""
    where = f"{place}/data"
    try:
        held = data.get("dimensions")
        if not isinstance(held, list) or len(held) != 1:
            raise ValueError("no list of one dimension")
        times = _stepped(held[0]) if isinstance(held[0], dict) else _array(held[0])
        measures, points = data.get("measures"), data.get("points")
        if isinstance(points, list) and measures is None:
            measures = list(map(list, zip(*points, strict=True)))
        if not isinstance(measures, list) or len(measures) != count:
            raise ValueError(f"no list of {count} measures")
        return times, [_array(one) for one in measures]
    except (TypeError, ValueError, OverflowError) as error:
        expected = "numbers for the dimension and for each measure"
        raise unreadable(file, where, told_plainly(error), expected, _AGAIN) from error


def _array(values: Any) -> FloatArray:
    """Return numbers, NaN for null; raises ValueError or TypeError for anything else."""
    if not isinstance(values, list):
        raise TypeError("no list of numbers")
    if not all(value is None or (isinstance(value, int | float) and value is not True) for value in values):
        raise ValueError("a list that holds other things than numbers")
    return np.array([np.nan if value is None else value for value in values], dtype=np.float64)


def _stepped(function: Mapping[str, Any]) -> FloatArray:
    """Return the values that a start, a step and a length stand for."""
    kind, length = function.get("type", "linear"), function.get("length")
    if kind != "linear":
        raise ValueError(f"times in steps that are {shortened(str(kind))!r}, not linear")
    if not isinstance(length, int) or not 0 <= length <= _MOST_POINTS:
        raise ValueError(f"a length of {shortened(str(length))!r}")
    start, step = (function.get(name, 1) for name in ("start", "incr"))
    return float(start) + float(step) * np.arange(length, dtype=np.float64)
