"""Water and activity coefficients against published values."""

import pytest

from lyewitness.chemistry.equilibria import debye_huckel_a, debye_huckel_b, log_gamma
from lyewitness.chemistry.solvents import water_density, water_pk, water_viscosity


@pytest.mark.parametrize(
    ("temperature_C", "density", "viscosity"),
    [
        (20, 998.207, 1001.60),
        (25, 997.048, 890.02),
        (40, 992.216, 652.73),
        (60, 983.196, 466.04),
        (80, 971.790, 354.05),
    ],
)
def test_water_has_the_density_and_viscosity_of_the_steam_tables(
    temperature_C: float, density: float, viscosity: float
) -> None:
    """Density in kg/m³ and viscosity in µPa·s agree with IAPWS-95 and IAPWS 2008 (package iapws)."""
    assert 1000.0 * water_density(temperature_C) == pytest.approx(density, rel=5e-5)
    assert 1000.0 * water_viscosity(temperature_C) == pytest.approx(viscosity, rel=5e-4)


@pytest.mark.parametrize(("temperature_C", "published"), [(25, 0.5100), (60, 0.5459)])
def test_debye_huckel_constant_grows_with_temperature(temperature_C: float, published: float) -> None:
    """A agrees with the package chempy at 25 and 60 °C."""
    assert debye_huckel_a(temperature_C) == pytest.approx(published, abs=0.0015)


def test_debye_huckel_b_is_that_of_the_textbook() -> None:
    """B is 0.3286 Å⁻¹ (kg/mol)^½ at 25 °C (Robinson and Stokes 1959, appendix 7.1; from memory)."""
    assert debye_huckel_b(25.0) == pytest.approx(0.3286, abs=0.0005)


@pytest.mark.parametrize(
    ("temperature_C", "published"),
    [(0, 14.947), (10, 14.533), (25, 13.995), (37, 13.620), (50, 13.262), (60, 13.015), (100, 12.25)],
)
def test_water_ionises_more_when_hot(temperature_C: float, published: float) -> None:
    """pKw agrees with the values after Marshall and Franck 1981 and phreeqc.dat (25 and 60 °C run, the
    rest from memory)."""
    assert water_pk(temperature_C) == pytest.approx(published, abs=0.015)


@pytest.mark.parametrize(
    ("electrolyte_charge", "molality", "published"),
    [(1, 0.001, 0.965), (1, 0.01, 0.904), (1, 0.1, 0.778)],
)
def test_activity_coefficient_of_a_simple_salt(
    electrolyte_charge: int, molality: float, published: float
) -> None:
    """NaCl at 25 °C (CRC Handbook; from memory) lies within 2 % of both activity models."""
    for gamma in (
        log_gamma(electrolyte_charge, molality, 25.0),
        log_gamma(electrolyte_charge, molality, 25.0, "extended Debye–Hückel"),
    ):
        assert 10.0**gamma == pytest.approx(published, rel=0.02)


def test_what_bears_no_charge_is_ideal() -> None:
    """A neutral form has the activity coefficient 1."""
    assert log_gamma(0, 0.1, 25.0) == 0.0
