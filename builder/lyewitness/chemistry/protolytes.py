"""What gives off protons in the buffers, each constant with its source and its uncertainty.

In: nothing. Out: `PROTOLYTES` by name and pK at any temperature. `from memory` says that a value was
recalled and not read in the source named.
"""

from collections.abc import Mapping
from math import log
from types import MappingProxyType

from lyewitness.chemistry.records import Ionisation, Protolyte
from lyewitness.chemistry.water import kelvin
from lyewitness.words.constants import GAS_CONSTANT_J_MOL_K, ZERO_CELSIUS_K

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
