"""Exchange with the air."""

import pytest

from lyewitness.chemistry.equilibria import (
    HENRY,
    amine_carried_off,
    co2_log_henry,
    co2_pressure_atm,
    equilibrium,
    henry_at,
    ph_after_co2,
    ph_after_loss,
)
from lyewitness.chemistry.records import Composition

AMMONIUM_BICARBONATE = Composition({"ammonia": 0.1, "carbonate": 0.02}, 0.0)


def test_carbon_dioxide_dissolves_as_tabulated() -> None:
    """pK of Henry's law for carbon dioxide is 1.47 at 25 °C and 1.78 at 60 °C (Plummer and Busenberg;
    from memory to two figures)."""
    assert co2_log_henry(25.0) == pytest.approx(-1.47, abs=0.01)
    assert co2_log_henry(60.0) == pytest.approx(-1.78, abs=0.02)


def test_rain_in_equilibrium_with_air_is_slightly_acid() -> None:
    """Pure water with 420 ppm of carbon dioxide has pH 5.6 at 25 °C (common practice)."""
    dissolved = 4.2e-4 * 10.0 ** co2_log_henry(25.0)
    water = Composition({"carbonate": dissolved * 1.17}, 0.0)
    at = equilibrium(water, 25.0)
    assert at.ph == pytest.approx(5.6, abs=0.05)
    pressure = co2_pressure_atm(water, at)
    assert pressure is not None
    assert pressure == pytest.approx(4.2e-4, rel=0.02)


def test_ammonia_over_its_water_is_as_phreeqc_has_it() -> None:
    """Henry's constant of ammonia agrees with the 62.6 mol/(kg·atm) of phreeqc.dat as closely as stated."""
    assert henry_at(HENRY["ammonia"], 25.0) == pytest.approx(62.6, rel=0.5)


def test_more_amine_leaves_when_warm() -> None:
    """Every volatile base leaves the more readily the warmer it is."""
    for henry in HENRY.values():
        assert henry_at(henry, 60.0) < henry_at(henry, 25.0)


def test_what_leaves_lowers_the_ph_and_carbon_dioxide_too() -> None:
    """Losing ammonia and taking up carbon dioxide both lower the pH; losing carbon dioxide raises it."""
    before = equilibrium(AMMONIUM_BICARBONATE, 25.0).ph
    assert ph_after_loss(AMMONIUM_BICARBONATE, "ammonia", 0.1, 25.0) < before
    assert ph_after_co2(AMMONIUM_BICARBONATE, 0.001, 25.0) < before
    assert ph_after_loss(AMMONIUM_BICARBONATE, "carbonate", 0.1, 25.0) > before


def test_what_holds_nothing_volatile_says_so() -> None:
    """Borate has neither carbon dioxide nor a volatile amine to lose."""
    borate = Composition({"borate": 0.02}, 0.01)
    at = equilibrium(borate, 25.0)
    assert co2_pressure_atm(borate, at) is None
    assert amine_carried_off(borate, at) is None


def test_free_ammonia_shares_itself_between_gas_and_water_as_tabulated() -> None:
    """Equal volumes of gas and water hold ammonia as 7·10⁻⁴ to 1 at 25 °C (Sander 2015; from memory)."""
    free = Composition({"ammonia": 0.01}, 0.05)
    carried = amine_carried_off(free, equilibrium(free, 25.0))
    assert carried is not None
    assert carried[0] == "ammonia"
    assert carried[1] == pytest.approx(7e-4, rel=0.05)


def test_gas_carries_off_the_free_base_only() -> None:
    """The share that a litre of gas takes grows with the share of free base and is small for ammonia."""
    low, high = (
        amine_carried_off(composition, equilibrium(composition, 25.0))
        for composition in (Composition({"ammonia": 0.1}, -0.09), Composition({"ammonia": 0.1}, -0.01))
    )
    assert low is not None
    assert high is not None
    assert low[1] < high[1] < 0.002
