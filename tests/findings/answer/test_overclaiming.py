"""Attempts to make the answer say more than audit and uncertainty allow."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from math import nextafter
from typing import Any, get_args

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lyewitness.decline.records import Finding
from lyewitness.findings.answer.answering import answer
from lyewitness.findings.audit.auditing import audit
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer, Claim
from lyewitness.study.records import Choices, Limit, Marker, Question
from lyewitness.words.estimates import Estimate
from lyewitness.words.names import joined
from tests.findings.making import (
    START,
    check_of,
    evidence_of,
    found_in,
    judged,
    measured,
    with_columns,
)

Groups = Mapping[str, Sequence[float]]
APART: Groups = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}
CONFIDENT = re.compile(r"(?<!seem to )\b(last longer|last longest|last equally long|outlast|fail first)\b")
"""Words that only a shown claim may use of groups."""


def pair_claims(answer: Answer) -> list[Claim]:
    """Return the claims on pairs of groups."""
    return [claim for claim in answer.claims if "-pair-" in claim.id]


def is_modest(answer: Answer) -> bool:
    """Return whether the answer ranks nothing as shown, in claim, headline, recommendation or expectation."""
    said = [*pair_claims(answer), *(c for c in answer.recommendations if c.id.endswith("choose"))]
    verdict = answer.expectation_verdict
    return (
        all(claim.strength != "shown" for claim in said)
        and not CONFIDENT.search(answer.short)
        and not any("take the" in claim.text for claim in answer.recommendations)
        and (verdict is None or verdict.strength not in ("shown", "contradicted"))
    )


def is_silent(answer: Answer) -> bool:
    """Return whether the answer settles no pair at all."""
    return is_modest(answer) and all(claim.strength == "not settled" for claim in pair_claims(answer))


def answered(evidence: Evidence) -> Answer:
    """Return the first answer."""
    return found_in(evidence).answers[0]


def test_the_undisturbed_study_is_shown() -> None:
    """The study that the attempts below disturb does show its ranking, or they would prove nothing."""
    answer = answered(evidence_of(APART))
    assert [claim.strength for claim in pair_claims(answer)] == ["shown"]
    assert CONFIDENT.search(answer.short)


def test_one_column_a_side_says_nothing_of_the_type() -> None:
    """However far two single columns lie apart, nothing is said of their types."""
    answer = answered(evidence_of({"hybrid": (90.0,), "silica": (10.0,)}))
    assert is_silent(answer)
    assert "say nothing of their types" in answer.short


def test_two_columns_a_side_are_no_more_than_indicated() -> None:
    """Two columns a side can indicate a ranking at most."""
    assert is_modest(answered(evidence_of({"hybrid": (80.0, 82.0), "silica": (10.0, 10.2)})))


@pytest.mark.parametrize(
    "groups",
    [
        {"hybrid": (50.0, 70.0, 60.0), "silica": (55.0, 65.0, 45.0)},
        {"hybrid": (30.0, 90.0, 50.0), "silica": (25.0, 70.0, 40.0)},
    ],
)
def test_overlapping_lives_are_not_ranked(groups: Groups) -> None:
    """Groups whose lives overlap are not ranked."""
    answer = answered(evidence_of(groups))
    assert is_silent(answer)
    assert "cannot tell" in answer.short


def test_equal_groups_are_not_ranked() -> None:
    """Two groups with the same lives are never ranked."""
    answer = answered(evidence_of({"hybrid": (50.0, 52.0, 51.0), "silica": (50.0, 52.0, 51.0)}))
    assert not any("longer than" in claim.text for claim in pair_claims(answer))


def test_nothing_failed_nothing_is_ranked() -> None:
    """Where no column reached the limit, lives are bounds and the groups are not ranked."""
    answer = answered(evidence_of({"hybrid": (9000.0,) * 3, "silica": (6000.0,) * 3}))
    assert is_silent(answer)
    assert "at least" in answer.short
    assert "cannot tell" in answer.short
    assert not re.search(r"\b(6|9)\s?000\b", answer.short)


def test_unequal_exposure_that_explains_all_unsettles_the_ranking() -> None:
    """A group that saw three times the column volumes and lived a third as long is not ranked last."""
    evidence = evidence_of(APART, cv_per_h={"silica": 144.0})
    assert check_of(found_in(evidence), "equal-exposure").result == "problem"
    assert is_silent(answered(evidence))


def test_harder_treatment_of_the_longer_lived_group_changes_nothing() -> None:
    """A group that outlasts the other in spite of three times the column volumes is still shown to."""
    evidence = evidence_of(APART, cv_per_h={"hybrid": 144.0})
    assert check_of(found_in(evidence), "equal-exposure").result == "caution"
    assert [claim.strength for claim in pair_claims(answered(evidence))] == ["shown"]


@pytest.mark.parametrize(
    ("quantity", "hybrid", "silica"), [("temperature_C", 50.0, 65.0), ("ph", 11.3, 11.8)]
)
def test_a_difference_in_temperature_or_ph_unsettles_the_ranking(
    quantity: str, hybrid: float, silica: float
) -> None:
    """Where the shorter-lived group was hotter or more alkaline by enough, nothing is ranked."""
    evidence = evidence_of(APART)
    values = {"hybrid": hybrid, "silica": silica}
    log = tuple(
        replace(row, **{quantity: values[evidence.study.column(row.column).group]})  # type: ignore[arg-type]
        for row in evidence.study.conditions
    )
    assert is_silent(answered(judged(evidence, study=replace(evidence.study, conditions=log))))


def test_groups_set_to_different_temperatures_by_plan_are_not_ranked() -> None:
    """A group that was stressed hotter by plan is not compared."""
    evidence = evidence_of(APART)
    hot = {"temperature_C": 60.0}
    study = with_columns(evidence.study, S1=hot, S2=hot, S3=hot)
    assert is_silent(answered(judged(evidence, study=study)))


def test_drifting_ph_on_all_columns_leaves_the_ranking_indicated() -> None:
    """A pH that fell by half a unit on every column is named as common to all, and weakens every claim."""
    evidence = evidence_of(APART)
    log = tuple(
        replace(row, ph=11.3 - 0.5 * (row.exposure_h or 0.0) / 100.0) for row in evidence.study.conditions
    )
    evidence = judged(evidence, study=replace(evidence.study, conditions=log))
    check = check_of(found_in(evidence), "ph-steady")
    assert check.result == "problem"
    assert "all columns" in check.detail
    answer = answered(evidence)
    assert is_modest(answer)
    assert not any(claim.strength == "shown" for claim in answer.claims if "-life-" in claim.id)


def test_one_group_run_after_the_other_is_indicated_only() -> None:
    """A ranking confounded with the order of running is indicated at most."""
    later = {f"S{number}": START + timedelta(hours=200) for number in (1, 2, 3)}
    evidence = evidence_of(APART, start=later)
    assert check_of(found_in(evidence), "order-of-running").result == "problem"
    assert is_modest(answered(evidence))


def test_scattering_references_unsettle_the_lives() -> None:
    """A reference that scatters by half the way to the limit leaves nothing shown."""
    evidence = evidence_of(APART)
    turn = {"01": 0.75, "02": 1.25, "03": 1.0}
    rows = tuple(
        replace(
            row, plate_number_half_height=row.plate_number_half_height * turn.get(row.injection[-2:], 1.0)
        )
        if row.plate_number_half_height
        else row
        for row in evidence.measurements.rows
    )
    evidence = judged(evidence, measurements=replace(evidence.measurements, rows=rows))
    assert check_of(found_in(evidence), "reference-scatter").result == "problem"
    assert is_silent(answered(evidence))


def test_a_hold_up_marker_alone_settles_nothing() -> None:
    """A study that injects the hold-up marker only does not rank its groups."""
    evidence = evidence_of(APART)
    limit = replace(evidence.study.limits[0], markers=())
    study = replace(evidence.study, markers=(Marker("uracil", "void", 0.5),), limits=(limit,))
    rows = tuple(
        replace(row, plate_number_half_height=caffeine.plate_number_half_height)
        for row, caffeine in zip(
            (r for r in evidence.measurements.rows if r.marker == "uracil"),
            (r for r in evidence.measurements.rows if r.marker == "caffeine"),
            strict=True,
        )
    )
    evidence = judged(evidence, study=study, measurements=replace(evidence.measurements, rows=rows))
    assert check_of(found_in(evidence), "marker-choice").result == "problem"
    assert is_silent(answered(evidence))


def test_leaving_out_what_flips_the_ranking_is_seen_and_unsettles_it() -> None:
    """Where what was left out would turn the ranking round when counted in, nothing is ranked."""
    early = {"H1": 12.0, "H2": 13.0, "H3": 12.5}
    silica = {"S1": 25.0, "S2": 27.0, "S3": 24.0}
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0), "silica": tuple(silica.values())})
    study = evidence.study
    failing = {
        row.injection: row for row in measured(study, {**early, **silica}).rows if row.marker == "caffeine"
    }
    out = {i.id for i in study.injections if i.column in early and 10 <= (i.exposure_h or 0.0) <= 30}
    rows = tuple(
        replace(failing[row.injection], used=False)
        if row.marker == "caffeine" and row.injection in out
        else replace(row, used=row.injection not in out)
        for row in evidence.measurements.rows
    )
    injections = tuple(
        replace(i, used=False, why="looked odd") if i.id in out else i for i in study.injections
    )
    evidence = judged(
        evidence,
        study=replace(study, injections=injections),
        measurements=replace(evidence.measurements, rows=rows),
    )
    assert check_of(found_in(evidence), "left-out-counted-in").result == "problem"
    assert is_modest(answered(evidence))


def test_columns_of_one_lot_are_indicated_only() -> None:
    """Where all columns of a group come from one lot, a ranking of the types is indicated at most."""
    evidence = evidence_of(APART)
    lot = {"lot": "one"}
    assert is_modest(answered(judged(evidence, with_columns(evidence.study, H1=lot, H2=lot, H3=lot))))


def test_lots_that_nobody_states_weaken_as_much_as_one_lot() -> None:
    """Saying nothing of the lots makes no claim stronger than saying that there is one; two known ones do."""
    evidence = evidence_of(APART)
    unsaid: dict[str, dict[str, str]] = {column.id: {"lot": ""} for column in evidence.study.columns}
    assert is_modest(answered(judged(evidence, with_columns(evidence.study, **unsaid))))
    assert not is_modest(answered(judged(evidence, with_columns(evidence.study, H1={"lot": ""}))))


def test_without_times_and_without_a_log_nothing_shows_that_the_stress_was_the_same() -> None:
    """Where neither times nor a log are known, a ranking is indicated at most; a log alone lets it stand."""
    evidence = evidence_of(APART)
    bare = {name: replace(trace, acquired_at="") for name, trace in evidence.traces.items()}
    evidence = replace(evidence, traces=bare)
    assert not is_modest(answered(evidence))
    assert is_modest(answered(judged(evidence, replace(evidence.study, conditions=()))))


def test_limits_that_disagree_leave_no_ranking_as_shown() -> None:
    """Where one limit favours one group and another limit the other, no ranking is shown."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("caffeine",)),
    )
    courses = {(f"H{n}", "caffeine", "retention_factor"): -0.5 - 0.01 * n for n in (1, 2, 3)}
    slow = {(f"S{n}", "caffeine", "retention_factor"): -0.2 - 0.01 * n for n in (1, 2, 3)}
    evidence = evidence_of(APART, courses={**courses, **slow}, limits=limits)
    assert check_of(found_in(evidence), "limits-agree").result == "problem"
    assert is_modest(answered(evidence))


def test_a_limit_that_was_passed_before_the_deciding_one_is_seen() -> None:
    """Where the longer-lived group failed by another limit before, the ranking is not shown."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("caffeine",)),
    )
    courses = {("H1", "caffeine", "retention_factor"): -0.6, ("H2", "caffeine", "retention_factor"): -0.6}
    evidence = evidence_of(APART, courses=courses, limits=limits)
    check = check_of(found_in(evidence), "same-first-failure")
    assert check.result == "problem"
    assert "retention factor of caffeine" in check.detail
    said = answered(evidence)
    assert is_modest(said)
    # The times for replacement rest on whichever limit came first.
    (minded,) = [claim.text for claim in said.recommendations if claim.id == "q1-do-replace-hybrid"]
    assert "(57\u2009h, two others between 10 and 20\u2009h)" in minded
    assert "retention factor of caffeine" in said.short


def test_the_audit_of_a_question_is_about_its_own_deciding_metric() -> None:
    """A question decided by a metric whose reference scatters is not shown, though the study's own is."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("peak_height", at_least_percent=80.0, markers=("aniline",)),
    )
    courses = {(c, "aniline", "peak_height"): s for c, s in (("H1", -0.3), ("H2", -0.32), ("H3", -0.31))}
    fast = {(c, "aniline", "peak_height"): s for c, s in (("S1", -0.6), ("S2", -0.62), ("S3", -0.61))}
    questions = (Question("all", "Which?"), Question("height", "Which by height?", metrics=("peak_height",)))
    evidence = evidence_of(APART, courses={**courses, **fast}, limits=limits, questions=questions)
    loose = {"01": 0.75, "02": 1.25, "03": 1.0}
    rows = tuple(
        replace(row, peak_height=(row.peak_height or 0.0) * loose.get(row.injection[-2:], 1.0))
        if row.marker == "aniline"
        else row
        for row in evidence.measurements.rows
    )
    findings = found_in(judged(evidence, measurements=replace(evidence.measurements, rows=rows)))
    everything, height = findings.answers
    assert not is_modest(everything)
    assert is_modest(height)
    assert check_of(findings, "reference-scatter").result == "good"
    assert check_of(findings, joined("reference-scatter", "height")).result == "problem"


def test_one_piece_entered_twice_is_no_replicate() -> None:
    """Two columns of one serial number are one column, and nothing is ranked."""
    evidence = evidence_of(APART)
    study = with_columns(evidence.study, H2={"serial": evidence.study.columns[0].serial})
    assert is_silent(answered(judged(evidence, study=study)))


def overclaiming(evidence: Evidence, **changes: object) -> Answer:
    """Return the answer where the comparison itself claims too much."""
    claimed = tuple(
        replace(comparison, **changes)  # type: ignore[arg-type]
        for comparison in evidence.judgement.comparisons
    )
    return found_in(evidence, replace(evidence.judgement, comparisons=claimed)).answers[0]


@pytest.mark.parametrize(
    "changes",
    [
        {"p_adjusted": 0.2},
        {"life_ratio": Estimate(2.4, 0.9, 5.0)},
        {"life_ratio": Estimate(0.4, 0.2, 0.8)},
        {"columns_a": 1},
        {"finding": "not settled"},
        {"finding": "no meaningful difference", "life_ratio": Estimate(1.0, 0.4, 2.5), "equivalence_p": None},
    ],
)
def test_a_comparison_that_contradicts_itself_is_not_followed(changes: dict[str, object]) -> None:
    """A finding that its own p value, interval or number of columns does not bear is not repeated."""
    assert is_silent(overclaiming(evidence_of(APART), **changes))


def test_a_comparison_without_a_p_value_is_indicated_only() -> None:
    """A ranking without a test is indicated at most."""
    assert is_modest(overclaiming(evidence_of(APART), p_adjusted=None))


def test_an_expectation_is_not_borne_out_by_what_is_not_settled() -> None:
    """Where the ranking is not settled, no expectation is borne out or contradicted."""
    evidence = evidence_of({"hybrid": (50.0, 70.0, 60.0), "silica": (55.0, 65.0, 45.0)})
    for words in (
        "The silica columns fail first.",
        "The hybrid columns fail first.",
        "There is no difference.",
    ):
        question = replace(evidence.study.questions[0], expectation=words)
        verdict = answered(
            judged(evidence, replace(evidence.study, questions=(question,)))
        ).expectation_verdict
        assert verdict is not None
        assert verdict.strength == "not settled", verdict


ends = st.one_of(st.none(), st.floats(0.05, 20.0))
claims_too_much = st.fixed_dictionaries(
    {
        "columns_a": st.integers(1, 5),
        "columns_b": st.integers(1, 5),
        "life_ratio": st.builds(Estimate, ends, ends, ends),
        "p_adjusted": st.one_of(st.none(), st.floats(0.0, 1.0)),
        "finding": st.sampled_from(get_args(Finding)),
    }
)
BASE = evidence_of(APART)
POINTS = audit(BASE)


@example({"columns_a": 2, "columns_b": 2, "p_adjusted": nextafter(0.05, 1.0), "finding": "a lasts longer"})
@settings(max_examples=300, deadline=None)
@given(claims_too_much)
def test_whatever_a_comparison_says_shown_means_tested_and_replicated(changes: dict[str, Any]) -> None:
    """For any comparison: a shown ranking has two columns a side, p ≤ 5 % after Holm, an interval off 1."""
    comparison = replace(BASE.judgement.comparisons[0], **changes)
    judgement = replace(BASE.judgement, comparisons=(comparison,))
    said = answer(replace(BASE, judgement=judgement), POINTS, (), BASE.study.questions[0])
    (claim,) = pair_claims(said)
    if claim.strength != "shown":
        assert is_modest(said)
        return
    low, high = comparison.life_ratio.low, comparison.life_ratio.high
    assert min(comparison.columns_a, comparison.columns_b) >= 2
    if comparison.finding == "no meaningful difference":
        assert low is not None
        assert low >= 1 / 1.25
        assert high is not None
        assert high <= 1.25
    else:
        assert comparison.p_adjusted is not None
        assert comparison.p_adjusted <= 0.05
        assert (
            (low is None or low > 1) if comparison.finding == "a lasts longer" else (high is None or high < 1)
        )


def test_groups_of_one_population_are_hardly_ever_ranked() -> None:
    """Of 16 studies with columns from one population (log lives, 15 %), no more than three rank its halves.

    At 5 % each the chance of a fourth is 0.7 % (binomial distribution).
    """
    ranked = 0
    for seed in range(16):
        random = np.random.default_rng(seed)
        drawn = 40 * np.exp(0.15 * random.standard_normal((2, 3)))
        said = answered(evidence_of({"hybrid": drawn[0].tolist(), "silica": drawn[1].tolist()}))
        ranked += any(c.strength == "shown" and "longer than" in c.text for c in pair_claims(said))
    assert ranked <= 3


def test_columns_at_several_temperatures_are_no_replicates() -> None:
    """Three columns of a group at three temperatures are one column each, and nothing is ranked."""
    evidence = evidence_of({"hybrid": (80.0, 50.0, 30.0), "silica": (40.0, 25.0, 15.0)})
    hot = {f"{letter}{n}": {"temperature_C": 50.0 + 5 * n} for letter in "HS" for n in (1, 2, 3)}
    said = answered(judged(evidence, with_columns(evidence.study, **hot)))
    assert is_silent(said)
    assert not any("replace" in claim.text for claim in said.recommendations)


def test_an_extrapolated_life_is_told_as_what_was_seen() -> None:
    """A life beyond the exposure that was run is told as 'at least', with the extrapolation named as one."""
    evidence = evidence_of(
        {"hybrid": (180.0, 190.0, 185.0), "silica": (25.0, 27.0, 24.0)},
        choices=Choices(extrapolate_to_h=400.0),
    )
    said = answered(evidence)
    assert "at least" in said.short
    assert not re.search(r"(?<!roughly )\b18\d\b", said.short.replace("\u2009", " "))
