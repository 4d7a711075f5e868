"""All markers of one injection at once: which of its peaks they are, and at what cost.

In: peaks, as candidates, and one prediction a marker. Out: `Joint`s, the ways to name the peaks, cheapest
first. Costs are negative log likelihoods (nats) up to a constant; Student's t with four degrees of freedom
keeps one odd value from deciding alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from math import exp, log
from operator import le

from lyewitness.peaks.naming.predictions import (
    AS_STATED,
    FIRST_SPREAD,
    NEAR_SPREAD,
    UNKNOWN_SPREAD,
    Prediction,
)
from lyewitness.peaks.survey.surveys import Component

# A bed that settles splits a peak in two; three leave room for a shoulder on one of them.
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

    parting: float
    """What it costs to be made of several curves; 0 for one."""
    claimed: float = 0.0
    """What it costs to take it for a marker because it is a steady stranger; 0 where it is none."""

    @property
    def is_split(self) -> bool:
        """Return whether it is made of several curves."""
        return len(self.components) > 1


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
    parting = sum(TAIL if is_tail(before, behind) else SPLIT for before, behind in pairwise(run))
    return Candidate(run, mask, log(time), log(max(area, 1e-300)), log(width), width / time, parting)


def is_tail(before: Component, behind: Component) -> bool:
    """Tell whether a curve describes the end of the tail of the one before it, rather than a top.

    What is highest where that one is back at the baseline falls from no peak: it is a wave of the background.
    """
    is_broad = behind.width_min > TAIL_WIDER * before.width_min and behind.apex_min < before.end_min
    return is_broad and behind.height < TAIL_LOWER * before.height


# Odds of one in 8000 (nats) before the data: a marker that was injected is hardly ever gone.
ABSENT = 9.0
ABSENT_AGAIN = 5.0
"""Cost of a marker without a peak; less where it had none the last time."""
# Odds of one in seven, and of one in two where the top was split the last time (nats a further top).
SPLIT, SPLIT_AGAIN = 2.0, 0.7
TAIL = 0.8
"""Cost of a peak whose tail has a curve of its own: less than that of an area a tenth too small (0.9) and a
stranger beside it, more than that of a stranger alone (0.65 where no area is known)."""
TAIL_WIDER, TAIL_LOWER = 1.4, 0.35
"""Such a curve is so much wider and lower than that before it; strangers are about as wide as a marker."""
# A pair that stood under one top stays there for a while.
SHARED, SHARED_AGAIN = 2.0, 0.7
"""Cost of two markers under one top."""
ODD_AMOUNT = 5.0
"""Cost of any other area at the marker's own place: one vial in 150 holds another amount …"""
ITS_PLACE = 4.0
"""… dearer by so many times of what a deviation in time costs, as a stranger may stand anywhere else."""
MISSTATED, MISSTATED_BY, MOST_MISSTATED = 1.5, 0.1, 0.6
"""Cost of a study that states all retention wrong, and by how much (natural log) for another nat; at most."""
STRANGER = 1.5
"""Cost of a peak without a name that is as large as a marker; smaller peaks cost in proportion."""
SWAPPED = 1.0
"""Cost of two markers in another order than predicted."""
# A way 8000 times less likely than the best (nats) cannot become the best again.
WORTH_KEEPING = 9.0
# Nats a marker, above which a shift common to all markers is tried as well; too low costs only time.
GOOD_FIT = 3.0


@dataclass(frozen=True, slots=True)
class Joint:
    """One way to name the peaks of an injection."""

    cost: float
    chosen: tuple[int | None, ...]
    """By marker: index of its candidate; None where it is absent."""


def ways_to_name(
    candidates: Sequence[Candidate], predictions: Sequence[Prediction], most: int = 24
) -> list[Joint]:
    """Return the cheapest ways, best first, those within `WORTH_KEEPING` of the best.

    Where all markers fit badly, a shift common to all of them (another flow, a short injection) is tried.
    """
    ways = _search(candidates, predictions, 0.0, 0.0)
    if ways[0].cost > GOOD_FIT * len(predictions) and candidates:
        for shift_time, shift_area in _common_shifts(candidates, predictions, ways[0]):
            penalty = 1.5 + abs(shift_time) / 0.03 + abs(shift_area) / 0.6
            moved = _search(candidates, predictions, shift_time, shift_area)
            ways += [Joint(joint.cost + penalty, joint.chosen) for joint in moved]
        for penalty, elsewhere in _stated_otherwise(candidates, predictions):
            moved = _search(candidates, elsewhere, 0.0, 0.0)
            ways += [Joint(joint.cost + penalty, joint.chosen) for joint in moved]
        ways = _cheapest_of_each(ways)
    return [joint for joint in ways[:most] if joint.cost <= ways[0].cost + WORTH_KEEPING]


def _cheapest_of_each(ways: Sequence[Joint]) -> list[Joint]:
    """Return each way once, at its lowest cost, cheapest first."""
    best: dict[tuple[int | None, ...], float] = {}
    for joint in ways:
        best[joint.chosen] = min(joint.cost, best.get(joint.chosen, joint.cost))
    return sorted((Joint(cost, chosen) for chosen, cost in best.items()), key=lambda joint: joint.cost)


def _odd(deviation: float, spread: float) -> float:
    """Return the cost of a deviation: −log of Student's t with four degrees of freedom, 0 at 0."""
    return 2.5 * log(1.0 + (deviation / spread) ** 2 / 4.0)


def _off_stated(deviation: float) -> float:
    """Return the cost of a deviation from the stated retention: most columns near it, the others about it."""
    near = AS_STATED / NEAR_SPREAD * (1.0 + (deviation / NEAR_SPREAD) ** 2 / 4.0) ** -2.5
    # Nine degrees of freedom: a factor of two is no column of that type.
    about = (1.0 - AS_STATED) / FIRST_SPREAD * (1.0 + (deviation / FIRST_SPREAD) ** 2 / 9.0) ** -5.0
    return log((AS_STATED / NEAR_SPREAD + (1.0 - AS_STATED) / FIRST_SPREAD) / (near + about))


def cost_of(
    candidate: Candidate, expected: Prediction, shift_time: float = 0.0, shift_area: float = 0.0
) -> float:
    """Return the cost of one marker being one candidate: `_odd` of time and area, half of it of the width."""
    off = candidate.log_time - expected.log_time - shift_time
    time = _off_stated(off) if expected.is_stated else _odd(off, expected.time_spread)
    cost = candidate.claimed + time
    if expected.area_spread < UNKNOWN_SPREAD:
        area = _odd(candidate.log_area - expected.log_area - shift_area, expected.area_spread)
        cost += min(area, ODD_AMOUNT + ITS_PLACE * time)
        if not candidate.is_split:
            cost += 0.5 * _odd(candidate.log_width - expected.log_width, expected.width_spread)
    if candidate.is_split:
        again = SPLIT_AGAIN * (len(candidate.components) - 1)
        cost += min(candidate.parting, again) if expected.was_split else candidate.parting
    return cost


def shared_cost(
    candidate: Candidate, first: Prediction, second: Prediction, shift_time: float, shift_area: float
) -> float:
    """Return the cost of two markers under one top: areas add up, times are blurred by its width."""
    cost = candidate.claimed + (SHARED_AGAIN if first.was_shared and second.was_shared else SHARED)
    for expected in (first, second):
        spread = (expected.time_spread**2 + (0.4 * candidate.width_share) ** 2) ** 0.5
        cost += _odd(candidate.log_time - expected.log_time - shift_time, spread)
    both = log(exp(first.log_area) + exp(second.log_area))
    return cost + _odd(candidate.log_area - both - shift_area, max(first.area_spread, second.area_spread))


def _search(
    candidates: Sequence[Candidate], predictions: Sequence[Prediction], shift_time: float, shift_area: float
) -> list[Joint]:
    """Return all ways worth keeping, marker after marker, by branch and bound."""
    absent = [ABSENT_AGAIN if expected.was_absent else ABSENT for expected in predictions]
    single = [
        [cost_of(candidate, expected, shift_time, shift_area) for candidate in candidates]
        for expected in predictions
    ]
    promising = [
        sorted((c for c, cost in enumerate(costs) if cost < limit + 6.0), key=costs.__getitem__)[:5]
        for costs, limit in zip(single, absent, strict=True)
    ]
    sharing = _could_share(candidates, predictions)
    strangers = _stranger_costs(candidates, predictions)
    order = sorted(range(len(predictions)), key=lambda marker: predictions[marker].log_time)
    ways: list[Joint] = []
    bound = float("inf")

    def descend(marker: int, chosen: tuple[int | None, ...], used: int, cost: float) -> None:
        nonlocal bound
        if cost > bound + WORTH_KEEPING:
            return
        if marker == len(predictions):
            unnamed = sum([price for mask, price in strangers if not mask & used])
            total = cost + unnamed + _swaps(candidates, order, chosen)
            bound = min(bound, total)
            ways.append(Joint(total, chosen))
            return
        for c in promising[marker]:
            if not candidates[c].mask & used:
                descend(marker + 1, (*chosen, c), used | candidates[c].mask, cost + single[marker][c])
        for other in sharing[marker]:
            taken = chosen[other]
            if taken is not None and chosen.count(taken) == 1:
                here = candidates[taken]
                if _shares(here, predictions[marker], predictions[other]):
                    pair = shared_cost(here, predictions[marker], predictions[other], shift_time, shift_area)
                    descend(marker + 1, (*chosen, taken), used, cost - single[other][taken] + pair)
        descend(marker + 1, (*chosen, None), used, cost + absent[marker])

    descend(0, (), 0, 0.0)
    ways.sort(key=lambda joint: joint.cost)
    return ways[:40]


def _could_share(candidates: Sequence[Candidate], predictions: Sequence[Prediction]) -> list[list[int]]:
    """Return, for each marker, which of those before it could share the broadest top with it."""
    broadest = max(
        candidates, key=lambda candidate: (not candidate.is_split, candidate.width_share), default=None
    )
    return [
        [
            o
            for o, other in enumerate(predictions[:m])
            if broadest is not None and _shares(broadest, marker, other)
        ]
        for m, marker in enumerate(predictions)
    ]


def _shares(candidate: Candidate, marker: Prediction, other: Prediction) -> bool:
    """Tell whether two markers are predicted so near to each other that one top may hold both."""
    loose = marker.time_spread + other.time_spread
    apart = abs(marker.log_time - other.log_time)
    return not candidate.is_split and loose < 0.3 and apart < candidate.width_share + 1.5 * loose


def _stranger_costs(
    candidates: Sequence[Candidate], predictions: Sequence[Prediction]
) -> list[tuple[int, float]]:
    """Return, for each single component, its mask and what it costs to leave it without a name."""
    known = [expected.log_area for expected in predictions if expected.area_spread < 1.0]
    single = [one for one in candidates if not one.is_split]
    largest = sorted((one.log_area for one in single), reverse=True)[: len(predictions)]
    typical = min(known, default=largest[-1] if largest else 0.0)
    return [
        (one.mask, 0.0 if one.claimed else 0.2 + STRANGER * exp(min(one.log_area - typical, 0.0)))
        for one in single
    ]


def _swaps(candidates: Sequence[Candidate], order: Sequence[int], chosen: Sequence[int | None]) -> float:
    """Return the cost of markers that stand in another order than predicted; `order` is the predicted one."""
    found = [candidates[c].log_time for c in (chosen[m] for m in order) if c is not None]
    if all(map(le, found, found[1:])):
        return 0.0
    return SWAPPED * sum(before > after for before, after in combinations(found, 2))


def _common_shifts(
    candidates: Sequence[Candidate], predictions: Sequence[Prediction], best: Joint
) -> list[tuple[float, float]]:
    """Return (time, area) shifts to try, as a marker's nearest peak or the best naming shows them."""
    shifts = {(0.0, area) for area in _residuals(candidates, predictions, best)}
    for expected in predictions:
        if expected.area_spread > 1.0:
            continue
        near = min(candidates, key=lambda candidate: abs(candidate.log_time - expected.log_time))
        time = near.log_time - expected.log_time
        if abs(time) < 0.3:
            shifts |= {(time, 0.0), (time, near.log_area - expected.log_area)}
    return sorted(shifts)


def _stated_otherwise(
    candidates: Sequence[Candidate], predictions: Sequence[Prediction]
) -> list[tuple[float, list[Prediction]]]:
    """Return predictions as if a study stated all retention too short or too long, and what that costs.

    Another flow moves all markers, another organic share all but the first, which is hardly retained.
    """
    stated = sorted(
        (m for m, expected in enumerate(predictions) if expected.is_stated),
        key=lambda m: predictions[m].log_time,
    )
    result = []
    for moved in (stated, stated[1:]):
        shifts = {
            candidate.log_time - predictions[m].log_time
            for m in moved
            for candidate in candidates
            if not candidate.is_split
        }
        for shift in sorted(one for one in shifts if abs(one) < MOST_MISSTATED and len(moved) > 1):
            elsewhere = [
                replace(expected, log_time=expected.log_time + shift) if m in moved else expected
                for m, expected in enumerate(predictions)
            ]
            result.append((MISSTATED + abs(shift) / MISSTATED_BY, elsewhere))
    return result


def _residuals(
    candidates: Sequence[Candidate], predictions: Sequence[Prediction], best: Joint
) -> list[float]:
    """Return how much larger each area is than predicted (log), where a prediction exists."""
    return [
        candidates[c].log_area - predictions[m].log_area
        for m, c in enumerate(best.chosen)
        if c is not None and predictions[m].area_spread < 1.0
    ]
