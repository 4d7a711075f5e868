"""What was seen where no life can be told.

In: `Evidence`, a `Scope`. Out: words.
"""

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.scope import Scope
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import hours, sentence

METRICS = ("plate_number_half_height", "retention_factor", "symmetry_factor", "retention_time_min")


def what_was_seen(evidence: Evidence, scope: Scope) -> str:
    """Return by how much the metric that moved most went from the first to the last injection, per group."""
    said = []
    for group in scope.groups:
        moves = [
            (abs(last / first - 1), column.id, marker.id, metric, first, last)
            for column in evidence.study.replicates(group)
            for marker in evidence.study.markers
            if marker.role != "void"
            for metric in METRICS
            if len(values := evidence.values(column.id, marker.id, metric)) > 1
            and (first := values[0])
            and (last := values[-1])
        ]
        plates = [move for move in moves if move[3] == METRICS[0]]
        if not moves:
            continue
        _, column_id, marker_id, metric, first, last = max(plates or moves)
        seen = evidence.hours(column_id)
        said.append(
            f"in {hours(seen[-1] - seen[0])} the {metric_of_marker(marker_id, metric)} "
            f"{_went(first, last)} from {_shown(first)} to {_shown(last)} on {column_id}"
        )
    return " ".join(sentence(one) for one in said)


def _went(first: float, last: float) -> str:
    return "fell" if last < first else "rose"


def _shown(value: float) -> str:
    """Return a measured value with three figures, whole thousands in digits."""
    return rounded(float(f"{value:.3g}"), 3)
