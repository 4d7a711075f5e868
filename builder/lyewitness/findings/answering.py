"""The answer to each question from the same evidence.

In: `Evidence`, the audit's `Point`s, the failure signs. Out: `Answer`s.
"""

from collections.abc import Sequence

from lyewitness.findings.audit.points import Point, bearing_on
from lyewitness.findings.claims import (
    accelerated_claims,
    first_failure_claims,
    life_claims,
    pair_claims,
    ratio_words,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.expectation import expectation_verdict
from lyewitness.findings.headline import headline
from lyewitness.findings.next_experiments import next_experiments
from lyewitness.findings.ranking import Ranking, rank, why_words
from lyewitness.findings.recommending import recommendations
from lyewitness.findings.records import Answer, ChemistryFact, Sign
from lyewitness.findings.scope import Scope, scope_of
from lyewitness.findings.sign_claims import sign_claims
from lyewitness.findings.span_claims import span_claims
from lyewitness.findings.wording import as_stated, counted, listed, run_together
from lyewitness.quantities import with_unit
from lyewitness.study.records import Question


def answer(
    evidence: Evidence,
    points: Sequence[Point],
    signs: Sequence[Sign],
    question: Question,
    facts: Sequence[ChemistryFact] = (),
) -> Answer:
    """Answer one question."""
    scope = scope_of(evidence, question)
    ranking = rank(evidence, points, scope)
    claims = (
        *pair_claims(evidence, scope, ranking),
        *life_claims(evidence, points, scope),
        *span_claims(evidence, points, scope),
        *first_failure_claims(evidence, points, scope),
        *sign_claims(evidence, scope, signs, facts),
        *accelerated_claims(evidence, points, scope),
    )
    return Answer(
        question,
        headline(evidence, scope, ranking),
        how_sure(evidence, points, scope, ranking),
        claims,
        recommendations(evidence, points, scope, ranking, claims),
        next_experiments(evidence, points, scope, ranking, claims),
        expectation_verdict(evidence, points, scope, ranking, claims),
        scope.deciding,
    )


def how_sure(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> str:
    """Say what the answer rests on, in columns, ratios and p values, and what the audit holds against it."""
    columns = listed(
        counted(len(evidence.study.replicates(group)), f"{group} column") for group in scope.groups
    )
    confidence = as_stated(100 * evidence.study.choices.confidence)
    basis = f"this rests on {columns}; intervals are at {with_unit(confidence, '%')} confidence"
    return run_together([basis, _ratios(ranking), _unsettled(ranking), _audit_words(points, scope)])


def _ratios(ranking: Ranking) -> str:
    settled = [p for p in ranking.pairings if p.verdict != "open" and p.comparison is not None]
    return "; ".join(f"{p.first} against {p.second}{ratio_words(p)}" for p in settled)


def _unsettled(ranking: Ranking) -> str:
    reasons = why_words(ranking.open_pairs)
    return f"not settled, because {reasons}" if reasons else ""


def _audit_words(points: Sequence[Point], scope: Scope) -> str:
    """Return the gravest points of the audit, two at most."""
    heavy = bearing_on(points, scope.groups)
    bounding = dict.fromkeys(point.check for point in heavy if point.bound != "shown")
    lighter = dict.fromkeys(point.check for point in heavy if point.check.result in ("problem", "caution"))
    if not lighter and not bounding:
        return "the audit found nothing that speaks against the comparison"
    told = list(bounding)[:2] or list(lighter)[:1]
    first = " ".join(f"{check.detail} {check.bearing}".strip() for check in told)
    number = counted(len({**bounding, **lighter}), "point")
    which = "the gravest" if bounding else "none weakens the answer; the first"
    return f"the audit holds {number} against the comparison; {which}: {first}"
