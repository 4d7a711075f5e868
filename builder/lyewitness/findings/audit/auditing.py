"""The whole audit: every check in the order in which it is read.

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

from lyewitness.findings.audit import (
    columns,
    conditions,
    exposure,
    injections,
    markers,
    repeatability,
    results,
    running,
)
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence

CHECKS: tuple[Callable[[Evidence], Iterator[Point]], ...] = (
    columns.replicates,
    columns.pieces,
    columns.lots,
    columns.alike,
    exposure.settings,
    exposure.pace,
    exposure.velocity,
    exposure.duration,
    running.order,
    running.times,
    running.standing,
    running.gaps,
    conditions.logged,
    conditions.steady,
    conditions.alike,
    repeatability.areas_repeat,
    repeatability.reference_scatter,
    repeatability.reference_fresh,
    repeatability.hold_up_steady,
    repeatability.areas_conserved,
    markers.choice,
    injections.blank,
    injections.copies,
    injections.peaks_found,
    injections.peaks_sound,
    injections.left_out,
    results.bracketed,
    results.limits_agree,
    results.folder,
)


def audit(evidence: Evidence) -> tuple[Point, ...]:
    """Return every point of the audit; ids are unique, a second of the same id is numbered."""
    points = [point for check in CHECKS for point in check(evidence)]
    return tuple(_numbered(points))


def _numbered(points: list[Point]) -> Iterator[Point]:
    seen: dict[str, int] = {}
    for point in points:
        number = seen[point.check.id] = seen.get(point.check.id, 0) + 1
        if number == 1:
            yield point
        else:
            yield replace(point, check=replace(point.check, id=f"{point.check.id}-{number}"))
