"""Which peak is which marker, with a column's whole sequence of injections in view.

In: the components of each injection in the order of exposure, the markers' expected retention. Out: an
`Assignment` for each injection and marker.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

import numpy as np
from scipy.optimize import linear_sum_assignment

from lyewitness.peaks.surveying import Component
from lyewitness.study.records import Marker


@dataclass(frozen=True, slots=True)
class Assignment:
    """What was decided for one marker in one injection."""

    components: tuple[Component, ...] = ()
    """The peak; several where it is split; empty where it is absent."""
    confidence: float | None = None
    """0 … 1; None where the peak is absent."""
    absent_because: str = ""
    shared_with: tuple[str, ...] = ()
    """Markers whose peak is the very same one: they could not be told apart."""


def follow(
    injections: Sequence[Sequence[Component]], markers: Sequence[Marker], expected: Sequence[float | None]
) -> list[dict[str, Assignment]]:
    """Return, for each injection of one column in the order of exposure, the assignment of every marker."""
    place = list(expected)
    result = []
    for components in injections:
        cost = np.full((len(markers), max(len(components), 1)), 50.0)
        for i, here in enumerate(place):
            for j, component in enumerate(components):
                if here is not None:
                    cost[i, j] = (log(component.apex_min / here) / 0.05) ** 2 / 2
        rows, columns = linear_sum_assignment(cost)
        decided = {marker.id: Assignment(absent_because="no peak where it is expected") for marker in markers}
        for i, j in zip(rows.tolist(), columns.tolist(), strict=True):
            if cost[i, j] < 8.0:
                place[i] = components[j].apex_min
                decided[markers[i].id] = Assignment((components[j],), 0.99)
        result.append(decided)
    return result
