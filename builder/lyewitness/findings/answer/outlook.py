"""What a study that still runs shows so far, and what to expect of it: which limits are passed, when the next
ones will be, when to inject, what is wrong, whether stopping now would answer the question.

In: `Evidence`, the answers, the checks. Out: `Outlook`, and its lines in words.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from statistics import median

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Decline, Life
from lyewitness.findings.audit.sensitivity import counted_otherwise
from lyewitness.findings.evidence import Evidence, without_zone
from lyewitness.findings.medium.retention_by_ph import freed_of_ph
from lyewitness.findings.records import Answer, Check, ExpectedPassing, Outlook, Passing
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import when
from lyewitness.words.metrics import metric_of_marker, the_metric
from lyewitness.words.numbers import interval
from lyewitness.words.phrases import counted, exposure, hours, listed, mid_sentence, share_of, spelled

FURTHEST = 2.0
"""So many times the exposure that was run is looked ahead: a curve tells little of what lies further."""
STEPS_OVER_INTERVAL = 6
"""Injections over the interval in which a limit is expected to be passed, so that one falls near to it."""
SHORTEST_STEP_H = 1.0
"""A run with its equilibration takes a good part of an hour."""
LATE = 1.5
"""A column is late where it is more than so many usual steps behind the middle one of the others: the first
of a round, or one that runs ahead, makes nobody late."""
# What is gravest is told first; more at a time is counted, not read.
MOST_NAMED = 3
WATCHED = ("temperature-steady", "ph-steady", "flow-steady", "pressure-steady", "renewed")
"""Beginnings of the ids of checks that ask for a hand while the test runs."""
MOST_LETTERS = 120
"""A line that is read at a glance."""


def outlook_of(evidence: Evidence, answers: Sequence[Answer], checks: Sequence[Check]) -> Outlook | None:
    """Return the outlook; None of a study that has ended."""
    standing = evidence.standing
    if not standing.running:
        return None
    passed, expected = _passed(evidence), expected_passings(evidence)
    since, until, step = _injections(evidence, expected)
    return Outlook(
        reached_h=standing.reached_h,
        ends_h=standing.ends_h,
        look=standing.look,
        looks=standing.looks,
        passed=passed,
        expected=expected,
        inject_from_h=since,
        inject_every_h=step,
        wrong=tuple(_wrong(evidence, checks)),
        answered=bool(answers) and _is_answered(answers[0]),
        inject_until_h=until,
        questions=len(answers),
        questions_answered=sum(map(_is_answered, answers)),
        left_out=tuple(one.injection for one in evidence.doubtful),
    )


def _passed(evidence: Evidence) -> tuple[Passing, ...]:
    """Return every limit that a column has passed so far, the earliest first.

    What only doubtful injections show is told as that, what only they hide by the others.
    """
    surely = _reached(evidence)
    found = [one for one in evidence.judgement.declines if one.life.state == "reached"]
    seen = {_key(one) for one in found}
    sound = evidence.without_doubtful.declines if evidence.without_doubtful else ()
    found += [one for one in sound if _key(one) in surely - seen]
    found.sort(key=lambda one: one.life.hours.low or one.life.hours.value or 0.0)
    return tuple(
        Passing(
            one.series.column,
            one.series.marker,
            one.series.metric,
            when(one.life)
            if _key(one) in surely
            else f"{when(one.life)}, but not without doubtful injections",
            one.life.hours.value,
        )
        for one in found
    )


def _key(one: Decline) -> tuple[str, str, str]:
    return one.series.column, one.series.marker, one.series.metric


def _reached(evidence: Evidence) -> set[tuple[str, str, str]]:
    """Return column, marker and metric of the limits that were passed, doubtful injections left aside."""
    judged = evidence.without_doubtful or evidence.judgement
    return {_key(one) for one in judged.declines if one.life.state == "reached"}


@lru_cache(maxsize=2)
def expected_passings(evidence: Evidence) -> tuple[ExpectedPassing, ...]:
    """Return for each column that has passed none the limit that it is expected to pass next.

    The curve of many shapes is followed beyond the last injection, its band with it. Columns that were taken
    off pass none any more, and of a study that has ended nothing is expected. What a curve places before the
    column's last injection was not seen there: it lies behind already or ahead soon, and has no value.
    Doubtful injections are left out: one of another column bends the curve that is led on.
    """
    if not evidence.standing.running:
        return ()
    reached = evidence.standing.reached_h
    study, measurements = counted_otherwise(
        evidence.study,
        evidence.measurements,
        dict.fromkeys((one.injection for one in evidence.doubtful), False),
    )
    ahead = max(FURTHEST * reached, evidence.standing.ends_h or 0.0)
    choices = replace(study.choices, extrapolate_to_h=ahead)
    further = judge(replace(study, choices=choices), measurements)
    # A bottle that is renewed comes back: its course is led on as no column's.
    freed = {_key(one): one for one in freed_of_ph(study, measurements, further.declines)}
    gone = {column for column, _, _ in _reached(evidence)}
    gone |= {column.id for column in study.columns if column.ended is not None}
    soonest: dict[str, Decline] = {}
    for decline in further.declines:
        one = freed.get(_key(decline), decline)
        value = one.life.hours.value
        if one.series.column in gone or one.limit is None or value is None:
            continue
        known = soonest.get(one.series.column)
        if known is None or _when(one, ahead) < _when(known, ahead):
            soonest[one.series.column] = one
    return tuple(
        ExpectedPassing(
            one.series.column,
            one.series.marker,
            one.series.metric,
            _ahead(one.life, _now_h(evidence, one.series.column)),
            _key(one) in freed,
        )
        for one in sorted(soonest.values(), key=lambda one: one.life.hours.value or ahead)
    )


def _when(one: Decline, ahead: float) -> tuple[bool, float]:
    """Return a key by which what the last injections show to be past comes before forecasts."""
    past = (
        one.life.state == "unclear" and one.life.bracket_h[1] is not None and one.life.recovered_h[1] is None
    )
    return not past, one.life.hours.value or ahead


def _last_h(evidence: Evidence, column: str) -> float:
    """Return the exposure of a column's last injection, hours, whether it counts or was left out."""
    rows = evidence.measurements.rows
    return max((row.exposure_h for row in rows if row.column == column), default=0.0)


def _now_h(evidence: Evidence, column: str) -> float:
    """Return the exposure that a column has come to, hours: that of its last injection, or what the furthest
    has come to in a round of which its own injection is still to come."""
    last = _last_h(evidence, column)
    furthest = evidence.standing.reached_h - _began_later_h(evidence).get(column, 0.0)
    return furthest if 0 < furthest - last <= LATE * _usual_step(evidence) else last


def _ahead(life: Life, now_h: float) -> Estimate:
    """Return when a limit is passed, never before now; without a value where it is past or soon."""
    low = max(life.hours.low or 0.0, life.bracket_h[0] or 0.0, now_h)
    # What lies nearer than the next injection can is no forecast.
    if life.hours.value is None or life.hours.value <= now_h + SHORTEST_STEP_H:
        return Estimate(None, now_h, life.hours.high if (life.hours.high or 0.0) > now_h else None)
    return replace(life.hours, low=min(low, life.hours.value))


def _injections(
    evidence: Evidence, expected: Sequence[ExpectedPassing]
) -> tuple[float | None, float | None, float | None]:
    """Return from and to which exposure, and how often, to inject so that the next crossing is caught."""
    reached, usual = evidence.standing.reached_h, _usual_step(evidence)
    if not expected:
        return (reached + usual, None, usual) if usual else (None, None, None)
    nearest = expected[0].hours
    low = max(nearest.low or reached, reached)
    high = _latest_h(nearest, low)
    # Where it may be past already, it lies since the last injection, and no end can be set.
    since = low if nearest.value is not None else min(low, _last_h(evidence, expected[0].column))
    step = max(SHORTEST_STEP_H, (high - since) / STEPS_OVER_INTERVAL)
    step = min(step, usual) if usual else step
    ends = evidence.standing.ends_h
    others = max((_latest_h(one.hours, low) for one in in_time(expected, ends)[1:]), default=high)
    until = max(high, others if ends is None else min(others, ends))
    return low, until if nearest.value is not None and until >= low + step else None, step


def _latest_h(when_: Estimate, low: float) -> float:
    """Return when a limit is passed at the latest, hours; where no end is known, as far above as below."""
    return when_.high if when_.high is not None else 2 * (when_.value or low) - low


def in_time(expected: Sequence[ExpectedPassing], ends_h: float | None) -> Sequence[ExpectedPassing]:
    """Return the nearest passing that is expected, and those that are before the planned end."""
    return [
        one
        for place, one in enumerate(expected)
        if not place or ends_h is None or (one.hours.value or 0.0) <= ends_h
    ]


def _usual_step(evidence: Evidence) -> float:
    """Return the usual exposure from one injection of a column to its next, hours; 0 where there is none."""
    steps = [b - a for c in evidence.study.columns for a, b in pairwise(evidence.hours(c.id)) if b > a]
    return float(median(steps)) if steps else 0.0


def _wrong(evidence: Evidence, checks: Sequence[Check]) -> Iterator[str]:
    """Yield what somebody should look at: columns that are behind, doubtful injections, logs on the move."""
    usual = _usual_step(evidence)
    later = _began_later_h(evidence)
    # An injection that was left out was made all the same.
    last = {c.id: _last_h(evidence, c.id) for c in evidence.study.columns if c.ended is None}
    stands = {name: at + later.get(name, 0.0) for name, at in last.items()}
    for name, own in stands.items():
        others = [at for other, at in stands.items() if other != name]
        behind_h = median(others) - own if others else 0.0
        if usual and behind_h > LATE * usual:
            yield f"{name} was last injected at {exposure(last[name])}, {hours(behind_h)} behind the others"
    found = [one for one in checks if one.result in ("problem", "caution") and one.id.startswith(WATCHED)]
    # Asked again for another question, a check says the same.
    for detail in dict.fromkeys(one.detail for one in found):
        # A course told of each column is the page's; here it is enough that it moves.
        told = detail.rstrip(".")
        yield mid_sentence(told if len(told) <= MOST_LETTERS else told.partition(": ")[0])
    for doubtful in evidence.doubtful:
        yield f"{doubtful.injection} is doubtful ({doubtful.named}: {doubtful.why})"


def _began_later_h(evidence: Evidence) -> dict[str, float]:
    """Return by how many hours each column was begun after the first; those of unknown start are left out."""
    starts = {
        column.id: without_zone(column.exposure_start)
        for column in evidence.study.columns
        if column.exposure_start is not None
    }
    first = min(starts.values(), default=None)
    return {name: (start - first).total_seconds() / 3600 for name, start in starts.items() if first}


def _is_answered(answer: Answer) -> bool:
    """Say whether a question is answered as surely as it can be: what it asks for is settled as shown.

    That is whether columns last so long, where it asks for a time, else every pair.
    """
    kind = "-span-" if answer.spans else "-pair-"
    asked = [claim for claim in answer.claims if kind in claim.id]
    return bool(asked) and all(claim.strength == "shown" for claim in asked)


def _stopping_line(outlook: Outlook) -> str:
    """Return what stopping now would answer: the question, or how many of several."""
    if outlook.questions < 2:
        return f"Stopping now would {'' if outlook.answered else 'not '}answer the question."
    answered = share_of(outlook.questions_answered, outlook.questions, "question")
    return f"Stopping now would answer {answered}."


def outlook_lines(outlook: Outlook) -> tuple[str, ...]:
    """Return the outlook in a few lines."""
    of = f" of {hours(outlook.ends_h)}" if outlook.ends_h is not None else ""
    look = f", at look {outlook.look} of {outlook.looks}" if outlook.look else ""
    lines = [f"The test is running: {hours(outlook.reached_h)}{of}{look}."]
    lines.append(_passed_line(outlook))
    if outlook.expected:
        lines.append(f"{expected_together(outlook.expected[:MOST_NAMED])}.")
    else:
        ahead = max(FURTHEST * outlook.reached_h, outlook.ends_h or 0.0)
        lines.append(
            f"Nothing measured so far tells when a further limit will be passed, up to {hours(ahead)}."
        )
    if outlook.left_out:
        lines.append(_left_out_line(outlook.left_out))
    if outlook.inject_every_h is not None and outlook.inject_from_h is not None:
        lines.append(_injecting_line(outlook, outlook.inject_every_h, outlook.inject_from_h))
    shown, more = outlook.wrong[:MOST_NAMED], len(outlook.wrong) - MOST_NAMED
    lines += [f"To be looked at: {one}." for one in shown]
    if more > 0:
        lines.append(f"{counted(more, 'point')} more should be looked at.")
    lines.append(_stopping_line(outlook))
    return tuple(lines)


def _left_out_line(names: Sequence[str]) -> str:
    """Return which injections what is expected does not rest on, with their number."""
    more = len(names) - MOST_NAMED
    named = listed([*names[:MOST_NAMED], *([f"{spelled(more)} more"] if more > 0 else [])])
    number = counted(len(names), "doubtful injection").capitalize()
    return f"{number} ({named}) {'is' if len(names) == 1 else 'are'} left out of what is expected."


def _injecting_line(outlook: Outlook, every_h: float, from_h: float) -> str:
    """Return how often to inject, from when and until when."""
    line = f"Inject every {hours(every_h)} from {exposure(from_h)}"
    if not outlook.expected:
        return f"{line} on."
    names = [one.column for one in in_time(outlook.expected, outlook.ends_h)]
    if len(names) > MOST_NAMED:
        passed = f"until the last of {counted(len(names), 'column')} has passed its limit"
    else:
        passed = (
            f"until {listed(names)} {'has passed its limit' if len(names) == 1 else 'have passed theirs'}"
        )
    if outlook.inject_until_h is None:
        return f"{line} on, {passed}."
    return f"{line} to {exposure(outlook.inject_until_h)}, or {passed}."


def expected_words(one: ExpectedPassing) -> str:
    """Return `K1 is expected to pass the limit on … after 124 h (113 to 140)`, or that it is past or soon."""
    limit = f"the limit on {the_metric(one.marker, one.metric)}"
    limit += ", freed of the logged pH," if one.freed_of_ph else ""
    if one.hours.value is None:
        return f"{one.column} is past {limit} already, or soon will be"
    return f"{one.column} is expected to pass {limit} after {interval(one.hours, 'h')}"


def expected_together(some: Sequence[ExpectedPassing]) -> str:
    """Return the same of several, what is alike said once: `K1 is expected … after 124 h, K2 after 130 h`."""
    first, *others = some
    alike = {(one.marker, one.metric, one.hours.value is None) for one in some}
    if len(alike) > 1 or first.hours.value is None:
        return listed(expected_words(one) for one in some)
    told = (f"{one.column} after {interval(one.hours, 'h')}" for one in others)
    return listed([expected_words(first), *told])


def _passed_line(outlook: Outlook) -> str:
    passed = outlook.passed
    if not passed:
        perhaps = any(one.hours.value is None for one in outlook.expected)
        return f"No column has {'surely ' if perhaps else ''}passed a limit so far."
    columns = list(dict.fromkeys(one.column for one in passed))
    first = {one.column: one for one in reversed(passed)}
    told = [f"{c} ({metric_of_marker(first[c].marker, first[c].metric)}, {first[c].told})" for c in columns]
    return f"Past a limit: {listed(told)}."
