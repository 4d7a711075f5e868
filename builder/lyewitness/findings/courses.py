"""Logged conditions read as courses: steady, a trend, jumps, or a sawtooth.

In: readings against exposure. Out: `Course`s, and their words.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, median
from typing import Literal

import numpy as np

from lyewitness.words.numbers import fixed, rounded, with_unit

CourseKind = Literal["steady", "trend", "jumps", "sawtooth", "scatter"]

FEWEST = 6
"""Readings without which no course is told from scatter."""
OF_NOISE = 6.0
"""Noises of a step from which it is a jump: one false jump in a log of a thousand readings at most."""
OF_THE_JUMP = 0.4
"""Share of a jump that the drift between jumps must win back for a sawtooth."""
A_STEP = 0.3
"""Share of the harmless movement from which a single step counts as a jump at all."""


@dataclass(frozen=True, slots=True)
class Course:
    """How a logged condition ran over the exposure."""

    kind: CourseKind
    size: float
    """Peak to trough of a sawtooth, height of the largest jump, rise of a trend, range of a scatter; signed
    by the direction of the drift or the jump, in the condition's own unit."""
    low: float
    high: float
    jumps_h: tuple[float, ...] = ()
    """Exposures right after which the reading jumped."""

    @property
    def period_h(self) -> float | None:
        """Return the usual time from jump to jump, hours; None with fewer than two."""
        steps = [later - earlier for earlier, later in pairwise(self.jumps_h)]
        return median(steps) if steps else None


def course_of(points: Sequence[tuple[float, float]], harmless: float) -> Course | None:
    """Return the course of (exposure in hours, reading); None for too few.

    `harmless` is the movement that does no harm, in the unit of the readings: less is steady.
    """
    if len(points) < FEWEST:
        return None
    hours = np.array([hour for hour, _ in points])
    values = np.array([value for _, value in points])
    low, high = float(values.min()), float(values.max())
    if high - low <= harmless:
        return Course("steady", high - low, low, high)
    apart = np.diff(hours)
    slope = float(np.median(np.diff(values)[apart > 0] / apart[apart > 0])) if np.any(apart > 0) else 0.0
    steps = np.diff(values) - slope * apart  # logs are kept unevenly: a long wait is no jump
    noise = 1.4826 * float(np.median(np.abs(steps - np.median(steps))))
    is_jump = np.abs(steps) > max(OF_NOISE * noise, A_STEP * harmless)
    places = np.flatnonzero(is_jump)
    jumps = tuple(float(hours[place]) for place in places)
    drifts = _drifts(hours, values, places)
    if places.size and places.size <= len(points) / 3:
        height = float(np.median(steps[places]))
        one_way = bool(np.all(np.sign(steps[places]) == np.sign(height)))
        back = fmean(drifts) if drifts else 0.0
        if one_way and back * height < 0 and abs(back) > OF_THE_JUMP * abs(height):
            return Course("sawtooth", float(np.sign(back)) * _swing(values, places), low, high, jumps)
        return Course("jumps", float(steps[places][np.argmax(np.abs(steps[places]))]), low, high, jumps)
    slope, spread = _line(hours, values)
    rise = slope * float(hours[-1] - hours[0])
    if abs(rise) > max(harmless, 2 * spread):
        return Course("trend", rise, low, high)
    return Course("scatter", high - low, low, high)


def _drifts(hours: np.ndarray, values: np.ndarray, places: np.ndarray) -> list[float]:
    """Return how far the readings drifted in each stretch between jumps."""
    borders = [0, *(int(place) + 1 for place in places), len(values)]
    return [
        _line(hours[start:end], values[start:end])[0] * float(hours[end - 1] - hours[start])
        for start, end in pairwise(borders)
        if end - start >= 3
    ]


def _line(hours: np.ndarray, values: np.ndarray) -> tuple[float, float]:
    """Return slope and scatter of a straight line through the readings."""
    if len(values) < 3 or float(np.ptp(hours)) == 0.0:
        return 0.0, 0.0
    slope, offset = np.polyfit(hours, values, 1)
    return float(slope), float(np.std(values - slope * hours - offset))


def _swing(values: np.ndarray, places: np.ndarray) -> float:
    """Return the usual distance from peak to trough of the teeth: over each jump, reading beside reading."""
    return float(np.median(np.abs(values[places + 1] - values[places])))


def course_words(course: Course, places: int, unit: str) -> str:
    """Return a course in words, such as `a sawtooth of 0.20, renewed about every 36 h`."""
    size = with_unit(fixed(abs(course.size), places), unit)
    if course.kind == "sawtooth":
        every = f" about every {with_unit(rounded(course.period_h, 2), 'h')}" if course.period_h else ""
        way = "falling, and raised again" if course.size < 0 else "rising, and lowered again"
        return f"a sawtooth of {size}, {way}{every}"
    if course.kind == "jumps":
        at = with_unit(rounded(course.jumps_h[0], 2), "h")
        return f"a jump of {size} after {at}"
    if course.kind == "trend":
        return f"a {'rise' if course.size > 0 else 'fall'} of {size} from first to last"
    return f"readings {size} apart"
