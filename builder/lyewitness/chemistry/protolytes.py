"""Buffers by name, and what gives off protons in them, each constant with its source and its uncertainty.

In: nothing. Out: `PROTOLYTES` by name, pK at any temperature, and the buffers that study folders may name.
`from memory` says that a value was recalled and not read in the source named.
"""

import re
from collections.abc import Mapping
from difflib import get_close_matches
from math import log
from types import MappingProxyType

from lyewitness.chemistry.records import Buffer, Ionisation, Protolyte
from lyewitness.chemistry.solvents import kelvin
from lyewitness.words.constants import GAS_CONSTANT_J_MOL_K, ZERO_CELSIUS_K

STRONG_BASE = "strong base"
_JOINS = re.compile(r"\s*(?:/|\+|,|\band\b|\bwith\b|\braised with\b|\btitrated with\b)\s*", re.IGNORECASE)
"""What stands between a salt and what raises its pH."""

BUFFERS: tuple[Buffer, ...] = (
    Buffer("ammonia", {"ammonia": 1.0}, "ammonia",
           aliases=("ammonium", "ammonium hydroxide", "ammonium chloride")),
    Buffer("ammonium bicarbonate", {"ammonia": 1.0, "carbonate": 1.0}, "the salt",
           raised_with="ammonia", also_raised_with=STRONG_BASE,
           aliases=("ammonium hydrogen carbonate", "ammonium hydrogencarbonate")),
    Buffer("ammonium carbonate", {"ammonia": 2.0, "carbonate": 1.0}, "the salt",
           raised_with="ammonia", also_raised_with=STRONG_BASE),
    Buffer("ammonium acetate", {"ammonia": 1.0, "acetate": 1.0}, "the salt",
           raised_with="ammonia", also_raised_with=STRONG_BASE),
    Buffer("ammonium formate", {"ammonia": 1.0, "formate": 1.0}, "the salt",
           raised_with="ammonia", also_raised_with=STRONG_BASE),
    Buffer("carbonate", {"carbonate": 1.0}, "bicarbonate", strong_charge=1.0,
           aliases=("bicarbonate", "hydrogen carbonate", "carbonate-bicarbonate", "sodium bicarbonate",
                    "potassium bicarbonate", "sodium hydrogen carbonate", "potassium hydrogen carbonate")),
    Buffer("sodium carbonate", {"carbonate": 1.0}, "the carbonate", strong_charge=2.0,
           aliases=("potassium carbonate",)),
    Buffer("borate", {"borate": 1.0}, "boric acid", aliases=("boric acid", "sodium borate")),
    Buffer("borax", {"borate": 4.0}, "borax", strong_charge=2.0,
           aliases=("tetraborate", "sodium tetraborate")),
    Buffer("phosphate", {"phosphate": 1.0}, "dihydrogen phosphate", strong_charge=1.0,
           aliases=("sodium phosphate", "potassium phosphate", "phosphoric acid", "trisodium phosphate")),
    Buffer("glycine", {"glycine": 1.0}, "glycine", aliases=("glycinate", "sodium glycinate")),
    Buffer("pyrrolidine", {"pyrrolidine": 1.0}, "the free base", aliases=("pyrrolidinium",)),
    Buffer("piperidine", {"piperidine": 1.0}, "the free base", aliases=("piperidinium",)),
    Buffer("triethylamine", {"triethylamine": 1.0}, "the free base", aliases=("triethylammonium", "tea")),
    Buffer("diethylamine", {"diethylamine": 1.0}, "the free base", aliases=("diethylammonium", "dea")),
    Buffer("CAPS", {"CAPS": 1.0}, "the free acid",
           aliases=("CAPS (3-(cyclohexylamino)propanesulfonic acid)",
                    "3-(cyclohexylamino)propanesulfonic acid", "3-(cyclohexylamino)-1-propanesulfonic acid")),
    Buffer("hydroxide", {}, "hydroxide", strong_charge=1.0,
           aliases=("sodium hydroxide", "potassium hydroxide", "lithium hydroxide", "naoh", "koh", "lioh")),
)  # fmt: skip


def _key(name: str) -> str:
    """Return the name without case, doubled blanks and the trailing word `buffer`."""
    words = name.casefold().replace("\u2010", "-").replace("\u2011", "-").split()
    return " ".join(words[:-1] if len(words) > 1 and words[-1] == "buffer" else words)


_BY_NAME: Mapping[str, Buffer] = MappingProxyType(
    {_key(name): buffer for buffer in BUFFERS for name in (buffer.name, *buffer.aliases)}
)


def buffer_named(name: str) -> Buffer | None:
    """Return the buffer of that name or alias, in any case, with or without the word `buffer`.

    `ammonium bicarbonate / ammonia` names a salt and what raises its pH: it is the salt, which is raised so.
    """
    found = _BY_NAME.get(_key(name))
    parts = [_key(part) for part in _JOINS.split(name)]
    if found is None and len(parts) == 2:
        for first, second in (parts, parts[::-1]):
            salt, base = _BY_NAME.get(first), _BY_NAME.get(second)
            if salt is not None and base is not None and salt.raised_with and salt.raised_with in base.brings:
                return salt
    return found


def near_names(name: str) -> tuple[str, ...]:
    """Return the names of known buffers that `name` may have meant, the nearest first; at most three."""
    close = get_close_matches(_key(name), list(_BY_NAME), n=3, cutoff=0.6)
    words = [_BY_NAME[_key(word)] for word in _JOINS.split(name) if _key(word) in _BY_NAME]
    found = [*(_BY_NAME[key] for key in close), *words]
    return tuple(dict.fromkeys(buffer.name for buffer in found))[:3]


# The temperature at which tables state their constants.
REFERENCE_K = 25.0 + ZERO_CELSIUS_K

GOLDBERG = "Goldberg, Kishore and Lennen, J. Phys. Chem. Ref. Data 2002, 31, 231; from memory"
AMINES = "Christensen, Izatt, Wrathall and Hansen, J. Chem. Soc. A 1969, 1212; from memory, wide bounds"

CARBOXYLIC = "Christensen, Hansen and Izatt, Handbook of Proton Ionization Heats, 1976; from memory"


def _evaluated(pk: float, enthalpy: float, heat_capacity: float) -> Ionisation:
    """Return a constant from the critical review, with the bounds its pK and enthalpies deserve."""
    return Ionisation(pk, enthalpy, heat_capacity, 0.02, 1.0, 40.0, GOLDBERG)


def _curved(pk: float, enthalpy: float, heat_capacity: float) -> Ionisation:
    """Return the same for an acid whose large ΔCp itself changes on heating: wide bounds on ΔCp."""
    return Ionisation(pk, enthalpy, heat_capacity, 0.02, 1.0, 100.0, GOLDBERG)


def _carboxylic(pk: float, enthalpy: float, heat_capacity: float) -> Ionisation:
    """Return a constant of a carboxylic acid that the critical review leaves out."""
    return Ionisation(pk, enthalpy, heat_capacity, 0.03, 1.0, 60.0, CARBOXYLIC)


def _amine(pk: float, enthalpy: float, heat_capacity: float) -> Ionisation:
    """Return a constant of an amine for which no critical review was at hand: wide bounds."""
    return Ionisation(pk, enthalpy, heat_capacity, 0.10, 3.0, 80.0, AMINES)


_ALL = (
    Protolyte("ammonia", 1, (_evaluated(9.245, 51.95, 8.0),)),
    Protolyte("carbonate", 0, (_curved(6.351, 9.15, -371.0), _curved(10.329, 14.70, -249.0))),
    Protolyte("borate", 0, (_curved(9.237, 13.8, -240.0),)),
    Protolyte(
        "phosphate",
        0,
        (_curved(2.148, -8.0, -141.0), _curved(7.198, 3.6, -230.0), _curved(12.35, 16.0, -242.0)),
    ),
    Protolyte("glycine", 1, (_evaluated(2.351, 4.0, -139.0), _evaluated(9.780, 44.2, -57.0))),
    Protolyte("acetate", 0, (_evaluated(4.756, -0.41, -142.0),)),
    Protolyte("formate", 0, (_carboxylic(3.75, -0.1, -170.0),)),
    Protolyte("CAPS", 0, (_evaluated(10.499, 48.1, 57.0),)),
    Protolyte("pyrrolidine", 1, (_amine(11.305, 54.1, 80.0),)),
    Protolyte("piperidine", 1, (_amine(11.123, 53.4, 90.0),)),
    Protolyte("triethylamine", 1, (_amine(10.72, 43.1, 150.0),)),
    Protolyte("diethylamine", 1, (_amine(10.90, 53.4, 90.0),)),
)
PROTOLYTES: Mapping[str, Protolyte] = MappingProxyType({protolyte.name: protolyte for protolyte in _ALL})


def pk_at(ionisation: Ionisation, temperature_C: float) -> float:
    """Return the pK at zero ionic strength at `temperature_C`, ΔCp taken as constant.

    R ln K = R ln K° − ΔH°(1/T − 1/T°) + ΔCp(T°/T − 1 + ln(T/T°)) (Clarke and Glew, Trans. Faraday Soc.
    1966, 62, 539).
    """
    t = kelvin(temperature_C)
    shift = -1000.0 * ionisation.enthalpy_kJ_mol * (1.0 / t - 1.0 / REFERENCE_K)
    shift += ionisation.heat_capacity_J_mol_K * (REFERENCE_K / t - 1.0 + log(t / REFERENCE_K))
    return ionisation.pk - shift / (GAS_CONSTANT_J_MOL_K * log(10.0))
