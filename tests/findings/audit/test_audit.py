"""Each point of the audit: good on a fair study, and not on the study with that one fault."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from lyewitness.decline.records import Judgement
from lyewitness.findings.audit.auditing import audit, checks_of
from lyewitness.findings.audit.events import events
from lyewitness.findings.audit.points import BRIEF, Asked, all_pairs, bounded, brief
from lyewitness.findings.audit.standing import pause_problems
from lyewitness.findings.changes import Change
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Check
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Choices, Conditions, Event, Injection, Limit, LoggedCondition, Study
from lyewitness.words.names import joined
from lyewitness.words.problems import Problem
from tests.findings.making import (
    SCHEDULE_H,
    START,
    check_of,
    evidence_of,
    found_in,
    judged,
    lives_by_column,
    measured,
    study_of,
    traces_of,
    with_columns,
)

GROUPS: Mapping[str, Sequence[float]] = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}
FAIR = evidence_of(GROUPS)
Fault = Callable[[Evidence], Evidence]


def columns(**changes: Mapping[str, object]) -> Fault:
    """Return a fault in the columns."""
    return lambda evidence: replace(evidence, study=with_columns(evidence.study, **changes))


def log(**changes: float) -> Fault:
    """Return a fault in the log of H1: its last row says otherwise."""

    def make(evidence: Evidence) -> Evidence:
        rows = list(evidence.study.conditions)
        last = max(i for i, row in enumerate(rows) if row.column == "H1")
        rows[last] = replace(rows[last], **changes)  # type: ignore[arg-type]
        return replace(evidence, study=replace(evidence.study, conditions=tuple(rows)))

    return make


def everywhere(**values: float) -> Fault:
    """Return a fault in the log of all columns: every row says so."""

    def make(evidence: Evidence) -> Evidence:
        rows = tuple(replace(row, **values) for row in evidence.study.conditions)  # type: ignore[arg-type]
        return replace(evidence, study=replace(evidence.study, conditions=rows))

    return make


def course(marker: str, metric: str, change: float, column: str = "H1") -> Fault:
    """Return a study in which a metric moves over the exposure."""
    return lambda _: evidence_of(GROUPS, courses={(column, marker, metric): change})


def without_log(evidence: Evidence) -> Evidence:
    """Take the conditions log away."""
    return replace(evidence, study=replace(evidence.study, conditions=()))


def without_times(evidence: Evidence) -> Evidence:
    """Take the time stamps away."""
    bare = {name: replace(trace, acquired_at="") for name, trace in evidence.traces.items()}
    return replace(evidence, traces=bare)


def one_after_the_other(evidence: Evidence) -> Evidence:
    """Run one group wholly after the other."""
    later = {f"S{number}": START + timedelta(hours=150) for number in (1, 2, 3)}
    return replace(evidence, traces=traces_of(evidence.study, later))


def swapped(evidence: Evidence) -> Evidence:
    """Let two injections of H1 change places in time."""
    traces = dict(evidence.traces)
    first, second = traces["H1-06"], traces["H1-09"]
    traces["H1-06"] = replace(first, acquired_at=second.acquired_at)
    traces["H1-09"] = replace(second, acquired_at=first.acquired_at)
    return replace(evidence, traces=traces)


def paused(evidence: Evidence) -> Evidence:
    """Let H1 stand for four days before its last three injections."""
    traces = dict(evidence.traces)
    for injection in ("H1-11", "H1-12", "H1-13"):
        hours = next(i.exposure_h or 0.0 for i in evidence.study.injections if i.id == injection)
        stamp = START + timedelta(hours=hours + 96)
        traces[injection] = replace(traces[injection], acquired_at=stamp.isoformat())
    return replace(evidence, traces=traces)


def dropped(*turns: str) -> Fault:
    """Take injections of H1 away."""

    def make(evidence: Evidence) -> Evidence:
        gone = {f"H1-{turn}" for turn in turns}
        study = replace(
            evidence.study, injections=tuple(i for i in evidence.study.injections if i.id not in gone)
        )
        rows = tuple(row for row in evidence.measurements.rows if row.injection not in gone)
        return judged(evidence, study, replace(evidence.measurements, rows=rows))

    return make


def copied(evidence: Evidence) -> Evidence:
    """Enter one chromatogram twice."""
    traces = dict(evidence.traces)
    traces["H1-05"] = replace(traces["H1-05"], sha256=traces["H1-04"].sha256)
    return replace(evidence, traces=traces)


def lost(evidence: Evidence) -> Evidence:
    """Lose the base in the last two injections of H1."""
    rows = tuple(
        replace(row, found=False, absent_because="nothing there", plate_number_half_height=None)
        if row.marker == "aniline" and row.injection in ("H1-12", "H1-13")
        else row
        for row in evidence.measurements.rows
    )
    return replace(evidence, measurements=replace(evidence.measurements, rows=rows))


def grown_at_the_limit(evidence: Evidence) -> Evidence:
    """Flag the deciding peak of the injection in which H1 was first seen past its limit."""
    marker, metric = evidence.judgement.deciding
    decline = evidence.decline("H1", marker, metric)
    assert decline is not None
    rows = tuple(
        replace(row, flags=("stranger",))
        if (row.column, row.marker, row.exposure_h) == ("H1", marker, decline.life.bracket_h[1])
        else row
        for row in evidence.measurements.rows
    )
    return replace(evidence, measurements=replace(evidence.measurements, rows=rows))


def flagged(evidence: Evidence) -> Evidence:
    """Let the detector be at its end for every caffeine peak."""
    rows = tuple(
        replace(row, flags=("saturated",)) if row.marker == "caffeine" else row
        for row in evidence.measurements.rows
    )
    return replace(evidence, measurements=replace(evidence.measurements, rows=rows))


def left_out(evidence: Evidence) -> Evidence:
    """Leave a fifth of the injections out."""
    injections = tuple(
        replace(i, used=False, why="spilled") if i.id.endswith(("05", "07", "09")) else i
        for i in evidence.study.injections
    )
    return replace(evidence, study=replace(evidence.study, injections=injections))


def aged_reference(evidence: Evidence) -> Evidence:
    """Take the first injection of H1 away and move its second and third into the exposure."""
    injections = tuple(
        replace(i, exposure_h=8.0) if i.id in ("H1-02", "H1-03") else i for i in evidence.study.injections
    )
    return replace(evidence, study=replace(evidence.study, injections=injections))


def settling(evidence: Evidence) -> Evidence:
    """Inject often at first, while the plates of H1 lose 4 % with a half time of an hour."""
    hours = (0.0, 1.0, 2.0, 4.0, 8.0, 14.0, 22.0, 32.0, 44.0, 56.0, 68.0, 84.0, 100.0)
    often = placed(hours, 0.001)
    rows = tuple(
        replace(row, plate_number_half_height=row.plate_number_half_height * (1 + 0.04 * 2**-row.exposure_h))
        if row.column == "H1" and row.plate_number_half_height
        else row
        for row in often.measurements.rows
    )
    return judged(often, measurements=replace(often.measurements, rows=rows))


def without_base(evidence: Evidence) -> Evidence:
    """Take the base away."""
    markers = tuple(marker for marker in evidence.study.markers if marker.role != "base")
    return replace(evidence, study=replace(evidence.study, markers=markers))


def scattered_areas(evidence: Evidence) -> Evidence:
    """Let the second injection of H1 be short by a tenth."""
    rows = tuple(
        replace(row, peak_area=0.9 * (row.peak_area or 0.0)) if row.injection == "H1-02" else row
        for row in evidence.measurements.rows
    )
    return replace(evidence, measurements=replace(evidence.measurements, rows=rows))


def half_the_plates(evidence: Evidence) -> Evidence:
    """Let H1 have half the plates of its siblings from the first injection on."""
    rows = tuple(
        replace(row, plate_number_half_height=0.5 * (row.plate_number_half_height or 0.0))
        if row.column == "H1"
        else row
        for row in evidence.measurements.rows
    )
    return replace(evidence, measurements=replace(evidence.measurements, rows=rows))


def one_reference(_: Evidence) -> Evidence:
    """Take the first injection alone as the reference."""
    return evidence_of(GROUPS, choices=Choices(reference_injections=1))


STATES = re.compile(
    r"\b(is|are|was|were|has|have|saw|lie|differ|fell|rose|moved|ran|reach|scatter|stood|crossed|bear|hold|"
    r"reaches|began)\b",
)
"""What makes a sentence of what was found; a list of values is none."""
SHORT = {"length_mm": 100.0}
HOTTER = {"temperature_C": 60.0}
FAULTS: tuple[tuple[str, Fault, str], ...] = (
    ("same-length", columns(H1=SHORT, H2=SHORT, H3=SHORT), "caution"),
    ("same-length", columns(H1={"length_mm": None}), "not possible"),
    ("same-inner-diameter", columns(H1={"inner_diameter_mm": 3.0}), "caution"),
    ("same-particle-size", columns(S1={"particle_um": 2.7}), "caution"),
    ("same-bonding", columns(S1={"bonding": "C8"}), "caution"),
    ("different-lots", columns(H1={"lot": "x"}, H2={"lot": "x"}, H3={"lot": "x"}), "caution"),
    ("different-lots", columns(H1={"lot": ""}), "not possible"),
    ("different-pieces", columns(H1={"serial": "x"}, H2={"serial": "x"}), "problem"),
    ("different-pieces", columns(H1={"serial": ""}), "not possible"),
    ("same-settings", columns(S1=HOTTER, S2=HOTTER, S3=HOTTER), "problem"),
    ("same-settings", lambda e: replace(e, study=replace(e.study, stress=Conditions())), "not possible"),
    ("odd-life", lambda _: evidence_of({**GROUPS, "hybrid": (25.0, 70.0, 74.0)}), "caution"),
    ("begin-alike", half_the_plates, "caution"),
    ("replicates", lambda _: evidence_of({"hybrid": (60.0, 64.0), "silica": (25.0, 27.0, 24.0)}), "caution"),
    ("replicates", lambda _: evidence_of({"hybrid": (60.0,), "silica": (25.0, 27.0, 24.0)}), "problem"),
    ("equal-exposure", lambda _: evidence_of(GROUPS, cv_per_h={"silica": 58.0}), "caution"),
    ("equal-velocity", columns(H1=SHORT, H2=SHORT, H3=SHORT), "caution"),
    ("equal-duration", dropped("08", "09", "10", "11", "12", "13"), "caution"),
    ("order-of-running", one_after_the_other, "problem"),
    ("order-of-running", without_times, "not possible"),
    ("times-fit-exposure", swapped, "problem"),
    ("times-fit-exposure", without_times, "not possible"),
    ("standing-time", paused, "caution"),
    ("long-gaps", dropped("06", "07", "08"), "caution"),
    ("temperature-logged", without_log, "not possible"),
    ("ph-logged", without_log, "not possible"),
    ("temperature-steady", log(temperature_C=52.0), "caution"),
    ("temperature-steady", log(temperature_C=56.0), "problem"),
    ("ph-steady", log(ph=11.1), "caution"),
    ("ph-steady", everywhere(ph=9.2), "problem"),
    ("temperature-steady", everywhere(temperature_C=42.0), "problem"),
    ("flow-steady", log(flow_mL_min=0.3), "problem"),
    ("reference-repeatability", scattered_areas, "caution"),
    ("reference-repeatability", one_reference, "not possible"),
    ("reference-scatter", one_reference, "problem"),
    ("reference-fresh", aged_reference, "caution"),
    ("reference-settled", settling, "caution"),
    ("hold-up-steady", course("uracil", "hold_up_time_min", 0.05), "caution"),
    ("hold-up-steady", course("uracil", "hold_up_time_min", 0.25), "problem"),
    ("areas-conserved", course("caffeine", "peak_area", -0.5), "caution"),
    ("marker-choice", without_base, "caution"),
    ("no-copies", copied, "problem"),
    ("peaks-found", lost, "caution"),
    ("peaks-sound", flagged, "caution"),
    ("lives-on-sound-peaks", grown_at_the_limit, "problem"),
    ("left-out", left_out, "caution"),
)


def test_what_stayed_where_nobody_planned_it_did_not_move() -> None:
    """A log at 42 °C throughout was not the 50 °C of the plan; scales of pH may differ by 1.5."""
    found = check_in(everywhere(temperature_C=42.0)(FAIR), "temperature-steady").detail
    assert found.replace("\u2009", " ").lower().startswith("the temperature was not the 50 °c of the plan: ")
    assert check_in(everywhere(ph=10.6)(FAIR), "ph-steady").result == "good"


def check_in(evidence: Evidence, check_id: str) -> Check:
    """Return the check of that id from the audit of `evidence`."""
    return {check.id: check for check in checks_of(audit(evidence))}[check_id]


FAIR_CHECKS = {check.id: check for check in checks_of(audit(FAIR))}


@pytest.mark.parametrize(
    ("check_id", "fault", "result"), FAULTS, ids=[f"{name}, {result}" for name, _, result in FAULTS]
)
def test_a_fault_is_found_where_a_fair_study_passes(check_id: str, fault: Fault, result: str) -> None:
    """The check is good on the fair study; with its fault it tells what was found, bearing and cure."""
    fair = FAIR_CHECKS[check_id].result
    # The simulated areas scatter by 0.4 %, as much as the pharmacopoeia allows for three injections.
    assert fair == "good" or check_id == "reference-repeatability"
    found = check_in(fault(FAIR), check_id)
    assert found.result == result, found
    assert STATES.search(found.detail.partition(": ")[0]), "a letter says: 'the most serious: …'"
    assert found.bearing
    assert found.cure


def test_a_blank_is_asked_for_and_looked_at() -> None:
    """No blank is 'not possible'; a blank without peaks is good; one with a marker in it is a caution."""
    assert FAIR_CHECKS["blank"].result == "not possible"
    blank = Injection("blank-1", "blank.csv", "H1", exposure_h=0.0, used=False, why="blank")
    study = replace(FAIR.study, injections=(*FAIR.study.injections, blank))
    assert check_in(replace(FAIR, study=study), "blank").result == "good"
    row = replace(FAIR.measurements.rows[1], injection="blank-1", used=False)
    measurements = replace(FAIR.measurements, rows=(*FAIR.measurements.rows, row))
    assert check_in(replace(FAIR, study=study, measurements=measurements), "blank").result == "caution"


@pytest.mark.parametrize(("share", "result"), [(0.1, "good"), (0.9, "caution")])
def test_what_the_solvent_does_at_the_hold_up_time_is_no_marker(share: float, result: str) -> None:
    """A blank shows the hold-up marker where it has a good part of its usual height, and not for a dip."""
    blank = Injection("blank-1", "blank.csv", "H1", exposure_h=0.0, used=False, why="blank")
    study = replace(FAIR.study, injections=(*FAIR.study.injections, blank))
    usual = next(row for row in FAIR.measurements.rows if row.marker == "uracil")
    height = share * (usual.peak_height or 0.0)
    assert height > 0
    row = replace(usual, injection="blank-1", used=False, peak_height=height)
    measurements = replace(FAIR.measurements, rows=(*FAIR.measurements.rows, row))
    assert check_in(replace(FAIR, study=study, measurements=measurements), "blank").result == result


@pytest.mark.parametrize(("at_h", "note", "result"), [
    (45.0, "Detector lamp exchanged.", "good"),
    (45.0, "Oven door exchanged.", "problem"),
    (75.0, "Detector lamp exchanged.", "problem"),
])  # fmt: skip
def test_a_step_of_all_areas_at_a_new_lamp_is_the_lamps(at_h: float, note: str, result: str) -> None:
    """Areas that rise together when the detector is worked on point to it; before and after they hold."""
    rows = tuple(
        replace(row, peak_area=row.peak_area * (1.34 if row.exposure_h > 45 else 1.0))
        if row.peak_area
        else row
        for row in FAIR.measurements.rows
    )
    study = replace(FAIR.study, events=(Event("part exchanged", at_h, note=note),))
    found = check_in(judged(FAIR, study, replace(FAIR.measurements, rows=rows)), "areas-conserved")
    assert found.result == result, found
    assert ("detector lamp exchanged" in found.detail) == (result == "good")


def test_every_point_of_a_fair_study_that_is_not_good_is_about_what_is_missing() -> None:
    """A fair study has no problem in its audit."""
    assert [check for check in FAIR_CHECKS.values() if check.result == "problem"] == []


def test_cautions_of_the_folder_become_checks() -> None:
    """A caution of the folder is a check, and what is missing in it is 'not possible'."""
    problems = (
        Problem("caution", "a.csv", "line 3", "a comma", "a point", "Write a point."),
        Problem("missing", "", "", "no log", "conditions.csv", "Keep a log."),
    )
    checks = {check.id: check for check in checks_of(audit(replace(FAIR, problems=problems)))}
    assert checks["folder-1"].result == "caution"
    assert checks["folder-2"].result == "not possible"
    assert checks["folder-1"].subject == "a.csv, line 3"
    # What is wrong comes first, where it is written last.
    assert checks["folder-1"].detail == "A comma; expected a point (a.csv, line 3)."


def test_ids_of_checks_are_unique() -> None:
    """No two checks share an id."""
    ids = [check.id for check in checks_of(audit(FAIR))]
    assert len(ids) == len(set(ids))


def test_blocks_stand_in_for_times_and_do_not_outweigh_them() -> None:
    """Named blocks make up for missing times; where times show one group after the other, they count."""
    blocks = {c.id: {"block": c.id[-1]} for c in FAIR.study.columns}
    blocked = replace(FAIR, study=with_columns(FAIR.study, **blocks))
    assert check_in(without_times(blocked), "order-of-running").result == "good"
    assert check_in(blocked, "order-of-running").result == "good"
    assert check_in(one_after_the_other(blocked), "order-of-running").result == "problem"


def test_a_fault_of_one_group_leaves_the_other_pairs_alone() -> None:
    """A problem with one group's columns does not bound the comparison of two others."""
    groups = {**GROUPS, "polymer": (90.0, 95.0, 88.0)}
    evidence = evidence_of(groups)
    study = with_columns(evidence.study, P1={"serial": "x"}, P2={"serial": "x"})
    points = audit(replace(evidence, study=study))
    assert bounded("shown", points, ("hybrid", "silica")) == "shown"
    assert bounded("shown", points, ("hybrid", "polymer")) == "not settled"
    assert len(all_pairs(study)) == 3


def placed(hours: Sequence[float], scatter: float = 0.004) -> Evidence:
    """Return the fair study with its injections at these exposures alone."""
    kept = {f"{c.id}-{turn:02d}": h for c in FAIR.study.columns for turn, h in enumerate(hours, start=1)}
    injections = tuple(replace(i, exposure_h=kept[i.id]) for i in FAIR.study.injections if i.id in kept)
    lives = {"H1": 60.0, "H2": 64.0, "H3": 57.0, "S1": 25.0, "S2": 27.0, "S3": 24.0}
    study = replace(FAIR.study, injections=injections)
    return judged(FAIR, study, measured(study, lives, scatter))


@pytest.mark.parametrize(
    ("hours", "result"),
    [
        ((0.0, 12.0, 60.0), "problem"),
        ((0.0, 8.0, 9.0, 60.0, 90.0), "problem"),
        ((0.0, 1.0, 3.0, 30.0, 50.0), "caution"),
        ((0.0, 0.1, 0.2, 60.0, 90.0), "good"),
    ],
)
def test_references_over_the_exposure_are_not_fresh(hours: Sequence[float], result: str) -> None:
    """References that cover much of the exposure, or over which the metric moved, are a problem."""
    found = check_in(placed(hours), "reference-fresh")
    assert found.result == result, found


def test_a_life_by_a_limit_in_its_own_unit_rests_on_no_reference() -> None:
    """Where the deciding limit is absolute, late references are a caution that weakens nothing."""
    study = placed((0.0, 8.0, 9.0, 60.0, 90.0)).study
    limits = (Limit("plate_number_half_height", at_least=5000.0, markers=("caffeine",)),)
    evidence = placed((0.0, 8.0, 9.0, 60.0, 90.0))
    evidence = judged(evidence, replace(study, limits=limits))
    found = check_in(evidence, "reference-fresh")
    assert found.result == "caution", found
    assert "rests on none" in found.detail
    about = [point for point in audit(evidence) if point.check.id == "reference-fresh"]
    assert bounded("shown", about, ("hybrid", "silica")) == "shown"


def test_no_metric_falls_by_more_than_all_of_it() -> None:
    """What moved over the references is told of the first of them, and the metric is named once."""
    fresh = placed((0.0, 2.5, 4.9, 60.0, 90.0))
    rows = tuple(
        replace(row, plate_number_half_height=(row.plate_number_half_height or 0.0) * (6.0 - row.exposure_h))
        if row.plate_number_half_height and row.exposure_h < 5.0
        else row
        for row in fresh.measurements.rows
    )
    found = check_in(judged(fresh, measurements=replace(fresh.measurements, rows=rows)), "reference-fresh")
    falls = [float(number) for number in re.findall(r"fell by ([\d.]+)", found.detail)]
    assert falls, found.detail
    assert max(falls) < 100, found.detail
    assert found.detail.count("over which the plate number") == 1


def test_left_out_injections_are_told_by_their_reason() -> None:
    """Several that were left out for one reason have it once; a pK lies within a tenth of the pH."""
    detail = check_in(left_out(FAIR), "left-out").detail
    assert len(re.findall("“", detail)) == len(set(re.findall("“.*?”", detail))), detail
    assert "lies 0.0 from" not in FAIR_CHECKS["buffer-range"].detail
    assert "lies within 0.1 of the pH" in FAIR_CHECKS["buffer-range"].detail


def test_a_life_by_references_over_the_whole_exposure_is_not_settled() -> None:
    """Where the references are all there is, nothing is settled about the groups."""
    points = audit(placed((0.0, 12.0, 60.0)))
    assert bounded("shown", points, ("hybrid",)) == "not settled"


def test_a_buffer_out_of_its_range_is_told_and_to_be_minded() -> None:
    """Ammonia at pH 10.5 lies more than one unit from its pK (9.2 at 25 °C, Bates and Pinching 1949)."""
    stress = Conditions("ammonia", 20.0, 10.5, 25.0, "acetonitrile", 25.0, 30.0, 0.4)
    evidence = replace(FAIR, study=replace(FAIR.study, stress=stress))
    found = check_in(evidence, "buffer-range")
    assert found.result == "caution"
    assert found.detail.startswith("Ammonia hardly buffers at pH 10.5")
    minded = [c.text for c in found_in(evidence).answers[0].recommendations if "-mind-" in c.id]
    assert minded == ["Ammonia hardly buffers at pH 10.5; expect the pH to drift."]
    assert FAIR_CHECKS["buffer-range"].result == "good"


def test_a_single_column_is_not_asked_whether_it_is_like_itself() -> None:
    """What asks about differences between columns is left out where there is one column."""
    ids = {check.id for check in checks_of(audit(evidence_of({"hybrid": (60.0,)})))}
    assert not ids & {"same-length", "same-bonding", "different-pieces", "different-lots", "equal-duration"}
    assert {"replicates", "same-settings", "reference-fresh"} <= ids


def test_areas_without_an_end_are_not_called_unmeasured() -> None:
    """Where every injection is a reference, areas were measured and their end was not."""
    assert "too few injections" in check_in(placed((0.0, 12.0, 60.0)), "areas-conserved").detail


def test_flags_of_the_void_marker_alone_do_not_touch_the_answer() -> None:
    """Narrow void peaks with few points are told with their number, and as no fault of the answer."""
    rows = tuple(
        replace(row, flags=("few-points",)) if row.marker == "uracil" else row
        for row in FAIR.measurements.rows
    )
    found = check_in(replace(FAIR, measurements=replace(FAIR.measurements, rows=rows)), "peaks-sound")
    assert found.result == "good"
    assert found.detail.startswith("78 of 234 peaks have fewer than eight points above half height")
    assert "void marker" in found.detail


def test_a_small_change_is_told_as_a_bound() -> None:
    """A change that rounds to nought is 'less than 0.5 %', and no interval from 0 to 0."""
    assert str(Change(0.1, -0.2, 0.3)).replace("\u2009", " ") == "less than 0.5 %"
    assert str(Change(5.2, 4.1, 6.2)).replace("\u2009", " ") == "+5 % (4 to 6)"


def test_a_life_in_a_wide_gap_is_seen_to_be_unseen() -> None:
    """A failure between injections that lie far apart is told as not closely seen."""
    evidence = dropped("09", "10", "11")(FAIR)
    assert check_in(evidence, "life-bracketed").result == "caution"
    assert (
        FAIR_CHECKS["life-bracketed"].result == "caution" or "close" in FAIR_CHECKS["life-bracketed"].detail
    )


def test_what_moves_a_single_group_is_not_laid_to_the_flow() -> None:
    """With one group a hold-up time that rose on every column may be the columns."""
    courses = {("", "uracil", "hold_up_time_min"): 0.06}
    alone = check_in(evidence_of({"hybrid": (60.0, 64.0, 57.0)}, courses=courses), "hold-up-steady")
    assert alone.detail.startswith("The hold-up time rose on three columns")
    both = check_in(evidence_of(GROUPS, courses=courses), "hold-up-steady")
    assert "all columns alike, which points to the flow" in both.detail


def _by_clock(study: Study, *events: Event, lost: float = 11.0) -> Study:
    """Return the study with exposures reckoned from a clock that stood still for `lost` hours after 40 h."""
    start = START.replace(tzinfo=None)
    columns = tuple(replace(c, exposure_start=start) for c in study.columns)
    injections = tuple(
        replace(
            one,
            clocked=True,
            at=start
            + timedelta(hours=(one.exposure_h or 0.0) + (lost if (one.exposure_h or 0.0) > 40 else 0.0)),
        )
        for one in study.injections
    )
    return replace(study, columns=columns, injections=injections, events=events)


def test_a_clock_cannot_show_that_no_column_stood_idle() -> None:
    """Where the clock alone gives the exposure a long gap is asked about, and a stated pause is named."""
    evidence = evidence_of({"alpha": (40, 42, 44), "beta": (80, 82, 84)})
    asked = check_of(found_in(replace(evidence, study=_by_clock(evidence.study, lost=25.0))), "standing-time")
    assert asked.result == "caution"
    assert "from 2026-03-04 00:00" in asked.detail
    begin = START.replace(tzinfo=None) + timedelta(hours=41)
    pause = Event("power cut", begin, begin + timedelta(hours=25))
    told = check_of(
        found_in(replace(evidence, study=_by_clock(evidence.study, pause, lost=25.0))), "standing-time"
    )
    assert told.result == "good"
    assert "less one pause" in told.detail


def _log_of(study: Study, hours: Iterable[float], flow: float) -> tuple[LoggedCondition, ...]:
    """Return a log of every column's flow, at hours by the clock since the start."""
    start = START.replace(tzinfo=None)
    return tuple(
        LoggedCondition(column.id, hour, at=start + timedelta(hours=hour), flow_mL_min=flow)
        for column in study.columns
        for hour in hours
    )


def test_a_log_that_shows_a_pump_that_stood_says_from_when_to_when() -> None:
    """A pump that stood between injections is told with the log's times; one that ran is not asked about."""
    evidence = evidence_of({"alpha": (40, 42, 44), "beta": (80, 82, 84)})
    study = _by_clock(evidence.study, lost=25.0)
    ran = [0.5 * step for step in range(290)]
    before, after = [hour for hour in ran if hour < 41], [hour for hour in ran if hour > 66]
    still = [hour for hour in ran if 41 <= hour <= 66]
    log = (
        *_log_of(study, [*before, *after], 0.4),
        *_log_of(study, still, 0.0),
    )
    stood = check_of(found_in(replace(evidence, study=replace(study, conditions=log))), "standing-time")
    assert stood.result == "caution"
    assert "by the log the pump stood on" in stood.detail.lower()
    assert "nothing shows" not in stood.detail
    assert f"to {START + timedelta(hours=66.5):%Y-%m-%d %H:%M}" in stood.detail
    assert f"from = {START + timedelta(hours=41):%Y-%m-%dT%H:%M:%S}" in stood.cure
    log = _log_of(study, ran, 0.4)
    went_on = check_of(found_in(replace(evidence, study=replace(study, conditions=log))), "standing-time")
    assert "nothing shows" not in went_on.detail


def test_injections_that_went_on_show_that_only_the_log_had_stopped() -> None:
    """A log silent for 30 h is not asked about where a column was injected every 5 h meanwhile."""
    kept = [0.5 * step for step in range(100) if not 12 < 0.5 * step < 42]
    silent = logged_by_clock(*kept)
    often = [
        replace(one, exposure_h=hour, at=START + timedelta(hours=hour))
        for one in silent.study.injections
        if (hour := (one.exposure_h or 0.0) / 2) is not None
    ]
    went_on = replace(silent, study=replace(silent.study, injections=tuple(often)))
    assert not pause_problems(checks_of(audit(went_on)))
    waited = [one for one in often if one.column != "H1" or not 12 < (one.exposure_h or 0.0) < 42]
    (asked,) = pause_problems(
        checks_of(audit(replace(silent, study=replace(silent.study, injections=tuple(waited)))))
    )
    assert "H1 from" in asked.found


def test_a_failure_of_a_peak_that_holds_more_than_its_marker_is_never_shown() -> None:
    """One group's life that rests on such a peak is bounded, and so is every comparison with it."""
    points = audit(grown_at_the_limit(FAIR))
    assert bounded("shown", audit(FAIR), ["hybrid"]) == "shown"
    assert bounded("shown", points, ["hybrid"]) == "indicated"
    assert bounded("shown", points, ["hybrid", "silica"]) == "indicated"
    assert bounded("shown", points, ["silica"]) == "shown"


LEAK = Event("leak", 38.0, 42.0, columns=("A1",))
STOP = Event("part exchanged", 38.0, 42.0)


@pytest.mark.parametrize(
    ("quantity", "check_id", "read", "event", "explained"),
    [
        ("flow_mL_min", "flow-steady", 0.36, LEAK, True),
        ("flow_mL_min", "flow-steady", 0.36, STOP, True),
        ("temperature_C", "temperature-steady", 31.0, STOP, True),
        ("temperature_C", "temperature-steady", 31.0, LEAK, False),
        ("ph", "ph-steady", 10.7, STOP, False),
        ("flow_mL_min", "flow-steady", 0.36, replace(LEAK, columns=("A2",)), False),
        ("flow_mL_min", "flow-steady", 0.36, replace(LEAK, begin=40.5), False),
    ],
)
def test_what_the_log_reads_within_a_stated_event_is_no_drift(
    quantity: str, check_id: str, read: float, event: Event, explained: bool
) -> None:
    """A reading within an event that explains it is told with the event; any other weakens the answer."""
    evidence = evidence_of({"alpha": (40, 42, 44), "beta": (80, 82, 84)})
    changed: dict[str, Any] = {quantity: read}
    log = tuple(
        replace(row, **changed) if row.column == "A1" and row.exposure_h == 40.0 else row
        for row in evidence.study.conditions
    )
    assert log != evidence.study.conditions
    study = replace(evidence.study, conditions=log, events=(event,))
    check = check_of(found_in(replace(evidence, study=study)), check_id)
    assert (check.result == "good") is explained
    assert (f"during the {event.kind}" in check.detail) is explained


BOTTLE = Event("fresh mobile phase", 45.0, note="new bottle")


def stepped(event: Event, *columns: str) -> Check:
    """Return what is said of an event at 45 h, after which the plates of these columns stand 15 % higher."""
    evidence = evidence_of({"alpha": (40, 42, 44), "beta": (80, 82, 84)})
    study = replace(evidence.study, events=(event,))
    rows = tuple(
        replace(row, plate_number_half_height=row.plate_number_half_height * 1.15)
        if row.column in columns and row.exposure_h > 45 and row.plate_number_half_height
        else row
        for row in evidence.measurements.rows
    )
    jumped = judged(evidence, study, replace(evidence.measurements, rows=rows))
    return check_of(found_in(jumped), "events")


def test_a_jump_at_a_fresh_bottle_is_told() -> None:
    """Plates that jump between the injections around a column's own event are named with it."""
    own = replace(BOTTLE, columns=("A1",))
    quiet, told = stepped(own), stepped(own, "A1")
    assert quiet.result == "good"
    assert told.result == "caution"
    assert "on A1 at the fresh mobile phase" in told.detail
    assert "15" in told.detail


@pytest.mark.parametrize("at_h", [40.0, 50.0])
def test_a_jump_does_not_rest_on_one_injection_that_stands_alone(at_h: float) -> None:
    """What one injection does right before or after an event, and no other, is that injection's."""
    lives = {"alpha": (400, 420, 440), "beta": (800, 820, 840)}
    study = study_of(lives, events=(Event("power cut", 45.0, 45.0),))
    sound = measured(study, lives_by_column(lives))

    def told(*hours: float) -> str:
        rows = tuple(
            replace(row, plate_number_half_height=row.plate_number_half_height * 0.7)
            if row.column == "B1" and row.exposure_h in hours and row.plate_number_half_height
            else row
            for row in sound.rows
        )
        (point,) = events(Evidence(study, {}, replace(sound, rows=rows), Judgement((), (), (), ())))
        return point.check.detail

    assert told(at_h) == "Nothing jumped at any of one event: power cut."
    assert "on B1 at the power cut" in told(*(hours for hours in SCHEDULE_H if hours > 45))


@pytest.mark.parametrize(
    ("left", "told"),
    [({60.0: 0.85, 70.0: 0.6, 80.0: 0.39, 90.0: 0.25, 100.0: 0.24}, False), ({100.0: 1.2}, True)],
)
def test_a_collapse_that_levels_off_at_an_event_is_no_jump(left: Mapping[float, float], told: bool) -> None:
    """Plates that fell by a third at each injection, and hardly over the last, did not jump back there."""
    lives = {"alpha": (400, 420, 440), "beta": (800, 820, 840)}
    study = study_of(lives, events=(Event("power cut", 95.0, 95.0),))
    sound = measured(study, lives_by_column(lives))
    rows = tuple(
        replace(row, plate_number_half_height=row.plate_number_half_height * left.get(row.exposure_h, 1.0))
        if row.column == "B1" and row.plate_number_half_height
        else row
        for row in sound.rows
    )
    (point,) = events(Evidence(study, {}, replace(sound, rows=rows), Judgement((), (), (), ())))
    assert ("on B1 at the power cut" in point.check.detail) is told, point.check.detail


def test_an_event_of_no_kind_is_told_by_its_note() -> None:
    """What jumped `at the other` names nothing: the event is called by what its note says of it."""
    told = stepped(Event("other", 45.0, columns=("A1",), note="Logger PC hung; pumps went on"), "A1")
    assert "on A1 at ‘logger PC hung’" in told.detail
    assert "on A1 at the event without a note" in stepped(Event("other", 45.0, columns=("A1",)), "A1").detail


def test_the_step_of_a_bottle_is_no_pace_of_the_step_beside_it() -> None:
    """A column that fell at a bottle, went on as before and soon came off did not jump at what came next."""
    evidence = evidence_of({"alpha": (40, 42, 44), "beta": (80, 82, 84)})
    own = sorted({row.exposure_h for row in evidence.measurements.rows if row.column == "A1"})
    bottle, after = (own[-4] + own[-3]) / 2, (own[-3] + own[-2]) / 2
    happened = (Event("fresh mobile phase", bottle), Event("other", after, note="logger PC hung"))
    rows = tuple(
        replace(row, plate_number_half_height=row.plate_number_half_height * 0.8)
        if row.exposure_h > bottle and row.plate_number_half_height
        else row
        for row in evidence.measurements.rows
        if row.column != "A1" or row.exposure_h < own[-1]
    )
    study = replace(evidence.study, events=happened)
    told = check_of(found_in(judged(evidence, study, replace(evidence.measurements, rows=rows))), "events")
    assert "on all columns at the fresh mobile phase" in told.detail
    assert "logger" not in told.detail, told.detail


def test_what_one_column_alone_does_at_a_shared_bottle_is_its_own() -> None:
    """A bottle that fed six columns explains a jump of two of them, and not one of a single one."""
    assert stepped(BOTTLE, "A1", "B2").result == "caution"
    alone = stepped(BOTTLE, "A1")
    assert alone.result == "good"
    assert "A1 alone stepped at the fresh mobile phase, and that is the column’s own" in alone.detail


def test_scatter_at_events_is_no_jump() -> None:
    """Of many steps one is always large: scatter alone is told at an event in one study of twenty."""
    lives = {"alpha": (400, 420, 440), "beta": (800, 820, 840), "gamma": (300, 310, 320)}
    happened = (Event("fresh mobile phase", 45.0), Event("power cut", 20.0, 20.0), Event("flush", 70.0))
    study = study_of(lives, events=happened)
    told = 0
    for seed in range(20):
        rows = measured(study, lives_by_column(lives), 0.02, seed)
        (point,) = events(Evidence(study, {}, rows, Judgement((), (), (), ())))
        told += point.check.result != "good"
    assert told <= 2


def test_of_what_was_found_on_several_groups_an_answer_names_its_own() -> None:
    """A point that consists of findings tells those of the groups in question; all where it is about all."""
    asked = Asked("events", "Did anything jump?", "It may.", "Look.")
    parts = [
        (frozenset({"alpha"}), "A1 at the flush: plates up"),
        (frozenset({"beta"}), "B1 at the flush: down"),
    ]
    point = asked.says("caution", "; ".join(words for _, words in parts), parts=parts)
    assert point.told_of(["beta"]) == "B1 at the flush: down"
    assert point.told_of(["alpha", "beta"]) == "A1 at the flush: plates up; B1 at the flush: down"
    assert point.told_of(["gamma"]) == point.check.detail.rstrip(".")


def test_what_moves_all_columns_from_day_to_day_is_no_jump_at_an_event() -> None:
    """The instrument's own days, of which one begins at a power cut, are not told of the columns."""
    evidence = evidence_of({"alpha": (40, 42, 44), "beta": (80, 82, 84)})
    cut = Event("power cut", 45.0, 45.0)
    days = (1.0, 1.03, 0.985, 1.02, 0.99)

    def moved(row: PeakRow) -> PeakRow:
        own = row.plate_number_half_height
        day = days[min(int((row.exposure_h + 3) // 24), 4)]
        return replace(row, plate_number_half_height=own * day) if own else row

    rows = tuple(moved(row) for row in evidence.measurements.rows)
    study = replace(evidence.study, events=(cut,))
    quiet = check_of(found_in(judged(evidence, study, replace(evidence.measurements, rows=rows))), "events")
    assert quiet.result == "good", quiet.detail
    one = tuple(
        replace(row, plate_number_half_height=row.plate_number_half_height * 0.88)
        if row.column == "A1" and row.exposure_h > 45 and row.plate_number_half_height
        else row
        for row in rows
    )
    told = check_of(found_in(judged(evidence, study, replace(evidence.measurements, rows=one))), "events")
    assert told.result == "caution"
    assert told.detail.endswith("on A1 at the power cut.")
    assert "A2" not in told.detail


def logged_by_clock(*hours: float) -> Evidence:
    """Return the fair study with its exposures reckoned from the clock, and H1's log kept at `hours`."""
    injections = tuple(
        replace(one, at=START + timedelta(hours=one.exposure_h or 0.0), clocked=True)
        for one in FAIR.study.injections
    )
    rows = tuple(
        LoggedCondition("H1", exposure_h=at, at=START + timedelta(hours=at), temperature_C=50.0)
        for at in hours
    )
    return replace(FAIR, study=replace(FAIR.study, injections=injections, conditions=rows))


def test_a_log_that_falls_silent_is_asked_about() -> None:
    """A log kept every 6 h, silent for 18 h: check asks whether the stress went on, naming the times."""
    even = (0.0, 6.0, 12.0, 18.0, 24.0, 30.0, 36.0)
    assert not pause_problems(checks_of(audit(logged_by_clock(*even))))
    silent = logged_by_clock(*(hour for hour in even if hour not in (18.0, 24.0)))
    # Injections that went on meanwhile would show that only the log had stopped.
    gone = [i for i in silent.study.injections if i.column != "H1" or not 12 < (i.exposure_h or 0.0) < 30]
    silent = replace(silent, study=replace(silent.study, injections=tuple(gone)))
    (asked,) = pause_problems(checks_of(audit(silent)))
    begin, end = (f"{START + timedelta(hours=hour):%Y-%m-%d %H:%M}" for hour in (12, 30))
    assert f"H1 from {begin} to {end}" in asked.found
    assert "[[event]]" in asked.cure
    told = (Event("power cut", START + timedelta(hours=13), START + timedelta(hours=25)),)
    explained = replace(silent, study=replace(silent.study, events=told))
    assert not pause_problems(checks_of(audit(explained)))


def test_an_injection_that_does_not_count_shows_that_the_column_ran() -> None:
    """Of a long gap between injections nothing is asked where one that is left out was made in it."""
    evidence = evidence_of({"alpha": (40, 42, 44), "beta": (80, 82, 84)})
    study = _by_clock(evidence.study, lost=0.0)
    bad = [f"{column.id}-{turn:02d}" for column in study.columns for turn in (7, 8)]
    out = tuple(replace(one, used=one.id not in bad, why="no peaks") for one in study.injections)
    assert not pause_problems(checks_of(audit(replace(evidence, study=replace(study, injections=out)))))
    gone = tuple(one for one in study.injections if one.id not in bad)
    (asked,) = pause_problems(checks_of(audit(replace(evidence, study=replace(study, injections=gone)))))
    assert "Nothing shows whether the stress went on in long gaps, on A1" in asked.found


def test_injections_in_a_silent_log_are_not_called_nothing() -> None:
    """A log silent for 45 h, with injections every 10 h in it, leaves open a stop between two of them."""
    kept = [float(hour) for hour in range(0, 101, 5) if not 22 < hour < 62]
    (asked,) = pause_problems(checks_of(audit(logged_by_clock(*kept))))
    assert "nothing shows" not in asked.found
    assert "injections alone show that the stress went on" in asked.found
    assert "on H1 from 2026-03-03 04:00 to 2026-03-05 01:00" in asked.found


@pytest.mark.parametrize("question", ["rate", "what-it-costs", "12"])
def test_a_check_that_was_made_again_for_a_question_keeps_its_name(question: str) -> None:
    """The id of a question, and of a further subject, shows in no sentence: the check has one short name."""
    check = check_of(found_in(FAIR), "reference-fresh")
    for name in ("reference-fresh", "reference-fresh-2", "life-bracketed"):
        again = replace(check, id=joined(name, question))
        assert brief(again) == BRIEF[name.removesuffix("-2")], again.id


def test_each_check_has_a_short_name() -> None:
    """Whatever the answer names of the audit has a name in the words of the trade."""
    unnamed = [one.id for one in found_in(FAIR).checks if brief(one) not in BRIEF.values()]
    assert not unnamed
