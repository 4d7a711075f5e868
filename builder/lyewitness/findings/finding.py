"""Everything that is said of a study, from everything that was computed.

In: study, traces, measurements, judgement, problems of the folder. Out: `Findings`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import chain

from lyewitness.decline.records import Judgement
from lyewitness.findings.answer.answering import answer
from lyewitness.findings.answer.outlook import outlook_of
from lyewitness.findings.answer.question_scope import Scope, by_first_limits, scope_of
from lyewitness.findings.audit.auditing import audit, checks_of
from lyewitness.findings.audit.points import Point, lacking
from lyewitness.findings.audit.sensitivity import counted_otherwise, judged_without, with_unplanned_apart
from lyewitness.findings.doubts import doubtful_injections, odd_injections
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.lone_readings import lone_readings, without_lone
from lyewitness.findings.medium.buffers import facts
from lyewitness.findings.medium.cautions import cautions
from lyewitness.findings.medium.swings import followed_in
from lyewitness.findings.method_notes import method_notes, rule_rows
from lyewitness.findings.records import Findings
from lyewitness.findings.signs.weighing import read_signs
from lyewitness.peaks.records import Measurements
from lyewitness.store import NO_STORE, Store
from lyewitness.study.records import Question, Study
from lyewitness.traces.records import Trace
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.names import joined
from lyewitness.words.phrases import mid_sentence, run_together
from lyewitness.words.problems import Problem


def find(
    study: Study,
    traces: Mapping[str, Trace],
    measurements: Measurements,
    judgement: Judgement,
    problems: tuple[Problem, ...] = (),
    store: Store = NO_STORE,
) -> Findings:
    """Return answers, audit, signs, chemistry and cautions; `traces` by injection id."""
    lone = lone_readings(study)
    logged = without_lone(study, lone)
    evidence = Evidence(logged, traces, measurements, judgement, problems, lone=lone)
    odd = odd_injections(study, traces, measurements, store)
    doubtful = tuple(one for one in odd if not one.explained)
    evidence = replace(evidence, explained=tuple(one for one in odd if one.explained))
    if doubtful:
        without = judged_without(evidence, {one.injection for one in doubtful})
        evidence = replace(evidence, doubtful=doubtful, without_doubtful=without)
    evidence = replace(
        with_unplanned_apart(evidence), borne_out=_borne_out(study, traces, measurements, store)
    )
    points = audit(_as_asked(evidence, study.questions[0])[1] if study.questions else evidence)
    signs = read_signs(evidence)
    chemistry = facts(study, measurements, followed_in(evidence))
    own = [_points_for(evidence, points, question) for question in study.questions]
    answers = tuple(
        answer(evidence, weighed, signs, question, chemistry)
        for question, weighed in zip(study.questions, own, strict=True)
    )
    checks = checks_of(chain(points, *own))
    return Findings(
        answers=answers,
        checks=checks,
        signs=signs,
        chemistry=chemistry,
        cautions=cautions(study),
        missing=missing(evidence, points),
        method_notes=method_notes(study.choices),
        doubtful=doubtful,
        rules=rule_rows(),
        outlook=outlook_of(evidence, answers, checks),
    )


def _borne_out(
    study: Study, traces: Mapping[str, Trace], measurements: Measurements, store: Store
) -> frozenset[str]:
    """Return the left-out injections that look wrong beside their neighbours."""
    out = {injection.id for injection in study.injections if not injection.used}
    if not out:
        return frozenset()
    again = counted_otherwise(study, measurements, dict.fromkeys(out, True))
    return frozenset(one.injection for one in doubtful_injections(again[0], traces, again[1], store)) & out


def _points_for(evidence: Evidence, points: tuple[Point, ...], question: Question) -> tuple[Point, ...]:
    """Return the audit as it bears on one question.

    Where another metric decides it than the study as a whole, the points on the deciding metric are asked
    again; those that come out otherwise bear the question's id.
    """
    scope, asked = _as_asked(evidence, question)
    first, _ = _as_asked(evidence, evidence.study.questions[0])
    # What weighs on one group alone is the same by one limit as by any.
    same = scope.by_any == first.by_any or len(scope.groups) == 1
    if (scope.single == evidence.judgement.deciding and same) or not scope.single[1]:
        return points
    asked_again = audit(asked)
    known = {point.check for point in points}
    return tuple(
        point
        if point.check in known
        else replace(point, check=replace(point.check, id=joined(point.check.id, question.id)))
        for point in asked_again
    )


def _as_asked(evidence: Evidence, question: Question) -> tuple[Scope, Evidence]:
    """Return what a question is about, and the evidence as its audit takes it: decided by what decides it.

    Where that is whichever limit comes first, the comparisons by it stand among the others.
    """
    told, scope = by_first_limits(evidence, scope_of(evidence, question))
    deciding = scope.single if scope.single[1] else evidence.judgement.deciding
    judgement = replace(evidence.judgement, deciding=deciding, comparisons=told.judgement.comparisons)
    return scope, replace(evidence, judgement=judgement, without_unplanned=told.without_unplanned)


def missing(evidence: Evidence, points: Sequence[Point]) -> tuple[str, ...]:
    """Return a sentence for each thing that is missing, each once."""
    found = [
        *(lacking(point.check) for point in points if point.check.result == "not possible"),
        *_of_judgement(evidence),
    ]
    return tuple(dict.fromkeys(text for text in found if text))


def _of_judgement(evidence: Evidence) -> list[str]:
    """Return why lives or other settings cannot be spoken of."""
    study = evidence.study
    found = []
    if why := evidence.judgement.accelerated_reason:
        found.append(run_together([f"milder conditions: {mid_sentence(why)}"]))
    unmeasured: dict[str, list[str]] = {}
    for decline in evidence.judgement.declines:
        if decline.limit is not None and decline.life.state == "not measured":
            words = metric_of_marker(decline.series.marker, decline.series.metric)
            unmeasured.setdefault(f"{words}: {decline.reason}", []).append(decline.series.column)
    found += [
        run_together([f"life not measured on {', '.join(columns)}: {words.rstrip(': ')}"])
        for words, columns in unmeasured.items()
    ]
    if not study.images:
        found.append(
            "No picture shows a bed or particles: what happened inside is inferred from peaks alone."
        )
    if not study.limits:
        found.append("No limit is given: the report shows the decline and names no life.")
    return found
