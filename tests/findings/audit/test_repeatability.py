"""Are the errors of injections new each time?"""

from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.judging import judge
from lyewitness.findings.audit.repeatability import errors_last
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Limit, Marker
from tests.decline.simulated_series import straight_line
from tests.decline.small_study import study_of, with_values
from tests.decline.test_shared_noise import Errors, by_day, independent

PLATES = "plate_number_half_height"


def said_of(errors: Errors, injections: int) -> list[tuple[str, str]]:
    """Return result and detail for six columns whose plates fall along a line."""
    rng = np.random.default_rng(12)
    hours = np.linspace(0.0, 120.0, injections)
    study = study_of({"A": ("A1", "A2", "A3"), "B": ("B1", "B2", "B3")}, (Limit(PLATES, 80.0),))
    study = replace(study, markers=(Marker("base", "base", 2.9, 9.6),))
    values = {
        (column.id, "base"): {PLATES: 12_000.0 * (straight_line(hours, 70.0) + errors(rng, hours))}
        for column in study.columns
    }
    filled, measurements = with_values(study, hours, values)
    evidence = Evidence(filled, {}, measurements, judge(filled, measurements))
    return [(point.check.result, point.check.detail) for point in errors_last(evidence)]


@pytest.mark.parametrize(("errors", "result"), [(independent, "good"), (by_day, "caution")])
def test_errors_of_days_are_told_from_those_of_injections(errors: Errors, result: str) -> None:
    """With 48 injections on six columns errors of days raise a caution with what they cost in simulation."""
    ((found, detail),) = said_of(errors, 48)
    assert found == result, detail
    assert ("in simulated studies" in detail) == (result == "caution")


def test_of_few_injections_nothing_is_said() -> None:
    """With twelve injections nobody can tell."""
    assert said_of(by_day, 12) == []
