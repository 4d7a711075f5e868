"""Records of the medium: what dissociates, what a buffer is made of, what came out.

In: values from the tables and functions of this folder. Out: frozen records of numbers and names.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from lyewitness.words.estimates import Estimate

ActivityModel = Literal["Davies", "extended Debye–Hückel"]
MediumNote = Literal[
    "out of range when hot",
    "out of range at the bench",
    "strong base beyond the buffer",
    "alkali disagrees with the pH",
    "acid below the buffer",
]
"""What composition and pH say about each other.

`strong base beyond the buffer`: the free base alone cannot reach the pH stated. `alkali disagrees with the
pH`: the hydroxide weighed in and the pH read do not belong together. `acid below the buffer`: a salt sold as
alkaline was brought below the pH it has by itself.
"""


class NotComputableError(ValueError):
    """Something cannot be computed; the message is a clause that says why."""


@dataclass(frozen=True, slots=True)
class Ionisation:
    """One loss of a proton, at zero ionic strength in water; every uncertainty is a 95 % half width."""

    pk: float
    """−log10 of the constant at 25 °C, molality scale."""
    enthalpy_kJ_mol: float
    heat_capacity_J_mol_K: float
    pk_uncertainty: float
    enthalpy_uncertainty: float
    heat_capacity_uncertainty: float
    source: str


@dataclass(frozen=True, slots=True)
class Protolyte:
    """Something that gives off protons one after the other."""

    name: str
    top_charge: int
    """Charge of the form that bears all protons."""
    steps: tuple[Ionisation, ...]
    """In the order in which the protons leave."""


@dataclass(frozen=True, slots=True)
class Buffer:
    """A buffer by its name: what one mole of it brings, and what its pH is set with."""

    name: str
    brings: Mapping[str, float]
    """Moles of each protolyte (by name) in one mole of the buffer."""
    weighed_as: str
    """What is dissolved before the pH is set, in words."""
    strong_charge: float = 0.0
    """Moles of strong cations − strong anions in one mole of it."""
    raised_with: str = ""
    """Protolyte whose free base raises the pH; empty where a strong base or acid sets it."""
    also_raised_with: str = ""
    """A second usual way; `strong base`, or empty where there is none."""
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Composition:
    """What one kilogram of water holds."""

    totals_molal: Mapping[str, float]
    """mol/kg of each protolyte in all its forms, by name."""
    strong_charge_molal: float
    """Strong cations − strong anions, mol/kg of charge."""


@dataclass(frozen=True, slots=True)
class Equilibrium:
    """A solution at one temperature, charge balance closed."""

    ph: float
    """−log10 of the activity of the hydrogen ion in water."""
    ionic_strength_molal: float
    temperature_C: float
    charge_residual_molal: float
    """What is left of the charge balance, mol/kg."""


@dataclass(frozen=True, slots=True)
class StressMedium:
    """The aqueous part of a mobile phase, from the bench to the oven."""

    buffer: Buffer
    composition: Composition
    bench: Equilibrium
    hot: Equilibrium
    ph: Estimate
    """pH at the stress temperature with its 95 % bounds."""
    capacity_mM: float
    """Buffer capacity at the stress temperature, mmol of strong base per kg and pH unit."""
    nearest_pk: float | None
    """The pK at the stress temperature, activities included, that lies nearest to the pH."""
    added_molal: float
    """What setting the pH took, mol/kg: of strong base (positive), strong acid (negative) or of the
    free base named in `set_by`."""
    set_by: str
    """How the pH was taken to have been set, in words."""
    notes: tuple[MediumNote, ...] = ()
    weighed_mM: float | None = None
    """The concentration stated, mmol/L; None for hydroxide known by its pH alone."""
