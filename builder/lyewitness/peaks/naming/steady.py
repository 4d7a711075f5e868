"""Strangers that stand beside the markers from the first injections on, and where they stand in all others.

In: the candidates of one column's injections in the order of exposure, the stated retention of its markers.
Out: the same candidates; one that is such a stranger bears what it costs to give it a marker's name.

A column is fresh at first, and its markers stand where the study says. What stands there beside them, all of
them found, is none of them: later, too, when the marker it could be taken for has moved, faded or gone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, log

from lyewitness.peaks.naming.assignments import SPLIT_REACH, Candidate, Joint, ways_to_name
from lyewitness.peaks.naming.predictions import Prediction, predict

FRESH = 3
"""Injections whose markers stand where the study states it: as many as a reference usually has."""
IN_PLACE = 0.18
"""A marker this near to its stated retention (natural log) is where it belongs: that far apart are columns of
one type."""
# Two tell the shift that all have in common from a peak that happens to be near.
LEAST_IN_PLACE = 2
SMALL = 0.25
"""Where a marker has no peak, what is larger than this share of the others may be it, wherever it is."""
NEAR_TIME = 0.02
"""From one injection to the next a stranger moves by less than this (natural log) …"""
NEAR_AREA = 0.5
"""… and its area changes by less than this: near the noise areas scatter by a third."""
STEADY = 0.6
"""Share of the next injections in which it must be seen …"""
NEXT = 5
"""… of so many."""
MOST_CLAIMED = 5.0
"""Nats: what a marker that is gone for longer costs, so that neither it nor the stranger is preferred."""


@dataclass(frozen=True, slots=True)
class _Stranger:
    """A peak of one injection that is no marker."""

    place: int
    """Number of its injection."""
    candidate: Candidate
    claim: float
    """Nats by which the names without it are likelier."""


def with_strangers(
    candidates: Sequence[Sequence[Candidate]], expected: Sequence[float | None]
) -> list[tuple[Candidate, ...]]:
    """Return the candidates of every injection, those that a steady stranger has with what they cost."""
    claims: list[dict[int, float]] = [{} for _ in candidates]
    for place, here in enumerate(candidates[:FRESH]):
        for stranger in _strangers(place, here, expected):
            course = _course(stranger, candidates)
            if _is_steady(course, place):
                for own, mask in zip(claims, course, strict=True):
                    if mask:
                        own[mask] = max(own.get(mask, 0.0), stranger.claim)
    return [
        tuple(
            replace(one, claimed=sum(claim for mask, claim in own.items() if mask & one.mask)) for one in here
        )
        for here, own in zip(candidates, claims, strict=True)
    ]


def displaced(
    chosen: Sequence[tuple[int | None, ...]],
    candidates: Sequence[Sequence[Candidate]],
    expected: Sequence[float | None],
) -> set[int]:
    """Return the markers that stand aside on the fresh column, while a nameless peak has their place."""
    fresh = list(zip(chosen[:FRESH], candidates, strict=False))
    return {
        m
        for m, stated in enumerate(expected)
        if stated is not None and any(_is_passed_over(m, stated, *one) for one in fresh)
    }


def _is_passed_over(
    marker: int, stated: float, names: tuple[int | None, ...], here: Sequence[Candidate]
) -> bool:
    """Tell whether a marker of one injection stands aside while a nameless peak has its place."""
    c = names[marker]
    if c is None or abs(here[c].log_time - stated) < IN_PLACE:
        return False
    used = sum({here[n].mask for n in names if n is not None})
    passed = [one for one in here if not one.mask & used and abs(one.log_time - stated) < IN_PLACE]
    return any(one.log_area > here[c].log_area + log(SMALL) for one in passed)


def _strangers(place: int, here: Sequence[Candidate], expected: Sequence[float | None]) -> list[_Stranger]:
    """Return the peaks of a fresh column's injection that are no marker."""
    if not here or any(stated is None for stated in expected):
        return []
    predictions = [predict(stated, (), (), 0.0) for stated in expected]
    ways = ways_to_name(here, predictions)
    named = [here[c] for c in ways[0].chosen if c is not None]
    if len(named) < LEAST_IN_PLACE or not _all_in_place(here, ways[0], predictions):
        return []
    smallest = min(one.log_area for one in named)
    limit = inf if len(named) == len(expected) else smallest + log(SMALL)
    return [
        _Stranger(place, one, _claim(here, ways, c))
        for c, one in enumerate(here)
        if not one.is_split and one.log_area < limit and not any(_touch(one, other) for other in named)
    ]


def _all_in_place(here: Sequence[Candidate], way: Joint, predictions: Sequence[Prediction]) -> bool:
    """Tell whether every marker that was found stands where the study states it."""
    return all(
        c is None or abs(here[c].log_time - expected.log_time) < IN_PLACE
        for c, expected in zip(way.chosen, predictions, strict=True)
    )


def _touch(one: Candidate, marker: Candidate) -> bool:
    """Tell whether a peak is part of a marker's, or so near that it may be."""
    reach = SPLIT_REACH * max(c.width_min for c in (*one.components, *marker.components))
    return any(abs(one.components[0].apex_min - c.apex_min) < reach for c in marker.components)


def _claim(here: Sequence[Candidate], ways: Sequence[Joint], stranger: int) -> float:
    """Return by how many nats the best way to name the peaks is likelier than one that names a stranger."""
    mask = here[stranger].mask
    dearer = [
        way.cost - ways[0].cost
        for way in ways
        if any(c is not None and here[c].mask & mask for c in way.chosen)
    ]
    return min([MOST_CLAIMED, *dearer])


def _course(stranger: _Stranger, candidates: Sequence[Sequence[Candidate]]) -> list[int]:
    """Return by injection the mask of a stranger's peak; 0 where it has none of its own."""
    found = [0] * len(candidates)
    for onward in (range(stranger.place, len(candidates)), range(stranger.place - 1, -1, -1)):
        last = stranger.candidate
        for j in onward:
            like = [one for one in candidates[j] if not one.is_split and _unlike(one, last) < 1.0]
            if like:
                last = min(like, key=lambda one: _unlike(one, last))
                found[j] = last.mask
    return found


def _unlike(one: Candidate, last: Candidate) -> float:
    """Return how far a peak is from a stranger as it was seen last; below 1 it may be it."""
    time, area = abs(one.log_time - last.log_time), abs(one.log_area - last.log_area)
    return max(time / NEAR_TIME, area / NEAR_AREA)


def _is_steady(course: Sequence[int], place: int) -> bool:
    """Tell whether a stranger was seen in most of the injections after its first one."""
    after = [mask > 0 for mask in course[place + 1 : place + 1 + NEXT]]
    return sum(after) >= max(STEADY * len(after), 1.0)
