"""Retention that follows the pH of the log: lives hold the column's own, and are never told stronger."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Decline, Life
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.finding import find
from lyewitness.findings.medium.retention_by_ph import (
    Followed,
    _is_scatter,
    amended,
    followed_by,
    freed_of_ph,
    over,
    ph_at,
)
from lyewitness.findings.medium.swings import Swing, steadier_words
from lyewitness.findings.records import Findings
from lyewitness.findings.signs.weighing import PH
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Conditions, Event, Injection, Limit, LoggedCondition, Marker, Study
from lyewitness.words.estimates import Estimate
from tests.findings.making import measured, study_of, traces_of

Course = Callable[[float], float]
HOURS = (0.0, 0.3, 0.6, *(float(h) for h in range(6, 121, 6)))
FREE = 0.6
"""The ion of the simulation is retained at 40 % of the neutral form."""
PKA_SEEN = 9.3
"""In its mobile phase, which the program does not know."""


def sawtooth(hours: float) -> float:
    """Return the pH of a bottle that is renewed every 36 h."""
    return 10.0 - 0.25 * (hours % 36) / 36


def falling(hours: float) -> float:
    """Return the pH of a bottle that is never renewed."""
    return 10.0 - 0.25 * hours / 120


def charged(ph: float) -> float:
    """Return the share of the base that bears a charge."""
    return float(1 / (1 + 10 ** (ph - PKA_SEEN)))


def made(course: Course, life_h: float, seed: int, logged: bool = True) -> tuple[Study, Measurements]:
    """Return a study of four columns whose retention falls by 10 % in `life_h`, and by the pH besides."""
    medium = Conditions("ammonia", 20, 10.0, 25, "acetonitrile", 30, 55, 0.4, 220, 1.0)
    study = study_of(
        {"hybrid": (1e9, 1e9), "silica": (1e9, 1e9)},
        stress=medium,
        test=medium,
        markers=(
            Marker("uracil", "void", 0.5),
            Marker("caffeine", "neutral", 2.0),
            Marker("aniline", "base", 3.0, pka=9.6),
        ),
        limits=(Limit("retention_factor", at_least_percent=90.0),),
    )
    columns = [column.id for column in study.columns]
    study = replace(
        study,
        injections=tuple(
            Injection(f"{c}-{n:02d}", f"{c}-{n:02d}.csv", c, exposure_h=h)
            for c in columns
            for n, h in enumerate(HOURS)
        ),
        conditions=tuple(
            LoggedCondition(c, exposure_h=float(h), ph=round(course(h), 2))
            for c in columns
            for h in range(0, 121, 4)
        )
        if logged
        else (),
    )
    random = np.random.default_rng(seed)
    by_hour = {h: 0.002 * random.standard_normal() for h in HOURS}
    rows = []
    for row in measured(study, dict.fromkeys(columns, 1e9), seed=seed).rows:
        k = row.retention_factor
        if row.marker == "aniline" and k is not None:
            k *= 1 - 0.1 * row.exposure_h / life_h
            k *= (1 - FREE * charged(course(row.exposure_h))) / (1 - FREE * charged(course(0.3)))
            k *= 1 + by_hour[row.exposure_h] + 0.001 * random.standard_normal()
        rows.append(replace(row, retention_factor=k))
    return study, Measurements(tuple(rows))


def of_base(declines: tuple[Decline, ...]) -> list[Decline]:
    """Return the declines of the base's retention."""
    return [d for d in declines if (d.series.marker, d.series.metric) == ("aniline", "retention_factor")]


def holds(life: Life, truth: float) -> bool:
    """Return whether a life's interval holds the truth."""
    low, high = life.hours.low, life.hours.high
    return (low is None or low <= truth) and (high is None or high >= truth)


@pytest.mark.parametrize("seed", range(4))
def test_what_the_ph_did_is_read_off_a_sawtooth(seed: int) -> None:
    """The movement that the injections show holds the true one, and is far less than the most possible."""
    study, rows = made(sawtooth, 140.0, seed)
    (found,) = followed_by(study, rows, judge(study, rows).declines)
    ends = [1 - FREE * charged(ph) for ph in (found.low_ph, found.high_ph)]
    truth = 100 * (1 - ends[0] / ends[1])
    least, most = found.moved_percent
    assert found.marker == "aniline"
    assert 0.9 * least <= truth <= 1.1 * most
    assert most < 0.6 * found.most_percent


def test_a_life_by_a_falling_ph_is_widened_to_hold_the_columns_own() -> None:
    """Where the bottle fell with the hours, lives as measured are too short; told, they hold the truth."""
    study, rows = made(falling, 95.0, 2)
    before = of_base(judge(study, rows).declines)
    after = of_base(judge(study, rows, amend=amended(study, rows)).declines)
    assert sum(holds(one.life, 95.0) for one in before) <= 1
    assert all(holds(one.life, 95.0) for one in after)
    for one, own in zip(after, before, strict=True):
        assert one.as_measured == own.life
        assert own.life.hours.low is not None
        assert one.life.hours.low is not None
        assert one.life.hours.low <= own.life.hours.low
    (found,) = followed_by(study, rows, tuple(before))
    assert found.share == (0.0, 1.0)


def test_both_lives_are_told_in_the_audit() -> None:
    """The check names the pH, what it can do, and each life with the one as measured."""
    study, rows = made(falling, 95.0, 2)
    judgement = judge(study, rows, amend=amended(study, rows))
    findings = find(study, traces_of(study), rows, judgement)
    (check,) = [one for one in findings.checks if one.id == "retention-by-ph-aniline"]
    assert check.result == "caution"
    assert "as measured" in check.detail
    assert "how much it did, they cannot tell" in check.detail


@pytest.mark.parametrize("marker", ["acid", "neutral", "no pKa", "no log"])
def test_what_does_not_follow_the_ph_is_left_alone(marker: str) -> None:
    """An ion throughout, a neutral, a base of unknown pKa and a study without a log keep their lives."""
    study, rows = made(falling, 95.0, 2, logged=marker != "no log")
    changed = {
        "acid": Marker("aniline", "acid", 3.0, pka=4.0),
        "neutral": Marker("aniline", "neutral", 3.0),
        "no pKa": Marker("aniline", "base", 3.0),
        "no log": study.markers[2],
    }[marker]
    study = replace(study, markers=(*study.markers[:2], changed))
    declines = judge(study, rows).declines
    assert amended(study, rows)(declines) == declines


def test_no_ph_is_read_across_a_renewed_bottle() -> None:
    """Before the renewal the old bottle goes on falling, after it the new one counts."""
    points = [(0.0, 10.0), (10.0, 9.9), (20.0, 9.8), (30.0, 9.7), (36.0, 10.0), (46.0, 9.9)]
    hours: NDArray[np.float64] = np.array([5.0, 33.0, 35.9, 36.0, 41.0])
    assert ph_at(points, (36.0,), hours) == pytest.approx([9.95, 9.67, 9.641, 10.0, 9.95], abs=1e-6)


def test_a_renewal_that_is_told_is_put_where_it_was() -> None:
    """The bottle's own event says when, where the readings only say between which of them."""
    study, rows = made(sawtooth, 140.0, 1)
    told = replace(study, events=tuple(Event("fresh mobile phase", h) for h in (36.0, 72.0, 108.0)))
    declines = judge(study, rows).declines
    (plain,), (better,) = (followed_by(one, rows, declines) for one in (study, told))
    assert better.share[1] - better.share[0] <= plain.share[1] - plain.share[0] + 0.02


LIVES = st.builds(
    lambda state, low, more, middle: Life(
        state, Estimate(low + middle * more if state == "reached" else None, low,
                        low + more if state == "reached" else None),
        bracket_h=(low, low + more),
    ),
    st.sampled_from(["reached", "not reached", "unclear"]), st.floats(1.0, 500.0), st.floats(0.1, 100.0),
    st.floats(0.0, 1.0),
)  # fmt: skip


@given(LIVES, st.lists(LIVES, max_size=3))
def test_no_life_is_told_stronger(measured_life: Life, others: list[Life]) -> None:
    """The low end never rises, the high end never falls, and what was open stays open."""
    found = over(measured_life, others)
    low, own = found.hours.low, measured_life.hours.low
    assert own is not None
    assert low is not None
    assert low <= own
    if found.state == "reached":
        assert measured_life.state == "reached"
        assert found.hours.high is not None
        assert found.hours.high >= (measured_life.hours.high or 0.0)


def test_evidence_is_not_needed_for_a_study_without_a_base() -> None:
    """A study that names no base is not asked for its log."""
    study, rows = made(falling, 95.0, 2)
    bare = replace(study, markers=study.markers[:2])
    kept = Measurements(tuple(row for row in rows.rows if row.marker != "aniline"))
    evidence = Evidence(bare, {}, kept, judge(bare, kept))
    assert followed_by(bare, kept, evidence.judgement.declines) == ()


def told(course: Course, readings: tuple[float, ...] = ()) -> Findings:
    """Return what is found where the base decides; its log thinned to `readings`, hours, where given."""
    study, rows = made(course, 140.0, 1)
    asked = replace(study.questions[0], decides="retention_factor of aniline")
    log = tuple(row for row in study.conditions if not readings or row.exposure_h in readings)
    study = replace(study, questions=(asked,), conditions=log)
    judgement = judge(study, rows, amend=amended(study, rows))
    return find(study, traces_of(study), rows, judgement)


@pytest.mark.parametrize("readings", [(), (0.0, 32.0, 36.0, 68.0, 72.0, 104.0, 108.0, 120.0)])
def test_a_bottle_that_is_renewed_is_named_by_signs_and_audit_alike(readings: tuple[float, ...]) -> None:
    """A sawtooth that ends where it began is a swing: no sign says that the pH did not move."""
    findings = told(sawtooth, readings)
    (steady,) = [one for one in findings.checks if one.id.startswith("ph-steady")]
    assert steady.result != "good"
    signs = [one for one in findings.signs if one.mechanism == PH]
    assert len(signs) == 4
    assert all(one.verdict != "speaks against" for one in signs)
    assert not any("moved: no" in reason for one in signs for reason in one.reasons)
    if not readings:
        assert {one.verdict for one in signs} == {"speaks for"}


def test_what_a_bottle_does_to_all_types_is_told_once_and_not_as_a_failure() -> None:
    """Four columns of two types that did not fail follow one bottle: one claim, of none of the types."""
    found = told(sawtooth)
    claims = [one for one in found.answers[0].claims if PH in one.text]
    assert [one.text for one in claims] == [
        "On all four columns, of every type, the signs point to drifting pH: one bottle moves all of them."
    ]


def test_a_course_freed_of_the_bottle_is_the_columns_own() -> None:
    """Without what the log explains, the retention of a base falls as the column's does, to a per cent."""
    study, rows = made(sawtooth, 140.0, 1)
    declines = judge(study, rows).declines
    freed = freed_of_ph(study, rows, declines)
    assert {one.series.marker for one in freed} == {"aniline"}
    assert len(freed) == 4
    own = np.exp(np.log(0.9) * np.array(HOURS) / 140.0)
    for one in freed:
        seen = next(d for d in declines if (d.series.column, d.series.marker, d.series.metric)
                    == (one.series.column, one.series.marker, one.series.metric))  # fmt: skip
        off, off_seen = (np.abs(d.series.value / d.series.value[0] - own).max() for d in (one, seen))
        assert off < 0.5 * off_seen


def test_the_answer_tells_of_the_bottle_and_asks_for_no_more_columns() -> None:
    """What the pH did to the deciding marker stands in the answer, beside the life by a neutral one."""
    answer = told(sawtooth).answers[0]
    assert "The logged pH went between 9.7" in answer.short
    assert "the retention factor of caffeine, which no pH touches" in answer.short
    assert not any("columns a side" in claim.text for claim in answer.next_experiments)
    followed = Followed("aniline", 9.75, 10.0, 20.0, (0.3, 0.6), {})
    assert "more columns do not mend that" in steadier_words(Swing(followed, "caffeine"))
    assert "by plan and 9.7" in " ".join(claim.text for claim in answer.recommendations)


def test_a_bottle_that_holds_its_ph_is_not_told_of() -> None:
    """Of a steady log the answer says nothing, and the signs speak against a drift."""
    findings = told(lambda _: 10.0)
    assert "logged pH" not in findings.answers[0].short
    assert all(one.verdict == "speaks against" for one in findings.signs if one.mechanism == PH)


@pytest.mark.parametrize("seed", range(8))
def test_the_noise_of_a_meter_is_no_course(seed: int) -> None:
    """Readings that scatter within what a meter repeats move no life; a drift or a sawtooth as small may."""
    rng = np.random.default_rng(seed)
    noise = rng.normal(0.0, 0.01, 24)
    assert _is_scatter(10.3 + noise)
    assert not _is_scatter(10.3 - np.linspace(0.0, 0.08, 24) + noise / 2)
    assert not _is_scatter(10.3 - 0.09 * (np.arange(24) % 12) / 12 + noise / 4)
    assert not _is_scatter(10.3 + 5 * noise)
