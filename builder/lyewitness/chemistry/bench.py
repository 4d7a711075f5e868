"""The buffer as it stood on the bench: what was weighed in, and what its pH says was added.

In: a buffer's name, concentration, pH and temperature. Out: a `Bench` and its `Composition`, or a
`NotComputableError` that says why.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from lyewitness.chemistry.buffers import STRONG_BASE, buffer_named
from lyewitness.chemistry.equilibria import (
    TABLE,
    Constants,
    charges_of,
    ionic_strength_at,
    strong_charge_for,
)
from lyewitness.chemistry.records import Buffer, Composition, NotComputableError
from lyewitness.chemistry.water import water_density

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
        raise NotComputableError(f"‘{name}’ is not in the table of buffers, so its constants are not known")
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
