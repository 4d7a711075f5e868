"""What a marker could be on one trace: a single fitted curve, or neighbours that one split peak left.

In: the components of a survey. Out: `Candidate`s, by the logarithms of time, area and width, because
drift, injected amount and broadening act as factors.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from lyewitness.peaks.survey.components import Component

MOST_PARTS = 3
MOST_COMPONENTS = 16
"""Of a trace full of spikes only so many, the largest, are thought of."""
SPLIT_REACH = 1.7
"""Tops of one split peak lie nearer to each other than this many half-height widths of the wider one."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One peak that a marker could be."""

    components: tuple[Component, ...]
    mask: int
    """One bit for each of its components in the survey's order."""
    log_time: float
    log_area: float
    log_width: float
    width_share: float
    """Width at half height ÷ retention time."""

    is_split: bool
    """Whether it is made of several curves."""


def candidates_of(components: Sequence[Component]) -> tuple[Candidate, ...]:
    """Return every single component and every run of near neighbours in one span."""
    result = []
    large = sorted((component.area for component in components), reverse=True)[:MOST_COMPONENTS]
    components = [component for component in components if component.area >= large[-1]] if large else []
    for first in range(len(components)):
        for last in range(first + 1, min(first + MOST_PARTS, len(components)) + 1):
            run = tuple(components[first:last])
            if len(run) > 1 and not _near(run[-2], run[-1]):
                break
            result.append(_candidate(run, ((1 << len(run)) - 1) << first))
    return tuple(result)


def _near(before: Component, after: Component) -> bool:
    """Tell whether two neighbours could be parts of one peak."""
    reach = SPLIT_REACH * max(before.width_min, after.width_min)
    return before.span == after.span and after.apex_min - before.apex_min < reach


def _candidate(run: tuple[Component, ...], mask: int) -> Candidate:
    """Return a run as a candidate: apex of the tallest, sum of the areas, width over all."""
    tallest = max(run, key=lambda component: component.height)
    width = tallest.width_min
    if len(run) > 1:
        width = max(width, run[-1].apex_min - run[0].apex_min + 0.5 * (run[0].width_min + run[-1].width_min))
    time, area = tallest.apex_min, sum(component.area for component in run)
    return Candidate(run, mask, log(time), log(max(area, 1e-300)), log(width), width / time, len(run) > 1)
