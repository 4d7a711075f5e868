"""Water and the solvents mixed with it: density, viscosity, permittivity, self-ionisation, diffusion.

In: organic solvent, its volume fraction, temperature in °C. Out: estimates with honest bounds.

Water alone between 0 and 100 °C at atmospheric pressure, as bare numbers; mixtures roughly, with bounds.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, log10, pow, sqrt
from types import MappingProxyType

from lyewitness.chemistry.hazards import solvent_named
from lyewitness.words.constants import ZERO_CELSIUS_K
from lyewitness.words.estimates import Estimate

_VISCOSITY_TERMS = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))


def kelvin(temperature_C: float) -> float:
    """Return the absolute temperature, K."""
    return temperature_C + ZERO_CELSIUS_K


def water_density(temperature_C: float) -> float:
    """Return the density of water, kg/L (Kell, J. Chem. Eng. Data 1975, 20, 97; coefficients from memory)."""
    t = temperature_C
    above = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return above / (1.0 + 16.879850e-3 * t) / 1000.0


def water_viscosity(temperature_C: float) -> float:
    """Return the viscosity of water, mPa·s (IAPWS, four-term equation at 0.1 MPa; from memory)."""
    t = kelvin(temperature_C) / 300.0
    return sum(factor * pow(t, power) for factor, power in _VISCOSITY_TERMS) / 1000.0


def water_permittivity(temperature_C: float) -> float:
    """Return the relative permittivity (Malmberg and Maryott, J. Res. NBS 1956, 56, 1; from memory)."""
    t = temperature_C
    return 87.740 - 0.40008 * t + 9.398e-4 * t**2 - 1.410e-6 * t**3


def water_pk(temperature_C: float) -> float:
    """Return −log10 of water's ion product, molality scale, 0–100 °C.

    Harned and Owen, The Physical Chemistry of Electrolytic Solutions, 3rd ed., 1958; from memory.
    """
    t = kelvin(temperature_C)
    return 4787.3 / t + 7.1321 * log10(t) + 0.010365 * t - 22.801


VISCOSITY_BOUND = 0.15
"""Relative: what the mixing rule is taken to be good for; buffers of 50 mmol/L add 1–2 %."""
DIFFUSION_BOUND = 0.5
"""Relative: Wilke and Chang scatter by 10–20 % in water and fall low by up to 40 % in alcohols, and the
marker's size is not known better (rough)."""
MARKER_MOLAR_VOLUME_CM3 = 220.0
"""Molar volume at the boiling point of a small marker of 150–300 g/mol (Le Bas; common practice)."""
# g/mol: 2 × 1.008 + 15.999.
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
