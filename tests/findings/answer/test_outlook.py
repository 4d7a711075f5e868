"""The outlook of a study that still runs."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Decline, Life
from lyewitness.findings.answer import outlook as outlook_module
from lyewitness.findings.answer.outlook import expected_together, expected_words, outlook_lines, outlook_of
from lyewitness.findings.audit.sensitivity import judged_without
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Check, DoubtfulInjection, ExpectedPassing, Outlook
from lyewitness.study.records import Limit, Marker, Plan
from lyewitness.words.estimates import Estimate
from tests.decline.small_study import study_of, with_values
from tests.false_longer import fall

ENDS_H = 120.0


def running(
    lives: dict[str, float],
    reached_h: float,
    seed: int = 1,
    delay: float = 0.3,
    columns: Mapping[str, Mapping[str, Any]] | None = None,
    lasts: Mapping[str, float] | None = None,
) -> Evidence:
    """Return the evidence on columns with these lives after `reached_h`."""
    rng = np.random.default_rng(seed)
    study = study_of({"A": tuple(lives)}, (Limit("plate_number_half_height", at_least_percent=80.0),))
    study = replace(study, markers=(Marker("base", "base", 2.9, 9.6),), plan=Plan(ends_h=ENDS_H))
    hours = np.arange(0.0, reached_h + 1e-9, 4.0)
    values = {
        (name, "base"): {"plate_number_half_height": fall(rng, hours, life, delay)}
        for name, life in lives.items()
    }
    changes = columns or {}
    study = replace(study, columns=tuple(replace(one, **changes.get(one.id, {})) for one in study.columns))
    filled, measurements = with_values(study, hours, values)
    ends = lasts or {}
    rows = tuple(row for row in measurements.rows if row.exposure_h <= ends.get(row.column, reached_h))
    measurements = replace(measurements, rows=rows)
    return Evidence(filled, {}, measurements, judge(filled, measurements))


def outlook(*given: Any, **more: Any) -> Outlook:
    """Return the outlook of columns as `running` makes them."""
    found = outlook_of(running(*given, **more), (), ())
    assert found is not None
    return found


def test_what_is_passed_and_what_is_expected() -> None:
    """A column past its limit is told as that; of one on its way the crossing is foretold."""
    found = outlook({"A1": 30.0, "A2": 70.0}, 56.0)
    assert [one.column for one in found.passed] == ["A1"]
    assert [one.column for one in found.expected] == ["A2"]
    hours = found.expected[0].hours
    assert hours.value == pytest.approx(70.0, rel=0.15)
    assert found.inject_from_h is not None
    assert found.inject_from_h >= 56.0
    assert found.inject_every_h is not None
    assert found.inject_every_h <= 4.0
    assert found.inject_until_h is not None
    assert found.inject_until_h > found.inject_from_h
    lines = outlook_lines(found)
    assert any(
        line.startswith("Inject every") and line.endswith("h, or until A2 has passed its limit.")
        for line in lines
    )
    assert lines[0].startswith("The test is running: 56\u2009h of 120") or "running" in lines[0]
    assert any("A1" in line and "Past a limit" in line for line in lines)
    assert any("A2 is expected to pass" in line for line in lines)
    assert lines[-1] == "Stopping now would not answer the question."
    assert len(lines) <= 10


def test_no_forecast_rests_on_a_doubtful_injection() -> None:
    """Files of another column among the last ones move no forecast while they count, and that is said."""
    sound = running({"A1": 85.0, "A2": 85.0}, 56.0)
    lower = {"A1-012": 0.86, "A1-013": 0.85}
    rows = tuple(
        replace(row, plate_number_half_height=row.plate_number_half_height * lower.get(row.injection, 1.0))
        if row.plate_number_half_height
        else row
        for row in sound.measurements.rows
    )
    measurements = replace(sound.measurements, rows=rows)
    bent = replace(sound, measurements=measurements, judgement=judge(sound.study, measurements))
    doubtful = tuple(DoubtfulInjection(name, "other column", "", "") for name in lower)
    told = replace(bent, doubtful=doubtful, without_doubtful=judged_without(bent, lower))
    by = {}
    for name, evidence in {"sound": sound, "blind": bent, "told": told}.items():
        found = outlook_of(evidence, (), ())
        assert found is not None
        by[name] = next((one.hours.value for one in found.expected if one.column == "A1"), None)
        assert found.left_out == tuple(one.injection for one in evidence.doubtful)
        said = "Two doubtful injections (A1-012 and A1-013) are left out of what is expected."
        assert (said in outlook_lines(found)) is (name == "told")
    assert by["told"] == pytest.approx(by["sound"], rel=0.1)
    assert by["blind"] != pytest.approx(by["sound"], rel=0.1)


def test_a_limit_that_doubtful_injections_hide_is_told_as_passed() -> None:
    """A column that is past its limit by all but the doubtful injections is past it, and no forecast."""
    sound = running({"A1": 30.0, "A2": 70.0}, 56.0)
    hidden = tuple(
        replace(one, life=Life("unclear", Estimate(None, 20.0))) if one.series.column == "A1" else one
        for one in sound.judgement.declines
    )
    doubtful = (DoubtfulInjection("A1-012", "other column", "", ""),)
    judgement = replace(sound.judgement, declines=hidden)
    bent = replace(sound, judgement=judgement, doubtful=doubtful, without_doubtful=sound.judgement)
    found = outlook_of(bent, (), ())
    assert found is not None
    assert [one.column for one in found.passed] == ["A1"]
    assert [one.column for one in found.expected] == ["A2"]


def test_a_study_that_has_ended_has_no_outlook() -> None:
    """At the planned end nothing is running any more."""
    study = study_of({"A": ("A1", "A2")})
    filled, measurements = with_values(replace(study, plan=Plan(ends_h=8.0)), np.array([0.0, 4.0, 8.0]), {})
    assert outlook_of(Evidence(filled, {}, measurements, judge(filled, measurements)), (), ()) is None


def test_of_a_column_that_was_taken_off_nothing_is_expected() -> None:
    """What was ended passes no limit any more, and is not late."""
    ended = {"A2": {"ended": 40.0, "because": "leak"}}
    found = outlook({"A1": 80.0, "A2": 80.0}, 60.0, columns=ended, lasts={"A2": 40.0})
    assert [one.column for one in found.expected] == ["A1"]
    assert not found.wrong


def test_nothing_is_expected_before_what_was_run() -> None:
    """A crossing that a curve places behind the last injection is past or soon, and never a forecast."""
    for seed in range(8):
        for one in outlook({"A1": 58.0, "A2": 62.0}, 60.0, seed).expected:
            assert one.hours.low is not None
            assert one.hours.low >= 60.0
            assert one.hours.value is None or one.hours.value > 60.0
    past = ExpectedPassing("A1", "base", "retention_factor", Estimate(None, 60.0, None))
    words = "A1 is past the limit on the retention factor of base already, or soon will be"
    assert expected_words(past) == words


def test_a_column_that_began_later_is_not_late() -> None:
    """One that took another's place is held against its own start."""
    start = datetime(2026, 3, 2, 8, 0)
    columns = {
        "A1": {"exposure_start": start},
        "A2": {"exposure_start": start + timedelta(hours=36)},
    }
    lasts = {"A2": 24.0}
    assert not outlook({"A1": 90.0, "A2": 90.0}, 60.0, columns=columns, lasts=lasts).wrong
    assert outlook({"A1": 90.0, "A2": 90.0}, 60.0, lasts=lasts).wrong


@pytest.mark.slow
def test_crossings_are_foretold_soundly() -> None:
    """Of crossings foretold at 70 to 90 % of the life, nine in ten at least lie in their interval."""
    held = []
    for seed in range(30):
        rng = np.random.default_rng(1000 + seed)
        lives = {f"A{n}": float(rng.uniform(50.0, 90.0)) for n in range(1, 4)}
        share, delay = rng.uniform(0.7, 0.9), rng.uniform(0.0, 0.6)
        found = outlook(lives, share * min(lives.values()), seed, delay)
        for one in found.expected:
            low, high = one.hours.low or 0.0, one.hours.high or float("inf")
            held.append(low <= lives[one.column] <= high)
    print(f"{sum(held)} of {len(held)} crossings in their interval")
    assert len(held) > 40
    assert sum(held) >= 0.9 * len(held)


def test_what_is_expected_of_several_is_said_once() -> None:
    """Columns that are to pass the same limit share its name; another limit has its own sentence."""
    one, two = (
        ExpectedPassing(name, "base", "retention_factor", Estimate(h, h - 5.0, h + 5.0))
        for name, h in (("A1", 70.0), ("A2", 80.0))
    )
    limit = "is expected to pass the limit on the retention factor of base after"
    said = expected_together([one, two]).replace("\u2009", " ")
    assert said == f"A1 {limit} 70 h (65 to 75) and A2 after 80 h (75 to 85)"
    other = replace(two, metric="symmetry_factor")
    assert expected_together([one, other]).count("is expected to pass") == 2


def test_an_injection_that_was_left_out_was_made() -> None:
    """A column whose last injection does not count is not behind, nor are all behind the first of a round."""
    evidence = running({"A1": 90.0, "A2": 90.0, "A3": 90.0}, 40.0)
    rows = tuple(
        replace(row, used=row.column != "A2" or row.exposure_h < 33.0) for row in evidence.measurements.rows
    )
    left_out = replace(evidence, measurements=replace(evidence.measurements, rows=rows))
    found = outlook_of(left_out, (), ())
    assert found is not None
    assert not found.wrong
    behind = outlook({"A1": 90.0, "A2": 90.0, "A3": 90.0}, 40.0, lasts={"A2": 32.0})
    assert behind.wrong == ("A2 was last injected at 32\u2009h, 8.0\u2009h behind the others",)
    assert not outlook({"A1": 90.0, "A2": 90.0, "A3": 90.0}, 40.0, lasts={"A2": 32.0, "A3": 32.0}).wrong


@pytest.mark.parametrize("seed", range(4))
def test_what_is_expected_and_planned_begins_now(seed: int) -> None:
    """With one column a step ahead, no other passes before that, and no plan is shorter than its own step."""
    lasts = {"A2": 56.0, "A3": 56.0}
    found = outlook({"A1": 200.0, "A2": 60.5, "A3": 66.0}, 60.0, seed, lasts=lasts)
    for one in found.expected:
        assert one.hours.low is not None
        assert one.hours.low >= 60.0
        assert one.hours.value is None or one.hours.value > 61.0
    assert found.inject_every_h is not None
    assert found.inject_from_h is not None
    if found.inject_until_h is not None:
        assert found.inject_until_h >= found.inject_from_h + found.inject_every_h


def test_injections_are_planned_until_the_last_passing_that_is_expected_in_time() -> None:
    """The plan does not end with the first column; one that the test will not see pass is no part of it."""
    found = outlook({"A1": 70.0, "A2": 95.0, "A3": 400.0}, 56.0)
    assert [one.column for one in found.expected[:2]] == ["A1", "A2"]
    assert found.inject_until_h is not None
    assert (found.expected[1].hours.value or 0.0) < found.inject_until_h <= ENDS_H
    (line,) = [one for one in outlook_lines(found) if one.startswith("Inject every")]
    assert line.endswith("or until A1 and A2 have passed theirs.")


def test_what_the_audit_finds_of_oven_and_bottle_is_to_be_looked_at() -> None:
    """An oven off its plan and a pH on the move are told once, however often the audit asks."""
    hot = "P2 ran 3.0 °C above the stated 55 °C throughout (57.8 to 58.2 by the log)."
    moved = f"The pH moved on all columns: {', '.join(f'A{n} a sawtooth of 0.16' for n in range(1, 9))}."
    checks = [
        Check("temperature-steady", "", "P2", "caution", hot),
        Check("temperature-steady-q2", "", "P2", "caution", hot),
        Check("ph-steady", "", "the study", "caution", moved),
        Check("hold-up-steady", "", "P2", "caution", "The hold-up time rose."),
    ]
    found = outlook_of(running({"A1": 70.0, "A2": 70.0}, 56.0), (), checks)
    assert found is not None
    assert found.wrong == (hot.rstrip("."), "the pH moved on all columns")


def test_a_retention_that_follows_the_bottle_is_led_on_without_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the log says what the pH did, the passing that is expected is that of the freed course."""
    evidence = running({"A1": 70.0, "A2": 70.0}, 56.0)
    as_seen = outlook_of(evidence, (), ())
    assert as_seen is not None
    assert not any(one.freed_of_ph for one in as_seen.expected)

    def freed(_study: object, _rows: object, declines: tuple[Decline, ...]) -> tuple[Decline, ...]:
        return tuple(
            replace(one, life=replace(one.life, hours=Estimate(99.0, 90.0, 110.0)))
            for one in declines
            if one.series.column == "A1" and one.limit is not None
        )

    monkeypatch.setattr(outlook_module, "freed_of_ph", freed)
    told = outlook_of(replace(evidence), (), ())
    assert told is not None
    (one,) = [one for one in told.expected if one.column == "A1"]
    assert one.hours.value == 99.0
    assert "freed of the logged pH" in expected_words(one)


def test_stopping_is_told_of_every_question() -> None:
    """Of three questions the one that is answered is counted; of one it is said whether it is."""
    found = outlook({"A1": 30.0, "A2": 70.0}, 56.0)
    three = replace(found, questions=3, questions_answered=1)
    assert outlook_lines(three)[-1] == "Stopping now would answer one of three questions."
    none = replace(found, questions=3, questions_answered=0)
    assert outlook_lines(none)[-1] == "Stopping now would answer none of the three questions."
    assert outlook_lines(found)[-1] == "Stopping now would not answer the question."
