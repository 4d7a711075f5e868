"""Sentences that a messy study brought out: each says who or what it is about, once, and is true."""

import re
from dataclasses import replace

import pytest

from lyewitness.decline.records import GroupLife, Life
from lyewitness.findings.answer.answering import against_words, pointing, sign_claims
from lyewitness.findings.answer.claims import corrected_words
from lyewitness.findings.answer.lives_words import each_life
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.audit.injections import peaks_found
from lyewitness.findings.audit.results import earlier_words
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.buffers import facts
from lyewitness.findings.records import DoubtfulInjection, Sign
from lyewitness.peaks.records import Measurements
from lyewitness.study.questions import named_groups
from lyewitness.study.records import Conditions, Limit, Marker, Question
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import mid_sentence
from tests.findings.making import check_of, evidence_of, found_in, judged, study_of

SINGLE = {"alkyl": (30.0,), "alkyl with guard": (60.0,), "amide": (45.0,), "amide with guard": (80.0,)}


@pytest.fixture(scope="module")
def single() -> Evidence:
    """Return four types, one column of each."""
    return evidence_of(SINGLE)


def plain(text: str) -> str:
    """Return text with ordinary blanks."""
    return text.replace("\u2009", " ")


def test_pairs_that_want_the_same_are_one_plan(single: Evidence) -> None:
    """Six pairs of single columns make one plan, not the same sentence six times."""
    plans = [c.text for c in found_in(single).answers[0].next_experiments if "to failure" in c.text]
    assert plans == [
        "To tell the columns of alkyl, alkyl with guard, amide and amide with guard apart, run at least "
        "three columns of each, from different lots, to failure: how much columns of one type differ is not "
        "known yet, so the number cannot be computed."
    ]


def test_what_happened_to_one_column_is_told_as_past(single: Evidence) -> None:
    """A single column lasted until something fell, a typical one lasts until it falls."""
    claims = [claim.text for claim in found_in(single).answers[0].claims if "-life-" in claim.id]
    assert len(claims) == 4
    assert all("lasted" in text and "fell below" in text for text in claims), claims
    several = found_in(evidence_of({"hybrid": (60.0, 64.0, 57.0)})).answers[0].claims
    assert any("lasts" in claim.text and "falls below" in claim.text for claim in several)


def test_a_span_beyond_the_test_is_told_as_not_run() -> None:
    """Five days asked after a test of 100 h: nobody knows, because none was run for so long."""
    evidence = evidence_of(
        {"hybrid": (900.0, 950.0, 880.0)}, questions=(Question("q1", "Will they last five days?"),)
    )
    short = plain(found_in(evidence).answers[0].short)
    assert "none of the three tested was run for more than 100 h" in short, short
    assert "three have lives" not in short


def test_no_fact_of_the_chemistry_is_without_a_subject() -> None:
    """What cannot be computed is named in the sentence that says so."""
    study = study_of({"hybrid": (60.0,)}, stress=Conditions(buffer="mystery"), test=Conditions())
    markers = (*study.markers[:2], Marker("aniline", "base", 3.0))
    told = facts(replace(study, markers=markers), Measurements(()))
    texts = [fact.text for fact in told]
    assert any("cannot be computed" in text for text in texts)
    assert not any(text.startswith("It ") for text in texts), texts


def test_an_ion_is_not_told_in_figures_that_repeat_themselves() -> None:
    """An acid at a pH six units above its pKa bears a charge, and no drift of pH moves its retention."""
    medium = Conditions("ammonia", 15, 10.3, 25, "methanol", 45, 50, 0.35, 220, 1.0)
    study = study_of({"hybrid": (60.0,)}, stress=medium, test=medium)
    study = replace(study, markers=(*study.markers, Marker("benzoate", "acid", 1.2, pka=4.2)))
    (fact,) = [one for one in facts(study, Measurements(())) if one.id == "ionisation-benzoate"]
    assert "more than 99.9" in fact.text
    assert "100.0" not in fact.text
    assert "leaves alone" in fact.bearing


def test_other_limits_are_named_once_each() -> None:
    """A metric that failed first on several columns is named once, with these columns and their lives."""
    passed = {
        "H1": ("plates of x", Estimate(30.2, 28.4, 33.1)),
        "H2": ("plates of y", Estimate(104.0, 101.0, 107.0)),
        "H3": ("plates of x", Estimate(28.7, 20.6, 29.9)),
    }
    told = "plates of x on H1 and H3 between 20 and 34 h and plates of y on H2 between 100 and 110 h"
    assert plain(earlier_words(passed)) == told


def test_one_lot_is_told_in_a_sentence() -> None:
    """`All of hybrid from lot 77` has no verb; the columns are from it."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0)})
    columns = tuple(replace(column, lot="77") for column in evidence.study.columns)
    evidence = judged(evidence, replace(evidence.study, columns=columns))
    assert check_of(found_in(evidence), "different-lots").detail.startswith(
        "All hybrid columns are from lot 77"
    )


def test_one_flagged_peak_has_and_two_have() -> None:
    """Numbers of peaks are spelled, and agree with their verbs."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0)})
    rows = list(evidence.measurements.rows)
    marked = [place for place, row in enumerate(rows) if row.marker == "caffeine"]
    for place, flag in zip(marked, ("low-signal", "disturbed", "disturbed"), strict=False):
        rows[place] = replace(rows[place], flags=(flag,))
    evidence = replace(evidence, measurements=Measurements(tuple(rows)))
    detail = check_of(found_in(evidence), "peaks-sound").detail
    assert "one has a signal-to-noise ratio below 10" in detail, detail
    assert "Two of 117 peaks bear a bubble" in detail, detail


def test_a_short_name_in_capitals_names_its_group() -> None:
    """`Will V last two days?` is about the V type, and `R or Q` about these lots."""
    assert named_groups("will V last two days?", ("V type", "W type")) == ("V type",)
    assert named_groups("Which lasts longer, R or Q?", ("lot R", "lot Q", "lot S")) == ("lot R", "lot Q")
    assert named_groups("Which is best?", ("lot R", "lot Q")) == ()


def test_running_on_is_one_plan_with_one_warning() -> None:
    """Two groups that did not fail are to be run on, and the warning stands once."""
    evidence = evidence_of({"hybrid": (300.0, 310.0, 290.0), "polymer": (400.0, 420.0, 390.0)})
    (text,) = [c.text for c in found_in(evidence).answers[0].next_experiments if "on to about" in c.text]
    assert text.count("a plan and no result") == 1
    assert text.count("on to about") == 2


def test_peaks_that_doubtful_injections_lack_are_told_with_these() -> None:
    """A blank that counts lacks its peaks, and no cure for lost peaks is asked for."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0)})
    name = evidence.study.injections[6].id
    rows = tuple(
        replace(row, found=False, plate_number_half_height=None, retention_time_min=None, peak_area=None)
        if row.injection == name
        else row
        for row in evidence.measurements.rows
    )
    doubtful = (DoubtfulInjection(name, "no injection", "no peak", ""),)
    evidence = replace(evidence, measurements=Measurements(rows), doubtful=doubtful)
    (point,) = peaks_found(evidence)
    assert point.check.result == "good"
    assert "three that are lacking in doubtful injections" in point.check.detail


def test_a_log_that_falls_silent_is_no_good_log() -> None:
    """Readings that stop for more than a quarter of the exposure are told with their hours and columns."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0)})
    kept = tuple(row for row in evidence.study.conditions if not 25 < (row.exposure_h or 0.0) < 75)
    evidence = replace(evidence, study=replace(evidence.study, conditions=kept))
    check = check_of(found_in(evidence), "ph-logged")
    assert check.result == "caution"
    assert plain(check.detail) == "The log of the pH is silent from 20 to 80 h on all three columns."


def test_a_second_mechanism_of_a_group_is_told_as_one_more() -> None:
    """Two sentences that say `the signs point to …` of one group would contradict each other."""
    scope = Scope(Question("q1", "Why?"), ("hybrid",), ("", ""), None)
    first, second = (
        pointing(scope, "hybrid", {mechanism: ["H1", "H2"]}, 2, (), also=place > 0).text
        for place, mechanism in enumerate(("uncovered silanols", "loss of bonded phase"))
    )
    assert first == "On both hybrid columns the signs point to uncovered silanols."
    assert second == "On both hybrid columns the signs also point to loss of bonded phase."


def _sign(column: str, mechanism: str, support: int, *against: str) -> Sign:
    return Sign(column, mechanism, "speaks for", against, (), against, (), support, explains=True)


def test_a_column_whose_own_signs_point_elsewhere_is_told_apart() -> None:
    """One of four that lost its phase, whose bed failed before that, is not counted to `all four`."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0, 30.0)})
    scope = Scope(Question("q1", "Why?"), ("hybrid",), ("caffeine", "plate_number_half_height"), None)
    bonded, void = "loss of bonded phase", "dissolving particles and a void at the inlet"
    signs = [_sign(f"H{n}", bonded, 4) for n in (1, 2, 3)]
    signs += [_sign("H4", bonded, 2, "Plates of neutrals: 13 %."), _sign("H4", void, 5)]
    told = [claim.text for claim in sign_claims(evidence, scope, signs) if bonded in claim.text]
    assert told == [f"On three of four hybrid columns the signs point to {bonded}; on H4 rather to {void}."]


def test_what_speaks_against_is_told_in_its_number() -> None:
    """Plates of neutrals `speak` against a mechanism, as a hold-up time `speaks`."""
    mechanism = "loss of bonded phase"
    for what, verb in (("Plates of neutrals", "speak"), ("Hold-up time", "speaks")):
        signs = [_sign("H1", mechanism, 4, f"{what}: 13 %. Against it.")]
        named = {mechanism: ["H1"]}
        assert against_words(named, signs) == f"{mid_sentence(what)} {verb} against {mechanism}"


def test_pairs_that_want_the_same_number_of_columns_are_one_plan() -> None:
    """Three types of like lives, several columns each, want one plan with its number, not three."""
    several = {"alkyl": (55.0, 60.0, 66.0), "amide": (54.0, 61.0, 65.0), "phenyl": (56.0, 60.0, 64.0)}
    plans = [c.text for c in found_in(evidence_of(several)).answers[0].next_experiments if "power" in c.text]
    numbers = [plan.split(" with a power of ")[1] for plan in plans]
    assert plans
    assert len(set(numbers)) == len(numbers), plans


def test_what_survivors_did_is_told_as_past() -> None:
    """Of columns that stayed within the limit it is told that they lasted, not that others last."""
    found = found_in(evidence_of({"hybrid": (900.0, 950.0, 880.0)})).answers[0]
    (life,) = [claim.text for claim in found.claims if "-life-" in claim.id]
    assert "lasted at least" in life, life
    assert "without the plate number (half height) of caffeine falling below" in life
    assert " last at least" not in " ".join((found.short, life))


def test_a_group_holds_no_longer_than_each_of_its_columns_surely_did() -> None:
    """Neither of one column nor of several is the group's conservative life later than any column's own."""
    evidence = evidence_of({"hybrid": (60.0,), "polymer": (40.0, 75.0, 82.0), "amide": (55.0, 300.0)})
    for life in evidence.judgement.group_lives:
        own = [evidence.decline(column, life.marker, life.metric) for column in life.columns]
        bounds = [one.life.conservative_h for one in own if one is not None and one.life.conservative_h]
        bound = life.life.conservative_h
        assert bound is None or bound <= min(bounds, default=float("inf"))


def test_when_the_first_failed_is_told_with_how_surely() -> None:
    """A moment of failure in a sentence bears the interval that the table has."""
    found = found_in(evidence_of({"hybrid": (60.0, 300.0, 280.0)})).answers[0]
    (life,) = [plain(claim.text) for claim in found.claims if "-life-" in claim.id]
    assert re.search(r"that one failed (between [\d.]+ and|after [\d.]+ h \([\d.]+ to)", mid(life)), life


def mid(text: str) -> str:
    """Return text in small letters, as a clause stands in a sentence."""
    return text.lower()


def test_one_column_against_several_gives_no_ratio_in_words() -> None:
    """The ratio of one column's life to a group's has no interval that counts how far columns differ."""
    found = found_in(evidence_of({"hybrid": (60.0, 64.0, 57.0), "polymer": (90.0,)})).answers[0]
    (pair,) = [plain(claim.text) for claim in found.claims if "-pair-" in claim.id]
    assert "Only one polymer column was tested" in pair
    assert "life ratio" not in pair


def test_points_that_are_counted_are_named() -> None:
    """Of several points that weaken an answer the most serious is told, and what the other is."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0), "silica": (25.0,)})
    columns = tuple(replace(one, lot=f"lot {one.group}") for one in evidence.study.columns)
    found = found_in(judged(evidence, replace(evidence.study, columns=columns)))
    said = found.answers[0].how_sure
    assert "only one silica column was tested; the other: all hybrid columns are from lot hybrid" in said, (
        said
    )
    assert re.search(r"more should be kept in mind: \w+", said), said


def test_a_p_value_names_another_question_by_its_words() -> None:
    """An id that nobody wrote names nothing; of a late question it is said why another's are counted."""
    asked = Question("q1", "Which of the two should we put into the method for the amide?")
    scope = Scope(Question("tail", "Does the base tail?"), ("A", "B"), ("", ""), None, beside=(asked,))
    comparison = evidence_of({"hybrid": (60.0, 64.0), "silica": (25.0, 27.0)}).judgement.comparisons[0]
    of_first = replace(comparison, corrected_over=7, of_question="q1")
    told = "corrected for the seven comparisons of the question ‘Which of the two should we put…’"
    assert corrected_words(of_first, scope) == told
    late = replace(scope, is_late=True)
    assert corrected_words(of_first, late) == f"{told}: this one was asked after the last injection"
    own = replace(of_first, of_question="tail")
    assert corrected_words(own, late) == "corrected for seven comparisons"


def test_a_life_that_came_back_stands_beside_the_others_as_its_story() -> None:
    """`At least 87 h for A; column K7 of B passed the limit …`, and never `passed the limit … for B`."""
    story = Life("unclear", bracket_h=(8.0, 20.0), recovered_h=(22.0, 26.0))
    limit = Limit("plate_number_half_height", at_least_percent=80.0)
    held = Life("not reached", Estimate(None, 87.7))
    lives = [
        GroupLife("A", "caffeine", limit.metric, limit, ("K1", "K2"), ("not reached",) * 2, held),
        GroupLife("B", "caffeine", limit.metric, limit, ("K7",), ("unclear",), story),
    ]
    assert each_life(lives).replace("\u2009", " ") == (
        "at least 87.7 h for A; column K7 of B passed the limit between 8 and 20 h and was within it again "
        "from 26 h on"
    )


def test_what_speaks_against_a_mechanism_stands_beside_it() -> None:
    """Bases that tail and are not held back: the claim names what does not fit uncovered silanols."""
    tailing = {("", "aniline", "symmetry_factor"): 0.8}
    claims = found_in(evidence_of({"hybrid": (60.0, 64.0, 57.0)}, tailing)).answers[0].claims
    (told,) = [claim.text for claim in claims if "uncovered silanols" in claim.text]
    assert "Retention of bases beside neutrals speaks against uncovered silanols." in told, told
