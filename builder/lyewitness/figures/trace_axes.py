"""Axes of a chromatogram that is drawn by hand as SVG, and the names above its peaks.

In: a trace and a look. Out: `Frame`, which turns minutes and signal into pixels, axes and names as SVG.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
from matplotlib.ticker import MaxNLocator

from lyewitness.figures.axes import same_decimals
from lyewitness.figures.labels import above
from lyewitness.figures.style import Look
from lyewitness.peaks.records import PeakOutline, PeakRow
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray

PLOT_PX = 172.0
"""From the highest to the lowest point of the signal."""
_RIGHT, _HEAD, _FOOT = 12.0, 26.0, 50.0


class Frame:
    """Minutes and signal to pixels from the left and downwards, and what of the sheet the words take."""

    def __init__(self, trace: Trace, look: Look) -> None:
        low, high = float(trace.signal.min()), float(trace.signal.max())
        room = 0.03 * (high - low) or 1.0
        self.start, self.end = float(trace.time_min[0]), float(trace.time_min[-1])
        self.low, self.high = low - room, high + room
        ticks = MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]).tick_values(self.low, self.high)
        self.levels = [float(tick) for tick in ticks if self.low <= tick <= self.high]
        self.width, self.top = float(look.width_px), _HEAD
        self.left = 12 + max(look.words_width(words) for words in ("0", *same_decimals(self.levels)))

    @property
    def floor(self) -> float:
        """Where the axis of minutes lies."""
        return self.top + PLOT_PX + 6

    @property
    def height(self) -> int:
        """Height of the sheet."""
        return round(self.floor + _FOOT - 6)

    def x(self, minutes: FloatArray | float) -> FloatArray:
        """Return pixels across."""
        span = self.width - self.left - _RIGHT
        return np.asarray(self.left + (np.asarray(minutes) - self.start) / (self.end - self.start) * span)

    def y(self, signal: FloatArray | float) -> FloatArray:
        """Return pixels down."""
        return np.asarray(self.top + (self.high - np.asarray(signal)) / (self.high - self.low) * PLOT_PX)

    def at(self, minutes: float, signal: float) -> str:
        """Return a place as the numbers of a path."""
        return f"{float(self.x(minutes)):.1f} {float(self.y(signal)):.1f}"


def centred(words: str, place: float, height: float, kind: str) -> str:
    """Return centred words."""
    sort = f' class="{kind}"' if kind else ""
    return f'<text{sort} x="{place:.0f}" y="{height:.0f}" text-anchor="middle">{escape(words)}</text>'


def time_axis(frame: Frame) -> str:
    """Return the axis of minutes, every tick with its number, the axis's name below them."""
    floor, right = frame.floor, frame.width - _RIGHT
    ticks = MaxNLocator(8, steps=[1, 2, 2.5, 5, 10]).tick_values(frame.start, frame.end)
    inside = [tick for tick in ticks if frame.start <= tick <= frame.end]
    strokes = "".join(f"M{float(frame.x(tick)):.1f} {floor:.0f}v4" for tick in inside)
    numbers = "".join(
        centred(words, float(frame.x(tick)), floor + 18, "")
        for tick, words in zip(inside, same_decimals(inside), strict=True)
    )
    return (
        f'<path class="x" d="M{frame.left:.0f} {floor:.0f}H{right:.0f}{strokes}"/>{numbers}'
        f'<text x="{right:.0f}" y="{floor + 35:.0f}" text-anchor="end">time / min</text>'
    )


def signal_axis(frame: Frame, unit: str) -> str:
    """Return the axis of the signal: numbers at their height, the axis's name above all."""
    strokes = "".join(f"M{frame.left - 4:.1f} {float(frame.y(level)):.1f}h4" for level in frame.levels)
    numbers = "".join(
        f'<text x="{frame.left - 7:.0f}" y="{float(frame.y(level)) + 5:.0f}" text-anchor="end">{words}</text>'
        for level, words in zip(frame.levels, same_decimals(frame.levels), strict=True)
    )
    name = f"signal / {escape(unit)}" if unit else "signal"
    upright = f"M{frame.left:.1f} {frame.top:.1f}V{frame.floor:.0f}"
    return f'<path class="x" d="{upright}{strokes}"/>{numbers}<text x="4" y="14">{name}</text>'


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
