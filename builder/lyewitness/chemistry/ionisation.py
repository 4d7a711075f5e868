"""How far a marker is ionised at the temperature of the column, and what that does to its retention.

In: pKa at 25 °C, whether it is a base or an acid, pH, temperature. Out: estimates with bounds. Water
throughout: the organic part moves pH and pKa both, which is not computed.
"""

from math import log, pow
from typing import Literal

from lyewitness.chemistry.protolytes import REFERENCE_K
from lyewitness.chemistry.water import kelvin
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
