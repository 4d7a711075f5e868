"""What ran off the plan, is left out, or counts though it looks wrong is said beside the answer."""

import re
from dataclasses import replace
from datetime import timedelta

from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.answer.reservations import reservations
from lyewitness.findings.answer.stress_words import conditions_words
from lyewitness.findings.audit.auditing import audit
from lyewitness.findings.audit.conditions import steady
from lyewitness.findings.audit.points import BRIEF, Asked, bearing_on
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import DoubtfulInjection, Report
from lyewitness.outputs.letter import render_letter
from lyewitness.study.records import Event, Factor, Limit, LoggedCondition, Question, Study
from lyewitness.words.numbers import THIN_SPACE
from tests.findings.making import START, evidence_of, found_in, judged, with_columns

LIVES = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}
HOT = "H2 ran 2.9 °C above the stated 50 °C throughout (52.7 to 53.0 by the log)."


def plain(text: str) -> str:
    """Return `text` with usual blanks before its units."""
    return text.replace(THIN_SPACE, " ").replace("\u00a0", " ")


def hot(study: Study) -> Study:
    """Return the study with the oven of H2 warm and steady."""
    warm = [52.7, 53.0]
    rows = tuple(
        replace(row, temperature_C=warm[place % 2]) if row.column == "H2" else row
        for place, row in enumerate(study.conditions)
    )
    return replace(study, conditions=rows)


def letter(evidence: Evidence, theme: Theme) -> str:
    """Return the letter to the first question, as running text."""
    found = found_in(evidence)
    report = Report(evidence.study, evidence.traces, evidence.measurements, evidence.judgement, found, ())
    _, text = render_letter(document_of(report, (), theme), found.answers[0])
    return plain(" ".join(text.split()))


def test_an_oven_off_its_plan_from_start_to_end_is_named(daylight: Theme) -> None:
    """A steady oven three degrees off did not move: audit, answer and letter say by how much it was off."""
    evidence = evidence_of(LIVES)
    evidence = replace(evidence, study=hot(evidence.study))
    (said,) = [p.check.detail for p in steady(evidence) if p.check.id == "temperature-steady"]
    assert plain(said) == HOT
    # A steady oven is not called unsteady alone where an answer names the check in a word.
    assert BRIEF["temperature-steady"] == "unsteady or unplanned temperature"
    assert plain(found_in(evidence).answers[0].how_sure).startswith(HOT)
    assert HOT in letter(evidence, daylight)


def test_a_column_under_its_own_stress_is_left_out_by_name(daylight: Theme) -> None:
    """Where a column's own temperature is stated, the answer says who is left out, and counts the others."""
    evidence = evidence_of(LIVES)
    evidence = judged(evidence, with_columns(evidence.study, H2={"temperature_C": 53.0}))
    answer = found_in(evidence).answers[0]
    how_sure = plain(answer.how_sure)
    out = "H2 is left out of the comparison: it ran at 53 °C, which is harder, and failed after 64 h (60 to"
    assert how_sure.startswith(out), how_sure
    assert "this rests on two hybrid and three silica columns" in how_sure.lower()
    assert not any("three hybrid" in claim.text for claim in answer.all_claims if "watch" in claim.text)
    said = letter(evidence, daylight)
    assert "H2 is left out of the comparison" in said
    assert "50 °C" in plain(conditions_words(evidence.study))
    assert "50 °C, 30 % acetonitrile" in said


def test_how_a_column_ended_that_is_left_out_is_told() -> None:
    """What failed under a milder stress did so all the same; what held under a harder one is told, too."""
    lives = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 400.0, 24.0)}
    evidence = evidence_of(lives)
    study = with_columns(evidence.study, H2={"temperature_C": 46.0}, S2={"temperature_C": 54.0})
    how_sure = plain(found_in(judged(evidence, study)).answers[0].how_sure)
    assert (
        "H2 is left out of the comparison: it ran at 46 °C, which is milder, and failed all the same after 64"
        in (how_sure)
    )
    held = r"S2 .* at 54 °C, which is harder, and (passed no|did not pass this) limit in \d+ h all the same\."
    assert re.search(held, how_sure), how_sure
    study = with_columns(evidence.study, H2={"ph": 11.0, "temperature_C": 54.0})
    both_ways = plain(found_in(judged(evidence, study)).answers[0].how_sure)
    assert "ran at pH 11 and 54 °C, and failed after 64 h" in both_ways


def test_an_answer_by_the_limits_of_one_marker_says_so() -> None:
    """Another answer from the same study tells lives by all limits; where no other ended one, nothing."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0),
        Limit("retention_factor", at_least_percent=80.0, markers=("aniline",)),
    )
    courses = {(column, "aniline", "retention_factor"): -0.5 for column in ("S1", "S2", "S3")}
    text = "lives here are by the limits of caffeine alone, as asked."
    for marker, told in (("caffeine", True), ("aniline", False)):
        question = Question("q", "Which type lasts longer?", markers=(marker,))
        evidence = evidence_of(LIVES, courses=courses, limits=limits, questions=(question,))
        how_sure = found_in(evidence).answers[0].how_sure.lower()
        assert (text in how_sure) is told, how_sure


def test_the_audit_of_a_comparison_is_of_what_is_compared(daylight: Theme) -> None:
    """A column that another stress left out weighs on no pair: not by its setting, its oven or its number."""
    evidence = evidence_of(LIVES)
    rows = tuple(
        replace(row, temperature_C=60.0) if row.column == "H2" else row for row in evidence.study.conditions
    )
    study = with_columns(replace(evidence.study, conditions=rows), H2={"temperature_C": 60.0, "lot": "x"})
    evidence = judged(evidence, study)
    checks = {point.check.id: point for point in audit(evidence)}
    settings = checks["same-settings"].check
    assert settings.result == "good"
    assert "H2, at 60 °C and pH 11.3, is left out of the comparison" in plain(settings.detail)
    assert checks["temperature-alike"].check.result == "good"
    assert checks["replicates"].check.detail == "Only two hybrid columns were tested at these conditions."
    assert "settings" not in letter(evidence, daylight)
    # What is wrong with it alone is told of it, and weakens nothing else.
    odd = [replace(row, ph=10.9 + 0.1 * (place % 9)) if row.column == "H2" else row
           for place, row in enumerate(rows)]  # fmt: skip
    moved = judged(evidence, replace(study, conditions=tuple(odd)))
    (steady_ph,) = [point for point in audit(moved) if point.check.id == "ph-steady"]
    assert steady_ph.check.subject == "H2"
    assert not steady_ph.pairs
    assert "unsteady pH" not in found_in(moved).answers[0].how_sure


def test_what_a_design_does_not_vary_is_left_out_by_name() -> None:
    """A column under its own stress without a level of the design is named; one with a level is compared."""
    study = with_columns(evidence_of(LIVES).study, H2={"temperature_C": 53.0})
    out = "H2 is left out of the comparison: it ran at 53 °C, which is harder."
    without = replace(study, factors=(Factor("guard", {"none": ("H1", "S1"), "guard": ("H3", "S3")}),))
    assert [plain(one) for one in reservations(without, (), ("hybrid",))] == [out]
    varied = replace(study, factors=(Factor("oven", {"usual": ("H1", "H3"), "warm": ("H2",)}),))
    assert reservations(varied, (), ("hybrid",)) == ()


def test_what_is_settled_with_a_column_off_plan_alone_is_told_so(daylight: Theme) -> None:
    """Without the hot column the pair is open: audit, answer and letter say so, and call nothing harmless."""
    evidence = evidence_of({"hybrid": (62.0, 50.0, 56.0), "silica": (40.0, 48.0, 36.0)})
    rows = tuple(
        replace(row, temperature_C=(52.7, 53.0)[place % 2]) if row.column == "H1" else row
        for place, row in enumerate(evidence.study.conditions)
    )
    off = replace(evidence, study=replace(evidence.study, conditions=rows))
    told = "Without H1 the lives of hybrid and silica could not be told apart."
    found = found_in(off)
    (check,) = [one for one in found.checks if one.id == "unplanned-left-out"]
    assert check.result == "problem"
    assert "hybrid against silica: not settled" in check.detail
    assert told in found.answers[0].how_sure
    assert found.answers[0].claims[0].strength == "indicated"
    assert told in letter(off, daylight)
    # Without a column off plan nobody asks; where the pair holds without it, that is said to be good.
    assert "unplanned-left-out" not in {one.id for one in found_in(evidence).checks}
    firm = replace(evidence_of(LIVES), study=replace(evidence_of(LIVES).study, conditions=rows))
    (check,) = [one for one in found_in(firm).checks if one.id == "unplanned-left-out"]
    assert check.result == "good"


def test_nothing_is_called_harmless_beside_what_an_answer_has_to_say_first() -> None:
    """‘None is serious’ stands by no column off plan, and by no lot that is the only one or not stated."""
    question = Question("q", "Do the hybrid columns last 30 h?", groups=("hybrid",), span_h=30.0)
    evidence = evidence_of(LIVES, questions=(question,))
    rows = [
        replace(row, exposure_h=row.exposure_h and row.exposure_h / 3) for row in evidence.study.conditions
    ]
    short = replace(evidence.study, conditions=tuple(rows))
    plain_words = found_in(replace(evidence, study=short)).answers[0].how_sure
    assert "none is serious" in plain_words
    for study in (
        hot(short),
        with_columns(short, H1={"lot": ""}, H2={"lot": ""}, H3={"lot": ""}),
        with_columns(short, H1={"lot": "7"}, H2={"lot": "7"}, H3={"lot": "7"}),
    ):
        assert "serious" not in found_in(replace(evidence, study=study)).answers[0].how_sure


def test_an_answer_about_one_type_says_that_its_columns_are_of_one_lot() -> None:
    """What is said of a type from one lot is of that lot; of lots that nobody stated it may be."""
    question = Question("q", "Do the hybrid columns last 30 h?", groups=("hybrid",), span_h=30.0)
    evidence = evidence_of(LIVES, questions=(question,))
    one = with_columns(evidence.study, H1={"lot": "7"}, H2={"lot": "7"}, H3={"lot": "7"})
    sure = found_in(replace(evidence, study=one)).answers[0].how_sure
    assert "this rests on three hybrid columns of one lot (7)" in sure.lower()
    none = with_columns(evidence.study, H1={"lot": ""})
    none = with_columns(none, H2={"lot": ""})
    sure = found_in(replace(evidence, study=none)).answers[0].how_sure
    assert "three hybrid columns, whose lots are not all stated" in sure
    none = with_columns(none, H3={"lot": ""})
    sure = found_in(replace(evidence, study=none)).answers[0].how_sure
    assert "three hybrid columns, whose lots are not stated" in sure


def test_what_could_explain_a_difference_most_is_named_first() -> None:
    """Of points that bound an answer alike lots come first, then temperature and pH, and volumes last."""
    names = ("equal-exposure", "ph-alike", "temperature-alike", "different-lots", "replicates")
    points = {
        name: Asked(name, "?", "It bears.", "Mend it.").says(
            "caution", name, bound="indicated", groups=["hybrid"]
        )
        for name in names
    }
    points["slight"] = replace(points["different-lots"], slight=True)
    found = [point.check.id for point in bearing_on(points.values(), ["hybrid"])]
    assert found == [*reversed(names), "different-lots"]


def test_volumes_nearly_alike_are_slight() -> None:
    """9 % more column volumes an hour explain no difference that types differ by."""
    for times, slight in ((1.09, True), (1.6, False)):
        evidence = evidence_of(LIVES, cv_per_h={"hybrid": 80.0 * times, "silica": 80.0})
        points = [point for point in audit(evidence) if point.check.id.startswith("equal-exposure")]
        assert [point.slight for point in points] == [slight], points


def test_a_letter_counts_the_smaller_points(daylight: Theme) -> None:
    """Its reader can look up none of what the answer in the report lists."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0), "silica": (25.0,)})
    assert "more should be kept in mind: " in found_in(evidence).answers[0].how_sure
    said = letter(evidence, daylight)
    assert "kept in mind" not in said
    assert re.search(r"The report lists \w+ smaller points?\.", said), said


def test_a_difference_has_the_p_value_of_those_that_are_settled(daylight: Theme) -> None:
    """Beside an open pair the largest p value is said to be that of the settled differences alone."""
    three = {"hybrid": (60.0, 64.0, 57.0), "coated": (24.0, 28.0, 26.0), "silica": (25.0, 27.0, 24.0)}
    sure = found_in(evidence_of(three)).answers[0].how_sure
    assert "each of the two settled differences has p" in plain(sure)


def test_a_letter_tells_a_power_cut_and_who_was_taken_out_early(daylight: Theme) -> None:
    """The span of a test is not that of a column taken out of it, nor were all hours without a stop."""
    evidence = evidence_of(LIVES)
    started = [replace(one, exposure_start=START) for one in evidence.study.columns]
    cut = Event("power cut", START + timedelta(hours=40), START + timedelta(hours=47))
    leak = Event(
        "pause", START + timedelta(hours=20), START + timedelta(hours=21), ("H1",), note="Pumps and ovens off"
    )
    study = replace(evidence.study, columns=tuple(started), events=(leak, cut))
    rows = tuple(row for row in evidence.measurements.rows if row.column != "S2" or row.exposure_h < 45)
    said = letter(judged(evidence, study, replace(evidence.measurements, rows=rows)), daylight)
    assert "for up to 100 h; beyond that we cannot tell. S2 was last injected at 40 h." in said
    assert "The stress paused for 7 h after 40 h of exposure (power cut)." in said
    assert "Pumps and ovens were off for 1 h, after 20 h of exposure on H1." in said


def test_injections_that_look_wrong_are_told_as_counted() -> None:
    """What `check` found wrong and nobody left out is said to be counted, of the groups in question only."""
    study = evidence_of(LIVES).study
    doubtful = [DoubtfulInjection(name, "leak", "seen", "") for name in ("H1-05", "H1-07", "S1-03")]
    assert reservations(study, doubtful, ("hybrid",)) == (
        "Two injections that look wrong are counted (H1-05 and H1-07).",
    )
    assert reservations(study, doubtful[2:], ("silica",)) == (
        "One injection that looks wrong is counted (S1-03).",
    )
    assert reservations(study, doubtful[:2], ("silica",)) == ()


def test_the_ph_of_a_lone_column_is_not_that_of_all() -> None:
    """The conditions of an answer are those of its groups' columns, a column that went further by itself."""
    study = evidence_of(LIVES).study
    lows = {"H1": 11.1, "H2": 11.12, "H3": 11.1, "S1": 11.1, "S2": 10.9, "S3": 11.1}
    rows = tuple(
        LoggedCondition(name, exposure_h=h, ph=ph)
        for name, low in lows.items()
        for h, ph in ((0, 11.3), (9, low))
    )
    study = replace(study, conditions=rows)
    assert "pH 11.3 by plan and 11.10 to 11.30 by the log" in conditions_words(study, ("hybrid",))
    assert "11.10 to 11.30 by the log, 10.90 to 11.30 on S2" in conditions_words(study)
