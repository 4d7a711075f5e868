"""Charge balance of a buffer solution at one temperature, with the activity of its ions.

In: a composition and the constants of what dissociates. Out: pH and ionic strength, or the strong
charge that gives a pH. Aqueous, activity scale; what bears no charge has the activity coefficient 1,
counter-ions bear one charge and are all of one sign, ion pairs and carbamates are left out.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import exp, log, pow, sqrt

from scipy.optimize import brentq

from lyewitness.chemistry.protolytes import PROTOLYTES, pk_at
from lyewitness.chemistry.records import (
    ActivityModel,
    Composition,
    Equilibrium,
    NotComputableError,
    Protolyte,
)
from lyewitness.chemistry.water import kelvin, water_density, water_permittivity, water_pk

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
    return float(brentq(function, low, high, xtol=1e-13, rtol=1e-13))
