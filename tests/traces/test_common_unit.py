"""Traces of one study bear one signal unit, and markers are expected within the runs."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lyewitness.study.folder import read_study
from lyewitness.study.records import Study
from lyewitness.traces.collecting import beyond_the_runs, in_one_unit
from lyewitness.traces.records import Trace
from lyewitness.words.problems import Problem, merged
from tests.study.making import lay_out


def trace(unit: str, height: float = 1.0, end_min: float = 4.0) -> Trace:
    """Return a trace of a few points."""
    return Trace(
        "x.csv", "", np.linspace(0, end_min, 5), np.full(5, height), unit, "min", "delimited text", "0"
    )


def test_absorbance_in_two_units_becomes_one() -> None:
    """One AU beside 1000 mAU is the same height; the unit is then mAU for both."""
    alike, problems = in_one_unit({"a": trace("mAU", 1000.0), "b": trace("AU", 1.0)})
    assert problems == ()
    assert {one.signal_unit for one in alike.values()} == {"mAU"}
    assert [float(one.signal[0]) for one in alike.values()] == [1000.0, 1000.0]
    assert not alike["b"].signal.flags.writeable


def test_traces_that_agree_stay_as_their_files_have_them() -> None:
    """A study all in AU is shown in AU."""
    given = {"a": trace("AU"), "b": trace("AU")}
    assert in_one_unit(given)[0] is given


def test_units_that_cannot_be_reconciled_are_told() -> None:
    """Volts beside absorbance are left alone, with a caution."""
    alike, problems = in_one_unit({"a": trace("mAU"), "b": trace("V")})
    assert [one.signal_unit for one in alike.values()] == ["mAU", "V"]
    assert [problem.severity for problem in problems] == ["caution"]


@pytest.fixture
def study(tmp_path: Path) -> Study:
    """Return a study with two columns."""
    found = read_study(lay_out(tmp_path)).study
    assert found is not None
    return found


def test_a_retention_time_in_seconds_is_told(study: Study) -> None:
    """A marker that is expected after the end of every run is an error; within the runs it is none."""
    traces = {injection.id: trace("mAU") for injection in study.injections}
    assert beyond_the_runs(study, traces) == ()
    markers = tuple(replace(marker, retention_min=84.0) for marker in study.markers[1:])
    problems = beyond_the_runs(replace(study, markers=(study.markers[0], *markers)), traces)
    assert [(problem.severity, problem.place) for problem in problems] == [
        ("error", "marker[2].retention_min")
    ]


def test_one_mistake_in_many_rows_is_one_message() -> None:
    """Problems that differ in their place alone are told once, with the number of places."""
    rows = [
        Problem("error", "a.csv", f"row {row}, column", "'H01'", "'H1'", "Correct it.") for row in (2, 3, 9)
    ]
    other = Problem("error", "a.csv", "row 4, column", "'H02'", "'H2'", "Correct it.")
    assert [problem.place for problem in merged([*rows, other])] == [
        "row 2, column (and 2 more places, to row 9, column)",
        "row 4, column",
    ]
