"""What was done to a column beside the stress, a flush or storage, where a question asks about that.

In: `Evidence`, a `Scope`. Out: replies: what was seen of it in this test, or that it was not tested.
"""

import re
from collections.abc import Iterator, Sequence
from statistics import fmean

from lyewitness.decline.deciding import key_of
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import Decline
from lyewitness.decline.usable_lives import told_together, usable_life
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import read_question
from lyewitness.findings.evidence import Evidence
from lyewitness.study.events import event_hours
from lyewitness.study.records import Event
from lyewitness.words.lives import when
from lyewitness.words.metrics import the_metric
from lyewitness.words.phrases import exposure, hours, kind_of, listed, percent

FLUSH = re.compile(
    r"\b(?:flush\w*|rins(?:e|ed|es|ing)|recover\w*|regenerat\w*|revive\w*|c[ao]mes? back|came back)\b",
    re.IGNORECASE,
)
STORAGE = re.compile(
    r"\b(?:stored?|stores|storage|storing|pump off|without flow)\b"
    r"|\b(?:leave|left|stand|stood|stays?|sits?)\b[^.?!]{0,60}\b(?:overnight|over (?:the )?(?:night|weekend)|"
    r"for (?:a|the|one|two|\d+) (?:nights?|weekends?|weeks?|days?))\b",
    re.IGNORECASE,
)
"""How it sounds that a column stands in its buffer."""
PLATES = "plate_number_half_height"
MOVED = 5.0
"""Percent by which plates must have moved at a flush to be told: less is what two injections differ by."""
MOST_NAMED = 3


PART = re.compile(
    r"\b(?:frits?|filters?|fittings?|inlets?|guards?|sieves?)\b[^.?!]*\bor\b[^.?!]*\b(?:packing|bed|columns?|phase)\b"
    r"|\b(?:packing|bed|columns?|phase)\b[^.?!]*\bor\b[^.?!]*\b(?:frits?|filters?|fittings?|inlets?|guards?)\b",
    re.IGNORECASE,
)
"""How a question sounds that asks whether a part failed or the packing."""
FAULT = re.compile(
    r"\b(?:fail\w*|faults?|clog\w*|block\w*|blame|cause[sd]?|broke\w*|gone|ruined|dead|died?|went)\b",
    re.IGNORECASE,
)
"""Beside it: who weighs a guard against none asks of no fault."""
RISEN = 1.1
"""How far pressure must have fallen at an exchange to be told: pumps and ovens move it by less (common
practice)."""


def asks_treatment(scope: Scope) -> bool:
    """Return whether a question is about a flush, storage or a part that was exchanged, and not about what to
    take or what it costs."""
    text = scope.question.text
    asks = read_question(text, scope.groups)
    if PART.search(text) and FAULT.search(text):
        return not asks.cost
    told = FLUSH.search(text) is not None or STORAGE.search(text) is not None
    return told and not (asks.choice or asks.cost)


def treatment_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return what this test shows of a flush, or of storage; nothing where neither is asked about."""
    if not asks_treatment(scope):
        return []
    if PART.search(scope.question.text) and FAULT.search(scope.question.text):
        return list(_exchanged(evidence, scope))[:MOST_NAMED]
    if STORAGE.search(scope.question.text):
        return _stored(evidence, scope)
    found = list(_flushed(evidence, scope))
    return found[:MOST_NAMED] or ["we flushed no column in this test, so that we cannot tell"]


RINSE = "common practice is to rinse the buffer out and to store the column in the organic solvent"
"""What to do with a column that is to stand (common practice); its leaflet says in which solvent."""


def _stored(evidence: Evidence, scope: Scope) -> list[str]:
    """Return that columns are better not left in the buffer, and what was seen of some that were."""
    stored = [one for one in evidence.study.events if one.kind == "storage"]
    told = dict.fromkeys(words for one in stored if (words := _stood(evidence, scope, one)))
    if not told:
        return [f"better not: we did not test it, and {RINSE}", "no column stood in its mobile phase here"]
    seen = listed(told)
    return [
        f"better not: we did not test it, and {RINSE}",
        f"in this test columns stood {seen}, which says little of other times",
    ]


def _exchanged(evidence: Evidence, scope: Scope) -> Iterator[str]:
    """Yield of each column of which a part was exchanged whether pressure and plates came back with it.

    What comes back with a part was the part; what stays away has left the packing.
    """
    text = scope.question.text
    found = PARTS.search(text)
    part = f"the {found[0].lower()}" if found else "the part"
    named = {one.id for one in evidence.study.columns if re.search(rf"\b{re.escape(one.id)}\b", text)}
    for group in scope.groups:
        for column in under_one_stress(evidence.study, group):
            if named and column.id not in named:
                continue
            events = [
                one
                for one in evidence.study.events
                if one.kind == "part exchanged" and column.id in one.columns
            ]
            # What one column alone got is its own; an injector serves many.
            least = min((len(event.columns) for event in events), default=0)
            for event in events:
                at = event_hours(event, column, evidence.study.events)
                if len(event.columns) == least and at is not None:
                    yield from _after_exchange(evidence, column.id, at[1], event.note, part)


PARTS = re.compile(r"\b(?:frit|filter|fitting|inlet|guard|sieve)\b", re.IGNORECASE)


def _after_exchange(evidence: Evidence, column: str, at_h: float, note: str, part: str) -> Iterator[str]:
    """Yield whether it was the part, with what came back, then what the packing had lost."""
    moved = _plates_moved(evidence, column, at_h)
    before, after = _pressure_beside(evidence, column, at_h)
    told = []
    if before is not None and after is not None and before > RISEN * after:
        told.append(f"the pressure fell from {before:.0f} to {after:.0f} bar")
    if abs(moved) >= MOVED:
        told.append(f"plates {'rose' if moved > 0 else 'fell'} by {percent(abs(moved))}")
    noted = f" (“{note.strip().rstrip('.')}”)" if note.strip() else ""
    what = f"at {exposure(at_h)} a part of {column} was exchanged{noted}"
    if not told:
        yield f"not {part}, as far as {column} tells: {what}, and neither pressure nor plates came back"
        return
    if moved < MOVED:
        yield f"{part} explains the pressure of {column}, not its plates: {what}, and then {listed(told)}"
        return
    yield f"{part}, as far as {column} tells: {what}, and then {listed(told)}"
    left = _left_of_plates(evidence, column, at_h)
    if left:
        yield f"what did not come back is the packing’s: {left}"


def _pressure_beside(evidence: Evidence, column: str, at_h: float) -> tuple[float | None, float | None]:
    """Return the last pressure in the day before an exchange and the first after it, bar."""
    key = (column, PRESSURE)
    found = [d for d in evidence.judgement.declines if (d.series.column, d.series.metric) == key]
    if not found:
        return None, None
    course = list(zip(found[0].series.exposure_h, found[0].series.value, strict=True))
    before = [float(bar) for hour, bar in course if at_h - DAY_H <= hour <= at_h]
    after = [float(bar) for hour, bar in course if at_h < hour]
    return before[-1] if before else None, after[0] if after else None


PRESSURE = "pressure_bar"
DAY_H = 24.0
"""Hours before an exchange within which what made it needful was seen."""


def _left_of_plates(evidence: Evidence, column: str, at_h: float) -> str:
    """Return what share of their first plates the retained markers had after an exchange, mean, %."""
    shares = []
    for marker in evidence.roles("neutral", "base", "acid"):
        rows = [row for row in evidence.rows(column, marker) if row.plate_number_half_height]
        after = [row for row in rows if row.exposure_h > at_h]
        if rows and after:
            shares.append((after[0].plate_number_half_height or 0) / (rows[0].plate_number_half_height or 1))
    return f"plates were at {percent(100 * fmean(shares))} of their first" if shares else ""


def _stood(evidence: Evidence, scope: Scope, event: Event) -> str:
    """Return `for 10 h from 26 h of exposure on, hot all the while`; empty where no column is asked about."""
    columns = [one for group in scope.groups for one in under_one_stress(evidence.study, group)]
    own = [one for one in columns if event.touches(one.id)]
    ends = [at for one in own if (at := event_hours(event, one, evidence.study.events)) is not None]
    begin, end = event.begin, event.end
    lasted = None
    if ends and event.exposes:
        lasted = ends[0][1] - ends[0][0]
    elif not isinstance(begin, float) and end is not None and not isinstance(end, float):
        lasted = (end - begin).total_seconds() / 3600
    if not ends or not lasted:
        return ""
    hot = ", hot all the while" if event.exposes else ""
    return f"for {hours(lasted)} from {exposure(ends[0][0])} of exposure on{hot}"


def _flushed(evidence: Evidence, scope: Scope) -> Iterator[str]:
    """Yield of each column that was flushed by itself what became of it, and of the others of its type."""
    for group in scope.groups:
        columns = under_one_stress(evidence.study, group)
        for column in columns:
            for event in evidence.study.events:
                at = event_hours(event, column, evidence.study.events)
                if event.kind == "flush" and event.columns and event.touches(column.id) and at is not None:
                    others = [one.id for one in columns if not event.touches(one.id)]
                    yield _after_flush(evidence, column.id, group, at[1], others)


def _after_flush(evidence: Evidence, column: str, group: str, at_h: float, others: Sequence[str]) -> str:
    moved = _plates_moved(evidence, column, at_h)
    rose = (
        f": its plates {'rose' if moved > 0 else 'fell'} by {percent(abs(moved))}"
        if abs(moved) >= MOVED
        else ""
    )
    said = f"{column} ({kind_of(group)}) was flushed at {exposure(at_h)} in this test{rose}"
    passed = [d for d in evidence.judgement.declines if d.series.column == column and _ends_after(d, at_h)]
    if not passed:
        last = evidence.hours(column)
        return f"{said}; it passed no further limit until {exposure(last[-1]) if last else 'its end'}"
    first = min(passed, key=lambda one: one.life.hours.value or at_h)
    said = f"for a while: {said}"
    said += f"; it passed the limit on {the_metric(*key_of(first))} {when(first.life)}"
    beside = [evidence.decline(one, *key_of(first)) for one in others]
    lives = [
        life for d in beside if d is not None and d.life.state == "reached" and (life := usable_life([d]))
    ]
    if lives:
        rest = "the others" if len(others) > 1 else "the other"
        said += f", {rest} of its type without a flush at {told_together(lives)}"
    return f"{said}; one column says little of yours, whose cause may be another"


def _ends_after(decline: Decline, at_h: float) -> bool:
    life = decline.life
    return decline.limit is not None and life.state == "reached" and (life.hours.low or 0.0) >= at_h


def _plates_moved(evidence: Evidence, column: str, at_h: float) -> float:
    """Return by how much the plates of the retained markers moved over a flush, %: 0 where nobody knows."""
    steps = []
    for marker in evidence.roles("neutral", "base", "acid"):
        rows = [row for row in evidence.rows(column, marker) if row.plate_number_half_height]
        before = [row for row in rows if row.exposure_h <= at_h]
        after = [row for row in rows if row.exposure_h > at_h]
        if before and after:
            steps.append(
                (after[0].plate_number_half_height or 0.0) / (before[-1].plate_number_half_height or 1.0)
            )
    return 100 * (fmean(steps) - 1) if steps else 0.0
