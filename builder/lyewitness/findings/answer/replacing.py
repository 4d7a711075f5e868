"""When to replace the columns of a type, by what decides the question, one metric or any limit.

In: `Evidence`, the audit's `Point`s, a `Scope`, a group. Out: a `Replacement`, or why no time follows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from lyewitness.decline.deciding import key_of
from lyewitness.decline.factors import mixed_levels
from lyewitness.decline.group_lives import WATCHED_ALIKE
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import Decline
from lyewitness.decline.usable_lives import UsableLife, at_risk, next_column_h, told_together
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.use_claims import (
    failures,
)
from lyewitness.findings.audit.points import Point, bearing_on, bounded, in_short
from lyewitness.findings.evidence import Evidence
from lyewitness.study.factor_words import at_all
from lyewitness.words.lives import is_known, tell
from lyewitness.words.metrics import any_of, the_metric
from lyewitness.words.numbers import DOWN, THIN_SPACE, as_printed, bound, stated, with_unit
from lyewitness.words.phrases import (
    columns_of,
    down,
    hours,
    kind_of,
    listed,
    share_of,
    spelled,
)

LITTLE = 0.5
"""A bound below this share of the shortest life is not given: who follows it throws away more than half of
each column, and it tells of the scatter that is not known, not of the columns."""

FAR_BELOW = 0.75
"""Of the shortest life: a bound below this share wonders a reader, and is explained."""


@dataclass(frozen=True, slots=True)
class Replacement:
    """When to replace the columns of one group."""

    group: str
    lives: tuple[UsableLife, ...]
    """By what decides, one a column."""
    safe_h: float | None
    """Hours after which to replace at the latest, rounded down; None where none follows."""
    words: str
    """What to do, a clause, with how it comes about."""
    unknown: tuple[str, ...] = ()
    """The columns whose lives are not known well enough, where no time follows for that reason."""


HELD = 3
"""Figures of what was held: it was measured, and stands so wherever the bound is told."""

NO_TIME = "we can give no time for replacing"

LONE = "only one was tested, which says nothing of the next"


def replacement(evidence: Evidence, points: Sequence[Point], scope: Scope, group: str) -> Replacement:
    """Return after how long to replace the columns of `group`, or why that does not follow."""
    lives = scope.usable_lives(evidence, group)
    why = _why_none(evidence, points, scope, group, lives)
    if why:
        told = f"{NO_TIME} {columns_of(group)}: {why}"
        return Replacement(group, lives, None, told, tuple(_unknown(evidence, scope, group)) if lives else ())
    by_any = scope.usable_lives(evidence, group, every_limit=True)
    if all(life.high is None for life in lives):
        failed = scope.failed_sooner(evidence, group)
        sooner = _by_first_limit(evidence, scope, group, by_any) if failed else None
        if sooner is not None and sooner.safe_h is not None:
            return sooner
        least = min(life.low for life in lives)
        every = share_of(len(lives), len(lives), f"{kind_of(group)} column")
        span = span_and_runs(scope, least, HELD)
        if max(life.low for life in lives) > WATCHED_ALIKE * least:
            # Not all were run as long: the shortest is told of all.
            span += " or longer"
        held = f"{every} held for {span} without failing"
        if scope.by_any and fails_otherwise(evidence, group):
            # By a limit that the question leaves out.
            held = f"{every} kept all limits that are asked about for {span}"
        elif fails_otherwise(evidence, group):
            # By another limit one of them failed: what held is this metric, not the column.
            held = f"{every} kept {the_metric(*scope.deciding)} within its limit for {span}"
        running = evidence.standing.running
        words = f"{held} so far" if running else f"{held}; beyond that nothing is known of them"
        if failed:
            which, when = failures(group, lives, failed)
            words = f"{held}, but {which} failed by another limit ({when})"
        return Replacement(group, lives, as_printed(least, HELD, DOWN), words)
    safe = next_column_h(lives, evidence.study.choices.confidence) or 0.0
    if scope.by_any or _failed_by(by_any, safe):
        # Nobody is told to use a column beyond the death of one that was tested, by whichever limit it died.
        return _by_first_limit(evidence, scope, group, by_any)
    return _timed(scope, group, lives, safe, "")


def _by_first_limit(
    evidence: Evidence, scope: Scope, group: str, by_any: tuple[UsableLife, ...]
) -> Replacement:
    """Return after how long to replace columns by whichever limit they pass first.

    Where a single metric decides the question, it is said which limits came before it.
    """
    first = ", by whichever limit they pass first"
    if not scope.by_any:
        ended = dict.fromkeys(key_of(life.failed_by) for life in by_any if life.failed_by is not None)
        first += f" ({any_of(ended)})"
    return _timed(
        scope, group, by_any, next_column_h(by_any, evidence.study.choices.confidence) or 0.0, first
    )


def _timed(scope: Scope, group: str, lives: tuple[UsableLife, ...], safe: float, by: str) -> Replacement:
    """Return the time that the lives allow, or that they allow none."""
    shortest = min(life.hours if life.hours is not None else life.low for life in lives)
    if safe <= 0 or safe < LITTLE * shortest:
        failures = sum(life.high is not None for life in lives)
        loose = "two lives are too few" if len(lives) == 2 else "their lives differ too much"
        loose = "of one failure nobody learns how far lives differ" if failures == 1 else loose
        words = f"{NO_TIME} {columns_of(group)}: {loose} ({_lives_words(lives)})"
        return Replacement(group, lives, None, words)
    latest = f"{span_and_runs(scope, safe)} at the latest{by}"
    words = f"replace {columns_of(group)} after {latest}: {_how(lives, safe)}"
    return Replacement(group, lives, down(safe), words)


def _failed_by(lives: Sequence[UsableLife], safe_h: float) -> bool:
    """Return whether a column had surely failed, and as far as its life tells before those hours."""
    return any(
        life.high is not None and (life.high if life.hours is None else life.hours) < safe_h for life in lives
    )


def fails_otherwise(evidence: Evidence, group: str) -> bool:
    """Return whether a column of the group passed any limit, whichever decides the question."""
    return any(one.metric and one.group == group for one in evidence.judgement.first_failures)


def _why_none(
    evidence: Evidence, points: Sequence[Point], scope: Scope, group: str, lives: Sequence[UsableLife]
) -> str:
    """Return why no time follows; empty where one does."""
    if not scope.deciding[1] or not lives:
        metric = the_metric(*scope.deciding) if scope.deciding[1] else "no limited metric"
        return f"{metric} {'gives no life of them' if scope.deciding[1] else 'was measured'}"
    columns = [column.id for column in under_one_stress(evidence.study, group)]
    if unknown := _unknown(evidence, scope, group):
        life, verb = ("life", "is") if len(unknown) == 1 else ("lives", "are")
        of = f"the {life} of {listed(unknown)} by {the_metric(*scope.deciding)} {verb} not known"
        seen = {tell(d.life) if d is not None and is_known(d.life) else "" for d in unknown.values()}
        told = seen.pop() if len(seen) == 1 else ""
        return f"{of} well enough; all that is known: {told}" if told else of
    if bounded("shown", points, (group,)) == "not settled":
        heavy = [point for point in bearing_on(points, (group,)) if point.bound == "not settled"]
        return in_short(heavy[0], (group,)) if heavy else "the audit forbids it"
    if within := mixed_levels(evidence.study, group):
        ways = listed(at_all(name, list(levels)) for name, levels in within.items())
        return f"they were tested {ways}, which count together here"
    if len(lives) < 2 <= len(columns):
        return f"of {spelled(len(columns))} tested, the life of one alone is known well enough"
    if len(lives) < 2:
        return LONE
    return ""


def _unknown(evidence: Evidence, scope: Scope, group: str) -> dict[str, Decline | None]:
    """Return the columns of which nobody knows whether they reached the deciding limit."""
    columns = (column.id for column in under_one_stress(evidence.study, group))
    known = {column: evidence.decline(column, *scope.deciding) for column in columns}
    return {c: d for c, d in known.items() if d is None or d.life.state not in ("reached", "not reached")}


def span_and_runs(scope: Scope, safe_h: float, figures: int = 2) -> str:
    """Return hours rounded down, and runs of the asker's method where their length is stated."""
    runs = scope.question.run_time_min
    said = with_unit(bound(safe_h, figures, DOWN).removesuffix(".0"), "h")
    if not runs:
        return said
    # Of the hours that stand beside it: whoever reckons finds the same.
    whole = floor(as_printed(safe_h, figures, DOWN) * 60 / runs + 1e-9)
    number = bound(float(whole), min(max(figures, 3), len(str(whole))), DOWN)
    return f"{said} ({number} injections of {with_unit(stated(runs), 'min')})"


def _how(lives: Sequence[UsableLife], safe_h: float) -> str:
    """Return what the bound rests on: how many were tested, and which of its two rules bound it."""
    count = len(lives)
    tested = f"{'only ' if count < 3 else ''}{spelled(count)} were tested ({_lives_words(lives)})"
    least = min(life.low for life in at_risk(lives))
    if safe_h >= least * 0.999:
        return f"{tested}, and one of them may have failed as early as that"
    ordinal = {2: "a third", 3: "a fourth", 4: "a fifth", 5: "a sixth"}.get(count, "the next")
    if safe_h < FAR_BELOW * least:
        wide = f"{spelled(count)} lives show so little of how far lives scatter"
        return f"{tested}; {wide} that the bound for {ordinal} lies far below them"
    return f"{tested}, and {ordinal} may scatter as much"


def _lives_words(lives: Sequence[UsableLife]) -> str:
    """Return `58 and 66 h`, `73 to 78 h`, or what was held where a column did not fail."""
    failed = [life for life in lives if life.failed_by is not None]
    held = [life.low for life in lives if life.failed_by is None]
    said = [told_together(failed, spread=True)] if failed else []
    if held:
        said.append(f"{spelled(len(held))} still within the limit at {_span_of(held)}")
    return "; ".join(said) if any(life.bracket for life in failed) else listed(said)


def _span_of(held: Sequence[float]) -> str:
    """Return `240 h`, or `99 to 240 h` where columns were not run alike."""
    least, most = min(held), max(held)
    return (
        hours(down(most))
        if most <= WATCHED_ALIKE * least
        else f"{hours(down(least)).partition(THIN_SPACE)[0]} to {hours(most)}"
    )
