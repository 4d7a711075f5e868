"""Words at line ends keep apart and stay near their lines."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.figures.labels import spread

PLACES = st.lists(st.floats(-50, 50, allow_nan=False), min_size=1, max_size=9)


@given(PLACES, st.floats(0.1, 10))
def test_labels_keep_apart_and_in_bounds(wanted: list[float], gap: float) -> None:
    """Labels never touch and never leave the axes, and stand in the order of their lines."""
    placed = spread(wanted, gap, -100, 100)
    order = np.argsort(wanted, kind="stable")
    room = min(gap, 200 / max(len(wanted) - 1, 1))
    assert np.all(np.diff(placed[order]) >= room - 1e-9)
    assert placed.min() >= -100 - 1e-9
    assert placed.max() <= 100 + 1e-9


def test_labels_with_room_stay_where_they_belong() -> None:
    """Where lines end far enough apart, each label stands exactly at its line."""
    assert spread([30.0, 10.0, 20.0], 5.0, 0.0, 40.0).tolist() == [30.0, 10.0, 20.0]


def test_two_labels_part_evenly() -> None:
    """Two lines that end together push their labels equally far up and down."""
    assert spread([10.0, 10.0], 4.0, 0.0, 40.0).tolist() == [8.0, 12.0]
