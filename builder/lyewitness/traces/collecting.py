"""The traces of a whole study, each file read once, all in one signal unit.

In: a `Study`. Out: one `Trace` for each injection, and every problem on the way: files that cannot be read as
errors, what the readers had to assume or repair as cautions.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import PurePosixPath

from lyewitness.store import NO_STORE, Store
from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Injection, Study
from lyewitness.traces.batches import Unread, read_in_batches
from lyewitness.traces.reading import choose_trace
from lyewitness.traces.records import Trace
from lyewitness.traces.stamps import tells_order, time_in
from lyewitness.words.phrases import counted
from lyewitness.words.problems import Problem, StudyFolderError

COMMON = "mAU"
IN_COMMON: Mapping[str, float] = {
    "mau": 1.0,
    "milliabsorbance": 1.0,
    "milliabsorbanceunits": 1.0,
    "au": 1000.0,
    "absorbance": 1000.0,
    "absorbanceunit": 1000.0,
    "absorbanceunits": 1000.0,
    "uau": 0.001,
    "µau": 0.001,
    "microabsorbanceunits": 0.001,
}
"""How many mAU one of a unit is, by its name in small letters without blanks (common practice)."""


def in_one_unit(traces: Mapping[str, Trace]) -> tuple[Mapping[str, Trace], tuple[Problem, ...]]:
    """Return the traces in one signal unit; traces that already agree are left as they are."""
    units = {trace.signal_unit for trace in traces.values()}
    if len(units) < 2:
        return traces, ()
    alike = {name: _converted(trace) for name, trace in traces.items()}
    left = sorted({trace.signal_unit or "no unit" for trace in alike.values()})
    return alike, () if len(left) < 2 else (_irreconcilable(left),)


def _converted(trace: Trace) -> Trace:
    """Return `trace` in the common unit where its own is known, else as it is."""
    factor = IN_COMMON.get(trace.signal_unit.lower().replace(" ", "").replace("μ", "µ"))
    if factor is None or trace.signal_unit == COMMON:
        return trace
    signal = trace.signal * factor
    signal.flags.writeable = False
    return replace(trace, signal=signal, signal_unit=COMMON)


def _irreconcilable(units: list[str]) -> Problem:
    """Return the caution that areas and heights of these files cannot be compared."""
    return Problem(
        "caution",
        "",
        "",
        f"chromatograms in different units: {', '.join(units)}",
        "one signal unit, or units of absorbance",
        "Their areas and heights cannot be compared; state a missing unit as signal_unit in [exports].",
    )


def collect_traces(
    study: Study, progress: Callable[[float], None], store: Store = NO_STORE, jobs: int = 1
) -> tuple[Mapping[str, Trace], tuple[Problem, ...]]:
    """Return the trace of each injection by its id, with the problems of the files.

    A file that several injections name is read once, and not parsed where `store` has it by its bytes; up to
    `jobs` are read at once. `progress` is told the share that is done.
    """
    first: dict[str, Injection] = {}
    for injection in study.injections:
        first.setdefault(injection.file, injection)
    read = read_in_batches(StudyFiles(study.folder), first, study.exports, store, jobs, progress)
    traces: dict[str, Trace] = {}
    problems: list[Problem] = []
    for injection in study.injections:
        taken = read[injection.file]
        if isinstance(taken, Unread):
            problems += taken.problems if first[injection.file] is injection else ()
            continue
        wanted = injection.trace or (study.exports.trace if len(taken) > 1 else "")
        try:
            traces[injection.id] = choose_trace(taken, wanted, injection.place)
        except StudyFolderError as error:
            problems += error.problems
    alike, mixed = in_one_unit(with_order_of_days(traces))
    problems += [
        *cautions_of(traces.values()),
        *mixed,
        *copies(study, traces),
        *named_otherwise(study, traces),
        *beyond_the_runs(study, traces),
    ]
    return alike, tuple(problems)


def with_order_of_days(traces: Mapping[str, Trace]) -> Mapping[str, Trace]:
    """Return the traces with the stamps read whose order of day and month others of the study show."""
    orders = {tells_order(trace.stamp_words) for trace in traces.values()} - {None}
    unread = {name: trace for name, trace in traces.items() if trace.stamp_words and not trace.acquired_at}
    if len(orders) != 1 or not unread:
        return traces
    day_first = orders.pop()
    read = {
        name: replace(trace, acquired_at=time_in(trace.stamp_words, day_first))
        for name, trace in unread.items()
    }
    return {name: read.get(name, trace) for name, trace in traces.items()}


def entered_twice(study: Study, traces: Mapping[str, Trace]) -> tuple[tuple[Injection, ...], ...]:
    """Return the counted injections that rest on the same points, two or more each, whatever their heads."""
    alike: dict[str, list[Injection]] = {}
    for injection in study.injections:
        trace = traces.get(injection.id)
        if trace is not None and injection.used:
            alike.setdefault(trace.points or f"{trace.sha256} {trace.name}", []).append(injection)
    return tuple(tuple(ones) for ones in alike.values() if len(ones) > 1)


def copies(study: Study, traces: Mapping[str, Trace]) -> Iterator[Problem]:
    """Yield a caution for each file that holds the points of an earlier one; both count."""
    for first, *others in entered_twice(study, traces):
        for one in {one.file: one for one in others if one.file != first.file}.values():
            same = "bytes" if traces[one.id].sha256 == traces[first.id].sha256 else "points"
            found = f"the same {same} as in '{first.file}', counted as a measurement of its own"
            cure = "Put the right file in its place, or leave the copy out with use = no and why."
            yield Problem("caution", one.file, "", found, "a chromatogram of its own", cure)


def named_otherwise(study: Study, traces: Mapping[str, Trace]) -> Iterator[Problem]:
    """Yield a caution for the files that name another injection of the study than the table gives them.

    Where the table itself gives two rows each other's files, by the names they bear, the exchange is stated.
    """
    ids = {one.id.casefold(): one.id for one in study.injections}
    places = {word.casefold() for column in study.columns for word in (column.id, column.label)}
    wrong = []
    for injection in study.injections:
        named = traces[injection.id].names if injection.id in traces else frozenset()
        others = sorted(ids[word] for word in named & ids.keys() - places)
        # A head that lists a whole sequence names its own injection among the others.
        if len(others) == 1 and injection.id not in others:
            wrong.append((injection, others[0]))
    named_in = {injection.id: other for injection, other in wrong}
    wrong = [
        (injection, other)
        for injection, other in wrong
        if named_in.get(other) != injection.id
        or PurePosixPath(injection.file).stem.casefold() != other.casefold()
    ]
    if wrong:
        (first, other), more = wrong[0], len(wrong) - 1
        yield Problem(
            "caution",
            first.file,
            f"and {counted(more, 'further file')}" if more else "",
            f"a file that names injection '{other}' at its head; {first.place} gives it to '{first.id}'",
            "an injection's own chromatogram",
            "Look up which of the two is right; correct file or id in injections.csv, or leave it out.",
        )


def beyond_the_runs(study: Study, traces: Mapping[str, Trace]) -> tuple[Problem, ...]:
    """Return an error for each marker that is expected after the end of every run of a column."""
    problems = []
    for number, marker in enumerate(study.markers, start=1):
        late: dict[float, list[str]] = {}
        for column in study.columns:
            own = [traces[one.id] for one in study.injections if one.column == column.id and one.id in traces]
            end = max((trace.end_min for trace in own), default=float("inf"))
            if (marker.expected_retention(column) or 0.0) > end:
                late.setdefault(end, []).append(column.id)
        for end, columns in late.items():
            problems.append(_late_marker(number, marker.id, columns, end))
    return tuple(problems)


def _late_marker(number: int, marker: str, columns: list[str], end: float) -> Problem:
    return Problem(
        "error",
        "study.toml",
        f"marker[{number}].retention_min",
        f"'{marker}' expected after the end of the runs ({end:.3g} min) on {', '.join(columns)}",
        "a retention time in minutes, within the run",
        "Write minutes, not seconds.",
    )


def cautions_of(traces: Iterable[Trace]) -> tuple[Problem, ...]:
    """Return what readers had to assume or repair: one problem for each kind, with the number of files."""
    kinds: dict[str, list[tuple[Trace, str]]] = {}
    for trace in traces:
        for caution in trace.cautions:
            kinds.setdefault(re.sub(r"\d[\d.e-]*", "0", caution), []).append((trace, caution))
    return tuple(_as_problem(found) for found in kinds.values())


def _as_problem(found: list[tuple[Trace, str]]) -> Problem:
    trace, caution = found[0]
    others = len({trace.file for trace, _ in found}) - 1
    return Problem(
        "caution",
        trace.file,
        f"and {others} further files" if others > 1 else "and one further file" if others else "",
        caution.rstrip("."),
        "an export that says all and needs no repair",
        "Look at the trace; where it is not what was recorded, export it again.",
    )
