"""The packed bed: volumes, velocities, pressure and the silica in it.

In: dimensions in mm and µm, flow in mL/min, porosities as shares of the column's volume. Out: numbers
in the units of their names.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi
from types import MappingProxyType

from lyewitness.words.estimates import Estimate

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
WITHOUT_SILICA = ("polymer",)


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
