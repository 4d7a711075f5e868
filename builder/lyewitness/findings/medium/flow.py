"""Each column's bed: what is known of it, what flowed through it, the pressure to be expected.

In: the study and its beds. Out: `ChemistryFact`s, one of each kind for every group.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from statistics import median

from lyewitness.chemistry.bed import (
    column_volume,
    linear_velocity,
    pressure_drop,
    reduced_velocity,
    superficial_velocity,
)
from lyewitness.chemistry.solvents import diffusion, viscosity
from lyewitness.findings.medium.settings import stated
from lyewitness.findings.records import ChemistryFact
from lyewitness.peaks.records import Measurements
from lyewitness.study.events import exposure_of
from lyewitness.study.records import Column, Conditions, Injection, LoggedCondition, Study
from lyewitness.words.estimates import Estimate
from lyewitness.words.names import joined
from lyewitness.words.numbers import interval, rounded, with_unit
from lyewitness.words.phrases import listed

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


SYSTEM_BAR = 40.0
"""What frits, tubing and detector usually add at most, bar (common practice)."""
FIRST_LOGGED = 3
"""Pressures of a column, from the first on, whose median is its pressure at the start."""


def bed_facts(study: Study, beds: tuple[Bed, ...]) -> Iterator[ChemistryFact]:
    """Yield volumes with velocities, and the pressure, for every group."""
    for group in study.groups:
        of_group = tuple(bed for bed in beds if bed.column.group == group)
        yield _volume_fact(study, group, of_group)
        yield _pressure_fact(study, group, of_group)


def _volume_fact(study: Study, group: str, beds: tuple[Bed, ...]) -> ChemistryFact:
    """Return column volume, hold-up, linear and reduced velocity of a group’s fresh columns."""
    parts = []
    if tube := spread((bed.volume_mL for bed in beds), "mL"):
        parts.append(f"The empty tubes hold {tube}.")
    if hold_up := spread((bed.hold_up_mL for bed in beds), "mL"):
        times = spread((bed.hold_up_min for bed in beds), "min")
        shares = spread(_each(beds, lambda bed: _percent(bed.hold_up_mL, bed.volume_mL)), "%", 2)
        of_tube = f", {shares} of the tube" if shares else ""
        parts.append(f"Hold-up time of the fresh columns {times}, hold-up volume {hold_up}{of_tube}.")
    if velocity := spread(_each(beds, _velocity), "mm/s", 2):
        parts.append(f"Linear velocity in the injections {velocity}.")
    reduced = _reduced(study.test, beds)
    if reduced.value is not None:
        parts.append(f"Reduced velocity of a small marker about {interval(reduced)}.")
    elif parts:
        parts.append(f"The reduced velocity cannot be computed, because {reduced.reason}.")
    strange = [
        bed.column.id for bed in beds if bed.hold_up_mL and bed.volume_mL and bed.hold_up_share is None
    ]
    if strange:
        parts.append(
            f"No bed has such a hold-up share: the dimensions, the flow or the void marker of "
            f"{listed(strange)} cannot be right."
        )
    return ChemistryFact(
        joined("bed", group),
        f"Volumes and velocities, {group}",
        " ".join(parts)
        or "Volumes and velocities cannot be computed, because neither dimensions nor a hold-up time are "
        "known.",
        "π d² L/4; hold-up time × flow; length ÷ hold-up time; u dp/D with D after Wilke and Chang, AIChE J. "
        "1955, 1, 264, for a molar volume of 220 cm³ (rough, ± 50 %)",
        "Groups are compared at equal velocity and equal column volumes, or the difference is part flow.",
        "; ".join(one for one in (tube, velocity) if one),
    )


def _each(beds: tuple[Bed, ...], value: Callable[[Bed], float | None]) -> tuple[float | None, ...]:
    return tuple(value(bed) for bed in beds)


def _percent(part: float | None, whole: float | None) -> float | None:
    return 100.0 * part / whole if part is not None and whole else None


def _velocity(bed: Bed) -> float | None:
    """Return the linear velocity of the fresh column, mm/s."""
    if bed.column.length_mm and bed.hold_up_min:
        return linear_velocity(bed.column.length_mm, bed.hold_up_min)
    return None


def _reduced(conditions: Conditions, beds: tuple[Bed, ...]) -> Estimate:
    """Return the reduced velocity with the ends of all columns and of the diffusion coefficient."""
    if conditions.temperature_C is None:
        return Estimate(reason="the temperature of the injections is not stated")
    coefficient = diffusion(conditions.organic, _organic_share(conditions), conditions.temperature_C)
    found = [
        reduced_velocity(velocity, bed.column.particle_um, coefficient)
        for bed in beds
        if (velocity := _velocity(bed)) is not None and bed.column.particle_um
    ]
    return _joined(found, "particle size, length or hold-up time is not known")


def _joined(found: list[Estimate], reason: str) -> Estimate:
    """Return the mean of the values with the widest ends; the reason of the first where none has one."""
    values = [each.value for each in found if each.value is not None]
    if not values:
        return Estimate(reason=found[0].reason if found else reason)
    lows = [each.low for each in found if each.low is not None]
    highs = [each.high for each in found if each.high is not None]
    return Estimate(sum(values) / len(values), min(lows), max(highs))


def _organic_share(conditions: Conditions) -> float:
    """Return the organic part as a volume fraction; none stated is none."""
    return (conditions.organic_percent or 0.0) / 100.0 if conditions.organic else 0.0


def _pressure_fact(study: Study, group: str, beds: tuple[Bed, ...]) -> ChemistryFact:
    """Return the pressure to be expected over the fresh beds, held against the first pressures logged."""
    expected = _expected_pressure(study.stress, beds)
    logged = [pressure for bed in beds if (pressure := _logged_pressure(study, bed.column)) is not None]
    if expected.value is None:
        text, bearing = f"The pressure cannot be computed, because {expected.reason}.", ""
    else:
        at = f"at {stated(study.stress.flow_mL_min or 0.0, 'mL/min')} and "
        at += stated(study.stress.temperature_C or 0.0, "°C")
        text = (
            f"Over the bed alone {interval(expected, 'bar')} {at}; frits and tubing come on top, as a rule "
            f"{stated(SYSTEM_BAR, 'bar')} at most."
        )
        bearing = "No pressure is logged to hold against it." if not logged else _against(expected, logged)
    if logged:
        text += f" Logged at the start: {spread(logged, 'bar')}."
    return ChemistryFact(
        joined("pressure", group),
        f"Pressure to be expected, {group}",
        text,
        "Kozeny and Carman, 36–42 % of the column between the particles (common practice); viscosity of the "
        "mixture after Chen and Horváth, Anal. Methods Instrum. 1993, 1, 213 (from memory), ± 15 %",
        bearing,
        interval(expected, "bar") if expected.value is not None else "",
    )


def _expected_pressure(stress: Conditions, beds: tuple[Bed, ...]) -> Estimate:
    """Return the pressure over the group’s beds at the flow and temperature of the stress, bar."""
    if stress.temperature_C is None or not stress.flow_mL_min:
        return Estimate(reason="temperature or flow of the stress is not stated")
    thickness = viscosity(stress.organic, _organic_share(stress), stress.temperature_C)
    found = [
        pressure_drop(
            column.length_mm,
            column.particle_um,
            superficial_velocity(stress.flow_mL_min, column.inner_diameter_mm),
            thickness,
        )
        for column in (bed.column for bed in beds)
        if column.length_mm and column.particle_um and column.inner_diameter_mm
    ]
    return _joined(found, "the columns’ dimensions or particle sizes are not stated")


def _logged_pressure(study: Study, column: Column) -> float | None:
    """Return the median of the column’s first logged pressures, bar."""
    logged = [row.pressure_bar for row in study.conditions if row.column == column.id and row.pressure_bar]
    return median(logged[:FIRST_LOGGED]) if logged else None


def _against(expected: Estimate, logged: list[float]) -> str:
    """Return what the logged pressures say beside the expected ones."""
    if expected.high is not None and min(logged) > expected.high + SYSTEM_BAR:
        return (
            "More is logged than bed, frits and tubing should need: something is blocked or narrow, or the "
            "particles are smaller than stated. Judge its change, not its height."
        )
    if expected.low is not None and max(logged) < expected.low:
        return (
            "Less is logged than the beds should need: ask whether flow, particle size and the pressure’s "
            "zero are as stated, and whether a bed had a void from the start."
        )
    return "What is logged lies where such beds should lie, so flow and dimensions agree with each other."
