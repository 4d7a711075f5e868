"""Injections that stand in another's place: two of one column out of order, or two columns interchanged.

In: the counted injections of each column by exposure, with their peak rows. Out: a `Doubt` each.
Both are found alike: an injection that fits its own neighbours badly and another's well, and the other
the other way round. One alone may be anything; a mirrored pair is an exchange.
"""

from bisect import bisect_left
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from math import log
from statistics import median

from lyewitness.findings.records import DoubtKind
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Injection

NEIGHBOURS = 6
"""Injections nearest in exposure, by which one is judged: a median that two bad ones leave alone."""
FEWEST = 3
"""Neighbours without which nothing can be told."""
OFF = 4.0
"""Robust standard deviations by which plates must be off to be those of another exposure."""
OFF_AT_LEAST = 0.05
"""And relative to their own: less would change no life."""
REPEATS = {"retention_time_min": 0.003, "plate_number_half_height": 0.03}
"""Relative standard deviations below which no injection is told from its neighbours: pumps repeat retention
within 0.3 % and detectors give plates within 3 % (common practice)."""
NEAR_ROUND = 0.75
"""Of the usual step between a column's injections: columns that were interchanged were so in one round."""
APART = 0.1
"""Share of the neighbours' span of exposures by which two must be apart to tell a slope: of seven injections
in even steps each pair is, and of repeats of one round none."""
BETTER = 3.0
"""Times by which an injection must fit the other column better than its own."""

Rows = Mapping[str, Mapping[str, PeakRow]]
"""Rows of an injection by marker, by injection."""
Doubt = tuple[DoubtKind, str] | tuple[DoubtKind, str, str]
"""What is odd, and why; with the injection that it changed places with, where that is seen."""


def expected(known: Sequence[tuple[float, float]], hours: float) -> float:
    """Return the value at `hours` by the line through `known` (hours, value)."""
    return line_through(known)(hours)


def line_through(known: Sequence[tuple[float, float]]) -> Callable[[float], float]:
    """Return the line of median slope and median offset (Theil and Sen) as a function of hours.

    Of repeats at almost one exposure the slopes are scatter over next to nothing: led on, they end anywhere.
    """
    exposures = [at for at, _ in known]
    near = APART * (max(exposures) - min(exposures))
    slopes = [
        (value - other) / (at - before)
        for number, (at, value) in enumerate(known)
        for before, other in known[:number]
        if abs(at - before) > near
    ]
    slope = median(slopes) if slopes else 0.0
    offset = median(value - slope * at for at, value in known)
    values = [value for _, value in known]
    low, high = 0.5 * min(values), 2 * max(values)
    # A line led far beyond its points proves nothing.
    return lambda hours: min(max(offset + slope * hours, low), high)


def hours_of(rows: Mapping[str, PeakRow]) -> float:
    """Return the exposure (h) of an injection's rows."""
    return next(iter(rows.values())).exposure_h


def out_of_order(used: Sequence[Injection], rows: Rows) -> dict[str, Doubt]:
    """Find two injections whose plates would fit if they changed places, and fit badly as they stand."""
    off = {one.id: value for one in used if (value := _plates_off(one, used, rows)) is not None}
    if len(off) < 2 * FEWEST:
        return {}
    spread = 1.4826 * median(abs(value) for value in off.values())
    least = max(OFF * spread, OFF_AT_LEAST)
    odd = [name for name, value in off.items() if abs(value) > least]
    found: dict[str, Doubt] = {}
    for first, second in combinations(odd, 2):
        if first in found or second in found or off[first] * off[second] > 0:
            continue
        swapped = _swapped(used, first, second)
        again = [_plates_off(one, swapped, rows, used) for one in swapped if one.id in (first, second)]
        if all(value is not None and abs(value) < least / 2 for value in again):
            for one, other in ((first, second), (second, first)):
                found[one] = ("out of order", f"its plates fit the place of {other}, and not its own", other)
    return found


def misfits_of(own: Sequence[Injection], rows: Rows) -> dict[str, float]:
    """Return by how many standard deviations each injection of a column is off the others, where known."""
    return {one.id: value for one in own if (value := _misfit(one.id, own, rows)) is not None}


def interchanged(
    used: Mapping[str, Sequence[Injection]], rows: Rows, misfits: Mapping[str, Mapping[str, float]]
) -> dict[str, Doubt]:
    """Find two injections of one round, each of which fits the other's column and not its own.

    `used` holds the counted injections of each column by exposure, `misfits` what `misfits_of` says of each.
    """
    found: dict[str, Doubt] = {}
    usual = {column: median(own.values()) for column, own in misfits.items() if own}
    odd = {
        column: [name for name, value in misfits[column].items() if value > OFF * max(1.0, usual[column])]
        for column in usual
    }
    for (column, first), (other, second) in of_one_round(odd, used, rows):
        if first in found or second in found:
            continue
        there = _misfit(first, used[other], rows, leave_out=second)
        back = _misfit(second, used[column], rows, leave_out=first)
        if there is None or back is None:
            continue
        gains = (misfits[column][first] / max(there, 1.0), misfits[other][second] / max(back, 1.0))
        if min(gains) > BETTER:
            found[first] = ("other column", _as_on(second, column, other), second)
            found[second] = ("other column", _as_on(first, other, column), first)
    return found


OFF_ITS_COURSE = 2.5
"""Robust standard deviations of a column's own retention by which both of a pair must be off, and …"""
BETTER_THERE = 2.5
"""… times by which each must fit the other's course better: in simulated studies no pair of sound injections
reached 2.3 times on both columns, and vials exchanged between columns of one type stood at 3.3 and 3.8."""
STEADIEST = 0.0005
"""Relative standard deviation within which no retention factor repeats (common practice)."""
Shifts = Mapping[str, Mapping[str, float]]
"""ln(retention factor ÷ that of the column's own course) by injection and marker."""


def shifts_of(own: Sequence[Injection], rows: Rows) -> dict[str, dict[str, float]]:
    """Return how far the retention of each injection of a column lies off its neighbours' course."""
    return {one.id: _shifts(one.id, own, rows) for one in own}


def interchanged_alike(
    used: Mapping[str, Sequence[Injection]],
    rows: Rows,
    shifts: Mapping[str, Shifts],
    groups: Mapping[str, str],
    doubted: Container[str] = (),
) -> dict[str, Doubt]:
    """Find two injections of one round on columns of one type that fit each other's course, not their own.

    Such columns differ by next to nothing, which only their own steadiness can be held against: a pair of
    opposite shifts, each of which the other's course explains for most retained markers.
    """
    steady = {
        (column, marker): max(1.4826 * median(abs(value) for value in values), STEADIEST)
        for column, own in shifts.items()
        for marker in {marker for found in own.values() for marker in found}
        if (values := [found[marker] for found in own.values() if marker in found])
    }

    def off(column: str, name: str) -> bool:
        found = shifts[column][name]
        return len(found) > 1 and (
            median(abs(value) / steady[column, marker] for marker, value in found.items()) > OFF_ITS_COURSE
        )

    odd = {
        column: [name for name in own if name not in doubted and off(column, name)]
        for column, own in shifts.items()
    }
    found: dict[str, Doubt] = {}
    for (column, first), (other, second) in of_one_round(odd, used, rows):
        if groups[column] != groups[other] or first in found or second in found:
            continue
        there = _shifts(first, used[other], rows, leave_out=second)
        back = _shifts(second, used[column], rows, leave_out=first)
        gains = [
            [
                abs(own[marker]) / max(abs(at_other[marker]), steady[place, marker])
                for marker in own
                if marker in at_other and (place, marker) in steady
            ]
            for own, at_other, place in (
                (shifts[column][first], there, other),
                (shifts[other][second], back, column),
            )
        ]
        if min(len(one) for one in gains) > 1 and min(median(one) for one in gains) > BETTER_THERE:
            for one, partner, place in ((first, second, other), (second, first, column)):
                found[one] = (
                    "other column",
                    f"its retention fits the course of {place}, and that of {partner} the course of its own "
                    "column, by more than either scatters: the two vials, or the two files, may have been "
                    "interchanged",
                    partner,
                )
    return found


def _shifts(name: str, column: Sequence[Injection], rows: Rows, leave_out: str = "") -> dict[str, float]:
    """Return ln(retention factor ÷ that of the course of its neighbours on `column`) by retained marker."""
    hours = hours_of(rows[name])
    others = [one.id for one in about(hours, column, rows) if one.id not in (name, leave_out)]
    near = sorted(others, key=lambda one: abs(hours_of(rows[one]) - hours))[:NEIGHBOURS]
    found: dict[str, float] = {}
    for marker, row in rows[name].items():
        known = [
            (hours_of(rows[one]), float(value))
            for one in near
            if marker in rows[one] and (value := rows[one][marker].retention_factor)
        ]
        if row.retention_factor and row.retention_factor > 0 and len(known) >= FEWEST:
            found[marker] = log(row.retention_factor / line_through(known)(hours))
    return found


def _as_on(partner: str, column: str, other: str) -> str:
    return (
        f"its peaks are those of column {other}, and those of {partner} are those of {column}: "
        f"the two columns, or the two files, were interchanged"
    )


def of_one_round(
    odd: Mapping[str, Sequence[str]], used: Mapping[str, Sequence[Injection]], rows: Rows
) -> Iterator[tuple[tuple[str, str], tuple[str, str]]]:
    """Yield the pairs of odd injections of two columns that are nearest neighbours in exposure."""
    for column, other in combinations(odd, 2):
        step = NEAR_ROUND * max(_step(used[column], rows), _step(used[other], rows))
        for first in odd[column]:
            for second in odd[other]:
                if abs(hours_of(rows[first]) - hours_of(rows[second])) <= step:
                    yield (column, first), (other, second)


def _step(own: Sequence[Injection], rows: Rows) -> float:
    """Return the usual exposure from one injection to the next, hours; 0 of a single one."""
    hours = [hours_of(rows[one.id]) for one in own]
    return median([after - before for before, after in pairwise(hours)] or [0.0])


def _misfit(name: str, column: Sequence[Injection], rows: Rows, leave_out: str = "") -> float | None:
    """Return by how many standard deviations (median over markers and metrics) one is off a column's others.

    The standard deviation is that of the column's own injections about their neighbours' lines, or what
    such a value repeats within at best.
    """
    hours = hours_of(rows[name])
    others = [one.id for one in about(hours, column, rows) if one.id not in (name, leave_out)]
    near = sorted(others, key=lambda one: abs(hours_of(rows[one]) - hours))[:NEIGHBOURS]
    if len(near) < FEWEST:
        return None
    off = []
    for marker, row in rows[name].items():
        for metric, repeats in REPEATS.items():
            own = getattr(row, metric)
            known = [
                (hours_of(rows[one]), float(value))
                for one in near
                if marker in rows[one] and (value := getattr(rows[one][marker], metric))
            ]
            if own and own > 0 and row.retention_factor is not None and len(known) >= FEWEST:
                line = line_through(known)
                scatter = 1.4826 * median(abs(log(value / line(at))) for at, value in known)
                off.append(abs(log(own / line(hours))) / max(scatter, repeats))
    return median(off) if len(off) >= FEWEST else None


def about(hours: float, column: Sequence[Injection], rows: Rows) -> Sequence[Injection]:
    """Return a stretch of `column` that holds the nearest in exposure, two that may be left out among them.

    To sort the whole column for each injection of it took three seconds of a study of 2,000.
    """

    def exposure(one: Injection) -> float:
        return hours_of(rows[one.id])

    if not column:
        return ()
    at, reach = bisect_left(column, hours, key=exposure), NEIGHBOURS + 2
    start = max(0, at - reach)
    # Of several at one exposure the first come first, as in the whole column.
    return column[bisect_left(column, exposure(column[start]), key=exposure) : at + reach]


def _swapped(used: Sequence[Injection], first: str, second: str) -> list[Injection]:
    order = list(used)
    places = [next(n for n, one in enumerate(order) if one.id == name) for name in (first, second)]
    order[places[0]], order[places[1]] = order[places[1]], order[places[0]]
    return order


def _plates_off(
    injection: Injection,
    order: Sequence[Injection],
    rows: Rows,
    exposures: Sequence[Injection] | None = None,
) -> float | None:
    """Return by how much (ln) the plates of all retained markers are off those of the neighbours in `order`.

    `exposures` gives whose exposure each place has, where it is not the injection's own.
    """
    place = next(n for n, one in enumerate(order) if one.id == injection.id)
    hours = {n: hours_of(rows[(exposures or order)[n].id]) for n in _beside(place, len(order))}
    near = sorted((n for n in hours if n != place), key=lambda n: abs(n - place))[:NEIGHBOURS]
    logs = []
    for marker, row in rows[injection.id].items():
        own = row.plate_number_half_height
        known = [
            (hours[n], value)
            for n in near
            if (value := rows[order[n].id][marker].plate_number_half_height) is not None
        ]
        if own and row.retention_factor is not None and len(known) >= FEWEST:
            logs.append(log(own / expected(known, hours[place])))
    return median(logs) if logs else None


def _beside(place: int, count: int) -> range:
    """Return the places of `count` that are not further from `place` than the last neighbour can be."""
    return range(max(0, place - NEIGHBOURS), min(count, place + NEIGHBOURS + 1))
