"""What the report cannot say for lack of data.

In: `Evidence`, the audit's `Point`s. Out: sentences.
"""

from collections.abc import Sequence

from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.phrases import run_together


def missing(evidence: Evidence, points: Sequence[Point]) -> tuple[str, ...]:
    """Return a sentence for each thing that is missing, each once."""
    found = [
        *(_of_point(point) for point in points if point.check.result == "not possible"),
        *_of_judgement(evidence),
    ]
    return tuple(dict.fromkeys(text for text in found if text))


def _of_point(point: Point) -> str:
    return run_together([point.check.detail, point.check.bearing, point.check.cure])


def _of_judgement(evidence: Evidence) -> list[str]:
    """Return why lives or other settings cannot be spoken of."""
    study = evidence.study
    found = []
    if evidence.judgement.accelerated_reason:
        found.append(run_together([f"milder conditions: {evidence.judgement.accelerated_reason}"]))
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
