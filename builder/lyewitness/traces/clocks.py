"""The time stamps of the exports, held against the folder's own times, and used where it gives none.

In: a `Study` and its traces. Out: the study with every injection placed on the exposure, and problems.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

from lyewitness.study.placing import Clock, clock_problems, common_offset, comparable, placed_by_clock
from lyewitness.study.records import Injection, Study
from lyewitness.traces.records import Trace
from lyewitness.words.phrases import counted, listed
from lyewitness.words.problems import Problem

STAMPS = "time stamps of the exports"
LEAST_DISTINCT = 0.5
"""Share of the stamps of a column that must differ: where fewer do they are the time of exporting."""
OF_A_RUN = 0.5
"""Share of a run that lies between two injections of a column at least: where most follow one another faster
the stamps are those of files that were exported in a row."""
ODD_H = 1.0
"""Hours by which a single stamp may lie off `at` beyond the common offset: queues and slow autosamplers."""

MOST_CROSSED = 50
"""Stamps off from which on it is a clock that was wrong, not files that changed places."""
SAME_SHIFT_H = 0.25
"""Shifts that round to the same quarter of an hour are one: zones go by quarters, queues take minutes."""
LEAST_SEQUENCE = 3
"""So many exports with one shift are a sequence under a wrong clock, and no files mixed up."""


def placed_by_stamps(study: Study, traces: Mapping[str, Trace]) -> tuple[Study, tuple[Problem, ...]]:
    """Return the study with the stamps as times where it gives neither time nor exposure, and problems."""
    stamps = stamps_of(study, traces)
    lacking = {one.id for one in study.injections if _is_lacking(one)}
    dated = tuple(
        replace(one, at=stamps[one.id]) if one.id in lacking and one.id in stamps else one
        for one in study.injections
    )
    placed = replace(study, injections=placed_by_clock(dated, study.columns, study.events))
    unplaced = tuple(
        _unplaced(one) for one in placed.injections if one.id in lacking and one.exposure_h is None
    )
    others = {one.id: stamps[one.id] for one in placed.injections if one.id in stamps and not one.clocked}
    by_stamp = {one.id: one.at for one in placed.injections if one.id in lacking and one.clocked and one.at}
    clock = Clock({**others, **by_stamp}, STAMPS, "chromatograms")
    own = [one for one in placed.injections if one.at is None or one.id in by_stamp]
    said = clock_problems(clock, own, study.columns, study.events)
    told = (*_without_stamps(study, traces), *_zone_problems(study, traces), *_against_at(study, stamps))
    return placed, (*unplaced, *told, *said)


def _without_stamps(study: Study, traces: Mapping[str, Trace]) -> Iterator[Problem]:
    """Yield a caution for stamps that cannot be read, and one for exports that lack what others have.

    Who states when an injection was made needs no stamp.
    """
    read = [one for one in study.injections if one.id in traces and one.at is None]
    unread = [one for one in read if traces[one.id].stamp_words and not traces[one.id].acquired_at]
    if unread:
        first = unread[0]
        yield Problem(
            "caution",
            first.file,
            _and_others(unread),
            f"what looks like a time stamp, and cannot be read surely: '{traces[first.id].stamp_words}'",
            "a date in an order that has one reading, such as 2026-05-04 08:56:05 or 04.05.2026 08:56:05",
            f"{_UNCHECKED} Export them with such dates, or write the times into a column `at` of "
            "injections.csv.",
        )
    dated = [one for one in read if traces[one.id].acquired_at]
    bare = [one for one in read if not traces[one.id].acquired_at and not traces[one.id].stamp_words]
    if dated and bare:
        columns = listed(dict.fromkeys(one.column for one in bare))
        yield Problem(
            "caution",
            bare[0].file,
            _and_others(bare),
            f"no time stamp, beside {counted(len(dated), 'export')} with one (as {dated[0].id}): injections "
            f"of {columns}",
            "when each injection was made",
            f"{_UNCHECKED} Export them with their time stamps, or write the times into a column `at` of "
            "injections.csv.",
        )


_UNCHECKED = "No clock is held against the exposures of these."


def _and_others(some: Sequence[Injection]) -> str:
    files = len({one.file for one in some}) - 1
    return f"and {counted(files, 'further file')}" if files else ""


def _is_lacking(one: Injection) -> bool:
    return (one.exposure_h, one.exposure_mL, one.exposure_cv, one.at) == (None, None, None, None)


def stamps_of(study: Study, traces: Mapping[str, Trace]) -> dict[str, datetime]:
    """Return the stamp of each injection's export as a time that its column's start can be compared with.

    A stamp without a zone is of `[exports] clock`; where a zone is missing on either side the clocks' faces
    are compared. Stamps that are the same for most injections of a column, or follow one another faster than
    the column can be injected, are those of exporting, and none.
    """
    found: dict[str, dict[str, datetime]] = {}
    for one in study.injections:
        stamp = _read(traces[one.id].acquired_at) if one.id in traces else None
        if stamp is not None:
            start = study.column(one.column).exposure_start or one.at
            found.setdefault(one.column, {})[one.id] = _like(stamp, start, study)
    kept: dict[str, datetime] = {}
    for own in found.values():
        if len(set(own.values())) > LEAST_DISTINCT * len(own) and not _in_a_row(own, traces):
            kept |= own
    return kept


def _in_a_row(own: Mapping[str, datetime], traces: Mapping[str, Trace]) -> bool:
    """Return whether most stamps of a column follow one another faster than its injections can."""
    times = sorted(stamp.replace(tzinfo=None) for stamp in own.values())
    least_min = OF_A_RUN * min(traces[name].end_min for name in own)
    near = sum((after - before).total_seconds() < 60 * least_min for before, after in pairwise(times))
    return near > LEAST_DISTINCT * (len(times) - 1)


def _read(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def _like(stamp: datetime, start: datetime | None, study: Study) -> datetime:
    """Return `stamp` with a zone where `start` has one, else without."""
    zone = study.exports.zone
    if stamp.tzinfo is None and zone is not None:
        stamp = stamp.replace(tzinfo=zone)
    if start is None or comparable(stamp, start):
        return stamp
    return stamp.replace(tzinfo=start.tzinfo)


def _unplaced(one: Injection) -> Problem:
    file, _, place = one.place.rpartition(", ")
    return Problem(
        "error",
        file or "injections.csv",
        place,
        "no exposure, no time, and no time stamp in the export that can be read surely (ISO 8601)",
        "exposure_h, exposure_mL, exposure_cv or at",
        "Fill in one of these columns.",
    )


def _zone_problems(study: Study, traces: Mapping[str, Trace]) -> tuple[Problem, ...]:
    """Return a caution where the instrument's zone is stated and that of the folder's times is not."""
    bare = [one.id for one in study.columns if one.exposure_start and one.exposure_start.tzinfo is None]
    if study.exports.zone is None or not bare or not any(trace.acquired_at for trace in traces.values()):
        return ()
    found = f"clock = '{study.exports.clock}', and exposure_start of '{bare[0]}' without a zone"
    cure = (
        "Write exposure_start with its zone, such as 2026-03-02T08:00:00+01:00; times of tables and events "
        "without one are then read in it."
    )
    return (Problem("caution", "study.toml", "exports.clock", found, "zones on both sides", cure),)


def _against_at(study: Study, stamps: Mapping[str, datetime]) -> tuple[Problem, ...]:
    """Return cautions where stamps and the folder's `at` are off: all by one offset, or single ones."""
    both = [
        (one, stamps[one.id])
        for one in study.injections
        if one.id in stamps and comparable(one.at, stamps[one.id])
    ]
    hours = [(stamp - one.at).total_seconds() / 3600 for one, stamp in both if one.at is not None]
    offset = common_offset(hours)
    problems = []
    if offset is not None:
        one, stamp = both[0]
        way = "ahead of" if offset > 0 else "behind"
        times = f"{one.id}: {stamp:%Y-%m-%d %H:%M} beside {one.at:%Y-%m-%d %H:%M}"
        found = f"stamps {abs(offset):g} h {way} 'at' ({times})"
        cure = (
            "'at' was followed. State the zone of the instrument's clock by [exports] clock, or correct 'at'."
        )
        problems.append(Problem("caution", "chromatograms", "time stamps", found, "one clock", cure))
    middle = sorted(hours)[len(hours) // 2] if hours else 0.0
    odd = [
        (one, stamp, apart)
        for (one, stamp), apart in zip(both, hours, strict=True)
        if offset is None and abs(apart - middle) > ODD_H
    ]
    return (*problems, *_odd_stamps(odd))


def _crossed(odd: Sequence[tuple[Injection, datetime, float]]) -> list[tuple[Injection, Injection]]:
    """Return the injections of which each bears the stamp of the other: their files changed places."""
    found: list[tuple[Injection, Injection]] = []
    if len(odd) > MOST_CROSSED:
        return found
    for place, (one, stamp, _) in enumerate(odd):
        beside = []
        for other, own, _ in odd[place + 1 :]:
            if one.at is None or other.at is None or any(other in pair for pair in found):
                continue
            away = max(abs((stamp - other.at).total_seconds()), abs((own - one.at).total_seconds()))
            if away <= 3600 * ODD_H:
                beside.append((away, other))
        if beside and not any(one in pair for pair in found):
            found.append((one, min(beside, key=lambda pair: pair[0])[1]))
    return found


def _odd_stamps(odd: Sequence[tuple[Injection, datetime, float]]) -> Iterator[Problem]:
    """Yield one caution for all stamps that are off by the same hours, and one for each other."""
    crossed = _crossed(odd)
    for one, other in crossed:
        told = f"the exports of {one.id} and {other.id} each dated as the other"
        cure = (
            "Right where their files were exchanged on purpose, as after exchanged vials. "
            "Else put each into its own row; 'at' was followed."
        )
        yield Problem("caution", one.file, "time stamp", told, "the same time", cure)
    paired = {one.id for pair in crossed for one in pair}
    alike: dict[float, list[tuple[Injection, datetime]]] = defaultdict(list)
    for one, stamp, apart in odd:
        if one.id in paired:
            continue
        alike[round(apart / SAME_SHIFT_H) * SAME_SHIFT_H].append((one, stamp))
    for shift, some in alike.items():
        first, stamp = some[0]
        dated = f"dated {stamp:%Y-%m-%d %H:%M} beside 'at' {first.at:%Y-%m-%d %H:%M} of {first.id}"
        if len(some) < LEAST_SEQUENCE:
            for one, own in some:
                told = f"an export dated {own:%Y-%m-%d %H:%M} beside 'at' {one.at:%Y-%m-%d %H:%M} of {one.id}"
                cure = "Look up whether this is the right file; 'at' was followed."
                yield Problem("caution", one.file, "time stamp", told, "the same time", cure)
            continue
        way = "ahead of" if shift > 0 else "behind"
        last = some[-1][0]
        found = f"{len(some)} exports ({first.id} to {last.id}) {abs(shift):g} h {way} 'at' (one {dated})"
        cure = (
            "'at' was followed. Look up whether the clock was set wrong meanwhile, and correct 'at' if not."
        )
        yield Problem("caution", "chromatograms", "time stamps", found, "one clock", cure)
