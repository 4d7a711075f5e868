"""The scale below the bars of a letter: mail programs show no drawing, so it is made of cells as well.

In: the hours at which the axis ends, and its width. Out: ticks with their numbers, in shares of the cell.
"""

from dataclasses import dataclass
from itertools import takewhile

from lyewitness.words.numbers import stated

MOST_STEPS = 4
"""On a telephone the cell is some 170 pixels wide: more numbers of four figures would touch."""
STEPS = (1.0, 2.0, 2.5, 5.0)
"""Round steps, times a power of ten."""
CELL = 99
"""% of the cell that blocks in a row may fill: one more would be broken into the next line."""


@dataclass(frozen=True, slots=True)
class Tick:
    """One number of the scale."""

    told: str
    """The hours."""
    length: float
    """% of the cell from this tick to the next, or to the end of the axis."""
    gap: float
    """% of the cell left free before the block that has the number in its middle."""
    wide: float
    """% of the cell that the block takes."""


def scale_of(axis_h: float, axis_share: float) -> tuple[Tick, ...]:
    """Return the ticks of an axis from zero to `axis_h` hours that is `axis_share` % of its cell wide."""
    steps = (root * 10.0**power for power in range(-3, 9) for root in STEPS)
    step = next((one for one in steps if axis_h <= MOST_STEPS * one), axis_h)
    within = takewhile(lambda at: at <= axis_h * (1 + 1e-9), (step * i for i in range(MOST_STEPS + 1)))
    places = [(at, axis_share * at / axis_h) for at in within]
    apart = axis_share * step / axis_h
    ticks, filled = [], 0.0
    for place, (at, middle) in enumerate(places):
        half = min(apart / 2, CELL - middle)
        # Nothing stands before zero: its number begins at the tick.
        begins, ends = (middle - half if place else 0.0), middle + half
        after = places[place + 1][1] if place + 1 < len(places) else axis_share
        ticks.append(
            Tick(stated(at), round(after - middle, 2), round(begins - filled, 2), round(ends - begins, 2))
        )
        filled = ends
    return tuple(ticks)
