"""Limits and names stand where they can be read."""

import numpy as np
from matplotlib.axes import Axes

from lyewitness.figures.labels import height_for, inked, name_ends, name_lines, room_for, rules
from lyewitness.figures.sheets import applied, new_sheet, panel
from lyewitness.figures.style import look_from

LOOK = look_from({})


def axes_of_percent() -> Axes:
    """Return axes of 400 × 200 pixels, 0 to 100 h and 0 to 100 %."""
    axes = panel(new_sheet(500, 300), 50, 50, 400, 200)
    axes.set_xlim(0, 100)
    axes.set_ylim(0, 100)
    return axes


def words_box(axes: Axes) -> tuple[float, float, float, float]:
    """Return the place of the last words written on `axes`, pixels."""
    box = axes.texts[-1].get_window_extent()
    return box.x0, box.y0, box.x1, box.y1


def test_ink_is_felt_all_along_a_line() -> None:
    """A line of two points is felt everywhere between them, and a gap in it is not."""
    axes = axes_of_percent()
    axes.plot([0, 40, np.nan, 60, 100], [50, 50, np.nan, 50, 50])
    across = np.sort(inked(axes)[:, 0]) - 50
    assert np.diff(across[across <= 160]).max() <= 3.0
    assert not np.any((across > 161) & (across < 239))


def test_a_limit_is_named_where_no_curve_passes() -> None:
    """A steep curve across the left end of the rule drives its words to the other side of it."""
    with applied(LOOK):
        axes = axes_of_percent()
        axes.plot([0, 12], [100, 0])
        assert rules(axes, LOOK, [(80.0, "limit 80 %")]) == []
        left, low, right, high = words_box(axes)
        ink = inked(axes)
    inside = (ink[:, 0] > left) & (ink[:, 0] < right) & (ink[:, 1] > low) & (ink[:, 1] < high)
    assert not inside.any()


def test_a_limit_at_the_upper_end_is_named_below_its_rule() -> None:
    """Words never leave the axes towards their title."""
    with applied(LOOK):
        axes = axes_of_percent()
        rules(axes, LOOK, [(99.0, "limit 99 %")])
        _, low, _, high = words_box(axes)
    assert high <= axes.get_window_extent().y0 + 0.99 * 200
    assert low >= axes.get_window_extent().y0


def test_two_limits_do_not_share_a_place() -> None:
    """Words of a second limit close to the first stand beside those of the first."""
    with applied(LOOK):
        axes = axes_of_percent()
        rules(axes, LOOK, [(80.0, "limit 80 %"), (79.0, "limit 79 %")])
        boxes = [words.get_window_extent() for words in axes.texts]
    assert not boxes[0].overlaps(boxes[1])


def test_a_limit_without_a_place_is_handed_back() -> None:
    """Where curves cross the whole rule the words are left for the margin."""
    axes = axes_of_percent()
    axes.plot(np.tile([0.0, 100.0], 40), np.linspace(60, 100, 80))
    assert rules(axes, LOOK, [(80.0, "limit 80 %")]) == [(80.0, "limit 80 %")]


def test_names_at_line_ends_do_not_touch() -> None:
    """Twelve long names beside lines that end together keep apart, and within the room asked for."""
    names = [f"a rather long name of group {i}, with its bonding" for i in range(12)]
    with applied(LOOK):
        tall = height_for(names, LOOK)
        axes = panel(new_sheet(640, tall + 60), 40, 30, 400, tall)
        axes.set_ylim(0, 100)
        name_ends(axes, LOOK, names, [50.0] * 12, [LOOK.group(i) for i in range(12)])
        boxes = [words.get_window_extent() for words in axes.texts]
    assert not [1 for i, one in enumerate(boxes) for other in boxes[:i] if one.overlaps(other)]
    assert max(box.x1 for box in boxes) <= 440 + room_for(names, LOOK)
    assert all(len(name_lines(name, LOOK)) > 1 for name in names)
