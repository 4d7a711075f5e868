"""Did what happened meanwhile move the columns: a fresh bottle, a flush, a power cut?

In: `Evidence`, with the events that the study tells of. Out: `Point`s.

A step at an event is held against what the column's own course would have done over the same time, against
the steps that columns make where nothing happened, and against what all columns do together day by day.
"""

import re
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import exp, log
from statistics import fmean, median

from lyewitness.decline import distributions as stats
from lyewitness.findings.audit.points import Asked, Point, groups_of, pairs_with, subject_of
from lyewitness.findings.changes import Change, change_between
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.swings import steps_in
from lyewitness.findings.renewals import MOST_NAMED, between_words, came_back_words, unstated_renewals
from lyewitness.study.events import at_event, event_hours, event_name
from lyewitness.study.records import Event, EventKind
from lyewitness.words.lives import tell
from lyewitness.words.metrics import the_metric
from lyewitness.words.names import joined
from lyewitness.words.phrases import counted, listed, mid_sentence, percent

EVENTS = Asked(
    "events",
    "Did what happened meanwhile move the columns?",
    "What jumps when a bottle or a part is changed is not the column’s decline.",
    "Compare before and after on a column that is not stressed, or judge each stretch by itself.",
)
JUMPED = 4.0
"""Standard deviations of the steps between injections from which a step at an event is a jump, at least …"""
BY_CHANCE = 0.05
"""… and as many that of all steps looked at (columns, events, metrics) one reaches them so seldom."""
JUMPED_AT_LEAST = 0.03
"""And as a share of the value: smaller steps move no life."""
ABOVE_USUAL = 1.25
"""Times the largest step that a column makes at no event: of so many steps one is always the largest."""
TWICE_USUAL = 2.0
"""The same of what all columns do together, of which a study has few: as many as it has days."""
TAKEN_BACK = 0.6
"""Share of a step that the one before or after it takes back where it rests on one injection: half of what a
lone injection does is left where it stands, and a bottle or a part is not undone by the next injection."""
LEAST_TOGETHER = 3
"""Columns from which on it is known what they do together."""
FEWEST_STEPS = 5
"""Steps without which no pace is known."""
COMMON: tuple[EventKind, ...] = ("fresh mobile phase",)
"""Kinds of events that bring the same to all columns that they touch."""
WATCHED = {"retention_factor": "retention factor", "plate_number_half_height": "plate number"}


def events(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a metric jumped right at an event that the study tells of; pauses are asked elsewhere."""
    study = evidence.study
    if not study.events:
        return
    courses = {
        (m.id, metric): _Courses.of(evidence, m.id, metric) for m in study.markers for metric in WATCHED
    }
    jumps = [(event, columns, words) for event in study.events for columns, words in _jumps(event, courses)]
    if not jumps:
        kinds = dict.fromkeys(event_name(event) for event in study.events)
        of = f"any of {counted(len(study.events), 'event')}: {listed(kinds)}"
        own = listed(f"{column} alone stepped {at}" for column, at in _alone(courses)[:MOST_NAMED])
        unmoved = f"no two columns jumped together at {of}; {own}, and that is the column’s own"
        yield EVENTS.good(unmoved if own else f"nothing jumped at {of}")
        return
    touched = list(dict.fromkeys(column for _, columns, _ in jumps for column in columns))
    groups = groups_of(evidence, touched)
    said = [
        f"{words} on {columns[0] if len(columns) == 1 else 'all columns'} {at_event(event)}"
        for event, columns, words in jumps
    ]
    parts = [(groups_of(evidence, columns), told) for (_, columns, _), told in zip(jumps, said, strict=True)]
    yield EVENTS.says(
        "caution",
        "; ".join(said[:4]) + (f"; and {len(said) - 4} more" if len(said) > 4 else ""),
        subject_of(evidence, touched),
        pairs=pairs_with(study, groups),
        groups=groups,
        parts=parts,
    )


TOGETHER = Asked(
    "common-steps",
    "Did all columns step together where something was changed?",
    "What all columns do at once where a bottle or a part is changed is not their decline.",
    "Bring a new bottle to the pH of the last one, and inject right before and after the change.",
)


def common(evidence: Evidence) -> Iterator[Point]:
    """Tell once a marker what all columns did together at an event, and the lives told without it."""
    for marker in dict.fromkeys(one.marker for one in steps_in(evidence)):
        steps = [one for one in steps_in(evidence) if one.marker == marker]
        metrics = tuple(dict.fromkeys(one.metric for one in steps))
        own = [
            (d, d.as_measured)
            for metric in metrics
            for d in evidence.judgement.declines
            if (d.series.marker, d.series.metric) == (marker, metric) and d.as_measured is not None
        ]
        asked = replace(TOGETHER, id=joined("common", "steps", marker))
        said = "; ".join(one.words for one in steps)
        if not own:
            yield asked.good(f"{said}; no life changes by that")
            continue
        lives = []
        for metric in dict.fromkeys(d.series.metric for d, _ in own):
            by = f"by {the_metric(marker, metric)} " if len(metrics) > 1 else ""
            each = (
                f"{d.series.column} {tell(d.life)}, as measured {tell(measured)}"
                for d, measured in own
                if d.series.metric == metric
            )
            lives.append(f"{by}{listed(each)}")
        columns = list(dict.fromkeys(d.series.column for d, _ in own))
        how = "without that" if all(one.sure for one in steps) else "with and without that"
        yield asked.says(
            "caution",
            f"{said}. Lives by it are told {how}, as wide as its error makes them: {'; '.join(lives)}",
            subject_of(evidence, columns),
            groups=groups_of(evidence, columns),
        )


RENEWED = Asked(
    "renewed",
    "Did a column come back towards its fresh state?",
    "A column replaced, turned or mended begins anew: one life over both stretches holds for neither.",
    "State it as an [[event]], by the lines that ‘lyewitness check’ gives; a new column is a [[column]] of "
    "its own with ‘replaces’.",
)


def renewed(evidence: Evidence) -> Iterator[Point]:
    """Name the columns that came back at once and stayed, where no event says why."""
    doubtful = {one.injection for one in evidence.doubtful}
    found = unstated_renewals(evidence.study, evidence.measurements, doubtful)
    if not found:
        return
    columns = [renewal.column for renewal in found]
    said = (f"{one.column} {between_words(one)} ({came_back_words(one)})" for one in found[:MOST_NAMED])
    more = f"; and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
    groups = groups_of(evidence, columns)
    yield RENEWED.says(
        "problem",
        f"came back and went on from there, and nothing says why: {'; '.join(said)}{more}",
        subject_of(evidence, columns),
        bound="indicated",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


Steps = Sequence[tuple[float, float, float]]
"""(ln of later ÷ earlier, exposure before, exposure after) between neighbouring injections, hours."""


@dataclass(frozen=True, slots=True)
class _Step:
    """What one column's metric did from one injection to the next."""

    before_h: float
    after_h: float
    odd: float
    """ln(later ÷ earlier) beyond what the column's own pace explains at best."""
    apart: float
    """The same beyond its usual pace about it."""
    gone: bool = False
    """Whether the step before or after takes most of it back: it rests on one injection that stands alone."""

    def spans(self, hours: float) -> bool:
        """Return whether that exposure lies between the two injections."""
        return self.before_h <= hours < self.after_h


@dataclass(frozen=True, eq=False)
class _Courses:
    """The steps of one marker's metric on every column; doubtful injections make none."""

    steps: Mapping[str, Sequence[_Step]]
    placed: Mapping[str, Mapping[Event, float]]
    """Exposure at which each event ended, by column that it touched."""
    looks: int
    """Steps at events that are looked at, over all markers and metrics."""

    @classmethod
    def of(cls, evidence: Evidence, marker: str, metric: str) -> "_Courses":
        """Return the steps of one marker's metric."""
        study = evidence.study
        placed = {
            column.id: {
                event: ends[1]
                for event in study.events
                if event.touches(column.id) and (ends := event_hours(event, column, study.events)) is not None
            }
            for column in study.columns
        }
        steps = {
            column.id: _odd_steps(
                _steps(evidence, column.id, marker, metric), list(placed[column.id].values())
            )
            for column in study.columns
        }
        metrics = sum(one.role != "void" for one in study.markers) * len(WATCHED)
        looks = max(1, sum(len(own) for own in placed.values()) * metrics)
        return cls({column: own for column, own in steps.items() if len(own) >= FEWEST_STEPS}, placed, looks)

    def together(self, hours: float) -> float:
        """Return what the columns did together (median) at an exposure; 0 of fewer than three.

        What moves all of them from one day to the next is the instrument's, not a column's.
        """
        return _together([step.odd for own in self.steps.values() for step in own if step.spans(hours)])

    def usual_together(self) -> float:
        """Return the largest step that the columns made together at no event."""
        longest = max(self.steps.values(), key=len, default=())
        middles = [(step.before_h + step.after_h) / 2 for step in longest if not self._at_event(step)]
        at = [[s.apart for own in self.steps.values() for s in own if s.spans(place)] for place in middles]
        return max((abs(_together(steps)) for steps in at), default=0.0)

    def own(self, column: str, hours: float) -> float | None:
        """Return a column's own step at an exposure, where it stands out of its own and of the others'."""
        step = next((one for one in self.steps.get(column, ()) if one.spans(hours)), None)
        if step is None or step.gone:
            return None
        others = [abs(one.apart) for one in self.steps[column] if one is not step]
        # A column of few steps may have had quiet ones: it is held to be no quieter than the others.
        noise = 1.4826 * max(median(others), median(self._apart))
        least = max(self._sure * noise, JUMPED_AT_LEAST, ABOVE_USUAL * self._usual)
        alone = step.odd - self.together(hours)
        return alone if abs(alone) > least else None

    def own_at(self, event: Event) -> dict[str, float]:
        """Return the steps of their own that columns made at an event that touched them."""
        return self._own_at_each.get(event, {})

    @cached_property
    def _own_at_each(self) -> dict[Event, dict[str, float]]:
        found: dict[Event, dict[str, float]] = {}
        for column, own in self.placed.items():
            for event, place in own.items():
                if (step := self.own(column, place)) is not None:
                    found.setdefault(event, {})[column] = step
        return found

    def is_alone(self, column: str, event: Event) -> bool:
        """Return whether an event is common to several columns, and none but this one stepped so.

        What one bottle does to one column it does to all that it feeds, so the step is then the column's own.
        A restart or a flush is met by each bed for itself.
        """
        if event.kind not in COMMON:
            return False
        own = self.own_at(event)
        shared = sum(event in self.placed[name] for name in self.steps) > 1
        return shared and not any(own[column] * step > 0 for name, step in own.items() if name != column)

    @cached_property
    def _apart(self) -> list[float]:
        return [abs(step.apart) for own in self.steps.values() for step in own]

    @cached_property
    def _sure(self) -> float:
        """Return how many standard deviations a step must stand out, after Bonferroni and Student's t."""
        return max(JUMPED, float(stats.t.ppf(1 - BY_CHANCE / (2 * self.looks), max(1, len(self._apart) - 1))))

    def _alone(self, step: _Step) -> float:
        return abs(step.odd - self.together((step.before_h + step.after_h) / 2))

    @cached_property
    def _usual(self) -> float:
        """Return the largest step that a column (the median one) makes by itself at no event."""
        largest = [
            max((self._alone(step) for step in own if not self._at_event(step)), default=0.0)
            for own in self.steps.values()
        ]
        return median(largest) if largest else 0.0

    def _at_event(self, step: _Step) -> bool:
        return any(step.spans(hours) for own in self.placed.values() for hours in own.values())


def _jumps(
    event: Event, courses: Mapping[tuple[str, str], _Courses]
) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield columns and which metric of which marker jumped on them at an event, and by how much."""
    found: dict[tuple[str, ...], list[str]] = {}
    for (marker, metric), course in courses.items():
        touched = {column: own[event] for column, own in course.placed.items() if event in own}
        shared = median(course.together(place) for place in touched.values()) if touched else 0.0
        if abs(shared) > max(JUMPED_AT_LEAST, TWICE_USUAL * course.usual_together()):
            found.setdefault(tuple(touched), []).append(_jump_words(marker, metric, shared))
        for column, step in course.own_at(event).items():
            if not course.is_alone(column, event):
                found.setdefault((column,), []).append(_jump_words(marker, metric, step))
    yield from ((columns, listed(words)) for columns, words in found.items())


def _alone(courses: Mapping[tuple[str, str], _Courses]) -> list[tuple[str, str]]:
    """Return columns that stepped at an event that others went through unmoved, with that event's words."""
    found: dict[tuple[str, str], None] = {}
    for course in courses.values():
        events = {event: None for own in course.placed.values() for event in own}
        found |= {
            (column, at_event(event)): None
            for event in events
            for column in course.own_at(event)
            if course.is_alone(column, event)
        }
    return list(found)


def _together(steps: Sequence[float]) -> float:
    return median(steps) if len(steps) >= LEAST_TOGETHER else 0.0


def _jump_words(marker: str, metric: str, step: float) -> str:
    sign = "+" if step > 0 else "\u2212"
    return f"{WATCHED[metric]} of {marker} jumped by {sign}{percent(100 * abs(exp(step) - 1))}"


def _steps(evidence: Evidence, column: str, marker: str, metric: str) -> Steps:
    """Return the steps of a metric from injection to injection; doubtful injections make none."""
    doubtful = {one.injection for one in evidence.doubtful}
    points = [
        (row.exposure_h, float(value))
        for row in evidence.rows(column, marker)
        if (value := getattr(row, metric)) and row.injection not in doubtful
    ]
    return [
        (log(later / earlier), before, after)
        for (before, earlier), (after, later) in pairwise(points)
        if after > before
    ]


def _odd_steps(steps: Steps, events_h: Sequence[float]) -> tuple[_Step, ...]:
    """Return each step beyond its pace; one at an event is no pace, unless all are."""
    calm = [place for place, (_, a, b) in enumerate(steps) if not any(a <= hours < b for hours in events_h)]
    found = [_beyond_pace(steps, place, calm or range(len(steps))) for place in range(len(steps))]
    return tuple(
        replace(
            step,
            gone=any(
                beside.apart * step.odd < 0 and abs(beside.apart) > TAKEN_BACK * abs(step.odd)
                for beside in (*found[max(0, place - 1) : place], *found[place + 1 : place + 2])
            ),
        )
        for place, step in enumerate(found)
    )


def _beyond_pace(steps: Steps, place: int, calm: Container[int]) -> _Step:
    """Return one log step less what the column's own pace about it gives over the same time.

    Of its pace just before, just after and the median of both sides, the one that explains most of it: a
    column that begins to fall, or dies fast, does so bottle or no bottle. `calm` are the steps at no event:
    beside what a bottle did to one step, the next one would stand out though nothing moved. Where a pace is
    known on one side only, nothing shows that it went on through the step: a collapse that levels off there
    is no jump back, and the injections right before and after must bear the step out by themselves.
    """
    about = range(max(0, place - 2), min(len(steps), place + 3))
    near = [i for i in about if i != place and i in calm]
    step, before, after = steps[place]
    if not near:
        return _Step(before, after, 0.0, 0.0)
    paces = {i: steps[i][0] / (steps[i][2] - steps[i][1]) for i in near}
    sides = [
        max((i for i in near if i < place), default=None),
        min((i for i in near if i > place), default=None),
    ]
    beside = [0.0 if i is None else paces[i] for i in sides]
    left = [step - pace * (after - before) for pace in (median(paces.values()), *beside)]
    one_way = min(left) * max(left) > 0
    return _Step(before, after, min(left, key=abs) if one_way else 0.0, left[0])


SIZES = re.compile(
    r"lamp|detector|cell|injector|loop|needle|syringe|sampler|sample|vial|marker", re.IGNORECASE
)
"""Words of an event, or of its note, that name what sets the size of every peak."""
BESIDE = 3
"""Injections on either side of an event whose median areas are held against each other."""
AREA_STEP = 0.1
"""Of ln(area): the movement that areas may make before the audit asks why."""


@dataclass(frozen=True, slots=True)
class AreaStep:
    """What the areas of all markers did together at an event that sets the size of peaks."""

    event: Event
    steps: Mapping[str, float]
    """ln(area after ÷ before) by column."""
    left: Mapping[str, Change]
    """What is left of each column's change where its areas after the event are brought to those before."""

    @property
    def words(self) -> str:
        """Return `at the part exchanged (detector lamp exchanged) the areas rose by 34 to 35 % on …`."""
        sizes = sorted(abs(100 * (exp(step) - 1)) for step in self.steps.values())
        verb = "rose" if median(self.steps.values()) > 0 else "fell"
        ends = dict.fromkeys(percent(size) for size in (sizes[0], sizes[-1]))
        note = f" ({mid_sentence(self.event.note.rstrip('.'))})" if self.event.note else ""
        on = listed(self.steps) if len(self.steps) < 3 else counted(len(self.steps), "column")
        at = "at the event" if self.event.kind == "other" and note else at_event(self.event)
        return f"{at}{note} the areas {verb} by {' to '.join(ends)} on {on}"


def area_step(evidence: Evidence, markers: Sequence[str]) -> AreaStep | None:
    """Return the largest step of all areas at an event on detector, injector or sample; None for none.

    All columns that such an event touches step the same way, each by more than `AREA_STEP`.
    """
    found = [
        step
        for event in evidence.study.events
        if SIZES.search(f"{event.kind} {event.note}") and (step := _area_step(evidence, markers, event))
    ]
    return max(found, key=lambda step: abs(median(step.steps.values())), default=None)


def _area_step(evidence: Evidence, markers: Sequence[str], event: Event) -> AreaStep | None:
    steps: dict[str, float] = {}
    left: dict[str, Change] = {}
    doubtful = {one.injection for one in evidence.doubtful}
    for column in evidence.study.columns:
        ends = event_hours(event, column, evidence.study.events) if event.touches(column.id) else None
        if ends is None:
            continue
        sides = [
            (before, after)
            for marker in markers
            for before, after in [_sides(evidence, column.id, marker, ends, doubtful)]
            if min(len(before), len(after)) >= 2
        ]
        if not sides:
            continue
        own = fmean(log(median(after[:BESIDE]) / median(before[-BESIDE:])) for before, after in sides)
        steps[column.id] = own
        changes = [
            change
            for before, after in sides
            if (change := change_between(before[:BESIDE], [value / exp(own) for value in after[-BESIDE:]]))
        ]
        if changes:
            ends_of = ((c.percent, c.low, c.high) for c in changes)
            left[column.id] = Change(*(fmean(end) for end in zip(*ends_of, strict=True)))
    together = len({step > 0 for step in steps.values()}) == 1
    if not together or min(abs(step) for step in steps.values()) < AREA_STEP:
        return None
    return AreaStep(event, steps, left)


def _sides(
    evidence: Evidence, column: str, marker: str, ends: tuple[float, float], doubtful: Container[str]
) -> tuple[list[float], list[float]]:
    """Return the areas of a marker before and after an event; doubtful injections say nothing."""
    rows = [r for r in evidence.rows(column, marker) if r.peak_area and r.injection not in doubtful]
    before = [float(row.peak_area or 0.0) for row in rows if row.exposure_h <= ends[0]]
    return before, [float(row.peak_area or 0.0) for row in rows if row.exposure_h > ends[1]]
