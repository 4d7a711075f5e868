"""How much silica the mobile phase could hold, and with it how much of a bed could have dissolved.

In: pH or the composition of the buffer, temperature. Out: mg of SiO2 per kg of water. Amorphous silica,
water without organic solvent, which would hold less of it.
"""

from dataclasses import dataclass
from math import log10, pow

from lyewitness.chemistry.equilibria import (
    TABLE,
    Charges,
    charges_of,
    ionic_strength_that_agrees,
    log_gamma,
    solve,
)
from lyewitness.chemistry.protolytes import pk_at
from lyewitness.chemistry.records import Composition, Equilibrium, Ionisation
from lyewitness.chemistry.water import kelvin

SILICA_G_MOL = 60.084
FIRST = Ionisation(
    9.83, 25.6, -148.0, 0.05, 3.0, 60.0, "Busey and Mesmer, Inorg. Chem. 1977, 16, 2444; from memory"
)
SECOND = Ionisation(
    13.17, 45.0, 0.0, 0.3, 10.0, 100.0, "Sjöberg, J. Non-Cryst. Solids 1996, 196, 51; from memory"
)


@dataclass(frozen=True, slots=True)
class Cluster:
    """Several silicic acids joined, some of them as anions H3SiO4⁻."""

    acids: int
    """Neutral H4SiO4 in it."""
    anions: int
    """H3SiO4⁻ in it; also its negative charge."""
    log_k: float
    """log10 of the constant from these, 25 °C, zero ionic strength; taken as the same when hot."""


CLUSTERS = (
    Cluster(1, 1, 1.71),
    Cluster(0, 2, 0.62),
    Cluster(0, 3, 1.93),
    Cluster(1, 3, 3.93),
    Cluster(0, 4, 2.94),
)
"""From the constants of Grenthe et al., Chemical Thermodynamics of Uranium, NEA 1992 (from memory)."""


@dataclass(frozen=True, slots=True)
class SilicaConstants:
    """The constants of a calculation, so that they can be moved to their unfavourable ends."""

    neutral_factor: float = 1.0
    """On the solubility of the neutral acid."""
    pk_shift: float = 0.0
    """On both pK."""
    clusters: tuple[Cluster, ...] = CLUSTERS
    cluster_log_shift: float = 0.0


USUAL = SilicaConstants()
MONOMERS = SilicaConstants(clusters=())
UNFAVOURABLE = SilicaConstants(1.3, -0.1, CLUSTERS, 0.5)
"""Neutral solubility 30 % higher for scatter and for the curvature of small pores, pK lower by 0.1,
clusters three times as stable: an upper bound."""


@dataclass(frozen=True, slots=True)
class Saturated:
    """A solution that has taken up all the silica it can hold."""

    silica_mg_kg: float
    ph: float
    ionic_strength_molal: float


def neutral_solubility_mg_kg(temperature_C: float) -> float:
    """Return the solubility of amorphous silica as neutral acid: log10 S = 4.52 − 731/T.

    Fournier and Rowe, Am. Mineral. 1977, 62, 1052; 0–250 °C, ±10 %.
    """
    return pow(10.0, 4.52 - 731.0 / kelvin(temperature_C))


def silica_at_ph(ph: float, temperature_C: float, constants: SilicaConstants = MONOMERS) -> Saturated:
    """Return what is held at a pH kept constant with strong base; NotComputableError where activities fail.

    The silicate itself makes most of the ionic strength, so the two are found together.
    """

    def charges(ionic_strength: float) -> Charges:
        silicate = _silicate(ph, ionic_strength, temperature_C, constants)[1]
        return _sum(charges_of({}, ph, ionic_strength, temperature_C, TABLE), silicate)

    ionic_strength = ionic_strength_that_agrees(charges)
    total = _silicate(ph, ionic_strength, temperature_C, constants)[0]
    return Saturated(1000.0 * SILICA_G_MOL * total, ph, ionic_strength)


def silica_in_medium(
    composition: Composition, temperature_C: float, constants: SilicaConstants = USUAL
) -> Saturated:
    """Return what the buffer can take up until silica and buffer are both in balance.

    Every silicate ion uses up alkali, so the pH falls as silica dissolves: less is held than at a pH
    kept constant.
    """

    def charges(ph: float, ionic_strength: float) -> Charges:
        silicate = _silicate(ph, ionic_strength, temperature_C, constants)[1]
        own = charges_of(composition.totals_molal, ph, ionic_strength, temperature_C, TABLE)
        return _sum(own, silicate)

    found: Equilibrium = solve(charges, composition, temperature_C)
    total = _silicate(found.ph, found.ionic_strength_molal, temperature_C, constants)[0]
    return Saturated(1000.0 * SILICA_G_MOL * total, found.ph, found.ionic_strength_molal)


def _silicate(
    ph: float, ionic_strength: float, temperature_C: float, constants: SilicaConstants
) -> tuple[float, Charges]:
    """Return (silicon in mol/kg, charges) in equilibrium with amorphous silica."""
    acid = constants.neutral_factor * neutral_solubility_mg_kg(temperature_C) / (1000.0 * SILICA_G_MOL)
    one = log10(acid) + ph - pk_at(FIRST, temperature_C) - constants.pk_shift
    two = one + ph - pk_at(SECOND, temperature_C) - constants.pk_shift
    forms = [(1, 1, one), (1, 2, two)]
    for cluster in constants.clusters:
        activity = cluster.log_k + constants.cluster_log_shift + cluster.acids * log10(acid)
        forms.append((cluster.acids + cluster.anions, cluster.anions, activity + cluster.anions * one))
    silicon, net, squared = acid, 0.0, 0.0
    for atoms, charge, log_activity in forms:
        molality = pow(10.0, log_activity - log_gamma(charge, ionic_strength, temperature_C))
        silicon += atoms * molality
        net -= charge * molality
        squared += charge**2 * molality
    return silicon, Charges(net, squared)


def _sum(first: Charges, second: Charges) -> Charges:
    """Return both sums together."""
    return Charges(first.net + second.net, first.squared + second.squared)
