"""How columns fail, where a question asks that: what the signs point to, and what passed its limit in turn.

In: `Evidence`, a `Scope`, the claims on signs. Out: replies. That retention stayed while plates fell tells
who has such a column more than any life does.
"""

import re
from collections.abc import Iterator, Sequence

from lyewitness.decline.records import GroupLife
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Because, Claim
from lyewitness.words.lives import tell
from lyewitness.words.metrics import ANY_LIMIT, metric_name, the_metric
from lyewitness.words.phrases import columns_of, listed, sentences_of

_SUBJECT = r"(?:they|it|these|those|them|(?:the|our|your|such|a) (?:\w+ ){1,4}?)"
_AUXILIARY = r"(?:do |does |did |will |would |do you think )?"
ASKED = re.compile(
    rf"\bhow {_AUXILIARY}{_SUBJECT} ?(?:go|goes|went|fail|fails|failed|die|dies)\b"
    r"|\bwhat (?:would|do|will|should|can|did) (?:we|one|you|I) (?:see|notice|observe) first\b"
    r"|\b(?:first|early|warning) signs?\b|\bwhat (?:goes|fails|gives way|suffers) first\b"
    r"|\bwhy (?:do|does|did) \w[\w ]{0,40} (?:fail|die)\b|\bhow .{0,40}\bfails?\b",
    re.IGNORECASE,
)
"""How a question sounds that asks how columns fail, and by what one sees it."""
MOST_NAMED = 3
"""Limits that are told in turn; the table of lives has all."""


def ways_replies(evidence: Evidence, scope: Scope, signs: Sequence[Claim]) -> list[str]:
    """Return how the columns of each group that is asked about failed; nothing where that is not asked."""
    if not ASKED.search(scope.question.text):
        return []
    said = []
    for group in scope.asked or scope.groups:
        columns = {column.id for column in evidence.study.replicates(group)}
        own = [one for one in signs if {*map(_column_of, filter(_is_sign, one.because))} <= columns]
        own.sort(key=lambda one: one.strength == "not settled")
        for claim in own[:1]:
            first, *more = sentences_of(claim.text.replace("the signs also point", "the signs point", 1))
            # What speaks against it the report tells; what is not excluded belongs to what is named.
            said += [
                one.rstrip(".") for one in (first, *more) if one is first or one.startswith("Not excluded")
            ]
        said += _in_turn(evidence, scope, group)
    return said


def _is_sign(link: Because) -> bool:
    return link.kind == "sign"


def _column_of(link: Because) -> str:
    return link.target.partition("/")[0]


def _in_turn(evidence: Evidence, scope: Scope, group: str) -> Iterator[str]:
    """Yield which limits the columns of a group passed, the first first, and which they kept."""
    # What tells of all limits together is none of them.
    own = [
        life for life in evidence.judgement.group_lives if life.group == group and life.metric != ANY_LIMIT
    ]
    first: dict[str, GroupLife] = {}
    for life in sorted(own, key=lambda one: one.life.hours.value or float("inf")):
        if life.life.state == "reached" and life.life.hours.value is not None:
            first.setdefault(life.metric, life)
    kept = dict.fromkeys(
        metric_name(life.metric)
        for life in own
        if all(one.life.state == "not reached" for one in own if one.metric == life.metric)
    )
    if not first:
        return
    told = [
        f"{the_metric(life.marker, life.metric)} ({tell(life.life).replace(' (', ', ').replace(')', '')})"
        for life in list(first.values())[:MOST_NAMED]
    ]
    of = f"on {columns_of(group)} " if len(scope.asked or scope.groups) > 1 else ""
    then = f", then {listed(told[1:])}" if told[1:] else ""
    stayed = f"; no column passed the limit on the {listed(kept, 'or')}" if kept else ""
    yield f"{of}the first limit to be passed was that on {told[0]}{then}{stayed}"
