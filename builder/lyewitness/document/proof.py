"""The way from words to the raw traces: the injections on either side of a life, laid over each other.

In: lives, claims, `Edition`. Out: `Link`s into the trace viewer, whose address names the injections.
"""

import json
from collections.abc import Collection, Iterable, Iterator, Sequence
from urllib.parse import quote

from lyewitness.decline.lives import first_past_h
from lyewitness.decline.records import Comparison, Decline, FirstFailure, GroupLife, Life
from lyewitness.decline.usable_lives import failed_by_h
from lyewitness.document.blocks import Link, Words
from lyewitness.document.edition import Edition
from lyewitness.findings.records import Because, Claim
from lyewitness.words.lives import tell
from lyewitness.words.metrics import metric_of_marker, metric_text
from lyewitness.words.numbers import fixed, with_unit
from lyewitness.words.phrases import exposure

MOST_TOGETHER = 24
"""Traces that one link lays over each other: beyond, nobody tells one from another."""


def viewer_address(edition: Edition, injections: Iterable[str]) -> str:
    """Return the address of the viewer with these injections, each once; empty where none has a trace."""
    named = ",".join(quote(quote(one, safe="")) for one in traced(edition, injections))
    return f"{edition.page('traces')}#show={named}" if named else ""


def sides_address(edition: Edition, declines: Iterable[Decline]) -> str:
    """Return the address of the viewer with the traces on either side of lives; empty where none has a trace.

    Lives by one limit are named with it: the viewer knows what to bring into view, and what it read there.
    """
    several = tuple(declines)
    href = viewer_address(edition, (name for one in several for name in sides_of(one)))
    return _by_limit(href, several)


def _by_limit(href: str, declines: Iterable[Decline]) -> str:
    """Return an address of the viewer with the limit that all these declines have in common, if any."""
    keys = {side_key(one) if one.limit is not None else "" for one in declines}
    key = keys.pop() if len(keys) == 1 else ""
    return f"{href}&limit={quote(quote(key, safe=''))}" if href and key else href


def side_key(decline: Decline) -> str:
    """Return what names a limit in an address of the viewer."""
    return f"{decline.series.marker}/{decline.series.metric}"


HALF_WIDTHS = 2.5
"""Shown of a peak to either side of its apex, in widths at half height: a Gaussian ends before 1.5 of them,
the tail of a peak with a symmetry factor of 2 before 2.5."""


def limits_seen(edition: Edition) -> str:
    """Return, as JSON that may stand in HTML, every limit that has lives with traces on either side.

    Of each its marker, name, how far from the apex its peak reaches, and what was read on these injections.
    """
    together: dict[str, list[Decline]] = {}
    for one in edition.declines.values():
        if one.limit is not None and traced(edition, sides_of(one)):
            together.setdefault(side_key(one), []).append(one)
    told = {key: _seen(edition, declines) for key, declines in together.items()}
    return json.dumps(told, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")


def _seen(edition: Edition, declines: Sequence[Decline]) -> dict[str, object]:
    first = declines[0].series
    sides = {name: told for one in declines for name, told in _told_on_sides(edition, one)}
    widths = [
        row.width_half_min
        for name in sides
        for row in edition.rows.get(name, ())
        if row.marker == first.marker and row.width_half_min is not None
    ]
    reach = round(HALF_WIDTHS * max(widths, default=0.0), 3)
    name = metric_of_marker(first.marker, first.metric)
    return {"marker": first.marker, "name": name, "reach": reach, "sides": sides}


def _told_on_sides(edition: Edition, decline: Decline) -> Iterator[tuple[str, tuple[str, str]]]:
    """Yield the injections that a life lies between, each with its side and its value."""
    series, life = decline.series, decline.life
    beyond = {first_past_h(decline), life.bracket_h[1], life.recovered_h[0]}
    within = {life.bracket_h[0], life.recovered_h[1]}
    for name in traced(edition, sides_of(decline)):
        place = series.injections.index(name)
        hours = float(series.exposure_h[place])
        end = "last" if place else "first"
        side = "beyond" if hours in beyond else "within" if hours in within else end
        yield name, (side, level_at(edition, decline, place))


def level_at(edition: Edition, decline: Decline, place: int) -> str:
    """Return a value as its limit is given: in percent of the reference, or in the metric's own unit."""
    limit = decline.limit
    if limit is not None and limit.at_least is None and limit.at_most is None:
        return with_unit(fixed(float(decline.percent[place]), 1), "%")
    return metric_text(decline.series.metric, float(decline.series.value[place]), edition.signal_unit)


def traced(edition: Edition, injections: Iterable[str]) -> tuple[str, ...]:
    """Return those that have a trace, each once."""
    return tuple(dict.fromkeys(one for one in injections if one in edition.report.traces))


def sides_of(decline: Decline) -> tuple[str, ...]:
    """Return the injections that a life lies between, those of a return to the limit too.

    Where the limit was not seen to be passed, the first and the last.
    """
    series, life = decline.series, decline.life
    ends = (life.bracket_h[0], first_past_h(decline), life.bracket_h[1], *life.recovered_h)
    seen = sorted({hours for hours in ends if hours is not None})
    names = [name for hours in seen for name in _at(decline, hours)]
    return tuple(names) if len(names) > 1 else (*series.injections[:1], *names, *series.injections[-1:])


def _at(decline: Decline, hours: float) -> Iterator[str]:
    """Yield the injection at an exposure, hours."""
    pairs = zip(decline.series.injections, decline.series.exposure_h, strict=True)
    yield from [name for name, at in pairs if float(at) == hours][:1]


def story_of(decline: Decline) -> tuple[str, ...]:
    """Return the first injection, those on either side of the life, and the last, each once."""
    series = decline.series
    return tuple(dict.fromkeys((*series.injections[:1], *sides_of(decline), *series.injections[-1:])))


def injection_past(decline: Decline) -> str:
    """Return the first injection past the limit; empty where none was seen."""
    after = first_past_h(decline)
    return next(_at(decline, after), "") if after is not None else ""


def injection_within(decline: Decline) -> str:
    """Return the last injection within the limit before one was past it; empty where none was seen past."""
    before, after = decline.life.bracket_h[0], first_past_h(decline)
    return next(_at(decline, before), "") if before is not None and after is not None else ""


def named_sides(edition: Edition, decline: Decline) -> Words:
    """Return `last within the limit: S3-10, 30.3 h; first beyond it: S3-11, 35.4 h`; else nothing.

    Where later ones were within it again, from which on none was. Each leads to its page.
    """
    before, after = decline.life.bracket_h
    first = first_past_h(decline)
    if before is None or after is None or first is None:
        return ()
    sides = {"last_within": before, "first_past": first}
    if after != first:
        again = decline.life.recovered_h[1]
        sides |= {"within_again": again} if again is not None else {}
        sides["past_for_good"] = after
    told: list[str | Link] = []
    for key, hours in sides.items():
        name = next(_at(decline, hours), "")
        if not name:
            return ()
        told += [f"{'; ' if told else ''}{edition.say(f'proof.{key}')} ", edition.link("injection", name)]
        told[-1:] = [told[-1], f", {exposure(hours)}"]
    return tuple(told)


def proof_of_decline(edition: Edition, decline: Decline) -> Link | None:
    """Return the link from a life to the traces on either side of it; None where there are none."""
    href = sides_address(edition, [decline])
    if not href:
        return None
    return Link(_words(edition, decline.life, len(traced(edition, sides_of(decline)))), href)


def _words(edition: Edition, life: Life, count: int) -> str:
    """Return what was seen on either side, or what the link shows where the life itself tells that."""
    before, after = life.bracket_h
    told = tell(life)
    if before is not None and after is not None and life.recovered_h[1] is None:
        seen = edition.say("common.bracket", before=exposure(before), after=exposure(after))
        if life.hours.value is not None and life.state == "reached":
            return seen
        return edition.say("proof.these" if exposure(before) in told else "proof.both")
    if count < 2:
        return edition.say("proof.one")
    passed = any(hours is not None for hours in (after, *life.recovered_h))
    return edition.say("proof.these" if passed else "proof.ends")


def proof_of_group(edition: Edition, life: GroupLife) -> Link | None:
    """Return the link to the traces on either side of the lives of a group's columns."""
    keys = [(column, life.marker, life.metric) for column in life.columns]
    return proof_of_declines(edition, [edition.declines[key] for key in keys if key in edition.declines])


def proof_of_declines(edition: Edition, declines: Sequence[Decline]) -> Link | None:
    """Return the link to the traces on either side of several lives, group by group as the study names them.

    Of a group those that were passed; where none was, the first and last of all: a comparison has two sides.
    """
    if len(declines) == 1:
        return proof_of_decline(edition, declines[0])
    of_groups: dict[str, list[Decline]] = {}
    for one in _in_order(edition, declines):
        of_groups.setdefault(one.series.group, []).append(one)
    passed = {group: [one for one in own if _passed(one)] for group, own in of_groups.items()}
    shown = [one for group, own in of_groups.items() for one in passed[group] or own]
    names = traced(edition, (name for one in shown for name in sides_of(one)))
    if not names or len(names) > MOST_TOGETHER:
        return None
    said = "all_ends" if not any(passed.values()) else "sides" if all(passed.values()) else "sides_and_ends"
    return Link(edition.say(f"proof.{said}"), sides_address(edition, shown))


def _passed(decline: Decline) -> bool:
    return decline.life.state in ("reached", "unclear")


def _in_order(edition: Edition, declines: Iterable[Decline]) -> list[Decline]:
    """Return declines by their groups and columns, both in the order in which the study names them."""
    places = {column.id: place for place, column in enumerate(edition.report.study.columns)}
    return sorted(
        declines, key=lambda one: (edition.marks[one.series.group].place, places[one.series.column])
    )


def proof_of_claim(edition: Edition, claim: Claim) -> Link | None:
    """Return the link from a sentence to the traces that it rests on; None where it rests on others' words.

    Lives lead to the injections on either side, a single injection to those before and after it, other
    reasons to the first and last of the columns they name.
    """
    declines = list(dict.fromkeys(one for reason in claim.because for one in _declines_of(edition, reason)))
    if declines:
        return proof_of_declines(edition, declines)
    names = traced(edition, (name for reason in claim.because for name in _seen_by(edition, reason)))
    if not names or len(names) > MOST_TOGETHER:
        return None
    if len(names) > 1:
        return Link(edition.say("proof.all_ends"), viewer_address(edition, names))
    beside = traced(edition, neighbours(edition, names[0])) or names
    return Link(
        edition.say("proof.neighbours" if len(beside) > 1 else "proof.one"), viewer_address(edition, beside)
    )


def _declines_of(edition: Edition, reason: Because) -> Iterator[Decline]:
    """Yield the declines that a reason names, itself or by a pair of groups."""
    if reason.kind == "decline":
        column, _, rest = reason.target.partition("/")
        marker, _, metric = rest.rpartition("/")
        if found := edition.declines.get((column, marker, metric)):
            yield found
    elif reason.kind == "comparison":
        pair = next(
            (one for one in edition.report.judgement.comparisons if _name(one) == reason.target), None
        )
        if pair:
            about = (pair.marker, pair.metric)
            for (_, *own), one in edition.declines.items():
                if tuple(own) == about and one.series.group in (pair.group_a, pair.group_b):
                    yield one


def _name(pair: Comparison) -> str:
    return "/".join((pair.group_a, pair.group_b, pair.marker, pair.metric))


def _seen_by(edition: Edition, reason: Because) -> Iterator[str]:
    """Yield the injections that a reason of another kind points at."""
    if reason.kind == "injection":
        yield reason.target
        return
    column = reason.target.partition("/")[0] if reason.kind in ("column", "sign") else ""
    own = [one for one in edition.report.study.injections if one.column == column and one.used]
    own.sort(key=lambda one: edition.rows[one.id][0].exposure_h if one.id in edition.rows else 0.0)
    yield from (one.id for one in (*own[:1], *own[-1:]))


def neighbours(edition: Edition, injection: str) -> tuple[str, ...]:
    """Return an injection that counts between the one before and the one after it on its column.

    What looks wrong shows beside what does not; nothing for one that does not count.
    """
    rows = {name: rows[0] for name, rows in edition.rows.items() if rows}
    own = rows.get(injection)
    along = [row.injection for row in rows.values() if own and row.used and row.column == own.column]
    along.sort(key=lambda name: rows[name].exposure_h)
    place = along.index(injection) if injection in along else 0
    return tuple(along[max(place - 1, 0) : place + 2])


def first_story(edition: Edition) -> tuple[str, ...]:
    """Return first, last good, first bad and last injection of the first column to fail; none without one."""
    first = first_to_fail(edition)
    return traced(edition, story_of(first)) if first else ()


def first_to_fail(edition: Edition, groups: Collection[str] = ()) -> Decline | None:
    """Return the decline by which the first column failed, of these groups or of all; None where none did.

    One of which only a bracket is known had failed by the end of it: where that lies before the lives of the
    others it was the first.
    """
    failed = [
        (ended, first)
        for first in edition.report.judgement.first_failures
        if first.metric and (not groups or first.group in groups)
        if (ended := failed_by_h(first.life)) is not None
    ]
    if not failed:
        return None
    _, first = min(failed, key=lambda one: one[0])
    return edition.declines.get((first.column, first.marker, first.metric))


def both_sides(edition: Edition, decline: Decline) -> Words:
    """Return `: both traces overlaid`, the way to the two traces; nothing without such two."""
    sides = traced(edition, (one for one in (injection_within(decline), injection_past(decline)) if one))
    href = _by_limit(viewer_address(edition, sides), [decline]) if len(sides) == 2 else ""
    return (": ", Link(edition.say("proof.over_each_other"), href)) if href else ()


def as_early(edition: Edition, decline: Decline, groups: Collection[str] = ()) -> tuple[FirstFailure, ...]:
    """Return what ended the other columns of these groups that failed, too, and may have done so first."""
    high = decline.life.hours.high
    return tuple(
        first
        for first in edition.report.judgement.first_failures
        if first.metric
        and first.column != decline.series.column
        and (not groups or first.group in groups)
        and first.life.state == "reached"
        and (high is None or (first.life.hours.low or 0.0) < high)
    )


def may_be_earlier(edition: Edition, decline: Decline, groups: Collection[str] = ()) -> tuple[str, ...]:
    """Return the other columns of these groups that may have failed before that one: seen past a limit, but
    not surely, and not known to have held as long."""
    high = decline.life.hours.high
    if high is None:
        return ()
    found = dict.fromkeys(
        one.series.column
        for one in edition.report.judgement.declines
        if one.limit is not None
        and one.life.state == "unclear"
        and (not groups or one.series.group in groups)
        and (one.life.hours.low or 0.0) < high
        and injection_past(one)
    )
    return tuple(name for name in found if name != decline.series.column)
