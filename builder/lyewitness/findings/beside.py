"""One injection beside its neighbours on the same column: what they lead to expect of it.

In: its peak rows and trace, and theirs. Out: ratios to what was to be expected, and peaks that none of them
has.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf, log
from statistics import median

from lyewitness.findings.displaced import FEWEST, expected, hours_of, line_through
from lyewitness.peaks.records import PeakOutline, PeakRow
from lyewitness.study.records import Injection
from lyewitness.traces.records import Trace

SHARE_THAT_HAVE = 2 / 3
"""Of the neighbours that must show a peak for its absence to be odd."""
ABSENT = 0.1
"""Share of the neighbours' area below which a peak is as good as absent: carry-over reaches a few %."""
SAME_PLACE = 0.03
"""Relative difference of times within which two peaks stand at the same place."""
CLEARLY = 10.0
"""Signal-to-noise ratio from which a peak is quantified (ICH Q2): no such peak is lost in noise."""
WIDTHS_APART = 2.0
"""Half-height widths between two peaks from which neither hides the other."""


@dataclass(frozen=True)
class Beside:
    """One injection beside its neighbours."""

    injection: Injection
    rows: Mapping[str, PeakRow]
    """Rows of this injection by marker."""
    near: tuple[Mapping[str, PeakRow], ...]
    """Rows of the neighbours by marker."""
    strangers: tuple[PeakOutline, ...]
    near_strangers: tuple[tuple[PeakOutline, ...], ...]
    trace: Trace
    near_traces: tuple[Trace, ...]
    void: str
    """Id of the void marker; empty for none."""

    @cached_property
    def usual(self) -> tuple[str, ...]:
        """Return the markers that most neighbours show."""
        return tuple(m for m in self.rows if self._shown(m) >= SHARE_THAT_HAVE * len(self.near))

    def _shown(self, marker: str) -> int:
        return sum(marker in rows and rows[marker].found for rows in self.near)

    def _known(self, marker: str, metric: str) -> list[tuple[float, float]]:
        """Return (exposure in hours, value) of the neighbours that have one."""
        return [
            (rows[marker].exposure_h, value)
            for rows in self.near
            if marker in rows and (value := getattr(rows[marker], metric)) is not None and value > 0
        ]

    def ratio(self, marker: str, metric: str) -> float | None:
        """Return this value ÷ what the neighbours lead to expect; None where either is unknown."""
        own = getattr(self.rows[marker], metric)
        known = self._known(marker, metric)
        if own is None or own <= 0 or len(known) < FEWEST:
            return None
        course = float(own) / expected(known, self.rows[marker].exposure_h)
        if metric != "peak_area":
            return course
        # A column leaves sizes alone as it declines: one is odd that is so beside the neighbours' course and
        # their level, for of few a bad one tilts the course.
        level = self.level_ratio(marker, metric)
        if (course - 1) * (level - 1) <= 0:
            return 1.0
        return min(course, level, key=lambda ratio: abs(log(ratio)))

    def level_ratio(self, marker: str, metric: str) -> float:
        """Return this value ÷ the neighbours' median, whatever their course; 1 where either is unknown."""
        own, known = getattr(self.rows[marker], metric), self._known(marker, metric)
        return float(own) / median(value for _, value in known) if own and known else 1.0

    def displaced(self, marker: str) -> float:
        """Return ln of this retention time ÷ the nearest of all neighbours'; 0 within what these span."""
        own = self.rows[marker].retention_time_min
        known = [value for _, value in self._known(marker, "retention_time_min")]
        if not own or len(known) < FEWEST:
            return 0.0
        return log(own / min(max(own, min(known)), max(known)))

    @cached_property
    def is_between(self) -> bool:
        """Return whether there are neighbours before and after this injection."""
        own = hours_of(self.rows)
        return {hours_of(rows) > own for rows in self.near if rows} == {True, False}

    def is_beside(self, markers: Sequence[str]) -> bool:
        """Return whether the injections right before and after both show all these markers, and clearly."""
        own = hours_of(self.rows)
        before = [rows for rows in self.near if rows and hours_of(rows) < own]
        after = [rows for rows in self.near if rows and hours_of(rows) > own]
        if not before or not after:
            return False
        beside = (max(before, key=hours_of), min(after, key=hours_of))
        return all(
            m in rows and rows[m].found and (rows[m].signal_to_noise or 0.0) > CLEARLY
            for rows in beside
            for m in markers
        )

    def may_hide(self, marker: str) -> bool:
        """Return whether a marker that was not found may stand under another peak, or bear no name."""
        known = self._known(marker, "retention_time_min")
        widths = [value for _, value in self._known(marker, "width_half_min")]
        if len(known) < FEWEST or not widths:
            return True
        at = expected(known, self.rows[marker].exposure_h)
        near = WIDTHS_APART * median(widths)
        others = [row.retention_time_min for row in self.rows.values() if row.retention_time_min]
        others += [peak.apex_min for peak in self.strangers]
        return any(abs(time - at) < near for time in others)

    def scatter(self, marker: str, metric: str) -> float:
        """Return by how much (ln, a robust standard deviation) the neighbours lie off their own line."""
        known = self._known(marker, metric)
        if len(known) < FEWEST:
            return 0.0
        line = line_through(known)
        return 1.4826 * median(abs(log(value / line(at))) for at, value in known)

    @cached_property
    def present(self) -> tuple[str, ...]:
        """Return the usual markers that this injection shows, with more than a trace of their area."""
        return tuple(
            m for m in self.usual if self.rows[m].found and (self.ratio(m, "peak_area") or 1.0) > ABSENT
        )

    @cached_property
    def retained(self) -> tuple[str, ...]:
        """Return the usual markers but the void."""
        return tuple(marker for marker in self.usual if marker != self.void)

    @cached_property
    def tallest(self) -> float:
        """Return the usual height of the tallest marker, in signal unit."""
        heights = [
            rows[marker].peak_height or 0.0
            for rows in self.near
            for marker in self.retained
            if marker in rows
        ]
        by_injection = [
            max((rows[m].peak_height or 0.0 for m in self.retained if m in rows), default=0.0)
            for rows in self.near
        ]
        return median(by_injection) if heights else 0.0

    @cached_property
    def narrowest(self) -> float:
        """Return half-height width ÷ retention time of the neighbours' narrowest marker; 0 where unknown.

        Of peaks that enter a column together, a later one is wider in the same proportion or more.
        """
        plates = [
            row.plate_number_half_height
            for rows in self.near
            for marker in self.retained
            if marker in rows and (row := rows[marker]).plate_number_half_height
        ]
        return (5.54 / max(plates)) ** 0.5 if plates else 0.0

    def foreign(self, share: float) -> list[PeakOutline]:
        """Return the peaks of no marker that are so tall, and that no neighbour has."""
        return [
            peak
            for peak in self.strangers
            if _height(peak) > share * self.tallest > 0
            and not any(_at_same_place(peak, other) for others in self.near_strangers for other in others)
            and not any(self._is_part_of(peak, marker) for marker in self.present)
            and self._is_on_the_trace(peak)
        ]

    def _is_on_the_trace(self, peak: PeakOutline) -> bool:
        """Tell whether the signal itself rises to half of a peak where that stands: a curve may miss it."""
        times = self.trace.time_min
        signal = self.trace.signal[(times >= peak.half_left_min) & (times <= peak.half_right_min)]
        rises = float(signal.max(initial=-inf)) - (peak.apex_signal - _height(peak))
        return not signal.size or rises > 0.5 * _height(peak)

    def _is_part_of(self, peak: PeakOutline, marker: str) -> bool:
        """Tell whether a peak within a marker's has what that lacks: it is one peak, cut in two."""
        row, ratio = self.rows[marker], self.ratio(marker, "peak_area")
        wide, area = row.width_half_min, row.peak_area
        if not (row.retention_time_min and wide and area and ratio):
            return False
        # Of a Gaussian.
        own = 1.06 * _height(peak) * (peak.half_right_min - peak.half_left_min)
        lacks = area / ratio - area
        return abs(peak.apex_min - row.retention_time_min) < wide and 0.5 * own < lacks < 2.0 * own


def _height(peak: PeakOutline) -> float:
    return peak.apex_signal - (peak.baseline_start + peak.baseline_end) / 2


def _at_same_place(peak: PeakOutline, other: PeakOutline) -> bool:
    near = abs(other.apex_min / peak.apex_min - 1) < SAME_PLACE
    return near and _height(other) > 0.3 * _height(peak)
