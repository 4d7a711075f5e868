"""Audit of standing: did a column stand idle, and what does the log show of gaps in which nobody injected?

In: `Evidence`, with times of injections and log. Out: `Point`s, and problems for `check`.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from statistics import median

from lyewitness.findings.audit.points import Asked, Point, groups_of, pairs_with, subject_of
from lyewitness.findings.audit.running import DATED, Span, dated_injections, hours_between
from lyewitness.findings.evidence import Evidence, without_zone
from lyewitness.findings.records import Check
from lyewitness.study.records import LoggedCondition
from lyewitness.words.phrases import counted, hours, listed
from lyewitness.words.problems import Problem

STANDING = Asked(
    "standing-time",
    "Did a column stand idle between injections?",
    "A bed that stands in the buffer, or is flushed and kept, may change without the exposure counting it.",
    "Note what the column stood in, and leave it standing no longer than its partners.",
)
SAY_WHETHER = (
    "If it paused, state it as an [[event]] with from and to; if it went on, as one with "
    "still_exposed = true."
)
"""The cure for a gap of which the study says nothing."""
STOPPED = 0.1
"""Of what is usual on the column: a pump that gives less flow or pressure than this has stopped."""
LEAST_STOP_H = 1.0
"""Hours: exposures are written in whole hours, and a bottle is changed in less."""
REGULAR = 1.2
"""Of the usual step between injections: an instrument that had stopped for long comes back later, …"""
NIGHT_H = 8.0
"""… but where it waits for longer than this by itself, in hours, a stop may lie between two injections."""
MOST_SPANS = 4
"""Gaps that one sentence names."""


def pause_problems(checks: Sequence[Check]) -> tuple[Problem, ...]:
    """Return a caution for each gap that may be a pause, so that it is asked before a report is built."""
    return tuple(
        Problem(
            "caution",
            "study.toml",
            "event",
            check.detail.rstrip("."),
            "a word on what happened then",
            check.cure,
        )
        for check in checks
        if check.id.startswith(STANDING.id) and SAY_WHETHER in check.cure
    )


def standing(evidence: Evidence) -> Iterator[Point]:
    """Ask for pauses in which the clock ran on and the exposure did not."""
    pauses: dict[str, float] = {}
    reckoned: list[str] = []
    dated = False
    for column in evidence.study.columns:
        placed = dated_injections(evidence, column.id)
        dated = dated or len(placed) > 1
        if placed and all(injection.clocked for _, _, injection in placed):
            reckoned.append(column.id)
            continue
        idle = [hours_between(a[0], b[0]) - (b[1] - a[1]) for a, b in pairwise(placed)]
        if idle and max(idle) > max(8.0, 0.25 * placed[-1][1]):
            pauses[column.id] = max(idle)
    if not dated:
        yield STANDING.says(
            "not possible", "the injections bear no times that can be read surely", cure=DATED
        )
    elif pauses:
        groups = groups_of(evidence, pauses)
        said = listed(f"{column} stood idle for up to {hours(pause)}" for column, pause in pauses.items())
        yield STANDING.says(
            "caution", said, subject_of(evidence, pauses),
            pairs=pairs_with(evidence.study, groups), groups=groups,
        )  # fmt: skip
    elif reckoned:
        yield _standing_by_clock(evidence, reckoned)
    else:
        yield STANDING.good("no column stood idle for long")


@dataclass(frozen=True, slots=True)
class Gap:
    """A time of which no event speaks and in which the stress may have stood still."""

    span: Span
    stopped: bool
    """Whether the log shows that the pump stood; else nothing is shown."""
    zone: str
    """` UTC` where the times bear a zone."""
    injected: bool = False
    """Whether injections fell into it: a stop can only lie between two of them."""


def _standing_by_clock(evidence: Evidence, columns: Sequence[str]) -> Point:
    """Return what can be said where the clock alone gives the exposure: only the study knows of pauses."""
    stated = [event for event in evidence.study.events if not event.exposes and event.end is not None]
    said = "the exposures were reckoned from the clock"
    said += f", less {counted(len(stated), 'pause')} that the study states" if stated else ""
    found = {column: gaps for column in columns if (gaps := _gaps(evidence, column))}
    if not found:
        return (
            STANDING.good(said)
            if stated
            else STANDING.says("not possible", said, cure="State pauses as [[event]].")
        )
    stopped = {one.span: one for gaps in found.values() for one in gaps if one.stopped}
    every = [one for gaps in found.values() for one in gaps]
    parts = [
        _spans_words(found, [one for one in every if one.stopped], "by the log the pump stood on {}"),
        _spans_words(
            found,
            [one for one in every if not one.stopped and not one.injected],
            "nothing shows whether the stress went on in long gaps, on {}",
        ),
        _spans_words(
            found,
            [one for one in every if one.injected],
            "where the log is silent injections alone show that the stress went on, and no stop between two "
            "of them would be seen, on {}",
        ),
    ]
    cure = SAY_WHETHER
    if stopped:
        begin, end = max(stopped, key=lambda span: hours_between(*span))
        zone = "Z" if stopped[begin, end].zone else ""
        cure += (
            ' A power cut, for one: [[event]] with kind = "power cut", '
            f"from = {begin:%Y-%m-%dT%H:%M:%S}{zone}, to = {end:%Y-%m-%dT%H:%M:%S}{zone}."
        )
    groups = groups_of(evidence, found)
    return STANDING.says(
        "caution", "; ".join([*filter(None, parts), said]), subject_of(evidence, list(found)),
        pairs=pairs_with(evidence.study, groups), groups=groups, cure=cure,
    )  # fmt: skip


def _spans_words(found: Mapping[str, Sequence[Gap]], some: Sequence[Gap], words: str) -> str:
    """Return `words` with the columns and times of some of the gaps, the widest first; '' of none."""
    by_time: dict[str, list[str]] = {}
    widest: dict[str, float] = {}
    for column, gaps in found.items():
        for gap in gaps:
            if gap in some:
                begin, end = gap.span
                time = f"from {begin:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M}{gap.zone}"
                by_time.setdefault(time, []).append(column)
                widest[time] = hours_between(begin, end)
    if not by_time:
        return ""
    order = sorted(by_time, key=lambda time: -widest[time])
    told = [f"{listed(by_time[time])} {time}" for time in order[:MOST_SPANS]]
    more = len(order) - len(told)
    return words.format(listed([*told, *([f"in {counted(more, 'more gap')}"] if more else [])]))


def _gaps(evidence: Evidence, column: str) -> list[Gap]:
    """Return the gaps of one column of which no event speaks.

    Where the log shows a pump that stood, it tells since when. Else injections and log are looked at apart,
    for a log is kept in even steps and is silent where the power fails; but neither gap counts through which
    the other went on in its usual steps.
    """
    own = [row for row in evidence.study.conditions if row.column == column]
    rows = sorted(((without_zone(row.at), row) for row in own if row.at is not None), key=lambda one: one[0])
    logged = [at for at, _ in rows]
    injected = _run_at(evidence, column)
    usual = median(_steps(injected)) if len(injected) > 1 else 0.0
    found = [Gap(span, True, _zone(row.at for row in own)) for span in _stops(rows)]
    silent = _wide(logged)
    for span in silent:
        inside = [at for at in injected if span[0] < at < span[1]]
        dead = max(pairwise([span[0], *inside, span[1]]), key=_long)
        if _long(dead) > min(REGULAR * usual, NIGHT_H) and not any(_meet(span, one.span) for one in found):
            regular = bool(inside) and _long(dead) <= REGULAR * usual
            found.append(Gap(span, False, _zone(row.at for row in own), regular))
    for span in _wide(injected):
        went_on = any(span[0] < at < span[1] for at in logged) and not any(_meet(span, one) for one in silent)
        if not went_on and not any(_meet(span, one.span) for one in found):
            found.append(Gap(span, False, _zone_of_injections(evidence, column)))
    return [one for one in found if not _explained(evidence, column, one.span)]


def _run_at(evidence: Evidence, column: str) -> list[datetime]:
    """Return when a column was injected, in order: what does not count for its values ran all the same."""
    own = [one for one in evidence.study.injections if one.column == column]
    return sorted(time for one in own if (time := evidence.time_of(one)) is not None)


def _long(span: Span) -> float:
    return hours_between(*span)


def _meet(first: Span, second: Span) -> bool:
    """Return whether two spans have a time in common."""
    return first[0] < second[1] and second[0] < first[1]


def _zone(times: Iterable[datetime | None]) -> str:
    """Return ` UTC` where the first of some times bears a zone, by which all are told."""
    first = next((at for at in times if at is not None), None)
    return " UTC" if first is not None and first.tzinfo is not None else ""


def _zone_of_injections(evidence: Evidence, column: str) -> str:
    """Return ` UTC` where the times of a column's injections bear a zone, stated there or of the exports."""
    stated = [one.at for one in evidence.study.injections if one.column == column and one.at is not None]
    return _zone(stated) if stated else " UTC" if evidence.study.exports.zone else ""


def _steps(times: Sequence[datetime]) -> list[float]:
    """Return the hours from each time to the next."""
    return [hours_between(a, b) for a, b in pairwise(times)]


def _wide(times: Sequence[datetime]) -> list[Span]:
    """Return each step that is wide among its like."""
    usual = median(_steps(times)) if len(times) > 1 else 0.0
    # Twice the usual step and half a shift more: an instrument that merely waits is back sooner.
    return [(a, b) for a, b in pairwise(times) if hours_between(a, b) > 2 * usual + 4]


def _stops(rows: Sequence[tuple[datetime, LoggedCondition]]) -> list[Span]:
    """Return the spans of a log, by time, in which flow, or else pressure, was next to nothing."""
    for quantity in ("flow_mL_min", "pressure_bar"):
        read = [(at, value) for at, row in rows if (value := getattr(row, quantity)) is not None]
        usual = median(value for _, value in read) if read else 0.0
        if usual > 0:
            break
    else:
        return []
    spans: list[Span] = []
    begin: datetime | None = None
    for at, value in read:
        if value < STOPPED * usual:
            begin, end = (at if begin is None else begin), at
        elif begin is not None:
            spans.append((begin, at))
            begin = None
    if begin is not None:
        spans.append((begin, end))
    return [span for span in spans if hours_between(*span) >= LEAST_STOP_H]


def _explained(evidence: Evidence, column: str, span: Span) -> bool:
    """Return whether an event with a length of its own lies in a gap."""
    return any(
        isinstance(event.begin, datetime)
        and isinstance(event.end, datetime)
        and event.touches(column)
        and _meet((without_zone(event.begin), without_zone(event.end)), span)
        for event in evidence.study.events
    )
