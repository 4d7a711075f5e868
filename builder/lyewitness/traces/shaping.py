"""The rules by which every draft becomes a trace, whatever file it came from.

In: a `Draft`. Out: a `Trace` in minutes: finite, strictly increasing, read-only; or the reason why not.

The rules, each with a caution where it changed anything: a point without a finite time and signal is left
out; a trace that runs backwards is turned round; times that repeat or jitter only because they were rounded
are put back on their even step; other points at one and the same time become their mean.
"""

import re
from dataclasses import dataclass, replace

import numpy as np

from lyewitness.study.records import Exports
from lyewitness.traces.drafts import MINUTES_IN, Draft, unreadable
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray

NOTHING_THERE = 1e30
"""Magnitudes from here on mean 'no value' (netCDF fills gaps with 9.97e36): no detector reaches them."""
LARGEST_MISSING_SHARE = 0.5
_ROUNDING_WORTH_MENDING = 0.01  # of the step: less moves no width by a thousandth
_OFTEN = 5
_LONGEST_MIN = 1e7  # 19 years: beyond it the numbers are no times of a run


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a draft came from."""

    file: str
    format: str
    sha256: str


def shape(draft: Draft, origin: Origin, exports: Exports) -> Trace:
    """Return `draft` as a `Trace`; raises StudyFolderError where the rules find no honest one."""
    draft = _right_way_round(_without_gaps(draft, origin.file))
    draft = _distinct_times(_even_step(draft), origin.file)
    minutes = draft.time * MINUTES_IN[draft.time_unit]
    _check_extent(minutes, draft, origin.file)
    unit, caution = _signal_unit(draft.signal_unit, exports.signal_unit)
    return Trace(
        file=origin.file,
        name=_without_folders(draft.name),
        time_min=_read_only(minutes),
        signal=_read_only(draft.signal),
        signal_unit=unit,
        time_unit=draft.time_unit,
        format=origin.format,
        sha256=origin.sha256,
        acquired_at=draft.acquired_at,
        cautions=draft.cautions + caution,
    )


def _without_gaps(draft: Draft, file: str) -> Draft:
    with np.errstate(invalid="ignore"):
        there = (np.abs(draft.signal) < NOTHING_THERE) & (np.abs(draft.time) < NOTHING_THERE)
    missing = int(there.size - np.count_nonzero(there))
    if there.size - missing < 2:
        found = f"{there.size - missing} points with a time and a signal"
        raise unreadable(file, "", found, "at least two", "Export the trace itself, with its points.")
    if not missing:
        return draft
    first = draft.place(int(np.argmin(there)))
    if missing > LARGEST_MISSING_SHARE * there.size:
        found = f"no value in {missing} of {there.size} points, first at {first}"
        raise unreadable(file, first, found, "values in at least half of them", "Export the trace again.")
    words = "1 point has" if missing == 1 else f"{missing} points have"
    kept = draft.at(np.flatnonzero(there))
    return kept.with_caution(f"{words} no value (first: {first}): left out of the trace.")


def _right_way_round(draft: Draft) -> Draft:
    time = draft.time
    if time[0] <= time[-1] or np.any(time[1:] > time[:-1]):
        return draft
    backwards = draft.at(np.arange(draft.time.size)[::-1])
    return backwards.with_caution("The points run backwards in time and were turned round.")


def _even_step(draft: Draft) -> Draft:
    """Return the times on the one even step that explains them all within their rounding, if there is one."""
    time = draft.time
    if time.size < 10 or time[-1] <= time[0]:
        return draft
    place = np.arange(time.size, dtype=np.float64)
    place -= (time.size - 1) / 2
    step = float(place @ time / (place @ place))  # least squares: the end points are rounded too
    even = step * place
    even += time.mean()
    largest = float(np.abs(time - even).max())
    if step <= 0 or largest <= _ROUNDING_WORTH_MENDING * step:
        return draft
    rounding = _rounding(time)
    if largest > 0.55 * rounding or not _steps_alternate(time, rounding):
        return draft
    words = f"Times are rounded to {rounding:g} {draft.time_unit} and fit an even step of {step:.5g}"
    caution = f"{words} {draft.time_unit} within that rounding; the even step was used."
    return replace(draft, time=even).with_caution(caution)


def _steps_alternate(time: FloatArray, rounding: float) -> bool:
    """Whether the steps are of two neighbouring lengths, each met often: a single long one is a gap."""
    steps = np.rint(np.diff(time) / rounding)
    longer = int(np.count_nonzero(steps == steps.max()))
    return bool(steps.max() - steps.min() == 1) and min(longer, steps.size - longer) >= _OFTEN


def _rounding(time: FloatArray) -> float:
    """Return the decimal place to which all of `time` is rounded; 0 where beyond a millionth."""
    for decimals in range(7):
        scaled = time * 10**decimals
        if np.all(np.abs(scaled - np.rint(scaled)) < 1e-4):
            return float(10.0**-decimals)
    return 0.0


def _distinct_times(draft: Draft, file: str) -> Draft:
    if _rise(draft.time):
        return draft
    steps = np.diff(draft.time)
    back = np.flatnonzero(steps < 0)
    if back.size:
        raise _goes_back(draft, int(back[0]), file)
    if draft.time[0] == draft.time[-1]:
        raise unreadable(
            file, draft.place(0), "one and the same time in every point", "times that rise", "Export again."
        )
    starts = np.flatnonzero(np.concatenate(([True], steps > 0)))
    counts = np.diff(np.append(starts, draft.time.size))
    means = np.add.reduceat(draft.signal, starts) / counts
    first = draft.place(int(starts[np.argmax(counts > 1)]))
    caution = f"{int(np.sum(counts > 1))} times stand more than once (first: {first}): their mean was taken."
    return replace(draft.at(starts), signal=means).with_caution(caution)


def _rise(times: FloatArray) -> bool:
    return bool(np.all(times[1:] > times[:-1]))


def _goes_back(draft: Draft, index: int, file: str) -> Exception:
    before, after = draft.time[index], draft.time[index + 1]
    return unreadable(
        file,
        draft.place(index + 1),
        f"a time that goes back from {before:g} to {after:g} {draft.time_unit}",
        "times that rise from point to point",
        "Export one run to a file; if this column is no time, export the time as well.",
    )


def _check_extent(minutes: FloatArray, draft: Draft, file: str) -> None:
    if not _rise(minutes) or max(abs(minutes[0]), abs(minutes[-1])) > _LONGEST_MIN:
        found = f"times from {draft.time[0]:g} to {draft.time[-1]:g} {draft.time_unit}"
        raise unreadable(file, "", found, "the times of a run", "Check the time axis and its unit.")


def _signal_unit(in_file: str, in_study: str) -> tuple[str, tuple[str, ...]]:
    if not in_file or not in_study or in_file.casefold() == in_study.casefold():
        return in_file or in_study, ()
    caution = f"The file states the signal in {in_file}, [exports] in {in_study}; the file was followed."
    return in_file, (caution,)


def _without_folders(name: str) -> str:
    """Return a name that is a path as its last part: folders tell of persons and machines."""
    is_path = re.match(r"[A-Za-z]:[\\/]|[\\/~]|file:", name) or "\\" in name
    return re.split(r"[\\/]", name)[-1] if is_path else name


def _read_only(values: FloatArray) -> FloatArray:
    fixed = np.array(values, dtype=np.float64)
    fixed.setflags(write=False)
    return fixed
