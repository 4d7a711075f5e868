"""Two levels of a factor held against each other type by type: `does the base tail sooner in ammonia?`.

In: `Evidence`, a `Scope`, a text that names levels. Out: what was seen of each pair of groups that only that
factor parts. For where the effect of the factor is not settled, or a statement is about one type alone.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lyewitness.findings.answer.factor_replies import Compared, compared_levels
from lyewitness.findings.answer.question_scope import Scope, groups_at_named_levels
from lyewitness.findings.answer.side_by_side import SEEN, ended_words, types_apart, varied_by
from lyewitness.findings.evidence import Evidence
from lyewitness.study.questions import named_factors, named_levels
from lyewitness.words.phrases import listed

SAME = re.compile(
    r"\b(no (meaningful )?difference|(just |much )?the same|alike|equally|does nothing|changes nothing)\b",
    re.IGNORECASE,
)
"""How a statement sounds that has two levels alike."""


@dataclass(frozen=True, slots=True)
class Pairs:
    """The groups that only one factor parts, by its levels, as a text holds them against each other."""

    groups: tuple[tuple[str, str], ...]
    """(group at the level said to be worse, group at the other), type by type; where the text has both alike
    the order means nothing."""
    alike: bool


def pairs_compared(evidence: Evidence, scope: Scope, text: str) -> Pairs | None:
    """Return which groups a text holds against each other by levels; None where it names no two of them."""
    alike = SAME.search(text) is not None
    found = _alike(evidence, text) if alike else compared_levels(evidence, text)
    varied = varied_by(evidence, found.factor) if found is not None else None
    if found is None or varied is None:
        return None
    at = varied.of
    inside = groups_at_named_levels(evidence.study, text, scope.groups, but=found.factor) or scope.groups
    by_level: dict[str, list[str]] = {found.worse: [], found.better: []}
    for group in inside:
        levels = {at.get(one.id, "") for one in evidence.study.replicates(group)}
        if len(levels) == 1 and (level := levels.pop()) in by_level:
            by_level[level].append(group)
    pairs = [
        (worse, better)
        for worse in by_level[found.worse]
        for better in by_level[found.better]
        if _others(evidence, worse, found.factor) == _others(evidence, better, found.factor)
    ]
    return Pairs(tuple(pairs), alike) if pairs else None


def _alike(evidence: Evidence, text: str) -> Compared | None:
    """Return the two levels of a factor that a text calls alike, by its name or theirs."""
    for factor in evidence.study.factors:
        named = named_factors(text, [factor.name]) or len(named_levels(text, factor)) == len(factor.levels)
        if named and len(factor.levels) == 2:
            first, second = factor.levels
            return Compared(factor.name, first, second, False)
    return None


def _others(evidence: Evidence, group: str, factor: str) -> tuple[frozenset[str | None], ...]:
    """Return what the columns of a group have of all other factors."""
    columns = evidence.study.replicates(group)
    return tuple(
        frozenset(one.level_of(column) for column in columns)
        for one in evidence.study.factors
        if one.name != factor
    )


def pair_words(evidence: Evidence, scope: Scope, pair: Sequence[str]) -> str:
    """Return `all three A columns did (46, 51 and 56 h), two B columns held for at least 94 h`."""
    verb = "did" if scope.named else "failed"
    return ", ".join(ended_words(scope.usable_lives(evidence, one, scope.by_any), one, verb) for one in pair)


def judged_pairs(
    evidence: Evidence, scope: Scope, pairs: Pairs
) -> tuple[Literal["seen so", "seen otherwise", "fits", "open"], str]:
    """Return how what was seen of the pairs stands to what a text says of them, and what that was."""
    said = "; ".join(pair_words(evidence, scope, pair) for pair in pairs.groups)
    found = [types_apart(evidence, scope, *pair) for pair in pairs.groups]
    apart = [
        one.longer == better for one, (_, better) in zip(found, pairs.groups, strict=True) if one is not None
    ]
    longer = [longer_seen(evidence, scope, pair) for pair in pairs.groups]
    if pairs.alike:
        if apart or any(longer):
            return ("seen otherwise" if apart else "open"), said
        return "fits", f"{said}; a small difference is not excluded"
    if apart and not all(apart):
        return "seen otherwise", said
    so = all(one == better for one, (_, better) in zip(longer, pairs.groups, strict=True))
    return ("seen so" if so else "open"), said


def longer_seen(evidence: Evidence, scope: Scope, pair: Sequence[str]) -> str:
    """Return the group of a pair of which most columns outlasted all of the other's; empty for neither."""
    own = {group: scope.usable_lives(evidence, group, scope.by_any) for group in pair}
    for group, other in (pair, reversed(pair)):
        ends = [one.high for one in own[other]]
        if not own[group] or not ends or any(end is None for end in ends):
            continue
        beyond = max(end for end in ends if end is not None)
        if 2 * sum(one.low > beyond for one in own[group]) > len(own[group]):
            return group
    return ""


def seen_in_part(evidence: Evidence, scope: Scope, pairs: Pairs, compared: Compared, what: str) -> str:
    """Return `in this test the base tails sooner in ammonia on Alpha, which is not settled; no
    difference was seen on Beta`; empty where none was seen on any, or types have no name of their own.

    `what` happens: `the base tails`.
    """
    where = {pair: _apart_from(evidence, pair, compared.factor) for pair in pairs.groups}
    if pairs.alike or not all(where.values()):
        return ""
    longer = {pair: longer_seen(evidence, scope, pair) for pair in pairs.groups}
    sooner = [where[pair] for pair in pairs.groups if longer[pair] == pair[1]]
    later = [where[pair] for pair in pairs.groups if longer[pair] == pair[0]]
    neither = [where[pair] for pair in pairs.groups if not longer[pair]]
    if not sooner or later:
        return ""
    words = f"{SEEN} {what} sooner in {compared.worse} on {listed(sooner)}, which is not settled"
    return words + (f"; no difference was seen on {listed(neither)}" if neither else "")


def _apart_from(evidence: Evidence, pair: Sequence[str], factor: str) -> str:
    """Return the level of the one other factor that both groups of a pair have; empty of several factors."""
    others = [one for one in evidence.study.factors if one.name != factor]
    columns = [column for group in pair for column in evidence.study.replicates(group)]
    levels = {one.level_of(column) for one in others for column in columns}
    return (levels.pop() or "") if len(others) == 1 and len(levels) == 1 else ""
