"""The lives of groups without the injections that look wrong and are counted.

In: `Evidence`, a `Scope`. Out: what they would be where that is another answer, else by how little they move.
"""

from math import ceil

from lyewitness.decline.records import GroupLife
from lyewitness.findings.answer.lives_words import each_life
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.evidence import Evidence, only_seen_shorter
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import listed

MOVED = 1.25
"""Ratio from which on a life that rests on doubtful injections is told without them, too: most lives are not
known to a quarter."""


def without_doubtful(evidence: Evidence, scope: Scope) -> list[str]:
    """Return the lives that would be others by far if doubtful injections did not count; empty for none."""
    if evidence.without_doubtful is None:
        return []
    again = {
        life.group: life
        for life in evidence.without_doubtful.group_lives
        if (life.marker, life.metric) == scope.deciding
    }
    moved = [
        after
        for group in scope.groups
        if (after := again.get(group)) is not None
        and (before := evidence.group_life(group, *scope.deciding)) is not None
        and _apart(before, after) > MOVED
        and not only_seen_shorter(before, after)
    ]
    touched = {column for life in moved for column in life.columns}
    column_of = {one.id: one.column for one in evidence.study.injections}
    counted_in = evidence.doubtful_in(scope.deciding)
    names = [one.injection for one in counted_in if column_of.get(one.injection) in touched]
    if not names:
        return []
    which = "which is" if len(names) == 1 else "which are"
    return [f"without {listed(names)}, {which} doubtful but counted, it would be {each_life(moved)}"]


UNMOVED = "no life here changes by more than"
"""How it is said that injections that look wrong weigh next to nothing: that belongs behind what weighs."""


def change_words(evidence: Evidence, scope: Scope) -> str:
    """Return `; without it no life here changes by more than 3 %`; empty where one would by far, or where
    that is not known."""
    if evidence.without_doubtful is None:
        return ""
    again = {
        life.group: life
        for life in evidence.without_doubtful.group_lives
        if (life.marker, life.metric) == scope.deciding
    }
    found = [(evidence.group_life(group, *scope.deciding), again.get(group)) for group in scope.groups]
    pairs = [(before, after) for before, after in found if before is not None and after is not None]
    known = [(a, b) for a, b in pairs if a.life.state == b.life.state and not only_seen_shorter(a, b)]
    most = max((_apart(before, after) for before, after in known), default=MOVED)
    if len(known) < len(found) or most >= MOVED:
        return ""
    share = with_unit(stated(max(1, ceil(100 * (most - 1)))), "%")
    return f"{UNMOVED} {share}"


def _apart(before: GroupLife, after: GroupLife) -> float:
    """Return the ratio of two lives, or of their bounds, as one or more."""
    ends = [life.life.hours.value or life.life.hours.low or 0.0 for life in (before, after)]
    return max(ends) / min(ends) if min(ends) > 0 else float(max(ends) > 0) * MOVED * 2
