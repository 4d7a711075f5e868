"""From the buffer on the bench to the buffer in the oven.

In: a buffer's name and concentration, the pH as measured at the bench, two temperatures. Out: a
`StressMedium`, or a `NotComputableError` that says why. Everything is about the aqueous part alone,
before mixing, on the activity scale.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from math import sqrt

from lyewitness.chemistry.equilibria import (
    TABLE,
    Constants,
    buffer_capacity_molal,
    charges_of,
    equilibrium,
    ionic_strength_at,
    log_gamma,
    strong_charge_for,
)
from lyewitness.chemistry.protolytes import STRONG_BASE, buffer_named, near_names, pk_at
from lyewitness.chemistry.records import (
    Buffer,
    Composition,
    Equilibrium,
    Ionisation,
    MediumNote,
    NotComputableError,
    StressMedium,
)
from lyewitness.chemistry.solvents import water_density
from lyewitness.words.estimates import Estimate

# The scale of a meter ends here.
HIGHEST_BENCH_PH = 14.0
LIKELY_ADDITION_MOLAL = 0.5
"""mol/kg of free base beyond which nobody sets a pH that way: a strong base is taken instead."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What was weighed in and what the meter said."""

    buffer: Buffer
    total_molal: float
    ph: float | None
    temperature_C: float
    raised_with: str
    """As `Buffer.raised_with`, or the other way."""

    @property
    def as_weighed(self) -> float:
        """Return the strong charge that the buffer substance brings by itself, mol/kg."""
        return self.buffer.strong_charge * self.total_molal


def read_bench(
    name: str, buffer_mM: float | None, ph: float | None, bench_C: float | None, hot_C: float | None
) -> Bench:
    """Return the bench, or raise with the clause that says what is missing."""
    if not name:
        raise NotComputableError("no buffer is stated")
    buffer = buffer_named(name)
    if buffer is None:
        near = " or ".join(f"‘{one}’" for one in near_names(name))
        meant = f"; {near} may be meant" if near else ""
        raise NotComputableError(
            f"‘{name}’ is not in the table of buffers, so its constants are not known{meant}"
        )
    if hot_C is None:
        raise NotComputableError("no temperature is stated")
    if buffer_mM is None and not (buffer.name == "hydroxide" and ph is not None):
        raise NotComputableError("the concentration of the buffer is not stated")
    if ph is None and buffer.name != "hydroxide" and not buffer.raised_with:
        raise NotComputableError("the pH measured at the bench is not stated")
    if ph is not None and not 0.0 <= ph <= HIGHEST_BENCH_PH:
        raise NotComputableError("the pH stated lies outside 0 to 14")
    if ph is not None and bench_C is None:
        raise NotComputableError("the temperature at which the pH was measured is not stated")
    bench_temperature = within_range(25.0 if bench_C is None else bench_C)
    total = (buffer_mM or 0.0) / 1000.0 / water_density(bench_temperature)
    return Bench(buffer, total, ph, bench_temperature, buffer.raised_with)


def within_range(temperature_C: float | None) -> float:
    """Return the temperature if the constants reach that far, 0–100 °C."""
    if temperature_C is None or not 0.0 <= temperature_C <= 100.0:
        raise NotComputableError("the constants hold for 0 to 100 °C only")
    return temperature_C


def likelier(bench: Bench) -> Bench:
    """Return the bench with the pH set the other way where the usual one would take too much."""
    if bench.ph is None or not bench.buffer.also_raised_with:
        return bench
    _, added = addition_of(bench, composition_of(bench, TABLE))
    return replace(bench, raised_with=STRONG_BASE) if added > LIKELY_ADDITION_MOLAL else bench


def composition_of(bench: Bench, constants: Constants) -> Composition:
    """Return what the solution must hold for its pH at the bench."""
    totals = {name: moles * bench.total_molal for name, moles in bench.buffer.brings.items()}
    if bench.ph is None:
        return Composition(totals, bench.as_weighed)
    needed = strong_charge_for(totals, bench.ph, bench.temperature_C, constants)
    if bench.raised_with in ("", STRONG_BASE) or needed <= bench.as_weighed:
        return Composition(totals, needed)
    return _raised(totals, bench, bench.ph, constants)


def _raised(totals: Mapping[str, float], bench: Bench, ph: float, constants: Constants) -> Composition:
    """Return the composition raised to `ph` with the free base of one of its protolytes.

    Each mole added brings the mean charge it has at that pH; the ionic strength it makes is found by
    repetition, which converges because each round moves it by a small part of itself.
    """
    name, added, strong = bench.raised_with, 0.0, bench.as_weighed
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


def addition_of(bench: Bench, composition: Composition) -> tuple[str, float]:
    """Return how the pH was taken to have been set, in words, and how much that took, mol/kg."""
    strong = composition.strong_charge_molal - bench.as_weighed
    if bench.ph is None:
        return "dissolved as it is, its pH not set", 0.0
    if strong == 0.0 and bench.raised_with not in ("", STRONG_BASE):
        brought = bench.buffer.brings[bench.raised_with] * bench.total_molal
        return f"raised with {bench.raised_with}", composition.totals_molal[bench.raised_with] - brought
    return ("set with a strong base", strong) if strong > 0.0 else ("set with a strong acid", strong)


BENCH_PH_UNCERTAINTY = 0.05
"""95 % half width of a pH read with a well-kept meter (common practice)."""
HIGH_PH_UNCERTAINTY = 0.10
"""The same above pH 12, where glass electrodes answer to sodium too (common practice)."""
# About where the sodium error of glass electrodes begins to be seen (common practice).
HIGH_PH = 12.0
WEIGHING_UNCERTAINTY = 0.02
"""Relative 95 % half width of a concentration as made up (common practice)."""
WATER_PK_UNCERTAINTY = 0.01
"""95 % half width of the pK of water: published values differ by about as much (from memory)."""
OUT_OF_RANGE = 1.0
"""A buffer works within one pH unit of its pK (common practice)."""
DISAGREEMENT = 1.3
"""Ratio of hydroxide weighed in to hydroxide read from which the two are said to disagree."""


# Facts, audit and signs all ask for the same few media, 0.15 s each: with them kept, a check of a small study
# makes half as many calls of functions. Plain numbers in, a frozen record out.
@lru_cache(maxsize=64)
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
    bench = read_bench(buffer_name, buffer_mM, bench_ph, bench_temperature_C, stress_temperature_C)
    hot_C = within_range(stress_temperature_C)
    bench = likelier(bench)
    composition = composition_of(bench, TABLE)
    cold, hot = (equilibrium(composition, t) for t in (bench.temperature_C, hot_C))
    set_by, added = addition_of(bench, composition)
    return StressMedium(
        buffer=bench.buffer,
        composition=composition,
        bench=cold,
        hot=hot,
        ph=_with_bounds(bench, hot),
        capacity_mM=1000.0 * buffer_capacity_molal(composition, hot),
        nearest_pk=nearest_pk(composition, hot),
        added_molal=added,
        set_by=set_by,
        notes=tuple(_notes(bench, composition, cold, hot)),
        weighed_mM=buffer_mM,
    )


def nearest_pk(composition: Composition, at: Equilibrium) -> float | None:
    """Return the pK, activities included, that lies nearest to the pH; None where nothing buffers."""
    pks = []
    for name in composition.totals_molal:
        protolyte = TABLE.protolytes[name]
        for lost, step in enumerate(protolyte.steps):
            charge = protolyte.top_charge - lost
            pks.append(apparent_pk(step, charge, at.ionic_strength_molal, at.temperature_C))
    return min(pks, key=lambda pk: abs(pk - at.ph), default=None)


def out_of_range(composition: Composition, at: Equilibrium) -> bool:
    """Say whether no pK of the buffer lies within one unit of the pH; hydroxide alone has none to miss."""
    pk = nearest_pk(composition, at)
    return pk is not None and abs(pk - at.ph) > OUT_OF_RANGE


def apparent_pk(step: Ionisation, charge: int, ionic_strength: float, temperature_C: float) -> float:
    """Return the pH at which an acid of that charge is half dissociated."""
    from_acid = log_gamma(charge, ionic_strength, temperature_C)
    from_base = log_gamma(charge - 1, ionic_strength, temperature_C)
    return pk_at(step, temperature_C) - from_acid + from_base


def _with_bounds(bench: Bench, hot: Equilibrium) -> Estimate:
    """Return the pH when hot with 95 % bounds.

    Constants, meter, weighing and activities are joined in quadrature; the second way of setting the
    pH then widens the bounds as a whole, since only one of the ways is true.
    """

    def ph_of(bench: Bench, constants: Constants) -> float:
        return equilibrium(composition_of(bench, constants), hot.temperature_C, constants).ph

    shifts = [ph_of(bench, constants) - hot.ph for constants in _moved(bench)]
    shifts += [ph_of(moved, TABLE) - hot.ph for moved in _moved_bench(bench)]
    half_width = sqrt(sum(shift**2 for shift in shifts))
    ends = [hot.ph]
    if bench.ph is not None and bench.buffer.also_raised_with and bench.raised_with != STRONG_BASE:
        ends.append(ph_of(replace(bench, raised_with=STRONG_BASE), TABLE))
    return Estimate(hot.ph, min(ends) - half_width, max(ends) + half_width)


def _moved_bench(bench: Bench) -> Iterator[Bench]:
    """Yield the bench with the meter's reading and the weighing moved by their uncertainties."""
    yield replace(bench, total_molal=bench.total_molal * (1.0 + WEIGHING_UNCERTAINTY))
    if bench.ph is not None:
        wide = HIGH_PH_UNCERTAINTY if bench.ph > HIGH_PH else BENCH_PH_UNCERTAINTY
        yield replace(bench, ph=bench.ph + wide)


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


def _notes(
    bench: Bench, composition: Composition, cold: Equilibrium, hot: Equilibrium
) -> Iterator[MediumNote]:
    """Yield what composition and pH say about each other."""
    if out_of_range(composition, cold):
        yield "out of range at the bench"
    if out_of_range(composition, hot):
        yield "out of range when hot"
    if bench.ph is None:
        return
    strong = composition.strong_charge_molal
    only_bases = bool(bench.buffer.brings) and all(
        TABLE.protolytes[name].top_charge == len(TABLE.protolytes[name].steps) for name in bench.buffer.brings
    )
    if only_bases and strong > bench.as_weighed and strong > 0.0:
        yield "strong base beyond the buffer"
    if bench.buffer.raised_with and strong < bench.as_weighed:
        yield "acid below the buffer"
    if bench.buffer.name == "hydroxide" and bench.as_weighed > 0.0:
        ratio = max(strong, 1e-12) / bench.as_weighed
        if not 1.0 / DISAGREEMENT < ratio < DISAGREEMENT:
            yield "alkali disagrees with the pH"
