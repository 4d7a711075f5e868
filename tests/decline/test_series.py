"""Which series are followed, and which limits stand on them."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from lyewitness.decline.judging import judge
from lyewitness.decline.series import gather_series, limits_on
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Limit, LoggedCondition, Study
from tests.decline.simulated_series import exposures, first_order
from tests.decline.small_study import LIMITS, noisy, study_of, with_values

HOURS = exposures()


def plain(limits: tuple[Limit, ...] = LIMITS) -> tuple[Study, Measurements]:
    """Return two columns whose markers have plates, retention and area."""
    study = study_of({"g": ("A", "B")}, limits)
    rng = np.random.default_rng(1)
    values = {
        (column, marker): {
            "retention_time_min": 0.42 * noisy(rng, np.ones(24)),
            "plate_number_half_height": 9000.0 * noisy(rng, first_order(HOURS, 60.0)),
            "peak_area": 5.0 * noisy(rng, np.ones(24)),
        }
        for column in ("A", "B")
        for marker in ("uracil", "base")
    }
    return with_values(study, HOURS, values)


def test_series_know_the_clock_where_it_is_stated() -> None:
    """Hours run from the midnight before the study's first injection; one bare time among zones, none."""
    study, measurements = plain()
    start = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
    at = {one.id: start + timedelta(hours=one.exposure_h or 0.0) for one in study.injections}
    dated = replace(study, injections=tuple(replace(one, at=at[one.id]) for one in study.injections))
    for one in gather_series(dated, measurements):
        assert one.clock_h is not None
        assert one.clock_h == pytest.approx(18.0 + one.exposure_h)
    first, *others = dated.injections
    mixed = replace(dated, injections=(replace(first, at=datetime(2026, 3, 2, 18, 0)), *others))
    assert all(one.clock_h is None for one in gather_series(mixed, measurements) if one.injections)
    assert all(one.clock_h is None for one in gather_series(study, measurements) if one.injections)


def test_general_limits_are_not_about_the_void_marker() -> None:
    """A plate number limit that names no marker is about the base alone, one that names the void about it."""
    study, _ = plain()
    plates = LIMITS[0]
    assert limits_on(study, study.marker("base"), plates.metric) == (plates,)
    assert limits_on(study, study.marker("uracil"), plates.metric) == ()
    named = replace(plates, at_least_percent=50.0, markers=("uracil",))
    both = replace(study, limits=(plates, named))
    assert limits_on(both, study.marker("uracil"), plates.metric) == (named,)
    assert limits_on(both, study.marker("base"), plates.metric) == (plates,)


def test_the_hold_up_limit_is_about_the_void_marker() -> None:
    """A limit on the hold-up time finds the void marker's retention time."""
    limit = Limit("hold_up_time_min", at_most_percent=105.0)
    study, measurements = plain((limit,))
    series = [one for one in gather_series(study, measurements) if one.metric == "hold_up_time_min"]
    assert [(one.column, one.marker) for one in series] == [("A", "uracil"), ("B", "uracil")]
    assert series[0].value.mean() == pytest.approx(0.42, rel=0.01)
    assert limits_on(study, study.marker("uracil"), "hold_up_time_min") == (limit,)
    assert limits_on(study, study.marker("base"), "hold_up_time_min") == ()


def test_only_used_and_found_injections_count() -> None:
    """Injections left out, peaks not found and values not measured are in no series; the rest is in order."""
    study, measurements = plain()
    rows = list(measurements.rows)
    odd = [index for index, row in enumerate(rows) if (row.column, row.marker) == ("A", "base")]
    rows[odd[5]] = replace(rows[odd[5]], used=False)
    rows[odd[6]] = replace(rows[odd[6]], found=False)
    rows[odd[7]] = replace(rows[odd[7]], plate_number_half_height=None)
    shuffled = Measurements(tuple(rows[::-1]))
    (plates,) = [
        one
        for one in gather_series(study, shuffled)
        if (one.column, one.marker, one.metric) == ("A", "base", "plate_number_half_height")
    ]
    assert len(plates.injections) == 21
    assert not {"A-005", "A-006", "A-007"} & set(plates.injections)
    assert (np.diff(plates.exposure_h) >= 0).all()


def test_shuffled_rows_change_nothing() -> None:
    """The order of the rows in the folder does not matter where exposures differ."""
    study, measurements = plain()
    late = tuple(row for row in measurements.rows if row.exposure_h > 0 or row.injection.endswith("000"))
    one, two = judge(study, Measurements(late)), judge(study, Measurements(late[::-1]))
    for first, second in zip(one.declines, two.declines, strict=True):
        assert first.series.injections == second.series.injections
        assert first.life == second.life


def test_pressure_comes_from_the_conditions_log() -> None:
    """The pressure of a column, with column volumes by flow and hold-up, is a series of the column's own."""
    study, measurements = plain((Limit("pressure_bar", at_most_percent=150.0),))
    log = tuple(
        LoggedCondition("A", exposure_h=float(hour), pressure_bar=200.0 + 2.0 * float(hour))
        for hour in np.linspace(0.0, 100.0, 21)
    )
    study = replace(study, conditions=log)
    judged = judge(study, measurements)
    by_column = {d.series.column: d for d in judged.declines if d.series.metric == "pressure_bar"}
    found = by_column["A"]
    assert found.series.marker == ""
    assert found.life.state == "reached"
    # The reference is the mean of the pressures at 0, 5 and 10 h: 210 bar; 315 bar are met at 57.5 h.
    assert found.life.hours.value == pytest.approx(57.5, rel=1e-3)
    void_mL = float(np.median([row.retention_time_min or 0.0 for row in measurements.rows[:3]])) * 0.4
    assert found.series.exposure_cv[-1] == pytest.approx(100.0 * 60.0 * 0.4 / void_mL, rel=0.02)
    assert by_column["B"].life.state == "not measured"
    assert by_column["B"].reason == "not in the conditions log"


def test_nothing_measured_is_a_result() -> None:
    """A study without a single found peak has every life 'not measured', and no comparison with a p value."""
    study = study_of({"g": ("A", "B"), "h": ("C", "D")})
    judged = judge(study, Measurements(()))
    assert {decline.life.state for decline in judged.declines} == {"not measured"}
    assert all(life.life.state == "not measured" for life in judged.group_lives)
    assert all((c.p_value, c.finding) == (None, "not settled") for c in judged.comparisons)
    assert all(
        failure.metric == "" and failure.life.state == "not measured" for failure in judged.first_failures
    )
    assert judged.deciding == ("", "")


def test_no_limits_no_lives() -> None:
    """Without limits there are declines, and neither lives, comparisons nor a deciding metric."""
    study, measurements = plain(())
    judged = judge(study, measurements)
    assert judged.group_lives == ()
    assert judged.comparisons == ()
    assert judged.deciding == ("", "")
    assert all(decline.model is not None for decline in judged.declines if len(decline.series.value))
