"""Which condition calls for which caution, as facts; the sentences are written elsewhere.

In: names and numbers of one set of conditions. Out: `Hazard` records in a fixed order. Boiling and
flash points are handbook values (CRC Handbook of Chemistry and Physics; from memory): the safety data
sheet of the bottle at hand comes first.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

HazardKind = Literal[
    "corrosive alkali",
    "mild alkali",
    "alkali on materials",
    "amine vapour",
    "ammonia vapour",
    "neat amine flammable",
    "hot flammable solvent",
    "flammable solvent",
    "toxic solvent",
    "peroxide-forming solvent",
    "solvent of unknown hazards",
    "gas from carbonate",
    "borate and reproduction",
    "salt precipitation",
    "alkali eats the solvent",
    "leak in a heated compartment",
    "hot surfaces",
    "waste",
]

CORROSIVE_PH = 11.5
"""pH from which a mixture counts as corrosive for want of better knowledge (GHS, chapters 3.2 and 3.3)."""
ALKALINE_PH = 8.0
"""pH from which silica, glass and skin notice (common practice)."""
HEATED_C = 40.0
"""A compartment from here on is called heated (common practice)."""
HOT_SURFACE_C = 60.0
"""Metal from here on burns within seconds (ISO 13732-1 gives the thresholds; rounded, from memory)."""
SALTS_FALL_OUT_PERCENT = 60.0
"""Organic part from which inorganic salts may fall out (common practice; depends on salt and solvent)."""


@dataclass(frozen=True, slots=True)
class Solvent:
    """A solvent with its handbook values at atmospheric pressure."""

    name: str
    boiling_C: float
    flash_C: float
    """Closed cup, rounded; handbooks differ by some degrees."""
    toxic: str = ""
    """What is known to every user of it, in words; empty for nothing beyond the usual."""
    peroxides: bool = False


SOLVENTS: Mapping[str, Solvent] = MappingProxyType(
    {
        solvent.name: solvent
        for solvent in (
            Solvent("acetonitrile", 82.0, 2.0, "goes through skin and lungs and gives cyanide in the body"),
            Solvent("methanol", 65.0, 11.0, "is poisonous when swallowed, breathed in or left on the skin"),
            Solvent("ethanol", 78.0, 13.0),
            Solvent("2-propanol", 82.0, 12.0),
            Solvent("acetone", 56.0, -20.0),
            Solvent("tetrahydrofuran", 66.0, -14.0, "", True),
        )
    }
)  # fmt: skip
_SOLVENT_ALIASES: Mapping[str, str] = MappingProxyType(
    {"acn": "acetonitrile", "mecn": "acetonitrile", "meoh": "methanol", "etoh": "ethanol",
     "thf": "tetrahydrofuran", "isopropanol": "2-propanol", "propan-2-ol": "2-propanol", "ipa": "2-propanol"}
)  # fmt: skip

NEAT_AMINES: Mapping[str, Solvent] = MappingProxyType(
    {
        amine.name: amine
        for amine in (
            Solvent("pyrrolidine", 87.0, 3.0),
            Solvent("piperidine", 106.0, 16.0),
            Solvent("triethylamine", 89.0, -7.0),
            Solvent("diethylamine", 56.0, -23.0),
        )
    }
)


@dataclass(frozen=True, slots=True)
class Hazard:
    """One reason for a caution."""

    kind: HazardKind
    called_for_by: str
    """The condition, in words."""
    substance: Solvent | None = None
    """Whose boiling and flash point bear on it."""


@dataclass(frozen=True, slots=True)
class Circumstances:
    """One set of conditions as far as hazards ask for them; None and empty are 'not stated'."""

    buffer: str
    ph: float | None
    organic: str
    organic_percent: float | None
    temperature_C: float | None
    said: Mapping[str, str]
    """How a report prints `buffer`, `ph`, `organic`, `temperature` and `mobile phase`, by these words."""


def solvent_named(name: str) -> Solvent | None:
    """Return the solvent of that name or usual abbreviation; None where it is not in the table."""
    key = " ".join(name.casefold().split())
    return SOLVENTS.get(_SOLVENT_ALIASES.get(key, key))


def hazards(here: Circumstances) -> tuple[Hazard, ...]:
    """Return the hazards of one set of conditions; nothing stated about alkali counts as alkaline."""
    return (
        *_of_alkali(here),
        *_of_buffer(here),
        *_of_solvent(here),
        *_of_heat(here),
        Hazard("waste", here.said["mobile phase"]),
    )


def _of_alkali(here: Circumstances) -> Iterator[Hazard]:
    """Yield what the pH calls for; an unstated pH is taken to be high."""
    if here.ph is None or _is_strong(here):
        yield Hazard("corrosive alkali", here.said["ph"])
    elif here.ph >= ALKALINE_PH:
        yield Hazard("mild alkali", here.said["ph"])
    if here.ph is None or here.ph >= ALKALINE_PH:
        yield Hazard("alkali on materials", here.said["ph"])


def _of_buffer(here: Circumstances) -> Iterator[Hazard]:
    """Yield what the buffer calls for, by the words in its name, so that free text counts too."""
    name, said = here.buffer.casefold(), here.said["buffer"]
    if any(word.startswith("ammoni") for word in name.replace("-", " ").split()):
        yield Hazard("ammonia vapour", said)
    neat = next((amine for key, amine in NEAT_AMINES.items() if key[:-3] in name), None)
    if neat is not None or "amine" in name:
        yield Hazard("amine vapour", said, neat)
        yield Hazard("neat amine flammable", said, neat)
    if "carbonat" in name:
        yield Hazard("gas from carbonate", said)
    if "borat" in name or "boric" in name or "borax" in name:
        yield Hazard("borate and reproduction", said)


def _of_solvent(here: Circumstances) -> Iterator[Hazard]:
    """Yield what the organic solvent calls for."""
    if not here.organic or here.organic_percent == 0:
        return
    said = here.said["organic"]
    solvent = solvent_named(here.organic)
    if solvent is None:
        yield Hazard("solvent of unknown hazards", said)
    else:
        hot = here.temperature_C is None or here.temperature_C >= HEATED_C
        yield Hazard("hot flammable solvent" if hot else "flammable solvent", said, solvent)
        if solvent.toxic:
            yield Hazard("toxic solvent", said, solvent)
        if solvent.peroxides:
            yield Hazard("peroxide-forming solvent", said, solvent)
    if solvent is not None and solvent.name == "acetonitrile" and _is_strong(here):
        yield Hazard("alkali eats the solvent", f"{said}; {here.said['ph']}", solvent)
    if (here.organic_percent or 0.0) >= SALTS_FALL_OUT_PERCENT and _is_salt(here.buffer):
        yield Hazard("salt precipitation", said)


def _of_heat(here: Circumstances) -> Iterator[Hazard]:
    """Yield what the temperature calls for; an unstated one is taken to be high."""
    if here.temperature_C is None or here.temperature_C >= HEATED_C:
        yield Hazard("leak in a heated compartment", here.said["temperature"])
    if here.temperature_C is not None and here.temperature_C >= HOT_SURFACE_C:
        yield Hazard("hot surfaces", here.said["temperature"])


def _is_strong(here: Circumstances) -> bool:
    """Say whether the alkali counts as corrosive, by its pH or because it is a hydroxide by name."""
    name = here.buffer.casefold()
    by_name = "hydroxide" in name and not any(word.startswith("ammonium") for word in name.split())
    return by_name or (here.ph is not None and here.ph >= CORROSIVE_PH)


def _is_salt(buffer: str) -> bool:
    """Say whether the buffer is an inorganic salt that a rich organic part may throw out."""
    return any(word in buffer.casefold() for word in ("phosph", "borat", "borax", "carbonat", "hydroxide"))
