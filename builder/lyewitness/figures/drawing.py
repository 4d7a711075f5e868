"""All figures of a report.

In: the report and a theme's look. Out: its figures, in the order in which a reader meets them.
"""

from collections.abc import Iterator

from lyewitness.figures.decline_curves import decline_figure, limited_pairs
from lyewitness.figures.lives import lives_figure
from lyewitness.figures.records import Figure
from lyewitness.figures.style import Look
from lyewitness.figures.traces import trace_figure
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow


def draw_figures(report: Report, look: Look) -> tuple[Figure, ...]:
    """Return every figure that the report's data allow; ids are unique."""
    return tuple(_figures(report, look))


def _figures(report: Report, look: Look) -> Iterator[Figure]:
    lives = lives_figure(report, look)
    if lives is not None:
        yield lives
    for marker, metric in limited_pairs(report):
        yield decline_figure(report, look, marker, metric)
    rows = _rows_by_injection(report)
    for injection in report.study.injections:
        if injection.id in report.traces:
            yield trace_figure(report, look, injection, rows.get(injection.id, []))


def _rows_by_injection(report: Report) -> dict[str, list[PeakRow]]:
    """Return the peak rows of each injection, in the order of the markers."""
    rows: dict[str, list[PeakRow]] = {}
    for row in report.measurements.rows:
        rows.setdefault(row.injection, []).append(row)
    return rows
