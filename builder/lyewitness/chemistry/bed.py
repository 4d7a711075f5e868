"""The packed bed: volumes, velocities, pressure, the silica in it and how much of that could dissolve.

In: dimensions in mm and µm, flow in mL/min, porosities as shares of the column's volume. Out: numbers
in the units of their names.

Solubility in mg of SiO2 per kg of water, from pH or the composition of the buffer: amorphous silica, water
without organic solvent, which would hold less of it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import log10, pi, pow
from types import MappingProxyType

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
from lyewitness.chemistry.solvents import kelvin
from lyewitness.words.estimates import Estimate

# Molar mass of SiO2: 28.085 + 2 × 15.9995.
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


KOZENY_CARMAN = 180.0
"""Constant of the law for beds of spheres (Carman 1937; common practice)."""
BETWEEN_PARTICLES = (0.36, 0.40, 0.42)
"""Share of a well-packed column that lies between the particles: low, usual, high (common practice)."""


@dataclass(frozen=True, slots=True)
class Packing:
    """What a kind of particle is made of; ranges are low and high."""

    hold_up_share: tuple[float, float]
    """Of the column's volume, where it was not measured."""
    solid_kg_L: tuple[float, float]
    """Density of the solid."""
    silica_share: tuple[float, float]
    """Of the solid's mass: the rest is bonded phase, coating and the organic part of a hybrid."""


PACKINGS: Mapping[str, Packing] = MappingProxyType(
    {
        "porous silica": Packing((0.55, 0.75), (1.8, 2.2), (0.75, 0.97)),
        "coated silica": Packing((0.50, 0.75), (1.7, 2.2), (0.70, 0.95)),
        "porous hybrid": Packing((0.55, 0.75), (1.6, 2.1), (0.60, 0.90)),
        "core-shell silica": Packing((0.45, 0.62), (1.9, 2.2), (0.85, 0.99)),
        "core-shell hybrid surface": Packing((0.45, 0.62), (1.9, 2.2), (0.80, 0.98)),
    }
)
"""Common practice, rough; particles of unknown make have no entry."""
CARBON = "porous graphitic carbon"
"""No silica, no silanols, nothing bonded to it, stable at every pH of mobile phases (common practice)."""
WITHOUT_SILICA = ("polymer", CARBON)


def column_volume(length_mm: float, inner_diameter_mm: float) -> float:
    """Return the volume of the empty tube, mL: π d² L / 4."""
    return pi * inner_diameter_mm**2 * length_mm / 4000.0


def superficial_velocity(flow_mL_min: float, inner_diameter_mm: float) -> float:
    """Return flow ÷ cross-section of the empty tube, mm/s."""
    return flow_mL_min * 1000.0 / 60.0 / (pi * inner_diameter_mm**2 / 4.0)


def linear_velocity(length_mm: float, hold_up_time_min: float) -> float:
    """Return column length ÷ hold-up time, mm/s (IUPAC 1993: mobile-phase velocity)."""
    return length_mm / (hold_up_time_min * 60.0)


def reduced_velocity(velocity_mm_s: float, particle_um: float, diffusion: Estimate) -> Estimate:
    """Return ν = u dp / D without unit, with the bounds of the diffusion coefficient in m²/s."""
    if diffusion.value is None or diffusion.low is None or diffusion.high is None:
        return Estimate(reason=diffusion.reason)
    product = velocity_mm_s * 1e-3 * particle_um * 1e-6
    return Estimate(product / diffusion.value, product / diffusion.high, product / diffusion.low)


def flow_resistance(between_particles: float) -> float:
    """Return φ = 180 (1−ε)²/ε³, without unit (Kozeny and Carman)."""
    return KOZENY_CARMAN * (1.0 - between_particles) ** 2 / between_particles**3


def pressure_drop(
    length_mm: float, particle_um: float, superficial_mm_s: float, viscosity_mPa_s: Estimate
) -> Estimate:
    """Return the pressure over the packed bed alone: Δp = φ η L u / dp², bar.

    Bounds: viscosity and the share between the particles at their ends together. Frits, tubing and
    the width of the particle size distribution come on top.
    """
    if viscosity_mPa_s.value is None or viscosity_mPa_s.low is None or viscosity_mPa_s.high is None:
        return Estimate(reason=viscosity_mPa_s.reason)
    geometry = length_mm * 1e-3 * superficial_mm_s * 1e-3 / (particle_um * 1e-6) ** 2 * 1e-3 * 1e-5
    low, usual, high = (flow_resistance(share) for share in reversed(BETWEEN_PARTICLES))
    return Estimate(
        geometry * usual * viscosity_mPa_s.value,
        geometry * low * viscosity_mPa_s.low,
        geometry * high * viscosity_mPa_s.high,
    )


def silica_in_bed(particle: str, column_mL: float, hold_up_share: float | None) -> Estimate:
    """Return the silica in a column of `column_mL`, mg, between bounds.

    Solid volume × density × share of silica; the middle of the bounds is given as the value.
    """
    packing = PACKINGS.get(particle)
    if packing is None:
        return Estimate(reason=f"how much silica particles of the kind ‘{particle}’ hold is not known")
    holes = (hold_up_share, hold_up_share) if hold_up_share is not None else packing.hold_up_share
    low, high = (
        1000.0 * column_mL * (1.0 - hole) * density * silica
        for hole, density, silica in zip(
            reversed(holes), packing.solid_kg_L, packing.silica_share, strict=True
        )
    )
    return Estimate((low + high) / 2.0, low, high)
