"""Which of several types to keep, and which to leave, where a question wants more or fewer than one.

In: `Evidence`, a `Scope`. Out: replies. What is told is what was seen: a type is left where every column of
it was outlasted by every column of half of the others, and kept in the order of how many it outlasted.
"""

import re
from collections.abc import Mapping, Sequence
from math import inf

from lyewitness.decline.deciding import key_of
from lyewitness.decline.group_lives import WATCHED_ALIKE
from lyewitness.decline.usable_lives import failed_before, told_together
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import YES_OR_NO
from lyewitness.findings.answer.side_by_side import SEEN, later_words, types_apart
from lyewitness.findings.answer.span_replies import WHICH
from lyewitness.findings.answer.use_claims import asked_spans
from lyewitness.findings.evidence import Evidence
from lyewitness.words.metrics import any_of
from lyewitness.words.phrases import down, hours, kind_of, listed, spelled

LEAVE = re.compile(
    r"\b(?:which|what|whom)\b[^.?!]*(?:\b(?:can|could|should|shall|may|must|would|do) (?:I|we|you)\b[^.?!]*"
    r"\b(?:rule out|exclude|drop|discard|cross (?:off|out)|eliminate|forget|leave out|strike)\b"
    r"|\bbe (?:ruled out|excluded|dropped|discarded|left out)\b)",
    re.IGNORECASE,
)
"""How a question sounds that asks which types are out; a drop in retention is none."""
_OF_TYPES = (
    r"(?<!pH )\b(two|three|2|3)\b"
    r"(?![.,]\d|\s*(?:h|hours?|days?|weeks?|months?|injections?|runs?|columns?|times|µm|mm|bar|%|°))"
)
"""A number of types, and not of days, injections or columns of one type."""
KEEP = re.compile(
    r"\b(?:stock|keep|take|carry|order|buy|shortlist|choose|pick|go on with)\b[^.?!]{0,40}?"
    + _OF_TYPES
    + rf"|\b(?:the )?(?:best|top) {_OF_TYPES}|\bwhich {_OF_TYPES}",
    re.IGNORECASE,
)
"""How a question sounds that asks for the best two or three."""
NUMBERS = {"two": 2, "2": 2, "three": 3, "3": 3}
LEAST_TYPES = 3
"""Of two types one is the better: that is an order, and no selection."""


def selecting_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return which types to leave, or which two or three to keep; nothing where neither is asked."""
    text = scope.question.text
    groups = scope.compared
    if len(groups) < LEAST_TYPES or scope.named:
        return []
    outlasted = {group: _outlasted(evidence, scope, group) for group in groups}
    if LEAVE.search(text):
        return _left(evidence, scope, outlasted)
    if found := KEEP.search(text):
        wanted = NUMBERS[next(one for one in found.groups() if one).lower()]
        return _kept(evidence, scope, outlasted, wanted) if wanted < len(groups) else []
    return []


def chooses_for_span(evidence: Evidence, scope: Scope) -> bool:
    """Return whether it is asked which of many types last one span: each is sorted by that alone."""
    text = scope.question.text
    spans = {span for _, span in asked_spans(evidence, scope)}
    many = len(scope.asked or scope.groups) >= MANY_TYPES
    return many and len(spans) == 1 and WHICH.search(text) is not None and not YES_OR_NO.search(text)


MANY_TYPES = 4
"""From so many on, a sentence on each of how it stands to a span is a list that nobody reads."""


def _outlasted(evidence: Evidence, scope: Scope, group: str) -> frozenset[str]:
    """Return the types every column of which was outlasted by every column of `group`, as far as watched."""
    others = [other for other in scope.compared if other != group]
    apart = {other: types_apart(evidence, scope, group, other) for other in others}
    return frozenset(o for o, one in apart.items() if one is not None and one.longer == group)


def _left(evidence: Evidence, scope: Scope, outlasted: Mapping[str, frozenset[str]]) -> list[str]:
    """Return `rule out A (…) and B (…): every column of C and D outlasted theirs; keep C and D`."""
    number = {group: sum(group in own for own in outlasted.values()) for group in outlasted}
    out = [group for group in outlasted if 2 * number[group] >= len(outlasted) - 1]
    kept = [group for group in outlasted if group not in out]
    if not out or not kept:
        return [f"by these data none: {SEEN} no type was outlasted by all columns of most others"]
    by = [group for group in kept if set(out) <= outlasted[group]]
    told = listed(f"{group} ({_lives(evidence, scope, group)})" for group in out)
    why = f": every column of {listed(by)} outlasted them" if by else ""
    rest = listed(f"{group} ({_lives(evidence, scope, group)})" for group in kept)
    return [f"rule out {told}{why} in this test", f"keep {rest}", *_few(evidence, out)]


def _kept(
    evidence: Evidence, scope: Scope, outlasted: Mapping[str, frozenset[str]], wanted: int
) -> list[str]:
    """Return `take A and B`, with what they did; where places are shared, between which they stand."""
    order = sorted(outlasted, key=lambda group: -len(outlasted[group]))
    last = len(outlasted[order[wanted - 1]])
    sure = [group for group in order if len(outlasted[group]) > last]
    level = [group for group in order if len(outlasted[group]) == last]
    if len(sure) + len(level) == wanted:
        sure, level = order[:wanted], []
    lives = {group: f"{group} ({_lives(evidence, scope, group)})" for group in order}
    others = [group for group in order if group not in sure and group not in level]
    if not sure and len(level) == len(order):
        return []
    said = [f"take {listed(lives[group] for group in sure)}"] if sure else []
    if level:
        rest = wanted - len(sure)
        places = "the other place" if rest == 1 else f"the other {spelled(rest)} places"
        cheapest = _cheapest(evidence, level)
        by_price = f", and {cheapest} costs least to buy" if cheapest else ""
        either = listed((lives[group] for group in level), "or")
        which = f"{either}: their order these data leave open{by_price}"
        said = [f"{said[0]}, and for {places} {which}"] if said else [f"take {spelled(wanted)} of {which}"]
    if others:
        said.append(f"not {listed((lives[group] for group in others), 'nor')}")
    return [*said, *_few(evidence, order)]


def _lives(evidence: Evidence, scope: Scope, group: str) -> str:
    """Return when the columns of a type failed, and how long the others held: `41 and 50 h`."""
    lives = scope.usable_lives(evidence, group, True)
    failed = failed_before(lives, inf)
    held = [life.low for life in lives if life not in failed]
    told = told_together(failed) if failed else ""
    said = [f"failed {told}" if _within(told) else f"failed at {told}"] if told else []
    if held:
        each = f"{spelled(len(held))} " if failed or len(held) > 1 else ""
        ends = [hours(down(end)) for end in (min(held), max(held))]
        apart = max(held) > WATCHED_ALIKE * min(held)
        span = f"{ends[0]} to {ends[1]}" if apart else ends[0]
        later = later_words(lives).rstrip(",")
        seen = [one for one in lives if one.high is None and one.decline.life.bracket_h[1] is not None]
        limit = f" by {any_of(dict.fromkeys(key_of(one.decline) for one in seen))}" if later and seen else ""
        said.append(f"{each}held for at least {span}{later}{limit}")
    return ", ".join(said) or "no life is known"


def _within(told: str) -> bool:
    return told.startswith(("between", "all between", "each between", "before", "two between", "one between"))


def _cheapest(evidence: Evidence, groups: Sequence[str]) -> str:
    """Return the type of the lowest price, where each has one; empty where they cost alike."""
    prices = {}
    for group in groups:
        own = {column.price for column in evidence.study.replicates(group)}
        if len(own) != 1 or None in own:
            return ""
        prices[group] = own.pop() or 0.0
    least = min(prices.values())
    cheap = [group for group, price in prices.items() if price == least]
    return kind_of(cheap[0]) if len(cheap) == 1 else ""


def _few(evidence: Evidence, groups: Sequence[str]) -> list[str]:
    """Return that a few columns a type stand behind the selection."""
    counts = {len(evidence.study.replicates(group)) for group in groups}
    if max(counts) > 2:
        return []
    each = "one column" if counts == {1} else "two columns at most"
    return [f"{each} of a type stand behind this: take it as a screening"]
