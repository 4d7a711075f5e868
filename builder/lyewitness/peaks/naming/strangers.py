"""Strangers that grow in or beside a marker: what holds more than was injected is parted, or at least told.

In: surveys and assignments, column by column in the order of exposure. Out: the same, with `holds_stranger`
where a peak has more area than its marker had at first and all other markers of the injection together
explain. A bed that splits a peak leaves its area; what is added to it was not injected.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log
from statistics import median

import numpy as np

from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.naming.meetings import AREA_SPREAD, NOT_WORSE, known_curve, renamed
from lyewitness.peaks.survey.clusters import Stretch, clusters_of
from lyewitness.peaks.survey.components import Component
from lyewitness.peaks.survey.fitting import Cluster, ClusterFit, fit_clusters
from lyewitness.peaks.survey.shoulders import as_starts
from lyewitness.peaks.survey.surveys import Survey, resurveyed

FIRST = 3
"""Injections that tell how much of a marker is injected: as many as a reference usually has."""
EXCESS = 0.05
"""Area beyond the injected one (natural log) that no longer passes for scatter: injectors repeat to 1 %,
areas on bad baselines to 3 %."""
MUST_EXPLAIN = 0.7
"""A stranger must make what the fit leaves smaller than this share: half of the sum of squares."""
AS_INJECTED = 0.025
"""A marker within this of what was injected is alone."""
LEAST_MARKERS = 3
"""Markers that are needed to tell how much was injected in all: then one that is lost misleads no other."""
MEETING = 3.0
"""Markers nearer than this many widths are told apart elsewhere."""
PLACES = (-1.2, -0.7, 0.7, 1.2)
"""Where a stranger may stand, in widths at half height from the marker."""
LIKE_THE_MARKER = 0.25
"""Spread of the stranger's log σ about the marker's: what elutes beside it is about as broad."""

Names = dict[str, Assignment]


@dataclass(frozen=True, slots=True)
class Suspicion:
    """A marker of one injection that holds too much."""

    injection: str
    marker: str
    excess: float
    """Natural logarithm of its area ÷ what was injected."""
    like: Component
    """Its last curve before that."""


def told_apart(
    surveys: Mapping[str, Survey],
    assigned: Mapping[str, Names],
    sequences: Sequence[Sequence[str]],
) -> tuple[dict[str, Survey], dict[str, Names]]:
    """Return surveys and assignments with strangers parted from markers; `sequences` by column."""
    new_surveys, new_assigned = dict(surveys), {name: dict(own) for name, own in assigned.items()}
    for sequence in sequences:
        for suspicion in _suspicions(sequence, assigned):
            own, survey = new_assigned[suspicion.injection], new_surveys[suspicion.injection]
            one = replace(own[suspicion.marker], like=suspicion.like)
            if one.expected_min is None or one.separated or _has_marker_beside(own, suspicion.marker):
                continue
            fit = _parted(survey, one, suspicion.excess)
            # A larger area alone may have been injected; a stranger shows in the shape.
            before = survey.fits[one.components[0].span].residual_sd
            if len(one.components) > 1 or fit.residual_sd < MUST_EXPLAIN * before:
                own[suspicion.marker] = replace(one, holds_stranger=True)
                new_surveys[suspicion.injection] = _take(survey, own, suspicion.marker, fit)
    return new_surveys, new_assigned


def _widest(one: Assignment) -> float:
    """Return the largest width at half height of a peak's curves."""
    return max(c.width_min for c in one.components)


def _has_marker_beside(own: Names, marker: str) -> bool:
    """Tell whether another marker stands so near that it explains what a peak holds."""
    apex, wide = own[marker].components[0].apex_min, _widest(own[marker])
    return any(
        abs(c.apex_min - apex) < MEETING * wide
        for other, one in own.items()
        if other != marker
        for c in one.components
    )


def _suspicions(sequence: Sequence[str], assigned: Mapping[str, Names]) -> list[Suspicion]:
    """Return the markers along one column that hold more than was injected of them."""
    logs = [_log_areas(assigned[name]) for name in sequence]
    first = {marker: _reference(marker, logs) for own in logs for marker in own}
    excess = [_excess(own, first) for own in logs]
    found: list[Suspicion] = []
    for place, own in enumerate(excess):
        for marker, much in own.items():
            like = _last_alone(marker, sequence[:place], assigned, excess)
            if much > EXCESS and like is not None:
                found.append(Suspicion(sequence[place], marker, much, like))
    return found


def _log_areas(own: Names) -> dict[str, float]:
    """Return the log area of every marker that has a peak of its own."""
    return {
        marker: log(max(sum(c.area for c in one.components), 1e-300))
        for marker, one in own.items()
        if one.components and not one.shared_with
    }


def _reference(marker: str, logs: Sequence[Mapping[str, float]]) -> float:
    """Return the log area of a marker as it was at first."""
    return median([own[marker] for own in logs if marker in own][:FIRST])


def _excess(own: Mapping[str, float], first: Mapping[str, float]) -> dict[str, float]:
    """Return by how much each marker is larger than at first, beyond what its injection has in common."""
    gained = {marker: area - first[marker] for marker, area in own.items()}
    if len(gained) < LEAST_MARKERS:
        return {}
    common = median(gained.values())
    return {marker: gain - common for marker, gain in gained.items()}


def _last_alone(
    marker: str,
    before: Sequence[str],
    assigned: Mapping[str, Names],
    excess: Sequence[Mapping[str, float]],
) -> Component | None:
    """Return the marker's curve in the last injection before in which it held what was injected."""
    for place in range(len(before) - 1, -1, -1):
        components = assigned[before[place]][marker].components
        if len(components) == 1 and abs(excess[place].get(marker, 1.0)) < AS_INJECTED:
            return components[0]
    return None


def _parted(survey: Survey, one: Assignment, excess: float) -> ClusterFit:
    """Return the best fit of the marker as it was and a stranger beside it."""
    fits = fit_clusters(_trials(survey, one, excess))
    return min(fits, key=lambda fit: fit.misfit)


def _trials(survey: Survey, one: Assignment, excess: float) -> list[Cluster]:
    """Return the cluster with the marker's known curve and a stranger, at each of `PLACES`."""
    span = one.components[0].span
    kept = np.delete(as_starts(survey.fits[span]), [c.top for c in one.components], axis=0)
    start, spread = known_curve(one)
    (plain,) = clusters_of([Stretch(survey.trace, survey.spans[span], survey.noise_sd)])
    wide = 2.355 * start[2] + 0.7 * abs(start[3])
    trials = []
    for place in PLACES:
        stranger = start * np.array([np.expm1(excess), 1.0, 1.0, 1.0])
        stranger[1] += place * wide
        free = np.array([np.inf, np.inf, LIKE_THE_MARKER, spread[3] * 2.0])
        starts = np.concatenate([kept, start[None, :], stranger[None, :]])
        pull = np.concatenate([np.full(kept.shape, np.inf), spread[None, :], free[None, :]])
        trials.append(replace(plain, starts=starts, pull=pull))
    return trials


def _take(survey: Survey, own: Names, marker: str, fit: ClusterFit) -> Survey:
    """Return the survey with the parting fit, where that describes signal and marker."""
    one = own[marker]
    span, top = one.components[0].span, len(fit.area) - 2
    limit = NOT_WORSE * max(survey.fits[span].residual_sd, 2.0 * survey.noise_sd)
    known = one.like.area if one.like is not None else float(fit.area[top])
    if fit.residual_sd > limit or abs(log(max(float(fit.area[top]), 1e-300) / known)) > 3.0 * AREA_SPREAD:
        return survey
    parted = resurveyed(survey, span, fit)
    curve = [c for c in parted.components if c.span == span and c.top == top]
    if not curve:
        return survey
    own.update(renamed(own, parted))
    own[marker] = replace(own[marker], components=tuple(curve), separated=True)
    return parted
