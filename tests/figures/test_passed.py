"""What stands under a column's figure agrees with what is told of its first failure."""

from dataclasses import replace

import pytest

from lyewitness.decline.records import Life
from lyewitness.figures.multiples import _passed
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import exposure
from tests.findings.making import evidence_of


@pytest.mark.parametrize(
    ("life", "told"),
    [
        (
            Life("reached", Estimate(None, 16.6, 99.2)),
            "S1 failed 1 of 1 limits: plate number (half height) of caffeine between 16.6 and 99.2\u2009h.",
        ),
        (
            Life("not reached", Estimate(None, 99.2)),
            "S1 stayed within its one limit up to its last injection at {seen}.",
        ),
        (
            Life("unclear", Estimate(None, 50.0)),
            "S1 failed no limit for sure up to its last injection at {seen}.",
        ),
    ],
)
def test_a_limit_failed_between_two_hours_is_told_as_failed(life: Life, told: str) -> None:
    """A life of which only the ends are known was reached all the same."""
    evidence = evidence_of({"silica": (50.0,)})
    decline = evidence.decline("S1", "caffeine", "plate_number_half_height")
    assert decline is not None
    assert _passed("S1", [replace(decline, life=life)], 96.0) == told.format(seen=exposure(96.0))
