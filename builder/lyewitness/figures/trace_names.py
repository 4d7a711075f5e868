"""Names above the peaks of a chromatogram that is drawn by hand as SVG.

In: peak rows, strangers, the trace and its frame. Out: `Names` with their places, then SVG.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.figures.labels import above
from lyewitness.figures.style import Look
from lyewitness.figures.trace_axes import Frame, centred
from lyewitness.peaks.records import PeakOutline, PeakRow
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray


@dataclass(frozen=True, eq=False, slots=True)
class Names:
    """What stands above the peaks, and where: pixels from the left, and upwards from the frame."""

    words: tuple[tuple[str, str], ...]
    """(marker, flags); `?` for a stranger."""
    sizes: FloatArray
    """(n, 2) width and height."""
    apexes: FloatArray
    """(n, 2)"""
    places: FloatArray
    """(n, 2) centre and lower edge."""
    line_px: float
    """From one line of words to the next."""

    @property
    def room(self) -> float:
        """What the words take above the frame, a line at least."""
        return float(max([self.line_px + 2, *(self.places[:, 1] + self.sizes[:, 1])]))


def names_of(
    rows: Sequence[PeakRow], strangers: Sequence[PeakOutline], trace: Trace, frame: Frame, look: Look
) -> Names:
    """Return marker names, with flags above them, at the peaks, and `?` at strangers; nothing touches."""
    named = [(row.marker, ", ".join(row.flags), row.outline) for row in rows if row.outline is not None]
    named += [("?", "", stranger) for stranger in strangers]
    words = tuple((marker, flags) for marker, flags, _ in named)
    line = 1.2 * look.label_px
    wide = [max(look.words_width(one) for one in pair) + 6 for pair in words]
    tall = [line * (2 if flags else 1) + 2 for _, flags in words]
    across = [float(frame.x(outline.apex_min)) for _, _, outline in named]
    up = [frame.top - float(frame.y(outline.apex_signal)) for _, _, outline in named]
    sizes, apexes = np.column_stack([wide, tall]), np.column_stack([across, up])
    outline = np.column_stack([frame.x(trace.time_min), frame.top - frame.y(trace.signal)])
    return Names(words, sizes, apexes, above(apexes, sizes, outline, (frame.left, frame.width)), line)


def written(names: Names, top: float) -> Iterator[str]:
    """Yield the words as SVG, `top` being the frame's upper edge.

    From a peak to words far above it goes a leader; words that leaders may cross cover them.
    """
    leaders = list(_leaders(names, top))
    yield from leaders
    for (marker, flags), (wide, tall), (across, up) in zip(
        names.words, names.sizes, names.places, strict=True
    ):
        low = top - up
        if leaders:
            box = f'x="{across - wide / 2 + 2:.0f}" y="{low - tall:.0f}" width="{wide - 4:.0f}"'
            yield f'<rect class="g" {box} height="{tall - 3:.0f}"/>'
        yield centred(marker, across, low - 5, "m" if marker == "?" else "")
        if flags:
            yield centred(flags, across, low - 5 - names.line_px, "m")


def _leaders(names: Names, top: float) -> Iterator[str]:
    """Yield lines from peaks to words that stand more than a few pixels above them."""
    for (wide, _), (across, up), (apex, peak) in zip(names.sizes, names.places, names.apexes, strict=True):
        end = float(np.clip(apex, across - wide / 2 + 4, across + wide / 2 - 4))
        if up - peak > 8 or abs(end - apex) > 4:
            yield f'<path class="u" d="M{apex:.1f} {top - peak - 2:.1f}L{end:.1f} {top - up - 2:.1f}"/>'
