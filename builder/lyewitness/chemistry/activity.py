"""Activity coefficients of ions in water.

In: charge, ionic strength in mol/kg, temperature in °C. Out: coefficients on the molality scale.
"""

from math import pow, sqrt

from lyewitness.chemistry.records import ActivityModel
from lyewitness.chemistry.water import kelvin, water_density, water_permittivity

ION_SIZE_ANGSTROM = 4.5
"""One distance of closest approach for all ions (Kielland's table spans 3–9 Å; common practice)."""


def debye_huckel_a(temperature_C: float) -> float:
    """Return A of log10 γ = −A z² √I, (kg/mol)^½.

    A = 1.8248·10⁶ √ρ (εT)^−1.5 with ρ in kg/L (Robinson and Stokes, Electrolyte Solutions, 1959).
    """
    return (
        1.8248e6
        * sqrt(water_density(temperature_C))
        * pow(water_permittivity(temperature_C) * kelvin(temperature_C), -1.5)
    )


def debye_huckel_b(temperature_C: float) -> float:
    """Return B of the extended law, (kg/mol)^½/Å: 50.29 √ρ (εT)^−½ (Robinson and Stokes 1959)."""
    return (
        50.29
        * sqrt(water_density(temperature_C))
        * pow(water_permittivity(temperature_C) * kelvin(temperature_C), -0.5)
    )


def log_gamma(
    charge: int, ionic_strength_molal: float, temperature_C: float, model: ActivityModel = "Davies"
) -> float:
    """Return log10 of the activity coefficient of an ion; 0 for what bears no charge.

    Davies: −A z² (√I/(1+√I) − 0.3 I) (Davies, Ion Association, 1962), of use up to about 0.5 mol/kg.
    Extended Debye–Hückel: −A z² √I/(1 + B a √I), of use up to about 0.1 mol/kg.
    """
    root = sqrt(ionic_strength_molal)
    a = debye_huckel_a(temperature_C)
    if model == "Davies":
        return -a * charge**2 * (root / (1.0 + root) - 0.3 * ionic_strength_molal)
    return -a * charge**2 * root / (1.0 + debye_huckel_b(temperature_C) * ION_SIZE_ANGSTROM * root)
