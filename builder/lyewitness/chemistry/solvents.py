"""Viscosity of the mobile phase and diffusion in it, roughly.

In: organic solvent, its volume fraction, temperature in °C. Out: estimates with honest bounds.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, sqrt
from types import MappingProxyType

from lyewitness.chemistry.hazards import solvent_named
from lyewitness.chemistry.water import kelvin, water_density, water_viscosity
from lyewitness.words.estimates import Estimate

VISCOSITY_BOUND = 0.15
"""Relative: what the mixing rule is taken to be good for; buffers of 50 mmol/L add 1–2 %."""
DIFFUSION_BOUND = 0.5
"""Relative: Wilke and Chang scatter by 10–20 % in water and fall low by up to 40 % in alcohols, and the
marker's size is not known better (rough)."""
MARKER_MOLAR_VOLUME_CM3 = 220.0
"""Molar volume at the boiling point of a small marker of 150–300 g/mol (Le Bas; common practice)."""
WATER_MOLAR_MASS = 18.015


@dataclass(frozen=True, slots=True)
class MixedSolvent:
    """ln η = φ ln η(organic) + (1−φ) ln η(water) + φ(1−φ) G, each ln linear in 1/T."""

    pure: tuple[float, float]
    """Constant and K for ln η of the organic solvent, mPa·s."""
    mixing: tuple[float, float]
    """Constant and K for G."""
    density_kg_L: float
    """At 25 °C."""
    molar_mass: float
    association: float
    """Wilke and Chang's factor."""


MIXED: Mapping[str, MixedSolvent] = MappingProxyType(
    {
        "acetonitrile": MixedSolvent((-3.476, 726.0), (-1.762, 929.0), 0.777, 41.05, 1.0),
        "methanol": MixedSolvent((-4.597, 1211.0), (-6.215, 2809.0), 0.787, 32.04, 1.9),
    }
)
"""Chen and Horváth, Anal. Methods Instrum. 1993, 1, 213 (from memory); densities from the CRC Handbook
(from memory)."""


def viscosity(organic: str, organic_fraction: float, temperature_C: float) -> Estimate:
    """Return the viscosity of the mixture at low pressure; no value for a solvent not in the table."""
    if organic_fraction == 0.0:
        value = water_viscosity(temperature_C)
        return Estimate(value, value * 0.98, value * 1.05)
    solvent = _mixed(organic)
    if solvent is None:
        return Estimate(
            reason=f"no viscosities of water with {organic or 'an unnamed solvent'} are in the table"
        )
    t = kelvin(temperature_C)
    pure, mixing = (constant + slope / t for constant, slope in (solvent.pure, solvent.mixing))
    water = log(water_viscosity(temperature_C))
    phi = organic_fraction
    value = exp(phi * pure + (1.0 - phi) * water + phi * (1.0 - phi) * mixing)
    return Estimate(value, value * (1.0 - VISCOSITY_BOUND), value * (1.0 + VISCOSITY_BOUND))


def diffusion(
    organic: str,
    organic_fraction: float,
    temperature_C: float,
    molar_volume_cm3: float = MARKER_MOLAR_VOLUME_CM3,
) -> Estimate:
    """Return the diffusion coefficient of a small marker, m²/s.

    D = 7.4·10⁻¹² √(ψM) T / (η V^0.6) (Wilke and Chang, AIChE J. 1955, 1, 264), ψM averaged over moles.
    """
    thickness = viscosity(organic, organic_fraction, temperature_C)
    if thickness.value is None:
        return thickness
    root = sqrt(_association_mass(organic, organic_fraction))
    value = 7.4e-12 * root * kelvin(temperature_C) / (thickness.value * float(molar_volume_cm3**0.6))
    return Estimate(value, value * (1.0 - DIFFUSION_BOUND), value * (1.0 + DIFFUSION_BOUND))


def _mixed(organic: str) -> MixedSolvent | None:
    """Return the mixing constants of a solvent by name or abbreviation."""
    solvent = solvent_named(organic)
    return MIXED.get(solvent.name) if solvent is not None else None


def _association_mass(organic: str, fraction: float) -> float:
    """Return Wilke and Chang's ψM of the mixture, g/mol."""
    water = 2.6 * WATER_MOLAR_MASS
    solvent = _mixed(organic)
    if solvent is None or fraction == 0.0:
        return water
    moles_organic = fraction * solvent.density_kg_L / solvent.molar_mass
    moles_water = (1.0 - fraction) * water_density(25.0) / WATER_MOLAR_MASS
    share = moles_organic / (moles_organic + moles_water)
    return share * solvent.association * solvent.molar_mass + (1.0 - share) * water
