"""Formulas of the findings against values from outside."""

import numpy as np
import pytest

from lyewitness.decline.usable_lives import UsableLife, next_column_h
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.replacing import _how, span_and_runs
from lyewitness.findings.audit.repeatability import largest_rsd_percent
from lyewitness.findings.changes import change_between
from lyewitness.study.records import Question
from lyewitness.words.numbers import DOWN, UP, as_printed
from tests.findings.making import evidence_of


@pytest.mark.parametrize(
    ("b_percent", "injections", "allowed"),
    [
        (2.0, 3, 0.41), (2.0, 4, 0.59), (2.0, 5, 0.73), (2.0, 6, 0.85),
        (3.0, 3, 0.62), (3.0, 4, 0.89), (3.0, 5, 1.10), (3.0, 6, 1.27),
    ],
)  # fmt: skip
def test_largest_rsd_is_the_table_of_the_pharmacopoeia(
    b_percent: float, injections: int, allowed: float
) -> None:
    """RSDmax agrees with the table of Ph. Eur. 2.2.46, repeatability (references, 'Peak metrics')."""
    assert round(largest_rsd_percent(b_percent, injections), 2) == allowed


def test_repeatability_of_one_injection_is_refused() -> None:
    """One injection has no repeatability."""
    with pytest.raises(ValueError, match="two injections"):
        largest_rsd_percent(2.0, 1)


def test_a_next_column_outlives_its_bound_as_often_as_promised() -> None:
    """Of next columns from the same population, at least 95 % hold what was promised (simulation)."""
    decline = evidence_of({"hybrid": (60.0, 64.0)}).judgement.declines[0]
    random = np.random.default_rng(11)
    kept = []
    for _ in range(1500):
        tested, coming = (
            np.exp(4 + 0.2 * random.standard_normal(3)),
            np.exp(4 + 0.2 * random.standard_normal()),
        )
        lives = [UsableLife("H", float(life), float(life), float(life), decline) for life in tested]
        promised = next_column_h(lives, 0.95)
        assert promised is not None
        kept.append(coming >= promised)
    assert np.mean(kept) >= 0.94


def test_one_column_promises_nothing_for_the_next() -> None:
    """From one column nothing follows for the next."""
    decline = evidence_of({"hybrid": (60.0, 64.0)}).judgement.declines[0]
    assert next_column_h([UsableLife("H", 60.0, 58.0, 62.0, decline)], 0.95) is None
    # One failed at 88 h, one held for 100 h and might have held for 500: nobody has seen how far they differ.
    failed, held = UsableLife("H", 88.0, 85.0, 91.0, decline), UsableLife("I", None, 100.0, None, decline)
    assert next_column_h([failed, held], 0.95) is None


def test_a_column_that_leaked_before_any_failed_bounds_no_next_one() -> None:
    """What was taken off sound after 18 h takes nothing from three that failed after 52 h and more."""
    decline = evidence_of({"hybrid": (60.0, 64.0)}).judgement.declines[0]
    failed = [UsableLife("H", life, life - 1.0, life + 1.0, decline) for life in (52.0, 59.0, 60.0)]
    leaked = UsableLife("I", None, 18.0, None, decline)
    promised = next_column_h([*failed, leaked], 0.95)
    assert promised == next_column_h(failed, 0.95)
    assert promised is not None
    assert promised > 40.0


def test_a_time_that_lies_before_all_failures_is_explained_by_them() -> None:
    """Beside 52 to 60 h nobody reads that one of them may have failed after 43 h."""
    decline = evidence_of({"hybrid": (60.0, 64.0)}).judgement.declines[0]
    lives = [UsableLife("H", life, life - 1.0, life + 1.0, decline, decline) for life in (52.0, 59.0, 60.0)]
    leaked = UsableLife("I", None, 18.0, None, decline)
    assert "may have failed as early" not in _how([*lives, leaked], 43.0)
    assert "may have failed as early" in _how([*lives, leaked], 51.0)


def test_a_change_has_an_interval_from_both_ends() -> None:
    """A fall from about 100 to about 90 is told as −10 % with an interval around it."""
    change = change_between([99.0, 100.0, 101.0], [89.0, 90.0, 91.0])
    assert change is not None
    assert change.percent == pytest.approx(-10.0)
    assert change.low < -10.0 < change.high
    assert change.falls_by(5.0)
    assert not change.holds_within(5.0)


def test_the_interval_of_a_change_covers_as_often_as_it_says() -> None:
    """The 95 % interval of a change covers the true −20 % in 93 to 97 % of draws (simulation)."""
    random = np.random.default_rng(3)
    covered = []
    for _ in range(3000):
        start, end = 100 + 2 * random.standard_normal(3), 80 + 2 * random.standard_normal(3)
        change = change_between(start.tolist(), end.tolist())
        assert change is not None
        covered.append(change.low <= -20.0 <= change.high)
    assert 0.93 <= np.mean(covered) <= 0.97


def test_too_few_values_give_no_change() -> None:
    """One value at each end gives no interval, and so no change."""
    assert change_between([1.0], [2.0]) is None
    assert change_between([], [2.0, 2.0]) is None


def test_runs_are_reckoned_from_the_hours_that_stand_beside_them() -> None:
    """110 h of runs of 12 min are 550 injections, whatever digits the exposure has behind."""
    assert as_printed(110.34, 3, DOWN) == 110.0
    assert as_printed(58.91, 2, DOWN) == 58.0
    assert as_printed(1234.5, 3, UP) == 1240.0
    scope = Scope(Question("q", "How long?", run_time_min=12.0), (), ("", ""), None)
    assert "(550 injections of 12" in span_and_runs(scope, 110.34, 3)
    # Nobody makes 64.0 injections.
    scope = Scope(Question("q", "How long?", run_time_min=30.0), (), ("", ""), None)
    assert "(64 injections of 30" in span_and_runs(scope, 32.4)
