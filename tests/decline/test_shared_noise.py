"""What the columns of a study say of the noise together, and what that does to their lives."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import special

from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.records import Decline, Series
from lyewitness.decline.shared_noise import ALONE, NOISES, SERIALS, Placed, Witness, beliefs, heard
from lyewitness.store import NO_STORE, Store, digest_of
from lyewitness.study.records import Choices
from lyewitness.words.arrays import FloatArray
from tests.decline.simulated_series import LIMIT, delayed, first_order, sigmoid, straight_line
from tests.decline.test_lives import series_of

LAWS = (first_order, straight_line, delayed, sigmoid)
COLUMNS = 6
INDEPENDENT, LASTING = 0, 3
"""Indices into `SERIALS`."""
Errors = Callable[[np.random.Generator, FloatArray], FloatArray]


def witness(column: str, serial: int, strength: float, kind: str = "plates") -> Witness:
    """Return one to whom noise of one kind is likelier than any other by `strength`, in logarithms."""
    log_evidence = np.array([strength * (noise.serial == SERIALS[serial]) for noise in NOISES])
    return Witness(kind, column, log_evidence)


def believed(belief: FloatArray, serial: int) -> float:
    """Return how far noise of one kind is believed."""
    share = np.exp(belief - special.logsumexp(belief))
    return float(
        sum(own for own, noise in zip(share, NOISES, strict=True) if noise.serial == SERIALS[serial])
    )


def test_priors_are_shares() -> None:
    """What is believed beforehand adds up to one, with others and alone."""
    assert sum(one.prior for one in SERIALS) == pytest.approx(1.0)
    assert sum(one.alone for one in SERIALS) == pytest.approx(1.0)


def test_a_column_learns_of_the_others_and_not_of_itself() -> None:
    """Its own values are weighed later: were they counted here, too, they would count twice."""
    others = [witness(name, LASTING, 2.0) for name in "abc"]
    quiet, loud = (beliefs([witness("d", INDEPENDENT, own), *others])[0] for own in (0.0, 50.0))
    assert quiet == pytest.approx(loud)
    assert believed(quiet, LASTING) > 0.8
    assert believed(quiet, INDEPENDENT) > 0.02


def test_a_column_without_others_keeps_to_what_is_believed_of_one() -> None:
    """Neither its other markers nor the other metrics of other columns tell it what its noise is like."""
    same = [witness("a", LASTING, 9.0), witness("a", LASTING, 9.0)]
    other_metric = witness("b", LASTING, 9.0, "symmetry")
    assert all(belief == pytest.approx(ALONE) for belief in beliefs([*same, other_metric]))


def test_markers_of_one_column_speak_once() -> None:
    """Eight markers of one column were injected together: they say no more than one."""
    one = beliefs([witness("a", INDEPENDENT, 0.0), witness("b", LASTING, 2.0)])[0]
    eight = beliefs([witness("a", INDEPENDENT, 0.0), *(witness("b", LASTING, 2.0) for _ in range(8))])[0]
    assert one == pytest.approx(eight)


def test_independent_injections_count_as_many() -> None:
    """The mean of independent injections errs as that of all of them; of lasting ones, of few."""
    placed = Placed(np.arange(24.0), np.arange(24.0) * 5.0, np.linspace(0.0, 1.0, 24))
    counts = {noise.serial: noise.independent(placed) for noise in NOISES}
    assert counts[SERIALS[INDEPENDENT]] == pytest.approx(24.0)
    assert 1.0 < counts[SERIALS[LASTING]] < 3.0


def independent(rng: np.random.Generator, hours: FloatArray) -> FloatArray:
    """Return errors that are new with every injection."""
    return np.asarray(0.01 * rng.standard_normal(len(hours)))


def by_day(rng: np.random.Generator, hours: FloatArray) -> FloatArray:
    """Return errors of days, and half as large ones of injections."""
    day = np.floor(hours / 24.0).astype(int)
    return np.asarray(
        0.01 * rng.standard_normal(day.max() + 1)[day] + 0.005 * rng.standard_normal(len(hours))
    )


def studies(errors: Errors, n: int, count: int) -> list[tuple[list[Task], list[float]]]:
    """Return studies of six columns that decline by four laws, and their lives."""
    found = []
    for number in range(count):
        rng = np.random.default_rng([20, n, number])
        hours = np.linspace(0.0, 120.0, n)
        tasks, lives = [], []
        for column in range(COLUMNS):
            law, life = LAWS[(number + column) % len(LAWS)], float(rng.uniform(35.0, 105.0))
            fine = np.linspace(0.0, 240.0, 24_001)
            reference = law(hours[:3], life).mean()
            lives.append(float(fine[np.flatnonzero(law(fine, life) < 0.8 * reference)[0]]))
            value = 12_000.0 * (law(hours, life) + errors(rng, hours))
            tasks.append(Task(replace(series_of(hours, value), column=f"c{column}"), (LIMIT,)))
        found.append((tasks, lives))
    return found


def holds(decline: Decline, life_h: float) -> bool:
    """Say whether the interval holds the life."""
    low, high = decline.life.hours.low, decline.life.hours.high
    return (low is None or low <= life_h) and (high is None or life_h <= high)


def width(decline: Decline) -> float:
    """Return that of the interval; nan where it is open."""
    low, high = decline.life.hours.low, decline.life.hours.high
    return np.nan if low is None or high is None else high - low


def held(declines: list[Decline], some: list[tuple[list[Task], list[float]]]) -> float:
    """Return the share of lives that are held."""
    every = [life for _, lives in some for life in lives]
    return float(np.mean([holds(one, life) for one, life in zip(declines, every, strict=True)]))


@pytest.mark.usefixtures("lives_alone")
def test_columns_together_know_days_from_bends() -> None:
    """Of 48 injections over five days a column alone holds two lives in three; six together hold more."""
    some = studies(by_day, 48, 10)
    assert held([one for tasks, _ in some for one in judge_declines(tasks, Choices())], some) > 0.82


@pytest.mark.slow
@pytest.mark.usefixtures("lives_alone")
@pytest.mark.parametrize("n", [8, 12, 24])
def test_clean_columns_are_no_less_sure_for_it(n: int) -> None:
    """Where errors are independent, bands are as narrow as those of each column by itself, and hold."""
    some = studies(independent, n, 10)
    together = [one for tasks, _ in some for one in judge_declines(tasks, Choices())]
    alone = [judge_declines([task], Choices())[0] for tasks, _ in some for task in tasks]
    ratios = [width(one) / width(other) for one, other in zip(together, alone, strict=True)]
    assert np.nanmedian(ratios) < 1.1
    assert held(together, some) > 0.9


def test_the_order_of_columns_changes_nothing() -> None:
    """Turned round, every column has the same life."""
    ((tasks, _),) = studies(by_day, 24, 1)
    there, back = judge_declines(tasks, Choices()), judge_declines(tasks[::-1], Choices())[::-1]
    for one, other in zip(there, back, strict=True):
        assert one.life.state == other.life.state
        assert one.percent == pytest.approx(other.percent)
        assert width(one) == pytest.approx(width(other), rel=1e-6, nan_ok=True)


def test_one_injection_less_seldom_changes_what_others_believe() -> None:
    """Beliefs go in steps: most declines of other columns stay as they were to the last bit."""
    same = []
    for tasks, _ in studies(independent, 48, 3):
        shorter = _without_the_last(tasks[-1].series, 1)
        before = judge_declines(tasks, Choices())
        after = judge_declines([*tasks[:-1], Task(shorter, (LIMIT,))], Choices())
        same += [
            digest_of(one) == digest_of(other) for one, other in zip(before[:-1], after[:-1], strict=True)
        ]
    assert sum(same) > len(same) / 2


def test_one_injection_more_of_a_long_series_is_heard_with_its_batch() -> None:
    """Until then the declines of all other columns stay as they were to the last bit."""
    ((tasks, _),) = studies(by_day, 71, 1)
    for fewer, same in ((3, True), (4, False)):
        shorter = _without_the_last(tasks[-1].series, fewer)
        before = judge_declines(tasks, Choices())
        after = judge_declines([*tasks[:-1], Task(shorter, (LIMIT,))], Choices())
        changed = [digest_of(one) != digest_of(two) for one, two in zip(before, after, strict=True)]
        assert changed[-1]
        assert any(changed[:-1]) != same


def test_hardly_an_injection_waits_to_be_heard() -> None:
    """Short series are heard whole, long ones but for a sixteenth; one more is never heard as fewer."""
    counts = range(3000)
    assert all(heard(n) == n for n in counts[:65])
    assert all(n - n / 16 < heard(n) <= n for n in counts[1:])
    assert all(heard(n) <= heard(n + 1) for n in counts)


def _without_the_last(series: Series, count: int) -> Series:
    """Return a series as it was before its last injections."""
    return replace(
        series,
        injections=series.injections[:-count],
        exposure_h=series.exposure_h[:-count],
        exposure_cv=series.exposure_cv[:-count],
        value=series.value[:-count],
    )


def test_what_was_judged_before_is_taken_from_the_store(tmp_path: Path) -> None:
    """With a store, without one and a second time, declines are the same to the last bit."""
    ((tasks, _),) = studies(by_day, 12, 1)
    store = Store(tmp_path)
    found = [judge_declines(tasks, Choices(), kept) for kept in (store, store, NO_STORE)]
    assert len({digest_of(one) for one in found}) == 1
