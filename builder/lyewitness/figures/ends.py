"""Names beside the axes, where lines end: the place where a reader looks for them.

In: axes with their limits set, names, where lines end. Out: names that do not touch, with marks.
"""

from collections.abc import Sequence

from matplotlib.axes import Axes

from lyewitness.figures.labels import fitted, spread
from lyewitness.figures.style import INK, MUTED, GroupInk, Look

MARK_PX = 12.0
"""From the axes to the middle of a mark."""
NAME_PX = 20.0
"""From the axes to the first letter of a name."""
LEADING = 1.15
"""Height of a line of words, in label sizes."""


def name_lines(name: str, look: Look) -> tuple[str, ...]:
    """Return a name on one line, or on more where it would take too much of the figure's width."""
    return fitted(name, max(104.0, 0.215 * look.width_px), look.words_width)


def room_for(names: Sequence[str], look: Look) -> float:
    """Return how much room the names take at the right of the axes, pixels."""
    return NAME_PX + 6 + max(look.words_width(line) for name in names for line in name_lines(name, look))


def height_for(names: Sequence[str], look: Look) -> float:
    """Return how tall axes must be for the names to stand below each other, pixels."""
    return sum(_height(name, look) for name in names)


def _height(name: str, look: Look) -> float:
    return LEADING * look.label_px * len(name_lines(name, look)) + 3.0


def name_ends(
    axes: Axes, look: Look, names: Sequence[str], ends: Sequence[float], inks: Sequence[GroupInk | None]
) -> None:
    """Write each name near its line's end (data), apart from the others; a leader where it was moved.

    What has no ink, such as a limit, has no mark.
    """
    box = axes.get_window_extent()
    start = axes.get_xlim()[0]
    wanted = [float(axes.transData.transform((start, end))[1]) - box.y0 for end in ends]
    sizes = [_height(name, look) for name in names]
    low, high = sizes[0] / 2 - 6, box.height - sizes[0] / 2 + 10
    for name, end, place, ink in zip(names, wanted, spread(wanted, sizes, low, high), inks, strict=True):
        across, up = [1 + MARK_PX / box.width], [float(place) / box.height]
        if ink is not None:
            axes.plot(across, up, ink.mark, color=ink.colour, transform=axes.transAxes, clip_on=False)
        axes.annotate(
            "\n".join(name_lines(name, look)), (1, float(place) / box.height), (NAME_PX, 0), color=INK,
            xycoords="axes fraction", textcoords="offset points", va="center", linespacing=LEADING,
        )  # fmt: skip
        if abs(end - place) > look.label_px / 2 and 0 <= end <= box.height:
            axes.plot(
                [1 + 1 / box.width, 1 + (MARK_PX - 4.5) / box.width], [end / box.height, place / box.height],
                color=MUTED, linewidth=0.8, transform=axes.transAxes, clip_on=False,
            )  # fmt: skip
