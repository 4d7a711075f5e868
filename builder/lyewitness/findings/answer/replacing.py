"""After how long the columns of a group should be replaced, and how that bound comes about.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: `Replacement`s, by the deciding metric and no other.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from lyewitness.decline.judging import under_one_stress
from lyewitness.findings.answer.next_column import UsableLife, next_column_h
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.audit.points import Point, bearing_on, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.words.lives import between
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import rounded, stated, with_unit
from lyewitness.words.phrases import columns_of, down, hours, kind_of, listed, mid_sentence, share_of, spelled

LITTLE = 0.25
"""A bound below this share of the shortest life says that the lives are not known, and is not given."""
AS_IF = "injections are counted as if the method ran at the conditions of the stress throughout"


@dataclass(frozen=True, slots=True)
class Replacement:
    """When to replace the columns of one group."""

    group: str
    lives: tuple[UsableLife, ...]
    """By the deciding metric, one a column."""
    safe_h: float | None
    """Hours after which to replace at the latest, rounded down; None where none follows."""
    words: str
    """What to do, a clause, with how it comes about."""


def replacement(evidence: Evidence, points: Sequence[Point], scope: Scope, group: str) -> Replacement:
    """Return after how long to replace the columns of `group`, or why that does not follow."""
    lives = scope.usable_lives(evidence, group)
    why = _why_none(evidence, points, scope, group, lives)
    if why:
        return Replacement(
            group, lives, None, f"we can give no time for replacing {columns_of(group)}: {why}"
        )
    if all(life.high is None for life in lives):
        least = min(life.low for life in lives)
        held = (
            f"{share_of(len(lives), len(lives), f'{kind_of(group)} column')} held for {_span(scope, least)}"
        )
        words = f"{held} without failing; beyond that nothing is known of them"
        return Replacement(group, lives, down(least), words)
    safe = next_column_h(lives, evidence.study.choices.confidence) or 0.0
    shortest = min(life.hours if life.hours is not None else life.low for life in lives)
    if safe < LITTLE * shortest:
        loose = "their lives are not known well enough"
        words = f"we can give no time for replacing {columns_of(group)}: {loose} ({_lives_words(lives)})"
        return Replacement(group, lives, None, words)
    return Replacement(
        group, lives, down(safe), f"replace {columns_of(group)} after {_span(scope, safe)} at the latest: "
        f"{_how(lives, safe)}",
    )  # fmt: skip


def _why_none(
    evidence: Evidence, points: Sequence[Point], scope: Scope, group: str, lives: Sequence[UsableLife]
) -> str:
    """Return why no time follows; empty where one does."""
    if not scope.deciding[1] or not lives:
        metric = the_metric(*scope.deciding) if scope.deciding[1] else "no limited metric"
        return f"{metric} {'gives no life of them' if scope.deciding[1] else 'was measured'}"
    columns = [column.id for column in under_one_stress(evidence.study, group)]
    known = {column: evidence.decline(column, *scope.deciding) for column in columns}
    unknown = [c for c, d in known.items() if d is None or d.life.state not in ("reached", "not reached")]
    if unknown:
        return f"the life of {listed(unknown)} by {the_metric(*scope.deciding)} is not known"
    if bounded("shown", points, (group,)) == "not settled":
        heavy = [point for point in bearing_on(points, (group,)) if point.bound == "not settled"]
        return mid_sentence(heavy[0].check.detail.rstrip(".")) if heavy else "the audit forbids it"
    if len(lives) < 2:
        return "only one was tested, which says nothing of the next"
    return ""


def _span(scope: Scope, safe_h: float) -> str:
    """Return hours, and runs of the asker's method where their length is stated."""
    runs = scope.question.run_time_min
    said = hours(down(safe_h))
    if not runs:
        return said
    number = rounded(down(safe_h * 60 / runs), 2)
    return f"{said} ({number} injections of {with_unit(stated(runs), 'min')})"


def _how(lives: Sequence[UsableLife], safe_h: float) -> str:
    """Return what the bound rests on: how many were tested, and which of its two rules bound it."""
    count = len(lives)
    tested = f"{'only ' if count < 3 else ''}{spelled(count)} were tested ({_lives_words(lives)})"
    least = min(life.low for life in lives)
    if safe_h >= least * 0.999:
        return f"{tested}, and one of them may have failed as early as that"
    ordinal = {2: "a third", 3: "a fourth", 4: "a fifth", 5: "a sixth"}.get(count, "the next")
    return f"{tested}, and {ordinal} may scatter as much"


def _lives_words(lives: Sequence[UsableLife]) -> str:
    """Return `58 and 66 h`, `73 to 78 h`, or what was held where a column did not fail."""
    known = sorted((life for life in lives if life.hours is not None), key=lambda life: life.hours or 0.0)
    held = [life.low for life in lives if life.high is None]
    said = [between(life.low, life.high) for life in lives if life.hours is None and life.high is not None]
    if known:
        ends = dict.fromkeys(life.figures for life in (known[0], known[-1]))
        said.append(with_unit((" and " if len(known) == 2 else " to ").join(ends), "h"))
    if held:
        said.append(f"{spelled(len(held))} still within the limit at {hours(max(held))}")
    return listed(said)
