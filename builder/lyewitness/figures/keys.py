"""A key above panels: which line is which.

In: names and how they are drawn. Out: a sample of each line with its name, on as many rows as they need.
"""

from collections.abc import Sequence

from matplotlib.figure import Figure as Sheet

from lyewitness.figures.sheets import panel
from lyewitness.figures.style import GroupInk, Look

KEY_PX = 24.0
"""Height of one row."""
SAMPLE_PX = 33.0
"""A sample of a line in the key, up to its name."""


def key_places(inks: dict[str, GroupInk], look: Look) -> list[tuple[int, float]]:
    """Return (row, pixels from the left) of each entry of the key, on as many rows as they need."""
    places = []
    row, left = 0, 10.0
    for name in inks:
        wide = SAMPLE_PX + look.words_width(name)
        if left > 10.0 and left + wide > look.width_px - 8:
            row, left = row + 1, 10.0
        places.append((row, left))
        left += wide + 22
    return places


def draw_key(
    sheet: Sheet, inks: dict[str, GroupInk], places: Sequence[tuple[int, float]], look: Look
) -> None:
    """Say above the panels which line is which: a sample of each and its name."""
    if not places:
        return
    tall = KEY_PX * (1 + places[-1][0])
    top = panel(sheet, 0, 0, look.width_px, tall)
    top.set_axis_off()
    top.set_xlim(0, look.width_px)
    top.set_ylim(tall, 0)
    for (name, ink), (row, left) in zip(inks.items(), places, strict=True):
        up = KEY_PX * row + 14
        dashes = ink.dashes or (None, None)
        top.plot([left, left + 26], [up, up], color=ink.colour, linewidth=look.line_px, dashes=dashes)
        top.plot([left + 13], [up], ink.mark, color=ink.colour)
        top.text(left + SAMPLE_PX, up, name, va="center_baseline")
