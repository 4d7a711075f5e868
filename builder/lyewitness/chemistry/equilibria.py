"""Charge balance of a solution at one temperature: pH, ionisation, and what leaves it as gas.

In: a composition and the constants of what dissociates. Out: pH and ionic strength, or the strong
charge that gives a pH. Aqueous, activity scale; what bears no charge has the activity coefficient 1,
counter-ions bear one charge and are all of one sign, ion pairs and carbamates are left out.

Gases: partial pressures and the share that a volume of gas carries off. Henry constants at 25 °C with their
temperature dependence after Sander, Atmos. Chem. Phys. 2015, 15, 4399 (from memory): good to a factor of
1.5 for ammonia, 2 for the amines.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import exp, log, log10, pow, sqrt
from types import MappingProxyType
from typing import Literal

import scipy

from lyewitness.chemistry.protolytes import PROTOLYTES, REFERENCE_K, pk_at
from lyewitness.chemistry.records import (
    ActivityModel,
    Composition,
    Equilibrium,
    NotComputableError,
    Protolyte,
)
from lyewitness.chemistry.solvents import kelvin, water_density, water_permittivity, water_pk
from lyewitness.words.constants import GAS_CONSTANT_J_MOL_K
from lyewitness.words.estimates import Estimate

IonisableRole = Literal["base", "acid"]

PKA_UNCERTAINTY = 0.1
"""95 % half width of a stated pKa (common practice)."""
WEAKEST_ALIPHATIC_AMINE = 7.5
"""pKa above which a base is taken for an aliphatic amine, below it for an aromatic one (rough)."""


def ionisation_enthalpy(pka: float, role: IonisableRole) -> tuple[float, float]:
    """Return the range in which the enthalpy of ionisation lies for such a compound.

    Aliphatic amines 38–58, aromatic and heterocyclic bases 12–38, phenols 15–30, carboxylic acids
    −5 to 10 kJ/mol (Christensen, Hansen and Izatt, Handbook of Proton Ionization Heats, 1976; ranges
    from memory).
    """
    if role == "base":
        return (38.0, 58.0) if pka >= WEAKEST_ALIPHATIC_AMINE else (12.0, 38.0)
    return (15.0, 30.0) if pka >= 6.0 else (-5.0, 10.0)


def pka_at(pka: float, role: IonisableRole, temperature_C: float) -> Estimate:
    """Return the pKa at the temperature, with the bounds that the enthalpy's range and the pKa bring."""
    slope = (1.0 / kelvin(temperature_C) - 1.0 / REFERENCE_K) * 1000.0 / (GAS_CONSTANT_J_MOL_K * log(10.0))
    shifts = sorted(enthalpy * slope for enthalpy in ionisation_enthalpy(pka, role))
    middle = sum(shifts) / 2.0
    return Estimate(pka + middle, pka + shifts[0] - PKA_UNCERTAINTY, pka + shifts[1] + PKA_UNCERTAINTY)


def ionised_share(ph: float, pka: float, role: IonisableRole) -> float:
    """Return the share that bears a charge, 0 … 1 (Henderson and Hasselbalch)."""
    exponent = ph - pka if role == "base" else pka - ph
    return 1.0 / (1.0 + pow(10.0, exponent))


def ionised(ph: Estimate, pka: Estimate, role: IonisableRole) -> Estimate:
    """Return the ionised share with the bounds of pH and pKa taken against each other."""
    if ph.value is None or ph.low is None or ph.high is None:
        return Estimate(reason=ph.reason or "the pH is not known")
    if pka.value is None or pka.low is None or pka.high is None:
        return Estimate(reason=pka.reason or "the pKa is not known")
    ends = (ionised_share(ph.low, pka.high, role), ionised_share(ph.high, pka.low, role))
    return Estimate(ionised_share(ph.value, pka.value, role), min(ends), max(ends))


def retention_change_percent(ph: float, pka: float, role: IonisableRole, step: float = 0.1) -> float:
    """Return by how many per cent the retention factor changes when the pH rises by `step`, at most.

    k = k(neutral) × neutral share, the ion taken as not retained at all, which makes it an upper bound
    (Horváth, Melander and Molnár, Anal. Chem. 1977, 49, 142).
    """
    before = 1.0 - ionised_share(ph, pka, role)
    after = 1.0 - ionised_share(ph + step, pka, role)
    return 100.0 * (after / before - 1.0)


ION_SIZE_ANGSTROM = 4.5
"""One distance of closest approach for all ions (Kielland's table spans 3–9 Å; common practice)."""


def debye_huckel_a(temperature_C: float) -> float:
    """Return A of log10 γ = −A z² √I, (kg/mol)^½.

    A = 1.8248·10⁶ √ρ (εT)^−1.5 with ρ in kg/L (Robinson and Stokes, Electrolyte Solutions, 1959).
    """
    return (
        1.8248e6
        * sqrt(water_density(temperature_C))
        * pow(water_permittivity(temperature_C) * kelvin(temperature_C), -1.5)
    )


def debye_huckel_b(temperature_C: float) -> float:
    """Return B of the extended law, (kg/mol)^½/Å: 50.29 √ρ (εT)^−½ (Robinson and Stokes 1959)."""
    return (
        50.29
        * sqrt(water_density(temperature_C))
        * pow(water_permittivity(temperature_C) * kelvin(temperature_C), -0.5)
    )


def log_gamma(
    charge: int, ionic_strength_molal: float, temperature_C: float, model: ActivityModel = "Davies"
) -> float:
    """Return log10 of the activity coefficient of an ion; 0 for what bears no charge.

    Davies: −A z² (√I/(1+√I) − 0.3 I) (Davies, Ion Association, 1962), of use up to about 0.5 mol/kg.
    Extended Debye–Hückel: −A z² √I/(1 + B a √I), of use up to about 0.1 mol/kg.
    """
    root = sqrt(ionic_strength_molal)
    a = debye_huckel_a(temperature_C)
    if model == "Davies":
        return -a * charge**2 * (root / (1.0 + root) - 0.3 * ionic_strength_molal)
    return -a * charge**2 * root / (1.0 + debye_huckel_b(temperature_C) * ION_SIZE_ANGSTROM * root)


# Half a mole of strong acid a kilogram gives pH 0.3, of strong base near 0 °C 14.7: the root lies between.
LOWEST_PH = -1.0
HIGHEST_PH = 15.5
HIGHEST_IONIC_STRENGTH = 0.5
"""mol/kg, up to which the activity coefficients are of use (Davies 1962)."""
LN_TEN = log(10.0)


@dataclass(frozen=True, slots=True)
class Constants:
    """The constants that a calculation uses, so that each can be moved within its bounds."""

    protolytes: Mapping[str, Protolyte]
    water_pk_shift: float = 0.0
    """Added to water's pK."""
    model: ActivityModel = "Davies"


TABLE = Constants(PROTOLYTES)


@dataclass(frozen=True, slots=True)
class Charges:
    """Sums over the forms of what dissociates, mol/kg."""

    net: float
    """Σ charge × molality."""
    squared: float
    """Σ charge² × molality."""


def form_fractions(
    protolyte: Protolyte, ph: float, ionic_strength: float, temperature_C: float, model: ActivityModel
) -> tuple[float, ...]:
    """Return the share of each form, most protonated first; they add up to 1."""
    logs = [0.0]
    charge = protolyte.top_charge
    for step in protolyte.steps:
        before = log_gamma(charge, ionic_strength, temperature_C, model)
        after = log_gamma(charge - 1, ionic_strength, temperature_C, model)
        logs.append(logs[-1] + ph - pk_at(step, temperature_C) + before - after)
        charge -= 1
    biggest = max(logs)
    weights = [exp(LN_TEN * (value - biggest)) for value in logs]
    return tuple(weight / sum(weights) for weight in weights)


def charges_of(
    totals: Mapping[str, float], ph: float, ionic_strength: float, temperature_C: float, constants: Constants
) -> Charges:
    """Return the charge sums of water's own ions and of everything in `totals` at that pH."""
    gamma = pow(10.0, log_gamma(1, ionic_strength, temperature_C, constants.model))
    hydrogen = pow(10.0, -ph) / gamma
    hydroxide = pow(10.0, ph - water_pk(temperature_C) - constants.water_pk_shift) / gamma
    net, squared = hydrogen - hydroxide, hydrogen + hydroxide
    for name, total in totals.items():
        protolyte = constants.protolytes[name]
        shares = form_fractions(protolyte, ph, ionic_strength, temperature_C, constants.model)
        for lost, share in enumerate(shares):
            net += total * share * (protolyte.top_charge - lost)
            squared += total * share * (protolyte.top_charge - lost) ** 2
    return Charges(net, squared)


def ionic_strength_that_agrees(charges: Callable[[float], Charges]) -> float:
    """Return the ionic strength, mol/kg, that a solution held at its pH with strong ions gives itself.

    `charges` are those at a trial ionic strength. NotComputableError above what activities cover.
    """

    def excess(trial: float) -> float:
        found = charges(trial)
        return 0.5 * (found.squared + abs(found.net)) - trial

    return _agreed(excess)


def ionic_strength_at(
    totals: Mapping[str, float], ph: float, temperature_C: float, constants: Constants
) -> float:
    """Return the ionic strength of a solution brought to `ph` with strong ions, mol/kg."""
    return ionic_strength_that_agrees(lambda trial: charges_of(totals, ph, trial, temperature_C, constants))


def strong_charge_for(
    totals: Mapping[str, float], ph: float, temperature_C: float, constants: Constants = TABLE
) -> float:
    """Return the strong charge that holds `totals` at `ph`, mol/kg: the charge balance read backwards."""
    ionic_strength = ionic_strength_at(totals, ph, temperature_C, constants)
    return -charges_of(totals, ph, ionic_strength, temperature_C, constants).net


def equilibrium(composition: Composition, temperature_C: float, constants: Constants = TABLE) -> Equilibrium:
    """Return the pH at which the charges of `composition` balance at `temperature_C`."""
    return solve(
        lambda ph, strength: charges_of(composition.totals_molal, ph, strength, temperature_C, constants),
        composition,
        temperature_C,
    )


def solve(
    charges: Callable[[float, float], Charges], composition: Composition, temperature_C: float
) -> Equilibrium:
    """Return where the charges at (pH, ionic strength) and the strong ions of `composition` balance.

    The charge falls steadily with pH at a given ionic strength, so one bracket holds the only root;
    a second bracket around it finds the ionic strength that agrees with itself.
    """
    strong = composition.strong_charge_molal

    def ph_at(ionic_strength: float) -> float:
        return _root(lambda ph: charges(ph, ionic_strength).net + strong, LOWEST_PH, HIGHEST_PH)

    def excess(trial: float) -> float:
        return 0.5 * (charges(ph_at(trial), trial).squared + abs(strong)) - trial

    ionic_strength = _agreed(excess)
    ph = ph_at(ionic_strength)
    return Equilibrium(ph, ionic_strength, temperature_C, charges(ph, ionic_strength).net + strong)


def buffer_capacity_molal(composition: Composition, at: Equilibrium, constants: Constants = TABLE) -> float:
    """Return β = d(strong base)/d(pH) at constant ionic strength, mol/kg per pH unit (Van Slyke 1922)."""
    step = 0.01

    def net(ph: float) -> float:
        totals = composition.totals_molal
        return charges_of(totals, ph, at.ionic_strength_molal, at.temperature_C, constants).net

    return (net(at.ph - step) - net(at.ph + step)) / (2.0 * step)


def _agreed(excess: Callable[[float], float]) -> float:
    """Return the ionic strength at which what the ions give agrees with what was put in."""
    if excess(HIGHEST_IONIC_STRENGTH) > 0.0:
        raise NotComputableError("the solution is too concentrated for the activity coefficients")
    return _root(excess, 0.0, HIGHEST_IONIC_STRENGTH)


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    """Return the root between two ends of opposite sign; ValueError from brentq where there is none."""
    return float(scipy.optimize.brentq(function, low, high, xtol=1e-13, rtol=1e-13))


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
