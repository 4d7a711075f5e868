"""Looks at a study that still runs: bounds against published ones, and what may be said when.

Bounds: Lan and DeMets (1983), spending function of the O'Brien–Fleming type, two-sided 0.05, as tabled by
Reboussin and others (2000), Controlled Clinical Trials 21, 190.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from lyewitness.decline.looks import bounds, nominal_levels, spent, standing_of
from lyewitness.study.records import Plan, Study
from tests.decline.small_study import study_of, with_values


@pytest.mark.parametrize(
    ("looks", "published"),
    [
        (2, (2.963, 1.969)),
        (3, (3.710, 2.511, 1.993)),
        (4, (4.333, 2.963, 2.359, 2.014)),
        (5, (4.877, 3.357, 2.680, 2.290, 2.031)),
    ],
)
def test_bounds_are_the_published_ones(looks: int, published: tuple[float, ...]) -> None:
    """At equal steps the bounds agree with the tables to their last figure."""
    fractions = tuple((number + 1) / looks for number in range(looks))
    assert np.allclose(bounds(fractions, 0.05), published, atol=6e-4)


def test_the_whole_error_is_spent_at_the_end() -> None:
    """Spending begins at nearly nothing and ends at the whole; a single look has the usual level."""
    assert spent(1.0, 0.05) == pytest.approx(0.05)
    assert spent(0.2, 0.05) < 1e-5
    assert nominal_levels((1.0,), 0.05)[0] == pytest.approx(0.05, abs=1e-6)


def test_a_walk_leaves_the_bounds_one_time_in_twenty() -> None:
    """Of 200,000 random walks looked at four times, at unequal steps, 5 % leave the bounds at any look."""
    fractions = (0.25, 0.4, 0.8, 1.0)
    steps = np.sqrt(np.diff((0.0, *fractions)))
    walks = np.cumsum(np.random.default_rng(3).normal(size=(200_000, 4)) * steps, axis=1)
    out = (np.abs(walks) / np.sqrt(fractions) > bounds(fractions, 0.05)).any(axis=1)
    assert out.mean() == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 200_000))
    assert norm.isf(0.025) < bounds(fractions, 0.05)[-1]


def standing(plan: Plan, hours: list[float], running: bool = False) -> tuple[bool, int, float | None]:
    """Return whether a study with injections at these hours runs, at which look, and its level."""
    study: Study = study_of({"A": ("A1", "A2"), "B": ("B1", "B2")})
    at = np.array(hours)
    values = {
        (column.id, marker.id): {"plate_number_half_height": 1000.0 - at}
        for column in study.columns
        for marker in study.markers
    }
    study, measurements = with_values(study, at, values)
    found = standing_of(replace(study, plan=plan, running=running), measurements)
    return found.running, found.look, found.level


def test_a_study_runs_until_its_planned_end() -> None:
    """Before the end it runs, from the end on it does not; what says that it runs is believed."""
    assert standing(Plan(), [0.0, 24.0]) == (False, 0, None)
    assert standing(Plan(ends_h=48.0), [0.0, 24.0]) == (True, 0, None)
    assert standing(Plan(ends_h=48.0), [0.0, 24.0, 48.1]) == (False, 0, None)
    assert standing(Plan(), [0.0, 24.0], running=True) == (True, 0, None)


def test_an_injection_behind_which_no_other_fits_before_the_end_is_the_last() -> None:
    """Where the next one would fall behind the planned end the test is over; not where steps are wide."""
    steps = [0.0, *(5.5 * number for number in range(1, 17))]
    plan = Plan(ends_h=90.0, looks_h=(45.0,))
    assert standing(plan, steps)[:2] == (False, 2)
    assert standing(plan, steps[:-2])[:2] == (True, 0)
    assert standing(plan, steps, running=True)[0]
    assert standing(Plan(ends_h=90.0), [0.0, 48.0])[0]


def test_a_look_is_the_first_injection_at_its_time() -> None:
    """At a planned look the level is that of the look; before it, and past it, there is none."""
    plan = Plan(ends_h=72.0, looks_h=(24.0, 48.0, 72.0))
    assert standing(plan, [0.0, 12.0])[1:] == (0, None)
    running, look, level = standing(plan, [0.0, 12.0, 24.0])
    assert (running, look) == (True, 1)
    assert level == pytest.approx(2.07e-4, rel=0.01)
    assert standing(plan, [0.0, 12.0, 24.0, 30.0])[1:] == (0, None)
    running, look, level = standing(plan, [0.0, 24.0, 48.0, 60.0, 72.0])
    assert (running, look) == (False, 3)
    assert level == pytest.approx(0.0463, abs=2e-4)
