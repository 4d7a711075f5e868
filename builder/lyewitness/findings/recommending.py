"""What to do or to mind: each from claims, never stronger than they are, and at these conditions only.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`, the claims. Out: `Claim`s, most important first.
"""

from collections.abc import Sequence

from lyewitness.findings import because
from lyewitness.findings.audit.points import STRENGTHS, Point, bearing_on
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.ranking import Ranking
from lyewitness.findings.records import Because, Claim, Strength
from lyewitness.findings.scope import Scope
from lyewitness.findings.span_claims import asked_spans
from lyewitness.findings.usable import UsableLife, next_column_h
from lyewitness.findings.wording import (
    CANNOT_TELL,
    as_stated,
    columns_of,
    counted,
    down,
    hours,
    listed,
    run_together,
    the_metric,
)
from lyewitness.quantities import rounded, with_unit

HERE = "at these conditions"
LITTLE = 0.25
"""A promise below this share of what every column held is worth nothing to anybody."""


def recommendations(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> tuple[Claim, ...]:
    """Return about three recommendations; where the ranking is not settled, the cure comes first."""
    choose = _choose(scope, ranking, claims)
    cure = _cure(points, scope)
    replace = _replace(evidence, scope, ranking)
    watch = _watch(scope, claims)
    settled = bool(ranking.longest) and ranking.strength_of(ranking.longest) == "shown"
    order = (choose, replace, watch, cure) if settled else (choose, cure, replace, watch)
    return tuple(found for found in order if found is not None)[:4]


def _choose(scope: Scope, ranking: Ranking, claims: Sequence[Claim]) -> Claim | None:
    """Say which group to take, or that these data give no reason to prefer one."""
    if len(scope.groups) < 2:
        return None
    links = because.of_claims(claim for claim in claims if claim.id.startswith(scope.claim_id("pair")))
    identity = scope.claim_id("do", "choose")
    if ranking.longest:
        strength = ranking.strength_of(ranking.longest)
        take = "take" if strength == "shown" else "prefer, until more is known,"
        return Claim(
            identity, run_together([f"{HERE}, {take} {columns_of(ranking.longest)}"]), strength, links
        )
    if ranking.shortest:
        strength = ranking.strength_of(ranking.shortest)
        avoid = "avoid" if strength == "shown" else "rather avoid"
        text = f"{HERE}, {avoid} {columns_of(ranking.shortest)}; between the others these data do not choose"
        return Claim(identity, run_together([text]), strength, links)
    if all(pairing.verdict == "alike" for pairing in ranking.pairings):
        text = f"{HERE}, choose between {listed(scope.groups)} by something else than their life"
        return Claim(identity, run_together([text]), ranking.strength_of(scope.groups[0]), links)
    settled = [pairing for pairing in ranking.pairings if pairing.verdict == "longer"]
    if settled:
        said = listed(f"prefer {columns_of(p.first)} to {columns_of(p.second)}" for p in settled)
        strength = min((pairing.strength for pairing in settled), key=STRENGTHS.index)
        return Claim(
            identity, run_together([f"{HERE}, {said}; beyond that these data do not choose"]), strength, links
        )
    text = f"do not choose by these data: {HERE}, {CANNOT_TELL} which of {listed(scope.groups)} lasts longest"
    return Claim(identity, run_together([text]), "not settled", links)


def _cure(points: Sequence[Point], scope: Scope) -> Claim | None:
    """Name the cure of the audit's gravest point, where it weakens the answer."""
    for point in bearing_on(points, scope.groups):
        if point.bound != "shown" and point.check.cure:
            gravest = f"{point.check.detail} {point.check.cure}"
            text = f"before you rely on this, mend the audit's gravest point: {gravest}"
            return Claim(
                scope.claim_id("do", "mend"), run_together([text]), "shown", because.of_points([point])
            )
    return None


def _replace(evidence: Evidence, scope: Scope, ranking: Ranking) -> Claim | None:
    """Say how long the columns can be trusted: those asked about first, then the longest-lived or all."""
    asked = (group for group, _ in asked_spans(evidence, scope))
    groups = dict.fromkeys((*asked, *((ranking.longest,) if ranking.longest else scope.groups)))
    said: list[str] = []
    links: list[Because] = []
    for group in groups:
        lives = scope.usable_lives(evidence, group)
        safe = next_column_h(lives, evidence.study.choices.confidence)
        if safe is not None:
            said.append(_trust(scope, group, safe, lives))
            links += [because.of_decline(life.decline) for life in lives]
    if not said:
        return None
    text = f"{HERE}, {'; '.join(said)}"
    return Claim(scope.claim_id("do", "replace"), run_together([text]), "indicated", tuple(links))


def _trust(scope: Scope, group: str, safe_h: float, lives: Sequence[UsableLife]) -> str:
    shortest = min(life.low for life in lives)
    if safe_h < LITTLE * shortest:
        return (
            f"do not count on a next one of {columns_of(group)} from {counted(len(lives), 'column')} tested: "
            f"these held {hours(down(shortest))} at least, and a next one may hold much less"
        )
    runs = scope.question.run_time_min
    number = f" ({_in_runs(safe_h, runs)})" if runs else ""
    span = f"{hours(down(safe_h))}{number}"
    if any(life.hours is not None for life in lives):
        return f"replace {columns_of(group)} before {span}"
    return f"trust {columns_of(group)} for {span}, as far as they were tested"


def _in_runs(safe_h: float, run_time_min: float) -> str:
    """Return so many hours as injections of the asker's method, rounded down."""
    number = down(safe_h * 60 / run_time_min)
    return f"{rounded(number, 2)} injections of {with_unit(as_stated(run_time_min), 'min')}"


def _watch(scope: Scope, claims: Sequence[Claim]) -> Claim | None:
    """Say which metric to watch in use: the one that failed first."""
    firsts = [claim for claim in claims if claim.id.startswith(scope.claim_id("first"))]
    marker, metric = scope.deciding
    if not firsts or not metric:
        return None
    watched = the_metric(marker, metric)
    strength: Strength = min((claim.strength for claim in firsts), key=STRENGTHS.index)
    text = f"{HERE}, watch {watched}: it gave the first sign of failure on most columns"
    return Claim(scope.claim_id("do", "watch"), run_together([text]), strength, because.of_claims(firsts))
