"""What is expected of how each type fails, held against what its columns passed first, and what later.

In: `Evidence`, a `Scope`, an expectation of several statements. Out: each with a leaning and a clause. `The A
loses its retention, and the B dies by pressure first` is one statement of each type.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from lyewitness.decline.judging import under_one_stress
from lyewitness.findings.answer.first_to_pass import FIRST, first_passed
from lyewitness.findings.answer.question_scope import Scope, groups_at_named_levels
from lyewitness.findings.answer.reading_questions import CLAUSES, NEGATED
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim
from lyewitness.findings.signs.weighing import BLOCKED, BONDED, SILANOLS, VOID
from lyewitness.study.questions import asked_metric, named_groups
from lyewitness.words.metrics import metric_name, the_metric
from lyewitness.words.phrases import columns_of, listed


@dataclass(frozen=True, slots=True)
class WayExpected:
    """One statement on how a type fails; `leaning` is that of an expectation, `unread` where it is none."""

    quoted: str
    leaning: Literal["borne out", "same way", "in part", "contradicted", "against", "open", "unread"]
    words: str


def ways_expected(
    evidence: Evidence, scope: Scope, text: str, claims: Sequence[Claim] = ()
) -> list[WayExpected]:
    """Return each statement on how the columns of a type fail; empty where none is read.

    `claims`: what the signs point to is held against a mechanism that is named.
    """
    found: list[WayExpected] = []
    groups: tuple[str, ...] = ()
    for part in CLAUSES.split(text.strip(" .!")):
        own = named_groups(part, scope.groups) or groups_at_named_levels(evidence.study, part, scope.groups)
        if not own and found and FIRST.search(part):
            # `… dies by a blocked frit, so pressure goes first` is one statement.
            part = f"{found.pop().quoted}, {part}"
        # `… and it goes by losing retention` is said of the first that was named.
        groups = own or groups[:1]
        found.append(
            _by_signs(evidence, scope, groups, part, claims) or _held_against(evidence, scope, groups, part)
        )
    return found if any(one.leaning != "unread" for one in found) else []


NAMED = (
    (
        BONDED,
        re.compile(r"\b(?:bonded|bonding|ligands?|stationary) ?(?:phase)?\b|\bphase loss\b", re.IGNORECASE),
    ),
    (VOID, re.compile(r"\b(?:voids?|dissol\w+|silica (?:is lost|leaves))\b", re.IGNORECASE)),
    (SILANOLS, re.compile(r"\bsilanols?\b", re.IGNORECASE)),
    (BLOCKED, re.compile(r"\b(?:block\w*|clog\w*|plug\w*) ?(?:frit|inlet|filter)?\b", re.IGNORECASE)),
)
"""How a mechanism of failure is named."""
FAILS = re.compile(
    r"\b(?:goes|go|went|fails?|failed|dies?|died|ends?|ended|lost|los(?:es|ing))\b", re.IGNORECASE
)
"""How it sounds that a type is said to fail by something."""
OTHERWISE = re.compile(
    rf"{NEGATED.pattern}|\b(?:than|sooner|earlier|later|faster|none|nothing|without|hardly|keeps?|kept)\b",
    re.IGNORECASE,
)
"""What is said of one type beside another, or denied: no statement of a way of failing."""


def _by_signs(
    evidence: Evidence, scope: Scope, groups: tuple[str, ...], part: str, claims: Sequence[Claim]
) -> WayExpected | None:
    """Hold `it goes by losing its bonded phase` against what the signs point to; None for another one."""
    named = next((mechanism for mechanism, words in NAMED if words.search(part)), "")
    if not named or not groups or not FAILS.search(part) or FIRST.search(part) or OTHERWISE.search(part):
        return None
    columns = {column.id for group in groups for column in evidence.study.replicates(group)}
    pointed: dict[str, None] = {}
    for claim in claims:
        links = [link.target.partition("/") for link in claim.because if link.kind == "sign"]
        if claim.strength != "not settled" and links and {column for column, _, _ in links} <= columns:
            pointed |= dict.fromkeys(mechanism for _, _, mechanism in links if mechanism)
    if not pointed:
        return None
    first = next(iter(pointed))
    went = f"the signs point to {first}"
    if named == first:
        return WayExpected(part, "same way", went)
    if named in pointed:
        return WayExpected(part, "in part", f"{went}, and to {named} as well")
    return WayExpected(part, "against", f"{went}; {_went_first(evidence, groups)}")


def _held_against(evidence: Evidence, scope: Scope, groups: tuple[str, ...], part: str) -> WayExpected:
    named = {metric for _, metric in asked_metric(part, evidence.study)}
    if not groups or not named or not FAILS.search(part) or OTHERWISE.search(part):
        return WayExpected(part, "unread", "")
    if FIRST.search(part):
        first = first_passed(evidence, replace(scope, asked=groups, groups=groups), part)
        return WayExpected(part, first.leaning if first else "unread", _went_first(evidence, groups))
    columns = [column.id for group in groups for column in under_one_stress(evidence.study, group)]
    own = [
        d
        for d in evidence.judgement.declines
        if d.series.column in columns and d.series.metric in named and d.limit is not None
    ]
    passed = {d.series.column for d in own if d.life.state == "reached"}
    limits = listed(dict.fromkeys(metric_name(d.series.metric) for d in own), "or")
    where = listed(columns_of(group) for group in groups)
    if own and not passed and all(d.life.state == "not reached" for d in own):
        return WayExpected(part, "against", f"no limit on the {limits} was passed on {where}")
    if 2 * len(passed) > len(columns):
        firsts = {f.metric for f in evidence.judgement.first_failures if f.column in columns and f.metric}
        later = "" if firsts & named else f", but later: {_went_first(evidence, groups)}"
        return WayExpected(part, "same way", f"the limit on the {limits} was passed{later}")
    return WayExpected(part, "unread", "")


def _went_first(evidence: Evidence, groups: tuple[str, ...]) -> str:
    """Return `first went the plate number of toluene`, what most columns passed first before the others."""
    columns = {column.id for group in groups for column in under_one_stress(evidence.study, group)}
    firsts = [f for f in evidence.judgement.first_failures if f.column in columns and f.metric]
    counted: dict[str, int] = {}
    for one in firsts:
        words = the_metric(one.marker, one.metric)
        counted[words] = counted.get(words, 0) + 1
    return f"first went {listed(sorted(counted, key=lambda words: -counted[words]))}" if counted else ""
