"""What tails is no stranger, and what is one is found."""

import pytest

from tests.peaks.conditions import judged
from tests.peaks.tailing import SHAPES, counted


@pytest.mark.parametrize("kind", SHAPES)
def test_a_clean_tailing_peak_is_neither_split_nor_foreign(kind: str) -> None:
    """However a peak tails, and though its area creeps, no second peak is seen in it."""
    count = counted([kind], range(2), with_stranger=False)
    assert count.clean == 96
    assert count.called == 0
    assert count.foreign == 0


def test_a_marker_beside_a_nameless_peak_keeps_its_shape() -> None:
    """Where a product stands in the tail of two sites, the marker is what it was, and not half of both."""
    markers = [case for case in judged("product0p6_sites", 77) if case.marker == "nortriptyline"]
    assert len(markers) == 6
    assert all(abs(case.errors["plate_number_half_height"]) < 0.2 for case in markers)
