"""What tails is no stranger, and what is one is found."""

import pytest

from tests.peaks.tailing import SHAPES, counted


@pytest.mark.parametrize("kind", SHAPES)
def test_a_clean_tailing_peak_is_neither_split_nor_foreign(kind: str) -> None:
    """However a peak tails, and though its area creeps, no second peak is seen in it."""
    count = counted([kind], range(2), with_stranger=False)
    assert count.clean == 96
    assert count.called == 0
    assert count.foreign == 0
