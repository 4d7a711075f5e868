"""A bottle that an event states with its columns and hours counts for these alone."""

from dataclasses import replace

import pytest

from lyewitness.findings.audit.conditions import steady
from lyewitness.findings.bottles import stated_bottles
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.retention_by_ph import Followed
from lyewitness.findings.signs import observations
from lyewitness.study.records import Event, LoggedCondition
from tests.findings.making import evidence_of

WRONG = Event("fresh mobile phase", 30.0, 42.5, columns=("H1", "S1"), still_exposed=True, note="made wrong")


def logged(*events: Event) -> Evidence:
    """Return a study of which two columns stood in another bottle from 30 to 42.5 h, by their logs."""
    evidence = evidence_of({"hybrid": (60.0, 64.0), "silica": (25.0, 27.0)})
    rows = tuple(
        LoggedCondition(
            one.id,
            exposure_h=float(hours),
            ph=(11.12 if one.id in WRONG.columns and 30 < hours < 42.5 else 10.8) + 0.01 * (hours % 3),
        )
        for one in evidence.study.columns
        for hours in range(1, 100, 4)
    )
    return replace(evidence, study=replace(evidence.study, conditions=rows, events=events))


def test_the_audit_tells_for_whom_and_for_how_long() -> None:
    """Hours, columns and readings are told, and nobody is advised to log what was logged."""
    (point,) = [point for point in steady(logged(WRONG)) if point.check.id == "ph-steady"]
    assert point.check.detail.startswith(
        "One bottle, for 12.5\u2009h (from 30 to 42.5\u2009h) on H1 and S1 only, had pH 11.12 to 11.14, "
        "beside pH 10.80 to 10.82 before and after"
    )
    assert point.check.result == "problem"
    assert "log it" not in point.check.cure
    assert point.check.cure.startswith("Bring every bottle to the pH of the plan")


def test_what_had_failed_before_is_not_bounded() -> None:
    """A bottle that was put on when all columns of a type were dead makes none of their lives doubtful."""
    (point,) = [point for point in steady(logged(WRONG)) if point.check.id == "ph-steady"]
    assert point.groups == {"hybrid"}
    assert point.bound == "indicated"
    (late,) = [
        point
        for point in steady(logged(replace(WRONG, columns=("S1",))))
        if point.check.id == "ph-steady" and "One bottle" in point.check.detail
    ]
    assert late.check.result == "caution"
    assert not late.groups
    assert late.bound == "shown"


def test_without_an_event_or_its_columns_nothing_is_explained() -> None:
    """Readings that no event states stay a pH that moved."""
    assert not stated_bottles(logged())
    assert not stated_bottles(logged(replace(WRONG, columns=("H2",))))
    (point,) = [point for point in steady(logged()) if point.check.id == "ph-steady"]
    assert point.check.detail.startswith("The pH moved")


def test_what_bases_did_elsewhere_is_no_sign_on_a_column_of_steady_ph(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Bases that followed the log count for columns whose own log moved, and no event states why."""
    followed = (Followed("aniline", 10.8, 11.14, 8.0, (0.3, 0.6), {}, ()),)
    monkeypatch.setattr(observations, "followed_in", lambda evidence: followed)
    observe = observations.OBSERVABLES["bases follow the logged pH"]
    assert observe(logged(), "H1").seen is True
    assert observe(logged(), "H2").seen is False
    assert observe(logged(WRONG), "H1").seen is False
    told = observations.OBSERVABLES["logged pH moved"](logged(WRONG), "H1")
    assert told.seen is False
    assert "on H1 and S1 only" in told.words
