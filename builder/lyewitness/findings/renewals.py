"""Columns that come back towards their fresh state at once and stay there: replaced, turned, mended.

In: the counted injections of a column by exposure, with their peak rows, and the study's events. Out: where
such a column begins anew, and problems that ask what happened.

A decline does not turn round. What jumps back in several metrics of several markers, and on few columns at
once, is another bed; a fresh bottle moves bases alone, and an oven or a pump all columns together.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log
from statistics import median

from lyewitness.findings.displaced import OFF, Rows, hours_of
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.study.events import event_hours
from lyewitness.study.placing import comparable
from lyewitness.study.records import EventKind, Injection, Study
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import exposure, listed
from lyewitness.words.problems import Problem

A_FEW = 3
"""Injections whose median is a level: one bad one among them leaves it alone."""
REPEATS: Mapping[str, float] = {
    "plate_number_half_height": 0.02,
    "retention_factor": 0.004,
    "symmetry_factor": 0.02,
}
"""Relative standard deviations below which no step is told from scatter (common practice), by metric."""
HALF_WAY = 0.5
"""Share of what was lost that comes back: another column of a kind has more, a rinsed one mostly less."""
OF_ALL = 0.5
"""Share of what had declined that must be back, and of the other columns that make a cause a common one."""
RENEWING: tuple[EventKind, ...] = ("flush", "storage", "part exchanged", "column replaced", "other")
"""Kinds of events after which a column may be better than before."""
MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class Renewal:
    """Between which two injections a column came back, and in what."""

    column: str
    before: Injection
    after: Injection
    before_h: float
    after_h: float
    back: tuple[tuple[str, str, float, float], ...]
    """Marker, metric, level before and after; what stands out most first."""

    def overlaps(self, other: "Renewal") -> bool:
        """Return whether both may have happened at one exposure."""
        return self.before_h <= other.after_h and other.before_h <= self.after_h


@dataclass(frozen=True, slots=True)
class _Course:
    """One metric of one marker over the injections of a column."""

    marker: str
    metric: str
    values: Sequence[float | None]
    """ln of each; None where it was not measured."""
    levels: Sequence[float | None]
    """Median of a few from each on; None where too few of them were measured."""
    noise: float
    """Relative standard deviation about its course, by the steps from one to the next."""

    @classmethod
    def of(cls, own: Sequence[Injection], rows: Rows, marker: str, metric: str) -> "_Course":
        """Return the course of a metric."""
        values = [_log(rows[one.id].get(marker), metric) for one in own]
        known = [value for value in values if value is not None]
        steps = [later - earlier for earlier, later in pairwise(known)]
        middle = median(steps) if steps else 0.0
        noise = 1.4826 * median(abs(step - middle) for step in steps) / 2**0.5 if steps else 0.0
        levels = [_level(values[begin : begin + A_FEW]) for begin in range(len(values))]
        return cls(marker, metric, values, levels, max(noise, REPEATS[metric]))

    def at(self, place: int) -> tuple[float, float, float] | None:
        """Return by how much it had declined before a place, and the levels before and after (ln)."""
        fresh, before, after = self.levels[0], self.levels[place - A_FEW], self.levels[place]
        if fresh is None or before is None or after is None or abs(before - fresh) < OFF * self.noise:
            return None
        return before - fresh, before, after

    def is_back(self, place: int) -> bool:
        """Return whether half of what was lost, or more, is there again from that place on."""
        if (levels := self.at(place)) is None:
            return False
        lost, before, after = levels
        regained = (before - after) * (1 if lost > 0 else -1)
        return regained > max(HALF_WAY * abs(lost), OFF * self.noise)

    def step(self, place: int) -> float:
        """Return how far it steps right there, in standard deviations."""
        before, after = self.values[place - 1], self.values[place]
        return abs(after - before) / self.noise if before is not None and after is not None else 0.0


def _level(some: Sequence[float | None]) -> float | None:
    known = [value for value in some if value is not None]
    return median(known) if len(known) > A_FEW / 2 else None


def _log(row: PeakRow | None, metric: str) -> float | None:
    value = getattr(row, metric) if row is not None and row.found else None
    return log(value) if value is not None and value > 0 else None


def _courses(own: Sequence[Injection], rows: Rows) -> list[_Course]:
    """Return the courses of the markers that the column holds back."""
    markers = {
        marker: None
        for one in own
        for marker, row in rows[one.id].items()
        if row.retention_factor is not None
    }
    return [_Course.of(own, rows, marker, metric) for marker in markers for metric in REPEATS]


def renewals_of(own: Sequence[Injection], rows: Rows, neutral: Collection[str]) -> tuple[Renewal, ...]:
    """Return where a column begins anew; `own` holds its counted injections by exposure."""
    courses = _courses(own, rows)
    place = _next_place(courses, len(own), neutral)
    if place is None:
        return ()
    before, after = own[place - 1], own[place]
    back = sorted((course for course in courses if course.is_back(place)), key=lambda c: -c.step(place))
    told = []
    for course in back:
        _, level, then = course.at(place) or (0.0, 0.0, 0.0)
        told.append((course.marker, course.metric, exp(level), exp(then)))
    first = Renewal(
        before.column, before, after, hours_of(rows[before.id]), hours_of(rows[after.id]), tuple(told)
    )
    return (first, *renewals_of(own[place:], rows, neutral))


def _next_place(courses: Sequence[_Course], count: int, neutral: Collection[str]) -> int | None:
    """Return the place of the injection with which the column is back; the sharpest of the first few."""
    places = [
        place
        for place in range(A_FEW + 1, count - A_FEW + 1)
        if _is_renewal([course for course in courses if course.at(place)], place, neutral)
    ]
    if not places:
        return None
    # Medians of three move a place early or late: the step itself is the largest.
    near = [place for place in places if place < places[0] + A_FEW]
    return max(near, key=lambda place: median(course.step(place) for course in courses))


def _is_renewal(declined: Sequence[_Course], place: int, neutral: Collection[str]) -> bool:
    back = [course for course in declined if course.is_back(place)]
    markers, metrics = {course.marker for course in back}, {course.metric for course in back}
    if len(markers) < 2 or len(metrics) < 2 or len(back) < OF_ALL * len(declined):
        return False
    return not neutral or bool(markers & set(neutral))


def stretches(own: Sequence[Injection], renewals: Sequence[Renewal]) -> list[Sequence[Injection]]:
    """Return the injections of a column parted where it began anew: no trend crosses that."""
    first = {renewal.after.id for renewal in renewals}
    places = [place for place, one in enumerate(own) if one.id in first]
    return [own[begin:end] for begin, end in pairwise((0, *places, len(own)))]


def neutral_of(study: Study) -> frozenset[str]:
    """Return the markers that a fresh bottle leaves alone."""
    return frozenset(marker.id for marker in study.markers if marker.role == "neutral")


def unstated_renewals(
    study: Study, measurements: Measurements, doubtful: Collection[str]
) -> tuple[Renewal, ...]:
    """Return where a column began anew by itself and no event says so, doubtful injections left aside."""
    rows: dict[str, dict[str, PeakRow]] = {}
    for row in measurements.rows:
        rows.setdefault(row.injection, {})[row.marker] = row
    neutral, looked = neutral_of(study), 0
    found: list[Renewal] = []
    for column in study.columns:
        own = [
            one
            for one in study.injections
            if one.column == column.id and one.used and one.id in rows and one.id not in doubtful
        ]
        own.sort(key=lambda one: hours_of(rows[one.id]))
        looked += bool(own)
        found += renewals_of(own, rows, neutral)
    alone = [
        renewal
        for renewal in found
        if sum(renewal.overlaps(one) for one in found if one is not renewal) < max(OF_ALL * (looked - 1), 1)
    ]
    return tuple(renewal for renewal in alone if not _is_stated(study, renewal))


def _is_stated(study: Study, renewal: Renewal) -> bool:
    column = study.column(renewal.column)
    for event in study.events:
        if event.kind not in RENEWING or not event.touches(column.id):
            continue
        ends = event_hours(event, column, study.events)
        if ends is not None and ends[0] <= renewal.after_h and ends[1] >= renewal.before_h:
            return True
    return False


def came_back_words(renewal: Renewal) -> str:
    """Return `acetophenone: plate number 6050, then 7573` of what came back furthest, one of each metric."""
    first = {metric: one for one in reversed(renewal.back) for metric in (one[1],)}
    told = [
        f"{metric_of_marker(marker, metric)} from {rounded(before, 3)} to {rounded(after, 3)}"
        for marker, metric, before, after in first.values()
    ]
    return listed(told[:MOST_NAMED])


def between_words(renewal: Renewal) -> str:
    """Return `between K1-14 (60.6 h) and K1-15 (66.1 h)`."""
    ends = ((renewal.before, renewal.before_h), (renewal.after, renewal.after_h))
    return "between " + " and ".join(f"{one.id} ({exposure(hours)})" for one, hours in ends)


def event_lines(renewal: Renewal) -> str:
    """Return the `[[event]]` that states a replacement half-way between the two injections."""
    before, after = renewal.before.at, renewal.after.at
    at = rounded((renewal.before_h + renewal.after_h) / 2, 4)
    if before is not None and after is not None and comparable(before, after):
        at = (before + (after - before) / 2).replace(second=0, microsecond=0).isoformat()
    return f'[[event]]\nkind = "column replaced"\nat = {at}\ncolumns = ["{renewal.column}"]'


def renewal_problems(
    study: Study, measurements: Measurements, doubtful: Collection[str]
) -> tuple[Problem, ...]:
    """Return a caution, with the lines that state it, for each column that came back and nothing says why."""
    return tuple(
        Problem(
            "caution",
            "study.toml",
            f"column '{renewal.column}'",
            f"a column that comes back towards its fresh state {between_words(renewal)} and goes on from "
            f"there: {came_back_words(renewal)}",
            "one course from first to last, or a word on what happened",
            "The column may have been replaced (or turned, or its frit changed). A new one is a [[column]] "
            f'of its own with replaces = "{renewal.column}", its exposure_start and the injections from '
            f"{renewal.after.id} on. State what happened by these lines, with the right time and kind ('part "
            f"exchanged' where the column is the same):\n{event_lines(renewal)}",
        )
        for renewal in unstated_renewals(study, measurements, doubtful)
    )
