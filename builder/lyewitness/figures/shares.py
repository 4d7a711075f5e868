"""What of a report each figure is drawn from, so that one is drawn again only when that has changed.

In: `Report`. Out: `Drawing`s: a function still to be called, and all that it will see. A function is handed
its share of the report and nothing else; so what a share does not hold cannot show in the figure.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path

from lyewitness.decline.records import Decline, GroupLife, Judgement, Series
from lyewitness.figures.records import Figure
from lyewitness.figures.style import Look
from lyewitness.findings.records import Findings, Report
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.store import digest_of
from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Injection, Study, StudyImage
from lyewitness.traces.records import trace_key

Drawn = Figure | None | Iterable[Figure | None]
"""What a drawing function may return."""

NOTHING_FOUND = Findings((), (), (), (), ())
TOGETHER = 25
"""Injections of a column that are drawn and told in one go: few enough that one more costs little, enough
that a study of thousands is looked up in a hundred pieces."""

HOLD_UPS = 3
"""First hold-up times of a column that make volumes of the hours of its log."""


@dataclass(frozen=True, eq=False, slots=True)
class Drawing:
    """Figures still to be drawn."""

    source: tuple[object, ...]
    """All that they are drawn from but the look, or digests of it."""
    draw: Callable[[], list[Figure]]


@dataclass(frozen=True, eq=False, slots=True)
class Share:
    """Part of a report, as a report that holds nothing else."""

    report: Report
    digest: str


class Shares:
    """Cuts one report into shares."""

    def __init__(self, report: Report) -> None:
        self._report = report
        # Notes, hashes and the folder's place show in no figure.
        self._study = replace(report.study, folder=Path(), notes=(), file_hashes=(), rows_read=())
        self._bare = replace(self._study, injections=(), conditions=(), images=())
        self._bare_digest = digest_of(self._bare)
        self._rows: dict[str, list[PeakRow]] = {}
        for row in report.measurements.rows:
            self._rows.setdefault(row.injection, []).append(row)
        self._by_columns: dict[tuple[str, ...], Share] = {}
        self._injections: dict[str, list[Injection]] = {column.id: [] for column in self._study.columns}
        for injection in self._study.injections:
            self._injections[injection.column].append(injection)
        self._declines: dict[str, list[Decline]] = {column.id: [] for column in self._study.columns}
        for decline in report.judgement.declines:
            self._declines[decline.series.column].append(decline)

    @cached_property
    def _digests(self) -> dict[str, str]:
        """What tells each column's part of the report: each of thousands of rows is looked at once."""
        return {
            name: digest_of([run.digest for run in runs], [self._of_decline[d] for d in self._declines[name]])
            for name, runs in self._runs_by_column.items()
        }

    @cached_property
    def _of_decline(self) -> dict[Decline, str]:
        """What tells each decline, which several shares hold."""
        return {one: digest_of(one) for one in self._report.judgement.declines}

    def whole(self) -> Share:
        """Return all but the traces."""
        report = replace(self._report, study=self._study, traces={}, problems=(), provenance={})
        bare = replace(self._study, injections=())
        order = [one.id for one in self._study.injections]
        measured, judged = report.measurements, replace(report.judgement, declines=())
        seen = (bare, order, measured.void_volumes, measured.method_notes, judged, report.findings)
        return Share(report, digest_of(self._digests, seen))

    @cached_property
    def bare(self) -> Share:
        """Return the study without injections, log and images, and nothing that was measured."""
        return self._share(self._bare, ())

    @cached_property
    def log(self) -> Share:
        """Return the log, and the hold-up times of each column that make volumes of its hours."""
        times: dict[str, list[PeakRow]] = {column.id: [] for column in self._study.columns}
        for row in self._report.measurements.rows:
            if row.hold_up_time_min is not None and len(times[row.column]) < HOLD_UPS:
                times[row.column].append(row)
        study = replace(self._bare, conditions=self._study.conditions)
        measured = Measurements(tuple(row for rows in times.values() for row in rows), {}, {})
        report = replace(self.bare.report, study=study, measurements=measured)
        return Share(report, digest_of(study, measured.rows))

    def of_declines(self, marker: str, metric: str = "") -> Share:
        """Return the declines of a marker, by one metric if it is named, and the lives of groups by them."""
        told = self._report.judgement
        own = tuple(one for one in told.declines if _is_of(one.series, marker, metric))
        lives = tuple(one for one in told.group_lives if _is_of(one, marker, metric))
        judgement = Judgement(own, lives, (), ())
        digests = [self._of_decline[one] for one in own]
        report = replace(self.bare.report, judgement=judgement)
        return Share(report, digest_of("declines", self._bare_digest, digests, lives))

    def of_columns(self, columns: Sequence[str]) -> Share:
        """Return what belongs to some columns: injections, traces, rows and declines."""
        if tuple(columns) not in self._by_columns:
            self._by_columns[tuple(columns)] = self._of_columns(columns)
        return self._by_columns[tuple(columns)]

    def _of_columns(self, columns: Sequence[str]) -> Share:
        study = replace(
            self._study,
            injections=tuple(one for one in self._study.injections if one.column in columns),
            conditions=(),
            images=(),
        )
        declines = tuple(d for d in self._report.judgement.declines if d.series.column in columns)
        order = [one.id for one in study.injections]
        told = [(name, self._digests[name]) for name in columns]
        return self._share(study, declines, digest_of("columns", self._bare_digest, order, told))

    @cached_property
    def runs(self) -> tuple[Share, ...]:
        """What belongs to `TOGETHER` injections of a column, column by column, until none is left."""
        return tuple(run for runs in self._runs_by_column.values() for run in runs)

    @cached_property
    def _runs_by_column(self) -> dict[str, list[Share]]:
        return {name: list(self._runs_of(own)) for name, own in self._injections.items()}

    def _runs_of(self, own: Sequence[Injection]) -> Iterator[Share]:
        for first in range(0, len(own), TOGETHER):
            run = tuple(own[first : first + TOGETHER])
            yield self._share(replace(self._bare, injections=run), ())

    def drawing(self, share: Share, draw: Callable[..., Drawn], look: Look, *arguments: object) -> Drawing:
        """Return what `draw` makes of a share, the look and further arguments, still to be drawn."""
        source = (draw.__name__, share.digest, arguments)
        return Drawing(source, lambda: _figures_in(draw(share.report, look, *arguments)))

    def of_images(
        self, draw: Callable[..., Drawn], look: Look, images: tuple[StudyImage, ...], *arguments: object
    ) -> Drawing:
        """Return what `draw` makes of some images of the study and further arguments, still to be drawn."""
        whole = self._report.study
        files = StudyFiles(whole.folder, stated=dict(whole.file_hashes))
        held = [digest_of(files.read(image.file)) for image in images]
        study = replace(self._bare, images=images)
        there = replace(study, folder=whole.folder, file_hashes=whole.file_hashes)
        source = (draw.__name__, digest_of(study), held, arguments)
        return Drawing(source, lambda: _figures_in(draw(there, look, *arguments)))

    def _share(self, study: Study, declines: tuple[Decline, ...], digest: str = "") -> Share:
        """Return the share of a report that has these; `digest` tells it, or else all that it holds does."""
        told, names = self._report.measurements, [one.id for one in study.injections]
        traces = {name: self._report.traces[name] for name in names if name in self._report.traces}
        measurements = Measurements(
            tuple(row for name in names for row in self._rows.get(name, ())),
            {name: told.baselines[name] for name in names if name in told.baselines},
            {name: told.unassigned[name] for name in names if name in told.unassigned},
        )
        judgement = Judgement(declines, (), (), (), deciding=self._report.judgement.deciding)
        report = Report(study, traces, measurements, judgement, NOTHING_FOUND, ())
        keys = [(name, trace_key(trace)) for name, trace in traces.items()]
        seen = (study.injections, measurements, declines, judgement.deciding, keys)
        return Share(report, digest or digest_of(self._bare_digest, seen))


def _is_of(one: Series | GroupLife, marker: str, metric: str) -> bool:
    return one.marker == marker and metric in (one.metric, "")


@lru_cache(maxsize=1)
def shares_of(report: Report) -> Shares:
    """Return what cuts a report into shares: figures and pages are made of the same ones."""
    return Shares(report)


def _figures_in(drawn: Drawn) -> list[Figure]:
    """Return what was drawn as a list, without what could not be."""
    if drawn is None or isinstance(drawn, Figure):
        return [drawn] if drawn is not None else []
    return [figure for figure in drawn if figure is not None]
