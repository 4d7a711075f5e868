"""Everything that is said of a study, from everything that was computed.

In: study, traces, measurements, judgement, problems of the folder. Out: `Findings`.
"""

from collections.abc import Mapping

from lyewitness.decline.records import Judgement
from lyewitness.findings.answering import answer
from lyewitness.findings.audit.auditing import audit, checks_of
from lyewitness.findings.cautions import cautions
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium import facts
from lyewitness.findings.method_notes import method_notes, rule_rows
from lyewitness.findings.missing import missing
from lyewitness.findings.records import Findings
from lyewitness.findings.signs import read_signs
from lyewitness.peaks.records import Measurements
from lyewitness.problems import Problem
from lyewitness.study.records import Study
from lyewitness.traces.records import Trace


def find(
    study: Study,
    traces: Mapping[str, Trace],
    measurements: Measurements,
    judgement: Judgement,
    problems: tuple[Problem, ...] = (),
) -> Findings:
    """Return answers, audit, signs, chemistry and cautions; `traces` by injection id."""
    evidence = Evidence(study, traces, measurements, judgement, problems)
    points = audit(evidence)
    signs = read_signs(evidence)
    chemistry = facts(study, measurements)
    return Findings(
        answers=tuple(answer(evidence, points, signs, question, chemistry) for question in study.questions),
        checks=checks_of(points),
        signs=signs,
        chemistry=chemistry,
        cautions=cautions(study),
        missing=missing(evidence, points),
        method_notes=method_notes(study.choices),
        rules=rule_rows(),
    )
