"""What leaves the mobile phase as gas, or comes into it from the air.

In: an equilibrium and what it holds. Out: partial pressures and the share that a volume of gas carries
off. Henry constants at 25 °C with their temperature dependence after Sander, Atmos. Chem. Phys. 2015,
15, 4399 (from memory): good to a factor of 1.5 for ammonia, 2 for the amines.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log10
from types import MappingProxyType

from lyewitness.chemistry.equilibria import TABLE, equilibrium, form_fractions
from lyewitness.chemistry.protolytes import REFERENCE_K
from lyewitness.chemistry.records import Composition, Equilibrium
from lyewitness.chemistry.water import kelvin, water_density

ATM_PER_MOL_L_K = 0.082057
"""Gas constant, L·atm/(mol·K)."""
CO2_IN_AIR_ATM = 4.2e-4
"""Carbon dioxide outdoors in the 2020s; a laboratory holds up to three times as much (common practice)."""


@dataclass(frozen=True, slots=True)
class Henry:
    """Solubility of a gas in water."""

    mol_kg_atm: float
    """At 25 °C."""
    kelvin_slope: float
    """d ln H / d(1/T), K."""


HENRY: Mapping[str, Henry] = MappingProxyType(
    {
        "ammonia": Henry(59.0, 4200.0),
        "diethylamine": Henry(39.0, 5500.0),
        "triethylamine": Henry(6.7, 7000.0),
        "pyrrolidine": Henry(420.0, 7600.0),
        "piperidine": Henry(220.0, 7900.0),
    }
)


def henry_at(henry: Henry, temperature_C: float) -> float:
    """Return the solubility at that temperature, mol/(kg·atm) (van 't Hoff)."""
    return henry.mol_kg_atm * exp(henry.kelvin_slope * (1.0 / kelvin(temperature_C) - 1.0 / REFERENCE_K))


def co2_log_henry(temperature_C: float) -> float:
    """Return log10 of the solubility of carbon dioxide, mol/(kg·atm), 0–90 °C.

    Plummer and Busenberg, Geochim. Cosmochim. Acta 1982, 46, 1011; from memory.
    """
    t = kelvin(temperature_C)
    return 108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * log10(t) + 669365.0 / t**2


def co2_pressure_atm(composition: Composition, at: Equilibrium) -> float | None:
    """Return the pressure of carbon dioxide over the solution; None where it holds no carbonate."""
    total = composition.totals_molal.get("carbonate")
    if not total:
        return None
    share = _share("carbonate", 0, at)
    return float(total * share / 10.0 ** co2_log_henry(at.temperature_C))


def amine_carried_off(composition: Composition, at: Equilibrium) -> tuple[str, float] | None:
    """Return (name, share of all of it) in one litre of gas in equilibrium with one litre of solution.

    Share = free base ÷ total × 1/(H R T). None where nothing volatile of that kind is in the table.
    """
    name = next((name for name in composition.totals_molal if name in HENRY), None)
    if name is None:
        return None
    per_litre = henry_at(HENRY[name], at.temperature_C) * water_density(at.temperature_C)
    return name, _share(name, 1, at) / (per_litre * ATM_PER_MOL_L_K * kelvin(at.temperature_C))


def ph_after_loss(composition: Composition, name: str, share: float, temperature_C: float) -> float:
    """Return the pH once `share` of a protolyte has gone off in its neutral, volatile form."""
    totals = dict(composition.totals_molal)
    totals[name] *= 1.0 - share
    return equilibrium(Composition(totals, composition.strong_charge_molal), temperature_C).ph


def ph_after_co2(composition: Composition, uptake_molal: float, temperature_C: float) -> float:
    """Return the pH once so much carbon dioxide, mol/kg, has been taken up from the air."""
    totals = dict(composition.totals_molal)
    totals["carbonate"] = totals.get("carbonate", 0.0) + uptake_molal
    return equilibrium(Composition(totals, composition.strong_charge_molal), temperature_C).ph


def _share(name: str, form: int, at: Equilibrium) -> float:
    """Return the share of that form of a protolyte, counted from the most protonated."""
    protolyte = TABLE.protolytes[name]
    return form_fractions(protolyte, at.ph, at.ionic_strength_molal, at.temperature_C, TABLE.model)[form]
