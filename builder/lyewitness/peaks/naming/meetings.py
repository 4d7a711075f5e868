"""Markers that stand in each other: parted, or at least told.

In: surveys and assignments. Out: the same, with one curve for each marker wherever markers share a top or
their curves do not have the areas that neighbouring injections show. The fit is drawn to those areas,
widths, tails and times; it is taken only where it describes the signal as well as the free one did.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from math import log

import numpy as np

from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.survey.clusters import Stretch, clusters_of
from lyewitness.peaks.survey.fitting import Cluster, ClusterFit, fit_clusters
from lyewitness.peaks.survey.shoulders import as_starts
from lyewitness.peaks.survey.surveys import Component, Survey, resurveyed
from lyewitness.words.arrays import FloatArray

# Natural logs. Narrower than those by which peaks are named (`assignments`): where two markers stand in each
# other the trace tells less of each, and its own course before tells more.
AREA_SPREAD = 0.06
LOG_SIGMA_SPREAD = 0.12
TAIL_SPREAD = 0.2
"""Spread of τ, in σ."""
NEAR = 1.3
"""Markers nearer to each other than this many widths are fitted together …"""
ODD_AREA = 0.08
"""… where one of their areas is off by more than this (natural log)."""
SAME_PLACE = 0.4
"""Two curves nearer than this share of their width are named by what is expected of them alone."""
# The standard deviation of 50 residuals is known to 10 %.
NOT_WORSE = 1.1
AS_WIDE = 0.08
"""A marker's width (natural log) so near to that elsewhere is its own: a column broadens
more slowly between two injections."""
AS_INJECTED = 0.025
"""A marker within this of what was injected is alone."""
WOULD_SHOW = 0.12
"""A marker of this share of the other's area would make the sum larger by more than areas scatter."""
NOT_ALONE_FOR_SURE = 0.9
"""Chance of being two from which on a curve is never told as one marker alone."""
WHOSE_TOP = 0.5
"""Highest confidence in one top for two: what is read off it is as likely the other's."""
SHIFTS = (-0.35, 0.0, 0.35)
"""Starts about the expected times, in widths."""


@dataclass(frozen=True, eq=False, slots=True)
class Meeting:
    """Markers that stand in each other in one injection."""

    injection: str
    span: int
    markers: tuple[str, ...]
    replaced: frozenset[int]
    """Tops of the span's fit whose place their curves take."""


def separate_meetings(
    surveys: Mapping[str, Survey], assigned: Mapping[str, Mapping[str, Assignment]]
) -> tuple[dict[str, Survey], dict[str, dict[str, Assignment]]]:
    """Return surveys and assignments in which markers that met are told apart, as far as they can be."""
    new_surveys = dict(surveys)
    assigned = {injection: _without_the_gone(own) for injection, own in assigned.items()}
    new_assigned = {injection: dict(own) for injection, own in assigned.items()}
    meetings = [
        meeting
        for injection, own in assigned.items()
        for meeting in _meetings(injection, own, surveys[injection])
    ]
    trials = [
        (m, trial) for m in meetings for trial in _trials(surveys[m.injection], m, assigned[m.injection])
    ]
    fits = fit_clusters([trial for _, trial in trials])
    best: dict[int, ClusterFit] = {}
    for (meeting, _), fit in zip(trials, fits, strict=True):
        if id(meeting) not in best or fit.misfit < best[id(meeting)].misfit:
            best[id(meeting)] = fit
    for meeting in meetings:
        _take(meeting, best[id(meeting)], new_surveys, new_assigned[meeting.injection])
    return new_surveys, {injection: _less_sure_of_one_top(own) for injection, own in new_assigned.items()}


def _less_sure_of_one_top(own: Mapping[str, Assignment]) -> dict[str, Assignment]:
    """Return the assignments; of a top that stayed one for several it is not known whose top it is."""
    return {
        marker: replace(one, confidence=min(one.confidence or 0.0, WHOSE_TOP)) if one.shared_with else one
        for marker, one in own.items()
    }


def _without_the_gone(own: Mapping[str, Assignment]) -> dict[str, Assignment]:
    """Return the assignments of one injection; a top for two that is one of them is that one's alone."""
    result = dict(own)
    for marker, one in own.items():
        for other in one.shared_with:
            if len(one.shared_with) == 1 and _is_alone(one, own[other]) and not _is_alone(own[other], one):
                confidence = min(one.confidence or 0.0, NOT_ALONE_FOR_SURE)
                result[marker] = replace(one, shared_with=(), confidence=confidence)
                reason = f"the peak at {one.components[0].apex_min:.2f} min is no more than {marker} alone"
                result[other] = replace(
                    own[other], components=(), confidence=None, shared_with=(), absent_because=reason
                )
    return result


def _is_alone(one: Assignment, other: Assignment) -> bool:
    """Tell whether a top that was named for both is in area and width what the one was by itself."""
    if one.like is None or other.like is None or len(one.components) != 1:
        return False
    seen, known = one.components[0], one.like
    moved = seen.apex_min / known.apex_min
    as_large = abs(log(max(seen.area, 1e-300) / known.area)) < AS_INJECTED
    # A peak that moved has kept its width, or its plate number, or is somewhere between.
    wider = log(seen.width_min / known.width_min)
    as_wide = min(0.0, log(moved)) - AS_WIDE < wider < max(0.0, log(moved)) + AS_WIDE
    return as_large and as_wide and other.like.area > WOULD_SHOW * known.area


def _meetings(injection: str, own: Mapping[str, Assignment], survey: Survey) -> list[Meeting]:
    """Return the groups of markers of one injection that have to be looked at again."""
    known = [m for m, a in own.items() if a.components and a.like is not None and a.expected_min is not None]
    known.sort(key=lambda m: _apex(own[m]))
    groups: list[list[str]] = []
    for marker in known:
        if groups and _meet(own[groups[-1][-1]], own[marker]):
            groups[-1].append(marker)
        else:
            groups.append([marker])
    return [
        _meeting(injection, group, own, survey)
        for group in groups
        if len(group) > 1 and any(_is_odd(own[marker]) for marker in group)
    ]


def _apex(assignment: Assignment) -> float:
    """Return the apex of the assigned peak."""
    return max(assignment.components, key=lambda c: c.height).apex_min


def _meet(one: Assignment, other: Assignment) -> bool:
    """Tell whether two assigned peaks stand in each other."""
    width = max(c.width_min for c in (*one.components, *other.components))
    together = one.components[0].span == other.components[0].span
    return together and abs(_apex(one) - _apex(other)) < NEAR * width


def _is_odd(assignment: Assignment) -> bool:
    """Tell whether a peak is shared, split or of another area than the marker has elsewhere."""
    if assignment.shared_with or len(assignment.components) > 1 or assignment.like is None:
        return True
    return abs(log(assignment.components[0].area / assignment.like.area)) > ODD_AREA


def _meeting(injection: str, group: Sequence[str], own: Mapping[str, Assignment], survey: Survey) -> Meeting:
    """Return the meeting of a group; nameless curves between its peaks are taken for part of them."""
    parts = [c for marker in group for c in own[marker].components]
    named = {c for assignment in own.values() for c in assignment.components}
    low = min(c.apex_min - c.width_min for c in parts)
    high = max(c.apex_min + c.width_min for c in parts)
    span = parts[0].span
    between = [c for c in survey.components if c.span == span and c not in named and low < c.apex_min < high]
    return Meeting(injection, span, tuple(group), frozenset(c.top for c in (*parts, *between)))


def _trials(survey: Survey, meeting: Meeting, own: Mapping[str, Assignment]) -> list[Cluster]:
    """Return the cluster with the known curves as starts, shifted against each other in several ways."""
    fit = survey.fits[meeting.span]
    kept = np.delete(as_starts(fit), sorted(meeting.replaced), axis=0)
    known = [known_curve(own[marker]) for marker in meeting.markers]
    pull = np.concatenate([np.full(kept.shape, np.inf), *(spread[None, :] for _, spread in known)])
    (plain,) = clusters_of([Stretch(survey.trace, survey.spans[meeting.span], survey.noise_sd)])
    target = np.concatenate([kept, *(start[None, :] for start, _ in known)])
    middle = float(np.mean([_apex(own[marker]) for marker in meeting.markers]))
    trials = [replace(plain, starts=target, pull=pull)]
    for shift in SHIFTS:
        starts = target.copy()
        for place, (start, _) in enumerate(known):
            width = 2.355 * start[2] + 0.7 * abs(start[3])
            side = 1.0 if place % 2 else -1.0
            starts[len(kept) + place, 1] = middle + side * shift * width
        trials.append(replace(plain, starts=starts, target=target, pull=pull))
    return trials


def known_curve(assignment: Assignment) -> tuple[FloatArray, FloatArray]:
    """Return start and spreads of a marker's curve: its nearest one, moved to where it is expected."""
    like, place = assignment.like, assignment.expected_min
    if like is None or place is None:
        raise ValueError("the marker is known from no other injection")
    moved = place / like.apex_min
    sigma, tau = like.sigma_min * moved, like.tau_min * moved
    start = np.array([like.height / moved, place, sigma, tau])
    spread = np.array(
        [AREA_SPREAD, assignment.expected_spread * place, LOG_SIGMA_SPREAD, TAIL_SPREAD * sigma]
    )
    return start, spread


def _take(meeting: Meeting, fit: ClusterFit, surveys: dict[str, Survey], own: dict[str, Assignment]) -> None:
    """Put the separating fit into survey and assignments, where it describes the signal as well."""
    old = surveys[meeting.injection]
    shared = any(own[marker].shared_with for marker in meeting.markers)
    limit = max(old.fits[meeting.span].residual_sd, 2.0 * old.noise_sd) * NOT_WORSE
    if fit.residual_sd > limit and not shared:
        return
    survey = resurveyed(old, meeting.span, fit)
    curves = {c.top: c for c in survey.components if c.span == meeting.span}
    tops = tuple(range(len(fit.area) - len(meeting.markers), len(fit.area)))
    if not all(top in curves for top in tops):
        return
    surveys[meeting.injection] = survey
    tops = min(permutations(tops), key=lambda order: _strangeness(own, meeting.markers, order, curves))
    own.update(renamed(own, survey))
    for marker, top in zip(meeting.markers, tops, strict=True):
        others = [curves[t] for t in tops if t != top]
        own[marker] = _apart(own[marker], curves[top], others)


def _strangeness(
    own: Mapping[str, Assignment],
    markers: Sequence[str],
    tops: Sequence[int],
    curves: Mapping[int, Component],
) -> float:
    """Return how far the curves in this order are from what is known of the markers (sum of squares)."""
    total = 0.0
    for marker, top in zip(markers, tops, strict=True):
        curve, (known, spread) = curves[top], known_curve(own[marker])
        area = log(max(curve.area, 1e-300) / max(_area_of(own[marker]), 1e-300))
        total += (area / spread[0]) ** 2 + ((curve.apex_min - known[1]) / spread[1]) ** 2
        total += (log(curve.sigma_min / known[2]) / spread[2]) ** 2
    return float(total)


def _area_of(assignment: Assignment) -> float:
    """Return the area that the marker has elsewhere."""
    return assignment.like.area if assignment.like is not None else 0.0


def renamed(own: Mapping[str, Assignment], survey: Survey) -> dict[str, Assignment]:
    """Return the assignments of one injection with the components of its new survey, by time."""
    result = {}
    for marker, assignment in own.items():
        moved = [_nearest(survey, was) for was in assignment.components]
        result[marker] = replace(assignment, components=tuple(dict.fromkeys(moved)))
    return result


def _nearest(survey: Survey, was: Component) -> Component:
    """Return the component nearest in time."""
    return min(survey.components, key=lambda c: abs(c.apex_min - was.apex_min))


def _apart(assignment: Assignment, curve: Component, others: Sequence[Component]) -> Assignment:
    """Return the assignment of a separated marker; doubtful where another curve stands on the same place."""
    nearest = min(abs(c.apex_min - curve.apex_min) for c in others)
    confidence = assignment.confidence or 0.0
    if nearest < SAME_PLACE * curve.width_min:
        confidence = min(confidence, 0.9)
    return replace(assignment, components=(curve,), confidence=confidence, separated=True, shared_with=())
