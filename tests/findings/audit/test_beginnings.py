"""A column that begins far from its type is told, and what columns of a type differ by is not."""

from collections.abc import Mapping
from dataclasses import replace

from lyewitness.findings.audit.beginnings import begin_alike
from lyewitness.findings.evidence import Evidence
from tests.findings.making import evidence_of, with_columns

GROUPS = {"hybrid": (60.0, 64.0), "silica": (25.0, 27.0, 26.0)}


def begun(plates: Mapping[str, float], bars: Mapping[str, float] | None = None) -> Evidence:
    """Return a study whose columns have so many times the plates, and begin at such pressures."""
    evidence = evidence_of(GROUPS)
    rows = tuple(
        replace(
            row, plate_number_half_height=plates.get(row.column, 1.0) * (row.plate_number_half_height or 0.0)
        )
        for row in evidence.measurements.rows
    )
    log = tuple(
        replace(row, pressure_bar=(bars or {}).get(row.column, 200.0)) for row in evidence.study.conditions
    )
    study = replace(evidence.study, conditions=log)
    return replace(evidence, study=study, measurements=replace(evidence.measurements, rows=rows))


def told(evidence: Evidence) -> tuple[str, str, str]:
    """Return result, subject and words of the one point."""
    (point,) = begin_alike(evidence)
    return point.check.result, point.check.subject, point.check.detail


def test_a_lemon_is_told_with_its_numbers_beside_its_sibling() -> None:
    """Of two columns the one of half the plates is named, and of three the one apart, whatever it lacks."""
    result, subject, words = told(begun({"H2": 0.45}))
    assert (result, subject) == ("caution", "H2")
    assert words == "H2 began with plate number (half height) of aniline 4500, beside 10\u2009000 on H1."
    assert told(begun({"S2": 0.5}))[1] == "S2"
    result, subject, words = told(begun({}, {"H1": 320.0}))
    assert (result, subject) == ("caution", "H1")
    assert words == "H1 began with pressure 320\u2009bar, beside 200\u2009bar on H2."


def test_what_columns_of_one_type_differ_by_is_not_told() -> None:
    """A fifth of the plates is what certificates allow, and columns of another size are not compared."""
    assert told(begun({"H2": 0.8, "S1": 1.2}))[0] == "good"
    short = begun({"H2": 0.45})
    short = replace(short, study=with_columns(short.study, H2={"length_mm": 20.0}))
    assert told(short)[0] == "good"
