"""Links from a claim to its evidence say what the evidence says."""

from dataclasses import replace

import pytest

from lyewitness.findings.because import turned, upright
from lyewitness.words.estimates import Estimate
from tests.findings.making import evidence_of

LIVES = {"hybrid": (60.0, 64.0, 66.0), "silica": (30.0, 31.0, 33.0)}


def test_a_ratio_turned_over_has_its_ends_exchanged() -> None:
    """1 ÷ 0.5 (0.4 to 0.8) is 2 (1.25 to 2.5): the low end comes of the high one, and open ends stay open."""
    whole = turned(Estimate(0.5, 0.4, 0.8, "why"))
    assert (whole.value, whole.low, whole.high) == pytest.approx((2.0, 1.25, 2.5))
    assert whole.reason == "why"
    half = turned(Estimate(None, None, 0.8))
    assert half.low == pytest.approx(1.25)
    assert half.high is None


def test_a_comparison_reads_the_same_whichever_group_stands_first() -> None:
    """The longer-lived group is told on top, with the same ratio and interval, in either order."""
    (found,) = evidence_of(LIVES).judgement.comparisons
    first, second, ratio = upright(found)
    assert (first, second) == ("hybrid", "silica")
    swapped = replace(
        found, group_a=found.group_b, group_b=found.group_a, life_ratio=turned(found.life_ratio)
    )
    again = upright(swapped)
    assert again[:2] == (first, second)
    assert (again[2].low, again[2].value, again[2].high) == pytest.approx(
        (ratio.low, ratio.value, ratio.high)
    )
    assert ratio.low is not None
    assert ratio.high is not None
    assert ratio.low < ratio.high
