"""A reading that none beside it bears out weakens its injection alone; a course that moves does all lives."""

from collections.abc import Mapping
from dataclasses import replace

from lyewitness.findings.audit.conditions import steady
from lyewitness.findings.audit.points import Point
from lyewitness.findings.doubts import doubtful_injections
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.lone_readings import lone_readings, without_lone
from lyewitness.study.records import Event, Study
from tests.findings.making import SCHEDULE_H, check_of, evidence_of, found_in

GROUPS = {"silica": (45.0, 60.0), "hybrid": (300.0, 400.0), "polymer": (500.0, 600.0)}
ODD, AT_H = "P1-08", 50.0
Readings = Mapping[tuple[str, float], float]
"""Temperatures in °C by column and exposure, where they are not as planned."""


def _logged(evidence: Evidence, temperatures: Readings) -> Study:
    """Return the study with a reading at each injection."""
    study = evidence.study
    usual = {row.column: row for row in study.conditions}
    rows = tuple(
        replace(row, exposure_h=hours, temperature_C=temperatures.get((name, hours), 50.0))
        for name, row in usual.items()
        for hours in SCHEDULE_H
    )
    return replace(study, conditions=rows)


def _points(temperatures: Readings) -> list[Point]:
    """Return what is asked of the temperature."""
    evidence = evidence_of(GROUPS)
    study = _logged(evidence, temperatures)
    lone = lone_readings(study)
    seen = replace(evidence, study=without_lone(study, lone), lone=lone)
    return [point for point in steady(seen) if point.check.id == "temperature-steady"]


def test_one_reading_is_told_as_what_it_is() -> None:
    """Nine degrees off once, between readings that are as planned, weaken no answer."""
    (point,) = _points({("P1", AT_H): 41.0})
    assert point.check.result == "good"
    assert not point.groups
    assert point.bound == "shown"
    assert "one reading of 41.0\u2009°C on P1 at 50\u2009h" in point.check.detail
    assert ODD in point.check.detail


def test_several_readings_are_a_course() -> None:
    """An oven that two readings saw cold was cold."""
    (point,) = _points({("P1", 50.0): 41.0, ("P1", 60.0): 42.0})
    assert point.check.result == "problem"
    assert point.groups == {"polymer"}


def test_what_another_column_saw_in_the_same_hours_is_the_oven() -> None:
    """One reading of each of two columns in one oven bear each other out."""
    (point,) = _points({("P1", AT_H): 41.0, ("H2", AT_H): 43.0})
    assert point.check.result == "problem"
    assert point.groups == {"polymer", "hybrid"}


def test_the_last_reading_may_be_the_first_of_many() -> None:
    """With none behind it nobody knows what came next."""
    (point,) = _points({("P1", SCHEDULE_H[-1]): 41.0})
    assert point.check.result == "problem"


def test_what_an_event_explains_is_told_with_the_event() -> None:
    """A reading within an event that the study tells of is no lone one."""
    evidence = evidence_of(GROUPS)
    study = _logged(evidence, {("P1", AT_H): 41.0})
    event = Event("flush", begin=49.0, end=51.0, columns=("P1",))
    assert lone_readings(study)
    assert not lone_readings(replace(study, events=(event,)))


def test_other_types_are_not_weakened_by_what_moved_on_one() -> None:
    """Where one type's oven ran off gravely and another's by a degree, each is told by itself."""
    swings = {("H1", 30.0): 50.9, ("H1", 40.0): 49.4, ("H1", 50.0): 50.8}
    grave, slight = _points({("P1", 50.0): 41.0, ("P1", 60.0): 42.0, **swings})
    assert (grave.check.result, grave.bound, *grave.groups) == ("problem", "indicated", "polymer")
    assert (slight.check.result, slight.bound, *slight.groups) == ("caution", "shown", "hybrid")
    assert "P1" not in slight.check.detail


def test_the_log_stands_beside_the_injection_that_it_explains() -> None:
    """All retention up where the log reads cold: the reason has the reading, the audit the injection."""
    evidence = evidence_of(GROUPS)
    rows = tuple(
        replace(row, retention_factor=row.retention_factor * 1.11)
        if row.injection == ODD and row.retention_factor
        else row
        for row in evidence.measurements.rows
    )
    study = _logged(evidence, {("P1", AT_H): 41.0})
    odd = replace(evidence, study=study, measurements=replace(evidence.measurements, rows=rows))
    (found,) = doubtful_injections(study, odd.traces, odd.measurements)
    assert (found.injection, found.kind) == (ODD, "cold oven")
    assert "the log has 41.0\u2009°C there" in found.why
    findings = found_in(odd)
    check = check_of(findings, "temperature-steady")
    assert check.result == "good"
    assert f"(see injection {ODD}, which differs from its neighbours as well)" in check.detail
