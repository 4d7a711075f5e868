"""Chromatograms in JSON data cubes, built and read again by the letter of the published schema.

Schema: cube.schema, REC 2024/09 (tDatacube, tDatacubeStructure, tDatacubeData, tFunction), and the cube
detector of absorbance of the same release, which asks for retention times in seconds and absorbance in mAU.
"""

import copy
import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.study.records import Exports
from lyewitness.traces.reading import read_traces
from lyewitness.words.arrays import FloatArray
from tests.traces.expecting import only, read_or_refused, refused

TIMES: FloatArray = np.round(np.linspace(0, 357, 120), 6)
SIGNAL: FloatArray = np.round(40 * np.exp(-(((TIMES - 180) / 12) ** 2)), 4)


def cube(data: Any = None, unit: str = "s", label: str = "UV 220 nm", measures: int = 1) -> dict[str, Any]:
    """Return a data cube of retention times and signals."""
    concepts = ("absorbance", "fluorescence")[:measures]
    arrays = [list(SIGNAL), list(2 * SIGNAL)][:measures]
    return {
        "label": label,
        "cube-structure": {
            "dimensions": [{"@componentDatatype": "double", "concept": "retention time", "unit": unit}],
            "measures": [{"@componentDatatype": "double", "concept": one, "unit": "mAU"} for one in concepts],
        },
        "data": data or {"dimensions": [list(TIMES)], "measures": arrays},
    }


def document(*cubes: dict[str, Any], key: str = "chromatogram data cube") -> bytes:
    """Return a document with one measurement for each cube, and private fields where it may have them."""
    measurements = [
        {
            "measurement identifier": "0b6f",
            "sample document": {"sample identifier": "Private Sample"},
            "injection document": {"injection time": "2026-03-02T08:00:00+01:00"},
            key: one,
        }
        for one in cubes
    ]
    held = {
        "analyst": "Private Person",
        "measurement aggregate document": {"measurement document": measurements},
    }
    content = {
        "$asm.manifest": "http://example.org/manifest",
        "liquid chromatography aggregate document": {"liquid chromatography document": [held]},
    }
    return json.dumps(content).encode()


def read_beside(content: Any) -> list[tuple[list[float], list[float]]]:
    """Return times and first signals of every cube, by calling itself and in plain Python."""
    if isinstance(content, list):
        return [found for one in content for found in read_beside(one)]
    if not isinstance(content, dict):
        return []
    found = []
    for key, one in content.items():
        if key == "chromatogram data cube":
            axis, data = one["data"]["dimensions"][0], one["data"]
            if isinstance(axis, dict):
                axis = [axis.get("start", 1) + axis.get("incr", 1) * n for n in range(axis["length"])]
            signal = data["measures"][0] if "measures" in data else [point[0] for point in data["points"]]
            found.append((axis, signal))
        else:
            found += read_beside(one)
    return found


@pytest.mark.parametrize(
    "data",
    [
        {"dimensions": [list(TIMES)], "measures": [list(SIGNAL)]},
        {
            "dimensions": [{"type": "linear", "start": 0, "incr": 3, "length": 120}],
            "measures": [list(SIGNAL)],
        },
        {"dimensions": [{"length": 120}], "measures": [list(SIGNAL)]},
        {"dimensions": [list(TIMES)], "points": [[value] for value in SIGNAL]},
    ],
)
def test_agrees_with_the_letter_of_the_schema(data: Any) -> None:
    """Arrays, steps with their defaults, and points are what a plain reading of the schema gives."""
    written = document(cube(data))
    trace = only(written)
    ((times, signal),) = read_beside(json.loads(written))
    np.testing.assert_allclose(trace.time_min * 60, times, rtol=1e-12, atol=1e-9)
    np.testing.assert_array_equal(trace.signal, signal)
    assert (trace.format, trace.name, trace.signal_unit) == ("JSON data cubes", "UV 220 nm", "mAU")
    assert trace.acquired_at == "2026-03-02T08:00:00+01:00"


def test_several_cubes_and_measures_are_several_traces() -> None:
    """Each cube is a trace, each measure of one too; their names tell them apart."""
    traces = read_traces(document(cube(measures=2), cube(label="UV 254 nm")), "a.json", Exports())
    assert [one.name for one in traces] == ["UV 220 nm absorbance", "UV 220 nm fluorescence", "UV 254 nm"]
    np.testing.assert_array_equal(traces[1].signal, 2 * SIGNAL)
    assert "Private" not in repr(traces)


def test_null_is_a_gap() -> None:
    """A signal that is not there is left out with a caution, never zero."""
    signal: list[float | None] = [float(value) for value in SIGNAL]
    signal[3] = None
    trace = only(document(cube({"dimensions": [list(TIMES)], "measures": [signal]})))
    assert trace.signal.size == 119
    assert trace.cautions


def test_a_missing_unit_is_asked_of_the_study() -> None:
    """Without a unit of time the file is refused until the study states one; a unit of no time always."""
    bare = document(cube(unit=""))
    assert "time_unit" in refused(bare).cure
    np.testing.assert_allclose(only(bare, Exports(time_unit="min")).time_min, TIMES)
    assert "'nm'" in refused(document(cube(unit="nm")), Exports(time_unit="min")).found


def test_other_cubes_are_named_and_passed_over() -> None:
    """Spectra and ion chromatograms are no traces of this study."""
    problem = refused(document(cube(), key="mass chromatogram data cube"))
    assert "mass chromatogram data cube" in problem.found
    assert "UV detector" in problem.cure


def broken(change: str) -> bytes:
    """Return a document with one thing wrong in its cube."""
    one = copy.deepcopy(cube())
    if change == "no structure":
        del one["cube-structure"]
    elif change == "no data":
        one["data"] = [1, 2]
    elif change == "two dimensions":
        one["cube-structure"]["dimensions"] *= 2
    elif change == "logarithmic":
        one["data"]["dimensions"] = [{"type": "logarithmic", "length": 120}]
    elif change == "endless":
        one["data"]["dimensions"] = [{"length": 10**12}]
    elif change == "words":
        one["data"]["measures"][0][5] = "5"
    elif change == "truth":
        one["data"]["measures"][0][5] = True
    elif change == "short":
        one["data"]["measures"][0].pop()
    elif change == "uneven points":
        one["data"] = {"dimensions": [list(TIMES)], "points": [[1.0], [1.0, 2.0]]}
    return document(one)


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ("no structure", "cube-structure"),
        ("no data", "'data'"),
        ("two dimensions", "2 dimensions"),
        ("logarithmic", "logarithmic"),
        ("endless", "length"),
        ("words", "numbers"),
        ("truth", "numbers"),
        ("short", "119 signals"),
        ("uneven points", "zip"),
    ],
)
def test_what_cannot_be_read_is_told(change: str, found: str) -> None:
    """A cube that contradicts its schema is refused with what is wrong and where."""
    problem = refused(broken(change))
    assert found in problem.found
    assert "chromatogram data cube" in problem.place


@pytest.mark.parametrize(
    "data",
    [
        b'{"$asm.manifest": ' + b"[" * 100_000,
        b'{"$asm.manifest": 1, "chromatogram data cube": ' + b"9" * 5000 + b"}",
        document(cube())[:-40],
        document(cube()).replace(b"357.0", b"1" * 400),
    ],
)
def test_hostile_json_is_refused(data: bytes) -> None:
    """Depth, length and broken ends give one problem."""
    assert refused(data)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_damaged_files_never_crash(data: st.DataObject) -> None:
    """Whatever is cut out or put in, the file gives honest traces or a problem."""
    whole = document(cube())
    at = data.draw(st.integers(0, len(whole)))
    until = data.draw(st.integers(at, min(len(whole), at + 60)))
    read_or_refused(whole[:at] + data.draw(st.binary(max_size=12)) + whole[until:])
