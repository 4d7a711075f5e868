"""What all columns do together at an event is no decline: lives are told without it, as far as known."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Decline, Life
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.finding import find
from lyewitness.findings.medium.common_steps import CommonStep, common_steps
from lyewitness.findings.medium.retention_by_ph import amended
from lyewitness.findings.signs.observations import OBSERVABLES
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Event, EventKind, Injection, Limit, LoggedCondition, Marker, Study
from lyewitness.words.names import repeated
from tests.findings.making import measured, study_of, traces_of

HOURS = (0.2, 0.5, 0.8, *(8.0 * n for n in range(1, 16)))
LIVES = {"H1": 70.0, "H2": 95.0, "H3": 150.0, "S1": 80.0, "S2": 110.0, "S3": 190.0}
Moved = Callable[[str, float], float]


def made(
    moved: Moved, *events: Event, metric: str = "retention_factor", seed: int = 3, ph: Moved | None = None
) -> tuple[Study, Measurements]:
    """Return six columns that lose 10 % of a base's metric in their `LIVES`, times what `moved` says.

    `moved` and `ph` take column and exposure in hours.
    """
    study = study_of(
        {"hybrid": (1e9,) * 3, "silica": (1e9,) * 3},
        markers=(
            Marker("uracil", "void", 0.5),
            Marker("caffeine", "neutral", 2.0),
            Marker("aniline", "base", 3.0, pka=11.0),
        ),
        limits=(Limit(metric, at_least_percent=90.0, markers=("aniline",)),),
        events=events,
        injections=tuple(
            Injection(f"{c}-{n:02d}", f"{c}-{n:02d}.csv", c, exposure_h=h)
            for c in LIVES
            for n, h in enumerate(HOURS)
        ),
        conditions=tuple(
            LoggedCondition(c, exposure_h=float(h), ph=round(ph(c, h), 2))
            for c in LIVES
            for h in range(0, 121, 6)
        )
        if ph
        else (),
    )
    random = np.random.default_rng(seed)
    rows = []
    for row in measured(study, dict.fromkeys(LIVES, 1e9), seed=seed).rows:
        left = (1 - 0.1 * row.exposure_h / LIVES[row.column]) * moved(row.column, row.exposure_h)
        own = {"retention_factor": 4.0, "plate_number_half_height": 8000.0}[metric]
        value = own * left * (1 + 0.003 * random.standard_normal())
        changed: dict[str, Any] = {metric: value} if row.marker == "aniline" else {}
        rows.append(replace(row, **changed))
    return study, Measurements(tuple(rows))


def fell(by: float, at: float) -> Moved:
    """Return a step at an exposure, on all columns."""
    return lambda _, hours: 1 - by if hours > at else 1.0


def of_base(study: Study, rows: Measurements, metric: str = "retention_factor") -> Mapping[str, Decline]:
    """Return the declines of the base by column, as the report tells them."""
    declines = judge(study, rows, amend=amended(study, rows)).declines
    return {d.series.column: d for d in declines if (d.series.marker, d.series.metric) == ("aniline", metric)}


def steps_of(study: Study, rows: Measurements) -> tuple[CommonStep, ...]:
    """Return the common steps of a study."""
    return common_steps(study, judge(study, rows).declines)


def holds(life: Life, truth: float) -> bool:
    """Return whether a life holds the truth."""
    low, high = life.hours.low, life.hours.high
    return (low is None or low <= truth) and (high is None or high >= truth)


BOTTLE = Event("fresh mobile phase", 44.0, note="New bottle.")


@pytest.mark.parametrize("seed", range(2))
def test_a_step_of_all_columns_at_a_fresh_bottle_is_no_decline(seed: int) -> None:
    """Lives hold each column's own, reached where they were, though the step alone passes half the limit."""
    study, rows = made(fell(0.06, 44.0), BOTTLE, seed=seed)
    (step,) = steps_of(study, rows)
    assert step.low < np.log(0.94) < step.high
    for name, decline in of_base(study, rows).items():
        assert holds(decline.life, LIVES[name]), name
        assert LIVES[name] > 100 or decline.life.state == "reached", name
        assert LIVES[name] < 140 or decline.life.state == "not reached", name
        assert decline.as_measured is not None
        assert LIVES[name] > 140 or not holds(decline.as_measured, LIVES[name]), name


def test_the_error_of_the_step_widens_a_life() -> None:
    """Where columns step by 4 to 8 %, the lives without the step are wider than with one step for all."""
    uneven = dict(zip(LIVES, (0.04, 0.05, 0.06, 0.06, 0.07, 0.08), strict=True))
    even, rows = made(fell(0.06, 44.0), BOTTLE)
    apart, other = made(lambda column, h: 1 - uneven[column] if h > 44 else 1.0, BOTTLE)
    widths = [
        d["H1"].life.hours.high - d["H1"].life.hours.low  # type: ignore[operator]
        for d in (of_base(even, rows), of_base(apart, other))
    ]
    assert widths[1] > 1.3 * widths[0]
    assert all(holds(d.life, LIVES[name]) for name, d in of_base(apart, other).items())


def test_the_log_of_the_same_bottle_is_not_counted_twice() -> None:
    """A pH that jumped at the step, and stood still else, widens no life that the step explains."""
    events = (BOTTLE,)
    study, rows = made(fell(0.06, 44.0), *events)
    with_log, same = made(fell(0.06, 44.0), *events, ph=lambda _, h: 11.3 if h <= 44 else 11.1)
    plain, logged = of_base(study, rows), of_base(with_log, same)
    assert {name: d.life for name, d in plain.items()} == {name: d.life for name, d in logged.items()}


def test_raw_and_freed_lives_stand_side_by_side_in_the_audit() -> None:
    """A check tells the step with its error, the event, and each life with the one as measured."""
    study, rows = made(fell(0.06, 44.0), BOTTLE)
    judgement = judge(study, rows, amend=amended(study, rows))
    findings = find(study, traces_of(study), rows, judgement)
    (check,) = [one for one in findings.checks if one.id.startswith("common-steps")]
    assert "retention factor of aniline fell by 5.6" in check.detail
    assert check.id == "common-steps-aniline"
    assert "on 6 columns together at the fresh mobile phase (new bottle)" in check.detail
    assert "as measured" in check.detail


def test_two_metrics_of_one_marker_that_step_stand_in_one_check() -> None:
    """A bottle that moved retention and plates of a base alike: no two checks have one id."""
    study, rows = made(fell(0.06, 44.0), BOTTLE)
    _, plates = made(fell(0.06, 44.0), BOTTLE, metric="plate_number_half_height", seed=4)
    own = {(row.injection, row.marker): row.plate_number_half_height for row in plates.rows}
    both = tuple(
        replace(row, plate_number_half_height=own[row.injection, row.marker])
        if row.marker == "aniline"
        else row
        for row in rows.rows
    )
    rows = replace(rows, rows=both)
    more = Limit("plate_number_half_height", at_least_percent=90.0, markers=("aniline",))
    study = replace(study, limits=(*study.limits, more))
    judgement = judge(study, rows, amend=amended(study, rows))
    findings = find(study, traces_of(study), rows, judgement)
    (check,) = [one for one in findings.checks if one.id.startswith("common-steps")]
    assert "by the retention factor of aniline H1 " in check.detail, check.detail
    assert "by the plate number" in check.detail
    assert not repeated(one.id for one in findings.checks)


def test_signs_are_read_without_the_step() -> None:
    """A base that a bottle alone moved speaks for no ageing: its change is told without the step."""
    study, rows = made(fell(0.06, 44.0), BOTTLE)
    judgement = judge(study, rows, amend=amended(study, rows))
    evidence = Evidence(study, traces_of(study), rows, judgement)
    for name, life_h in LIVES.items():
        seen = OBSERVABLES["retention of bases"](evidence, name)
        assert seen.change is not None
        assert seen.change.percent == pytest.approx(-10 * 120 / life_h, abs=1.0)
        assert seen.change.low < -10 * 120 / life_h < seen.change.high
        assert "without the step of all columns at the fresh mobile phase" in seen.words


def test_plates_that_fall_with_a_part_that_was_exchanged_are_freed_alike() -> None:
    """A detector cell that widens all peaks at once takes no plates of a column."""
    cell = Event("part exchanged", 60.0, note="Detector cell exchanged.")
    study, rows = made(fell(0.08, 60.0), cell, metric="plate_number_half_height")
    found = of_base(study, rows, "plate_number_half_height")
    assert all(holds(d.life, LIVES[name]) for name, d in found.items())


@pytest.mark.parametrize("kind", ["power cut", "flush", "leak"])
def test_what_may_have_harmed_the_beds_is_left_to_the_columns(kind: EventKind) -> None:
    """A step after a stop or a rinse stays decline: nobody knows that the beds are as they were."""
    study, rows = made(fell(0.06, 44.0), Event(kind, 44.0))
    assert steps_of(study, rows) == ()


def test_a_stop_in_the_same_night_keeps_the_life_as_measured_among_the_possible() -> None:
    """Where power failed and the bottle was changed between two injections, either may have done it."""
    study, rows = made(fell(0.06, 44.0), BOTTLE, Event("power cut", 43.0))
    (step,) = steps_of(study, rows)
    assert not step.sure
    for name, decline in of_base(study, rows).items():
        assert decline.as_measured is not None
        assert holds(decline.life, LIVES[name])
        low, own = decline.life.hours.low, decline.as_measured.hours.low
        assert low is not None
        assert own is not None
        assert low <= own


def test_a_step_without_an_event_stays_decline() -> None:
    """What nobody says was changed is not taken off."""
    study, rows = made(fell(0.06, 44.0))
    assert steps_of(study, rows) == ()
    assert all(d.as_measured is None for d in of_base(study, rows).values())


def test_one_column_that_steps_at_the_bottle_does_so_alone() -> None:
    """A column that loses retention at once while five stand is not freed of it."""
    study, rows = made(lambda column, h: 0.92 if column == "S2" and h > 44 else 1.0, BOTTLE)
    assert steps_of(study, rows) == ()


def test_a_bottle_that_merely_comes_back_is_no_step() -> None:
    """Ammonia that is lost by degrees and made up for by a fresh bottle leaves columns where they were."""
    study, rows = made(lambda _, h: 1 - 0.07 * h / 44 if h <= 44 else 1.0, BOTTLE)
    assert steps_of(study, rows) == ()


def test_a_wrong_bottle_and_the_right_one_after_it_are_two_steps() -> None:
    """The second takes back the first: what remains is the columns' own course."""
    events = (BOTTLE, Event("fresh mobile phase", 76.0))
    study, rows = made(lambda _, h: 0.93 if 44 < h <= 76 else 1.0, *events)
    first, second = steps_of(study, rows)
    assert first.size < 0 < second.size
    assert all(holds(d.life, LIVES[name]) for name, d in of_base(study, rows).items())


def test_columns_that_begin_to_die_at_a_bottle_are_not_freed() -> None:
    """A fall that begins with a bottle and goes on is a pace, not a step."""
    study, rows = made(lambda _, h: 1 - 0.02 * max(h - 44, 0) / 8, BOTTLE)
    assert all(abs(step.size) < 0.03 for step in steps_of(study, rows))
