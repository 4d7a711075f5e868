"""Beside a corrected p value it is said of what the interval is."""

from dataclasses import replace

import pytest

from lyewitness.decline.records import Comparison
from lyewitness.findings.answer.claims import _alone
from lyewitness.words.estimates import Estimate

PAIR = Comparison(
    marker="base", metric="symmetry_factor", group_a="A", group_b="B", columns_a=2, columns_b=3,
    life_ratio=Estimate(1.8, 1.1, 3.0), rate_ratio=Estimate(), p_value=0.029, p_adjusted=0.14,
    method="t test", finding="not settled",
)  # fmt: skip


def test_an_interval_of_one_pair_is_told_as_that_beside_a_p_of_many() -> None:
    """The interval leaves out 1 and the corrected p settles nothing: both are of different questions."""
    assert "of this pair alone" in _alone(PAIR, PAIR.life_ratio)
    assert "0.029" in _alone(PAIR, PAIR.life_ratio)


@pytest.mark.parametrize(
    "pair",
    [
        replace(PAIR, p_adjusted=0.03),
        replace(PAIR, life_ratio=Estimate(1.8, 0.9, 3.6)),
        # Compared with a control, interval and p value are of all groups at once.
        replace(PAIR, control="B"),
    ],
)
def test_nothing_is_added_where_the_two_agree(pair: Comparison) -> None:
    """A corrected p that settles, an interval with 1 in it, or one of all groups at once needs no words."""
    assert _alone(pair, pair.life_ratio) == ""
