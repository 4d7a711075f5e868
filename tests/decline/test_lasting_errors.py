"""Errors that last: of a day, of a batch, of a drift. They are no decline, and lives hold all the same."""

from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.records import Decline
from lyewitness.decline.shared_noise import SERIALS, Placed
from lyewitness.study.records import Choices
from lyewitness.words.arrays import FloatArray
from tests.decline.simulated_series import LIMIT
from tests.decline.test_lives import series_of
from tests.lasting_errors import counted

pytestmark = pytest.mark.usefixtures("lives_alone")

HOURS = np.concatenate([[0.0, 0.1, 0.2], np.linspace(8.0, 120.0, 15)])
DAY = np.floor(HOURS / 24.0).astype(int)
SEED = 4_400
"""Other than that of the table."""


def judged(columns: list[FloatArray], choices: Choices | None = None) -> tuple[Decline, ...]:
    """Return the declines of one study of plate numbers in per cent, a column each."""
    tasks = [
        Task(replace(series_of(HOURS, 100.0 * value), column=f"c{number}"), (LIMIT,))
        for number, value in enumerate(columns)
    ]
    return judge_declines(tasks, choices or Choices())


def test_injections_of_a_day_err_together() -> None:
    """Within a day errors are nearly one, whatever the day begins with; from day to day they are new."""
    placed = Placed(np.arange(18.0), HOURS, HOURS / 120.0)
    (day, *_) = (one for one in SERIALS if one.course == "day" and one.begins == 0)
    together = day.correlated(placed)
    same = DAY[:, None] == DAY[None, :]
    assert together[~same] == pytest.approx(0.0)
    assert together[same].min() > 0.9
    assert np.diag(together) == pytest.approx(1.0)


@pytest.mark.parametrize("serial", SERIALS)
def test_every_description_can_be_drawn_from(serial: object) -> None:
    """Correlations are those of real errors: no sum of injections has a variance below zero."""
    placed = Placed(np.arange(18.0), HOURS, HOURS / 120.0)
    matrix = next(one for one in SERIALS if one is serial).correlated(placed)
    assert np.linalg.eigvalsh(matrix).min() > -1e-9


@pytest.mark.parametrize(
    ("noise", "least"),
    [
        ("of injections alone", 0.9),
        ("by session, of one column", 0.85),
        ("by batch, of one column", 0.85),
        ("drift of one column", 0.75),
        ("random walk", 0.75),
    ],
)
def test_lives_hold_where_errors_last(noise: str, least: float) -> None:
    """Of four columns nine lives in ten are held; fewer than `least` come up in one of fifty tests."""
    one = counted(noise, 4, 10, SEED)
    assert one.reached > 10
    assert one.held >= least * one.reached, one


def test_a_plateau_that_jumps_by_the_day_is_not_called_reached() -> None:
    """It stays 4 % within the limit; on some days all injections lie past it."""
    reached = 0
    for seed in range(8):
        rng = np.random.default_rng([SEED, seed])
        plateau = 84.0 + 16.0 * np.exp(-HOURS / 12.0)
        columns = [plateau * np.exp(0.025 * rng.standard_normal(6)[DAY] + 0.006 * rng.standard_normal(18))
                   for _ in range(3)]  # fmt: skip
        reached += sum(one.life.state == "reached" for one in judged(columns))
    assert reached <= 2


def test_a_dip_in_progress_leaves_the_end_open() -> None:
    """After a slow loss the last day lost four times as much as all before: it may come back as it went."""
    clean = 100.0 - 0.02 * HOURS - 12.0 * np.clip((HOURS - 100.0) / 20.0, 0.0, 1.0)
    for seed in range(4):
        rng = np.random.default_rng([SEED, seed])
        (one,) = judged([clean + 0.3 * rng.standard_normal(18)], Choices(extrapolate_to_h=240.0))
        assert one.life.state == "not reached"
        assert one.life.hours.high is None or one.life.hours.high > 180.0


def test_of_a_column_alone_a_drift_is_told() -> None:
    """Nobody can tell its decline from a drift: what that would make of its life is said; of several columns
    it is not."""
    rng = np.random.default_rng(SEED)
    columns = [100.0 - 0.2 * HOURS + 0.3 * rng.standard_normal(18) for _ in range(3)]
    (alone,) = judged(columns[:1])
    own, drifted = alone.life.hours, alone.if_drifting
    assert own.low is not None
    assert own.high is not None
    assert drifted.low is not None
    assert drifted.low < own.low or drifted.high is None or drifted.high > own.high
    assert all(one.if_drifting.low is None for one in judged(columns))


def test_bands_of_few_injections_stay_within_what_can_be() -> None:
    """Six injections with a long gap: no band lies below zero or above twice what was measured."""
    hours = np.array([0.0, 0.1, 0.2, 0.3, 110.0, 120.0])
    series = series_of(hours, 90.0 * np.array([100.0, 103.0, 97.0, 100.5, 70.0, 30.0]))
    (one,) = judge_declines([Task(series, (LIMIT,))], Choices())
    assert one.curve_low.min() >= 0.0
    assert one.curve_high.max() <= 2.0 * one.percent.max() + 1e-9
    assert one.remaining.low is not None
    assert one.remaining.low >= 0.0
