"""What explains an injection that is off its neighbours, so that it is a reading of the column as it was.

In: a study, and one odd injection with those beside it. Out: a clause with the readings or the event; empty
where nothing explains it.

A clogged inlet broadens every peak until somebody clears it. The injection before that is no mishap: it
shows the column, and to leave it out would hide what happened.
"""

from collections.abc import Sequence
from math import isfinite
from statistics import median

from lyewitness.findings.displaced import Rows, hours_of
from lyewitness.findings.renewals import RENEWING
from lyewitness.study.events import event_hours
from lyewitness.study.records import Event, Injection, Study
from lyewitness.words.numbers import rounded, with_unit
from lyewitness.words.phrases import exposure, quoted

PRESSED = 1.1
"""Ratio of pressures from which one is up: pumps repeat within 2 %, and bottles change viscosity by less than
the rest (common practice)."""
BACK = 0.5
"""Share of the rise that must be gone again with the next injection."""
FEWEST = 3
"""Readings before without which nobody knows the usual pressure."""
PLATES = "plate_number_half_height"


def explanation(study: Study, own: Sequence[Injection], rows: Rows, name: str) -> str:
    """Return what explains the broadened peaks of injection `name` among `own`, a column's by exposure."""
    place = next(at for at, one in enumerate(own) if one.id == name)
    if not 0 < place < len(own) - 1 or not _all_broader(own[place - 1 : place + 2], rows):
        return ""
    before, at, after = (hours_of(rows[one.id]) for one in own[place - 1 : place + 2])
    event = _cleared_by(study, own[place].column, at, after)
    if pressed := _pressed(study, own[place].column, (before, at, after), event):
        return pressed
    if event is None or event[0].columns != (own[place].column,):
        # What was done to all columns alike mended an instrument: its fault was none of this column's.
        return ""
    return f"they came back with the event {quoted(event[0].kind)} at {exposure(event[1])}"


def _all_broader(three: Sequence[Injection], rows: Rows) -> bool:
    """Return whether all markers of the middle one have fewer plates than right before and after."""
    plates = [{m: getattr(row, PLATES) for m, row in rows[one.id].items()} for one in three]
    known = [m for m, own in plates[1].items() if own and plates[0].get(m) and plates[2].get(m)]
    return len(known) > 1 and all(plates[1][m] < min(plates[0][m], plates[2][m]) for m in known)


def _cleared_by(study: Study, column: str, at: float, after: float) -> tuple[Event, float] | None:
    """Return the event, with its hour, between an injection and the next that may have mended a column."""
    for event in study.events:
        ends = event_hours(event, study.column(column), study.events)
        if event.kind in RENEWING and ends is not None and at <= ends[0] <= after:
            return event, ends[0]
    return None


def _pressed(
    study: Study, column: str, hours: tuple[float, float, float], event: tuple[Event, float] | None
) -> str:
    """Return the pressure beside an injection where it was up, and down again with the next one."""
    before, at, after = hours
    ends = event[1] if event else after
    read = sorted(
        (row.exposure_h, float(row.pressure_bar))
        for row in study.conditions
        if row.column == column
        and row.pressure_bar
        and row.exposure_h is not None
        and isfinite(row.exposure_h)
    )
    usual = [bar for hour, bar in read if hour <= before][-2 * FEWEST :]
    beside = [(abs(hour - at), hour, bar) for hour, bar in read if before < hour <= ends]
    later = [(hour, bar) for hour, bar in read if hour > ends and hour <= after + (after - before)]
    if len(usual) < FEWEST or not beside or not later:
        return ""
    normal, (_, hour, bar), (then, low) = median(usual), min(beside), later[0]
    if bar < PRESSED * normal or low - normal > BACK * (bar - normal):
        return ""
    by = (
        f"after the event {quoted(event[0].kind)} at {exposure(event[1])}"
        if event
        else f"at {exposure(then)}"
    )
    return (
        f"the pressure was up as well, {_bar(bar)} at {exposure(hour)} beside {_bar(normal)} before, and "
        f"back at {_bar(low)} {by}"
    )


def _bar(value: float) -> str:
    return with_unit(rounded(value, 3), "bar")
