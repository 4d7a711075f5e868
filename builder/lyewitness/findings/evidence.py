"""All that the stages before have computed, in one hand, with the look-ups that the findings need.

In: study, traces, measurements, judgement, problems. Out: `Evidence`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property
from statistics import fmean

from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.looks import Standing, standing_of
from lyewitness.decline.records import Comparison, Decline, GroupLife, Judgement
from lyewitness.findings.lone_readings import LoneReading
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.study.events import exposure_of
from lyewitness.study.records import Column, Injection, LoggedCondition, MarkerRole, Study
from lyewitness.traces.records import Trace
from lyewitness.words.problems import Problem


@dataclass(frozen=True, eq=False)
class Evidence:
    """What the findings rest on; the look-ups below compute nothing new."""

    study: Study
    traces: Mapping[str, Trace]
    """By injection id."""
    measurements: Measurements
    judgement: Judgement
    problems: tuple[Problem, ...] = ()
    doubtful: tuple[DoubtfulInjection, ...] = ()
    """Counted injections that should perhaps not count."""
    explained: tuple[DoubtfulInjection, ...] = ()
    """Those that are off their neighbours and show the column as it was, as its log or an event tells."""
    without_doubtful: Judgement | None = None
    """The judgement with these left out; None where there are none."""
    lone: tuple[LoneReading, ...] = ()
    """Readings of the log that none beside them bears out: the study's log here is without them."""
    unplanned: tuple[str, ...] = ()
    """Columns that are compared though a condition stayed off its plan on them, not all of any group."""
    without_unplanned: Judgement | None = None
    """The comparisons with these columns left out; None where there are none."""
    borne_out: frozenset[str] = frozenset()
    """Left-out injections that would be doubted if they counted: nobody left them out for their result."""

    @cached_property
    def left_out(self) -> frozenset[str]:
        """Return the columns that no comparison holds: under another stress than their group.

        Where lives are led on from several settings, these columns bear on the answer as well.
        """
        if self.judgement.accelerated:
            return frozenset()
        study = self.study
        held = {column.id for group in study.groups for column in under_one_stress(study, group)}
        return frozenset(column.id for column in study.columns if column.id not in held)

    @cached_property
    def compared(self) -> "Evidence":
        """Return the evidence of the columns that are compared, as if there were no others."""
        out = self.left_out
        if not out:
            return self
        study, judged = self.study, self.judgement
        return replace(
            self,
            study=replace(
                study,
                columns=tuple(one for one in study.columns if one.id not in out),
                injections=tuple(one for one in study.injections if one.column not in out),
                conditions=tuple(one for one in study.conditions if one.column not in out),
            ),
            measurements=replace(
                self.measurements, rows=tuple(one for one in self.measurements.rows if one.column not in out)
            ),
            judgement=replace(
                judged,
                declines=tuple(one for one in judged.declines if one.series.column not in out),
                first_failures=tuple(one for one in judged.first_failures if one.column not in out),
            ),
        )

    @cached_property
    def _rows(self) -> Mapping[tuple[str, str], tuple[PeakRow, ...]]:
        """Rows of used injections by column and marker, by exposure."""
        rows: dict[tuple[str, str], list[PeakRow]] = {}
        for row in self.measurements.rows:
            if row.used:
                rows.setdefault((row.column, row.marker), []).append(row)
        return {key: tuple(sorted(found, key=lambda row: row.exposure_h)) for key, found in rows.items()}

    @cached_property
    def _declines(self) -> Mapping[tuple[str, str, str], Decline]:
        return {
            (decline.series.column, decline.series.marker, decline.series.metric): decline
            for decline in self.judgement.declines
        }

    def doubtful_in(self, followed: tuple[str, str]) -> tuple[DoubtfulInjection, ...]:
        """Return the doubtful injections that count in a (marker, metric): not left out with their peaks."""
        left_out = {
            name
            for decline in self.judgement.declines
            if (decline.series.marker, decline.series.metric) == followed
            for name in decline.doubted
        }
        return tuple(one for one in self.doubtful if one.injection not in left_out)

    @cached_property
    def standing(self) -> Standing:
        """Return how far the study has come, and whether it still runs."""
        return standing_of(self.study, self.measurements)

    def rows(self, column: str, marker: str) -> tuple[PeakRow, ...]:
        """Return the rows of used injections of that marker on that column, by exposure."""
        return self._rows.get((column, marker), ())

    def values(self, column: str, marker: str, metric: str) -> tuple[float, ...]:
        """Return what was measured of `metric` over the exposure; what was not measured is left out."""
        found = (getattr(row, metric) for row in self.rows(column, marker))
        return tuple(float(value) for value in found if value is not None)

    def decline(self, column: str, marker: str, metric: str) -> Decline | None:
        """Return that decline, or None where the judgement has none."""
        return self._declines.get((column, marker, metric))

    def group_life(self, group: str, marker: str, metric: str) -> GroupLife | None:
        """Return the life of that group, or None where the judgement has none."""
        for life in self.judgement.group_lives:
            if (life.group, life.marker, life.metric) == (group, marker, metric):
                return life
        return None

    def comparison(self, group: str, other: str, marker: str, metric: str) -> Comparison | None:
        """Return the comparison of the two groups, whichever stands first in it."""
        for found in self.judgement.comparisons:
            same = {found.group_a, found.group_b} == {group, other}
            if same and (found.marker, found.metric) == (marker, metric):
                return found
        return None

    def used(self, column: str) -> tuple[Injection, ...]:
        """Return the used injections of that column, in the folder's order."""
        return tuple(found for found in self.study.injections if found.used and found.column == column)

    def roles(self, *roles: MarkerRole) -> tuple[str, ...]:
        """Return the ids of the markers of these roles."""
        return tuple(marker.id for marker in self.study.markers if marker.role in roles)

    def hours(self, column: str) -> tuple[float, ...]:
        """Return the exposures at which that column was looked at, hours, each once, ascending."""
        markers = [marker.id for marker in self.study.markers]
        return tuple(sorted({row.exposure_h for marker in markers for row in self.rows(column, marker)}))

    @cached_property
    def _hold_ups_min(self) -> Mapping[str, float]:
        """By column, read once: every injection and every row of the log asks for it."""
        reference = self.study.choices.reference_injections
        found: dict[str, float] = {}
        for column in self.study.columns:
            for marker in self.study.markers:
                values = self.values(column.id, marker.id, "hold_up_time_min")
                if values:
                    found.setdefault(column.id, fmean(values[:reference]))
        return found

    def hold_up_min(self, column: str) -> float | None:
        """Return the mean hold-up time of the reference injections of that column, minutes."""
        return self._hold_ups_min.get(column)

    def time_of(self, injection: Injection) -> datetime | None:
        """Return when that injection was made, without zone (UTC where one is stated)."""
        trace = self.traces.get(injection.id)
        stamp = injection.at or _read_time(trace.acquired_at if trace else "")
        if stamp and stamp.tzinfo is None and injection.at is None:
            # A clock whose zone nobody states is that of the wall by which the stress was begun.
            start = self.study.column(injection.column).exposure_start
            stamp = stamp.replace(tzinfo=self.study.exports.zone or (start.tzinfo if start else None))
        return without_zone(stamp) if stamp else None

    def exposure_h(self, placed: Injection | LoggedCondition) -> float | None:
        """Return the exposure in hours at which an injection or a logged row stands."""
        column = self.study.column(placed.column)
        return exposure_of(placed, column, self.study.stress.flow_mL_min, self.void_volume(column)).hours

    def void_volume(self, column: Column) -> float | None:
        """Return hold-up time × flow of the injections, mL."""
        hold_up, flow = self.hold_up_min(column.id), self.study.test.flow_mL_min
        return hold_up * flow if hold_up and flow else None

    @cached_property
    def _log(self) -> Mapping[str, list[tuple[float | None, LoggedCondition]]]:
        """Return (exposure in hours, row) of the log by column, each placed once."""
        placed: dict[str, list[tuple[float | None, LoggedCondition]]] = {}
        for row in self.study.conditions:
            placed.setdefault(row.column, []).append((self.exposure_h(row), row))
        return placed

    def logged(self, column: str, quantity: str) -> tuple[tuple[float, float], ...]:
        """Return (exposure in hours, value) of `quantity` from the log of that column, by exposure.

        Rows whose exposure cannot be known stand at NaN and keep the log's order.
        """
        found = [
            (hours, getattr(row, quantity))
            for hours, row in self._log.get(column, ())
            if getattr(row, quantity) is not None
        ]
        placed = [(hours if hours is not None else float("nan"), float(value)) for hours, value in found]
        return (
            tuple(sorted(placed, key=lambda pair: pair[0]))
            if all(h == h for h, _ in placed)
            else tuple(placed)
        )

    def logged_times(self, column: str, quantity: str) -> tuple[tuple[float, float, float], ...] | None:
        """Return (hours by the clock since the first, exposure in hours, value) of the log of that column."""
        placed = self.logged_at(column, quantity)
        if placed is None:
            return None
        return tuple(
            ((at - placed[0][0]).total_seconds() / 3600.0, hours, value) for at, hours, value in placed
        )

    def logged_at(self, column: str, quantity: str) -> tuple[tuple[datetime, float, float], ...] | None:
        """Return (time, exposure in hours, value) of the log of that column.

        By the clock; None where a row bears no time or stands at no exposure. A bottle ages in a pause, too.
        """
        rows = [
            (hours, row) for hours, row in self._log.get(column, ()) if getattr(row, quantity) is not None
        ]
        placed = [
            (without_zone(row.at), hours, float(getattr(row, quantity)))
            for hours, row in rows
            if row.at is not None and hours is not None
        ]
        if not placed or len(placed) < len(rows):
            return None
        return tuple(sorted(placed, key=lambda one: one[0]))


def only_seen_shorter(before: GroupLife, after: GroupLife) -> bool:
    """Return whether a life of which a bound alone is known has a lower one after.

    Fewer injections saw it less long, and nothing speaks against what was seen before.
    """
    ends, later = before.life.hours, after.life.hours
    return ends.value is None and later.value is None and (later.low or 0.0) < (ends.low or 0.0)


def without_zone(time: datetime) -> datetime:
    """Return a time in UTC where it bears a zone, else as it stands, so that all can be sorted."""
    return time.astimezone(UTC).replace(tzinfo=None) if time.tzinfo else time


def _read_time(text: str) -> datetime | None:
    """Return the time that `text` states after ISO 8601, or None."""
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None
