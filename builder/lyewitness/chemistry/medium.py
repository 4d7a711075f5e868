"""From the buffer on the bench to the buffer in the oven.

In: a buffer's name and concentration, the pH as measured at the bench, two temperatures. Out: a
`StressMedium`, or a `NotComputableError` that says why. Everything is about the aqueous part alone, before
mixing, on the activity scale.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import sqrt

from lyewitness.chemistry.activity import log_gamma
from lyewitness.chemistry.buffers import STRONG_BASE, buffer_named
from lyewitness.chemistry.equilibria import (
    TABLE,
    Constants,
    buffer_capacity_molal,
    charges_of,
    equilibrium,
    ionic_strength_at,
    strong_charge_for,
)
from lyewitness.chemistry.protolytes import pk_at
from lyewitness.chemistry.records import Buffer, Composition, Equilibrium, Ionisation, StressMedium
from lyewitness.chemistry.water import water_density
from lyewitness.estimates import Estimate

BENCH_PH_UNCERTAINTY = 0.05
"""95 % half width of a pH read with a well-kept meter (common practice)."""
HIGH_PH_UNCERTAINTY = 0.10
"""The same above pH 12, where glass electrodes answer to sodium too (common practice)."""
WATER_PK_UNCERTAINTY = 0.01
OUT_OF_RANGE = 1.0
"""A buffer works within one pH unit of its pK (common practice)."""


class NotComputableError(ValueError):
    """The pH cannot be computed; the message is a sentence that says why."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What was weighed in and what the meter said."""

    buffer: Buffer
    total_molal: float
    ph: float | None
    temperature_C: float
    raised_with: str
    """As `Buffer.raised_with`, or a second way to be tried."""


def stress_medium(
    buffer_name: str,
    buffer_mM: float | None,
    bench_ph: float | None,
    bench_temperature_C: float | None,
    stress_temperature_C: float | None,
) -> StressMedium:
    """Return the aqueous part at the stress temperature; `NotComputableError` where something is missing.

    Without a pH the composition must be told by the name alone, which holds for hydroxide and for
    ammonium bicarbonate, carbonate, acetate and formate dissolved as they are.
    """
    bench = _bench(buffer_name, buffer_mM, bench_ph, bench_temperature_C, stress_temperature_C)
    hot_C = _within_range(stress_temperature_C)
    composition = composition_of(bench)
    cold, hot = (equilibrium(composition, t) for t in (bench.temperature_C, hot_C))
    return StressMedium(
        buffer=bench.buffer,
        composition=composition,
        bench=cold,
        hot=hot,
        ph=_with_bounds(bench, hot),
        capacity_mM=1000.0 * buffer_capacity_molal(composition, hot),
        nearest_pk=nearest_pk(composition, hot),
        set_by=_set_by(bench, composition),
        notes=tuple(_notes(bench, composition, hot)),
    )


def _bench(
    name: str, buffer_mM: float | None, ph: float | None, bench_C: float | None, hot_C: float | None
) -> Bench:
    """Return the bench, or raise with the sentence that says what is missing."""
    if not name:
        raise NotComputableError("no buffer is stated")
    buffer = buffer_named(name)
    if buffer is None:
        raise NotComputableError(f"‘{name}’ is not in the table of buffers, so its constants are not known")
    if hot_C is None:
        raise NotComputableError("no temperature is stated")
    if buffer_mM is None and not (buffer.name == "hydroxide" and ph is not None):
        raise NotComputableError("the concentration of the buffer is not stated")
    told_by_name = buffer.name == "hydroxide" or buffer.raised_with != ""
    if ph is None and not told_by_name:
        raise NotComputableError("the pH measured at the bench is not stated")
    if ph is not None and bench_C is None:
        raise NotComputableError("the temperature at which the pH was measured is not stated")
    bench_temperature = _within_range(25.0 if bench_C is None else bench_C)
    total = (buffer_mM or 0.0) / 1000.0 / water_density(bench_temperature)
    return Bench(buffer, total, ph, bench_temperature, buffer.raised_with)


def _within_range(temperature_C: float | None) -> float:
    """Return the temperature if the constants reach that far, 0–100 °C."""
    if temperature_C is None or not 0.0 <= temperature_C <= 100.0:
        raise NotComputableError("the constants hold for 0 to 100 °C only")
    return temperature_C


def composition_of(bench: Bench, constants: Constants = TABLE) -> Composition:
    """Return what the solution must hold for its pH at the bench."""
    totals = {name: moles * bench.total_molal for name, moles in bench.buffer.brings.items()}
    as_weighed = bench.buffer.strong_charge * bench.total_molal
    if bench.ph is None:
        return Composition(totals, as_weighed)
    if bench.raised_with in ("", STRONG_BASE):
        return Composition(totals, strong_charge_for(totals, bench.ph, bench.temperature_C, constants))
    needed = strong_charge_for(totals, bench.ph, bench.temperature_C, constants)
    if needed <= as_weighed:
        return Composition(totals, needed)
    return _raised(totals, as_weighed, bench.ph, bench, constants)


def _raised(
    totals: Mapping[str, float], strong: float, ph: float, bench: Bench, constants: Constants
) -> Composition:
    """Return the composition raised to `ph` with the free base of one of its protolytes.

    Each mole added brings the mean charge it has at that pH; the ionic strength it makes is found by
    repetition, which converges because each round moves it by a small part of itself.
    """
    name, added = bench.raised_with, 0.0
    for _ in range(60):
        now = dict(totals) | {name: totals[name] + added}
        ionic_strength = ionic_strength_at(now, ph, bench.temperature_C, constants)
        net = charges_of(now, ph, ionic_strength, bench.temperature_C, constants).net + strong
        alone = charges_of({name: 1.0}, ph, ionic_strength, bench.temperature_C, constants).net
        blank = charges_of({}, ph, ionic_strength, bench.temperature_C, constants).net
        step = -net / (alone - blank)
        added += step
        if abs(step) < 1e-13 + 1e-11 * added:
            break
    return Composition(dict(totals) | {name: totals[name] + added}, strong)


def nearest_pk(composition: Composition, at: Equilibrium) -> float | None:
    """Return the pK, activities included, that lies nearest to the pH; None where nothing buffers."""
    pks = []
    for name in composition.totals_molal:
        protolyte = TABLE.protolytes[name]
        for lost, step in enumerate(protolyte.steps):
            charge = protolyte.top_charge - lost
            pks.append(apparent_pk(step, charge, at.ionic_strength_molal, at.temperature_C))
    return min(pks, key=lambda pk: abs(pk - at.ph), default=None)


def apparent_pk(step: Ionisation, charge: int, ionic_strength: float, temperature_C: float) -> float:
    """Return the pH at which an acid of that charge is half dissociated."""
    from_acid = log_gamma(charge, ionic_strength, temperature_C)
    from_base = log_gamma(charge - 1, ionic_strength, temperature_C)
    return pk_at(step, temperature_C) - from_acid + from_base


def _with_bounds(bench: Bench, hot: Equilibrium) -> Estimate:
    """Return the pH with 95 % bounds: constants, meter and activities in quadrature, then the way of
    setting the pH as a whole, since only one of the ways is true."""

    def ph_of(bench: Bench, constants: Constants) -> float:
        return equilibrium(composition_of(bench, constants), hot.temperature_C, constants).ph

    shifts = [ph_of(bench, constants) - hot.ph for constants in _moved(bench)]
    if bench.ph is not None:
        wide = HIGH_PH_UNCERTAINTY if bench.ph > 12.0 else BENCH_PH_UNCERTAINTY
        shifts.append(ph_of(replace(bench, ph=bench.ph + wide), TABLE) - hot.ph)
    half_width = sqrt(sum(shift**2 for shift in shifts))
    ends = [hot.ph]
    if bench.buffer.also_raised_with and bench.ph is not None:
        ends.append(ph_of(replace(bench, raised_with=bench.buffer.also_raised_with), TABLE))
    return Estimate(hot.ph, min(ends) - half_width, max(ends) + half_width)


def _moved(bench: Bench) -> Iterator[Constants]:
    """Yield the constants with one of them moved by its uncertainty, one after the other."""
    yield replace(TABLE, water_pk_shift=WATER_PK_UNCERTAINTY)
    yield replace(TABLE, model="extended Debye–Hückel")
    for name in bench.buffer.brings:
        protolyte = TABLE.protolytes[name]
        for index, step in enumerate(protolyte.steps):
            for moved in _moved_step(step):
                steps = (*protolyte.steps[:index], moved, *protolyte.steps[index + 1 :])
                yield replace(TABLE, protolytes={**TABLE.protolytes, name: replace(protolyte, steps=steps)})


def _moved_step(step: Ionisation) -> tuple[Ionisation, ...]:
    """Return the constant with its pK, its enthalpy and its heat capacity moved up in turn."""
    return (
        replace(step, pk=step.pk + step.pk_uncertainty),
        replace(step, enthalpy_kJ_mol=step.enthalpy_kJ_mol + step.enthalpy_uncertainty),
        replace(step, heat_capacity_J_mol_K=step.heat_capacity_J_mol_K + step.heat_capacity_uncertainty),
    )


def _set_by(bench: Bench, composition: Composition) -> str:
    """Return how the pH was taken to have been set, in words."""
    if bench.ph is None:
        return "dissolved as it is, without setting the pH"
    as_weighed = bench.buffer.strong_charge * bench.total_molal
    if composition.strong_charge_molal > as_weighed:
        return "set with a strong base"
    if composition.strong_charge_molal < as_weighed:
        return "set with a strong acid"
    return f"raised with {bench.raised_with}" if bench.raised_with else "dissolved as it is"


def _notes(bench: Bench, composition: Composition, hot: Equilibrium) -> Iterator[str]:
    """Yield what composition and pH say about each other."""
    pk = nearest_pk(composition, hot)
    if pk is not None and abs(pk - hot.ph) > OUT_OF_RANGE:
        yield "out of range"
