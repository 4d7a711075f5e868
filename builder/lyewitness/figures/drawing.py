"""All figures of a report.

In: the report and a theme's look. Out: its figures, in the order in which a reader meets them.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from lyewitness.figures.chromatograms import first_last_figure, waterfall_figure
from lyewitness.figures.decline_curves import decline_figure, limited_pairs, residuals_figure
from lyewitness.figures.events import logged_figures
from lyewitness.figures.factors import accelerated_figures, factor_figures
from lyewitness.figures.lives import lives_figures
from lyewitness.figures.multiples import column_figure, marker_figure
from lyewitness.figures.particle_plots import particle_figures
from lyewitness.figures.pictures import picture_figures
from lyewitness.figures.records import Figure
from lyewitness.figures.style import Look
from lyewitness.figures.survival import survival_figures
from lyewitness.figures.traces import trace_figure
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from lyewitness.words.decoding import printable


def draw_figures(report: Report, look: Look) -> tuple[Figure, ...]:
    """Return every figure that the report's data allow; ids are unique."""
    return tuple(figures_in_turn(report, look))


def figures_in_turn(report: Report, look: Look) -> Iterator[Figure]:
    """Yield every figure when it is asked for: whoever wants an early one need not wait for the last."""
    return map(_printable, _set_apart(_figures(report, look)))


def _printable(figure: Figure) -> Figure:
    """Return a figure whose words a document can hold, in the drawing as beside it."""
    return replace(
        figure,
        title=printable(figure.title),
        caption=printable(figure.caption),
        alt=printable(figure.alt),
        data=_drawn_words(figure.data),
        dark=_drawn_words(figure.dark),
        narrow=_drawn_words(figure.narrow),
        narrow_dark=_drawn_words(figure.narrow_dark),
    )


def _drawn_words(drawing: bytes) -> bytes:
    """Return an SVG with words that it can hold; a picture of pixels as it is."""
    return printable(drawing.decode()).encode() if b"<svg" in drawing[:1000] else drawing


def _figures(report: Report, look: Look) -> Iterator[Figure]:
    yield from lives_figures(report, look)
    yield from factor_figures(report, look)
    rows = _rows_by_injection(report)
    for marker, metric in limited_pairs(report):
        yield decline_figure(report, look, marker, metric)
    yield from _drawn(first_last_figure(report, look, group, rows) for group in report.study.groups)
    yield from _drawn(marker_figure(report, look, marker.id) for marker in report.study.markers)
    yield from _drawn(column_figure(report, look, column) for column in report.study.columns)
    yield from survival_figures(report, look)
    yield from accelerated_figures(report, look)
    yield from logged_figures(report, look)
    yield from _drawn([residuals_figure(report, look)])
    yield from _drawn(waterfall_figure(report, look, column, rows) for column in report.study.columns)
    yield from picture_figures(report.study, look)
    yield from particle_figures(report.study, look)
    for injection in report.study.injections:
        if injection.id in report.traces:
            yield trace_figure(report, look, injection, rows.get(injection.id, []))


def _set_apart(figures: Iterable[Figure]) -> Iterator[Figure]:
    """Give a second name to what would lie on another figure on a disk that ignores upper and lower case."""
    taken: set[str] = set()
    for figure in figures:
        mark = ""
        while (figure.id + mark).lower() in taken:
            mark += "_"
        taken.add((figure.id + mark).lower())
        stem, _, ending = figure.file.rpartition(".")
        yield replace(figure, id=figure.id + mark, file=f"{stem}{mark}.{ending}") if mark else figure


def _drawn(figures: Iterable[Figure | None]) -> Iterator[Figure]:
    """Leave out what could not be drawn."""
    return (figure for figure in figures if figure is not None)


def _rows_by_injection(report: Report) -> dict[str, list[PeakRow]]:
    """Return the peak rows of each injection, in the order of the markers."""
    rows: dict[str, list[PeakRow]] = {}
    for row in report.measurements.rows:
        rows.setdefault(row.injection, []).append(row)
    return rows
