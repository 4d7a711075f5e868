"""A life without doubtful peaks says so, names them, and is no surer than what hangs on them."""

from dataclasses import replace

import pytest

from lyewitness.findings.answer.answering import answer
from lyewitness.findings.audit.auditing import audit
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import DoubtfulInjection
from tests.findings.making import evidence_of, judge_once

GROUPS = {"silica": (30.0, 32.0, 34.0), "hybrid": (60.0, 64.0, 68.0)}
METRIC = ("caffeine", "plate_number_half_height")


def doubtful(confidence: float) -> Evidence:
    """Return a study in which the last two peaks of S1 are as on a fresh column, of such a confidence."""
    evidence = evidence_of(GROUPS)
    last = [one.id for one in evidence.study.injections if one.column == "S1"][-2:]
    rows = tuple(
        replace(row, plate_number_half_height=10000.0, confidence=confidence)
        if row.injection in last and row.marker == "caffeine"
        else row
        for row in evidence.measurements.rows
    )
    measurements = replace(evidence.measurements, rows=rows)
    return replace(evidence, measurements=measurements, judgement=judge_once(evidence.study, measurements))


def test_a_life_without_doubtful_peaks_is_told_with_them_and_bounded() -> None:
    """The life is that of the sound injections; audit and answer name the others, and what they would do."""
    evidence = doubtful(0.3)
    decline = evidence.decline("S1", *METRIC)
    assert decline is not None
    assert decline.life.hours.value == pytest.approx(30.0, rel=0.1)
    points = audit(evidence)
    (point,) = [one for one in points if one.check.id == "doubted-peaks"]
    assert (point.check.result, point.bound, point.groups) == ("problem", "indicated", frozenset({"silica"}))
    for name in decline.doubted:
        assert name in point.check.detail
    answered = answer(evidence, points, (), evidence.study.questions[0])
    (claim,) = [one for one in answered.claims if "left-out" in one.id]
    assert "counted, it would read" in claim.text
    assert {one.target for one in claim.because if one.kind == "injection"} == set(decline.doubted)
    lives = {one.id: one.strength for one in answered.claims if one.id.startswith("life")}
    assert "shown" not in [strength for name, strength in lives.items() if "silica" in name]


def test_an_injection_is_not_called_counted_where_its_peak_is_left_out() -> None:
    """What differs from its neighbours and is left out as doubtful is told once, as left out."""
    evidence = doubtful(0.3)
    last = [one.id for one in evidence.study.injections if one.column == "S1"][-1]
    told = replace(
        evidence,
        doubtful=(DoubtfulInjection(last, "volume", "", ""),),
        without_doubtful=evidence.judgement,
    )
    claims = answer(told, (), (), told.study.questions[0]).claims
    assert any("left-out" in one.id for one in claims)
    assert not [one.text for one in claims if "doubtful but counted" in one.text]


def test_where_nothing_is_doubted_nothing_is_said() -> None:
    """Neither the audit nor the answer has a word about it."""
    evidence = evidence_of(GROUPS)
    points = audit(evidence)
    assert not [one for one in points if one.check.id == "doubted-peaks"]
    answered = answer(evidence, points, (), evidence.study.questions[0])
    assert not [one for one in answered.claims if "left-out" in one.id]
