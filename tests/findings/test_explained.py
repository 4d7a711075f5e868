"""An injection that the log or an event of its column explains is a reading of the column, and stays."""

from dataclasses import replace

from lyewitness.findings.audit.injections import doubtful
from lyewitness.findings.doubts import doubtful_injections, odd_injections
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Event
from tests.findings.making import evidence_of, judged

ODD, BEFORE_H, AT_H, AFTER_H = "H2-08", 40.0, 50.0, 60.0


def broadened(*events: Event, pressures: tuple[float, float] = (200.0, 200.0)) -> Evidence:
    """Return a study with one injection of broad peaks; pressures of its column beside it and then."""
    evidence = evidence_of({"silica": (45.0, 60.0), "hybrid": (90.0, 300.0)})
    rows = tuple(
        replace(row, plate_number_half_height=0.7 * (row.plate_number_half_height or 0.0))
        if row.injection == ODD
        else row
        for row in evidence.measurements.rows
    )
    beside, later = pressures
    log = []
    for row in evidence.study.conditions:
        hours = row.exposure_h or 0.0
        own = row.column == "H2" and hours > BEFORE_H
        log.append(replace(row, pressure_bar=(beside if hours <= AT_H else later) if own else 200.0))
    log += [replace(row, exposure_h=AT_H, pressure_bar=beside) for row in log if row.column == "H2"][:1]
    study = replace(evidence.study, conditions=tuple(log), events=events)
    return replace(evidence, study=study, measurements=replace(evidence.measurements, rows=rows))


def doubted(evidence: Evidence) -> list[str]:
    """Return the injections that are proposed to be left out."""
    return [
        one.injection for one in doubtful_injections(evidence.study, evidence.traces, evidence.measurements)
    ]


def explained(evidence: Evidence) -> str:
    """Return what explains the odd injection."""
    (one,) = odd_injections(evidence.study, evidence.traces, evidence.measurements)
    return one.explained


def test_pressure_that_was_up_and_came_back_explains_broad_peaks() -> None:
    """The pressure of the log beside it, high there alone, makes it a reading of a clogged column."""
    pressed = broadened(pressures=(260.0, 205.0))
    assert doubted(pressed) == []
    assert explained(pressed).startswith("the pressure was up as well, 260\u2009bar at 50")
    assert doubted(broadened(pressures=(260.0, 260.0))) == [ODD]
    assert doubted(broadened()) == [ODD]


def test_an_event_of_the_column_right_after_it_explains_it() -> None:
    """A frit exchanged on that column explains it; what was done to all columns, or before it, does not."""
    frit = Event("part exchanged", 55.0, columns=("H2",))
    assert doubted(broadened(frit)) == []
    assert explained(broadened(frit)) == "they came back with the event “part exchanged” at 55\u2009h"
    assert doubted(broadened(replace(frit, columns=()))) == [ODD]
    assert doubted(broadened(replace(frit, begin=45.0))) == [ODD]


def test_the_audit_says_what_explains_it() -> None:
    """It is told as the column's own, with the readings, and no caution."""
    evidence = judged(broadened(pressures=(260.0, 205.0)))
    odd = odd_injections(evidence.study, evidence.traces, evidence.measurements)
    (point,) = doubtful(replace(evidence, explained=odd))
    assert point.check.result == "good"
    assert f"{ODD} is off those beside it (plate number" in point.check.detail
    assert "shows the column as it was: the pressure was up as well" in point.check.detail
