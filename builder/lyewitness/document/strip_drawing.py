"""Rows of intervals on one axis, drawn small as SVG that takes its colours from the page.

In: `Bar`s and an `Axis`. Out: SVG.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from math import log

from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed, rounded

WIDTH = 360.0
"""As wide as a telephone's text, so that the letters keep their size there."""
ROW = 17.0
EDGE = 14.0
LETTER = 7.0
"""Width of a letter of a label, px, a little wider than it is."""
Scale = Callable[[float], float]
"""From a value to its place, px."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One row of a strip."""

    label: str
    value: Estimate
    place: int | None = None
    """The group's place in the study, for its colour; None for the colour of the text."""
    mark: str = "●"
    stout: bool = False


@dataclass(frozen=True, slots=True)
class Axis:
    """What the rows are drawn on."""

    low: float
    high: float
    title: str
    ticks: tuple[float, ...]
    ratio: bool = False
    """True for a logarithmic axis with a rule at 1."""

    def share(self, value: float) -> float:
        """Return where `value` stands between the ends, 0 to 1."""
        if self.ratio:
            return log(min(max(value, self.low), self.high) / self.low) / log(self.high / self.low)
        return (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)


def drawing(bars: Sequence[Bar], axis: Axis) -> str:
    """Return rows of intervals on one axis as SVG; an open end is an arrow."""
    longest = max((len(bar.label) for bar in bars), default=0)
    left = min(EDGE + LETTER * longest, WIDTH / 2)
    foot = ROW * len(bars) + 6
    height = foot + 32

    def x(value: float) -> float:
        return round(left + axis.share(value) * (WIDTH - EDGE - left), 1)

    size = f'viewBox="0 0 {WIDTH:.0f} {height:.0f}" width="{WIDTH:.0f}" height="{height:.0f}"'
    parts = [f'<svg class="strip" {size} aria-hidden="true" focusable="false">']
    parts += _ground(axis, x, foot)
    for place, bar in enumerate(bars):
        parts += _row(bar, x, ROW * place + ROW / 2 + 2, axis)
    return "".join((*parts, "</svg>"))


def _ground(axis: Axis, x: Scale, foot: float) -> Iterator[str]:
    """Yield the axis with its ticks, its words below, and the rule at equality."""
    yield f'<path class="axis" d="M{x(axis.low)} {foot:.0f}H{x(axis.high)}"/>'
    if axis.ratio:
        yield f'<path class="rule" d="M{x(1)} 2V{foot:.0f}"/>'
    for tick in axis.ticks:
        yield f'<path class="axis" d="M{x(tick)} {foot:.0f}v4"/>'
        yield f'<text class="tick" x="{x(tick)}" y="{foot + 15:.0f}">{_tick(tick)}</text>'
    yield f'<text class="title" x="{x(axis.high)}" y="{foot + 29:.0f}">{escape(axis.title)}</text>'


def _tick(value: float) -> str:
    return fixed(value, 0) if value == int(value) else rounded(value, 2)


def _row(bar: Bar, x: Scale, y: float, axis: Axis) -> Iterator[str]:
    """Yield one interval with its label and its mark."""
    tone = "" if bar.place is None else f" g{bar.place}"
    if bar.label:
        yield f'<text class="label" x="0" y="{y + 4:.1f}">{escape(bar.label)}</text>'
    low, high = bar.value.low, bar.value.high
    middle = bar.value.value
    start, end = x(axis.low if low is None else low), x(axis.high if high is None else high)
    yield f'<g class="bar{tone}{" stout" if bar.stout else ""}">'
    if low is not None or high is not None:
        yield f'<path d="M{start} {y:.1f}H{end}"/>'
    if high is None and low is not None:
        yield f'<path d="M{start} {y - 4:.1f}v8M{end - 5} {y - 4:.1f}l5 4l-5 4"/>'
    if low is None and high is not None:
        yield f'<path d="M{end} {y - 4:.1f}v8M{start + 5} {y - 4:.1f}l-5 4l5 4"/>'
    if middle is not None:
        for layer in ("halo", "point"):
            yield f'<text class="{layer}" x="{x(middle)}" y="{y + 4.5:.1f}">{bar.mark}</text>'
    yield "</g>"
