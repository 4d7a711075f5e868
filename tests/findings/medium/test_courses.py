"""The medium as courses: the same numbers as in the facts, over temperature and over hours."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from lyewitness.chemistry.bed import UNFAVOURABLE, silica_in_medium
from lyewitness.chemistry.solvents import water_density
from lyewitness.findings.medium.courses import Course, courses_of, hours_to
from lyewitness.findings.medium.settings import stress_settings
from lyewitness.findings.records import Report
from lyewitness.words.estimates import Estimate


def told(example: Report, start: str) -> str:
    """Return the words of a fact."""
    return next(fact.text for fact in example.findings.chemistry if fact.id.startswith(start))


def test_ph_runs_through_what_the_facts_say(example: Report) -> None:
    """At the bench the course is the pH read there, in the oven that of the fact, between them it falls."""
    courses = courses_of(example.study, example.measurements)
    (course,) = courses.ph
    middles = [one.value or 0.0 for one in course.values]
    assert np.interp(25.0, course.at, middles) == pytest.approx(11.2, abs=0.02)
    assert f"becomes pH {np.interp(50.0, course.at, middles):.2f}" in told(example, "stress-ph")
    assert all(later < earlier for earlier, later in pairwise(middles))
    assert [one.name for one in courses.readings] == ["bottle", "stress", "injections"]


def test_charge_is_that_of_the_facts(example: Report) -> None:
    """The charged share of the base at the injections' temperature is the one that its fact gives."""
    courses = courses_of(example.study, example.measurements)
    (course,) = courses.charged_percent
    share = np.interp(40.0, course.at, [one.value or 0.0 for one in course.values])
    assert f"{share:.1f}\u2009% (" in told(example, "ionisation")


def test_silica_dissolved_is_what_saturated_mobile_phase_carries(example: Report) -> None:
    """After an hour: solubility × share of water × flow; the lightest bed could be gone in the hours told."""
    courses = courses_of(example.study, example.measurements)
    (course,) = courses.dissolved_mg
    (setting,) = stress_settings(example.study)
    assert setting.medium is not None
    bound = silica_in_medium(setting.medium.composition, 50.0, UNFAVOURABLE).silica_mg_kg
    an_hour = bound / 1000 * water_density(25.0) * 0.75 * 0.3 * 60
    assert (course.values[-1].high or 0.0) / course.at[-1] == pytest.approx(an_hour)
    assert [bed.group for bed in courses.beds] == ["silica C18", "silica C18 + sacrificial"]
    tenth = told(example, "dissolution-silica-C18-s").rpartition("before ")[2]
    _, earliest = hours_to(course, courses.beds[1].low_mg)
    assert earliest is not None
    assert tenth.startswith(f"{earliest / 10:.2g}"[:4])


def test_what_cannot_be_computed_is_left_out(example: Report) -> None:
    """Without a pH measured at a temperature there is no course; of polymer alone no silica."""
    nameless = replace(
        example.study,
        stress=replace(example.study.stress, ph=None),
        test=replace(example.study.test, ph=None, buffer="a secret mixture"),
    )
    courses = courses_of(nameless, example.measurements)
    assert not courses.charged_percent
    polymer = replace(
        example.study, columns=tuple(one for one in example.study.columns if one.particle == "polymer")
    )
    assert not courses_of(polymer, example.measurements).beds
    assert not courses_of(polymer, example.measurements).dissolved_mg


def test_a_bed_that_never_goes_is_given_no_hour() -> None:
    """Where less is carried off than a bed holds there is no hour at which it was gone."""
    course = Course("stress", (0.0, 10.0), (Estimate(0.0, 0.0, 0.0), Estimate(40.0, 0.0, 80.0)))
    usual, earliest = hours_to(course, 60.0)
    assert usual is None
    assert earliest == pytest.approx(7.5)
    assert hours_to(course, 100.0) == (None, None)
