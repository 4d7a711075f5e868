"""Words at line ends keep apart and stay near their lines."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.figures.labels import above, emptiest, fitted, spread

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


def test_words_go_where_nothing_is_drawn() -> None:
    """The first box without ink is taken; where all have some, none is."""
    boxes = np.array([[0.0, 0, 10, 10], [10, 0, 20, 10], [20, 0, 30, 10]])
    assert emptiest(boxes, np.array([[5.0, 5.0]])) == 1
    assert emptiest(boxes, np.array([[5.0, 5.0], [15.0, 2.0]])) == 2
    assert emptiest(boxes, np.array([[5.0, 5.0], [15.0, 2.0], [25.0, 9.0]])) is None


PEAKS = st.lists(st.tuples(st.floats(0, 300), st.floats(0, 200), st.floats(5, 90)), min_size=1, max_size=8)


@given(PEAKS)
def test_names_above_peaks_touch_neither_trace_nor_each_other(
    peaks: list[tuple[float, float, float]],
) -> None:
    """Each name stands within the picture, above the trace below it, and apart from all others."""
    across = np.linspace(0, 300, 601)
    apexes = np.array([(x, up) for x, up, _ in peaks])
    trace = np.max([up * np.exp(-(((across - x) / 6) ** 2)) for x, up in apexes], axis=0)
    sizes = np.array([(wide, 14.0) for _, _, wide in peaks])
    placed = above(apexes, sizes, np.column_stack([across, trace]), (0.0, 300.0))
    for i, ((x, low), (wide, tall)) in enumerate(zip(placed, sizes, strict=True)):
        assert wide / 2 - 1e-9 <= x <= 300 - wide / 2 + 1e-9
        assert low >= trace[(across >= x - wide / 2) & (across <= x + wide / 2)].max() - 1e-9
        for (other_x, other_low), (other_wide, _) in zip(placed[:i], sizes[:i], strict=True):
            beside = abs(other_x - x) >= (wide + other_wide) / 2 - 1e-9
            assert beside or abs(other_low - low) >= tall - 1e-9


@given(st.text("abc -", min_size=1, max_size=60).filter(str.strip), st.integers(3, 30))
def test_long_names_are_broken_and_lose_nothing(words: str, wide: int) -> None:
    """No line is wider than there is room, and all letters stay."""
    lines = fitted(words, wide, len)
    assert all(len(line) <= wide for line in lines)
    assert "".join(lines).replace(" ", "") == words.replace(" ", "")


def test_lines_of_a_name_are_even() -> None:
    """A name that needs two lines is parted in the middle, not after as much as fits."""
    assert fitted("core-shell hybrid surface", 24, len) == ("core-shell", "hybrid surface")
