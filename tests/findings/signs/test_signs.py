"""Failure signs: each mechanism is named by its signs; what cannot be told apart is named together."""

import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.records import ModelFit
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Sign
from lyewitness.findings.signs.observations import OBSERVABLES
from lyewitness.findings.signs.weighing import (
    BLOCKED,
    BONDED,
    DECAY,
    FLOW,
    MECHANISMS,
    PH,
    RULES,
    SETTLED,
    SILANOLS,
    SKIN,
    TEMPERATURE,
    VOID,
    read_signs,
    signs_of,
)
from lyewitness.study.records import Limit, StudyImage
from lyewitness.words.numbers import interval
from tests.findings.making import Courses, evidence_of, found_in, judged, with_columns

STEADY: Mapping[str, tuple[float, ...]] = {"hybrid": (1e6,) * 3, "silica": (1e6,) * 3}
K, N, AS, T0, AREA = (
    "retention_factor", "plate_number_half_height", "symmetry_factor", "hold_up_time_min", "peak_area",
)  # fmt: skip


def signs_on(evidence: Evidence, column: str = "H1") -> dict[str, Sign]:
    """Return the signs on one column by mechanism."""
    return {sign.mechanism: sign for sign in signs_of(evidence, column)}


def favoured(evidence: Evidence, column: str = "H1") -> set[str]:
    """Return the mechanisms that the signs on a column speak for."""
    return {
        mechanism for mechanism, sign in signs_on(evidence, column).items() if sign.verdict == "speaks for"
    }


def pressed(evidence: Evidence, column: str, change: float) -> Evidence:
    """Let the logged pressure of a column change over the exposure."""
    rows = tuple(
        replace(row, pressure_bar=200.0 * (1 + change * (row.exposure_h or 0.0) / 100.0))
        if row.column == column
        else row
        for row in evidence.study.conditions
    )
    return judged(evidence, replace(evidence.study, conditions=rows))


ONE: tuple[tuple[str, Courses], ...] = (
    (BONDED, {("H1", "caffeine", K): -0.2, ("H1", "aniline", K): -0.2}),
    (VOID, {("H1", "caffeine", N): -0.5, ("H1", "aniline", N): -0.5, ("H1", "uracil", T0): 0.06}),
    (SILANOLS, {("H1", "aniline", AS): 0.6, ("H1", "aniline", K): 0.1}),
    (PH, {("", "aniline", K): -0.15}),
    (FLOW, {("", "caffeine", T0): 0.08, ("", "uracil", T0): 0.08, ("", "aniline", T0): 0.08}),
    (TEMPERATURE, {("", "caffeine", K): 0.1, ("", "aniline", K): 0.1}),
    (DECAY, {("", "caffeine", AREA): -0.4, ("", "aniline", AREA): -0.4}),
)


@pytest.mark.parametrize(("mechanism", "courses"), ONE, ids=[name for name, _ in ONE])
def test_each_mechanism_is_named_by_its_own_signs(mechanism: str, courses: Courses) -> None:
    """What moves as a mechanism moves it speaks for that mechanism, and for no other."""
    assert favoured(evidence_of(STEADY, courses=courses, conditions=())) == {mechanism}


@pytest.mark.parametrize(("mechanism", "courses"), ONE[3:6], ids=[name for name, _ in ONE[3:6]])
def test_a_steady_log_speaks_against_a_drift(mechanism: str, courses: Courses) -> None:
    """Where the log shows pH, flow and temperature steady, a drift of them is not named."""
    assert signs_on(evidence_of(STEADY, courses=courses))[mechanism].verdict == "speaks against"


def test_a_logged_drift_speaks_for_it() -> None:
    """A base that moves on all columns while the logged pH falls speaks for a drifting pH."""
    evidence = evidence_of(STEADY, courses={("", "aniline", K): -0.15})
    rows = tuple(replace(row, ph=11.3 - 0.005 * (row.exposure_h or 0.0)) for row in evidence.study.conditions)
    assert favoured(replace(evidence, study=replace(evidence.study, conditions=rows))) == {PH}


def test_a_steady_column_speaks_for_nothing() -> None:
    """Where nothing moves, the signs speak for nothing, and against what would surely have moved."""
    evidence = evidence_of(STEADY)
    assert favoured(evidence) == set()
    against = {m for m, sign in signs_on(evidence).items() if sign.verdict == "speaks against"}
    assert {BONDED, VOID, SILANOLS, PH, FLOW, DECAY} <= against


def test_a_blocked_inlet_is_named_by_its_pressure() -> None:
    """Pressure that rises while retention and hold-up time stay speaks for a blocked inlet."""
    courses = {("H1", "caffeine", AS): 0.3, ("H1", "aniline", AS): 0.3}
    assert favoured(pressed(evidence_of(STEADY, courses=courses), "H1", 0.8)) == {BLOCKED}


def test_without_a_change_of_hold_up_time_dissolution_and_settling_are_named_together() -> None:
    """Plates that fall at an unchanged hold-up time fit a dissolving and a settled bed alike."""
    courses = {("H1", marker, N): -0.5 for marker in ("caffeine", "aniline")}
    evidence = evidence_of(STEADY, courses={**courses, ("H1", "caffeine", AS): 0.4})
    assert SETTLED in favoured(evidence)
    assert VOID in (*favoured(evidence), *signs_on(evidence)[SETTLED].indistinct_from)


def test_a_loss_of_plates_alone_names_no_void() -> None:
    """A void shows by a sign of its own: a split or a front, more hold-up time, a picture, or silica in hot
    alkali, where that the bed only settled is not named."""
    plates = {("H1", marker, N): -0.5 for marker in ("caffeine", "aniline")}
    cases: tuple[tuple[Courses, float, bool], ...] = (
        ({}, 8.0, False),
        ({("H1", "uracil", T0): 0.04}, 8.0, True),
        ({}, 10.5, True),
    )
    for more, ph, named in cases:
        evidence = evidence_of(STEADY, courses={**plates, ("H1", "caffeine", AS): 0.4, **more})
        own = with_columns(evidence.study, H1={"particle": "porous silica", "ph": ph, "temperature_C": 50.0})
        found = favoured(replace(evidence, study=own))
        assert (VOID in found) is named
        assert not (SETTLED in found and ph > 9.0)


def test_an_inlet_that_blocks_after_the_plates_are_gone_did_not_take_them() -> None:
    """A blocked inlet explains a failure by plates where the pressure had risen by then."""
    courses = {("H1", marker, N): -0.6 for marker in ("caffeine", "aniline")}
    evidence = pressed(evidence_of(STEADY, courses={**courses, ("H1", "caffeine", AS): 0.4}), "H1", 3.0)
    (first,) = [one for one in evidence.judgement.first_failures if one.column == "H1"]
    pressure = next(
        d for d in evidence.judgement.declines if (d.series.column, d.series.metric) == ("H1", "pressure_bar")
    )
    failed = first.life.hours.value
    assert failed is not None
    assert first.metric == N
    assert signs_on(evidence)[BLOCKED].explains
    late = replace(pressure, curve_percent=np.where(pressure.curve_h < failed + 5.0, 100.0, 180.0))
    declines = tuple(late if d is pressure else d for d in evidence.judgement.declines)
    after = replace(evidence, judgement=replace(evidence.judgement, declines=declines))
    assert not signs_on(after)[BLOCKED].explains
    # Of a pressure without a reference nobody knows how far it rose by then.
    bare = replace(late, percent=np.empty(0), curve_h=np.empty(0), curve_percent=np.empty(0))
    declines = tuple(bare if d is pressure else d for d in evidence.judgement.declines)
    after = replace(evidence, judgement=replace(evidence.judgement, declines=declines))
    assert {sign.mechanism for sign in signs_of(after, "H1")} >= {BLOCKED}


def test_a_polymer_particle_does_not_dissolve() -> None:
    """On a column without silica the signs speak against dissolution, whatever its plates do."""
    courses = {("H1", "caffeine", N): -0.5, ("H1", "aniline", N): -0.5, ("H1", "caffeine", AS): 0.4}
    evidence = evidence_of(STEADY, courses=courses)
    study = with_columns(evidence.study, H1={"particle": "polymer"})
    signs = signs_on(replace(evidence, study=study))
    assert signs[VOID].verdict == "speaks against"
    assert signs[SKIN].verdict == "speaks against"
    assert signs[SETTLED].verdict == "speaks for"


def test_carbon_has_no_silica_no_silanols_and_nothing_bonded_to_it() -> None:
    """On bare graphitic carbon the signs speak against dissolution, silanols and loss of bonded phase."""
    courses = {("H1", "caffeine", N): -0.5, ("H1", "aniline", N): -0.5, ("H1", "aniline", AS): 0.9}
    evidence = evidence_of(STEADY, courses=courses)
    study = with_columns(evidence.study, H1={"particle": "porous graphitic carbon", "bonding": ""})
    signs = signs_on(replace(evidence, study=study))
    for mechanism in (VOID, SKIN, SILANOLS, BONDED):
        assert signs[mechanism].verdict == "speaks against", mechanism


def test_dissolving_silica_takes_phase_along() -> None:
    """Silica in hot alkali whose plates and retention fall: less phase is no word against dissolution."""
    courses = {
        ("H1", "caffeine", N): -0.5, ("H1", "aniline", N): -0.5,
        ("H1", "caffeine", K): -0.12, ("H1", "aniline", K): -0.12, ("H1", "uracil", T0): 0.04,
    }  # fmt: skip
    evidence = evidence_of(STEADY, courses=courses)
    bare = replace(evidence, study=with_columns(evidence.study, H1={"particle": "porous silica"}))
    hybrid = replace(evidence, study=with_columns(evidence.study, H1={"particle": "porous hybrid"}))
    assert VOID in favoured(bare)
    assert not [words for words in signs_on(bare)[VOID].reasons_against if "etention" in words]
    assert signs_on(bare)[VOID].support == signs_on(hybrid)[VOID].support + 1
    assert any("porous silica at pH" in words for words in signs_on(bare)[VOID].reasons)


def test_what_moves_one_column_alone_is_not_laid_to_the_mobile_phase() -> None:
    """A base that moves on one column only speaks against a drifting pH."""
    evidence = evidence_of(STEADY, courses={("H1", "aniline", K): -0.15})
    assert signs_on(evidence)[PH].verdict == "speaks against"


def test_a_study_of_one_group_cannot_tell_column_from_system() -> None:
    """With one group there is nothing to hold a common cause against: drifting pH cannot be told."""
    evidence = evidence_of({"hybrid": (1e6,) * 3}, courses={("", "aniline", K): -0.15}, conditions=())
    assert signs_on(evidence)[PH].verdict == "cannot tell"


def delayed(evidence: Evidence) -> Evidence:
    """Let every decline of plates be described best by a model with a delay."""
    model, rival = ModelFit("delayed", {}, 0.0, 1.0), ModelFit("first order", {}, 9.0, 1.5)
    declines = tuple(
        replace(d, model=model, rivals=(rival,)) if d.series.metric == N else d
        for d in evidence.judgement.declines
    )
    return replace(evidence, judgement=replace(evidence.judgement, declines=declines))


@pytest.mark.parametrize(("particle", "left"), [("porous hybrid", 0.5), ("core-shell hybrid surface", 0.87)])
def test_no_skin_is_named_where_none_is_or_little_was_lost(particle: str, left: float) -> None:
    """A fully porous particle has no skin, and after a loss of 13 % no bed has given way."""
    courses = {("H1", marker, N): left - 1 for marker in ("caffeine", "aniline")}
    evidence = delayed(evidence_of(STEADY, courses={**courses, ("H1", "uracil", T0): 0.06}))
    own = replace(evidence, study=with_columns(evidence.study, H1={"particle": particle}))
    assert SKIN not in favoured(own)


def test_void_and_dissolution_under_a_skin_are_named_together() -> None:
    """Plates that fall after a delay fit both: each is named as indistinct from the other."""
    courses = {("H1", "caffeine", N): -0.5, ("H1", "aniline", N): -0.5, ("H1", "uracil", T0): 0.06}
    evidence = delayed(evidence_of(STEADY, courses=courses))
    skinned = {"H1": {"particle": "core-shell hybrid surface"}}
    evidence = replace(evidence, study=with_columns(evidence.study, **skinned))
    signs = signs_on(evidence)
    assert favoured(evidence) == {VOID, SKIN}
    assert signs[VOID].indistinct_from == (SKIN,)
    assert signs[SKIN].indistinct_from == (VOID,)


@pytest.mark.parametrize(
    ("caption", "counts"),
    [("A void has opened at the inlet.", "For it"), ("No void is to be seen.", "Against it")],
)
def test_a_picture_counts_by_the_words_of_its_caption(caption: str, counts: str) -> None:
    """The caption is quoted and weighs as its author put it; a denial weighs against."""
    courses = {("H1", "caffeine", N): -0.5, ("H1", "aniline", N): -0.5}
    evidence = evidence_of(
        STEADY, courses=courses, images=(StudyImage("bed", "bed.png", caption, column="H1"),)
    )
    (reason,) = [
        reason for reason in signs_on(evidence)[VOID].reasons if reason.startswith("Picture of a void")
    ]
    assert counts in reason
    assert caption.rstrip(".") in reason


def test_a_picture_of_the_fresh_column_counts_for_nothing() -> None:
    """What a column looked like before the stress is no evidence of what became of it."""
    fresh = StudyImage("bed", "bed.png", "No void: the fresh bed.", column="H1", exposure_h=0.0)
    reasons = signs_on(evidence_of(STEADY, images=(fresh,)))[VOID].reasons
    assert not any("fresh bed" in reason for reason in reasons)


def test_a_claim_links_to_the_pictures_that_speak_of_it() -> None:
    """A claim on dissolution links to the late picture whose caption says so."""
    courses = {
        **{(f"H{n}", m, N): -0.5 for n in (1, 2, 3) for m in ("caffeine", "aniline")},
        **{(f"H{n}", "caffeine", AS): 0.4 for n in (1, 2, 3)},
        **{(f"H{n}", "uracil", T0): 0.06 for n in (1, 2, 3)},
    }
    late = StudyImage("bed", "bed.png", "A void has opened.", column="H1", exposure_h=100.0)
    answer = found_in(evidence_of(STEADY, courses=courses, images=(late,))).answers[0]
    links = [link for claim in answer.claims if "-signs-" in claim.id for link in claim.because]
    assert ("image", "bed") in [(link.kind, link.target) for link in links]


def test_a_picture_of_another_column_counts_for_nothing() -> None:
    """A caption about another column is no evidence on this one."""
    images = (StudyImage("bed", "bed.png", "A void at the inlet.", column="S1"),)
    reasons = signs_on(evidence_of(STEADY, images=images))[VOID].reasons
    assert not any(reason.startswith("Picture of a void") for reason in reasons)


def test_a_table_that_is_changed_changes_the_verdict() -> None:
    """The table can be disputed: a lower threshold names what the usual one does not."""
    evidence = evidence_of(STEADY, courses={("H1", "caffeine", K): -0.02, ("H1", "aniline", K): -0.02})
    lenient = tuple(
        replace(r, threshold=0.5) if r.observable == "retention of neutrals" else r for r in RULES
    )
    assert BONDED not in favoured(evidence)
    verdicts = {sign.mechanism: sign.verdict for sign in signs_of(evidence, "H1", lenient)}
    assert verdicts[BONDED] == "speaks for"


def test_the_table_names_only_what_can_be_observed() -> None:
    """Every rule has a known observable and mechanism; every mechanism has a needed rule."""
    assert {rule.observable for rule in RULES} <= set(OBSERVABLES)
    assert {rule.mechanism for rule in RULES} == set(MECHANISMS)
    for mechanism in MECHANISMS:
        assert any(rule.needed and rule.weight > 0 for rule in RULES if rule.mechanism == mechanism)


def test_what_was_not_measured_is_neither_for_nor_against() -> None:
    """Without a base, nothing is said for or against uncovered silanols."""
    evidence = evidence_of(STEADY)
    markers = tuple(marker for marker in evidence.study.markers if marker.role != "base")
    evidence = replace(evidence, study=replace(evidence.study, markers=markers))
    sign = signs_on(evidence)[SILANOLS]
    assert sign.verdict == "cannot tell"
    assert any("not known" in reason for reason in sign.reasons)


def test_signs_are_claimed_for_a_group_and_never_more_than_indicated() -> None:
    """The mechanism that most columns of a group speak for becomes a claim, indicated at most."""
    courses = {(f"H{n}", m, K): -0.2 for n in (1, 2, 3) for m in ("caffeine", "aniline")}
    findings = found_in(evidence_of(STEADY, courses=courses))
    claims = [claim for claim in findings.answers[0].claims if "-signs-" in claim.id]
    assert [claim.strength for claim in claims] == ["indicated"]
    assert "all three hybrid columns" in claims[0].text
    assert BONDED in claims[0].text


def test_there_is_a_sign_for_every_column_and_mechanism() -> None:
    """Each column has one sign a mechanism, what speaks for it first, the best supported on top."""
    evidence = evidence_of(STEADY, courses={("H1", "caffeine", K): -0.2, ("H1", "aniline", K): -0.2})
    signs = read_signs(evidence)
    assert sorted((s.column, s.mechanism) for s in signs) == sorted(
        (c.id, m) for c in evidence.study.columns for m in MECHANISMS
    )
    own = [sign for sign in signs if sign.column == "H1"]
    assert own[0].mechanism == BONDED
    for verdict in ("speaks for", "cannot tell", "speaks against"):
        weights = [sign.support for sign in own if sign.verdict == verdict]
        assert weights == sorted(weights, reverse=True)


def test_untouched_neutral_peaks_speak_against_a_void_and_a_blocked_inlet() -> None:
    """Where the neutral keeps its symmetry and neither splits nor fronts, no void or blockage is named."""
    courses = {("H1", "caffeine", N): -0.3, ("H1", "aniline", N): -0.3}
    signs = signs_on(pressed(evidence_of(STEADY, courses=courses), "H1", 0.8))
    for mechanism in (VOID, SETTLED, BLOCKED):
        against = signs[mechanism].reasons_against
        assert any(reason.startswith("Neutral peaks untouched") for reason in against), mechanism
    assert signs[SETTLED].verdict != "speaks for"
    assert signs[BLOCKED].verdict != "speaks for"


@pytest.mark.parametrize("rise", [0.0, 0.026])
def test_a_hold_up_time_that_surely_rose_stayed_for_no_mechanism(rise: float) -> None:
    """No change of the hold-up time is a rise to one mechanism and its staying to another."""
    courses: Courses = {("H1", marker, N): -0.5 for marker in ("caffeine", "aniline")}
    courses = {**courses, ("H1", "caffeine", K): -0.06, ("H1", "uracil", T0): rise}
    signs = signs_on(evidence_of(STEADY, courses=courses))
    told = {m: [one for one in sign.reasons if one.startswith("Hold-up time:")] for m, sign in signs.items()}
    rose = any("For it" in one for one in told[VOID])
    assert rose is (rise > 0)
    for mechanism in (BONDED, SETTLED, BLOCKED):
        assert any("For it" in one for one in told[mechanism]) is not rose, mechanism
    assert (signs[BONDED].verdict == "speaks for") is not rose


def test_no_rule_fits_any_outcome() -> None:
    """Pressure counts for a blocked inlet where it rises, and nowhere as a move either way."""
    assert {(r.mechanism, r.direction) for r in RULES if r.observable == "pressure"} == {(BLOCKED, "rises")}


def test_reasons_stand_for_then_against_then_open_and_say_nothing_of_nothing() -> None:
    """What speaks for comes first, what speaks against next; what counts neither way is not told."""
    for sign in read_signs(evidence_of(STEADY, courses={("H1", "caffeine", N): -0.4})):
        behind = len(sign.reasons_against) + len(sign.reasons_open)
        assert sign.reasons[len(sign.reasons) - behind :] == (*sign.reasons_against, *sign.reasons_open)
        assert all("For it" in reason for reason in sign.reasons[: len(sign.reasons) - behind])
        assert not any("neither way" in reason for reason in sign.reasons)


def test_a_quantity_has_one_number_in_signs_and_tables() -> None:
    """The plates that are left are those of the fitted decline."""
    evidence = evidence_of(STEADY, courses={("H1", "caffeine", N): -0.5, ("H1", "aniline", N): -0.5})
    decline = evidence.decline("H1", "caffeine", N)
    assert decline is not None
    left = interval(decline.remaining, "%")
    (told,) = [r for r in signs_on(evidence)[SETTLED].reasons if r.startswith("Plates of neutrals")]
    assert f"Plates of neutrals: {left} of the reference" in told


def test_a_logged_condition_is_told_in_its_own_unit() -> None:
    """A pH that fell by half a unit is told in pH units, and a temperature in kelvin."""
    evidence = evidence_of(STEADY)
    rows = tuple(
        replace(
            row, ph=11.3 - 0.005 * (row.exposure_h or 0.0), temperature_C=50.0 + (row.exposure_h or 0) / 40
        )
        for row in evidence.study.conditions
    )
    signs = signs_on(replace(evidence, study=replace(evidence.study, conditions=rows)))
    told = " ".join((*signs[PH].reasons, *signs[TEMPERATURE].reasons)).replace("\u2009", " ")
    assert re.search(r"Logged pH moved: yes \(by \u22120\.\d\d pH units\)", told), told
    assert re.search(r"Logged temperature moved: yes \(by \+\d\.\d K\)", told), told


def test_two_mechanisms_at_most_are_named_for_a_group() -> None:
    """Where more are supported, the two best are named and the others are told as not excluded."""
    hybrids = [f"H{n}" for n in (1, 2, 3)]
    courses = {
        **{(h, m, N): -0.6 for h in hybrids for m in ("caffeine", "aniline")},
        **{(h, m, K): -0.2 for h in hybrids for m in ("caffeine", "aniline")},
        **{(h, m, AS): 0.5 for h in hybrids for m in ("caffeine", "aniline")},
    }
    evidence = evidence_of(STEADY, courses=courses)
    for column in hybrids:
        evidence = pressed(evidence, column, 0.9)
    claims = [c for c in found_in(evidence).answers[0].claims if "-signs-hybrid" in c.id]
    named = [m for m in MECHANISMS if any(m in c.text.partition("Not excluded")[0] for c in claims)]
    assert 1 <= len(named) <= 2
    assert any("Not excluded: " in claim.text for claim in claims)


def test_a_cause_of_a_few_per_cent_does_not_lead_over_that_of_the_failure() -> None:
    """Where a neutral's retention falls by a fifth, loss of phase is told before what moved a base."""
    courses = {
        ("H1", "caffeine", K): -0.25, ("H1", "aniline", K): -0.25, ("H2", "caffeine", K): -0.24,
        ("H2", "aniline", K): -0.24, ("H3", "caffeine", K): -0.26, ("H3", "aniline", K): -0.26,
        **{(f"H{n}", "aniline", AS): 0.2 for n in (1, 2, 3)},
    }  # fmt: skip
    limits = (Limit("retention_factor", at_least_percent=90.0),)
    evidence = evidence_of(STEADY, courses=courses, limits=limits)
    told = [claim.text for claim in found_in(evidence).answers[0].claims if "-signs-hybrid" in claim.id]
    assert f"point to {BONDED}" in told[0]
    assert signs_on(evidence)[BONDED].explains
    assert not signs_on(evidence)[SILANOLS].explains


def test_a_failure_that_no_favoured_mechanism_explains_is_told_as_open() -> None:
    """Plates that fell first are not laid to a mechanism that moves retention alone."""
    courses = {
        (f"H{n}", marker, metric): change
        for n in (1, 2, 3)
        for marker in ("caffeine", "aniline")
        for metric, change in ((N, -0.5), (K, -0.08))
    }
    evidence = evidence_of(STEADY, courses=courses)
    told = [claim for claim in found_in(evidence).answers[0].claims if "-signs-hybrid" in claim.id]
    assert told[0].strength == "not settled"
    assert told[0].text.startswith(
        "The signs do not tell why the hybrid columns failed first by the plate number"
    )
    assert BONDED not in told[0].text


def test_retention_that_settles_and_then_stands_still_is_no_loss_of_phase() -> None:
    """A few per cent lost in the first hours and none later are an equilibration, no loss that goes on."""

    def settled(evidence: Evidence) -> Evidence:
        rows = tuple(
            replace(row, retention_factor=row.retention_factor * (1 - 0.05 * min(1.0, row.exposure_h / 25.0)))
            if row.column == "H1" and row.retention_factor
            else row
            for row in evidence.measurements.rows
        )
        return judged(evidence, measurements=replace(evidence.measurements, rows=rows))

    assert BONDED not in favoured(settled(evidence_of(STEADY)))
    falling = {("H1", "caffeine", K): -0.08, ("H1", "aniline", K): -0.08}
    assert BONDED in favoured(evidence_of(STEADY, courses=falling))
