"""The stretches of a trace in which tops stand together.

In: times of a trace and its tops. Out: `Span`s in the order of time.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.peaks.finding import Top, core_of
from lyewitness.words.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a trace whose tops overlap, by index into the trace."""

    first: int
    last: int
    tops: tuple[Top, ...]


def spans_of(time: FloatArray, tops: Sequence[Top]) -> tuple[Span, ...]:
    """Return the stretches in which tops stand together, each with room for its baseline.

    A top's core goes from 4 half-widths before it to 8 behind it, as measured on its narrower side: tops
    whose cores meet belong together. Room is taken on both sides, up to the neighbour's core.
    """
    if not tops:
        return ()
    cores: list[tuple[float, float]] = []
    groups: list[list[Top]] = []
    for start, end, place in sorted((*core_of(top), place) for place, top in enumerate(tops)):
        if groups and start < cores[-1][1]:
            groups[-1].append(tops[place])
            cores[-1] = cores[-1][0], max(end, cores[-1][1])
        else:
            groups.append([tops[place]])
            cores.append((start, end))
    spans = []
    for i, group in enumerate(groups):
        start, end = cores[i]
        room = 0.4 * (end - start)
        start = max(start - room, cores[i - 1][1] if i else time[0])
        end = min(end + room, cores[i + 1][0] if i + 1 < len(cores) else time[-1])
        first = int(np.searchsorted(time, start))
        last = int(np.searchsorted(time, end, side="right"))
        spans.append(Span(first, last, tuple(sorted(group, key=lambda top: top.apex_min))))
    return tuple(spans)
