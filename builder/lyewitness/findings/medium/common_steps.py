"""Steps that (nearly) all columns make together where the study says that something was changed.

In: `Study` with its events, the declines as measured. Out: `CommonStep`s, and series without them.

A fresh bottle of another pH, or a part exchanged, moves a metric on every column at once, between two
injections; no column ages so. Each column's step is read off the injections next to the event, over a line
of the column's own; the mean over the columns and its error are the step. What had moved the other way
before, on the columns together and by about as much, merely comes back (a bottle that had lost its ammonia).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp
from statistics import fmean, median, stdev

import numpy as np

from lyewitness.decline import distributions as stats
from lyewitness.decline.records import Decline
from lyewitness.decline.series import read_only
from lyewitness.study.events import event_hours
from lyewitness.study.records import Event, EventKind, Study
from lyewitness.words.arrays import FloatArray
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import fixed, with_unit
from lyewitness.words.phrases import mid_sentence

STEPPING = ("retention_factor", "plate_number_half_height", "plate_number_tangent", "plate_number_moments")
"""Metrics that a bottle or a part can move, and that an aged column loses by degrees."""
KINDS: tuple[EventKind, ...] = ("fresh mobile phase", "part exchanged", "other")
"""Events that change what all columns meet; a stop of the stress, or a rinse, each bed meets for itself."""
STANDING: tuple[EventKind, ...] = ("pause", "power cut", "flush", "storage", "column replaced")
"""Events that may have harmed or mended the beds: a step over one of these as well may be theirs."""
FEWEST_COLUMNS = 3
"""Columns from which on it is known what they do together."""
NEARLY_ALL = 0.8
"""Share of the columns that must step alike."""
BESIDE = 4
"""Injections on either side of an event from which a step is read: a line holds over no more of a decline."""
FEWEST_BESIDE = 2
LEAST = 0.03
"""Smaller steps move no life by more than columns of a type differ; the audit tells them from here on."""
TWICE_USUAL = 2.0
"""Times the largest step that the columns make together at no event, of which a study has few."""
ODD = 4.0
"""Robust standard deviations by which a column's step is another one than that of the others."""
REPEATS = 0.004
"""Relative standard deviation below which no step is told from scatter (common practice)."""
COMES_BACK = 0.5
"""Share of a step that the columns must have moved the other way before for it to be a return."""


@dataclass(frozen=True, eq=False, slots=True)
class CommonStep:
    """What the columns did together in one metric at an event."""

    event: Event
    marker: str
    metric: str
    size: float
    """ln(after ÷ before), the mean over the columns."""
    low: float
    high: float
    """Interval at 95 %; it holds how far the columns truly differ."""
    columns: tuple[str, ...]
    """That made it."""
    places_h: Mapping[str, float]
    """By column that the event touched: exposure from which on its injections come after it, hours."""
    sure: bool = True
    """False where something else happened in between as well that may have changed the columns."""

    def after(self, column: str, hours: FloatArray) -> FloatArray:
        """Return (n,) 1 for injections at `hours` after the event, 0 before; 0 on columns that have none."""
        place = self.places_h.get(column)
        return np.zeros(hours.shape) if place is None else (hours >= place).astype(np.float64)

    @property
    def words(self) -> str:
        """Return `the retention factor of … fell by 6.8 % (6.2 to 7.4) on 9 columns at the fresh …`."""
        verb = "fell" if self.size < 0 else "rose"
        size, *ends = (100 * abs(exp(one) - 1) for one in (self.size, self.low, self.high))
        span = " to ".join(fixed(end, 1) for end in sorted(ends))
        note = f" ({mid_sentence(self.event.note.rstrip('.'))})" if self.event.note else ""
        return (
            f"{the_metric(self.marker, self.metric)} {verb} by {with_unit(fixed(size, 1), '%')} ({span}) on "
            f"{len(self.columns)} columns together at the {self.event.kind}{note}"
        )


def common_steps(study: Study, declines: Iterable[Decline]) -> tuple[CommonStep, ...]:
    """Return the steps of every metric with a limit, by marker and metric in the order of the exposure."""
    own: dict[tuple[str, str], list[Decline]] = {}
    for decline in declines:
        series = decline.series
        if series.metric in STEPPING and decline.limit is not None and np.all(series.value > 0):
            own.setdefault((series.marker, series.metric), []).append(decline)
    return tuple(step for of_one in own.values() for step in _steps(study, of_one))


def logs_off(column: str, hours: FloatArray, steps: Iterable[CommonStep], end: str = "size") -> FloatArray:
    """Return (n,) what `steps` added to ln of a metric at `hours` on a column, by `size`, `low` or `high`."""
    found = np.zeros(hours.shape)
    for step in steps:
        found = found + float(getattr(step, end)) * step.after(column, hours)
    return found


def without_steps(decline: Decline, steps: Iterable[CommonStep], end: str = "size") -> Decline:
    """Return a decline whose series is without what `steps` did to it; all else is as it was."""
    series = decline.series
    off = logs_off(series.column, series.exposure_h, steps, end)
    return replace(decline, series=replace(series, value=read_only(series.value * np.exp(-off))))


def _steps(study: Study, declines: Sequence[Decline]) -> list[CommonStep]:
    """Return the steps of one metric of one marker."""
    found: list[CommonStep] = []
    for event, gaps in _placed(study, declines):
        freed = [without_steps(one, found) for one in declines if one.series.column in gaps]
        step = _together(freed, gaps)
        usual = max(LEAST, TWICE_USUAL * _usual(study, freed))
        if step is None or abs(step[0]) <= usual or _comes_back(study, freed, gaps, step[0], found):
            continue
        size, half, columns = step
        places = {column: after for column, (_, after) in gaps.items()}
        marker, metric = declines[0].series.marker, declines[0].series.metric
        sure = not any(
            one is not event and one.kind in STANDING and _between(study, one, gaps) for one in study.events
        )
        found.append(CommonStep(event, marker, metric, size, size - half, size + half, columns, places, sure))
    return found


Gaps = Mapping[str, tuple[float, float]]
"""By column: exposures of the last injection before an event and of the first one after, hours."""


def _placed(study: Study, declines: Sequence[Decline]) -> list[tuple[Event, Gaps]]:
    """Return the events that a column meets between two injections, by exposure; one of each such place."""
    found: list[tuple[Event, Gaps]] = []
    for event in study.events:
        if event.kind not in KINDS:
            continue
        gaps: dict[str, tuple[float, float]] = {}
        for decline in declines:
            hours = decline.series.exposure_h
            ends = _ends(study, event, decline.series.column)
            if ends is None:
                continue
            before, after = hours[hours <= ends[0]], hours[hours > ends[0]]
            # What lies within a span may have been measured before or after the change.
            if len(before) and len(after) and after[0] >= ends[1]:
                gaps[decline.series.column] = float(before[-1]), float(after[0])
        if len(gaps) >= FEWEST_COLUMNS and not any(gaps == known for _, known in found):
            found.append((event, gaps))
    return sorted(found, key=lambda one: median(after for _, after in one[1].values()))


def _ends(study: Study, event: Event, column: str) -> tuple[float, float] | None:
    if not event.touches(column):
        return None
    return event_hours(event, study.column(column), study.events)


def _between(study: Study, event: Event, gaps: Gaps) -> bool:
    """Return whether another event falls between the same injections on any column."""
    return any(
        (ends := _ends(study, event, column)) is not None and ends[0] <= after and ends[1] >= before
        for column, (before, after) in gaps.items()
    )


def _points(decline: Decline) -> tuple[FloatArray, FloatArray]:
    """Return hours and ln of the metric of the injections that lie on the decline."""
    kept = np.array([name not in decline.outlying for name in decline.series.injections], dtype=np.bool_)
    return decline.series.exposure_h[kept], np.log(decline.series.value[kept])


def _together(declines: Sequence[Decline], gaps: Gaps) -> tuple[float, float, tuple[str, ...]] | None:
    """Return what the columns did together, half its interval, and which did; None where they did not.

    The error of the mean by the scatter of the columns' own steps, with Student's t; what of that scatter the
    noise of the injections does not explain is how far the columns differ, and is added whole.
    """
    read: dict[str, tuple[float, float]] = {}
    rest: list[float] = []
    free = 0
    for decline in declines:
        found = _read(*_points(decline), gaps[decline.series.column][1])
        if found is not None:
            step, by_unit, left, degrees = found
            read[decline.series.column] = (step, by_unit)
            rest.append(left)
            free += degrees
    if len(read) < FEWEST_COLUMNS:
        return None
    middle = median(step for step, _ in read.values())
    off = 1.4826 * median(abs(step - middle) for step, _ in read.values())
    alike = {c: s for c, s in read.items() if abs(s[0] - middle) <= ODD * max(off, REPEATS)}
    alike = {c: s for c, s in alike.items() if s[0] * middle > 0}
    if len(alike) < max(FEWEST_COLUMNS, NEARLY_ALL * len(read)):
        return None
    steps = [step for step, _ in alike.values()]
    noise = sum(rest) / max(free, 1)
    scatter = stdev(steps) ** 2
    by_noise = noise * fmean(by_unit for _, by_unit in alike.values())
    apart = max(0.0, scatter - by_noise)
    # Few columns may lie together by chance: their mean is known no better than their noise allows.
    error = (max(scatter, by_noise) / len(steps) + apart) ** 0.5
    reach = float(stats.t.ppf(0.975, len(steps) - 1)) * error
    return fmean(steps), reach, tuple(alike)


def _read(hours: FloatArray, logs: FloatArray, place: float) -> tuple[float, float, float, int] | None:
    """Return one column's step over a line of its own about it, and its variance for unit noise.

    The squares that are left and their degrees of freedom come last. None where too few stand beside.
    """
    first = int(np.searchsorted(hours, place, side="left"))
    low, high = max(0, first - BESIDE), min(len(hours), first + BESIDE)
    if min(first - low, high - first) < FEWEST_BESIDE or high - low <= 2 * FEWEST_BESIDE:
        return None
    at, own = hours[low:high], logs[low:high]
    terms = np.stack([np.ones(len(at)), at - at.mean(), (at >= place).astype(np.float64)], axis=1)
    parts = np.linalg.lstsq(terms, own, rcond=None)[0]
    left = own - terms @ parts
    by_unit = float(np.linalg.inv(terms.T @ terms)[-1, -1])
    return float(parts[-1]), by_unit, float(left @ left), len(at) - 3


def _usual(study: Study, declines: Sequence[Decline]) -> float:
    """Return the largest step that the columns made together where nothing happened, beyond their pace."""
    by_place: dict[float, list[float]] = {}
    for decline in declines:
        hours, logs = _points(decline)
        apart = np.diff(hours)
        usable = apart > 0
        if np.count_nonzero(usable) < FEWEST_COLUMNS:
            continue
        pace = float(np.median(np.diff(logs)[usable] / apart[usable]))
        ends = [e for one in study.events if (e := _ends(study, one, decline.series.column)) is not None]
        for (before, after), rose in zip(pairwise(hours.tolist()), np.diff(logs).tolist(), strict=True):
            if not any(begin <= after and end >= before for begin, end in ends):
                by_place.setdefault(round((before + after) / 2, 1), []).append(rose - pace * (after - before))
    shared = [median(own) for own in by_place.values() if len(own) >= FEWEST_COLUMNS]
    return max(map(abs, shared), default=0.0)


def _comes_back(
    study: Study, declines: Sequence[Decline], gaps: Gaps, size: float, before: Sequence[CommonStep]
) -> bool:
    """Return whether a step merely takes the columns back to where they had been.

    One that takes back an earlier step is the end of that one, and counts like it.
    """
    known = sum(step.size for step in before)
    if abs(known + size) < abs(known):
        return False
    first = study.choices.reference_injections
    moved = []
    for decline in declines:
        hours, logs = _points(decline)
        own = logs[hours <= gaps[decline.series.column][0]]
        if len(own) >= FEWEST_BESIDE:
            moved.append(float(own[-FEWEST_BESIDE:].mean() - own[:first].mean()))
    return bool(moved) and -median(moved) * np.sign(size) >= COMES_BACK * abs(size)
