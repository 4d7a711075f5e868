"""Which peak is which marker, with a column's whole sequence of injections in view.

In: the components of each injection in the order of exposure, the markers' expected retention. Out: an
`Assignment` for each injection and marker. Several histories are carried forward side by side; then every
injection is judged again by what stands before and behind it, until nothing changes.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp, inf, log

from lyewitness.peaks.naming.assignments import (
    ABSENT,
    Candidate,
    Joint,
    candidates_of,
    cost_of,
    ways_to_name,
)
from lyewitness.peaks.naming.predictions import UNKNOWN_SPREAD, Prediction, Sighting, predict
from lyewitness.peaks.naming.steady import displaced, with_strangers
from lyewitness.peaks.survey.surveys import Component
from lyewitness.study.records import Marker

# Three markers that may have changed places have six orders.
HISTORIES = 6
WORTH_CARRYING = 12.0
"""Nats by which a history may be dearer than the best."""
# A bound: looks end by themselves where one changes nothing, and two names may take turns for ever.
SECOND_LOOKS = 3
UNTOLD = 0.8
"""Highest confidence where the study states the retention of neither of two markers, where the peak stood
beside its marker at first, or where another one stands at its stated retention."""
BY_CHANCE = 2.0
"""Nats a marker that any sample of other substances costs. The dearest way to name the peaks of the right
sample, under leaks, carry-over and drift, came to 10 for three markers in 500 simulated injections, of other
vials to 22 and more."""


@dataclass(frozen=True, slots=True)
class Assignment:
    """What was decided for one marker in one injection."""

    components: tuple[Component, ...] = ()
    """The peak; several where it is split; empty where it is absent."""
    confidence: float | None = None
    """0 … 1; None where the peak is absent."""
    absent_because: str = ""
    bare_min: tuple[float, float] | None = None
    """Between which times no peak stands at all, where it was looked for and is absent."""
    shared_with: tuple[str, ...] = ()
    """Markers whose peak is the very same one: they could not be told apart."""
    separated: bool = False
    """True where a fit that knew the marker from elsewhere told it from another."""
    expected_min: float | None = None
    """Where the other injections say that it should be; None where nothing says so."""
    expected_spread: float = 0.0
    """Relative spread of that time."""
    like: Component | None = None
    """The same marker alone in the nearest injection that shows it."""
    not_recorded: bool = False
    """True where the run ended before the marker could have eluted."""
    holds_stranger: bool = False
    """True where the peak holds more than was injected of the marker."""


@dataclass(frozen=True, slots=True)
class _History:
    """One way to name the peaks of all injections so far."""

    cost: float
    chosen: tuple[tuple[int | None, ...], ...]
    """By injection, by marker."""
    seen: tuple[tuple[Sighting, ...], ...]
    """By marker."""


def follow(
    injections: Sequence[Sequence[Component]],
    markers: Sequence[Marker],
    expected_min: Sequence[float | None],
    exposures: Sequence[float],
) -> list[dict[str, Assignment]]:
    """Return, for each injection of one column in the order of exposure, the assignment of every marker."""
    expected = [log(time) if time else None for time in expected_min]
    candidates = with_strangers([candidates_of(components) for components in injections], expected)
    positions = _in_steps(exposures)
    chosen = _forward(candidates, expected, positions)
    for _ in range(SECOND_LOOKS):
        again = _looked_again(chosen, candidates, expected, positions)
        if again == chosen:
            break
        chosen = again
    looks = _second_looks(chosen, candidates, expected, positions)
    decided = [_decided(j, chosen, candidates, looks[j], markers) for j in range(len(candidates))]
    unknown = [marker.id for marker, time in zip(markers, expected_min, strict=True) if not time]
    doubted = [markers[m].id for m in displaced(chosen, candidates, expected)]
    doubted += unknown if len(unknown) > 1 else []
    return [_less_sure(names, doubted) for names in decided] if doubted else decided


def _less_sure(names: dict[str, Assignment], doubted: Sequence[str]) -> dict[str, Assignment]:
    """Return the assignments with a doubt on markers told by their order only, or standing aside."""
    return {
        marker: replace(found, confidence=min(found.confidence, UNTOLD))
        if marker in doubted and found.confidence is not None
        else found
        for marker, found in names.items()
    }


def _in_steps(exposures: Sequence[float]) -> list[float]:
    """Return exposures in typical steps; injections right after each other stand a little apart."""
    gaps = sorted(b - a for a, b in pairwise(exposures) if b > a)
    typical = gaps[len(gaps) // 2] if gaps else 1.0
    return [exposure / typical + 0.05 * place for place, exposure in enumerate(exposures)]


def _sighting(candidate: Candidate, position: float) -> Sighting:
    """Return what was seen of a marker."""
    return Sighting(position, candidate.log_time, candidate.log_area, candidate.log_width, candidate.is_split)


def _forward(
    candidates: Sequence[Sequence[Candidate]], expected: Sequence[float | None], positions: Sequence[float]
) -> list[tuple[int | None, ...]]:
    """Return the cheapest history, carried from the first injection to the last."""
    histories = [_History(0.0, (), ((),) * len(expected))]
    for here, position in zip(candidates, positions, strict=True):
        longer = []
        for history in histories:
            predictions = [
                _noting_last(predict(stated, seen, (), position), history, m)
                for m, (stated, seen) in enumerate(zip(expected, history.seen, strict=True))
            ]
            longer += [
                _carried(history, joint, here, position) for joint in ways_to_name(here, predictions, 6)
            ]
        histories = _distinct(longer)
    return list(histories[0].chosen)


def _distinct(histories: list[_History]) -> list[_History]:
    """Return the cheapest histories, one for each way the last four injections were named."""
    kept: dict[tuple[tuple[int | None, ...], ...], _History] = {}
    for history in sorted(histories, key=lambda history: history.cost):
        kept.setdefault(history.chosen[-4:], history)
    cheapest = next(iter(kept.values())).cost
    return [history for history in kept.values() if history.cost < cheapest + WORTH_CARRYING][:HISTORIES]


def _noting_last(prediction: Prediction, history: _History, marker: int) -> Prediction:
    """Return the prediction with whether the marker was absent, or under a top of two, the last time."""
    return _noting(prediction, marker, history.chosen[-1:])


def _noting(prediction: Prediction, marker: int, near: Sequence[tuple[int | None, ...]]) -> Prediction:
    """Return the prediction with what became of the marker in the injections next to it."""
    own = [(names[marker], names.count(names[marker])) for names in near]
    absent, shared = any(c is None for c, _ in own), any(c is not None and n > 1 for c, n in own)
    return replace(prediction, was_absent=absent, was_shared=shared) if absent or shared else prediction


def _carried(history: _History, joint: Joint, here: Sequence[Candidate], position: float) -> _History:
    """Return `history` with one more injection; a shared peak teaches nothing of either marker."""
    seen = []
    for so_far, c in zip(history.seen, joint.chosen, strict=True):
        alone = c is not None and joint.chosen.count(c) == 1
        seen.append((*so_far, _sighting(here[c], position)) if alone and c is not None else so_far)
    return _History(history.cost + joint.cost, (*history.chosen, joint.chosen), tuple(seen))


@dataclass(frozen=True, slots=True)
class _Alone:
    """Where one marker was seen by itself."""

    places: list[int]
    """Numbers of the injections, rising."""
    seen: list[Sighting]


def _seen_alone(
    chosen: Sequence[tuple[int | None, ...]],
    candidates: Sequence[Sequence[Candidate]],
    positions: Sequence[float],
    markers: int,
) -> list[_Alone]:
    """Return, for each marker, the injections in which it shares its peak with no other."""
    result = []
    for m in range(markers):
        places = [j for j, names in enumerate(chosen) if names[m] is not None and names.count(names[m]) == 1]
        seen = [_sighting(candidates[j][chosen[j][m] or 0], positions[j]) for j in places]
        result.append(_Alone(places, seen))
    return result


@dataclass(frozen=True, slots=True)
class _Look:
    """What the other injections say of one injection."""

    predictions: list[Prediction]
    """By marker."""
    ways: list[Joint]
    """To name its peaks, cheapest first."""


def _looked_again(
    chosen: Sequence[tuple[int | None, ...]],
    candidates: Sequence[Sequence[Candidate]],
    expected: Sequence[float | None],
    positions: Sequence[float],
) -> list[tuple[int | None, ...]]:
    """Return the ways to name the peaks after every injection was judged by all others.

    One after the other: two that mislead each other would change places for ever if they changed at once.
    """
    again = list(chosen)
    alone = _seen_alone(again, candidates, positions, len(expected))
    for j, (here, position) in enumerate(zip(candidates, positions, strict=True)):
        predictions = _from_both_sides(j, again, alone, expected, position)
        best = ways_to_name(here, predictions)[0].chosen
        if best != again[j]:
            again[j] = best
            alone = _seen_alone(again, candidates, positions, len(expected))
    return again


def _second_looks(
    chosen: Sequence[tuple[int | None, ...]],
    candidates: Sequence[Sequence[Candidate]],
    expected: Sequence[float | None],
    positions: Sequence[float],
) -> list[_Look]:
    """Return what each injection looks like to those before and behind it."""
    alone = _seen_alone(chosen, candidates, positions, len(expected))
    looks = []
    for j, (here, position) in enumerate(zip(candidates, positions, strict=True)):
        predictions = _from_both_sides(j, chosen, alone, expected, position)
        looks.append(_Look(predictions, ways_to_name(here, predictions)))
    return looks


def _from_both_sides(
    j: int,
    chosen: Sequence[tuple[int | None, ...]],
    alone: Sequence[_Alone],
    expected: Sequence[float | None],
    position: float,
) -> list[Prediction]:
    """Return the prediction of every marker in injection `j` from those before and behind it."""
    predictions = []
    beside = [chosen[i] for i in (j - 1, j + 1) if 0 <= i < len(chosen)]
    for m, stated in enumerate(expected):
        here = bisect_left(alone[m].places, j)
        after = here + (here < len(alone[m].places) and alone[m].places[here] == j)
        prediction = predict(
            stated, alone[m].seen[max(here - 4, 0) : here], alone[m].seen[after : after + 4], position
        )
        predictions.append(_noting(prediction, m, beside))
    return predictions


def _decided(
    j: int,
    chosen: Sequence[tuple[int | None, ...]],
    candidates: Sequence[Sequence[Candidate]],
    look: _Look,
    markers: Sequence[Marker],
) -> dict[str, Assignment]:
    """Return the assignments of injection `j` with their confidence: the share of the ways that agree."""
    predictions, ways = look.predictions, look.ways
    weights = [exp(ways[0].cost - joint.cost) for joint in ways]
    same_sample = 1.0 / (1.0 + exp(min(ways[0].cost - ABSENT - BY_CHANCE * len(markers), 50.0)))
    result = {}
    for m, marker in enumerate(markers):
        c = chosen[j][m]
        prediction = predictions[m]
        place = exp(prediction.log_time) if prediction.time_spread < 1.0 else None
        if c is None:
            reason, bare = _why_absent(candidates[j], prediction)
            result[marker.id] = Assignment(absent_because=reason, bare_min=bare, expected_min=place)
            continue
        agree = sum(w for w, joint in zip(weights, ways, strict=True) if joint.chosen[m] == c)
        # What only a shift of all peaks makes a marker's rests on the others: is it the sample at all?
        by_itself = cost_of(candidates[j][c], prediction) < ABSENT
        trust = 1.0 if by_itself else same_sample
        result[marker.id] = Assignment(
            components=candidates[j][c].components,
            confidence=min(trust * agree / sum(weights), UNTOLD if candidates[j][c].claimed else 1.0),
            shared_with=tuple(markers[o].id for o, other in enumerate(chosen[j]) if other == c and o != m),
            expected_min=place,
            expected_spread=prediction.time_spread,
            like=_alone_nearby(j, m, chosen, candidates),
        )
    return result


def _alone_nearby(
    j: int,
    marker: int,
    chosen: Sequence[tuple[int | None, ...]],
    candidates: Sequence[Sequence[Candidate]],
) -> Component | None:
    """Return the curve of the marker in the nearest injection where it is a single peak of its own."""
    for away in range(1, len(chosen)):
        for i in (j - away, j + away):
            if 0 <= i < len(chosen):
                c = chosen[i][marker]
                if c is not None and chosen[i].count(c) == 1 and not candidates[i][c].is_split:
                    return candidates[i][c].components[0]
    return None


def _why_absent(
    candidates: Sequence[Candidate], expected: Prediction
) -> tuple[str, tuple[float, float] | None]:
    """Return the reason in words, and between which times no peak stands."""
    if expected.time_spread > 1.0:
        if candidates:
            return "no peak is left for it, and its retention is stated nowhere", None
        return "no peak stands out of the noise anywhere on the trace", (0.0, inf)
    low, high = (exp(expected.log_time + side * 3.0 * expected.time_spread) for side in (-1, 1))
    if any(low <= exp(candidate.log_time) <= high for candidate in candidates):
        reason = f"what stands between {low:.2f} and {high:.2f} min is another marker or of another size"
        return reason, None
    told_by = (
        "the study states it" if expected.area_spread >= UNKNOWN_SPREAD else "its other injections place it"
    )
    return f"no peak between {low:.2f} and {high:.2f} min, where {told_by}", (low, high)
