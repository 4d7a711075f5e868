"""Injections and log placed on the exposure by the clock, and held against it where both are given.

In: rows that bear times, the columns, the events. Out: the rows with hours, and problems that name the
study's own dates. A pause or a power cut does not count as exposure.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from statistics import median
from typing import TypeVar

from lyewitness.study.events import hours_exposed, pauses_of
from lyewitness.study.records import Column, Event, Injection, LoggedCondition, Note
from lyewitness.words.problems import Problem, listed

Placed = TypeVar("Placed", Injection, LoggedCondition)
Dated = tuple[datetime, Injection]

SLACK_H = 1.0
"""Hours: exposures are written in whole hours, and an injection waits for the one before it."""
SLACK = 0.02
"""Of the exposure: clocks and sequences drift apart by a per cent or two at most (common practice)."""
FEW_STAMPS = 3
"""With fewer no offset is common to all of a column: each is held against the start by itself."""
LEAST_FAR_H = 24.0
"""Hours off the stated start from which on such a single time is told: a start is often noted by the day."""
SAME_OFFSET_H = 0.2
"""Hours within which all injections must lie from each other for one offset of a clock."""
LEAST_OFFSET_H = 0.45
"""Hours: clocks are off by half hours or more where a zone or summer time was forgotten."""


def comparable(first: datetime | None, second: datetime | None) -> bool:
    """Return whether two times are both known, and both with or both without a zone."""
    return first is not None and second is not None and (first.tzinfo is None) == (second.tzinfo is None)


def hours_by_clock(column: Column, at: datetime | None, events: Sequence[Event]) -> float | None:
    """Return the exposure of `column` at a time, hours; None where times cannot be compared."""
    if at is None or not comparable(at, column.exposure_start):
        return None
    if not all(comparable(at, begin) for begin, _ in pauses_of(column, events)):
        return None
    return hours_exposed(column, at, events)


def placed_by_clock(
    rows: Sequence[Placed], columns: Sequence[Column], events: Sequence[Event]
) -> tuple[Placed, ...]:
    """Return the rows with their hours by the clock where they bear a time and no exposure."""
    by_id = {column.id: column for column in columns}
    return tuple(_placed(row, by_id.get(row.column), events) for row in rows)


def without_pauses(
    logged: Sequence[LoggedCondition], columns: Sequence[Column], events: Sequence[Event]
) -> tuple[tuple[LoggedCondition, ...], tuple[LoggedCondition, ...]]:
    """Return the rows that were read under stress, and those read in a stated pause or after a column's end.

    What a cold oven and a stopped pump read is nothing of the stress.
    """
    idle: dict[str, list[tuple[datetime, datetime | None]]] = {}
    for column in columns:
        idle[column.id] = list(pauses_of(column, events))
        if isinstance(column.ended, datetime):
            idle[column.id].append((column.ended, None))
    apart = [_lies_in(row.at, idle.get(row.column, ())) for row in logged]
    stressed, paused = (
        tuple(row for row, is_apart in zip(logged, apart, strict=True) if is_apart is wanted)
        for wanted in (False, True)
    )
    return stressed, paused


def _lies_in(at: datetime | None, spans: Sequence[tuple[datetime, datetime | None]]) -> bool:
    """Return whether a time surely lies within one of the spans; one without an end goes on."""
    return at is not None and any(
        comparable(at, begin) and begin <= at and (end is None or at <= end) for begin, end in spans
    )


def _placed(row: Placed, column: Column | None, events: Sequence[Event]) -> Placed:
    stated = (row.exposure_h, row.exposure_mL, row.exposure_cv) != (None, None, None)
    hours = None if stated or column is None else hours_by_clock(column, row.at, events)
    if hours is None:
        return row
    if isinstance(row, Injection):
        return replace(row, exposure_h=max(hours, 0.0), clocked=True)
    return replace(row, exposure_h=max(hours, 0.0))


@dataclass(frozen=True, slots=True)
class Clock:
    """The times by which a study is looked at: its own `at`, or the stamps of its exports."""

    times: Mapping[str, datetime]
    """By injection id."""
    name: str
    """Such as `'at' of injections.csv` or `time stamps of the exports`."""
    file: str
    """Where its problems are shown."""


def clock_problems(
    clock: Clock,
    injections: Sequence[Injection],
    columns: Sequence[Column],
    events: Sequence[Event],
) -> tuple[Problem, ...]:
    """Return what a clock says against the folder, with the study's own dates in the cure."""
    problems: list[Problem] = []
    late: dict[str, tuple[float, Dated]] = {}
    before: list[tuple[float, Dated]] = []
    for column in columns:
        own = [one for one in injections if one.column == column.id and one.used and one.id in clock.times]
        dated = sorted(
            ((clock.times[one.id], one) for one in own), key=lambda pair: (_plain(pair[0]), pair[1].id)
        )
        if not dated:
            continue
        problems += _during_pauses(clock, column, dated, events)
        problems += _against_exposure(clock, column, dated, events)
        first = hours_by_clock(column, dated[0][0], events)
        if first is not None and dated[0][1].exposure_h is not None and dated[0][1].clocked:
            late[column.id] = (first, dated[0])
        before += before_start(column, dated, events)
    return (*problems, *_late_starts(clock, late, columns), *_early_starts(clock, before, columns))


def before_start(
    column: Column, dated: Sequence[Dated], events: Sequence[Event]
) -> list[tuple[float, Dated]]:
    """Return the injections that the clock puts before the start of the stress, with the hours before it.

    Minutes do not count: a stress is often noted by the hour.
    """
    hours = [(hours_by_clock(column, time, events), (time, one)) for time, one in dated if one.clocked]
    return [(-found, one) for found, one in hours if found is not None and found < -LEAST_OFFSET_H]


def _plain(time: datetime) -> datetime:
    """Return a time that can be sorted beside any other."""
    return time.replace(tzinfo=None)


def _during_pauses(
    clock: Clock, column: Column, dated: Sequence[Dated], events: Sequence[Event]
) -> Iterator[Problem]:
    """Yield a caution for injections that were made while nothing ran."""
    for begin, end in pauses_of(column, events):
        within = [one.id for time, one in dated if comparable(time, begin) and begin < time < end]
        if within:
            yield Problem(
                "caution",
                clock.file,
                f"column '{column.id}'",
                f"injections dated within the pause from {_time(begin)} to {_time(end)}: {listed(within)}",
                "no injection while nothing runs",
                "Correct the times of one of them; [exports] clock states the instrument's zone.",
            )


def _against_exposure(
    clock: Clock, column: Column, dated: Sequence[Dated], events: Sequence[Event]
) -> Iterator[Problem]:
    """Yield what differs between the exposures that the folder states and the clock."""
    stated = [(time, one) for time, one in dated if one.exposure_h is not None and not one.clocked]
    if not stated:
        return
    has_start = comparable(stated[0][0], column.exposure_start)
    base = column if has_start else replace(column, exposure_start=stated[0][0])
    ahead = 0.0 if has_start else stated[0][1].exposure_h or 0.0
    by_clock = [hours_by_clock(base, time, events) for time, _ in stated]
    known = [hours + ahead for hours in by_clock if hours is not None]
    if len(known) < len(stated):
        return
    gaps = [hours - (one.exposure_h or 0.0) for hours, (_, one) in zip(known, stated, strict=True)]
    offset = common_offset(gaps)
    if offset is not None:
        yield _offset_problem(clock, column, stated[0], offset)
        return
    if has_start and len(stated) < FEW_STAMPS:
        far = [one for one, gap in zip(stated, gaps, strict=True) if abs(gap) > LEAST_FAR_H]
        yield from (_far_problem(clock, column, one) for one in far)
        return
    lost = [(later - earlier, place) for place, (earlier, later) in enumerate(pairwise(gaps))]
    grave = [(hours, place) for hours, place in lost if abs(hours) > _slack(stated[place], stated[place + 1])]
    for sign in (-1, 1):
        own = [(hours, place) for hours, place in grave if hours * sign > 0]
        if own:
            hours, place = max(own, key=lambda entry: abs(entry[0]))
            yield _lost_hours(clock, column, stated[place : place + 2], hours, len(own) - 1)


def _far_problem(clock: Clock, column: Column, dated: Dated) -> Problem:
    start = _time(column.exposure_start)
    return Problem(
        "caution",
        clock.file,
        f"column '{column.id}'",
        f"{_words(dated)}, whose time does not fit exposure_start {start}",
        "one clock for start and injections",
        "Look up whether this is the right file; correct exposure_start or the exposure if it is.",
    )


def _slack(earlier: Dated, later: Dated) -> float:
    """Return by how many hours clock and exposure may differ between two injections."""
    return SLACK_H + SLACK * abs((later[1].exposure_h or 0.0) - (earlier[1].exposure_h or 0.0))


def common_offset(differences: Sequence[float]) -> float | None:
    """Return by how many hours one clock is off another, None unless all say the same whole or half hours."""
    if len(differences) < 3:
        return None
    usual = median(differences)
    near_half_hours = abs(usual - round(2 * usual) / 2) <= SAME_OFFSET_H / 2
    alike = max(abs(difference - usual) for difference in differences) <= SAME_OFFSET_H
    return round(2 * usual) / 2 if alike and near_half_hours and abs(usual) >= LEAST_OFFSET_H else None


def _words(dated: Dated) -> str:
    """Return an injection with its exposure and its time."""
    time, injection = dated
    return f"{injection.id} ({injection.exposure_h:.4g} h, {_time(time)})"


def _time(time: datetime | None) -> str:
    return f"{time:%Y-%m-%d %H:%M}" if time else "not stated"


def _offset_problem(clock: Clock, column: Column, first: Dated, offset: float) -> Problem:
    way = "ahead of" if offset > 0 else "behind"
    return Problem(
        "caution",
        clock.file,
        f"column '{column.id}'",
        f"{clock.name} that stand {abs(offset):g} h {way} the stated exposures, all alike: {_words(first)},"
        f" and exposure_start {_time(column.exposure_start)}",
        "one clock for start and injections",
        "Correct exposure_start or the times; [exports] clock states the instrument's zone.",
    )


def _lost_hours(clock: Clock, column: Column, step: Sequence[Dated], lost: float, more: int) -> Problem:
    """Return what to say where clock and exposure ran differently over a step, and over `more` others."""
    begin, end = step[0][0], step[1][0]
    between = f"between {_words(step[0])} and {_words(step[1])}, by the {clock.name}"
    between += f"; {more} more such steps" if more else ""
    if lost < 0:
        return Problem(
            "error" if clock.file == "injections.csv" else "caution",
            clock.file,
            f"column '{column.id}'",
            f"{-lost:.3g} h more of exposure than of time {between}",
            "an exposure that the clock allows",
            "Correct the exposure or the time of one of the two.",
        )
    return Problem(
        "caution",
        clock.file,
        f"column '{column.id}'",
        f"{lost:.3g} h more of time than of exposure {between}",
        "a word on what happened",
        f'If the stress paused, add [[event]] kind = "pause", from and to between '
        f"{begin:%Y-%m-%dT%H:%M} and {end:%Y-%m-%dT%H:%M}; if not, correct the exposure.",
    )


def _late_starts(
    clock: Clock, late: Mapping[str, tuple[float, Dated]], columns: Sequence[Column]
) -> Iterator[Problem]:
    """Yield a caution where no column was looked at fresh by the clock: the clock, or the start, is off."""
    if not late or len(late) < len(columns) or min(hours for hours, _ in late.values()) < SLACK_H:
        return
    column, (hours, (time, injection)) = min(late.items(), key=lambda item: item[1][0])
    start = next(one.exposure_start for one in columns if one.id == column)
    yield Problem(
        "caution",
        clock.file,
        "",
        f"no injection of a fresh column: the first of every column stands {hours:.3g} h or more after its "
        f"start ({injection.id}: {_time(time)}, and exposure_start {_time(start)})",
        "a first injection near the start, by one and the same clock",
        "State the zone of the instrument's clock by [exports] clock, or correct exposure_start.",
    )


def _early_starts(
    clock: Clock, before: Sequence[tuple[float, Dated]], columns: Sequence[Column]
) -> Iterator[Problem]:
    """Yield a caution for injections before the start: of the fresh column, or by a clock that is behind."""
    # Of the folder's own times each row was told already.
    if not before or clock.file == "injections.csv":
        return
    hours, (time, injection) = max(before, key=lambda found: found[0])
    start = next(one.exposure_start for one in columns if one.id == injection.column)
    number, touched = len(before), len({one.column for _, (_, one) in before})
    many = f"{number} injections" if number > 1 else "an injection"
    on = f" on {touched} columns" if touched > 1 else ""
    yield Problem(
        "caution",
        clock.file,
        "",
        f"{many}{on} dated before the stress began, by up to {hours:.3g} h, and counted at 0 h "
        f"({injection.id}: {_time(time)}, and exposure_start {_time(start)})",
        "injections after the start, or of a column that was still fresh",
        "Where the stress had begun, all lives are too short by as much: state the zone of the "
        "instrument's clock by [exports] clock, or correct exposure_start.",
    )


def log_problems(
    injections: Sequence[Injection], conditions: Sequence[LoggedCondition], columns: Sequence[Column]
) -> Iterator[Problem]:
    """Yield a caution where log and injections of a column lie apart by the same whole or half hours."""
    for column in columns:
        made = [one.at for one in injections if one.column == column.id and one.at is not None]
        logged = [row.at for row in conditions if row.column == column.id and row.at is not None]
        if len(made) < 3 or len(logged) < 3 or not all(comparable(made[0], at) for at in (*made, *logged)):
            continue
        ends = [(f(made) - f(logged)).total_seconds() / 3600 for f in (min, max)]
        offset = common_offset([*ends, sum(ends) / 2])
        if offset is not None:
            yield Problem(
                "caution",
                "conditions.csv",
                f"column '{column.id}'",
                f"a log from {_time(min(logged))} to {_time(max(logged))} beside injections from "
                f"{_time(min(made))} to {_time(max(made))}: {abs(offset):g} h apart at both ends",
                "one clock for both",
                "Correct the times of one of them; [exports] clock states the instrument's zone.",
            )


def unlike_times(columns: Sequence[Column], events: Sequence[Event]) -> Iterator[Problem]:
    """Yield an error for a pause that cannot be taken off a column's time, for lack of a zone."""
    for column in columns:
        start = column.exposure_start
        unlike = [begin for begin, _ in pauses_of(column, events) if start and not comparable(begin, start)]
        if unlike:
            yield Problem(
                "error",
                "study.toml",
                f"column '{column.id}', exposure_start",
                f"{start} beside an [[event]] that begins at {unlike[0]}",
                "times with a zone everywhere, or nowhere",
                "Add the zone, such as 2026-03-02T08:00:00+01:00, to the ones that lack it.",
            )


def dates_of_notes(notes: Sequence[Note], injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield a caution for a note that is dated before an injection of which it speaks."""
    made = {one.id: one.at for one in injections if one.at is not None}
    for note in notes:
        named = [target for kind, target in note.references if kind == "injection" and target in made]
        later = [target for target in named if note.dated and (made[target].date() - note.dated).days > 1]
        if later:
            yield Problem(
                "caution",
                note.file,
                "date",
                f"a note of {note.dated} about the injection '{later[0]}', dated {_time(made[later[0]])}",
                "a note not older than what it speaks of",
                "Correct the date of the note, or the time of the injection.",
            )
