"""What is known of each column's bed before the stress, and how much mobile phase went through it.

In: the study, what was measured. Out: `Bed`s, and the words in which several are told together.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median

from lyewitness.chemistry.bed import column_volume
from lyewitness.peaks.records import Measurements
from lyewitness.study.events import exposure_of
from lyewitness.study.records import Column, Injection, LoggedCondition, Study
from lyewitness.words.numbers import rounded, with_unit

PLAUSIBLE_HOLD_UP = (0.35, 0.80)
"""Share of the column’s volume in which a hold-up volume should lie (common practice)."""


@dataclass(frozen=True, slots=True)
class Bed:
    """What is known of one column’s bed before the stress."""

    column: Column
    volume_mL: float | None
    """Of the empty tube."""
    hold_up_min: float | None
    """Median of the void marker’s retention time over the reference injections."""
    hold_up_mL: float | None
    passed_mL: float | None
    """Mobile phase of the stress that went through, up to the last point of the record."""

    @property
    def hold_up_share(self) -> float | None:
        """Return hold-up volume ÷ column volume where it is one that a bed can have."""
        if not self.volume_mL or self.hold_up_mL is None:
            return None
        share = self.hold_up_mL / self.volume_mL
        return share if PLAUSIBLE_HOLD_UP[0] <= share <= PLAUSIBLE_HOLD_UP[1] else None


def beds_of(study: Study, measurements: Measurements) -> tuple[Bed, ...]:
    """Return the bed of every column, in the folder’s order."""
    return tuple(_bed(study, measurements, column) for column in study.columns)


def spread(values: Iterable[float | None], unit: str, digits: int = 3) -> str:
    """Return `0.173 mL` or `0.101 to 0.108 mL`; empty where nothing is known."""
    known = [value for value in values if value is not None]
    ends = dict.fromkeys(rounded(end, digits) for end in (min(known), max(known))) if known else {}
    return with_unit(" to ".join(ends), unit) if ends else ""


def _bed(study: Study, measurements: Measurements, column: Column) -> Bed:
    """Return the bed of one column from its dimensions, its void marker and its record."""
    volume = None
    if column.length_mm and column.inner_diameter_mm:
        volume = column_volume(column.length_mm, column.inner_diameter_mm)
    hold_up = _hold_up_min(study, measurements, column)
    flow = study.test.flow_mL_min
    hold_up_mL = hold_up * flow if hold_up is not None and flow else None
    return Bed(column, volume, hold_up, hold_up_mL, _passed(study, column, hold_up_mL))


def _hold_up_min(study: Study, measurements: Measurements, column: Column) -> float | None:
    """Return the median hold-up time of the column’s reference injections."""
    void = study.void_marker
    rows = [
        row
        for row in measurements.rows
        if void is not None and row.marker == void.id and row.column == column.id and row.used and row.found
    ]
    rows.sort(key=lambda row: row.exposure_h)
    times = [row.retention_time_min for row in rows[: study.choices.reference_injections]]
    known = [time for time in times if time is not None]
    return median(known) if known else None


def _passed(study: Study, column: Column, hold_up_mL: float | None) -> float | None:
    """Return the most mobile phase that the record shows to have gone through the column."""
    flow = study.stress.flow_mL_min
    volumes = []
    places: tuple[Injection | LoggedCondition, ...] = (*study.injections, *study.conditions)
    for placed in places:
        if placed.column != column.id:
            continue
        exposure = exposure_of(placed, column, flow, hold_up_mL)
        if placed.exposure_mL is not None:
            volumes.append(placed.exposure_mL)
        elif exposure.hours is not None and flow:
            volumes.append(exposure.hours * 60.0 * flow)
        elif exposure.column_volumes is not None and hold_up_mL:
            volumes.append(exposure.column_volumes * hold_up_mL)
    return max(volumes, default=None)
