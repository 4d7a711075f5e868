"""Audit of the conditions: logged, steady, alike for the groups, and buffered at the bench and when hot?

In: `Evidence`, with the conditions log. Out: `Point`s.
"""

from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from itertools import pairwise
from statistics import fmean

from lyewitness.chemistry.medium import stress_medium
from lyewitness.chemistry.records import NotComputableError, StressMedium
from lyewitness.findings.audit.points import (
    Asked,
    Point,
    groups_of,
    pairs_with,
    subject_of,
)
from lyewitness.findings.audit.results import weigh
from lyewitness.findings.bottles import Bottle, stated_bottles
from lyewitness.findings.changes import Course, course_words, logged_course
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.lone_readings import LoneReading, is_within
from lyewitness.findings.medium.common_steps import LEAST
from lyewitness.findings.medium.markers import retention_swing_percent
from lyewitness.findings.medium.settings import ph_stated
from lyewitness.findings.medium.swings import followed_in
from lyewitness.findings.shared_courses import SharedCourse, shared_course
from lyewitness.study.events import event_hours
from lyewitness.study.records import Column, Conditions, Event, EventKind, LoggedCondition, Study
from lyewitness.study.setpoints import FLOW, PH, TEMPERATURE, Setpoint, departure_words, departures
from lyewitness.words.lives import tell
from lyewitness.words.names import joined
from lyewitness.words.numbers import fixed, rounded, stated, with_unit
from lyewitness.words.phrases import counted, listed, percent, quoted, share_of

RANGE = Asked(
    "buffer-range",
    "Does the buffer hold its pH?",
    "A pH that drifts in the bottle or on the column changes the stress, on all columns alike at best.",
    "Take a buffer with a pK within one unit of the pH, or check the pH of what leaves the column.",
)


def buffer_range(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a pK of the buffer lies within one unit of its pH, at the bench and when hot."""
    stress = evidence.study.stress
    if not stress.buffer.strip():
        return
    found = _medium(stress)
    if isinstance(found, str):
        yield RANGE.says(
            "not possible",
            f"its range cannot be computed, because {found}",
            cure="State buffer, pH and temperature.",
        )
        return
    if found.nearest_pk is None:
        yield RANGE.good(f"{found.buffer.name} is its own alkali and has no pK near its pH")
        return
    bench, hot = (with_unit(stated(at.temperature_C), "°C") for at in (found.bench, found.hot))
    away = fixed(abs(found.nearest_pk - found.hot.ph), 1)
    # No pK is known to a hundredth: 0.0 would say that it is.
    lies = "within 0.1 of" if away == "0.0" else f"{away} from"
    near = f"at {hot} its nearest pK lies {lies} the pH"
    where = [
        place
        for note, place in (("out of range at the bench", bench), ("out of range when hot", hot))
        if note in found.notes
    ]
    if not where:
        yield RANGE.good(near)
        return
    capacity = with_unit(rounded(found.capacity_mM, 2), "mmol/kg")
    name = found.buffer.name[:1].upper() + found.buffer.name[1:]
    at_bench = ph_stated(stress.ph) if stress.ph is not None else fixed(found.bench.ph, 1)
    yield RANGE.says(
        "caution",
        f"{name} hardly buffers at pH {at_bench} ({listed(dict.fromkeys(where))}): {near}, "
        f"and {capacity} of acid or alkali move it by one unit",
    )


@lru_cache(maxsize=32)
def _medium(stress: Conditions) -> StressMedium | str:
    """Return the medium, or the reason for none; kept, since each question asks for it again."""
    try:
        return stress_medium(
            stress.buffer, stress.buffer_mM, stress.ph, stress.ph_temperature_C, stress.temperature_C
        )
    except NotComputableError as missing:
        return str(missing)


@dataclass(frozen=True, slots=True)
class Watched:
    """One logged condition, and what a difference in it does to a life."""

    setpoint: Setpoint
    factor: Callable[[float], float]
    """By how much a life can change for a difference of so much, at most."""
    because: str
    """Source of `factor`, in words."""

    @property
    def id(self) -> str:
        """Return the name as the first part of a check's id."""
        return self.name.lower()

    @property
    def quantity(self) -> str:
        """Return the field of `LoggedCondition`."""
        return self.setpoint.quantity

    @property
    def name(self) -> str:
        """Return the name in sentences."""
        return self.setpoint.name

    @property
    def unit(self) -> str:
        """Return the unit, empty where it has none."""
        return self.setpoint.unit

    @property
    def places(self) -> int:
        """Return the decimals of a reading."""
        return self.setpoint.places

    @property
    def steady(self) -> float:
        """Return what movement on one column does no harm."""
        return self.setpoint.steady

    def planned(self, study: Study, column: Column) -> float | None:
        """Return what was planned for a column."""
        return self.setpoint.planned(study.stress, column)


WATCHED = (
    Watched(
        TEMPERATURE,
        lambda difference: 2.0 ** (difference / 10.0),
        "twice as fast for 10 °C, common practice",
    ),
    Watched(PH, lambda difference: 10.0**difference, "at most first order in hydroxide"),
    Watched(FLOW, lambda difference: 1.0 + difference, "at most in proportion to the volume passed"),
)


def logged(evidence: Evidence) -> Iterator[Point]:
    """Ask of each condition whether it was logged on every column."""
    for watched in WATCHED[:2]:
        asked = Asked(
            f"{watched.id}-logged",
            f"Was the {watched.name} logged on every column?",
            f"Without a log nobody can see whether the {watched.name} was as planned, on each column.",
            f"Log the {watched.name} of every column in conditions.csv.",
        )
        values = _values(evidence, watched)
        without = [column.id for column in evidence.study.columns if not values.get(column.id)]
        if without:
            yield asked.says(
                "not possible",
                f"no {watched.name} is logged for {listed(without)}",
                subject_of(evidence, without),
                pairs=pairs_with(evidence.study, groups_of(evidence, without)),
            )
            continue
        gaps = _gaps(evidence, watched)
        if gaps:
            yield asked.says(
                "caution",
                f"the log of the {watched.name} is silent {gaps}",
                cure=f"Log the {watched.name} to the end, or say in a note what is known of it.",
            )
            continue
        fewest = min(len(found) for found in values.values())
        yield asked.good(f"{counted(fewest, 'reading')} at least on each column")


DISTURBING: tuple[EventKind, ...] = ("pause", "power cut", "flush", "storage", "part exchanged")
"""Events during which oven and pump may read anything, and tell nothing of the stress."""
RINSING: tuple[EventKind, ...] = ("flush", "storage")
"""The same of the pH."""
MOST_TOLD = 3
"""Readings within events that are told one by one."""
LONG_GAP = 0.25
"""Share of a column's exposure without a reading that is told: a bottle is changed within it unseen."""


def _gaps(evidence: Evidence, watched: Watched) -> str:
    """Return where the log has no reading for long, the longest gap of each column; alike ones once.

    A gap that is long for a column that came off early is told of all that share it: one log was silent.
    """
    study = evidence.study
    found: dict[str, tuple[float, float]] = {}
    long: set[str] = set()
    for column in study.columns:
        seen = evidence.hours(column.id)
        known = [hour for hour, _ in evidence.logged(column.id, watched.quantity) if hour == hour]
        if not seen or len(known) < 2:
            continue
        ends = [seen[0], *(hour for hour in known if seen[0] < hour < seen[-1]), seen[-1]]
        low, high = max(pairwise(ends), key=lambda gap: gap[1] - gap[0])
        found[column.id] = low, high
        if high - low > LONG_GAP * (seen[-1] - seen[0]):
            long.add(_gap_words(low, high))
    by_gap: dict[str, list[str]] = {}
    for column_id, (low, high) in found.items():
        if (told := _gap_words(low, high)) in long:
            by_gap.setdefault(told, []).append(column_id)
    return "; ".join(
        f"{told} on {_columns_words(study, columns)}{_stated_why(study, columns, found)}"
        for told, columns in by_gap.items()
    )


def _gap_words(low: float, high: float) -> str:
    return f"from {stated(round(low, 1))} to {with_unit(stated(round(high, 1)), 'h')}"


def _columns_words(study: Study, columns: Sequence[str]) -> str:
    """Return `all nine columns` or the names of some."""
    if len(columns) == len(study.columns) > 1:
        return share_of(len(columns), len(columns), "column")
    return listed(columns)


def _stated_why(study: Study, columns: Sequence[str], gaps: Mapping[str, tuple[float, float]]) -> str:
    """Return ` (“logger hung”)` where an event of kind `other` stands for most of a gap of each column."""
    for event in study.events:
        ends = {name: event_hours(event, study.column(name), study.events) for name in columns}
        stated_for = [_share(gaps[name], own) for name, own in ends.items() if own is not None]
        told = event.kind == "other" and event.note.strip() and len(stated_for) == len(columns)
        if told and min(stated_for) > MOST_OF_GAP:
            return f" ({quoted(event.note)})"
    return ""


MOST_OF_GAP = 0.75
"""Share of a gap in the log that an event must be stated for: the readings beside it stand a step away."""


def _share(gap: tuple[float, float], event: tuple[float, float]) -> float:
    """Return for which share of a gap an event is stated."""
    return (min(gap[1], event[1]) - max(gap[0], event[0])) / (gap[1] - gap[0])


def _values(evidence: Evidence, watched: Watched) -> Mapping[str, tuple[float, ...]]:
    """Return the readings by column, in the order of the exposure; columns without any are left out."""
    found = {
        column.id: tuple(value for _, value in evidence.logged(column.id, watched.quantity))
        for column in evidence.study.columns
    }
    return {column: values for column, values in found.items() if values}


def _movement(values: tuple[float, ...], watched: Watched) -> float:
    """Return how far the readings lie apart (relative to their mean for the flow)."""
    spread = max(values) - min(values)
    return spread / fmean(values) if watched.setpoint.relative and fmean(values) else spread


def steady(evidence: Evidence) -> Iterator[Point]:
    """Ask of each logged condition whether it stayed put, and where it should."""
    for watched in WATCHED:
        within = _within_events(evidence.study, watched)
        calm = evidence
        if within:
            rows = tuple(row for row in evidence.study.conditions if row not in within)
            calm = replace(evidence, study=replace(evidence.study, conditions=rows))
        if values := _values(calm, watched):
            apart = _within_words(watched, within) + _lone_words(evidence, watched)
            yield from _steady(calm, watched, values, apart)


def _within_events(study: Study, watched: Watched) -> Mapping[LoggedCondition, Event]:
    """Return the log's readings that an event explains, as the study tells of it: no drift, but the event.

    A leak moves the flow; while the stress stood still, or a part was changed, oven and pump may read
    anything, but the bottle's pH is its own until something else runs through the column.
    """
    kinds = RINSING if watched.setpoint is PH else DISTURBING
    leak: tuple[EventKind, ...] = ("leak",) if watched.setpoint is FLOW else ()
    found: dict[LoggedCondition, Event] = {}
    for row in study.conditions:
        if getattr(row, watched.quantity) is None:
            continue
        event = next(
            (
                one
                for one in study.events
                if one.kind in (*kinds, *leak) and one.touches(row.column) and is_within(row, one, study)
            ),
            None,
        )
        if event is not None:
            found[row] = event
    return {row: event for row, event in found.items() if _is_off(row, study, watched, found)}


def _is_off(row: LoggedCondition, study: Study, watched: Watched, within: Container[LoggedCondition]) -> bool:
    """Return whether a reading lies off those that the column has outside of events; others count."""
    calm = tuple(
        float(value)
        for one in study.conditions
        if one.column == row.column and one not in within
        if (value := getattr(one, watched.quantity)) is not None
    )
    own = (*calm, float(getattr(row, watched.quantity)))
    return _movement(own, watched) > max(watched.steady, _movement(calm, watched) if calm else 0.0)


def _within_words(watched: Watched, within: Mapping[LoggedCondition, Event]) -> str:
    """Return the readings that events explain, each column's with its event, as an added clause."""
    read: dict[tuple[str, str], list[float]] = {}
    for row, event in within.items():
        read.setdefault((row.column, event.kind), []).append(getattr(row, watched.quantity))
    if not read:
        return ""
    told = listed(
        f"{_range_words(column, tuple(values), watched)} during the {kind}"
        for (column, kind), values in list(read.items())[:MOST_TOLD]
    )
    more = f" and {len(read) - MOST_TOLD} more" if len(read) > MOST_TOLD else ""
    return f"; not counted as drift, for an event that the study tells of explains it: {told}{more}"


def _lone_words(evidence: Evidence, watched: Watched) -> str:
    """Return the readings that none beside them bears out, each with its injection, as an added clause."""
    lone = [one for one in evidence.lone if one.setpoint is watched.setpoint]
    if not lone:
        return ""
    more = f" and {len(lone) - MOST_TOLD} more" if len(lone) > MOST_TOLD else ""
    told = listed(_seen_with(evidence, one) for one in lone[:MOST_TOLD])
    return f"; not counted, for no reading before, after or beside bears it out: {told}{more}"


def _seen_with(evidence: Evidence, lone: LoneReading) -> str:
    """Return a lone reading with the injection that it belongs to, and whether that bears it out."""
    if not lone.injection:
        return lone.words
    if lone.injection in {one.injection for one in evidence.doubtful}:
        return f"{lone.words} (see injection {lone.injection}, which differs from its neighbours as well)"
    return f"{lone.words} (injection {lone.injection}, which is like its neighbours)"


def _steady(
    evidence: Evidence, watched: Watched, values: Mapping[str, tuple[float, ...]], apart: str
) -> Iterator[Point]:
    asked = Asked(
        f"{watched.id}-steady",
        f"Was the {watched.name} steady and as planned?",
        f"The lives belong to the {watched.name} that was, not to the one that was planned.",
        f"Hold the {watched.name}, log it, and repeat the columns on which it moved.",
    )
    moved = {
        column: max(_movement(v, watched), _off(evidence, watched, column, v)) for column, v in values.items()
    }
    bad = {column: size for column, size in moved.items() if size > watched.steady}
    if not bad:
        readings = tuple(reading for found in values.values() for reading in found)
        yield asked.good(f"{_range_words('all readings', readings, watched)}{apart}")
        return
    for bottle in stated_bottles(evidence) if watched.setpoint is PH else ():
        if own := [column for column in bottle.columns if column in bad]:
            yield _by_bottle(evidence, asked, bottle, apart)
            bad, apart = {column: size for column, size in bad.items() if column not in own}, ""
    for columns in _parted_by_gravity(evidence, watched, bad) if bad else ():
        yield _moved(evidence, watched, asked, values, {column: bad[column] for column in columns}, apart)
        apart = ""


def _parted_by_gravity(
    evidence: Evidence, watched: Watched, bad: Mapping[str, float]
) -> Sequence[tuple[str, ...]]:
    """Return the columns that moved, those of types that none moved gravely on apart.

    What moved far on some columns makes no life of another type doubtful; unless one course moved them all.
    """
    grave = groups_of(evidence, [column for column, size in bad.items() if size > watched.setpoint.grave])
    slight = tuple(column for column in bad if not groups_of(evidence, [column]) & grave)
    shared = shared_course(evidence, tuple(bad), watched.quantity, watched.steady)
    as_one = shared is not None and _is_told(shared.course) and not {*shared.columns}.isdisjoint(slight)
    if not grave or not slight or as_one:
        return (tuple(bad),)
    return tuple(column for column in bad if column not in slight), slight


def _moved(
    evidence: Evidence,
    watched: Watched,
    asked: Asked,
    values: Mapping[str, tuple[float, ...]],
    bad: Mapping[str, float],
    apart: str,
) -> Point:
    """Return what is told of columns on which a condition moved, or was not as planned."""
    study = evidence.study
    off = {
        one.column: one for one in departures(study.stress, study.columns, study.conditions, watched.setpoint)
    }
    all_alike = len(bad) == len(study.columns) > 1
    stayed = {} if all_alike else {column: one for column, one in off.items() if column in bad}
    left = tuple(column for column in bad if column not in stayed)
    said = _courses_words(evidence, watched, left) or listed(
        _range_words(column, values[column], watched) for column in left
    )
    grave = any(size > watched.setpoint.grave for size in bad.values())
    groups = groups_of(evidence, bad)
    moved_words = [f"the {watched.name} moved: {said}"] if left else []
    return asked.says(
        "problem" if grave else "caution",
        f"{_lead(evidence, watched, values, bad)}{said}{apart}"
        if all_alike
        else "; ".join([*departure_words(tuple(stayed.values())), *moved_words]) + apart,
        subject_of(evidence, bad),
        bound="indicated" if grave else "shown",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
        cure=_cure_of_bottle(evidence, watched, left),
    )


def _by_bottle(evidence: Evidence, asked: Asked, bottle: Bottle, apart: str) -> Point:
    """Return what is told of a bottle that an event states with its hours: for whom, and for how long."""
    lived = [column for column in bottle.columns if not _over_by(evidence, column, bottle.spans[column][0])]
    grave = bottle.size > PH.grave and bool(lived)
    groups = groups_of(evidence, lived)
    ends = (min(bottle.within[0], bottle.outside[0]), max(bottle.within[1], bottle.outside[1]))
    return asked.says(
        "problem" if grave else "caution",
        f"{bottle.words(evidence)}{_of_bases(evidence, *ends)}{apart}",
        subject_of(evidence, bottle.columns),
        bound="indicated" if grave else "shown",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
        bearing="For these hours such columns stood in another stress than the plan, and others did not.",
        cure=BEFORE_IT_IS_PUT_ON,
    )


def _over_by(evidence: Evidence, column: str, hours: float) -> bool:
    """Return whether a column had surely failed before so many hours: what came later bears on no life."""
    deciding = evidence.judgement.deciding
    decline = evidence.decline(column, *deciding) if deciding[1] else None
    first = next((one.life for one in evidence.judgement.first_failures if one.column == column), None)
    life = decline.life if decline is not None else first
    last = life.hours.high if life is not None and life.state == "reached" else None
    return last is not None and last <= hours


BEFORE_IT_IS_PUT_ON = "Bring every bottle to the pH of the plan, and measure it, before it is put on."


def _cure_of_bottle(evidence: Evidence, watched: Watched, columns: tuple[str, ...]) -> str:
    """Return what would have kept the pH where one stated bottle moved it on all columns; else nothing."""
    shared = shared_course(evidence, columns, watched.quantity, watched.steady)
    if (
        watched.quantity != "ph"
        or shared is None
        or shared.event is None
        or len(shared.columns) < len(columns)
    ):
        return ""
    return BEFORE_IT_IS_PUT_ON


def _lead(
    evidence: Evidence, watched: Watched, values: Mapping[str, tuple[float, ...]], bad: Iterable[str]
) -> str:
    """Return what is wrong on all columns: that it moved, or that it stayed where nobody planned it."""
    plan = watched.planned(evidence.study, evidence.study.column(next(iter(bad))))
    if plan is None or any(_movement(values[column], watched) > watched.steady for column in bad):
        return f"the {watched.name} moved on all columns: "
    return f"the {watched.name} was not the {with_unit(stated(plan), watched.unit)} of the plan: "


def _courses_words(evidence: Evidence, watched: Watched, columns: tuple[str, ...]) -> str:
    """Return the course of the readings, one where columns share it, and what it does to bases.

    A log too short for a course, or one in which none is told from scatter, is told by its range, after the
    others: a column put in late does not hide what the bottle did to all.
    """
    if watched.quantity == "flow_mL_min":
        return ""
    shared = shared_course(evidence, columns, watched.quantity, watched.steady)
    if shared is not None and not _is_told(shared.course):
        shared = None
    alike = shared.columns if shared is not None else ()
    found = {
        column: logged_course(evidence, column, watched.quantity, watched.steady)
        for column in columns
        if column not in alike
    }
    courses = {column: course for column, course in found.items() if course is not None and _is_told(course)}
    if 2 * (len(courses) + len(alike)) <= len(columns):
        return ""
    every = [*courses.values(), *([shared.course] if shared is not None else [])]
    low, high = min(c.low for c in every), max(c.high for c in every)
    said = ""
    if shared is not None:
        said = _shared_words(evidence, shared, watched)
        said += "".join(
            f"; {column} {course_words(course, watched.places, watched.unit)}"
            for column, course in courses.items()
        )
    elif {course.kind for course in courses.values()} == {"sawtooth"} and len(courses) > 1:
        usual = sorted(courses.values(), key=lambda course: abs(course.size))[len(courses) // 2]
        span = f"between {fixed(low, watched.places)} and {fixed(high, watched.places)}"
        said = f"{course_words(usual, watched.places, watched.unit)}, {span}"
        said += f" on {listed(courses)}" if len(courses) < len(evidence.study.columns) else ""
    else:
        said = listed(
            f"{column} {course_words(course, watched.places, watched.unit)}"
            for column, course in courses.items()
        )
    bases = _of_bases(evidence, low, high) if watched.quantity == "ph" else ""
    rest = [column for column in columns if column not in courses and column not in alike]
    values = _values(evidence, watched)
    ranges = listed(_range_words(column, values[column], watched) for column in rest)
    return f"{said}{bases}; {ranges}" if rest else f"{said}{bases}"


def _is_told(course: Course) -> bool:
    return course.kind not in ("steady", "scatter")


def _shared_words(evidence: Evidence, shared: SharedCourse, watched: Watched) -> str:
    """Return a course that several columns share, with its readings, and with them where not all do."""
    course = shared.course
    said = f"{shared.words(watched.places, watched.unit)}, "
    said += f"between {fixed(course.low, watched.places)} and {fixed(course.high, watched.places)}"
    return said + (
        f" on {listed(shared.columns)}" if len(shared.columns) < len(evidence.study.columns) else ""
    )


def _of_bases(evidence: Evidence, low: float, high: float) -> str:
    """Return by how much the retention of each base or acid can follow the pH.

    Where its course was held against the log, as that found: one number for one thing.
    """
    swings = {m.id: retention_swing_percent(evidence.study, m, low, high) for m in evidence.study.markers}
    swings |= {one.marker: one.most_percent for one in followed_in(evidence)}
    known = listed(f"{name} by up to {percent(swing)}" for name, swing in swings.items() if swing)
    return f"; it alone can move the retention of {known}" if known else ""


BY_PH = Asked(
    "retention-by-ph",
    "Does retention tell of the column, or of the pH?",
    "A base or acid that is partly ionised is retained less where the pH moves against it, whatever the "
    "column does.",
    "Log the pH beside each injection, or inject with a bottle that holds it.",
)


def retention_by_ph(evidence: Evidence) -> Iterator[Point]:
    """Ask how far the logged pH moved the retention of bases and acids, and tell the lives both ways."""
    declines = evidence.judgement.declines
    for one in followed_in(evidence):
        asked = replace(BY_PH, id=joined("retention", "by", "ph", one.marker))
        said = one.words
        own = [d for d in declines if d.as_measured is not None and d.series.marker == one.marker]
        if one.steps:
            said = f"beyond the step that all columns made together, {said}"
        if not own:
            yield asked.good(f"{said}; no life changes by that")
            continue
        if one.steps and one.moved_percent[1] < 100 * LEAST:
            yield asked.good(f"{said}; lives by it hold that as well")
            continue
        lives = listed(
            f"{d.series.column} {tell(d.life)}, as measured {tell(d.as_measured)}"
            for d in own
            if d.as_measured is not None
        )
        columns = [d.series.column for d in own]
        yield asked.says(
            "caution", f"{said}. Lives by it are told as wide as that makes them: {lives}",
            subject_of(evidence, columns), groups=groups_of(evidence, columns),
        )  # fmt: skip


def _off(evidence: Evidence, watched: Watched, column: str, values: tuple[float, ...]) -> float:
    """Return how far the mean lies from the plan of that column."""
    return watched.setpoint.off(watched.planned(evidence.study, evidence.study.column(column)), values)


def _range_words(whose: str, values: tuple[float, ...], watched: Watched) -> str:
    low, high = fixed(min(values), watched.places), fixed(max(values), watched.places)
    return with_unit(f"{whose} {low}" if low == high else f"{whose} {low} to {high}", watched.unit)


def alike(evidence: Evidence) -> Iterator[Point]:
    """Ask of temperature and pH whether the groups' means differ, and whether that could be the answer."""
    for watched in WATCHED[:2]:
        values = _values(evidence, watched)
        groups = [
            g for g in evidence.study.groups if all(c.id in values for c in evidence.study.replicates(g))
        ]
        if len(groups) < 2:
            continue
        means = {g: fmean(fmean(values[c.id]) for c in evidence.study.replicates(g)) for g in groups}
        if _within_chance(evidence, watched, means, values):
            means = dict.fromkeys(means, fmean(means.values()))
        numbers = listed(
            f"{with_unit(fixed(mean, watched.places), watched.unit)} on {g}" for g, mean in means.items()
        )
        asked = Asked(
            f"{watched.id}-alike",
            f"Was the {watched.name} the same for the groups?",
            f"The {watched.name} alone could make a difference in life ({watched.because}).",
            f"Repeat at one {watched.name}, the groups interleaved.",
        )
        yield from weigh(
            evidence,
            asked,
            f"the {watched.name}",
            f"the mean {watched.name} was {numbers}",
            means,
            partial(_factor, watched),
            rough=True,
        )


def _within_chance(
    evidence: Evidence,
    watched: Watched,
    means: Mapping[str, float],
    values: Mapping[str, tuple[float, ...]],
) -> bool:
    """Return whether the groups' means lie as close as so few readings of one course must leave them.

    Two standard errors of the means, from the scatter of the readings within the columns: readings of one
    shared bottle are no pH of a group's own.
    """
    if watched.quantity != "ph":
        return False
    columns = {group: [c.id for c in evidence.study.replicates(group)] for group in means}
    within = [(v - fmean(values[c])) ** 2 for own in columns.values() for c in own for v in values[c]]
    numbers = {group: sum(len(values[c]) for c in own) for group, own in columns.items()}
    free = len(within) - len(values)
    if free < 1:
        return max(means.values()) - min(means.values()) <= watched.steady
    deviation = (sum(within) / free) ** 0.5
    return all(
        abs(means[a] - means[b]) <= 2 * deviation * (1 / numbers[a] + 1 / numbers[b]) ** 0.5
        for a in means
        for b in means
        if a < b
    )


def _factor(watched: Watched, hard: float, soft: float) -> float:
    """Return by how much the difference can shorten a life."""
    return watched.factor(hard - soft)
