"""The quick way of parsing gives the very doubles that Python's own gives, or stands back."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.traces.fixed_numbers import read_fixed_numbers


@settings(deadline=None)
@given(
    st.lists(st.tuples(*[st.integers(-(10**14), 10**14)] * 3), min_size=1, max_size=30),
    st.tuples(*[st.integers(0, 9)] * 3),
    st.sampled_from([(",", "."), ("\t", "."), (";", ","), ("|", ".")]),
)
def test_the_same_doubles(
    whole: list[tuple[int, ...]], decimals: tuple[int, ...], signs: tuple[str, str]
) -> None:
    """Each number is the one that `float` makes of the same digits, to the last bit."""
    words = [
        [
            f"{'-' * (n < 0)}{abs(n) // 10**d}" + (f".{abs(n) % 10**d:0{d}d}" if d else "")
            for n, d in zip(row, decimals, strict=True)
        ]
        for row in whole
    ]
    body = "\n".join(signs[0].join(row).replace(".", signs[1]) for row in words)
    values = read_fixed_numbers(body.encode(), *signs)
    assert values is not None
    np.testing.assert_array_equal(values, [[float(word) for word in row] for row in words])


@pytest.mark.parametrize(
    "body",
    [
        b"1.0,2\n3.00,4", b"1,2\n3", b"1,2,3\n4,5", b"1,\n3,4", b",2\n3,4", b"1,2-\n3,4", b"1,-\n3,4",
        b"-,1\n-,2", b"1,-.5\n3,-.", b"1,--2\n3,4", b"1e5,2\n3,4", b"1, 2\n3, 4", b"+1,2\n3,4", b"1.,2\n3.,4",
        b"1.2.3,4\n5.6.7,8", b"-\n-", b"0,0\n.1,2", b"", b"1,2;3\n4,5;6", b"1,2\t\n3,4\t",
        b"1234567890123456789,1\n2,3", b"1.5,2\n3,4.5", b"1,2\n\n3,4", b"1-2,3\n4,5", b"1,2-3\n,4",
    ],
)  # fmt: skip
def test_what_is_not_regular_is_left_to_others(body: bytes) -> None:
    """Empty fields, signs out of place, other numbers of decimals, digits that a double cannot hold: None."""
    assert read_fixed_numbers(body, ",", ".") is None


@settings(deadline=None)
@given(st.text(alphabet="0123456789.,-\n", max_size=40))
def test_any_signs_are_the_same_or_none(body: str) -> None:
    """Whatever stands there, the values are those of `float`, or the quick way stands back."""
    values = read_fixed_numbers(body.encode(), ",", ".")
    if values is not None:
        np.testing.assert_array_equal(
            values, [[float(w) for w in line.split(",")] for line in body.split("\n")]
        )


def test_one_column_is_left_to_others() -> None:
    """Without a separator there is no column to tell."""
    assert read_fixed_numbers(b"1.0\n2.0", "", ".") is None
