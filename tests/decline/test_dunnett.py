"""Several groups against a control: published answers, and the choice that asks for it.

Data, p values and intervals: scipy's `stats/tests/test_multicomp.py`, cases 2 to 4, which two other programs
computed with random points, good to about 3e-4. Critical values: Dunnett, J. Am. Stat. Assoc. 1955, 50, 1096,
tables 2a and 2b, as quoted in the same file; for three groups and more they are approximations from above
(tables revised in Biometrics 1964, 20, 482: from memory).
"""

import numpy as np
import pytest

from lyewitness.decline.comparing import against_control, all_within, critical_value
from lyewitness.decline.small_samples import holm

CASES = [
    (
        [[9.76, 8.80, 7.68, 9.36], [12.80, 9.68, 12.16, 9.20, 10.55]],
        [7.40, 8.50, 7.20, 8.24, 9.84, 8.32],
        [0.6201020, 0.0058254],
        [(-1.2564116462124, 2.5564116462124), (0.8396273539789, 4.4163726460211)],
    ),
    (
        [[55, 64, 64], [55, 49, 52], [50, 44, 41]],
        [55, 47, 48],
        [0.036407, 0.896539, 0.409295],
        [
            (0.7529028025053, 21.2470971974947),
            (-8.2470971974947, 12.2470971974947),
            (-15.2470971974947, 5.2470971974947),
        ],
    ),
    (
        [[3.8, 2.7, 4.0, 2.4], [2.8, 3.4, 3.7, 2.2, 2.0]],
        [2.9, 3.0, 2.5, 2.6, 3.2],
        [0.58317, 0.99819],
        [(-0.6898153448579, 1.4598153448579), (-1.0333456251632, 0.9933456251632)],
    ),
]


@pytest.mark.parametrize(("groups", "control", "p_values", "intervals"), CASES)
def test_published_cases_are_met(
    groups: list[list[float]],
    control: list[float],
    p_values: list[float],
    intervals: list[tuple[float, float]],
) -> None:
    """p values agree to the digits printed, simultaneous intervals to a thousandth of their width."""
    arrays = [np.array(group, dtype=float) for group in groups]
    none = np.zeros(len(control) + sum(len(group) for group in groups))
    found = against_control(arrays, np.array(control, dtype=float), none, 0.95)
    assert [one.p_value for one in found] == pytest.approx(p_values, abs=4e-4)
    for one, (low, high) in zip(found, intervals, strict=True):
        assert one.interval == pytest.approx((low, high), abs=1e-3 * (high - low))


@pytest.mark.parametrize(
    ("groups", "freedom", "t", "p"),
    [(1, 10, 2.23, 0.05), (3, 10, 2.81, 0.05), (2, 30, 2.32, 0.05), (3, 20, 2.57, 0.05), (4, 12, 3.76, 0.01),
     (7, 12, 4.08, 0.01), (2, 60, 2.90, 0.01), (4, 60, 3.14, 0.01)],
)  # fmt: skip
def test_the_table_of_critical_values_is_met(groups: int, freedom: int, t: float, p: float) -> None:
    """Groups of one size: to two decimals for one and two groups, from above and within 3 % for more."""
    shares = (0.5**0.5,) * groups
    found = critical_value(shares, freedom, 1 - p)
    assert 1 - all_within(found, shares, freedom) == pytest.approx(p, rel=1e-6)
    assert (0.99 if groups < 3 else 0.97) * t < found < t + 0.0101


def test_groups_of_one_family_count_once() -> None:
    """Two comparisons that were adjusted for each other weigh as one beside a third."""
    assert holm([0.01, 0.02, 0.03], ["control", "control", "pair"]) == pytest.approx([0.02, 0.04, 0.04])
    assert holm([0.01, 0.02, 0.03]) == pytest.approx([0.03, 0.04, 0.04])


def test_columns_that_agree_by_luck_keep_a_share_of_their_own_errors() -> None:
    """Lives that scatter far less than each is known to are not told apart by that luck."""
    groups, control = [np.log([60.0, 60.1, 60.05])], np.log([57.0, 57.05, 57.1])
    known = against_control(groups, control, np.zeros(6), 0.95)[0]
    unsure = against_control(groups, control, np.full(6, 0.1), 0.95)[0]
    assert known.p_value < 1e-4
    assert unsure.p_value > 0.2
    assert unsure.difference.error == pytest.approx((0.3 * 0.01 * 2 / 3) ** 0.5)
