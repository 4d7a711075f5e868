"""Counting left-out injections in."""

from dataclasses import replace
from typing import Any

import pytest

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Judgement
from lyewitness.findings.audit import sensitivity
from lyewitness.findings.audit.auditing import audit
from lyewitness.findings.audit.sensitivity import WITH_ALL, _asked_again, judged_with_all
from lyewitness.findings.evidence import Evidence
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Study
from lyewitness.words.estimates import Estimate
from tests.findings.making import evidence_of, judged

GROUPS = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}


def with_left_out(turns: tuple[str, ...]) -> Evidence:
    """Return a study from which H2 lacks injections."""
    evidence = evidence_of(GROUPS)
    out = {f"H2-{turn}" for turn in turns}
    injections = tuple(
        replace(i, used=False, why="bubble") if i.id in out else i for i in evidence.study.injections
    )
    rows = tuple(replace(row, used=row.injection not in out) for row in evidence.measurements.rows)
    study = replace(evidence.study, injections=injections)
    return judged(evidence, study, replace(evidence.measurements, rows=rows))


def test_judging_the_touched_columns_alone_is_judging_all() -> None:
    """Judging only the columns concerned anew gives the lives and comparisons of judging the whole study."""
    left_out, whole = with_left_out(("06", "09")), evidence_of(GROUPS)
    again = judged_with_all(left_out)
    full = judge(whole.study, whole.measurements)
    assert [life.life for life in again.group_lives] == [life.life for life in full.group_lives]
    assert again.comparisons == full.comparisons


def test_questions_that_ask_for_the_same_judgement_share_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is counted otherwise is judged once for all deciding metrics, and anew for another study."""
    made = []

    def counted(study: Study, measurements: Measurements, **more: Any) -> Judgement:
        made.append(study)
        return judge(study, measurements, **more)

    monkeypatch.setattr(sensitivity, "judge", counted)
    evidence = with_left_out(("06", "09"))
    first = judged_with_all(evidence)
    other = replace(evidence, judgement=replace(evidence.judgement, deciding=("uracil", "symmetry_factor")))
    second = judged_with_all(other)
    assert len(made) == 1
    assert second.deciding == ("uracil", "symmetry_factor")
    assert second.declines is first.declines
    judged_with_all(replace(evidence, study=replace(evidence.study)))
    assert len(made) == 2


def test_what_changes_nothing_is_good_and_says_so() -> None:
    """Left-out injections that lie on the decline change nothing; the check tells the lives with them."""
    checks = {point.check.id: point.check for point in audit(with_left_out(("06", "09")))}
    assert checks["left-out-counted-in"].result == "good"
    assert "two injections counted in" in checks["left-out-counted-in"].detail


def test_what_looks_wrong_by_itself_is_not_counted_in() -> None:
    """A wrong vial was left out for what it is: counted in, it would blur any answer."""
    evidence = with_left_out(("06", "09"))
    one = replace(evidence, borne_out=frozenset({"H2-06"}))
    detail = next(p.check.detail for p in audit(one) if p.check.id == "left-out-counted-in")
    assert "one injection counted in" in detail
    both = replace(evidence, borne_out=frozenset({"H2-06", "H2-09"}))
    (check,) = [p.check for p in audit(both) if p.check.id == "left-out-counted-in"]
    assert check.result == "good"
    assert check.detail.startswith("Both left-out injections look wrong"), check.detail


def test_nothing_left_out_is_nothing_to_count_in() -> None:
    """A study that uses every injection has no such check."""
    assert "left-out-counted-in" not in {point.check.id for point in audit(evidence_of(GROUPS))}


def test_a_finding_that_changes_is_told_with_what_it_was_and_what_it_becomes() -> None:
    """Before and after stand side by side, each with its ratio and its p value."""
    evidence = with_left_out(("06", "09"))
    (one,) = (
        c
        for c in evidence.judgement.comparisons
        if (c.marker, c.metric) == evidence.judgement.deciding
    )  # fmt: skip
    other = replace(one, finding="not settled", p_adjusted=0.21, life_ratio=Estimate(1.4, 0.8, 2.6))
    again = replace(evidence.judgement, comparisons=(other,))
    (point,) = _asked_again(evidence, WITH_ALL, again, ["H2"], "with two injections counted in")
    told = point.check.detail
    assert told.startswith(
        "With two injections counted in, hybrid against silica: not settled (life of hybrid ÷ silica 1.4"
    )
    assert "p = 0.21) instead of hybrid lasts longer (life of hybrid ÷ silica 2" in told.replace(
        "\u2009", " "
    )
