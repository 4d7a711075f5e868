"""A blockage that was cleared before the end is named by what came back, and not denied by the end."""

from dataclasses import replace

import pytest

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Sign
from lyewitness.findings.signs.weighing import BLOCKED, signs_of
from lyewitness.study.records import Event
from tests.findings.making import evidence_of, judged

FRIT = Event("part exchanged", 57.0, columns=("H1",), note="inlet frit")


def clogged(*events: Event, bar: float = 280.0, after_bar: float = 205.0, back: float = 1.0) -> Evidence:
    """Return a study of which H1 clogs from 40 h on until its frit is exchanged; `back`: plates then."""
    evidence = evidence_of({"hybrid": (300.0, 300.0), "silica": (300.0, 300.0)})

    def share(hours: float) -> float:
        return 1.0 if hours < 35 else 0.85 if hours < 45 else 0.7 if hours < 57 else back

    rows = tuple(
        replace(row, plate_number_half_height=share(row.exposure_h) * (row.plate_number_half_height or 0.0))
        if row.column == "H1"
        else row
        for row in evidence.measurements.rows
    )
    log = tuple(
        replace(
            row,
            pressure_bar=after_bar if hours > 57 else bar if hours > 45 else 200.0 + max(0.0, hours - 30),
        )
        if row.column == "H1" and (hours := row.exposure_h or 0.0) >= 0
        else row
        for row in evidence.study.conditions
    )
    log += (replace(log[0], column="H1", exposure_h=55.0, pressure_bar=bar),)
    study = replace(evidence.study, conditions=log, events=events)
    return judged(evidence, study, replace(evidence.measurements, rows=rows))


def blocked(evidence: Evidence) -> Sign:
    """Return what the signs on H1 say of a blocked inlet."""
    return next(sign for sign in signs_of(evidence, "H1") if sign.mechanism == BLOCKED)


def test_what_came_back_with_a_part_names_a_blocked_inlet() -> None:
    """Pressure and all plates, back at once with a frit, speak for a blocked inlet, whatever the end is."""
    sign = blocked(clogged(FRIT))
    assert sign.verdict == "speaks for"
    (told,) = [reason for reason in sign.reasons if "back at an event" in reason]
    assert "before the event “part exchanged” at 57\u2009h the pressure rose from 200 to 280\u2009bar" in told
    assert not [reason for reason in sign.reasons if "Against it" in reason]


@pytest.mark.parametrize(
    "evidence",
    [
        clogged(),
        clogged(replace(FRIT, begin=20.0)),
        clogged(FRIT, after_bar=280.0),
        clogged(FRIT, back=0.7),
        clogged(FRIT, bar=205.0),
    ],
    ids=["no event", "earlier event", "pressure stays", "plates stay", "no pressure"],
)
def test_less_than_both_back_at_the_event_names_nothing(evidence: Evidence) -> None:
    """Without the event, or with pressure or plates as they were, nothing tells of a blockage cleared."""
    assert not [reason for reason in blocked(evidence).reasons if "back at an event" in reason]
