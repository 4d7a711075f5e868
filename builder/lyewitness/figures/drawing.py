"""All figures of a report.

In: the report and a theme's look. Out: its figures, in the order in which a reader meets them.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial, wraps
from importlib import import_module
from itertools import chain
from typing import Any

from lyewitness.figures.common_scales import common_scales
from lyewitness.figures.kept import FigureHead, bare_heads_of, figures_of, heads_of
from lyewitness.figures.records import Figure
from lyewitness.figures.shares import Drawing, Drawn, shares_of
from lyewitness.figures.style import Look
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from lyewitness.sheaves import Binding, bound
from lyewitness.store import NO_STORE, Store
from lyewitness.study.picture_titles import picture_titles
from lyewitness.study.records import Study, StudyImage
from lyewitness.words.decoding import printable

DRAWING_MODULES = (
    "chromatograms", "decline_curves", "effects", "events", "held_lives", "limits", "lives", "medium",
    "multiples", "particle_pairs", "particle_plots", "pictures", "survival", "traces",
)  # fmt: skip


def _by(module: str, name: str) -> Callable[..., Any]:
    """Return the drawing function `name` of a module of this stage.

    The module is loaded when it draws: a build that has all its figures from the store can spare that time,
    half a second with the library beneath.
    """

    def draw(*arguments: object) -> Any:
        return getattr(import_module(f"lyewitness.figures.{module}"), name)(*arguments)

    draw.__name__ = name
    return draw


lives_figures, limits_figure = _by("lives", "lives_figures"), _by("limits", "limits_figure")
factor_figures = _by("effects", "factor_figures")
accelerated_figures = _by("effects", "accelerated_figures")
decline_figure = _by("decline_curves", "decline_figure")
residuals_figure = _by("decline_curves", "residuals_figure")
first_last_figure = _by("chromatograms", "first_last_figure")
waterfall_figure = _by("chromatograms", "waterfall_figure")
marker_figure, column_figure = _by("multiples", "marker_figure"), _by("multiples", "column_figure")
survival_figures, logged_figures = _by("survival", "survival_figures"), _by("events", "logged_figures")
held_lives_figure = _by("held_lives", "held_lives_figure")
picture_figures = _by("pictures", "picture_figures")
particle_figures = _by("particle_plots", "particle_figures")
particle_pair_figures = _by("particle_pairs", "particle_pair_figures")
chemistry_figure = _by("medium", "chemistry_figure")
trace_figure = _by("traces", "trace_figure")


def draw_figures(report: Report, look: Look, store: Store = NO_STORE, jobs: int = 1) -> tuple[Figure, ...]:
    """Return every figure that the report's data allow; ids are unique.

    What was drawn from the same before comes from `store`; up to `jobs` are drawn at once.
    """
    return tuple(figures_in_turn(report, look, store, jobs))


def figures_in_turn(report: Report, look: Look, store: Store = NO_STORE, jobs: int = 1) -> Iterator[Figure]:
    """Yield every figure when it is asked for: whoever wants an early one need not wait for the last.

    With a store, the tables of all and the pictures of the traces stay there until they are asked for.
    """
    shares = shares_of(report)
    traces = (shares.drawing(run, _trace_figures, look) for run in shares.runs)
    first = _drawn_or_kept(drawings_of(report, look), heads_of, look, store, jobs)
    return _set_apart(chain(first, _drawn_or_kept(traces, bare_heads_of, look, store, jobs)))


def _drawn_or_kept(
    drawings: Iterable[Drawing],
    heads: Callable[[Sequence[Figure]], tuple[FigureHead, ...]],
    look: Look,
    store: Store,
    jobs: int,
) -> Iterator[Figure]:
    """Yield the figures of each drawing, from the store where they were drawn from the same before."""
    if store is NO_STORE and jobs == 1:
        for drawing in drawings:
            yield from _drawn(drawing)
        return
    bindings = [Binding((look, *one.source), partial(_drawn, one)) for one in drawings]
    prepare = _load_what_draws if jobs > 1 else None
    for run in bound("figures", bindings, heads, store, jobs, prepare):
        yield from figures_of(run)


def _load_what_draws() -> None:
    """Load what draws, which each worker would load for itself."""
    for module in DRAWING_MODULES:
        import_module(f"lyewitness.figures.{module}")


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
        low=figure.low and _printable(figure.low),
    )


def _drawn_words(drawing: bytes) -> bytes:
    """Return an SVG with words that it can hold; a picture of pixels as it is."""
    return printable(drawing.decode()).encode() if b"<svg" in drawing[:1000] else drawing


def drawings_of(report: Report, look: Look) -> Iterator[Drawing]:
    """Yield what there is to draw before the traces, in the order of reading, each with its share alone."""
    shares = shares_of(report)
    whole, columns = shares.whole(), report.study.columns

    def of_all(draw: Callable[..., Drawn], *arguments: object) -> Drawing:
        return shares.drawing(whole, draw, look, *arguments)

    yield of_all(lives_figures)
    yield of_all(limits_figure)
    yield of_all(factor_figures)
    for marker, metric in limited_pairs(report):
        own = shares.of_declines(marker, metric)
        yield shares.drawing(own, _in_both_widths(decline_figure), look, marker, metric)
    common = common_scales(report, _rows_by_injection(report))
    for group in report.study.groups:
        own = shares.of_columns([column.id for column in columns if column.group == group])
        yield shares.drawing(own, _with_rows(first_last_figure), look, group, common)
    for one in report.study.markers:
        yield shares.drawing(shares.of_declines(one.id), _in_both_widths(marker_figure), look, one.id)
    for column in columns:
        yield shares.drawing(shares.of_columns([column.id]), _in_both_widths(column_figure), look, column)
    yield of_all(survival_figures)
    yield of_all(accelerated_figures)
    yield shares.drawing(shares.log, _each_in_both_widths(logged_figures), look)
    yield of_all(_in_both_widths(residuals_figure))
    yield shares.drawing(shares.bare, _in_both_widths(held_lives_figure), look)
    yield of_all(chemistry_figure)
    for column in columns:
        yield shares.drawing(
            shares.of_columns([column.id]), _in_both_widths(_with_rows(waterfall_figure)), look, column
        )
    yield shares.of_images(picture_figures, look, report.study.images)
    pairs = counted_pairs(report.study)
    for images in pairs.values():
        yield shares.of_images(particle_pair_figures, look, images)
    titles = picture_titles(report.study.images)
    paired = {image.id for images in pairs.values() for image in images}
    for image in report.study.images:
        if image.id not in paired:
            title = {image.id: titles[image.id]}
            yield shares.of_images(particle_figures, look, (image,), title)


def counted_pairs(study: Study) -> dict[str, tuple[StudyImage, ...]]:
    """Return by their word the images that belong together and are to be counted, two or more."""
    found = {
        word: tuple(image for image in images if image.count_particles and image.nm_per_pixel)
        for word, images in study.pairs.items()
    }
    return {word: images for word, images in found.items() if len(images) > 1}


def _trace_figures(report: Report, look: Look) -> Iterator[Figure]:
    """Yield the chromatogram of each injection."""
    rows = _rows_by_injection(report)
    for injection in report.study.injections:
        if injection.id in report.traces:
            yield trace_figure(report, look, injection, rows.get(injection.id, []))


def limited_pairs(report: Report) -> tuple[tuple[str, str], ...]:
    """Return each (marker, metric) that has a limit and data, the deciding one first."""
    pairs = dict.fromkeys(
        (one.series.marker, one.series.metric)
        for one in report.judgement.declines
        if one.limit is not None and one.percent.size
    )
    deciding = report.judgement.deciding
    return tuple(sorted(pairs, key=lambda pair: pair != deciding))


def _in_both_widths(draw: Callable[..., Figure | None]) -> Callable[..., Figure | None]:
    """Return a function that draws a figure for the page and once more for the screen of a phone."""

    @wraps(draw)
    def drawn(report: Report, look: Look, *arguments: object) -> Figure | None:
        figure, narrow = (draw(report, one, *arguments) for one in (look, look.narrow()))
        return figure if figure is None or narrow is None else _with_narrow(figure, narrow)

    return drawn


def _each_in_both_widths(draw: Callable[[Report, Look], list[Figure]]) -> Callable[..., list[Figure]]:
    """Return the same of a function that draws several figures."""

    @wraps(draw)
    def drawn(report: Report, look: Look) -> list[Figure]:
        return list(map(_with_narrow, draw(report, look), draw(report, look.narrow())))

    return drawn


def _with_narrow(figure: Figure, narrow: Figure) -> Figure:
    """Return a figure with its form for the screen of a phone."""
    return replace(
        figure,
        narrow=narrow.data,
        narrow_dark=narrow.dark,
        narrow_width_px=narrow.width_px,
        narrow_height_px=narrow.height_px,
    )


def _with_rows(draw: Callable[..., Figure | None]) -> Callable[..., Figure | None]:
    """Return a function that hands on the peak rows by injection behind its other arguments."""

    @wraps(draw)
    def drawn(report: Report, look: Look, *arguments: object) -> Figure | None:
        return draw(report, look, *arguments, _rows_by_injection(report))

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
