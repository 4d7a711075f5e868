"""Doubts about columns of so few injections that a bad one makes its good neighbours look odd.

In: the counted injections of each column by exposure, their peak rows, the peaks of no marker, and what the
neighbours alone say. Out: the same `Doubt`s, of these columns only as far as their injections tell.

Of four injections three remain as neighbours, and one bad of three leads to accuse the good. So each is left
out in turn: the odd one is the one without which the others agree. Where there are several such, they are
named together.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf, log

import numpy as np

from lyewitness.findings.displaced import FEWEST, REPEATS, Doubt, Rows, hours_of, of_one_round
from lyewitness.findings.misfiled import AS_TALL, AWAY, Strangers, exchanged_words, peaks_of
from lyewitness.study.records import Injection
from lyewitness.words.phrases import listed, spelled

ENOUGH = 2 * FEWEST
"""Injections of a column from on which one bad among the neighbours is outvoted by twice as many."""
AREAS = 0.02
"""Relative standard deviation within which injectors repeat with all that an integration adds."""
ODD = 5.0
"""Standard deviations about their line at which the others disagree: of retention 1.5 %, as in `doubts`."""
CLEARLY, NEARLY = 3.0, 1.5
"""Times by which the others agree worse than without the odd one: where they do so without any second one, it
alone is meant; those without which they agree nearly as well may be meant too."""


@dataclass(frozen=True, slots=True)
class _Shown:
    """What one injection shows, whatever its peaks are called."""

    name: str
    hours: float
    times: tuple[float, ...]
    """Of the tall peaks, ln of minutes, in order."""
    areas: tuple[float | None, ...]
    """Of the same peaks, ln; None of a peak of no marker."""


def _shown(name: str, rows: Rows, strangers: Strangers) -> _Shown:
    peaks = peaks_of(name, rows, strangers)
    tallest = max((height for _, height in peaks), default=0.0)
    times = sorted(time for time, height in peaks if height > tallest / (2 * AS_TALL))
    areas = {row.retention_time_min: row.peak_area for row in rows[name].values() if row.peak_area}
    logs = (log(area) if (area := areas.get(time)) else None for time in times)
    return _Shown(name, hours_of(rows[name]), tuple(map(log, times)), tuple(logs))


def _lines(some: Sequence[_Shown]) -> list[tuple[float, float]]:
    """Return slope and offset of each peak's time (ln) against exposure, least squares."""
    hours = np.array([one.hours for one in some])
    times = np.array([one.times for one in some])
    if np.ptp(hours) == 0:
        return [(0.0, float(of_peak.mean())) for of_peak in times.T]
    slopes, offsets = np.polyfit(hours, times, 1)
    return list(zip(map(float, slopes), map(float, offsets), strict=True))


def _by_times(some: Sequence[_Shown]) -> float:
    """Return by how many standard deviations the peaks of a column are off straight courses at worst."""
    if len({len(one.times) for one in some}) > 1 or not some[0].times:
        return inf
    lines = _lines(some)
    return max(
        abs(time - (slope * one.hours + offset)) / REPEATS["retention_time_min"]
        for one in some
        for time, (slope, offset) in zip(one.times, lines, strict=True)
    )


def _by_areas(some: Sequence[_Shown]) -> float:
    """Return by how many standard deviations areas are off their means at worst."""
    if len({len(one.areas) for one in some}) > 1:
        return inf
    off = [0.0]
    for areas in zip(*(one.areas for one in some), strict=True):
        known = [area for area in areas if area is not None]
        if len(known) == len(some):
            off += [abs(area - float(np.mean(known))) / AREAS for area in known]
    return max(off)


def _candidates(own: Sequence[_Shown]) -> list[str]:
    """Return the injections without which the others agree; none where all do, or no others do."""
    found: list[set[str]] = []
    for off_by in (_by_times, _by_areas):
        without = {one.name: off_by([other for other in own if other is not one]) for one in own}
        least = max(min(without.values()), 1.0)
        if off_by(own) < ODD or least > ODD:
            continue
        likely = {name for name, off in without.items() if off < CLEARLY * least}
        nearly = {name for name, off in without.items() if off < NEARLY * least}
        found.append(likely if len(likely) == 1 else nearly)
    # What one kind of sign shows clearly, another that shows nothing clearly does not undo.
    clear = [names for names in found if len(names) == 1] or found
    common = set.intersection(*clear) if clear else set()
    return [one.name for one in own if one.name in common]


def _fits(one: _Shown, others: Sequence[_Shown], within: float) -> bool:
    """Return whether every peak stands where those of other injections lead to expect it."""
    if len({len(other.times) for other in (one, *others)}) > 1:
        return False
    expected = [slope * one.hours + offset for slope, offset in _lines(others)]
    return all(abs(time - there) < within for time, there in zip(one.times, expected, strict=True))


def in_few_injections(
    used: Mapping[str, Sequence[Injection]], rows: Rows, strangers: Strangers, found: Mapping[str, Doubt]
) -> dict[str, Doubt]:
    """Return what is to be doubted, of columns with few injections only what these can tell."""
    few = {
        column: [_shown(one.id, rows, strangers) for one in own]
        for column, own in used.items()
        if FEWEST < len(own) < ENOUGH
    }
    told = dict(found)
    odd = {column: _candidates(own) for column, own in few.items()}
    mirrored = _mirrored(few, odd, used, rows, strangers)
    for column, own in few.items():
        names = [one.name for one in own]
        accused = [name for name in names if name in found]
        for name in accused:
            del told[name]
        if changed := [name for name in names if name in mirrored]:
            told |= {name: mirrored[name] for name in changed}
        elif len(odd[column]) == 1 and odd[column][0] in found:
            told[odd[column][0]] = found[odd[column][0]]
        else:
            together = [name for name in names if name in {*accused, *odd[column]}]
            told |= {name: _one_of(found[name], together, len(own)) for name in accused}
    return told


def _mirrored(
    few: Mapping[str, Sequence[_Shown]],
    odd: Mapping[str, Sequence[str]],
    used: Mapping[str, Sequence[Injection]],
    rows: Rows,
    strangers: Strangers,
) -> dict[str, Doubt]:
    """Return the odd ones of two columns that fit each other's column and not their own."""
    found: dict[str, Doubt] = {}
    by_name = {one.name: one for own in few.values() for one in own}
    for (column, first), (other, second) in of_one_round(odd, used, rows):
        one, two = by_name[first], by_name[second]
        mine, theirs = ([x for x in few[c] if x not in (one, two)] for c in (column, other))
        there = _fits(one, theirs, AWAY / 2) and _fits(two, mine, AWAY / 2)
        if there and not _fits(one, mine, AWAY) and not _fits(two, theirs, AWAY):
            for (name, on), (partner, of) in (
                ((first, column), (second, other)),
                ((second, other), (first, column)),
            ):
                peaks = peaks_of(name, rows, strangers)
                found[name] = ("other column", exchanged_words(peaks, partner, on, of), partner)
    return found


def _one_of(doubt: Doubt, together: Sequence[str], count: int) -> Doubt:
    """Return a doubt that accuses none of several; what stands alone is told as it is."""
    if len(together) < 2:
        return doubt
    few = f"with {spelled(count)} injections of the column these data cannot tell which"
    return doubt[
        0
    ], f"one of {listed(together)} is not what the table says, and {few}; of this one: {doubt[1]}"
