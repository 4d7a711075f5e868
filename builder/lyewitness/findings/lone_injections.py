"""One injection far off those right before and after it, or two: in the shape of peaks or in all retention.

In: the counted injections of a column by exposure, with their peak rows. Out: a `Doubt` each.

A column does not come back from what befell it: what the next injection does not show either was not the
column's, but the connection's, the oven's or the lamp's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log
from statistics import median

import numpy as np

from lyewitness.findings.displaced import FEWEST, Doubt, Rows
from lyewitness.findings.records import DoubtKind
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Injection
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import listed, percent_span

PLATES, SYMMETRY, RETENTION = "plate_number_half_height", "symmetry_factor", "retention_factor"
SHAPES = (PLATES, SYMMETRY)
"""What one peak alone may show: broadened by a loose connection, or cut up by a lamp."""
HELD = 0.015
"""ln within which the hold-up time stays: pumps repeat within 0.3 %, and no oven moves it."""
ONE_CAUSE = 3.0
"""Times as far as another a marker may move in an oven that is off: the pKa of a base moves as well."""
OFF = 6.0
"""Robust standard deviations beyond both neighbours: of a thousand sound injections that scatter by 3 % with
long tails one at most."""
OF_ITS_ERROR = 4.0
"""Standard errors of the value by which it must be off as well."""
ONE_MARKER, MORE_MARKERS = 0.2, 0.08
"""ln by which the shape of one marker alone must be off, and that of several together: single peaks meet
impurities, and a pharmacopoeia allows the plates of neighbouring injections a tenth."""
DISTURBED = 0.05
"""The same of a peak on which the measuring saw what no column makes."""
RETAINED = 0.05
"""ln by which the retention factors of all markers must be off: ovens and bottles that are back at the next
injection move them by 3 % at most."""
DOUBTED = frozenset({
    "saturated", "split", "merged", "edge", "low-signal", "few-points", "doubtful", "overlap", "baseline",
    "inconsistent", "uncertain", "not-recorded",
})  # fmt: skip
"""Flags of a peak whose shape the measuring did not settle: it may be the peak's, or the injection's. What
elutes beside a marker in one injection alone is that injection's."""
FEWEST_POINTS = FEWEST + 3
"""Values of a column from which on others than its neighbours tell what it scatters by."""
MANY = 48
"""Injections of a column from which on a single one does not change what all scatter by."""

Points = Sequence[tuple[str, float, float, float]]
"""Injection, exposure in hours, ln of a value and the standard error of that, by exposure."""


def _points(own: Sequence[Injection], rows: Rows, marker: str, metric: str) -> Points:
    found = []
    for one in own:
        row = rows[one.id].get(marker)
        value = getattr(row, metric) if row is not None and row.found else None
        if row is None or value is None or value <= 0 or (metric != RETENTION and DOUBTED & {*row.flags}):
            continue
        found.append((one.id, row.exposure_h, log(value), (getattr(row, f"{metric}_se") or 0.0) / value))
    return found


def _between(points: Points) -> np.ndarray:
    """Return how far each value but the first and the last is off the straight line of its neighbours."""
    hours, logs = (np.array([point[place] for point in points]) for place in (1, 2))
    apart = hours[2:] - hours[:-2]
    share = np.divide(hours[1:-1] - hours[:-2], apart, out=np.full(len(apart), 0.5), where=apart > 0)
    return np.asarray(logs[1:-1] - logs[:-2] - share * (logs[2:] - logs[:-2]))


def _scatter(off: np.ndarray, place: int) -> float:
    """Return by what the others scatter about their neighbours' lines, as a standard deviation.

    What stands alone is off its own line and pulls those of its two neighbours: these three are no others.
    """
    others = off if len(off) > MANY else np.delete(off, range(max(0, place - 1), min(len(off), place + 2)))
    return _spread(others) if len(others) >= FEWEST else float("inf")


def _spread(off: np.ndarray) -> float:
    """Return a robust standard deviation about 0."""
    return 1.4826 * float(np.median(np.abs(off)))


@dataclass(frozen=True, slots=True)
class _Off:
    """How far one value stands off (ln)."""

    beyond: float
    """Beyond the nearer of both neighbours."""
    course: float
    """From the straight line between them."""


def _standing_out(points: Points, usual: float) -> Mapping[str, _Off]:
    """Return the values that are surely beyond both of their neighbours.

    The neighbours must agree with each other better than with it: else it is one of a steep fall. `usual`
    is what all markers of the column scatter by: one of few injections may have had quiet ones.
    """
    if len(points) < FEWEST_POINTS:
        return {}
    off = _between(points)
    found = {}
    for place in range(len(off)):
        (_, _, before, _), (name, _, own, error), (_, _, after, _) = points[place : place + 3]
        beyond = own - min(max(own, min(before, after)), max(before, after))
        least = max(OFF * max(_scatter(off, place), usual), OF_ITS_ERROR * error, abs(after - before))
        if abs(beyond) > least:
            found[name] = _Off(beyond, float(off[place]))
    return found


def _standing_out_together(points: Points, usual: float) -> Mapping[str, _Off]:
    """Return the values of two injections in turn that are both surely beyond those before and after them.

    As of a single one: what the next injections do not show was not the column's. Two that share a cause, as
    a cut that went wrong twice, hide each other where each is held against the next alone.
    """
    if len(points) < FEWEST_POINTS:
        return {}
    off = _between(points)
    found: dict[str, _Off] = {}
    for place in range(len(points) - 3):
        (_, start, before, _), *pair, (_, end, after, _) = points[place : place + 4]
        # Off their own lines are these two and those beside them.
        others = np.delete(off, range(max(0, place - 1), min(len(off), place + 3)))
        if len(others) < FEWEST:
            continue
        scatter, own = OFF * max(_spread(others), usual), {}
        for name, hours, value, error in pair:
            beyond = value - min(max(value, min(before, after)), max(before, after))
            share = (hours - start) / (end - start) if end > start else 0.5
            if abs(beyond) > max(scatter, OF_ITS_ERROR * error, abs(after - before), ONE_MARKER):
                own[name] = _Off(beyond, value - before - share * (after - before))
        if len(own) == len(pair) and len({off.beyond > 0 for off in own.values()}) == 1:
            found |= own
    return found


Standing = Mapping[tuple[str, str], Mapping[str, _Off]]
"""What stands out, by marker and metric and by injection."""


def alone(own: Sequence[Injection], rows: Rows) -> dict[str, Doubt]:
    """Return the injections of a column that stand alone, in the shape of peaks or in all retention."""
    markers = list(dict.fromkeys(marker for one in own for marker in rows[one.id]))
    out: dict[tuple[str, str], Mapping[str, _Off]] = {}
    for metric in (*SHAPES, RETENTION):
        points = {marker: _points(own, rows, marker, metric) for marker in markers}
        known = [one for one in points.values() if len(one) >= FEWEST_POINTS]
        usual = median([_spread(_between(one)) for one in known] or [0.0])
        out |= {(marker, metric): _standing_out(one, usual) for marker, one in points.items()}
        if metric in SHAPES:
            for marker, values in points.items():
                out[marker, metric] = {**_standing_out_together(values, usual), **out[marker, metric]}
    found: dict[str, Doubt] = {}
    for one in own:
        told = _by_retention(one.id, rows[one.id], out, _held(one.id, own, rows))
        # An oven that is off changes the plates as well, a connection leaves retention alone.
        oven = told if told is not None and told[0] in OVENS else None
        doubt = oven or _by_shape(one.id, rows[one.id], out) or told
        if doubt is not None:
            found[one.id] = doubt
    return found


def off_by_oven(own: Sequence[Injection], rows: Rows) -> dict[str, Doubt]:
    """Return the injections of a column that stand alone as an oven that is off makes them."""
    return {name: doubt for name, doubt in alone(own, rows).items() if doubt[0] in OVENS}


def _by_shape(name: str, rows: Mapping[str, PeakRow], out: Standing) -> Doubt | None:
    """Find peaks wider, narrower or more skewed than those right before and after."""
    for metric in SHAPES:
        off = {marker: out[marker, metric][name] for marker in rows if name in out[marker, metric]}
        ways = [[m for m, by in off.items() if by.beyond * way > MORE_MARKERS] for way in (1, -1)]
        together = max(ways, key=len)
        one = [m for m, by in off.items() if abs(by.beyond) > ONE_MARKER]
        disturbed = [
            m for m, by in off.items() if "disturbed" in rows[m].flags and abs(by.beyond) > DISTURBED
        ]
        told = together if len(together) > 1 else one or disturbed
        if not told:
            continue
        those = "that" if len(told) == 1 else "those"
        times = _times([off[marker].course for marker in told])
        said = f"{metric_of_marker(listed(told), metric)} {times} {those} right before and after"
        if disturbed:
            return "disturbed", f"what no column makes is on the peak of {listed(disturbed)}: {said}"
        return "peak shape", said
    return None


def _held(name: str, own: Sequence[Injection], rows: Rows) -> bool:
    """Return whether a hold-up time that was seen in the injection is that of those before and after it."""
    place = next(at for at, one in enumerate(own) if one.id == name)
    times = [_hold_up(rows[one.id]) for one in own[max(0, place - 1) : place + 2]]
    known = [time for time in times if time]
    return len(known) == len(times) == FEWEST and all(abs(log(known[1] / one)) < HELD for one in known)


def _hold_up(rows: Mapping[str, PeakRow]) -> float | None:
    """Return when what is not retained was seen (min); None where the hold-up time was only stated."""
    seen = [row for row in rows.values() if row.found and not row.retention_factor]
    return min((row.retention_time_min for row in seen if row.retention_time_min), default=None)


OVENS: tuple[DoubtKind, DoubtKind] = ("cold oven", "hot oven")
ELSE = ("less", "more")
"""How much organic solvent would do the same."""


def _by_retention(name: str, rows: Mapping[str, PeakRow], out: Standing, is_held: bool) -> Doubt | None:
    """Find all retained markers held back more, or less, than right before and after.

    With the hold-up time as it was it is no flow, and by about one factor no pH: an oven, most often.
    """
    retained = [marker for marker, row in rows.items() if row.found and row.retention_factor]
    off = [out[marker, RETENTION][name] for marker in retained if name in out[marker, RETENTION]]
    one_way = len({by.beyond > 0 for by in off}) == 1
    if len(off) < max(2, len(retained)) or not one_way or min(abs(by.beyond) for by in off) < RETAINED:
        return None
    sizes = sorted(100 * abs(exp(by.course) - 1) for by in off)
    way = "higher" if off[0].beyond > 0 else "lower"
    by = percent_span(sizes[0], sizes[-1])
    said = f"all retention factors are {by} {way} than right before and after"
    logs = [abs(by.course) for by in off]
    if not is_held or max(logs) > ONE_CAUSE * min(logs):
        return "retention", said
    place = 0 if way == "higher" else 1
    cause = f"a {OVENS[place]}, or else a mobile phase with {ELSE[place]} organic solvent"
    return OVENS[place], f"{said}, at an unchanged hold-up time: {cause}"


def _times(logs: Sequence[float]) -> str:
    """Return `1.1 times`, or `0.16 to 0.75 times`."""
    ends = dict.fromkeys(rounded(exp(one), 2) for one in (min(logs), max(logs)))
    return f"{' to '.join(ends)} times"
