"""Strangers that grow in or beside a marker: parted from it, or at least told.

In: surveys and assignments. Out: the same, with a curve for each stranger that could be parted.

A stranger is what a peak holds more than its marker had at first and all other markers of the injection
together explain. A bed that splits a peak leaves its area; what is added to it was not injected. Nor is a
tail a stranger: what one curve leaves of the marker's shape it left in the injections before, too.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import log
from statistics import median

import numpy as np

from lyewitness.peaks.naming.assignments import TAIL_WIDER, is_tail
from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.naming.meetings import AREA_SPREAD, AS_INJECTED, NOT_WORSE, known_curve, renamed
from lyewitness.peaks.survey.clusters import Stretch, clusters_of
from lyewitness.peaks.survey.fitting import Cluster, ClusterFit, baseline_terms, fit_clusters
from lyewitness.peaks.survey.shoulders import as_starts
from lyewitness.peaks.survey.surveys import Component, Survey, components_of, resurveyed
from lyewitness.words.arrays import FloatArray

FIRST = 3
"""Injections that tell how much of a marker is injected: as many as a reference usually has."""
EXCESS = 0.05
"""Area beyond the injected one (natural log) that no longer passes for scatter: injectors repeat to 1 %,
areas on bad baselines to 3 %."""
MUST_EXPLAIN = 0.7
"""A stranger must make what the fit leaves smaller than this share: half of the sum of squares."""
LEAST_MARKERS = 3
"""Markers that are needed to tell how much was injected in all: then one that is lost misleads no other."""
MEETING = 3.0
"""Markers nearer than this many widths are told apart elsewhere."""
BESIDE = 1.5
"""A nameless curve nearer than this many widths has part of the marker's, or the marker of it."""
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
    alone: tuple[str, ...]
    """The injections before in which it held what was injected."""
    like: Component
    """Its curve in the last of them."""


def told_apart(
    surveys: Mapping[str, Survey],
    assigned: Mapping[str, Names],
    sequences: Sequence[Sequence[str]],
) -> tuple[dict[str, Survey], dict[str, Names]]:
    """Return surveys and assignments with strangers parted from markers; `sequences` by column."""
    new_surveys, new_assigned = dict(surveys), {name: dict(own) for name, own in assigned.items()}
    for sequence in sequences:
        for suspicion in _suspicions(sequence, surveys, assigned):
            own, survey = new_assigned[suspicion.injection], new_surveys[suspicion.injection]
            one = replace(own[suspicion.marker], like=suspicion.like)
            if one.expected_min is None or one.separated or _has_marker_beside(own, suspicion.marker):
                continue
            fit = _parted(survey, one, suspicion.excess)
            known = [
                (surveys[name], assigned[name][suspicion.marker].components[0]) for name in suspicion.alone
            ]
            evident = _has_tops(one) or _has_nameless_beside(survey, own, one)
            if evident or _shows(fit, survey, one, known):
                own[suspicion.marker] = replace(one, holds_stranger=True)
                new_surveys[suspicion.injection] = _take_parted(survey, own, suspicion.marker, fit)
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


def _suspicions(
    sequence: Sequence[str], surveys: Mapping[str, Survey], assigned: Mapping[str, Names]
) -> list[Suspicion]:
    """Return the markers along one column that hold more than was injected of them.

    By their curves and by the signal: of tails that no curve has one holds a share that grows with wear, and
    in the other a neighbour's tail may stand.
    """
    areas = [_log_areas(assigned[name]) for name in sequence]
    by_curve = _excesses(areas)
    odd = {place for place, own in enumerate(by_curve) if max(own.values(), default=0.0) > EXCESS}
    if not odd:
        return []
    # Of the others it is asked alone how much was injected at first.
    asked = odd.union(*(_places_of_first(marker, areas) for marker in {m for own in areas for m in own}))
    by_signal = _excesses(
        [
            _log_sums(surveys[name], assigned[name]) if place in asked else {}
            for place, name in enumerate(sequence)
        ]
    )
    found: list[Suspicion] = []
    for place, own in enumerate(by_curve):
        for marker, much in own.items():
            if min(much, by_signal[place].get(marker, 0.0)) <= EXCESS:
                continue
            alone = _alone(marker, sequence[:place], assigned, by_curve)
            if alone:
                like = assigned[alone[-1]][marker].components[0]
                found.append(Suspicion(sequence[place], marker, much, alone, like))
    return found


def _log_areas(own: Names) -> dict[str, float]:
    """Return the log area of the curves of every marker that has a peak of its own."""
    return {
        marker: log(max(sum(c.area for c in one.components), 1e-300))
        for marker, one in own.items()
        if one.components and not one.shared_with
    }


def _log_sums(survey: Survey, own: Names) -> dict[str, float]:
    """Return the same as the signal above the trace's baseline tells it, less the curves of all others."""
    found = {}
    for marker in _log_areas(own):
        mine = own[marker].components
        ends = min(c.start_min for c in mine), max(c.end_min for c in mine)
        first, last = survey.trace.time_min.searchsorted(ends).tolist()
        time = survey.trace.time_min[first:last]
        others = [c for c in (*survey.components, *survey.solvent) if c not in mine]
        net = survey.trace.signal[first:last] - survey.baseline.at(time) - survey.curve(time, others)
        found[marker] = log(max(float(np.trapezoid(net, time)), 1e-300))
    return found


def _excesses(logs: Sequence[Mapping[str, float]]) -> list[dict[str, float]]:
    """Return by how much each marker is larger than at first, of injections in the order of exposure."""
    first = {marker: _reference(marker, logs) for own in logs for marker in own}
    return [_excess(own, first) for own in logs]


def _places_of_first(marker: str, logs: Sequence[Mapping[str, float]]) -> list[int]:
    """Return the places of the injections that tell how much of a marker is injected."""
    return [place for place, own in enumerate(logs) if marker in own][:FIRST]


def _reference(marker: str, logs: Sequence[Mapping[str, float]]) -> float:
    """Return the log area of a marker as it was at first."""
    return median(logs[place][marker] for place in _places_of_first(marker, logs))


def _excess(own: Mapping[str, float], first: Mapping[str, float]) -> dict[str, float]:
    """Return by how much each marker is larger than at first, beyond what its injection has in common."""
    gained = {marker: area - first[marker] for marker, area in own.items()}
    if len(gained) < LEAST_MARKERS:
        return {}
    common = median(gained.values())
    return {marker: gain - common for marker, gain in gained.items()}


def _alone(
    marker: str,
    before: Sequence[str],
    assigned: Mapping[str, Names],
    excess: Sequence[Mapping[str, float]],
) -> tuple[str, ...]:
    """Return the injections before in which the marker is one curve and held what was injected."""
    return tuple(
        name
        for name, own in zip(before, excess, strict=False)
        if len(assigned[name][marker].components) == 1 and abs(own.get(marker, 1.0)) < AS_INJECTED
    )


def _has_tops(one: Assignment) -> bool:
    """Tell whether a peak has two tops or a shoulder, rather than a tail with a curve of its own."""
    return any(not is_tail(before, behind) for before, behind in pairwise(one.components))


def _has_nameless_beside(survey: Survey, own: Names, one: Assignment) -> bool:
    """Tell whether a peak of no marker stands so near that it hides what is the marker's."""
    named = {(c.span, c.top) for other in own.values() for c in other.components}
    apex, wide = one.components[0].apex_min, _widest(one)
    return any(
        abs(c.apex_min - apex) < BESIDE * wide
        for c in survey.components
        if (c.span, c.top) not in named and c.span == one.components[0].span
    )


def _shows(
    fit: ClusterFit, survey: Survey, one: Assignment, known: Sequence[tuple[Survey, Component]]
) -> bool:
    """Tell whether the stranger of a parting fit shows in the shape; a larger area may have been injected."""
    ((*_, marker, stranger),) = components_of([one.components[0].span], [fit])
    # What elutes beside a marker is about as broad; what is broader is a tail or a front.
    is_shape = stranger.width_min > TAIL_WIDER * marker.width_min
    return not is_shape and fit.residual_sd < MUST_EXPLAIN * _unlike_before(survey, one, known)


def _unlike_before(survey: Survey, one: Assignment, known: Sequence[tuple[Survey, Component]]) -> float:
    """Return what the fit of a peak leaves, and has not left in like manner where its marker stood alone.

    A column's peaks are no exact curves, and how far from one they are grows with its wear: of what was left
    at first, in the middle and the last time alone, stretched to the peak's width, as much is taken off as
    explains most.
    """
    top, span = one.components[0], one.components[0].span
    time, rest = _rest(survey, span)
    chosen = {0, len(known) // 2, len(known) - 1}
    patterns = np.stack([_pattern(*known[i], (time - top.apex_min) / top.width_min) for i in sorted(chosen)])
    share, *_ = np.linalg.lstsq(patterns.T, rest, rcond=1e-6)
    free = max(len(rest) - patterns.shape[0], 1)
    left, was = (float(np.sqrt((own**2).sum() / free)) for own in (rest - share @ patterns, rest))
    return survey.fits[span].residual_sd * left / max(was, 1e-300)


def _pattern(survey: Survey, top: Component, place: FloatArray) -> FloatArray:
    """Return what the fit of a marker's peak leaves, at places in its widths from its apex; 0 beyond it."""
    time, rest = _rest(survey, top.span)
    return np.interp(place, (time - top.apex_min) / top.width_min, rest, left=0.0, right=0.0)


def _rest(survey: Survey, span: int) -> tuple[FloatArray, FloatArray]:
    """Return (n,) the times of the thinned points of a span, and what its fit leaves of their signal."""
    (cluster,) = clusters_of([Stretch(survey.trace, survey.spans[span], survey.noise_sd)])
    fit = survey.fits[span]
    ends = np.array(fit.baseline[0]), np.array(fit.baseline[1])
    line = fit.line @ baseline_terms(cluster.time, *ends, len(fit.line))
    # Thinned as the points are, the curve is as much broader.
    broad = replace(fit, sigma=np.sqrt(fit.sigma**2 + cluster.bin_variance))
    inside = (cluster.time >= ends[0]) & (cluster.time <= ends[1])
    rest = cluster.weight * inside * (cluster.signal - line - broad.curve(cluster.time))
    return cluster.time, rest


def _parted(survey: Survey, one: Assignment, excess: float) -> ClusterFit:
    """Return the best fit of the marker as it was and a stranger beside it."""
    fits = fit_clusters(_excess_trials(survey, one, excess))
    return min(fits, key=lambda fit: fit.misfit)


def _excess_trials(survey: Survey, one: Assignment, excess: float) -> list[Cluster]:
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


def _take_parted(survey: Survey, own: Names, marker: str, fit: ClusterFit) -> Survey:
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
