"""Logs are read as courses, and what rests on a base takes its charge into account."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from lyewitness.findings.changes import course_of, logged_course
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.markers import retention_swing_percent
from lyewitness.findings.records import Sign
from lyewitness.findings.signs.weighing import BONDED, PH, SILANOLS, TEMPERATURE, signs_of
from lyewitness.study.records import Event, LoggedCondition, Study
from tests.findings.making import check_of, evidence_of, found_in, judged

HOURS = np.arange(0.0, 97.0, 3.0)
GROUPS: Mapping[str, tuple[float, ...]] = {"hybrid": (60.0, 62.0, 64.0), "silica": (30.0, 31.0, 32.0)}
K = "retention_factor"


def bottle(hour: float) -> float:
    """Return the pH of a bottle that loses 0.2 in 36 h and is then renewed."""
    return 10.5 - 0.2 * (hour % 36.0) / 36.0


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize(
    ("kind", "course", "size"),
    [
        ("sawtooth", bottle, -0.2),
        ("sawtooth", lambda hour: 20.7 - bottle(hour), 0.2),
        ("trend", lambda hour: 10.5 - 0.3 * hour / 96, -0.3),
        ("jumps", lambda hour: 10.5 + (0.25 if hour > 40 else 0.0), 0.25),
        ("steady", lambda hour: 10.5, 0.03),
    ],
)
def test_a_log_is_read_as_the_course_it_took(
    kind: str, course: Callable[[float], float], size: float, seed: int
) -> None:
    """A bottle that is renewed, a drift, a jump and a steady log are told from each other through noise."""
    random = np.random.default_rng(seed)
    points = [(float(hour), course(float(hour)) + 0.008 * random.standard_normal()) for hour in HOURS]
    found = course_of(points, 0.1)
    assert found is not None
    assert found.kind == kind
    if kind != "steady":
        assert found.size == pytest.approx(size, abs=0.05)
    if kind == "sawtooth":
        assert found.period_h == pytest.approx(36.0, abs=3.1)


def test_a_bottle_is_read_along_the_clock_through_a_pause() -> None:
    """A pause takes no exposure, and the bottle ages in it: what is a sawtooth by the clock stays one."""
    evidence = evidence_of(GROUPS)
    begun, cut_h, back_h = datetime(2026, 3, 2, 8, tzinfo=UTC), 20.0, 31.0

    def exposed(clock: float) -> float:
        return clock - max(0.0, min(clock, back_h) - cut_h)

    rows = tuple(
        LoggedCondition(
            one.id,
            exposure_h=exposed(float(hour)),
            at=begun + timedelta(hours=float(hour)),
            ph=round(bottle(float(hour)) + 0.01 * (place % 3), 2),
        )
        for one in evidence.study.columns
        for place, hour in enumerate(HOURS)
    )
    paused = replace(evidence, study=replace(evidence.study, conditions=rows))
    course = logged_course(paused, "H1", "ph", 0.1)
    assert course is not None
    assert course.kind == "sawtooth"
    assert course.period_h == pytest.approx(36.0, abs=3.1)
    # Told by exposure: the last reading of the first bottle, at 33 h by the clock, stands at 22 h.
    assert course.jumps_h[0] == pytest.approx(22.0)
    said = check_of(found_in(paused), "ph-steady").detail
    assert said.startswith("The pH moved on all columns: a sawtooth of 0.1")


def logged(study: Study, ph: Callable[[float], float], ids: tuple[str, ...] = ()) -> Study:
    """Return the study with another log of pH, on all columns or on these."""
    rows = tuple(
        LoggedCondition(column.id, exposure_h=float(hour), temperature_C=50.0, ph=round(ph(float(hour)), 2))
        for column in study.columns
        if not ids or column.id in ids
        for hour in HOURS
    )
    return replace(study, conditions=rows)


def with_pka(evidence: Evidence, pka: float, ph: float) -> Evidence:
    """Return the evidence with that pKa for its base, the mobile phase at that pH."""
    markers = tuple(replace(m, pka=pka if m.role == "base" else None) for m in evidence.study.markers)
    conditions = replace(evidence.study.test, ph=ph)
    study = replace(evidence.study, markers=markers, test=conditions, stress=conditions)
    return judged(evidence, logged(study, lambda hour: ph))


def signs_on(evidence: Evidence, column: str = "H1") -> dict[str, Sign]:
    """Return the signs on one column by mechanism."""
    return {sign.mechanism: sign for sign in signs_of(evidence, column)}


def test_a_sawtooth_is_told_once_with_what_it_does_to_bases() -> None:
    """The audit names amplitude, period and the most by which a base's retention follows."""
    evidence = evidence_of(GROUPS)
    markers = tuple(replace(m, pka=9.4 if m.role == "base" else None) for m in evidence.study.markers)
    study = replace(logged(evidence.study, bottle), markers=markers)
    check = check_of(found_in(replace(evidence, study=study)), "ph-steady")
    assert check.result == "caution"
    assert "a sawtooth of 0.1" in check.detail
    assert "about every 36" in check.detail
    assert "the retention of aniline by up to" in check.detail
    assert check.detail.count("sawtooth") == 1


def renewed_at(*hours: float) -> Callable[[float], float]:
    """Return the pH of bottles that lose 0.15 a day and are renewed at these exposures."""
    return lambda hour: 10.5 - 0.15 / 24 * (hour - max([0.0, *(h for h in hours if h <= hour)]))


def ph_told(study: Study) -> str:
    """Return what the audit says of the pH of a study without columns that decline otherwise."""
    return check_of(found_in(replace(evidence_of(GROUPS), study=study)), "ph-steady").detail


def test_renewals_that_are_stated_are_told_by_their_hours() -> None:
    """Bottles stated at 36, 63 and 92 h are told so, also the one at which a silent log hid the step."""
    study = logged(evidence_of(GROUPS).study, renewed_at(36.0, 63.0, 92.0))
    rows = tuple(row for row in study.conditions if not 20 < (row.exposure_h or 0.0) < 55)
    events = tuple(Event("fresh mobile phase", hours) for hours in (36.0, 63.0, 92.0))
    said = ph_told(replace(study, conditions=rows, events=events))
    assert "falling, and raised again at 36, 63 and 92\u2009h, between" in said, said
    assert "about every" not in said


def test_renewals_that_one_jump_of_the_log_contradicts_are_not_all_of_them() -> None:
    """Where the log shows a renewal that no event states, those stated are not told as if they were all."""
    study = logged(evidence_of(GROUPS).study, renewed_at(36.0, 72.0))
    said = ph_told(replace(study, events=(Event("fresh mobile phase", 36.0),)))
    assert "raised again about every 36\u2009h" in said, said


@pytest.mark.parametrize(("hours", "told"), [((15.0, 36.0, 75.0), False), ((24.0, 48.0, 72.0), True)])
def test_a_period_is_told_only_of_times_that_agree(hours: tuple[float, ...], told: bool) -> None:
    """Bottles renewed after 15, 21 and 39 h have no period, those renewed each day have."""
    said = ph_told(logged(evidence_of(GROUPS).study, renewed_at(*hours)))
    assert "falling, and raised again" in said
    assert ("about every" in said) is told, said


def stated_bottle(hours: float, low: float = 10.35) -> Study:
    """Return a study whose one bottle is renewed at 40 h, logged with a scatter of its own on each column."""
    random = np.random.default_rng(3)
    evidence = evidence_of(GROUPS)
    event = Event("fresh mobile phase", 40.0, note="new bottle, all columns")
    rows = tuple(
        LoggedCondition(
            one.id, exposure_h=h, ph=round((low if h > 40 else 10.5) + random.normal(0, 0.012), 2)
        )
        for one in evidence.study.columns
        for h in map(float, HOURS)
        if one.id != "H1" or h < hours
    )
    return replace(evidence.study, conditions=rows, events=(event,))


def test_one_bottle_is_told_once_and_with_the_event_that_states_it() -> None:
    """Nine numbers for one fall of one bottle are one: the step of all, by its direction, at its event."""
    evidence = replace(evidence_of(GROUPS), study=stated_bottle(60.0))
    check = check_of(found_in(evidence), "ph-steady")
    assert check.detail.startswith(
        "The pH moved on all columns: a fall of 0.15 at the fresh mobile phase of 40\u2009h "
        "(“new bottle, all columns”), between 10.3"
    ), check.detail
    assert "H1" not in check.detail
    assert "bottle" in check.cure


def test_one_stated_bottle_is_no_drifting_ph() -> None:
    """A bottle made up to another pH moved the bases once; that it was put on is stated, and no drift."""
    evidence = evidence_of(GROUPS, courses={("", "aniline", K): -0.08})
    sign = signs_on(judged(evidence, stated_bottle(200.0)))[PH]
    assert sign.verdict == "speaks against"
    assert any("one fall of 0.15" in reason and "fresh mobile phase" in reason for reason in sign.reasons)
    unstated = judged(evidence, replace(stated_bottle(200.0), events=()))
    assert signs_on(unstated)[PH].verdict == "speaks for"


def test_a_log_that_is_silent_on_all_columns_is_told_of_all() -> None:
    """A gap that is long for a column that came off early alone is still the gap of one log, and stated."""
    evidence = evidence_of(GROUPS)
    event = Event("other", 40.0, 61.0, still_exposed=True, note="logger hung; pumps went on")
    rows = tuple(
        LoggedCondition(one.id, exposure_h=h, ph=10.5, temperature_C=50.0)
        for one in evidence.study.columns
        for h in map(float, HOURS)
        if not 39.5 < h < 61
    )
    study = replace(evidence.study, conditions=rows, events=(event,))
    seen = tuple(row for row in evidence.measurements.rows if row.column != "H1" or row.exposure_h < 80)
    short = judged(evidence, study, replace(evidence.measurements, rows=seen))
    check = check_of(found_in(short), "ph-logged")
    assert check.detail == (
        "The log of the pH is silent from 39 to 63\u2009h on all six columns (“logger hung; pumps went on”)."
    )


def test_a_column_put_in_late_does_not_hide_the_sawtooth_of_the_others() -> None:
    """A log too short for a course is told by its range, after the course that the others share."""
    evidence = evidence_of(GROUPS)
    study = logged(evidence.study, bottle)
    own = [row for row in study.conditions if row.column == "H1"]
    late = tuple(row for row in study.conditions if row.column != "H1") + tuple(own[:4])
    check = check_of(found_in(replace(evidence, study=replace(study, conditions=late))), "ph-steady")
    assert check.detail.count("sawtooth") == 1
    assert "on H2, H3" in check.detail or "on H2 and" in check.detail, check.detail


def test_what_is_an_ion_throughout_does_not_follow_the_ph() -> None:
    """An acid of pKa 4 is an ion at pH 10.3 and at 10.5: what is retained of it stays so."""
    evidence = evidence_of(GROUPS)
    cold = replace(evidence.study.test, buffer="something else", temperature_C=25.0)
    study = replace(evidence.study, test=cold, stress=cold)
    acid = replace(evidence.study.marker("aniline"), role="acid", pka=4.0)
    assert retention_swing_percent(study, acid, 10.3, 10.5) == 0.0


def test_the_swing_of_a_base_is_that_of_its_charge() -> None:
    """Between pH 10.3 and 10.5 a base of pKa 9.4 at 25 °C changes by the ratio of its uncharged shares."""
    evidence = evidence_of(GROUPS)
    cold = replace(evidence.study.test, buffer="something else", temperature_C=25.0)
    study = replace(evidence.study, test=cold, stress=cold)
    marker = replace(evidence.study.marker("aniline"), pka=9.4)
    low, high = (1 - 1 / (1 + 10 ** (ph - 9.4)) for ph in (10.3, 10.5))
    swing = retention_swing_percent(study, marker, 10.3, 10.5)
    assert swing == pytest.approx(100 * (1 - low / high), rel=0.01)


def test_a_renewed_bottle_speaks_for_a_drifting_ph_and_not_against_it() -> None:
    """A sawtooth that ends where it began is movement: the log does not speak against drifting pH."""
    evidence = evidence_of(GROUPS, courses={("", "aniline", K): 0.08})
    study = logged(evidence.study, bottle)
    sign = signs_on(judged(evidence, study))[PH]
    assert sign.verdict == "speaks for"
    assert any("sawtooth" in reason for reason in sign.reasons)


@pytest.mark.parametrize(("pka", "verdict"), [(10.2, "speaks for"), (8.0, "speaks against")])
def test_a_base_without_charge_shows_no_silanols(pka: float, verdict: str) -> None:
    """A base that is hardly charged cannot tail on silanols, whatever its symmetry does."""
    courses = {("", "aniline", "symmetry_factor"): 0.4, ("", "aniline", K): 0.06}
    evidence = with_pka(evidence_of(GROUPS, courses=courses), pka, 10.5)
    assert signs_on(evidence)[SILANOLS].verdict == verdict


def test_equal_loss_on_all_columns_is_not_blamed_on_the_oven_without_a_log() -> None:
    """Without a log equal columns that lose alike have lost phase, and the oven is left open."""
    courses = {("", "caffeine", K): -0.1, ("", "aniline", K): -0.1}
    evidence = evidence_of({"hybrid": (1e6,) * 3, "silica": (1e6,) * 3}, courses=courses)
    signs = signs_on(judged(evidence, replace(evidence.study, conditions=())))
    assert signs[TEMPERATURE].verdict != "speaks for"
    assert signs[BONDED].verdict == "speaks for"


def test_a_few_readings_of_one_bottle_make_no_difference_between_groups() -> None:
    """Readings at other times of one sawtooth differ in their means, and that is no difference of groups."""
    evidence = evidence_of(GROUPS)
    times = {
        "H1": (2.0, 20.0),
        "H2": (5.0, 30.0),
        "H3": (9.0, 35.0),
        "S1": (1.0, 14.0),
        "S2": (3.0, 22.0),
        "S3": (8.0, 19.0),
    }
    rows = tuple(
        LoggedCondition(column, exposure_h=hour, temperature_C=50.0, ph=round(bottle(hour), 2))
        for column, hours in times.items()
        for hour in hours
    )
    check = check_of(found_in(replace(evidence, study=replace(evidence.study, conditions=rows))), "ph-alike")
    assert check.result == "good"
