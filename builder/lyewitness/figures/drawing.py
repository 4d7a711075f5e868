"""All figures of a report.

In: the report and a theme's look. Out: its figures, in the order in which a reader meets them.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import partial, wraps

from lyewitness.figures.chromatograms import first_last_figure, waterfall_figure
from lyewitness.figures.decline_curves import decline_figure, limited_pairs, residuals_figure
from lyewitness.figures.effects import accelerated_figures, factor_figures
from lyewitness.figures.events import logged_figures
from lyewitness.figures.held_lives import held_lives_figure
from lyewitness.figures.limits import limits_figure
from lyewitness.figures.lives import lives_figures
from lyewitness.figures.multiples import column_figure, marker_figure
from lyewitness.figures.particle_plots import particle_figures
from lyewitness.figures.pictures import picture_figures
from lyewitness.figures.records import Figure
from lyewitness.figures.shares import Drawing, Drawn, shares_of
from lyewitness.figures.style import Look
from lyewitness.figures.survival import survival_figures
from lyewitness.figures.traces import trace_figure
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from lyewitness.store import NO_STORE, Store, code_digest, digest_of
from lyewitness.words.decoding import printable
from lyewitness.workers import done_in_turn


def draw_figures(report: Report, look: Look, store: Store = NO_STORE, jobs: int = 1) -> tuple[Figure, ...]:
    """Return every figure that the report's data allow; ids are unique.

    What was drawn from the same before comes from `store`; up to `jobs` are drawn at once.
    """
    return tuple(figures_in_turn(report, look, store, jobs))


def figures_in_turn(report: Report, look: Look, store: Store = NO_STORE, jobs: int = 1) -> Iterator[Figure]:
    """Yield every figure when it is asked for: whoever wants an early one need not wait for the last."""
    return _set_apart(_drawn_or_kept(drawings_of(report, look), look, store, jobs))


def _drawn_or_kept(drawings: Iterable[Drawing], look: Look, store: Store, jobs: int) -> Iterator[Figure]:
    """Yield the figures of each drawing, from the store where they were drawn from the same before."""
    if store is NO_STORE and jobs == 1:
        for drawing in drawings:
            yield from _drawn(drawing)
        return
    wanted = list(drawings)
    keys = [digest_of("figures", code_digest(), look, *drawing.source) for drawing in wanted]
    kept = [store.recall(key) for key in keys]
    tasks = [partial(_drawn, one) for one, (found, _) in zip(wanted, kept, strict=True) if not found]
    fresh = done_in_turn(tasks, jobs)
    for key, (found, figures) in zip(keys, kept, strict=True):
        if not found:
            figures = next(fresh)
            store.keep(key, figures)
        yield from figures


def _drawn(drawing: Drawing) -> list[Figure]:
    """Return what is to be drawn, in words that a document can hold."""
    return [_printable(figure) for figure in drawing.draw()]


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


def drawings_of(report: Report, look: Look) -> Iterator[Drawing]:
    """Yield what there is to draw, in the order of reading, each with its share of the report alone."""
    shares = shares_of(report)
    whole, columns = shares.whole(), report.study.columns

    def of_all(draw: Callable[..., Drawn], *arguments: object) -> Drawing:
        return shares.drawing(whole, draw, look, *arguments)

    yield of_all(lives_figures)
    yield of_all(limits_figure)
    yield of_all(factor_figures)
    for marker, metric in limited_pairs(report):
        yield of_all(_in_both_widths(decline_figure), marker, metric)
    for group in report.study.groups:
        own = shares.of_columns([column.id for column in columns if column.group == group])
        yield shares.drawing(own, _with_rows(first_last_figure), look, group)
    for one in report.study.markers:
        yield of_all(_in_both_widths(marker_figure), one.id)
    for column in columns:
        yield shares.drawing(shares.of_columns([column.id]), _in_both_widths(column_figure), look, column)
    for draw in (survival_figures, accelerated_figures, logged_figures, residuals_figure, held_lives_figure):
        yield of_all(draw)
    for column in columns:
        yield shares.drawing(
            shares.of_columns([column.id]), _in_both_widths(_with_rows(waterfall_figure)), look, column
        )
    yield shares.of_images(picture_figures, look, report.study.images)
    for image in report.study.images:
        yield shares.of_images(particle_figures, look, (image,))
    for run in shares.runs:
        yield shares.drawing(run, _trace_figures, look)


def _trace_figures(report: Report, look: Look) -> Iterator[Figure]:
    """Yield the chromatogram of each injection."""
    rows = _rows_by_injection(report)
    for injection in report.study.injections:
        if injection.id in report.traces:
            yield trace_figure(report, look, injection, rows.get(injection.id, []))


def _in_both_widths(draw: Callable[..., Figure | None]) -> Callable[..., Figure | None]:
    """Return a function that draws a figure for the page and once more for the screen of a phone."""

    @wraps(draw)
    def drawn(report: Report, look: Look, *arguments: object) -> Figure | None:
        figure, narrow = (draw(report, one, *arguments) for one in (look, look.narrow()))
        if figure is None or narrow is None:
            return figure
        return replace(
            figure,
            narrow=narrow.data,
            narrow_dark=narrow.dark,
            narrow_width_px=narrow.width_px,
            narrow_height_px=narrow.height_px,
        )

    return drawn


def _with_rows(draw: Callable[..., Figure | None]) -> Callable[..., Figure | None]:
    """Return a function of (report, look, one) that hands on the peak rows by injection."""

    @wraps(draw)
    def drawn(report: Report, look: Look, one: object) -> Figure | None:
        return draw(report, look, one, _rows_by_injection(report))

    return drawn


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


def _rows_by_injection(report: Report) -> dict[str, list[PeakRow]]:
    """Return the peak rows of each injection, in the order of the markers."""
    rows: dict[str, list[PeakRow]] = {}
    for row in report.measurements.rows:
        rows.setdefault(row.injection, []).append(row)
    return rows
