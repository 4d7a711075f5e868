"""The medium as courses to be drawn: pH and charge over temperature, silica dissolved over hours.

In: the study and its measurements. Out: `Courses`. Each value comes from what the facts of the medium are
computed with, so that drawing and table cannot disagree.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.chemistry.bed import UNFAVOURABLE, USUAL, silica_in_bed
from lyewitness.chemistry.equilibria import IonisableRole, ionised, pka_at
from lyewitness.chemistry.medium import stress_medium
from lyewitness.chemistry.records import NotComputableError
from lyewitness.findings.medium.flow import beds_of
from lyewitness.findings.medium.markers import percent
from lyewitness.findings.medium.settings import Setting, injection_setting, same_bottle, stress_settings
from lyewitness.findings.medium.silica import saturated_with
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Marker, Study
from lyewitness.words.estimates import Estimate

STEPS = 5
"""Temperatures at which a course is computed: pH and pK are all but straight over such a range; the bounds
of one pH take a tenth of a second."""
BEYOND_C = 5.0
"""Drawn beyond the coldest and the hottest temperature of the study, within what the constants hold for."""
HELD_FOR_C = (0.0, 100.0)


@dataclass(frozen=True, slots=True)
class Course:
    """A value with its bounds over something."""

    name: str
    at: tuple[float, ...]
    """Temperatures in °C, or hours."""
    values: tuple[Estimate, ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """A pH that the report tells: where it was read, or where the columns met it."""

    name: str
    temperature_C: float
    ph: Estimate


@dataclass(frozen=True, slots=True)
class BedSilica:
    """What the beds of one group hold, between the least and the most."""

    group: str
    low_mg: float
    high_mg: float


@dataclass(frozen=True, slots=True)
class Courses:
    """What of the medium can be drawn; empty where it cannot be computed."""

    ph: tuple[Course, ...]
    readings: tuple[Reading, ...]
    charged_percent: tuple[Course, ...]
    """Of each base and acid among the markers, at the pH of the injections' mobile phase."""
    dissolved_mg: tuple[Course, ...]
    """Had every drop left saturated: the value with usual constants, the high end with unfavourable ones."""
    beds: tuple[BedSilica, ...]
    injected_C: float | None
    """Temperature of the injections."""


def courses_of(study: Study, measurements: Measurements) -> Courses:
    """Return the courses of the stress, of the injections and of the beds."""
    stresses, injections = stress_settings(study), injection_setting(study)
    bottles = [stresses[0]]
    for setting in (*stresses[1:], injections):
        if not any(same_bottle(setting.conditions, one.conditions) for one in bottles):
            bottles.append(setting)
    temperatures = _temperatures((*stresses, injections))
    beds = tuple(_bed_silica(study, measurements))
    return Courses(
        ph=tuple(course for one in bottles if (course := _ph_course(one, temperatures))),
        readings=tuple(_readings((*stresses, injections))),
        charged_percent=tuple(
            course for one in study.markers if (course := _charge_course(one, injections, temperatures))
        ),
        dissolved_mg=tuple(_dissolved(study, measurements, stresses)) if beds else (),
        beds=beds,
        injected_C=injections.conditions.temperature_C,
    )


def _temperatures(settings: Sequence[Setting]) -> tuple[float, ...]:
    """Return the temperatures of a course: from the coldest to the hottest that the study names."""
    known = [
        temperature
        for one in settings
        for temperature in (one.conditions.ph_temperature_C, one.conditions.temperature_C)
        if temperature is not None
    ]
    if not known:
        return ()
    low, high = max(HELD_FOR_C[0], min(known) - BEYOND_C), min(HELD_FOR_C[1], max(known) + BEYOND_C)
    return tuple(float(one) for one in np.linspace(low, high, STEPS)) if high > low else ()


def _ph_at(setting: Setting, temperature_C: float) -> Estimate:
    """Return the pH of a mobile phase at another temperature; NotComputableError where there is none."""
    told = setting.conditions
    return stress_medium(told.buffer, told.buffer_mM, told.ph, told.ph_temperature_C, temperature_C).ph


def _course(name: str, at: Sequence[float], value: Callable[[float], Estimate]) -> Course | None:
    """Return a course, None where its values cannot be computed."""
    try:
        values = tuple(value(one) for one in at)
    except NotComputableError:
        return None
    return Course(name, tuple(at), values) if values else None


def _ph_course(setting: Setting, temperatures: Sequence[float]) -> Course | None:
    return _course(setting.name, temperatures, lambda at: _ph_at(setting, at))


def _readings(settings: Sequence[Setting]) -> Iterator[Reading]:
    """Yield the pH at the bench, and that which the columns and the injections met; each once."""
    seen: set[tuple[float, float]] = set()
    for setting in settings:
        medium = setting.medium
        if medium is None or medium.ph.value is None:
            continue
        bench = Estimate(setting.conditions.ph if setting.conditions.ph is not None else medium.bench.ph)
        for name, at, ph in (
            ("bottle", medium.bench.temperature_C, bench),
            (setting.name, medium.hot.temperature_C, medium.ph),
        ):
            if ph.value is not None and (at, ph.value) not in seen:
                seen.add((at, ph.value))
                yield Reading(name, at, ph)


def _charge_course(marker: Marker, injections: Setting, temperatures: Sequence[float]) -> Course | None:
    """Return per cent of a base or acid that bears a charge, over the temperature of the injections."""
    if marker.pka is None or marker.role not in ("base", "acid"):
        return None
    pka = marker.pka
    role: IonisableRole = "base" if marker.role == "base" else "acid"

    def charged(at: float) -> Estimate:
        share = ionised(_ph_at(injections, at), pka_at(pka, role, at), role)
        return percent(share)

    return _course(marker.id, temperatures, charged)


def _bed_silica(study: Study, measurements: Measurements) -> Iterator[BedSilica]:
    """Yield what the beds of each group hold, where they hold silica and it is known how much."""
    beds = beds_of(study, measurements)
    for group in study.groups:
        held = [
            silica_in_bed(bed.column.particle, bed.volume_mL, bed.hold_up_share)
            for bed in beds
            if bed.column.group == group and bed.volume_mL is not None
        ]
        lows = [one.low for one in held if one.low is not None]
        highs = [one.high for one in held if one.high is not None]
        if lows and highs and len(lows) == len(held):
            yield BedSilica(group, min(lows), max(highs))


def _dissolved(study: Study, measurements: Measurements, stresses: Sequence[Setting]) -> Iterator[Course]:
    """Yield for each stress how much silica its mobile phase could have carried off by the hour."""
    for setting in stresses:
        flow = setting.conditions.flow_mL_min
        passed = [
            bed.passed_mL
            for bed in beds_of(study, measurements)
            if bed.column.id in setting.columns and bed.passed_mL is not None
        ]
        if not flow or not passed:
            continue
        try:
            usual, most = (saturated_with(setting, constants) for constants in (USUAL, UNFAVOURABLE))
        except NotComputableError:
            continue
        hours = np.linspace(0.0, max(passed) / flow / 60.0, 2)
        per_hour = 60.0 * flow
        values = (Estimate(usual * per_hour * h, 0.0, most * per_hour * h) for h in hours.tolist())
        yield Course(setting.name, tuple(hours.tolist()), tuple(values))


def hours_to(course: Course, silica_mg: float) -> tuple[float | None, float | None]:
    """Return the hours after which so much silica could be gone: (usual, at the earliest); None if never."""
    last = course.values[-1]
    usual, most = (
        course.at[-1] * silica_mg / carried if carried and carried >= silica_mg else None
        for carried in (last.value, last.high)
    )
    return usual, most
