"""One found peak and how it stands to its neighbours.

In: a survey and an assignment. Out: `Peak`, with valleys to its neighbours.
"""

from dataclasses import dataclass

import numpy as np

from lyewitness.peaks import formulas
from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.rows.local_fits import LocalFit
from lyewitness.peaks.survey.components import Component
from lyewitness.peaks.survey.surveys import Survey
from lyewitness.study.records import Column


@dataclass(frozen=True, eq=False, slots=True)
class Peak:
    """One found peak with all that its row is made of."""

    survey: Survey
    assignment: Assignment
    column: Column
    place: int
    """Index into the outlines."""
    local: LocalFit

    @property
    def own(self) -> tuple[Component, ...]:
        """Return the curves that make up the peak."""
        return self.local.own

    @property
    def neighbours(self) -> list[Component]:
        """Return the other components of the same cluster."""
        named = self.assignment.components
        return [c for c in self.survey.components if c.span == named[0].span and c not in named]


def valleys(peak: Peak) -> list[tuple[float, float]]:
    """Return, for each neighbour in the same cluster, height of the lower of both tops and of the valley.

    Both stand on the baseline and are read off the fitted curves; without a dip they are equal.
    """
    own, found = peak.own, []
    apex = max(own, key=lambda c: c.height).apex_min
    for other in peak.neighbours:
        pair = peak.survey.curve(np.linspace(apex, other.apex_min, 80), [*own, other])
        found.append((float(min(pair[0], pair[-1])), float(pair.min())))
    return found


def peak_to_valley(peak: Peak, height: float) -> float | None:
    """Return the smaller peak-to-valley ratio to a neighbour; None without a dip, or down to the baseline."""
    ratios = [
        formulas.peak_to_valley(top, valley)
        for top, valley in valleys(peak)
        if valley < 0.995 * top and valley > max(2.0 * peak.survey.noise_sd, 0.001 * height)
    ]
    return min(ratios, default=None)
