"""What to do or to mind: each from claims, never stronger than they are, and at these conditions only.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`, the claims. Out: `Claim`s, most important first.
"""

from collections.abc import Sequence
from math import floor, log10

from lyewitness.findings import because
from lyewitness.findings.audit.points import STRENGTHS, Point, bearing_on
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.ranking import Ranking
from lyewitness.findings.records import Because, Claim, Strength
from lyewitness.findings.scope import Scope
from lyewitness.findings.wording import (
    CANNOT_TELL,
    as_stated,
    columns_of,
    hours,
    listed,
    metric_of,
    run_together,
    slug,
)
from lyewitness.quantities import rounded, with_unit

HERE = "at these conditions"


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
    """Say how long a column can be trusted: what the shortest-lived column surely held, rounded down."""
    groups = (ranking.longest,) if ranking.longest else scope.groups
    for group in groups[:1]:
        safe = _surely_held_h(evidence, group)
        if safe is None:
            continue
        held, links, failed = safe
        runs = scope.question.run_time_min
        number = (
            f", or {rounded_down(held * 60 / runs)} injections of {with_unit(as_stated(runs), 'min')}"
            if runs
            else ""
        )
        if failed:
            text = f"{HERE}, replace {columns_of(group)} before {hours(_down(held))}{number}"
        else:
            trusted = f"{hours(_down(held))}{number}"
            text = f"{HERE}, trust {columns_of(group)} for {trusted}, and test beyond that"
        return Claim(scope.claim_id("do", "replace", slug(group)), run_together([text]), "indicated", links)
    return None


def _surely_held_h(evidence: Evidence, group: str) -> tuple[float, tuple[Because, ...], bool] | None:
    """Return the lowest lower bound of any life in the group, its links, and whether a column failed."""
    lowest: tuple[float, Because] | None = None
    failed = False
    for decline in evidence.judgement.declines:
        if decline.series.group != group or decline.limit is None or decline.life.state == "not measured":
            continue
        failed = failed or decline.life.state == "reached"
        ends = (decline.life.conservative_h, decline.life.hours.low, decline.life.bracket_h[0])
        known = [end for end in ends if end is not None and end > 0]
        if known and (lowest is None or min(known) < lowest[0]):
            lowest = (min(known), because.of_decline(decline))
    return (lowest[0], (lowest[1],), failed) if lowest else None


def _down(value: float) -> float:
    """Return `value` rounded down to two significant figures: a promise must not be rounded up."""
    if value <= 0:
        return 0.0
    step: float = 10.0 ** (floor(log10(value)) - 1)
    return floor(value / step + 1e-9) * step


def rounded_down(value: float) -> str:
    """Return `value` printed after rounding down to two significant figures."""
    return rounded(_down(value), 2)


def _watch(scope: Scope, claims: Sequence[Claim]) -> Claim | None:
    """Say which metric to watch in use: the one that failed first."""
    firsts = [claim for claim in claims if claim.id.startswith(scope.claim_id("first"))]
    marker, metric = scope.deciding
    if not firsts or not metric:
        return None
    watched = metric_of(marker, metric)
    strength: Strength = min((claim.strength for claim in firsts), key=STRENGTHS.index)
    text = f"{HERE}, watch {watched}: it gave the first sign of failure on most columns"
    return Claim(scope.claim_id("do", "watch"), run_together([text]), strength, because.of_claims(firsts))
