"""The outlook of a study that still runs."""

from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.judging import judge
from lyewitness.findings.answer.outlook import outlook_lines, outlook_of
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Outlook
from lyewitness.study.records import Limit, Marker, Plan
from tests.decline.small_study import study_of, with_values
from tests.false_longer import fall

ENDS_H = 120.0


def outlook(lives: dict[str, float], reached_h: float, seed: int = 1, delay: float = 0.3) -> Outlook:
    """Return the outlook of columns with these lives after `reached_h`."""
    rng = np.random.default_rng(seed)
    study = study_of({"A": tuple(lives)}, (Limit("plate_number_half_height", at_least_percent=80.0),))
    study = replace(study, markers=(Marker("base", "base", 2.9, 9.6),), plan=Plan(ends_h=ENDS_H))
    hours = np.arange(0.0, reached_h + 1e-9, 4.0)
    values = {
        (name, "base"): {"plate_number_half_height": fall(rng, hours, life, delay)}
        for name, life in lives.items()
    }
    filled, measurements = with_values(study, hours, values)
    found = outlook_of(Evidence(filled, {}, measurements, judge(filled, measurements)), (), ())
    assert found is not None
    return found


def test_what_is_passed_and_what_is_expected() -> None:
    """A column past its limit is told as that; of one on its way the crossing is foretold."""
    found = outlook({"A1": 30.0, "A2": 70.0}, 56.0)
    assert [one.column for one in found.passed] == ["A1"]
    assert [one.column for one in found.expected] == ["A2"]
    hours = found.expected[0].hours
    assert hours.value == pytest.approx(70.0, rel=0.15)
    assert found.inject_from_h is not None
    assert found.inject_from_h >= 56.0
    assert found.inject_every_h is not None
    assert found.inject_every_h <= 4.0
    lines = outlook_lines(found)
    assert lines[0].startswith("The test is running: 56\u2009h of 120") or "running" in lines[0]
    assert any("A1" in line and "Past a limit" in line for line in lines)
    assert any("A2 is expected to pass" in line for line in lines)
    assert lines[-1] == "Stopping now would not answer the question."
    assert len(lines) <= 10


def test_a_study_that_has_ended_has_no_outlook() -> None:
    """At the planned end nothing is running any more."""
    study = study_of({"A": ("A1", "A2")})
    filled, measurements = with_values(replace(study, plan=Plan(ends_h=8.0)), np.array([0.0, 4.0, 8.0]), {})
    assert outlook_of(Evidence(filled, {}, measurements, judge(filled, measurements)), (), ()) is None


@pytest.mark.slow
def test_crossings_are_foretold_soundly() -> None:
    """Of crossings foretold at 70 to 90 % of the life, nine in ten at least lie in their interval."""
    held = []
    for seed in range(30):
        rng = np.random.default_rng(1000 + seed)
        lives = {f"A{n}": float(rng.uniform(50.0, 90.0)) for n in range(1, 4)}
        share, delay = rng.uniform(0.7, 0.9), rng.uniform(0.0, 0.6)
        found = outlook(lives, share * min(lives.values()), seed, delay)
        for one in found.expected:
            low, high = one.hours.low or 0.0, one.hours.high or float("inf")
            held.append(low <= lives[one.column] <= high)
    print(f"{sum(held)} of {len(held)} crossings in their interval")
    assert len(held) > 40
    assert sum(held) >= 0.9 * len(held)
