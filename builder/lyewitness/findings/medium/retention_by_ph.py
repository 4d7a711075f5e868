"""How far the retention of a base or acid followed the pH of the log, and what that does to its lives.

In: `Study`, `Measurements`, the declines as measured. Out: the declines, lives by a retention factor widened
so that they hold the column's own life whatever share of the change was the bottle's.

A partly ionised base is retained less where the pH is lower: k = k(neutral) × neutral share at most, the ion
not retained (Horváth, Melander and Molnár, Anal. Chem. 1977, 49, 142). How much of that happens in a mobile
phase with an organic part is not known beforehand, from nothing to all of it, and is read off the injections:
log k of each column against a smooth course in time and the log of the neutral share. Where pH and time
went together, the data cannot tell, and all shares from 0 to 1 stand. The life is judged again with k brought
to the pH of the reference by the least and the greatest share; it is told from the lowest to the highest of
these and of the life as measured, and so is never stronger than that. What all columns did at once at an
event (`common_steps`) is taken off before, whatever the pH: it is seen, and need not be foretold.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import log

import numpy as np

from lyewitness.chemistry.equilibria import IonisableRole, ionised_share, pka_at
from lyewitness.decline import distributions as stats
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.records import Decline, Judgement, Life
from lyewitness.decline.series import limits_on
from lyewitness.findings.changes import course_of
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.common_steps import CommonStep, common_steps, logs_off, without_steps
from lyewitness.findings.medium.markers import AN_ION
from lyewitness.findings.medium.settings import Setting, injection_setting
from lyewitness.peaks.records import Measurements
from lyewitness.store import NO_STORE, Store
from lyewitness.study.events import event_hours
from lyewitness.study.records import Column, Marker, Study
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed
from lyewitness.words.phrases import percent, percent_span

RETENTION = "retention_factor"
HARMLESS_PH = 0.1
"""Movement that is no course: what a bench meter repeats within (common practice)."""
LEAST_SWING = 0.005
"""Change of log k by the pH below which nothing is asked: retention repeats no better."""
FEWEST = 6
"""Injections of a column without which a course in time and one of the pH are not told apart."""
ODD = 5.0
"""Robust standard deviations from the smooth course beyond which an injection says nothing of the pH."""
TOGETHER = 0.1
"""Share of its sum of squares that the pH must keep beside a smooth course in time: below, the two went
together, and what is left hangs on the course's form (a variance inflated more than ten times, common
practice)."""
CURVE = 3
"""Terms of the course in time: a start, a slope, a bend."""

Amend = Callable[[tuple[Decline, ...]], tuple[Decline, ...]]


@dataclass(frozen=True, slots=True)
class Followed:
    """How the retention of one marker followed the pH, over all columns with a log."""

    marker: str
    low_ph: float
    high_ph: float
    """Of the injections."""
    most_percent: float
    """By how much the pH can have moved the retention factor, at most."""
    share: tuple[float, float]
    """Least and greatest share of that which the injections allow, 0 … 1."""
    log_neutral: Mapping[str, FloatArray]
    """By column: log of the neutral share at each injection ÷ that of the reference injections."""
    steps: tuple[CommonStep, ...] = ()
    """What was taken off of the retention before, and of the pH with it."""

    @property
    def moved_percent(self) -> tuple[float, float]:
        """Return by how much it did move, least and greatest."""
        low, high = (100 * (1 - (1 - self.most_percent / 100) ** share) for share in self.share)
        return low, high

    @property
    def words(self) -> str:
        """Return how far the pH can have moved the retention, and how far it did; a clause."""
        low, high = (fixed(ph, 2) for ph in (self.low_ph, self.high_ph))
        most = percent(self.moved_percent[1])
        moved = (
            f"by their course it did by {percent_span(*self.moved_percent)}"
            if self.share[0] > 0
            else f"by their course it did by {most} at most"
            if self.share != (0.0, 1.0)
            else "how much it did, they cannot tell"
        )
        return (
            f"the logged pH of {low} to {high} at the injections can move the retention factor of "
            f"{self.marker} by up to {percent(self.most_percent)}; {moved}"
        )


def amended(study: Study, measurements: Measurements, store: Store = NO_STORE) -> Amend:
    """Return what frees declines of common steps and widens them for the pH of the log."""

    def amend(declines: tuple[Decline, ...]) -> tuple[Decline, ...]:
        found = {decline_key(decline): decline for decline in declines}
        found |= _without_steps(study, declines, common_steps(study, declines), store)
        for followed in followed_by(study, measurements, declines):
            found |= _widened(study, tuple(found.values()), followed, store)
        return tuple(found[decline_key(decline)] for decline in declines)

    return amend


def decline_key(decline: Decline) -> tuple[str, str, str]:
    """Return column, marker and metric."""
    return decline.series.column, decline.series.marker, decline.series.metric


def _without_steps(
    study: Study, declines: Sequence[Decline], steps: Sequence[CommonStep], store: Store
) -> dict[tuple[str, str, str], Decline]:
    """Return the declines that a common step touched, with lives over what the step's error allows.

    Where the beds may have changed at the same time, the life as measured is one of those.
    """
    found: dict[tuple[str, str, str], Decline] = {}
    for marker, metric in dict.fromkeys((step.marker, step.metric) for step in steps):
        of_one = [step for step in steps if (step.marker, step.metric) == (marker, metric)]
        own = [
            d
            for d in declines
            if (d.series.marker, d.series.metric) == (marker, metric)
            and np.any(logs_off(d.series.column, d.series.exposure_h, of_one))
        ]
        limits = limits_on(study, study.marker(marker), metric)
        ends = [
            judge_declines(
                [Task(without_steps(d, of_one, end).series, limits) for d in own], study.choices, store
            )
            for end in ("size", "low", "high")
        ]
        sure = all(step.sure for step in of_one)
        for decline, middle, low, high in zip(own, *ends, strict=True):
            others = [middle.life, low.life, high.life]
            life = over(middle.life if sure else decline.life, others)
            if life != decline.life:
                found[decline_key(decline)] = replace(decline, life=life, as_measured=decline.life)
    return found


def followed_by(
    study: Study, measurements: Measurements, declines: Iterable[Decline]
) -> tuple[Followed, ...]:
    """Return how the retention of each base and acid with a pKa and a limit followed the logged pH."""
    if not any(row.ph is not None for row in study.conditions):
        return ()
    placed = Evidence(study, {}, measurements, Judgement((), (), (), ()))
    setting = injection_setting(study)
    own = [d for d in declines if d.series.metric == RETENTION and d.limit is not None and d.percent.size]
    steps = [step for step in common_steps(study, own) if step.metric == RETENTION]
    found = (
        _followed(
            placed,
            setting,
            marker,
            [d for d in own if d.series.marker == marker.id],
            tuple(step for step in steps if step.marker == marker.id),
        )
        for marker in study.markers
        if marker.pka is not None and marker.role in ("base", "acid")
    )
    return tuple(one for one in found if one is not None)


def _followed(
    evidence: Evidence,
    setting: Setting,
    marker: Marker,
    declines: Sequence[Decline],
    steps: tuple[CommonStep, ...],
) -> Followed | None:
    """Return how one marker followed the pH; None where it moved too little to matter, or was not logged.

    What the pH did where all columns stepped together is taken off with the step: the rest alone is followed.
    """
    ph = {
        decline.series.column: _level(found, decline, steps)
        for decline in declines
        if (found := _ph_at_injections(evidence, decline)) is not None
    }
    if not ph or (steps and max(float(np.ptp(values)) for values in ph.values()) <= HARMLESS_PH):
        return None
    declines = [without_steps(decline, steps) for decline in declines]
    neutral = {name: _log_neutral(setting, marker, values) for name, values in ph.items()}
    if max(float(values.max()) for values in neutral.values()) < log(AN_ION):
        return None
    first = evidence.study.choices.reference_injections
    relative = {name: values - values[:first].mean() for name, values in neutral.items()}
    swing = max(float(np.ptp(values)) for values in relative.values())
    if swing < LEAST_SWING:
        return None
    columns = [d for d in declines if d.series.column in relative]
    share = _share([_Course.of(d, relative[d.series.column]) for d in columns])
    low, high = (float(end([end(values) for values in ph.values()])) for end in (np.min, np.max))
    return Followed(marker.id, low, high, 100 * (1 - float(np.exp(-swing))), share, relative, steps)


def _level(ph: FloatArray, decline: Decline, steps: Iterable[CommonStep]) -> FloatArray:
    """Return the pH at the injections (n,) without its own jump at each of `steps`."""
    found = ph.copy()
    for step in steps:
        after = step.after(decline.series.column, decline.series.exposure_h) > 0
        first = int(after.argmax())
        if after.any() and first > 0:
            found[after] -= ph[first] - ph[first - 1]
    return found


def _ph_at_injections(evidence: Evidence, decline: Decline) -> FloatArray | None:
    """Return the logged pH at the injections of a decline, (n,); None without a log that says it."""
    study, series = evidence.study, decline.series
    points = [(h, value) for h, value in evidence.logged(series.column, "ph") if np.isfinite(h)]
    if len(points) < 2 or np.min(series.value, initial=1.0) <= 0:
        return None
    if _is_scatter(np.array([value for _, value in points])):
        return None
    borders = renewals(study, study.column(series.column), points)
    return ph_at(points, borders, series.exposure_h)


WHITE = 1.0
"""Mean square of successive differences ÷ variance (von Neumann 1941) from which on readings have no course:
it is 2 of pure noise, and far below 1 of a drift or a sawtooth."""


def _is_scatter(readings: FloatArray) -> bool:
    """Return whether readings of pH (n,) lie within what a meter repeats, with no course among them.

    Retention freed of a meter's noise would be noise with another sign.
    """
    if float(np.ptp(readings)) > HARMLESS_PH:
        return False
    variance = float(np.var(readings, ddof=1))
    return variance == 0 or float(np.mean(np.diff(readings) ** 2)) >= WHITE * variance


def renewals(study: Study, column: Column, points: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Return where the course of the pH breaks, hours: a bottle renewed, as told or as the readings jump."""
    course = course_of(points, HARMLESS_PH)
    told = [
        placed[0]
        for event in study.events
        if event.kind == "fresh mobile phase" and event.touches(column.id)
        if (placed := event_hours(event, column, study.events)) is not None
    ]
    hours = [hour for hour, _ in points]
    found = []
    for before in course.jumps_h if course is not None else ():
        after = next((hour for hour in hours if hour > before), before)
        within = [hour for hour in told if before <= hour <= after]
        found.append(within[0] if within else (before + after) / 2)
    return tuple(found)


def ph_at(points: Sequence[tuple[float, float]], borders: Sequence[float], hours: FloatArray) -> FloatArray:
    """Return the pH at `hours` (n,) from (hour, pH) readings, never read across a border.

    Between two readings by the straight line; beyond the last before a border by the line of the stretch.
    """
    found = np.full(hours.shape, np.nan)
    ends = [-np.inf, *borders, np.inf]
    for low, high in pairwise(ends):
        inside = (hours >= low) & (hours < high)
        own = np.array([point for point in points if low <= point[0] < high], dtype=np.float64)
        if not inside.any() or not own.size:
            continue
        at, values = own[:, 0], own[:, 1]
        found[inside] = np.interp(hours[inside], at, values)
        if len(at) > 2 and np.ptp(at) > 0 and np.isfinite(high):
            slope, start = np.polyfit(at, values, 1)
            late = inside & (hours > at[-1])
            found[late] = start + slope * hours[late]
    known = np.isfinite(found)
    found[~known] = np.interp(hours[~known], *np.array(points, dtype=np.float64).T)
    return found


def _log_neutral(setting: Setting, marker: Marker, ph: FloatArray) -> FloatArray:
    """Return the log of the share that bears no charge, with the pKa whose bound makes it move most."""
    role: IonisableRole = "base" if marker.role == "base" else "acid"
    pka, shift = marker.pka or 0.0, 0.0
    bounds, stated = (pka, pka), setting.conditions.ph
    if setting.medium is not None:
        known = pka_at(pka, role, setting.medium.hot.temperature_C)
        bounds = (known.low or pka, known.high or pka)
        if setting.medium.ph.value is not None and stated is not None:
            shift = setting.medium.ph.value - stated
    strongest = bounds[1] if role == "base" else bounds[0]
    shares = [1.0 - ionised_share(float(value) + shift, strongest, role) for value in ph]
    return np.log(np.maximum(np.array(shares, dtype=np.float64), 1e-9))


@dataclass(frozen=True, eq=False, slots=True)
class _Course:
    """log k and the log of the neutral share on one column, without what a smooth course in time explains."""

    hours: FloatArray
    log_k: FloatArray
    neutral: FloatArray
    total: float
    """Sum of squares of the log neutral share about its mean, before."""

    @staticmethod
    def of(decline: Decline, neutral: FloatArray) -> "_Course":
        """Return the course of the injections that lie on the decline, empty where these are too few."""
        series = decline.series
        kept = np.array([name not in decline.outlying for name in series.injections])
        for _ in range(2):
            hours, log_k, x = series.exposure_h[kept], np.log(series.value[kept]), neutral[kept]
            if len(hours) < FEWEST or np.ptp(hours) == 0:
                return _Course(hours[:0], log_k[:0], x[:0], 0.0)
            total = float(((x - x.mean()) ** 2).sum())
            terms = np.vander((hours - hours.mean()) / np.ptp(hours), CURVE)
            log_k, x = (v - terms @ np.linalg.lstsq(terms, v, rcond=None)[0] for v in (log_k, x))
            odd = np.abs(log_k) > ODD * 1.4826 * np.median(np.abs(log_k))
            if not odd.any():
                break
            kept[np.flatnonzero(kept)[odd]] = False
        return _Course(hours, log_k, x, total)


def _share(columns: Sequence[_Course]) -> tuple[float, float]:
    """Return the least and greatest share, 0 … 1, of the computed effect that log k shows, at 95 %.

    Least squares over all columns. What was injected about the same time shares its noise, by the day or the
    bottle, and counts as one for the error (Liang and Zeger, Biometrika 1986, 73, 13).
    """
    hours, log_k, neutral = (
        np.concatenate([getattr(one, name) for one in columns]) for name in ("hours", "log_k", "neutral")
    )
    across, total = float(neutral @ neutral), sum(one.total for one in columns)
    if across <= TOGETHER * total:
        return 0.0, 1.0
    share = float(neutral @ log_k) / across
    steps = [float(np.median(np.diff(one.hours))) for one in columns if len(one.hours) > 1]
    _, rounds = np.unique(np.round(hours / max(min(steps) / 2, 1e-6)), return_inverse=True)
    scores = np.bincount(rounds, neutral * (log_k - share * neutral))
    free = len(scores) - CURVE - 1
    if free < 1:
        return 0.0, 1.0
    error = (float(scores @ scores) * len(scores) / free) ** 0.5 / across
    reach = float(stats.t.ppf(0.975, free)) * error
    low, high = (min(1.0, max(0.0, end)) for end in (share - reach, share + reach))
    return low, high


def _widened(
    study: Study, declines: Sequence[Decline], followed: Followed, store: Store
) -> dict[tuple[str, str, str], Decline]:
    """Return the declines of one marker's retention with lives that hold every share that is allowed."""
    own = [
        d
        for d in declines
        if d.series.metric == RETENTION
        and d.series.marker == followed.marker
        and d.series.column in followed.log_neutral
    ]
    shares = sorted({round(share, 3) for share in (*followed.share, sum(followed.share) / 2)} - {0.0})
    again = [_freed(study, own, followed, share, store) for share in shares]
    found = {}
    for place, decline in enumerate(own):
        others = [judged[place].life for judged in again]
        life = over(decline.life, others)
        if life != decline.life:
            measured = decline.as_measured or decline.life
            found[decline_key(decline)] = replace(decline, life=life, as_measured=measured)
    return found


def _freed(
    study: Study, declines: Sequence[Decline], followed: Followed, share: float, store: Store
) -> tuple[Decline, ...]:
    """Return declines of one marker's retention without a share of what the pH of the log did to it."""
    limits = limits_on(study, study.marker(followed.marker), RETENTION)
    tasks = [
        Task(
            replace(
                d.series,
                value=_fixed(d.series.value * np.exp(-share * followed.log_neutral[d.series.column])),
            ),
            limits,
        )
        for d in (without_steps(decline, followed.steps) for decline in declines)
    ]
    return tuple(judge_declines(tasks, study.choices, store))


def freed_of_ph(study: Study, measurements: Measurements, declines: Sequence[Decline]) -> tuple[Decline, ...]:
    """Return the declines of retention that followed the pH of the log, without what it did to them.

    By the middle of what the injections allow: what is led on must be the column's course, not the bottle's.
    So it is with a step that all columns made together.
    """
    steps = common_steps(study, declines)
    freed: list[Decline] = list(_without_steps(study, declines, steps, NO_STORE).values())
    for followed in followed_by(study, measurements, declines):
        own = [
            d
            for d in declines
            if d.series.metric == RETENTION
            and d.series.marker == followed.marker
            and d.series.column in followed.log_neutral
        ]
        freed += _freed(study, own, followed, sum(followed.share) / 2, NO_STORE) if own else ()
    return tuple(freed)


def _fixed(values: FloatArray) -> FloatArray:
    values.flags.writeable = False
    return values


def over(measured: Life, others: Sequence[Life]) -> Life:
    """Return the life that holds `measured` and all `others`: from the lowest to the highest of their ends.

    Reached where all are; else no more than the least that all held.
    """
    lives = [measured, *others]
    if any(life.state == "not measured" for life in lives) or not others:
        return measured
    lows = [life.hours.low if life.hours.low is not None else life.hours.value for life in lives]
    highs = [life.hours.high if life.hours.high is not None else life.hours.value for life in lives]
    known = [low for low in lows if low is not None]
    low = min(known) if len(known) == len(lows) else None
    if any(life.state != "reached" for life in lives):
        state = measured.state if len({life.state for life in lives}) == 1 else "unclear"
        hours = replace(measured.hours, low=low) if state == measured.state else Estimate(None, low, None)
        brackets = measured.bracket_h if state == measured.state else (None, None)
        return replace(measured, state=state, hours=hours, bracket_h=brackets)
    ends = [high for high in highs if high is not None]
    high = max(ends) if len(ends) == len(highs) else None
    middle = sorted(others, key=lambda life: life.hours.value or 0.0)[len(others) // 2].hours.value
    value = middle if middle is not None and measured.hours.value is not None else measured.hours.value
    hours = Estimate(value, low, high, measured.hours.reason)
    return replace(
        measured,
        hours=hours,
        column_volumes=_in_volumes(measured, hours),
        bracket_h=_around([life.bracket_h for life in lives]),
        conservative_h=min((c for life in lives if (c := life.conservative_h) is not None), default=None),
    )


def _in_volumes(measured: Life, hours: Estimate) -> Estimate:
    """Return hours in column volumes, at the pace of the life as measured."""
    volumes, own = measured.column_volumes.value, measured.hours.value
    if volumes is None or not own:
        return measured.column_volumes
    value, low, high = (
        None if end is None else end * volumes / own for end in (hours.value, hours.low, hours.high)
    )
    return Estimate(value, low, high, measured.column_volumes.reason)


def _around(brackets: Sequence[tuple[float | None, float | None]]) -> tuple[float | None, float | None]:
    """Return the widest of several brackets."""
    before, after = ([one[end] for one in brackets] for end in (0, 1))
    return (
        None if None in before else min(one for one in before if one is not None),
        None if None in after else max(one for one in after if one is not None),
    )
