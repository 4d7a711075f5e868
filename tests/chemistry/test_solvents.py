"""Viscosity and diffusion."""

import pytest

from lyewitness.chemistry.solvents import diffusion, viscosity

TABULATED = [
    ("acetonitrile", 0.2, 25.0, 0.98),
    ("acetonitrile", 0.4, 25.0, 0.89),
    ("acetonitrile", 0.6, 25.0, 0.72),
    ("acetonitrile", 0.8, 25.0, 0.52),
    ("acetonitrile", 1.0, 25.0, 0.34),
    ("methanol", 0.2, 25.0, 1.40),
    ("methanol", 0.4, 25.0, 1.62),
    ("methanol", 0.6, 25.0, 1.54),
    ("methanol", 0.8, 25.0, 1.12),
    ("methanol", 1.0, 25.0, 0.55),
]
"""mPa·s, textbook table of mobile phases at 25 °C (from memory)."""


@pytest.mark.parametrize(("organic", "fraction", "temperature_C", "tabulated"), TABULATED)
def test_bounds_of_the_viscosity_hold_the_tabulated_value(
    organic: str, fraction: float, temperature_C: float, tabulated: float
) -> None:
    """The stated bounds of 15 % hold the tabulated viscosities of mobile phases."""
    found = viscosity(organic, fraction, temperature_C)
    assert found.low is not None
    assert found.high is not None
    assert found.low <= tabulated <= found.high


def test_methanol_mixtures_are_thickest_in_the_middle() -> None:
    """Water with methanol has its highest viscosity near 40–50 %, acetonitrile near 10–20 % (common
    practice)."""
    for organic, low, high in (("methanol", 0.35, 0.55), ("acetonitrile", 0.05, 0.25)):
        curve = {part / 100.0: viscosity(organic, part / 100.0, 25.0).value or 0.0 for part in range(101)}
        assert low <= max(curve, key=lambda part: curve[part]) <= high


def test_an_unknown_solvent_has_no_viscosity() -> None:
    """For a solvent not in the table the reason is given instead."""
    assert viscosity("dimethyl sulfoxide", 0.3, 40.0).value is None
    assert "dimethyl sulfoxide" in diffusion("dimethyl sulfoxide", 0.3, 40.0).reason


@pytest.mark.parametrize(
    ("organic", "fraction", "molar_volume", "published"),
    [("", 0.0, 96.0, 1.02e-9), ("methanol", 1.0, 118.2, 2.3e-9)],
)
def test_diffusion_is_roughly_that_measured(
    organic: str, fraction: float, molar_volume: float, published: float
) -> None:
    """Benzene in water and toluene in methanol at 25 °C lie within the bounds (Reid, Prausnitz and Poling,
    The Properties of Gases and Liquids; from memory)."""
    found = diffusion(organic, fraction, 25.0, molar_volume)
    assert found.low is not None
    assert found.high is not None
    assert found.low < published < found.high


def test_heat_thins_and_speeds() -> None:
    """Warmer mobile phase is thinner and diffusion in it faster."""
    cold, hot = (viscosity("acetonitrile", 0.3, t).value or 0.0 for t in (25.0, 60.0))
    assert hot < cold
    slow, fast = (diffusion("acetonitrile", 0.3, t).value or 0.0 for t in (25.0, 60.0))
    assert fast > 1.5 * slow
