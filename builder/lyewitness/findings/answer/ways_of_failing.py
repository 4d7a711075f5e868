"""How columns fail, where a question asks that: what the signs point to, and what passed its limit in turn.

In: `Evidence`, a `Scope`, the claims on signs. Out: replies. That retention stayed while plates fell tells
who has such a column more than any life does.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from math import inf

from lyewitness.decline.deciding import key_of
from lyewitness.decline.records import GroupLife
from lyewitness.decline.usable_lives import failed_before, told_together, usable_life
from lyewitness.findings.answer.lives_words import is_wide
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.symptoms import symptoms_told
from lyewitness.findings.answer.use_claims import by_limit, failures
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Because, Claim
from lyewitness.findings.signs.sudden_losses import sudden_losses
from lyewitness.words.lives import tell
from lyewitness.words.metrics import ANY_LIMIT, metric_name, the_metric
from lyewitness.words.numbers import UP, bound, with_unit
from lyewitness.words.phrases import (
    columns_of,
    kind_of,
    listed,
    mid_sentence,
    sentences_of,
    share_of,
    spelled,
)

_SUBJECT = r"(?:they|it|them|(?:these|those|the|our|your|such|a) (?:\w+ ){1,4}?|these|those)"
_AUXILIARY = r"(?:do |does |did |will |would |do you think )?"
ASKED = re.compile(
    rf"\bhow {_AUXILIARY}{_SUBJECT} ?(?:go|goes|went|fail|fails|failed|die|dies)\b"
    r"|\bwhat (?:would|do|will|should|can|did) (?:we|one|you|I) (?:see|notice|observe) first\b"
    r"|\bwhat (?:should|do|must|can|to) (?:(?:we|one|I|they|the \w+) )?(?:watch|look (?:at|for|out))\b"
    r"|\b(?:first|early|warning) signs?\b|\bwhat (?:goes|fails|gives way|suffers) first\b"
    r"|\bwhy (?:do|does|did) \w[\w ]{0,40} (?:fail|die)\b|\bhow .{0,40}\bfails?\b",
    re.IGNORECASE,
)
"""How a question sounds that asks how columns fail, and by what one sees it."""
MOST_NAMED = 3
"""Limits that are told in turn; the table of lives has all."""


def asks_ways(text: str) -> bool:
    """Return whether a question asks how columns fail, or whether what was seen on one is how."""
    return ASKED.search(text) is not None or bool(symptoms_told(text))


WATCH = re.compile(r"\b(?:watch|look (?:at|for|out)|keep an eye|monitor)\b", re.IGNORECASE)
"""How it sounds that a question asks what to look at."""


def asks_what_to_watch(text: str) -> bool:
    """Return whether a question on how columns fail asks what to watch."""
    return asks_ways(text) and WATCH.search(text) is not None


def ways_replies(evidence: Evidence, scope: Scope, signs: Sequence[Claim]) -> list[str]:
    """Return how the columns of each group that is asked about failed; nothing where that is not asked."""
    if not asks_ways(scope.question.text):
        return []
    groups = scope.about
    if len(groups) > 1:
        # A sentence for each of several types nobody reads to its end.
        most = 2 if len(groups) <= FEW else 1
        turns = {group: words for group in groups if (words := _in_short(evidence, scope, group, most))}
        causes = {group: _cause(*_pointing(evidence, group, signs)) for group in turns}
        named = [cause for cause in causes.values() if cause]
        watch = asks_what_to_watch(scope.question.text)
        lead = "watch what passed its limit first: " if watch else "first to pass its limit was, "
        if len({*named}) == len(named):
            ways = [
                f"{t}, where the signs point to {causes[g]}" if causes[g] else t for g, t in turns.items()
            ]
            return [f"{lead}{'; '.join(ways)}"] if ways else []
        on = {cause: [columns_of(g) for g, own in causes.items() if own == cause] for cause in named}
        pointing = listed(f"to {cause} on {listed(where)}" for cause, where in on.items())
        return [f"{lead}{'; '.join(turns.values())}", f"the signs point {pointing}"]
    said = []
    for group in groups:
        first, more = _pointing(evidence, group, signs)
        # What speaks against it the report tells; what is not excluded belongs to what is named.
        said += [one for one in (first, *more) if one]
        said += _in_turn(evidence, scope, group)
        said += _suddenly(evidence, group, said)
    return said


def _suddenly(evidence: Evidence, group: str, said: Sequence[str]) -> list[str]:
    """Return `the plates fell suddenly, by 55 %, most of it between 68 and 79 h on S1`.

    Nothing where what was `said` before tells it.
    """
    losses, columns = sudden_losses(evidence), [column.id for column in evidence.study.replicates(group)]
    untold = [
        one for one in columns if one in losses and not any(losses[one].words in words for words in said)
    ]
    fell = listed(f"{losses[one].words} on {one}" for one in untold)
    return [f"the plates fell suddenly, {fell}"] if fell else []


def _haste(evidence: Evidence, columns: Sequence[str]) -> str:
    """Return `, suddenly (most of the lost plates within 24 h on each)`, where it was so of all of them."""
    losses = sudden_losses(evidence)
    took = sorted(losses[one].end_h - losses[one].begin_h for one in columns if one in losses)
    if not took or len(took) < len(columns):
        return ""
    span = with_unit(bound(took[-1], 2, UP), "h") + " on each" * (len(took) > 1)
    return f", suddenly (most of the lost plates within {span})"


def _pointing(evidence: Evidence, group: str, signs: Sequence[Claim]) -> tuple[str, list[str]]:
    """Return to what the signs point on the columns of a group, and what is not excluded."""
    columns = {column.id for column in evidence.study.replicates(group)}
    own = [one for one in signs if {*map(_column_of, filter(_is_sign, one.because))} <= columns]
    own.sort(key=lambda one: one.strength == "not settled")
    if not own:
        return "", []
    first, *more = sentences_of(own[0].text.replace("the signs also point", "the signs point", 1))
    return first.rstrip("."), [one.rstrip(".") for one in more if one.startswith("Not excluded")]


FEW = 3
"""Types of which a sentence holds two limits each."""


def _in_short(evidence: Evidence, scope: Scope, group: str, most: int) -> str:
    """Return `on the A columns, the pressure (95 h, 44 to 201), then …`: what they passed first."""
    lives = scope.usable_lives(evidence, group, every_limit=True)
    gone = failed_before(lives, inf)
    first = _passed_in_turn(evidence, group)
    if not gone and not first:
        return f"no limit on {columns_of(group)}" if lives else ""
    turn = f"on {columns_of(group)}, {', then '.join(words for _, words in first[:most])}"
    # What ended most columns, the first of them first, may have no life of a group, and so stand in no turn.
    ended = Counter(one.failed_by.series.metric for one in gone if one.failed_by is not None)
    if not first or (ended and ended.most_common(1)[0][0] != first[0][0]):
        metrics = dict.fromkeys(the_metric(*key_of(one.failed_by)) for one in gone if one.failed_by)
        which = share_of(len(gone), len(lives), f"{kind_of(group)} column")
        alone = f"{next(iter(metrics))} ({told_together(gone)})"
        turn = f"on {which}, {alone}" if len(metrics) == 1 else f"on {which} ({by_limit(gone)})"
    return turn + _haste(evidence, [one.column for one in gone])


def _cause(pointing: str, more: Sequence[str]) -> str:
    """Return what the signs point to, with what is not excluded; empty where they point to nothing."""
    _, found, what = pointing.partition("the signs point to ")
    return what + (f" ({mid_sentence(more[0])})" if more else "") if found else ""


def _is_sign(link: Because) -> bool:
    return link.kind == "sign"


def _column_of(link: Because) -> str:
    return link.target.partition("/")[0]


def _passed_in_turn(evidence: Evidence, group: str) -> list[tuple[str, str]]:
    """Return the limits that the columns of a group passed, metric and words, the first first."""
    own = [
        life for life in evidence.judgement.group_lives if life.group == group and life.metric != ANY_LIMIT
    ]
    first: dict[str, GroupLife] = {}
    for life in sorted(own, key=lambda one: one.life.hours.value or float("inf")):
        if life.life.state == "reached" and life.life.hours.value is not None:
            first.setdefault(life.metric, life)
    return [
        (life.metric, f"{the_metric(life.marker, life.metric)} ({_lived(evidence, life)})")
        for life in list(first.values())[:MOST_NAMED]
    ]


def _lived(evidence: Evidence, life: GroupLife) -> str:
    """Return the life of a group without brackets, `30 h, 23 to 38`; a wide one by its columns."""
    if is_wide(life):
        declines = [evidence.decline(column, life.marker, life.metric) for column in life.columns]
        own = [one for d in declines if d is not None and (one := usable_life([d])) is not None]
        if failed := failed_before(own, inf):
            which = f"{spelled(len(failed))} of {spelled(len(own))}: " if len(failed) < len(own) else ""
            return f"{which}{told_together(failed)}"
    return tell(life.life).replace(" (", ", ").replace(")", "")


def _in_turn(evidence: Evidence, scope: Scope, group: str) -> Iterator[str]:
    """Yield which limits the columns of a group passed, the first first, and which they kept."""
    # What tells of all limits together is none of them.
    own = [
        life for life in evidence.judgement.group_lives if life.group == group and life.metric != ANY_LIMIT
    ]
    told = [words for _, words in _passed_in_turn(evidence, group)]
    kept = dict.fromkeys(
        metric_name(life.metric)
        for life in own
        if all(one.life.state == "not reached" for one in own if one.metric == life.metric)
    )
    if not told:
        lives = scope.usable_lives(evidence, group, every_limit=True)
        if gone := failed_before(lives, inf):
            which, when = failures(group, lives, gone)
            yield f"{which} passed a limit ({when})"
        return
    then = f", then {listed(told[1:])}" if told[1:] else ""
    stayed = f"; no column passed the limit on the {listed(kept, 'or')}" if kept else ""
    yield f"the first limit to be passed was that on {told[0]}{then}{stayed}"
