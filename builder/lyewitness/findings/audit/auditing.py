"""The whole audit: every check in the order in which it is read.

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from lyewitness.findings.audit import (
    beginnings,
    columns,
    conditions,
    events,
    exposure,
    injections,
    lots,
    odd_lives,
    repeatability,
    results,
    running,
    sensitivity,
    set_apart,
    settling,
    standing,
)
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Check

CHECKS: tuple[Callable[[Evidence], Iterator[Point]], ...] = (
    columns.replicates,
    columns.pieces,
    columns.pooled,
    set_apart.set_apart,
    odd_lives.odd_lives,
    beginnings.begin_alike,
    columns.lots,
    lots.lots_alike,
    columns.alike,
    exposure.settings,
    exposure.pace,
    exposure.velocity,
    exposure.duration,
    running.ended,
    running.order,
    running.times,
    standing.standing,
    running.gaps,
    events.events,
    events.common,
    events.renewed,
    conditions.logged,
    conditions.steady,
    conditions.alike,
    conditions.retention_by_ph,
    conditions.buffer_range,
    repeatability.areas_repeat,
    repeatability.reference_scatter,
    repeatability.reference_fresh,
    settling.settled,
    repeatability.hold_up_steady,
    repeatability.areas_conserved,
    repeatability.choice_of_markers,
    repeatability.errors_last,
    injections.blank,
    injections.copies,
    injections.peaks_found,
    injections.peaks_sound,
    injections.lives_on_sound_peaks,
    injections.doubted_peaks,
    injections.left_out,
    injections.doubtful,
    sensitivity.with_all,
    sensitivity.without_doubtful,
    sensitivity.without_unplanned,
    results.bracketed,
    results.limits_agree,
    results.failed_before,
    results.folder,
)

COMPARING: frozenset[Callable[[Evidence], Iterator[Point]]] = frozenset(
    {
        set_apart.set_apart,
        odd_lives.odd_lives,
        columns.lots,
        lots.lots_alike,
        columns.alike,
        exposure.pace,
        exposure.velocity,
        exposure.duration,
        running.order,
        conditions.alike,
        results.bracketed,
        results.failed_before,
    }
)
"""What is asked of the comparison: a column that is left out of it has no part in means, counts and lives."""


def audit(evidence: Evidence) -> tuple[Point, ...]:
    """Return every point of the audit; a second check of the same id gets a number."""
    points = [
        point for check in CHECKS for point in check(evidence.compared if check in COMPARING else evidence)
    ]
    return tuple(_numbered(points))


def checks_of(points: Iterable[Point]) -> tuple[Check, ...]:
    """Return the checks of the points, each once."""
    return tuple(dict.fromkeys(point.check for point in points))


def _numbered(points: Iterable[Point]) -> Iterator[Point]:
    checks: dict[str, list[Check]] = {}
    for point in points:
        known = checks.setdefault(point.check.id, [])
        if point.check not in known:
            known.append(point.check)
        number = known.index(point.check) + 1
        check = point.check if number == 1 else replace(point.check, id=f"{point.check.id}-{number}")
        yield replace(point, check=check)
