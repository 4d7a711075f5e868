"""A column that comes back at once is asked about; no trend that crosses it accuses an injection."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from math import exp, sin

import pytest

from lyewitness.findings.doubts import doubtful_injections
from lyewitness.findings.renewals import renewal_problems
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.study.records import Event, Injection, Study
from tests.findings.making import START, check_of, evidence_of, found_in, judged, study_of, traces_of

SCHEDULE_H = (0.2, 0.6, 1.0, *(5.5 * turn for turn in range(1, 17)))
FRESH = {"uracil": (0.52, 3500.0, 1.01), "caffeine": (1.56, 8000.0, 1.01), "aniline": (3.0, 4500.0, 1.14)}
REPLACED_H = 64.0


def state(marker: str, age_h: float, by_bottle: float) -> tuple[float, float, float]:
    """Return retention time, plates and symmetry at an age: fast, then slow; a base moves with the bottle."""
    time, plates, symmetry = FRESH[marker]
    if marker == "uracil":
        return time, plates, symmetry
    lost = 0.065 * (1 - exp(-age_h / 14)) + 0.0008 * age_h
    tails = 0.5 * (1 - exp(-age_h / 27)) if marker == "aniline" else 0.0
    swing = by_bottle if marker == "aniline" else 1.0
    return (0.52 + (time - 0.52) * (1 - lost)) * swing, plates * (1 - 2.2 * lost), symmetry + tails


def rows_of(study: Study, began_h: Mapping[str, float], late: Mapping[str, float]) -> Measurements:
    """Return rows of columns of which some were replaced, and of injections that are late by a factor."""
    rows = []
    for number, one in enumerate(study.injections):
        hours = one.exposure_h or 0.0
        began = began_h.get(one.column, 1e9)
        age = hours - began if hours > began else hours
        for marker in FRESH:
            time, plates, symmetry = state(marker, age, 1 - 0.03 * (hours % 36) / 36)
            noise = 1 + 0.006 * sin(7.1 * number + len(marker))
            time *= late.get(one.id, 1.0)
            held = None if marker == "uracil" else time / (0.52 * late.get(one.id, 1.0)) - 1
            rows.append(
                PeakRow(
                    one.id, one.column, study.column(one.column).group, marker, hours, None, True, True,
                    confidence=1.0, retention_time_min=time, hold_up_time_min=0.52, retention_factor=held,
                    plate_number_half_height=plates * noise, symmetry_factor=symmetry, peak_area=10.0,
                    peak_height=100.0, signal_to_noise=500.0,
                )
            )  # fmt: skip
    return Measurements(tuple(rows))


def bench(*events: Event) -> Study:
    """Return a study of two columns of two groups, dated, with these events."""
    study = study_of({"silica": (50.0,), "hybrid": (50.0,)}, events=events)
    columns = tuple(replace(column, exposure_start=START) for column in study.columns)
    injections = tuple(
        Injection(f"{c.id}-{n:02d}", f"{c.id}-{n:02d}.csv", c.id, exposure_h=h, at=START + timedelta(hours=h))
        for c in columns
        for n, h in enumerate(SCHEDULE_H, start=1)
    )
    return replace(study, columns=columns, injections=injections)


def doubted(study: Study, rows: Measurements) -> dict[str, str]:
    """Return the doubtful injections with their kinds."""
    return {one.injection: one.kind for one in doubtful_injections(study, traces_of(study), rows)}


def test_a_column_that_comes_back_is_asked_about_and_no_injection_accused() -> None:
    """Of a column exchanged between two injections the two are named, with the lines of the event."""
    study = bench()
    rows = rows_of(study, {"S1": REPLACED_H}, {})
    assert doubted(study, rows) == {}
    (problem,) = renewal_problems(study, rows, ())
    assert (problem.severity, problem.file, problem.place) == ("caution", "study.toml", "column 'S1'")
    assert "between S1-14 (60.5\u2009h) and S1-15 (66\u2009h)" in problem.found
    assert "symmetry factor of aniline from 1.57 to 1.26" in problem.found
    assert "The column may have been replaced (or turned, or its frit changed)" in problem.cure
    assert problem.cure.endswith(
        '\n[[event]]\nkind = "column replaced"\nat = 2026-03-04T23:15:00+00:00\ncolumns = ["S1"]'
    )


def test_the_audit_bounds_what_rests_on_a_column_that_came_back() -> None:
    """The audit tells it as a problem of that column, and says nothing of columns that go on declining."""
    study = bench()
    evidence = judged(evidence_of({"silica": (50.0,), "hybrid": (50.0,)}), study, rows_of(study, {}, {}))
    evidence = replace(evidence, traces=traces_of(study))
    assert "renewed" not in {check.id for check in found_in(evidence).checks}
    changed = judged(evidence, study, rows_of(study, {"S1": REPLACED_H}, {}))
    check = check_of(found_in(changed), "renewed")
    assert (check.result, check.subject) == ("problem", "S1")
    assert "between S1-14 (60.5\u2009h) and S1-15 (66\u2009h)" in check.detail


@pytest.mark.parametrize("kind", ["column replaced", "part exchanged", "flush"])
def test_what_the_study_states_is_not_asked(kind: str) -> None:
    """An event between the two injections says why; one elsewhere, or on another column, does not."""
    for hours, column, is_asked in ((64.0, "S1", False), (30.0, "S1", True), (64.0, "H1", True)):
        study = bench(Event(kind, START + timedelta(hours=hours), columns=(column,)))  # type: ignore[arg-type]
        problems = renewal_problems(study, rows_of(study, {"S1": REPLACED_H}, {}), ())
        assert bool(problems) is is_asked


def test_what_all_columns_do_together_is_no_replacement() -> None:
    """Where every column comes back at once something common was changed."""
    study = bench()
    assert renewal_problems(study, rows_of(study, {"S1": REPLACED_H, "H1": REPLACED_H}, {}), ()) == ()
    assert renewal_problems(study, rows_of(study, {}, {}), ()) == ()


@pytest.mark.parametrize("turn", [4, 7, 9, 10, 11, 16])
def test_a_leak_is_told_though_a_base_swings_from_bottle_to_bottle(turn: int) -> None:
    """All peaks 8 % late are a leak, before and after a fresh bottle that moves the base by 3 %."""
    study = bench()
    name = f"S1-{turn:02d}"
    assert doubted(study, rows_of(study, {}, {name: 1.08})) == {name: "leak"}


def test_a_steady_hold_up_time_names_the_leak_that_it_passes_over() -> None:
    """From first to last the flow is steady; the one injection that ran slowly stands beside that."""
    study = bench()
    evidence = judged(
        evidence_of({"silica": (50.0,), "hybrid": (50.0,)}), study, rows_of(study, {}, {"S1-10": 1.08})
    )
    check = check_of(found_in(replace(evidence, traces=traces_of(study))), "hold-up-steady")
    assert check.result == "good"
    assert "; S1-10 stands off all the same, as a leak makes it" in check.detail


@pytest.mark.parametrize("turn", [9, 16])
def test_a_leak_is_told_where_the_neighbours_hide_the_swing(
    monkeypatch: pytest.MonkeyPatch, turn: int
) -> None:
    """Neighbours that lie evenly about a fresh bottle show no scatter; the base is 3 % off all the same."""
    monkeypatch.setattr("lyewitness.findings.beside.Beside.scatter", lambda *_: 0.0)
    study = bench()
    name = f"S1-{turn:02d}"
    assert doubted(study, rows_of(study, {}, {name: 1.08})) == {name: "leak"}
