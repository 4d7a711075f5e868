"""What the audit says of the clocks by which injections were made."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from lyewitness.findings.audit.running import times
from lyewitness.findings.evidence import Evidence
from tests.findings.making import START, evidence_of, traces_of, with_columns


def clocks(minutes: Mapping[str, float]) -> Evidence:
    """Return a fair study whose stamps stand so many minutes off the stated exposures, by column."""
    evidence = evidence_of({"hybrid": (60.0, 64.0), "silica": (25.0, 27.0)})
    ids = [column.id for column in evidence.study.columns]
    study = with_columns(evidence.study, **{name: {"exposure_start": START} for name in ids})
    begun = {name: START + timedelta(minutes=minutes.get(name, 0.0)) for name in ids}
    return replace(evidence, study=study, traces=traces_of(study, begun))


def test_a_clock_that_is_minutes_off_is_told_and_changes_nothing() -> None:
    """An instrument seven minutes fast is said with its columns; two minutes are within what anybody sets."""
    (point,) = times(clocks({"H1": 7.0, "S1": 7.0, "H2": 2.0}))
    assert point.check.result == "good"
    assert "the time stamps of H1 and S1 stand 7 min ahead of the stated exposures" in point.check.detail
    (fair,) = times(clocks({"H1": 2.0}))
    assert fair.check.detail.endswith("in the order of their exposures.")
