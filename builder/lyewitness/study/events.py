"""What happened while a study ran, and how far it exposed a column to the stress.

In: the document of study.toml and its columns. Out: `Event`s and problems; `Exposure` in hours and
in column volumes.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from typing import Any

from lyewitness.study.records import Column, Event, Injection, LoggedCondition, Moment
from lyewitness.study.toml_records import Table, TomlReading, known_words, tables_of
from lyewitness.words.phrases import mid_sentence

MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, slots=True)
class Exposure:
    """How much stress a column had seen."""

    hours: float | None
    """None where neither hours nor what would give them is known."""
    column_volumes: float | None
    """None where the flow or the void volume is unknown."""


def exposure_of(
    placed: Injection | LoggedCondition,
    column: Column,
    flow_mL_min: float | None,
    void_volume_mL: float | None,
) -> Exposure:
    """Return the exposure at which `placed` stands.

    Column volumes are millilitres passed ÷ void volume; hours are millilitres ÷ flow (common practice).
    `flow_mL_min` is the flow of the stress, `void_volume_mL` hold-up time × flow of the injections.
    """
    per_hour = flow_mL_min * MINUTES_PER_HOUR if flow_mL_min else None
    hours = placed.exposure_h  # of what bears a time alone, `placing` has reckoned them
    volume_mL = placed.exposure_mL
    if volume_mL is None and placed.exposure_cv is not None and void_volume_mL:
        volume_mL = placed.exposure_cv * void_volume_mL
    if hours is None and volume_mL is not None and per_hour:
        hours = volume_mL / per_hour
    if volume_mL is None and hours is not None and per_hour:
        volume_mL = hours * per_hour
    if placed.exposure_cv is not None:
        return Exposure(hours, placed.exposure_cv)
    return Exposure(hours, volume_mL / void_volume_mL if volume_mL is not None and void_volume_mL else None)


LONGEST_NAME = 40
"""Characters of a note that stand for its event: what the foot of a figure holds beside the others."""


def event_name(event: Event) -> str:
    """Return what an event is called: its kind; of kind `other` its note, to the end of its first clause."""
    if event.kind != "other":
        return event.kind
    note = mid_sentence(re.split(r"[;:.](?:\s|$)", event.note.strip())[0].strip())
    if len(note) > LONGEST_NAME:
        note = note[:LONGEST_NAME].rsplit(maxsplit=1)[0].rstrip(",") + "…"
    return note or "event without a note"


def at_event(event: Event) -> str:
    """Return `at the fresh mobile phase`, `at ‘logger PC hung’`: when something happened, in a sentence."""
    own = event.kind == "other" and event.note.strip()
    return f"at ‘{event_name(event)}’" if own else f"at the {event_name(event)}"


FIELDS = {"at": "begin", "from": "begin", "to": "end"}
"""Keys of `[[event]]` whose names no field of a record can bear."""
UNSAID = ("flush", "storage")
"""Kinds of which nobody can know whether the column went on standing in the stress."""


def read_events(reading: TomlReading, document: Table, columns: Sequence[Column]) -> tuple[Event, ...]:
    """Return every `[[event]]`, leaving out those with a problem."""
    found = (
        _event(reading, f"event[{number}]", table, columns)
        for number, table in enumerate(tables_of(reading, document, "event"), start=1)
    )
    events = tuple(event for event in found if event is not None)
    zones = {one.exposure_start.tzinfo for one in columns if one.exposure_start is not None}
    zone = next(iter(zones)) if len(zones) == 1 else None
    # Where all starts bear one zone, a time without one is of the same clock.
    return events if zone is None else tuple(_in_zone(event, zone) for event in events)


def _in_zone(event: Event, zone: tzinfo) -> Event:
    """Return the event with its times in a zone, where they bear none."""
    begin, end = (
        moment.replace(tzinfo=zone) if isinstance(moment, datetime) and moment.tzinfo is None else moment
        for moment in (event.begin, event.end)
    )
    return event if begin is None else replace(event, begin=begin, end=end)


def _event(reading: TomlReading, path: str, table: Any, columns: Sequence[Column]) -> Event | None:
    if isinstance(table, dict):
        known = ("kind", *FIELDS, "columns", "still_exposed", "note")
        reading.unknown(path, table, known)
        if "at" in table and ("from" in table or "to" in table):
            reading.note(path, "'at' beside 'from' or 'to'", "one moment, or a span", "Take one of them out.")
            return None
        if not {"at", "from"} & set(table):
            reading.note(path, "no time", "at, or from and to", "Add 'at = 2026-03-02T08:00:00'.")
            return None
        table = {FIELDS.get(key, key): value for key, value in table.items() if key in known}
    event = reading.record(path, table, Event)
    if event is None:
        return None
    ids = [column.id for column in columns]
    named = known_words(reading, f"{path}.columns", event.columns, ids, "column")
    return event if _in_order(reading, path, event) and named else None


def _in_order(reading: TomlReading, path: str, event: Event) -> bool:
    """Note a span that is none, and one whose bearing on the exposure is not said."""
    if isinstance(event.begin, float) and not 0 <= event.begin <= 1e6:
        reading.note(path, f"{event.begin:g} h", "an exposure in hours", "Correct it.")
        return False
    if event.end is None:
        if not event.exposes:
            cure = "Write from = … and to = …, both ISO 8601."
            reading.caution(path, f"a {event.kind} of no length", "when it began and ended", cure)
        return True
    if isinstance(event.begin, datetime) != isinstance(event.end, datetime):
        reading.note(path, "a time and an exposure", "two of one kind", "Write both as ISO 8601 times.")
        return False
    if isinstance(event.begin, datetime) and isinstance(event.end, datetime):
        if (event.begin.tzinfo is None) != (event.end.tzinfo is None):
            reading.note(path, "one time with a zone, one without", "two alike", "Add the zone to both.")
            return False
    elif not event.exposes:
        expected = "times of day: while nothing is exposed the exposure stands still"
        reading.note(path, f"a {event.kind} in hours of exposure", expected, "Write ISO 8601 times.")
        return False
    if event.end < event.begin:  # type: ignore[operator]
        reading.note(path, f"'to' {event.end} before 'from' {event.begin}", "a span", "Correct one of them.")
        return False
    if event.kind in UNSAID and event.still_exposed is None:
        expected = "still_exposed = true or false"
        cure = "Say whether the column stood in the stress; its time is counted as exposure until then."
        reading.caution(path, f"a {event.kind} without a word on the exposure", expected, cure)
    return True


def hours_exposed(column: Column, at: datetime, events: Iterable[Event]) -> float:
    """Return the hours from the start of a column's exposure to `at`, less the pauses between.

    Pauses that overlap count once. The start must be stated, and all times with a zone or all without.
    """
    start = column.exposure_start
    if start is None:
        raise ValueError(f"column {column.id} has no start")
    lost = 0.0
    reached = start
    for begin, end in pauses_of(column, events):
        begin, end = max(begin, reached), min(end, at)
        if end > begin:
            lost += (end - begin).total_seconds()
            reached = end
    return ((at - start).total_seconds() - lost) / 3600.0


def pauses_of(column: Column, events: Iterable[Event]) -> list[tuple[datetime, datetime]]:
    """Return the times at which a column was not exposed, by their beginnings."""
    return sorted(
        (event.begin, event.end)
        for event in events
        if not event.exposes
        and event.touches(column.id)
        and isinstance(event.begin, datetime)
        and isinstance(event.end, datetime)
    )


def event_hours(event: Event, column: Column, events: Iterable[Event]) -> tuple[float, float] | None:
    """Return where an event begins and ends on a column's exposure, hours.

    None where it cannot be known, or where the column was not there yet or no more.
    """
    begin, end, last = _ends(event, column, events)
    if begin is None or end is None or not was_there(event, column, events):
        return None
    return max(begin, 0.0), end if last is None else min(end, last)


def was_there(event: Event, column: Column, events: Iterable[Event]) -> bool:
    """Return whether an event touches a column between its beginning and its end, as far as that is known."""
    begin, end, last = _ends(event, column, events)
    gone = begin is not None and last is not None and begin > last
    return event.touches(column.id) and not gone and (end is None or end >= 0.0)


def _ends(
    event: Event, column: Column, events: Iterable[Event]
) -> tuple[float | None, float | None, float | None]:
    """Return beginning and end of an event, and the end of the column, on its exposure, hours."""
    until = event.begin if event.end is None else event.end
    last = ended_h(column, events)
    return _exposed(column, event.begin, events), _exposed(column, until, events), last


def ended_h(column: Column, events: Iterable[Event]) -> float | None:
    """Return the stated end of a column's stress on its exposure, hours; None where it is not known."""
    return None if column.ended is None else _exposed(column, column.ended, events)


def _exposed(column: Column, moment: Moment, events: Iterable[Event]) -> float | None:
    """Return a moment on a column's exposure, hours, negative before it began; None where nobody can know."""
    if not isinstance(moment, datetime):
        return float(moment)
    start = column.exposure_start
    if start is None or (moment.tzinfo is None) != (start.tzinfo is None):
        return None
    return hours_exposed(column, moment, events)
