"""Injections whose peaks stand where those of a column of another type stand: its file under a wrong name.

In: the counted injections of each column by exposure, their peak rows, and the peaks of no marker.
Out: a `Doubt` each.

Markers cannot be trusted here: on another column they come in another order, and are named after the column
that the file claims. So the peaks of a trace, whatever they are called, are held against where all markers of
each column should stand at that exposure, hold-up included.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import log
from statistics import median

from lyewitness.findings.displaced import (
    FEWEST,
    NEIGHBOURS,
    OFF,
    REPEATS,
    Doubt,
    Rows,
    about,
    hours_of,
    line_through,
    of_one_round,
)
from lyewitness.peaks.records import PeakOutline
from lyewitness.study.records import Injection
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import hours as hours_words
from lyewitness.words.phrases import listed

FITS = 0.015
"""Relative distance within which a peak stands where a marker should: columns of a type agree within 1 %."""
AWAY = 0.05
"""And from which on it does not: fresh bottles and swings of temperature move retention by 3 % at most."""
AS_TALL = 3.0
"""Ratio of heights within which a peak can be the marker: plates halve, and injectors repeat within 1 %."""
ONE_FACTOR = 0.02
"""Spread of shifts that a wrong flow, which moves all peaks by one factor, leaves between the markers."""

OTHER_PLATES = 0.2
"""ln by which plates differ that are not of one column at one time: those of a type agree within a tenth."""

Strangers = Mapping[str, Sequence[PeakOutline]]


def peaks_of(name: str, rows: Rows, strangers: Strangers) -> list[tuple[float, float]]:
    """Return (time in minutes, height) of every peak of an injection, whatever it was called."""
    found = [
        (row.retention_time_min, row.peak_height)
        for row in rows[name].values()
        if row.found and row.retention_time_min is not None and row.peak_height is not None
    ]
    return found + [
        (peak.apex_min, peak.apex_signal - (peak.baseline_start + peak.baseline_end) / 2)
        for peak in strangers.get(name, ())
    ]


@dataclass(frozen=True, slots=True)
class _Expected:
    """Where a marker should stand on a column at an exposure, and how tall."""

    time_min: float
    spread: float
    """Relative standard deviation of its retention time about its course."""
    height: float
    plates: float | None
    """Plate number at half height."""


@dataclass(frozen=True)
class _Bench:
    """All columns of a study."""

    used: Mapping[str, Sequence[Injection]]
    rows: Rows
    strangers: Strangers
    groups: Mapping[str, str]
    """Group of each column."""

    def peaks(self, name: str) -> list[tuple[float, float]]:
        """Return (time in minutes, height) of every peak of an injection, whatever it was called."""
        return peaks_of(name, self.rows, self.strangers)

    def course(self, column: str, hours: float, without: frozenset[str]) -> dict[str, _Expected]:
        """Return where each marker of a column should stand at that exposure, by the nearest injections."""
        others = [one for one in about(hours, self.used[column], self.rows) if one.id not in without]
        near = sorted(others, key=lambda one: abs(hours_of(self.rows[one.id]) - hours))[:NEIGHBOURS]
        found = {}
        for marker in {marker for one in near for marker in self.rows[one.id]}:
            rows = [row for one in near if (row := self.rows[one.id].get(marker)) is not None and row.found]
            known = [(row.exposure_h, row.retention_time_min) for row in rows if row.retention_time_min]
            heights = [row.peak_height for row in rows if row.peak_height]
            if len(known) >= FEWEST and heights:
                line = line_through(known)
                off = 1.4826 * median(abs(log(value / line(at))) for at, value in known)
                spread = max(off, REPEATS["retention_time_min"])
                plates = [n for row in rows if (n := row.plate_number_half_height)]
                typical = median(plates) if plates else None
                found[marker] = _Expected(line(hours), spread, median(heights), typical)
        return found

    def plates_off(self, name: str, column: str, at_h: float, as_named: bool) -> float | None:
        """Return by how much (ln, median) the plates of an injection differ from those of a column then.

        Peaks are taken by the names that they bear, or where they stand; None where nothing is known.
        """
        own = {m: row for m, row in self.rows[name].items() if row.found and row.plate_number_half_height}
        off = []
        for marker, expected in self.course(column, at_h, frozenset((name,))).items():
            for known, row in own.items():
                away = abs(log((row.retention_time_min or 1e-9) / expected.time_min))
                if expected.plates and (known == marker if as_named else away < FITS):
                    off.append(abs(log((row.plate_number_half_height or 0.0) / expected.plates)))
        return median(off) if off else None

    def shifts(self, name: str, column: str, without: frozenset[str], at_h: float | None = None) -> "_Shifts":
        """Return by how much (ln) the nearest peak of an injection is off, for each marker of a column.

        The column is taken as it is at the injection's own exposure, or at `at_h`.
        """
        peaks = self.peaks(name)
        hours = hours_of(self.rows[name]) if at_h is None else at_h
        course = self.course(column, hours, without | {name})
        off, spread = {}, {}
        for marker, expected in course.items():
            tall = [time for time, height in peaks if 1 / AS_TALL < height / expected.height < AS_TALL]
            near = min((log(time / expected.time_min) for time in tall), key=abs, default=None)
            off[marker], spread[marker] = near, expected.spread
        return _Shifts(off, spread)


@dataclass(frozen=True)
class _Shifts:
    """How the peaks of an injection lie to a column's course."""

    off: Mapping[str, float | None]
    """ln(found ÷ expected) of the nearest peak that is as tall, by marker; None where there is none."""
    spread: Mapping[str, float]

    def fits(self, within: float) -> bool:
        """Return whether every marker stands where it should, nearer than `within` or its usual spread."""
        return bool(self.off) and all(
            value is not None and abs(value) < min(max(within, OFF * self.spread[marker]), AWAY / 2)
            for marker, value in self.off.items()
        )

    @cached_property
    def astray(self) -> tuple[str, ...]:
        """Return the markers of which no peak is near where they should stand."""
        return tuple(
            marker
            for marker, value in self.off.items()
            if value is None or abs(value) > max(AWAY, OFF * self.spread[marker])
        )

    @cached_property
    def by_one_factor(self) -> bool:
        """Return whether all peaks are off alike, as a wrong flow makes it."""
        known = [value for value in self.off.values() if value is not None]
        return len(known) == len(self.off) > 1 and max(known) - min(known) < ONE_FACTOR

    @cached_property
    def misfit(self) -> float:
        """Return by how many standard deviations the markers are off (median), absent ones infinitely."""
        return median(
            abs(value) / self.spread[marker] if value is not None else float("inf")
            for marker, value in self.off.items()
        )


def strays_of(column: str, own: Sequence[Injection], rows: Rows, strangers: Strangers) -> list[str]:
    """Return the injections of a column that do not fit it, and no flow explains it."""
    bench = _Bench({column: own}, rows, strangers, {})
    return [one.id for one in own if _stray(bench, one.id, column)]


def misfiled(
    used: Mapping[str, Sequence[Injection]],
    rows: Rows,
    strangers: Strangers,
    groups: Mapping[str, str],
    odd: Mapping[str, Sequence[str]],
    ovens: Mapping[str, Mapping[str, Doubt]] | None = None,
) -> dict[str, Doubt]:
    """Find injections that fit, in all markers, a column of another group and not their own.

    `odd` holds of each column what `strays_of` says, `ovens` what an oven that is off would explain: that is
    told first where the plates are not those of the other column.

    Two of one round that do so mirrored were exchanged. One alone is told where hold-up and two markers at
    least speak: two peaks may stand by chance where another column has its two.
    """
    bench = _Bench(used, rows, strangers, groups)
    found: dict[str, Doubt] = {}
    for (column, first), (other, second) in of_one_round(odd, used, rows):
        pair = frozenset((first, second))
        if pair & found.keys() or groups[column] == groups[other]:
            continue
        # Mirrored, they bear each other out: as far as lies nearer to the other column than to their own.
        if all(
            s.fits(AWAY / 2) for s in (bench.shifts(first, other, pair), bench.shifts(second, column, pair))
        ):
            found[first] = (
                "other column",
                exchanged_words(bench.peaks(first), second, column, other),
                second,
            )
            found[second] = (
                "other column",
                exchanged_words(bench.peaks(second), first, other, column),
                first,
            )
    for column, names in odd.items():
        for name in names:
            if name in found:
                continue
            at = hours_of(rows[name])
            when = "at that exposure"
            there = _fitting(bench, name, column)
            if not there and (earlier := _fitting_at_another_time(bench, name, column)):
                there, at = (earlier[0],), earlier[1]
                when = f"at {hours_words(at)}"
            oven = (ovens or {}).get(column, {}).get(name)
            if there and oven and _has_other_plates(bench, name, column, there[0], at):
                also = f"its peaks stand where those of {there[0]} do {when}, but its plates are others"
                found[name] = (oven[0], f"{oven[1]} ({also})")
            elif there:
                found[name] = ("other column", _alone(bench, name, column, there, when))
    return found


def _has_other_plates(bench: _Bench, name: str, column: str, other: str, at_h: float) -> bool:
    """Return whether an injection's plates are surely not those of the other column, and nearer its own."""
    there = bench.plates_off(name, other, at_h, as_named=False)
    own = bench.plates_off(name, column, hours_of(bench.rows[name]), as_named=True)
    return there is not None and own is not None and there > max(OTHER_PLATES, own)


def _stray(bench: _Bench, name: str, column: str) -> bool:
    """Return whether an injection does not fit its own column, and no flow explains it."""
    own = bench.shifts(name, column, frozenset())
    return len(own.astray) > 1 and not own.by_one_factor


def _fitting(bench: _Bench, name: str, column: str) -> tuple[str, ...]:
    """Return the columns of another group that an injection fits in three markers at least, best first."""
    tried = {
        other: bench.shifts(name, other, frozenset())
        for other in bench.used
        if bench.groups[other] != bench.groups[column]
    }
    fitting = [other for other, shifts in tried.items() if shifts.fits(FITS) and len(shifts.off) >= FEWEST]
    return tuple(sorted(fitting, key=lambda other: tried[other].misfit))


def _fitting_at_another_time(bench: _Bench, name: str, column: str) -> tuple[str, float] | None:
    """Return the column of another group that an injection fits in three markers, and the exposure at which
    it fits best: an older file, or one from further on, under this column's name."""
    tried = {
        (other, at): bench.shifts(name, other, frozenset(), at)
        for other, own in bench.used.items()
        if bench.groups[other] != bench.groups[column]
        for at in dict.fromkeys(hours_of(bench.rows[one.id]) for one in own)
    }
    fitting = [key for key, shifts in tried.items() if shifts.fits(FITS) and len(shifts.off) >= FEWEST]
    return min(fitting, key=lambda key: tried[key].misfit, default=None)


def exchanged_words(peaks: Sequence[tuple[float, float]], partner: str, column: str, other: str) -> str:
    """Return why an injection of `column` with these peaks is one of `other`, its partner the reverse."""
    return (
        f"exchanged with {partner}: {_peaks_words(peaks)} those of column {other}, "
        f"and those of {partner} are those of {column}: the two columns, or the two files, were interchanged"
    )


def _alone(bench: _Bench, name: str, column: str, there: Sequence[str], when: str) -> str:
    """Return what is told of one file; columns of one group are hardly told apart."""
    best, group = there[0], bench.groups[there[0]]
    alike = [other for other in there if bench.groups[other] == group]
    whose = f"of column {best}" if len(alike) == 1 else f"of a {group} column ({listed(alike, 'or')})"
    own = bench.course(column, hours_of(bench.rows[name]), frozenset((name,)))
    usual = listed(f"{rounded(time, 3)}" for time in sorted(one.time_min for one in own.values()))
    return (
        f"{_peaks_words(bench.peaks(name))} those {whose} {when}, and not at {usual} min like those of "
        f"{column}: the file of another column, or another column in the stream"
    )


def _peaks_words(peaks: Sequence[tuple[float, float]]) -> str:
    tallest = max(height for _, height in peaks)
    times = sorted(time for time, height in peaks if height > tallest / (2 * AS_TALL))
    return f"its peaks at {listed(f'{rounded(time, 3)}' for time in times)} min are"
