"""What changed on one column between its reference and its end, with the uncertainty of the change.

In: `Evidence`. Out: `Change`s in per cent and logged conditions, as the audit and the failure signs use them.

Conditions are read as `Course`s: steady, a trend, jumps, or a sawtooth.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt
from statistics import fmean, median, stdev
from typing import Literal

import numpy as np

from lyewitness.decline import distributions as stats
from lyewitness.findings.evidence import Evidence
from lyewitness.study.events import event_hours
from lyewitness.study.records import EventKind
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed, interval, rounded, with_unit
from lyewitness.words.phrases import counted, exposure, listed

CourseKind = Literal["steady", "trend", "jumps", "sawtooth", "scatter"]

FEWEST = 6
"""Readings without which no course is told from scatter."""
OF_NOISE = 6.0
"""Noises of a step from which it is a jump: one false jump in a log of a thousand readings at most."""
OF_THE_JUMP = 0.4
"""Share of a jump that the drift between jumps must win back for a sawtooth."""
OF_THE_PERIOD = 0.25
"""Of the usual time from jump to jump, by which each may differ and still be one period: bottles are changed
in working hours, and half a day more or less is as much of one that lasts two days."""
NEAR_H = 1.0
"""Hours by which a stated renewal may lie outside the readings that show it: both are noted by the hour."""
MOST_TOLD = 6
"""Times of renewals that a sentence lists; more are counted."""
RENEWS: Mapping[str, tuple[EventKind, ...]] = {
    "ph": ("fresh mobile phase",),
    "temperature_C": ("part exchanged", "power cut"),
    "flow_mL_min": ("part exchanged", "power cut", "leak", "flush"),
}
"""Kinds of events at which a step of the condition needs no other cause."""
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
    steps: tuple[tuple[float, float], ...] = ()
    """Exposures of the readings between which it jumped."""
    period_h: float | None = None
    """The usual time from jump to jump, hours, by the clock where the log has one; None without one."""
    largest: int = 0
    """Which of the jumps is the largest, from 0."""
    renewed: str = ""
    """When it was set right, by stated events that the log bears out: `at 36, 63 and 99 h`; else empty."""

    @property
    def jumps_h(self) -> tuple[float, ...]:
        """Return the exposures right after which the reading jumped."""
        return tuple(before for before, _ in self.steps)

    def placed(self, exposures: Mapping[float, float]) -> "Course":
        """Return the course that was read along the clock, with its steps on the exposure."""
        return replace(self, steps=tuple((exposures[a], exposures[b]) for a, b in self.steps))


def _period(jumps: Sequence[tuple[float, float]], begin: float, end: float) -> float | None:
    """Return the usual time from jump to jump of a log from `begin` to `end`; None where the times differ.

    A jump lies half-way between its readings, as far as one knows. Before the first and after the last no
    stretch is longer either: where one is, a jump was missed, or there is no period.
    """
    at = [(before + after) / 2 for before, after in jumps]
    steps = [later - earlier for earlier, later in pairwise(at)]
    if not steps:
        return None
    usual = median(steps)
    agree = all(abs(step - usual) <= OF_THE_PERIOD * usual for step in steps)
    within = max(at[0] - begin, end - at[-1]) <= (1 + OF_THE_PERIOD) * usual
    return usual if agree and within else None


def logged_course(evidence: Evidence, column: str, quantity: str, harmless: float) -> Course | None:
    """Return the course of a logged condition on a column; see `course_of`.

    It is read along the clock where the log has one: a bottle loses its ammonia in a pause, too, which on the
    exposure takes no time and would look like a jump.
    """
    timed = evidence.logged_times(column, quantity)
    if timed is None:
        points = evidence.logged(column, quantity)
        course = course_of(points, harmless)
    else:
        points = tuple((exposure, value) for _, exposure, value in timed)
        course = course_of([(clock, value) for clock, _, value in timed], harmless)
        course = course and course.placed({clock: exposure for clock, exposure, _ in timed})
    return course and with_renewals(evidence, course, quantity, points, (column,))


def with_renewals(
    evidence: Evidence,
    course: Course,
    quantity: str,
    points: Sequence[tuple[float, float]],
    columns: Sequence[str],
) -> Course:
    """Return a sawtooth with when it was set right, where each of its jumps holds an event that states it.

    An event counts where it lies in a jump, or where (exposure in hours, reading) of `points` went the way of
    the jumps from before it to after it; these are of the first of the `columns` that share the course.
    """
    if course.kind != "sawtooth":
        return course
    jumps = [(begin - NEAR_H, end + NEAR_H) for begin, end in course.steps]
    stated = _stated_h(evidence, columns[0], quantity)
    found = [
        event
        for event, hours in stated.items()
        if any(begin <= hours <= end for begin, end in jumps) or _stepped(points, hours) * course.size < 0
    ]
    if not all(any(begin <= stated[event] <= end for event in found) for begin, end in jumps):
        return course
    if len(found) > MOST_TOLD:
        return course if course.period_h else replace(course, renewed=counted(len(found), "time"))
    every = [stated, *(_stated_h(evidence, column, quantity) for column in columns[1:])]
    if all(event in own for own in every for event in found):
        spans = [(min(own[event] for own in every), max(own[event] for own in every)) for event in found]
        told = [
            fixed(low, 0) if high - low < NEAR_H else f"{fixed(low, 0)} to {fixed(high, 0)}"
            for low, high in spans
        ]
        return replace(course, renewed=f"at {with_unit(listed(told), 'h')}")
    # On a column that was put in at another time the hours are not the same.
    at = with_unit(listed(fixed(stated[event], 0) for event in found), "h")
    return replace(course, renewed=f"at {at} on {columns[0]}")


def _stepped(points: Sequence[tuple[float, float]], hours: float) -> float:
    """Return by how much the first reading after an exposure lies above the last before; 0 without both."""
    before = [value for at, value in points if at <= hours]
    after = [value for at, value in points if at > hours]
    return after[0] - before[-1] if before and after else 0.0


def _stated_h(evidence: Evidence, column: str, quantity: str) -> dict[int, float]:
    """Return at which exposures of a column the study states that the condition was set right, in order.

    By the number of the event.
    """
    study = evidence.study
    placed = {
        number: ends[1]
        for number, event in enumerate(study.events)
        if event.kind in RENEWS.get(quantity, ())
        and event.touches(column)
        and (ends := event_hours(event, study.column(column), study.events)) is not None
    }
    return dict(sorted(placed.items(), key=lambda one: one[1]))


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
    jumps = tuple((float(hours[place]), float(hours[place + 1])) for place in places)
    period = _period(jumps, float(hours[0]), float(hours[-1]))
    drifts = _drifts(hours, values, places)
    if places.size and places.size <= len(points) / 3:
        height = float(np.median(steps[places]))
        one_way = bool(np.all(np.sign(steps[places]) == np.sign(height)))
        back = fmean(drifts) if drifts else 0.0
        if one_way and back * height < 0 and abs(back) > OF_THE_JUMP * abs(height):
            size = float(np.sign(back)) * _swing(values, places)
            return Course("sawtooth", size, low, high, jumps, period)
        largest = int(np.argmax(np.abs(steps[places])))
        return Course("jumps", float(steps[places][largest]), low, high, jumps, period, largest)
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
    """Return a course in words, such as `a sawtooth of 0.20, falling, and raised again about every 36 h`."""
    size = with_unit(fixed(abs(course.size), places), unit)
    if course.kind == "sawtooth":
        every = f" about every {with_unit(rounded(course.period_h, 2), 'h')}" if course.period_h else ""
        every = f" {course.renewed}" if course.renewed else every
        way = "falling, and raised again" if course.size < 0 else "rising, and lowered again"
        return f"a sawtooth of {size}, {way}{every}"
    if course.kind == "jumps":
        begin, end = (exposure(hours) for hours in course.steps[course.largest])
        of = f" (the largest of {counted(len(course.steps), 'step')})" if len(course.steps) > 1 else ""
        return f"a {_way(course)} of {size}{of} between the readings at {begin} and {end}"
    if course.kind == "trend":
        return f"a {_way(course)} of {size} from first to last"
    return f"readings {size} apart"


def _way(course: Course) -> str:
    return "rise" if course.size > 0 else "fall"


LOOSE = 25.0
"""Half width, % of the reference, beyond which the band of a fitted curve is of no use."""


@dataclass(frozen=True, slots=True)
class Change:
    """A change from the first to the last injections, % of the first; interval at 95 %."""

    percent: float
    low: float
    high: float

    def falls_by(self, threshold: float) -> bool:
        """Return whether it surely fell by more than `threshold` per cent."""
        return self.high < -threshold

    def rises_by(self, threshold: float) -> bool:
        """Return whether it surely rose by more than `threshold` per cent."""
        return self.low > threshold

    def holds_within(self, threshold: float) -> bool:
        """Return whether it surely stayed within ± `threshold` per cent."""
        return -threshold <= self.low and self.high <= threshold

    def __str__(self) -> str:
        largest = max(abs(self.percent), abs(self.low), abs(self.high))
        if largest < 1:
            return with_unit("less than 0.5" if largest < 0.5 else "less than 1", "%")
        sign = "+" if self.percent >= 0.5 else ""
        ends = f"({fixed(self.low, 0)} to {fixed(self.high, 0)})"
        return f"{sign}{with_unit(fixed(self.percent, 0), '%')} {ends}"

    @property
    def of_reference(self) -> str:
        """Return what is there at the end, `45 % (43 to 47) of the reference`, as the tables have it."""
        left = Estimate(100 + self.percent, 100 + self.low, 100 + self.high)
        return f"{interval(left, '%')} of the reference"


def change_between(start: Sequence[float], end: Sequence[float]) -> Change | None:
    """Return the change from the mean of `start` to the mean of `end`, % of the first.

    Interval by the delta method with the scatter of both ends and Student's t on n1 + n2 − 2 degrees
    of freedom (common practice); None where there are fewer than three values or a zero start.
    """
    degrees = len(start) + len(end) - 2
    if not start or not end or degrees < 1 or fmean(start) == 0:
        return None
    first, last = fmean(start), fmean(end)
    first_sd, last_sd = _sd(start, end), _sd(end, start)
    ratio = last / first
    error = sqrt((last_sd / first) ** 2 / len(end) + (ratio * first_sd / first) ** 2 / len(start))
    reach = 100 * float(stats.t.ppf(0.975, degrees)) * error
    percent = 100 * (ratio - 1)
    return Change(percent, percent - reach, percent + reach)


def change_of(evidence: Evidence, column: str, marker: str, metric: str) -> Change | None:
    """Return how `metric` of `marker` changed on `column` from its reference to its end.

    By the fitted curve, where the judgement has one, so that one quantity has one number in a report. Else
    from the means of the first and the last injections, as many as the reference, never one of its own. A
    curve through so few points that its band is of no use keeps its number and takes the means' interval.
    """
    fitted = fitted_change(evidence, column, marker, metric)
    if fitted is not None and fitted.high - fitted.low <= 2 * LOOSE:
        return fitted
    values = evidence.values(column, marker, metric)
    first = evidence.study.choices.reference_injections
    means = change_between(values[:first], values[max(first, len(values) - first) :])
    if fitted is None or means is None:
        return fitted or means
    return Change(
        fitted.percent,
        fitted.percent - (means.percent - means.low),
        fitted.percent + (means.high - means.percent),
    )


def fitted_change(evidence: Evidence, column: str, marker: str, metric: str) -> Change | None:
    """Return the change by the fitted curve; None where there is none or its interval is open."""
    decline = evidence.decline(column, marker, metric)
    left = decline.remaining if decline is not None else Estimate()
    if left.value is None or left.low is None or left.high is None:
        return None
    return Change(left.value - 100, left.low - 100, left.high - 100)


def change_over_markers(
    evidence: Evidence, column: str, markers: Iterable[str], metric: str
) -> Change | None:
    """Return the mean change of `metric` over several markers; None where none was measured."""
    found = [change_of(evidence, column, marker, metric) for marker in markers]
    changes = [change for change in found if change is not None]
    if not changes:
        return None
    return Change(
        fmean(change.percent for change in changes),
        fmean(change.low for change in changes),
        fmean(change.high for change in changes),
    )


def logged_change(evidence: Evidence, column: str, quantity: str) -> Change | None:
    """Return how a logged condition changed from the first to the last quarter of the log, %."""
    values = [value for _, value in evidence.logged(column, quantity)]
    part = max(2, len(values) // 4)
    return change_between(values[:part], values[-part:]) if len(values) >= 2 * part else None


def _sd(values: Sequence[float], instead: Sequence[float]) -> float:
    """Return the standard deviation of `values`, or of `instead` where there is but one."""
    for found in (values, instead):
        if len(found) > 1:
            return stdev(found)
    return 0.0
