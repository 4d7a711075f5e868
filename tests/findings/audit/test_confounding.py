"""How a difference in treatment bounds what may be said of a pair."""

import pytest

from lyewitness.findings.audit.points import Asked, Point
from lyewitness.findings.audit.results import weigh
from lyewitness.words.estimates import Estimate
from tests.findings.making import evidence_of

ASKED = Asked("treatment", "Were they treated alike?", "It could make the difference.", "Repeat.")
EVIDENCE = evidence_of({"hybrid": (60.0, 64.0, 66.0), "silica": (30.0, 31.0, 33.0)})


def weighed(times: float, rough: bool, harder: str = "silica") -> Point:
    """Return the point on a treatment that shortens lives of one group by up to that factor."""
    hardness = {group: float(group == harder) for group in ("hybrid", "silica")}
    (point,) = weigh(
        EVIDENCE, ASKED, "heat", "heated", hardness, lambda hard, soft: times ** (hard - soft), rough
    )
    return point


def surely() -> float:
    """Return the factor by which hybrid surely outlasts silica."""
    (found,) = EVIDENCE.judgement.comparisons
    ratio: Estimate = found.life_ratio
    assert ratio.low is not None
    assert ratio.high is not None
    return ratio.low if found.group_a == "hybrid" else 1 / ratio.high


@pytest.mark.parametrize(("rough", "bound"), [(False, "shown"), (True, "indicated")])
def test_a_rough_factor_must_be_exceeded_by_its_square(rough: bool, bound: str) -> None:
    """Between a factor and its square, a ranking stands as shown only where the factor is well known."""
    between = surely() ** 0.75
    assert weighed(between, rough).bound == bound


@pytest.mark.parametrize("rough", [True, False])
def test_a_ratio_beyond_the_square_stands_and_one_below_the_factor_falls(rough: bool) -> None:
    """A factor far below the ratio bounds nothing; one above it leaves nothing settled."""
    assert weighed(surely() ** 0.4, rough).bound == "shown"
    assert weighed(surely() * 1.1, rough).bound == "not settled"


def test_a_harder_treatment_of_the_longer_lived_bounds_nothing() -> None:
    """What was treated harder and lasted longer all the same stands as shown."""
    assert weighed(3.0, True, harder="hybrid").bound == "shown"


def test_what_could_shorten_several_lives_is_told_once() -> None:
    """One cause of three open pairs is one sentence, with a factor for each pair."""
    alike = {"hybrid": (60.0, 74.0, 66.0), "silica": (61.0, 72.0, 67.0), "polymer": (62.0, 75.0, 65.0)}
    hardness = {"hybrid": 1.0, "silica": 1.1, "polymer": 1.25}
    found = weigh(
        evidence_of(alike), ASKED, "heat", "heated", hardness, lambda hard, soft: hard / soft, False
    )
    detail = next(iter(found)).check.detail
    assert detail.count("can shorten lives") == 1
    for part in ("1.10 (silica against hybrid)", "1.25 (polymer against hybrid)", "1.14 (polymer against"):
        assert part in detail, detail
