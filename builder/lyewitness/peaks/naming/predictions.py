"""Where a marker is to be expected in an injection, how large and how wide.

In: where it was seen in the injections before, or on both sides, and the retention that the study states.
Out: a `Prediction` of natural logarithms; exposure is in typical steps between injections.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

# Seven columns in ten stand within a few per cent of what the study states; the others are of another batch,
# or run at another flow.
AS_STATED, NEAR_SPREAD = 0.7, 0.02
FIRST_SPREAD = 0.09
"""Spread of the retention stated in the study against that of the other columns."""
# A factor of twenty either way: as good as nothing known.
UNKNOWN_SPREAD = 3.0
STEP_SPREAD = 0.006
"""Retention changes this much from one injection to the next beyond its trend …"""
SLOPE_SPREAD = 0.02
"""… and the trend itself by this much in a step."""
# Natural logs, from one injection to the next: areas of one vial agree within a few per cent, while a column
# that gives way widens a peak by a fifth.
AREA_SPREAD = 0.08
WIDTH_SPREAD = 0.22


@dataclass(frozen=True, slots=True)
class Sighting:
    """One marker in one injection."""

    position: float
    """Exposure in typical steps."""
    log_time: float
    log_area: float
    log_width: float
    split: bool = False


@dataclass(frozen=True, slots=True)
class Prediction:
    """What is expected of one marker in one injection."""

    log_time: float
    time_spread: float
    log_area: float
    area_spread: float
    log_width: float
    width_spread: float
    was_split: bool = False
    was_absent: bool = False
    was_shared: bool = False
    """Whether it stood under one top with another the last time."""
    is_stated: bool = False
    """Whether the time is that stated in the study, for want of sightings."""


def predict(
    expected_log: float | None, before: Sequence[Sighting], after: Sequence[Sighting], position: float
) -> Prediction:
    """Return the prediction at `position` from the nearest sightings on both sides and the stated retention.

    With sightings on both sides the trend is interpolated, with one side only it is carried on, more loosely
    the farther. Before anything was seen the stated retention alone counts.
    """
    near_before, near_after = list(before[-4:]), list(after[:4])
    seen = near_before + near_after
    if not seen:
        known = expected_log is not None
        time = expected_log if expected_log is not None else 0.0
        spread = FIRST_SPREAD if known else UNKNOWN_SPREAD
        return Prediction(time, spread, 0.0, UNKNOWN_SPREAD, 0.0, UNKNOWN_SPREAD, is_stated=known)
    gaps = [abs(sighting.position - position) for sighting in seen]
    time, spread = _trend(seen, gaps, position, both=bool(near_before and near_after))
    few = 1.0 if len(seen) > 2 else 1.5
    return Prediction(
        log_time=time,
        time_spread=spread,
        log_area=_median([sighting.log_area for sighting in seen]),
        area_spread=AREA_SPREAD * few,
        log_width=_near_mean(seen, gaps),
        width_spread=WIDTH_SPREAD * few,
        was_split=seen[gaps.index(min(gaps))].split,
    )


def _trend(
    seen: Sequence[Sighting], gaps: Sequence[float], position: float, both: bool
) -> tuple[float, float]:
    """Return the log time at `position` by a weighted line through near sightings, and its spread."""
    weights = [(0.3 + gap) ** -2.0 for gap in gaps]
    total = centre = level = 0.0
    for weight, sighting in zip(weights, seen, strict=True):
        total += weight
        centre += weight * sighting.position
        level += weight * sighting.log_time
    centre, level = centre / total, level / total
    across = along = upward = 0.0
    for weight, sighting in zip(weights, seen, strict=True):
        aside, above = sighting.position - centre, sighting.log_time - level
        across += weight * aside * aside
        along += weight * aside * above
        upward += weight * above * above
    # A ridge keeps the slope small while all sightings stand close together.
    slope = along / (across + 0.05 * total)
    scatter = sqrt(max(upward - slope * (2.0 * along - slope * across), 0.0) / total)
    reach = min(gaps) if both else min(gaps) + 0.3
    spread = STEP_SPREAD + SLOPE_SPREAD * min(reach, 6.0) * (0.5 if both else 1.0) + 0.7 * min(scatter, 0.1)
    return level + slope * (position - centre), spread


def _near_mean(seen: Sequence[Sighting], gaps: Sequence[float]) -> float:
    """Return the mean log width of the sightings, the nearest ones counting most."""
    total = mean = 0.0
    for sighting, gap in zip(seen, gaps, strict=True):
        weight = 1.0 / (0.5 + gap)
        total += weight
        mean += weight * sighting.log_width
    return mean / total


def _median(values: Sequence[float]) -> float:
    """Return the median of a few numbers."""
    ordered, n = sorted(values), len(values)
    return 0.5 * (ordered[(n - 1) // 2] + ordered[n // 2])
