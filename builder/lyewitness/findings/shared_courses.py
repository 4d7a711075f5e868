"""What one bottle, oven or pump did to several columns at once: a course that their logs share, told once.

In: `Evidence`. Out: `SharedCourse`s and their words.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from itertools import pairwise
from statistics import median

import numpy as np

from lyewitness.findings.changes import (
    FEWEST,
    RENEWS,
    Course,
    course_of,
    course_words,
    logged_course,
    with_renewals,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.study.events import at_event, event_hours
from lyewitness.study.records import Event
from lyewitness.words.arrays import FloatArray
from lyewitness.words.numbers import fixed, with_unit
from lyewitness.words.phrases import exposure, quoted

Log = Sequence[tuple[float, float, float]]
"""(hours by the clock, exposure in hours, value) by the clock; the exposure twice where there is no clock."""


@dataclass(frozen=True, slots=True)
class SharedCourse:
    """How a logged condition ran on all columns whose logs show the same."""

    course: Course
    """Of the median reading; `low` and `high` are those of all readings."""
    columns: tuple[str, ...]
    event: Event | None = None
    """The stated event at which its one step lies; None for none, and for other courses."""
    event_h: float | None = None
    """Exposure at which that happened, the same on all these columns; None where it differs."""

    def words(self, places: int, unit: str) -> str:
        """Return `a fall of 0.15 at the fresh mobile phase of 66 h (“new bottle”), between the …`."""
        if self.event is None:
            return course_words(self.course, places, unit)
        return f"a {self.step_words(places, unit)}"

    def step_words(self, places: int, unit: str) -> str:
        """Return the one step with its event: `fall of 0.15 at the fresh mobile phase of 66 h (“…”)`."""
        if self.event is None:
            return ""
        way = "rise" if self.course.size > 0 else "fall"
        size = with_unit(fixed(abs(self.course.size), places), unit)
        at = f" of {exposure(self.event_h)}" if self.event_h is not None else ""
        note = f" ({quoted(self.event.note)})" if self.event.note.strip() else ""
        return f"{way} of {size} {at_event(self.event)}{at}{note}"


def course_on(evidence: Evidence, column: str, quantity: str, harmless: float) -> SharedCourse | None:
    """Return the course that a column shares with others, else its own; None for too few readings."""
    everywhere = tuple(one.id for one in evidence.study.columns)
    shared = shared_course(evidence, everywhere, quantity, harmless)
    if shared is not None and column in shared.columns:
        return shared
    own = logged_course(evidence, column, quantity, harmless)
    return None if own is None else _with_event(evidence, quantity, own, (column,))


@lru_cache(maxsize=16)
def shared_course(
    evidence: Evidence, columns: tuple[str, ...], quantity: str, harmless: float
) -> SharedCourse | None:
    """Return the course of the median reading, with the columns that never leave it by more than `harmless`.

    None where fewer than two share it. A column of too few readings for a course shares none, nor does one
    that was gone before the last step of the others.
    """
    logs = _logs(evidence, columns, quantity)
    longest = max(logs, key=lambda column: len(logs[column]), default="")
    usual = logs.get(longest, ())
    if len(logs) < 2 or len(usual) < FEWEST:
        return None
    near = median(later[0] - earlier[0] for earlier, later in pairwise(usual)) / 2
    timed = [_timed(log) for log in logs.values()]
    medians = [
        (clock, hours, median(value for log in timed for value in _at(log, clock, near)))
        for clock, hours, _ in usual
    ]
    course = course_of([(clock, value) for clock, _, value in medians], harmless)
    if course is None:
        return None
    last = max((end for _, end in course.steps), default=0.0)
    usual_now = _timed(medians)
    alike = tuple(
        column
        for column, log in logs.items()
        if log[-1][0] >= last - near and all(_is_near(usual_now, one, near, harmless) for one in log)
    )
    if len(alike) < 2:
        return None
    readings = [value for column in alike for _, _, value in logs[column]]
    exposed = {clock: hours for clock, hours, _ in medians}
    if course.kind == "jumps" and len(course.steps) == 1:
        # Reading against reading a step has the noise of two of them, level against level hardly any.
        after = [value for clock, _, value in medians if clock >= course.steps[0][1]]
        before = [value for clock, _, value in medians if clock <= course.steps[0][0]]
        course = replace(course, size=median(after) - median(before))
    course = replace(course.placed(exposed), low=min(readings), high=max(readings))
    points = [(hours, value) for _, hours, value in medians]
    others = (column for column in alike if column != longest)
    course = with_renewals(evidence, course, quantity, points, (longest, *others))
    return _with_event(evidence, quantity, course, alike)


def _logs(evidence: Evidence, columns: Sequence[str], quantity: str) -> dict[str, Log]:
    """Return the logs that can tell a course, by one clock where all have it, else by exposure."""
    timed = {column: evidence.logged_at(column, quantity) for column in columns}
    found: dict[str, Log] = {}
    first = min((log[0][0] for log in timed.values() if log), default=None)
    by_clock = first is not None and all(timed[c] for c in columns if evidence.logged(c, quantity))
    for column in columns:
        log = timed[column]
        if by_clock and log is not None and first is not None:
            own: Log = [(_hours(first, at), hours, value) for at, hours, value in log]
        else:
            own = [(h, h, value) for h, value in evidence.logged(column, quantity) if h == h]
        if len(own) >= FEWEST:
            found[column] = own
    return found


def _hours(first: datetime, at: datetime) -> float:
    return (at - first).total_seconds() / 3600.0


def _timed(log: Log) -> tuple[FloatArray, FloatArray]:
    """Return the times and the readings of a log."""
    return np.array([one[0] for one in log]), np.array([one[2] for one in log])


def _at(timed: tuple[FloatArray, FloatArray], clock: float, near: float) -> list[float]:
    """Return the reading of a log that lies nearest to a time, where one lies near."""
    apart = np.abs(timed[0] - clock)
    place = int(apart.argmin())
    return [float(timed[1][place])] if apart[place] <= near else []


def _is_near(
    usual: tuple[FloatArray, FloatArray], one: tuple[float, float, float], near: float, harmless: float
) -> bool:
    """Return whether a reading lies where the others lay at its time; true where none was taken then."""
    return all(abs(value - one[2]) <= harmless for value in _at(usual, one[0], near))


def _with_event(evidence: Evidence, quantity: str, course: Course, columns: tuple[str, ...]) -> SharedCourse:
    """Return a course with the stated event at which its one step lies on all its columns."""
    study = evidence.study
    if course.kind != "jumps" or len(course.steps) != 1:
        return SharedCourse(course, columns)
    begin, end = course.steps[0]
    for event in study.events:
        if event.kind not in RENEWS.get(quantity, ()):
            continue
        ends = [event_hours(event, study.column(column), study.events) for column in columns]
        placed = [one[1] for one in ends if one is not None]
        if len(placed) == len(columns) and all(begin <= hours <= end for hours in placed):
            at = placed[0] if max(placed) - min(placed) < 1.0 else None
            return SharedCourse(course, columns, event, at)
    return SharedCourse(course, columns)
