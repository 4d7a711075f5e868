"""Whether the type that is advised begins with fewer plates than the others.

In: `Evidence`, a `Scope`, a group. Out: a clause. Limits are shares of each column's own start, so that the
longest life may be that of a column which separates less from the first injection on.
"""

from statistics import median

from lyewitness.decline.judging import under_one_stress
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Marker
from lyewitness.words.numbers import rounded

PLATES = "plate_number_half_height"
FEWER = 0.7
"""Share of the plates of every other type below which a separation may be lost: resolution goes with the
square root (Purnell), so that a sixth of it is missing."""


def fewer_plates(evidence: Evidence, scope: Scope, group: str) -> str:
    """Return `mind that A begins with fewer plates (5200 of toluene, against 10900)`; else empty."""
    marker = next((one.id for one in _markers(evidence, scope) if _at_start(evidence, group, one.id)), "")
    own = _at_start(evidence, group, marker)
    others = [found for one in scope.groups if one != group and (found := _at_start(evidence, one, marker))]
    if not own or not others or own >= FEWER * min(others):
        return ""
    against = " to ".join(dict.fromkeys(_figures(one) for one in (min(others), max(others))))
    return f"mind that {group} begins with fewer plates ({_figures(own)} of {marker}, against {against})"


def _markers(evidence: Evidence, scope: Scope) -> list[Marker]:
    """Return the retained markers, that which decides first, neutral ones before others."""
    kept = [one for one in evidence.study.markers if one.role != "void"]
    return sorted(kept, key=lambda one: (one.id != scope.deciding[0], one.role != "neutral"))


def _at_start(evidence: Evidence, group: str, marker: str) -> float:
    """Return the median plate number of the columns of a group while the reference was taken; 0 for none."""
    declines = (evidence.decline(one.id, marker, PLATES) for one in under_one_stress(evidence.study, group))
    found = [one.reference_value for one in declines if one is not None and one.reference_value]
    return median(found) if found else 0.0


def _figures(value: float) -> str:
    return rounded(float(f"{value:.2g}"), 2)
