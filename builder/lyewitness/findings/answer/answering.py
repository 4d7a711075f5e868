"""The answer to each question from the same evidence.

In: `Evidence`, the audit's `Point`s, the failure signs. Out: `Answer`s.
"""

from collections.abc import Sequence

from lyewitness.findings.answer.claims import (
    CORRECTED,
    accelerated_claims,
    doubt_claims,
    first_failure_claims,
    life_claims,
    pair_claims,
    ratio_words,
)
from lyewitness.findings.answer.costs import cost_claims
from lyewitness.findings.answer.expectation import expectation_verdict
from lyewitness.findings.answer.factor_claims import factor_claims
from lyewitness.findings.answer.headline import headline
from lyewitness.findings.answer.next_experiments import next_experiments
from lyewitness.findings.answer.question_scope import Scope, scope_of
from lyewitness.findings.answer.ranking import Ranking, rank, why_words
from lyewitness.findings.answer.recommending import recommendations
from lyewitness.findings.answer.sign_claims import sign_claims
from lyewitness.findings.answer.use_claims import span_claims
from lyewitness.findings.audit.points import Point, bearing_on
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer, ChemistryFact, Sign
from lyewitness.study.records import Question
from lyewitness.words.numbers import p_value, stated, with_unit
from lyewitness.words.phrases import counted, kind_of, listed, mid_sentence, run_together, spelled


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
        *factor_claims(evidence, scope, ranking.factors),
        *pair_claims(evidence, scope, ranking),
        *life_claims(evidence, points, scope),
        *doubt_claims(evidence, scope),
        *cost_claims(evidence, points, scope, ranking),
        *span_claims(evidence, points, scope),
        *first_failure_claims(evidence, points, scope),
        *sign_claims(evidence, scope, signs, facts),
        *accelerated_claims(evidence, points, scope),
    )
    return Answer(
        question,
        headline(evidence, points, scope, ranking),
        how_sure(evidence, points, scope, ranking),
        claims,
        recommendations(evidence, points, scope, ranking, claims),
        next_experiments(evidence, points, scope, ranking, claims),
        expectation_verdict(evidence, points, scope, ranking, claims),
        scope.deciding,
    )


def how_sure(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> str:
    """Say in two or three sentences what the answer rests on: what weakens it most comes first."""
    basis = f"this rests on {_columns_words(evidence, scope)}{_tests_words(evidence, ranking)}"
    if not scope.deciding[1]:
        basis = _bare_words(evidence, points, scope)
    unsettled = why_words(list(ranking.open_pairs)[:1])
    weakened, audit_said = _audit_words(evidence, points, scope, ranking)
    if weakened:
        same = unsettled and (unsettled in mid_sentence(audit_said) or "says nothing of" in unsettled)
        return run_together([audit_said, "" if same else unsettled, basis])
    return run_together([unsettled, basis, audit_said])


def _bare_words(evidence: Evidence, points: Sequence[Point], scope: Scope) -> str:
    """Return `one column, no limit, three injections: six checks of 17 could not be made`."""
    columns = [column.id for group in scope.groups for column in evidence.study.replicates(group)]
    injections = sum(len(evidence.used(column)) for column in columns)
    limit = "no limited metric measured" if evidence.study.limits else "no limit"
    held = f"{counted(len(columns), 'column')}, {limit}, {counted(injections, 'injection')}"
    return f"{held}: {_not_made(points)}"


def _not_made(points: Sequence[Point]) -> str:
    checks = {point.check for point in points}
    undone = sum(check.result == "not possible" for check in checks)
    return f"{spelled(undone)} of {spelled(len(checks))} checks could not be made"


def _columns_words(evidence: Evidence, scope: Scope) -> str:
    parts = [f"{spelled(len(evidence.study.replicates(group)))} {kind_of(group)}" for group in scope.groups]
    total = sum(len(evidence.study.replicates(group)) for group in scope.groups)
    return f"{listed(parts)} column{'' if total == 1 else 's'}"


def _tests_words(evidence: Evidence, ranking: Ranking) -> str:
    """Return the confidence of intervals, and the p values of what is settled; of a single pair its ratio."""
    settled = [p for p in ranking.pairings if p.verdict != "open" and p.comparison is not None]
    values = [
        p.comparison.p_adjusted for p in settled if p.comparison and p.comparison.p_adjusted is not None
    ]
    confidence = with_unit(stated(100 * evidence.study.choices.confidence), "%")
    said = [f"intervals are at {confidence} confidence"]
    if len(settled) == 1 and values:
        said.append(ratio_words(settled[0]).removeprefix(": "))
    elif values:
        said.append(f"each difference has {p_value(max(values)).replace('=', '≤')} ({CORRECTED})")
    return f"; {'; '.join(said)}"


def _audit_words(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking
) -> tuple[bool, str]:
    """Return whether the audit weakens the answer, and what it has to say in a sentence."""
    heavy = [*bearing_on(points, scope.groups), *(p for p in points if not p.pairs and not p.groups)]
    bounding = dict.fromkeys(p.check for p in heavy if p.bound != "shown" and p.check.result != "good")
    faults = dict.fromkeys(p.check for p in heavy if p.check.result in ("problem", "caution"))
    faults = {**bounding, **faults}
    undone = sum(check.result == "not possible" for check in {point.check for point in points})
    not_made = _not_made(points)
    if not faults:
        return False, f"the audit found no fault{'; ' + not_made if undone else ''}"
    worst = next(iter(bounding), None) or max(faults, key=lambda check: check.result == "problem")
    told = mid_sentence(worst.detail.rstrip("."))
    problems = [check for check in faults if check.result == "problem"]
    serious = bool(bounding) or bool(problems)
    number = len(bounding or problems or faults)
    if serious:
        verb = "weakens" if number == 1 else "weaken"
        lead = f"{counted(number, 'point')} {verb} the {'comparison' if len(scope.groups) > 1 else 'answer'}"
    else:
        settled = ranking.pairings and not ranking.open_pairs
        harm = "overturns the order of these columns" if settled else "is serious"
        be = "should be kept in mind"
        lead = f"{counted(number, 'point')} of the audit {be}" + (f"; none {harm}" if number > 1 else "")
    most = ": " if number == 1 else "; the most serious: " if serious else ". The most important: "
    if more := len(faults) - number:
        told += f"; {spelled(more)} more should be kept in mind"
    many_undone = f"; {not_made}" if scope.deciding[1] and 4 * undone > len({p.check for p in points}) else ""
    return serious, f"{lead}{most}{told}{many_undone}"
