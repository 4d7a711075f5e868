"""Water between 0 and 100 °C at atmospheric pressure: density, viscosity, permittivity, ionisation.

In: temperatures in °C. Out: bare numbers.
"""

from math import log10, pow

from lyewitness.words.constants import ZERO_CELSIUS_K

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
