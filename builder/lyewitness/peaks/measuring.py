"""From the traces of a study to one row for every injection and marker.

In: a `Study` and its traces by injection id. Out: `Measurements`. The order of the steps and nothing else:
survey all traces, follow the markers along each column, outline the peaks found, write the rows.

Each column is measured by itself, handed its own injections and of the study what measuring uses. So its rows
depend on no other column, to the last bit, and come from the store when only another one has changed.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import partial
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import TypeVar

import numpy as np

from lyewitness.peaks.formulas import Outlines
from lyewitness.peaks.method_notes import method_notes
from lyewitness.peaks.naming.absences import with_reason
from lyewitness.peaks.naming.histories import Assignment, follow
from lyewitness.peaks.naming.meetings import separate_meetings
from lyewitness.peaks.naming.strangers import told_apart
from lyewitness.peaks.records import Measurements, PeakOutline, PeakRow, VoidVolume
from lyewitness.peaks.rows.coelution import hold_strangers
from lyewitness.peaks.rows.flags import unlike_neighbours
from lyewitness.peaks.rows.grounds import ground_of, stand
from lyewitness.peaks.rows.local_fits import LocalFit, fit_locally
from lyewitness.peaks.rows.metrics import Measured, metrics_of
from lyewitness.peaks.rows.outlines import Peak, joined, outline_peaks, window_of
from lyewitness.peaks.rows.rows import (
    Setting,
    exposures_of,
    in_order,
    position_of,
    rough_outline,
    rows_of_injection,
    void_volume_of,
)
from lyewitness.peaks.survey.disturbances import edges_at
from lyewitness.peaks.survey.surveys import Component, Survey, survey_traces
from lyewitness.peaks.survey.tops import MOST_PLATES
from lyewitness.store import NO_STORE, Store, code_digest, digest_of
from lyewitness.study.records import Column, Exports, Injection, Study
from lyewitness.traces.records import Trace, trace_key
from lyewitness.words.arrays import FloatArray
from lyewitness.workers import done_in_turn

Told = TypeVar("Told")
Progress = Callable[[int, int], None]
"""Told (traces measured, traces in all)."""

TOGETHER = 60
"""Traces of a column surveyed in one go: enough for arrays to pay, few enough for their working arrays."""
WITHOUT_RETENTION_MIN = 0.3
"""Retention assumed for the sharpest peak where the study states none for a column."""


@dataclass(frozen=True, eq=False, slots=True)
class _Own:
    """What measuring sees of one column."""

    study: Study
    """With this column alone, and nothing in it but what measuring uses."""
    traces: Mapping[str, Trace]

    @property
    def key(self) -> str:
        """Return what tells it from every other."""
        keys = [(name, trace_key(trace)) for name, trace in self.traces.items()]
        return digest_of("column measured", code_digest(), self.study, keys)


def measure(
    study: Study,
    traces: Mapping[str, Trace],
    progress: Progress | None = None,
    store: Store = NO_STORE,
    jobs: int = 1,
) -> Measurements:
    """Return every marker of every injection of `study`; `traces` are by injection id.

    Injections that the study does not use are measured all the same. One whose trace is not in `traces` has
    rows that say so. A column comes from `store` where it was measured before; up to `jobs` are at once.
    """
    columns = [_own(study, column, traces) for column in study.columns]
    keys = [column.key if store is not NO_STORE else "" for column in columns]
    kept = [store.recall(key) for key in keys]
    wanted = [column for column, (found, _) in zip(columns, kept, strict=True) if not found]
    # A column by itself is measured here and shares its work out; of several each is one piece of work,
    # perhaps a worker's, which cannot tell how far it is.
    inside = jobs if len(wanted) == 1 else 1
    told = progress if len(columns) == 1 else None
    if jobs > 1 and wanted:
        # Each worker would load them for itself.
        import scipy.ndimage
        import scipy.optimize
        import scipy.special  # noqa: F401
    fresh = done_in_turn(
        [partial(_of_column, one, store, inside, told) for one in wanted], jobs, least_each=1
    )
    measured: list[Measurements] = []
    done = 0
    for column, key, (found, before) in zip(columns, keys, kept, strict=True):
        measured.append(before if found else next(fresh))
        if not found:
            store.keep(key, measured[-1])
        done += len(column.traces)
        if progress is not None:
            progress(done, len(traces))
    return _together(study, measured)


def _of_column(column: _Own, store: Store, jobs: int, progress: Progress | None) -> Measurements:
    """Return what was measured of a column; its surveys, as large as its traces, are let go at once."""
    return _measured(column.study, _surveys(column, store, jobs, progress), store)


def _own(study: Study, column: Column, traces: Mapping[str, Trace]) -> _Own:
    """Return what is measured of a column."""
    injections = tuple(one for one in study.injections if one.column == column.id)
    part = Study(
        folder=Path(),
        id="",
        title="",
        questions=(),
        stress=study.stress,
        test=study.test,
        columns=(column,),
        markers=study.markers,
        limits=(),
        injections=injections,
        choices=study.choices,
        exports=study.exports,
    )
    return _Own(part, {one.id: traces[one.id] for one in injections if one.id in traces})


def _together(study: Study, measured: Sequence[Measurements]) -> Measurements:
    """Return what was measured of all columns, in the order of the study's injections."""
    rows: dict[str, list[PeakRow]] = {injection.id: [] for injection in study.injections}
    for row in (row for one in measured for row in one.rows):
        rows[row.injection].append(row)
    baselines = {name: line for one in measured for name, line in one.baselines.items()}
    unassigned = {name: peaks for one in measured for name, peaks in one.unassigned.items()}
    return Measurements(
        rows=tuple(row for own in rows.values() for row in own),
        baselines={name: baselines[name] for name in rows if name in baselines},
        unassigned={name: unassigned[name] for name in rows if name in unassigned},
        void_volumes={name: volume for one in measured for name, volume in one.void_volumes.items()},
        method_notes=method_notes(study.choices),
    )


def _measured(study: Study, surveys: Mapping[str, Survey], store: Store) -> Measurements:
    """Return what stands on the traces of one column, the only one of `study`."""
    sequences = in_order(study)
    assigned = _assign(study, surveys, sequences)
    surveys, assigned = separate_meetings(surveys, assigned)
    columns = [[i.id for i in sequences[column.id] if i.id in surveys] for column in study.columns]
    surveys, assigned = told_apart(surveys, assigned, columns)
    peaks = _with_company(_compared(_peaks(study, surveys, assigned, store), columns), columns)
    parts = [_outlined(study, list(own.values()), store) for own in _in_company(study, peaks)]
    outlines, metrics = joined([part for part, _ in parts]), [one for _, own in parts for one in own]
    volumes = _void_volumes(study, sequences, peaks, outlines)
    exposures = exposures_of(study, sequences, volumes)
    rows: list[PeakRow] = []
    for injection in study.injections:
        column, name = study.column(injection.column), injection.id
        setting = Setting(study, injection, column, exposures[name], assigned.get(name))
        found = {marker.id: peaks[name, marker.id] for marker in study.markers if (name, marker.id) in peaks}
        rows += rows_of_injection(setting, found, outlines, metrics)
    return Measurements(
        rows=tuple(rows),
        baselines=_baselines(surveys, peaks),
        unassigned={name: _unassigned(survey, assigned[name]) for name, survey in surveys.items()},
        void_volumes=volumes,
    )


def _surveys(column: _Own, store: Store, jobs: int, progress: Progress | None) -> dict[str, Survey]:
    """Return the survey of every injection of a column with a trace; here most of the time is spent.

    Some traces go at a time, so that one more injection leaves the surveys of all but the last of them as
    they were, and in the store.
    """
    own, sharpest = list(column.traces.values()), _narrowest_sigma(column.study)
    tasks = [
        partial(_surveyed, own[first : first + TOGETHER], sharpest, column.study.exports, store)
        for first in range(0, len(own), TOGETHER)
    ]
    found: list[Survey] = []
    for some in done_in_turn(tasks, jobs):
        found += [one.on(trace) for one, trace in zip(some, own[len(found) :], strict=False)]
        if progress is not None:
            progress(len(found), len(own))
    return dict(zip(column.traces, found, strict=True))


@dataclass(frozen=True, eq=False, slots=True)
class _Bare:
    """A survey without its trace, which lies in the store already."""

    survey: Survey
    cleaned: Trace | None
    """The trace, where the survey has it without spikes and edges."""

    def on(self, trace: Trace) -> Survey:
        """Return the survey of its trace."""
        return replace(self.survey, trace=self.cleaned or trace)


_NO_TRACE = Trace("", "", np.zeros(0), np.zeros(0), "", "", "", "")


def _surveyed(some: Sequence[Trace], sharpest: float, exports: Exports, store: Store) -> tuple[_Bare, ...]:
    """Return the surveys of some traces of one column; from the store where it has them of the very same."""
    source = ([trace_key(one) for one in some], sharpest, exports)
    return store.made("surveys", source, lambda: _bare_surveys(some, sharpest))


def _bare_surveys(some: Sequence[Trace], sharpest: float) -> tuple[_Bare, ...]:
    surveys = survey_traces(some, [sharpest] * len(some))
    return tuple(
        _Bare(replace(survey, trace=_NO_TRACE), None if survey.trace is trace else survey.trace)
        for trace, survey in zip(some, surveys, strict=True)
    )


def _narrowest_sigma(study: Study) -> float:
    """Return the sharpest σ to be looked for on the only column of `study`, minutes."""
    (column,) = study.columns
    stated = [marker.expected_retention(column) for marker in study.markers]
    shortest = min((time for time in stated if time), default=WITHOUT_RETENTION_MIN)
    return float(shortest / np.sqrt(MOST_PLATES))


def _assign(
    study: Study, surveys: Mapping[str, Survey], sequences: Mapping[str, Sequence[Injection]]
) -> dict[str, dict[str, Assignment]]:
    """Return, by injection, which peak is which marker; column by column in the order of exposure."""
    assigned: dict[str, dict[str, Assignment]] = {}
    sharpest = _narrowest_sigma(study)
    for column in study.columns:
        own = [injection for injection in sequences[column.id] if injection.id in surveys]
        exposures = [position_of(study, column, injection) for injection in own]
        expected = [marker.expected_retention(column) for marker in study.markers]
        decided = follow([surveys[i.id].components for i in own], study.markers, expected, exposures)
        for injection, found in zip(own, decided, strict=True):
            survey = surveys[injection.id]
            assigned[injection.id] = {
                marker: with_reason(one, survey, sharpest) for marker, one in found.items()
            }
    return assigned


def _peaks(
    study: Study,
    surveys: Mapping[str, Survey],
    assigned: Mapping[str, Mapping[str, Assignment]],
    store: Store,
) -> dict[tuple[str, str], Peak]:
    """Return the found peaks by (injection, marker), numbered in order."""
    found = {
        (injection.id, marker): assignment
        for injection in study.injections
        for marker, assignment in assigned.get(injection.id, {}).items()
        if assignment.components
    }
    grounds = {name: ground_of(surveys[name]) for name in dict.fromkeys(name for name, _ in found)}
    stood = {key: stand(surveys[key[0]], grounds[key[0]], one) for key, one in found.items()}
    fits: list[LocalFit] = []
    for some in _in_company(study, stood):
        asked = [
            (one.survey, one.own, found[key].separated, one.footing.off if one.footing else None)
            for key, one in some.items()
        ]
        source = (study.exports, *_told([survey for survey, *_ in asked]), [one[1:] for one in asked])
        fits += store.made("local fits", source, partial(fit_locally, asked))
    columns = {injection.id: study.column(injection.column) for injection in study.injections}
    return {
        (name, marker): Peak(
            one.survey,
            replace(found[name, marker], components=one.own),
            columns[name],
            place,
            local,
            footing=one.footing,
        )
        for place, (((name, marker), one), local) in enumerate(zip(stood.items(), fits, strict=True))
    }


def _outlined(study: Study, peaks: Sequence[Peak], store: Store) -> tuple[Outlines, list[Measured]]:
    """Return outlines and metrics of the peaks of some injections; from the store where it has them.

    How sure a peak is to be its marker's, which every injection has a say in, has none in these.
    """
    seen = [
        replace(
            one,
            place=place,
            assignment=Assignment(
                one.assignment.components,
                shared_with=one.assignment.shared_with,
                separated=one.assignment.separated,
            ),
        )
        for place, one in enumerate(peaks)
    ]
    wide = study.choices.noise_window_half_widths

    def outlined() -> tuple[Outlines, list[Measured]]:
        outlines = outline_peaks([window_of(one.survey, one.local, one.footing) for one in seen])
        return outlines, metrics_of(seen, outlines, wide)

    told = [(one.assignment, one.column, one.local, one.is_unlike, one.footing) for one in seen]
    source = (study.exports, wide, *_told([one.survey for one in seen]), told)
    return store.made("outlines", source, outlined)


_BESIDE_TRACE = attrgetter(*(field.name for field in fields(Survey) if field.name != "trace"))
"""All of a survey but its trace."""


def _told(surveys: Sequence[Survey]) -> tuple[object, ...]:
    """Return what tells surveys from all others, and which of them each is: several peaks stand on one.

    What was taken off a trace is told by its file, and by how that was read.
    """
    each = {id(one): one for one in surveys}
    places = {key: place for place, key in enumerate(each)}
    told = [(trace_key(one.trace), _BESIDE_TRACE(one)) for one in each.values()]
    return told, [places[id(one)] for one in surveys]


def _in_company(study: Study, told: Mapping[tuple[str, str], Told]) -> Iterator[dict[tuple[str, str], Told]]:
    """Yield what is told by (injection, marker), in its order, of some injections after the others.

    In the company of others a fit, or a sum over a peak, differs in its last bits: in the same company it
    stays what it was, and so do the pages and figures of all but the last injections when one comes to a
    column.
    """
    company = {injection.id: place // TOGETHER for place, injection in enumerate(study.injections)}
    for _, some in groupby(told.items(), key=lambda one: company[one[0][0]]):
        yield dict(some)


def _compared(
    peaks: Mapping[tuple[str, str], Peak], columns: Sequence[Sequence[str]]
) -> dict[tuple[str, str], Peak]:
    """Return the peaks, told where one is unlike its marker's before and behind it; `columns` in order."""
    compared = dict(peaks)
    for marker in {marker for _, marker in peaks}:
        for names in columns:
            own = [peaks.get((name, marker)) for name in names]
            misfits = [peak.local.residual_share if peak and len(peak.own) == 1 else None for peak in own]
            for peak, name, is_unlike in zip(own, names, unlike_neighbours(misfits), strict=True):
                if is_unlike and peak is not None:
                    compared[name, marker] = replace(peak, is_unlike=True)
    return compared


def _with_company(
    peaks: Mapping[tuple[str, str], Peak], columns: Sequence[Sequence[str]]
) -> dict[tuple[str, str], Peak]:
    """Return the peaks, told where something elutes in one that the fresh column did not show."""
    told = dict(peaks)
    named: dict[str, list[tuple[str, Component]]] = {}
    for (name, marker), peak in peaks.items():
        named.setdefault(name, []).extend((marker, c) for c in peak.assignment.components)
    for marker in {marker for _, marker in peaks}:
        for names in columns:
            own = [(name, marker) for name in names if (name, marker) in peaks]
            others = [[c for other, c in named[name] if other != marker] for name, _ in own]
            pairs = [(peaks[key], beside) for key, beside in zip(own, others, strict=True)]
            for key, holds in zip(own, hold_strangers(pairs), strict=True):
                if holds:
                    told[key] = replace(
                        peaks[key], assignment=replace(peaks[key].assignment, holds_stranger=True)
                    )
    return told


def _void_volumes(
    study: Study,
    sequences: Mapping[str, Sequence[Injection]],
    peaks: Mapping[tuple[str, str], Peak],
    outlines: Outlines,
) -> dict[str, VoidVolume]:
    """Return the void volume of every column of which one is known."""
    void = study.void_marker
    hold_up = {
        injection: float(outlines.apex[peak.place])
        for (injection, marker), peak in peaks.items()
        if void is not None and marker == void.id
    }
    volumes = {c.id: void_volume_of(study, c, sequences[c.id], hold_up) for c in study.columns}
    return {column: volume for column, volume in volumes.items() if volume is not None}


def _baselines(
    surveys: Mapping[str, Survey], peaks: Mapping[tuple[str, str], Peak]
) -> dict[str, tuple[FloatArray, FloatArray]]:
    """Return the support points of each trace's baseline, under every named peak its own; read-only."""
    pieces: dict[str, list[Peak]] = {name: [] for name in surveys}
    for (name, _), peak in peaks.items():
        pieces[name].append(peak)
    return {name: _support(survey, pieces[name]) for name, survey in surveys.items()}


def _support(survey: Survey, peaks: Sequence[Peak]) -> tuple[FloatArray, FloatArray]:
    """Return the support points of one baseline; where peaks overlap that of the later one counts."""
    time, value = survey.baseline.time.copy(), survey.baseline.value.copy()
    first, last = float(survey.trace.time_min[0]), float(survey.trace.time_min[-1])
    for peak in sorted(peaks, key=lambda peak: peak.own[0].apex_min):
        start = max(min(c.start_min for c in peak.own), first)
        end = min(max(c.end_min for c in peak.own), last)
        own = peak.local.baseline.time
        places = np.array([start, *own[(own > start) & (own < end)], end])
        before, behind = time < start, time > end
        time, value = (
            np.concatenate([time[before], places, time[behind]]),
            np.concatenate([value[before], peak.local.baseline.at(places), value[behind]]),
        )
    time, value = _with_edges(survey, time, value)
    time.setflags(write=False)
    value.setflags(write=False)
    return time, value


def _with_edges(survey: Survey, time: FloatArray, value: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return a baseline as it lies in the trace as recorded: with the edges that were taken off."""
    if not survey.edges:
        return time, value
    own = survey.trace.time_min
    first = [int(own.searchsorted(edge.time_min)) for edge in survey.edges]
    places = [own[i : i + 2] for i in first]
    places += [np.linspace(edge.time_min, edge.over_min, 28) for edge in survey.edges if edge.passing]
    more = np.concatenate([time, *places])
    times = np.unique(more[more <= own[-1]])
    return times, np.interp(times, time, value) + edges_at(survey.edges, times)


def _unassigned(survey: Survey, assigned: Mapping[str, Assignment]) -> tuple[PeakOutline, ...]:
    """Return the outlines of the peaks that belong to no marker."""
    named = {(c.span, c.top) for assignment in assigned.values() for c in assignment.components}
    return tuple(rough_outline(survey, c) for c in survey.components if (c.span, c.top) not in named)
