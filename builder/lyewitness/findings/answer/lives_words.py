"""The lives of groups in words: of each how long it lasted, and to which limit.

In: `GroupLife`s, a `Scope`. Out: a clause. What is told alike is told once.
"""

from collections.abc import Sequence
from math import inf

from lyewitness.decline.records import GroupLife
from lyewitness.decline.usable_lives import failed_before, told_together
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.side_by_side import ended_words
from lyewitness.findings.evidence import Evidence
from lyewitness.words.lives import falling_past, falls_past, fell_past, has_own_verb, lasting, tell
from lyewitness.words.metrics import the_metric
from lyewitness.words.phrases import columns_of, kind_of, listed, share_of, typical_column


def longest_first(evidence: Evidence, scope: Scope) -> list[GroupLife]:
    """Return the known lives of the groups that a question names, or of all, the longest first."""
    groups = scope.asked or scope.groups
    lives = [life for group in groups if (life := evidence.group_life(group, *scope.deciding)) is not None]
    return sorted(lives, key=lambda life: -(life.life.hours.value or life.life.hours.low or 0.0))


def lives_words(evidence: Evidence, lives: Sequence[GroupLife], scope: Scope) -> str:
    """Return how long each group lasted, to the limit that decides: `typical lives until …: 62 h for A`."""
    until = f"until {order_words.passes(scope)}"
    if not scope.named:
        until = f"until {the_metric(*scope.deciding)} {falls_past(lives[0].limit)}"
    if len(lives) == 1:
        (life,) = lives
        ended = to_limit(life, the_metric(*scope.deciding))
        one = f"column {life.columns[0]}" if len(life.columns) == 1 else typical_column(life.group)
        lasts = "lasted" if len(life.columns) == 1 else "lasts"
        if life.life.state != "reached" and 0 < life.states.count("reached") < len(life.columns):
            # Of some the end was seen: a bound of all would hide how long the others held.
            return ended_words(scope.usable_lives(evidence, life.group, scope.by_any), life.group, "failed")
        if life.life.state != "reached":
            who = columns_of(life.group) if len(life.columns) > 1 else one
            return f"{who} {lasting(life.life)}{', ' if has_own_verb(life.life) else ' '}{ended}"
        return f"{one} {lasts} {tell(life.life)} {until if lasts == 'lasts' else ended}"
    what = "times" if scope.named else "lives"
    several = all(len(life.columns) > 1 for life in lives)
    bounds = any(life.life.state != "reached" for life in lives)
    # A bound is what the columns tested held: no typical life, whatever it stands beside.
    typical = f"typical {what}" if several and not bounds else f"{what} of the columns tested"
    loose = [life for life in lives if _is_loose(evidence, life, scope)]
    if len(loose) == len(lives):
        typical = f"{what} of the columns tested"
    plain = [life for life in lives if life not in loose]
    told = [each_life(plain)] if plain else []
    told += [_one_by_one(evidence, one, scope) for one in loose]
    return f"{typical} {until}: {'; '.join(told)}"


def _one_by_one(evidence: Evidence, life: GroupLife, scope: Scope) -> str:
    """Return the lives of columns that lie too far apart for a typical one: `41 and 50 h for both A columns`.

    Where some held, how long these did before when the others failed.
    """
    own = scope.usable_lives(evidence, life.group, scope.by_any)
    failed = failed_before(own, inf)
    if len(failed) < len(own):
        return ended_words(own, life.group, "failed")
    every = share_of(len(own), len(own), f"{kind_of(life.group)} column")
    return f"{told_together(failed)} for {every}"


WIDE = 4.0
"""Ratio of the ends of an interval from which on the lives of the columns themselves say more."""
MOST_COLUMNS = 4
"""Columns whose lives a sentence holds one by one."""


def is_wide(life: GroupLife) -> bool:
    """Return whether the interval of a life is so wide that the lives of the columns say more."""
    hours = life.life.hours
    return hours.low is None or hours.high is None or hours.high > WIDE * hours.low


def _is_loose(evidence: Evidence, life: GroupLife, scope: Scope) -> bool:
    """Return whether the columns of a group tell more than its life: some failed and others held for long, or
    they lie so far apart that nothing is known of a typical one."""
    own = scope.usable_lives(evidence, life.group, scope.by_any)
    if has_own_verb(life.life) or not 1 < len(own) <= MOST_COLUMNS:
        return False
    if life.life.state == "reached":
        return is_wide(life)
    failed = failed_before(own, inf)
    # Nor does a bound say that the last injections of some are past the limit.
    seen = any(one.high is None and one.decline.life.bracket_h[1] is not None for one in own)
    return 0 < len(failed) < len(own) or seen


def to_limit(life: GroupLife, metric: str, typical: bool = False) -> str:
    """Return to where a life is told: `until the plate number fell below 80 %`, or `falls`, of a typical one.

    Of columns that never passed it `without the plate number falling …`; `before …` where a life is only
    bounded; what tells its own story needs neither.
    """
    if life.life.state == "reached":
        return f"until {metric} {falls_past(life.limit) if typical else fell_past(life.limit)}"
    if has_own_verb(life.life):
        return f"the limit being passed where {metric} {fell_past(life.limit)}"
    if life.life.state == "not reached":
        return f"without {metric} {falling_past(life.limit)}"
    if "reached" not in life.states:
        # None is known to have passed it.
        return f"without {metric} surely {falling_past(life.limit)}"
    return f"before {metric} {fell_past(life.limit)}"


def each_life(lives: Sequence[GroupLife]) -> str:
    """Return `at least 100 h for A and B and 62 h (55 to 71) for C`: what is told alike is told once.

    What tells its own story, as a life that passed the limit and came back, stands after the others.
    """
    alike: dict[str, list[str]] = {}
    for life in lives:
        if not has_own_verb(life.life):
            alike.setdefault(tell(life.life), []).append(life.group)
    stories = [f"{_whose(life)} {tell(life.life)}" for life in lives if has_own_verb(life.life)]
    if stories:
        plain = [life for life in lives if not has_own_verb(life.life)]
        return "; ".join([*([each_life(plain)] if plain else []), *stories])
    whose = [f"{told} for {'each of ' * (len(groups) > 1)}{listed(groups)}" for told, groups in alike.items()]
    return (
        "; ".join(whose)
        if any(len(groups) > 1 for groups in alike.values()) and len(alike) > 1
        else listed(whose)
    )


def _whose(life: GroupLife) -> str:
    return f"column {life.columns[0]} of {life.group}" if len(life.columns) == 1 else columns_of(life.group)
