"""pH from composition, against published standards and an independent program."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.chemistry.equilibria import equilibrium, strong_charge_for
from lyewitness.chemistry.protolytes import BUFFERS
from lyewitness.chemistry.records import Composition

EVERY_FIVE_DEGREES = range(0, 51, 5)
CARBONATE_STANDARD = (10.317, 10.245, 10.179, 10.118, 10.062, 10.012, 9.966, 9.926, 9.889, 9.856, 9.828)
"""0.025 mol/kg NaHCO3 + 0.025 mol/kg Na2CO3 (Staples and Bates, J. Res. NBS 1969, 73A, 37; third
decimal from memory)."""
BORAX_STANDARD = (9.464, 9.395, 9.332, 9.276, 9.225, 9.180, 9.139, 9.102, 9.068, 9.038, 9.011)
"""0.01 mol/kg Na2B4O7 (NBS standard; 25 °C read, the rest from memory)."""


@pytest.mark.parametrize(
    ("temperature_C", "published"), list(zip(EVERY_FIVE_DEGREES, CARBONATE_STANDARD, strict=True))
)
def test_carbonate_standard_is_met_over_temperature(temperature_C: float, published: float) -> None:
    """The carbonate standard comes out within 0.02 from its composition alone, 0–50 °C."""
    found = equilibrium(Composition({"carbonate": 0.05}, 0.075), temperature_C)
    assert found.ph == pytest.approx(published, abs=0.02)


@pytest.mark.parametrize(
    ("temperature_C", "published"), list(zip(EVERY_FIVE_DEGREES, BORAX_STANDARD, strict=True))
)
def test_borax_standard_is_met_over_temperature(temperature_C: float, published: float) -> None:
    """The borax standard comes out within 0.02 from its composition alone, 0–50 °C."""
    found = equilibrium(Composition({"borate": 0.04}, 0.02), temperature_C)
    assert found.ph == pytest.approx(published, abs=0.02)


buffers_in_water = st.builds(
    lambda buffer, total: {name: moles * total for name, moles in buffer.brings.items()},
    st.sampled_from(BUFFERS),
    st.floats(0.001, 0.05),
)


@settings(max_examples=60, deadline=None)
@given(buffers_in_water, st.floats(0.0, 100.0), st.floats(-0.05, 0.15), st.floats(0.0001, 0.05))
def test_more_base_never_lowers_the_ph(
    totals: dict[str, float], temperature_C: float, strong: float, more: float
) -> None:
    """Adding strong base to any buffer at any temperature raises the pH."""
    before = equilibrium(Composition(totals, strong), temperature_C)
    after = equilibrium(Composition(totals, strong + more), temperature_C)
    assert after.ph > before.ph


@settings(max_examples=60, deadline=None)
@given(buffers_in_water, st.floats(0.0, 100.0), st.floats(-0.05, 0.15))
def test_charges_balance(totals: dict[str, float], temperature_C: float, strong: float) -> None:
    """What is left of the charge balance is nothing beside the solution's charges."""
    found = equilibrium(Composition(totals, strong), temperature_C)
    assert abs(found.charge_residual_molal) < 1e-9


@settings(max_examples=60, deadline=None)
@given(buffers_in_water, st.floats(0.0, 60.0), st.floats(7.0, 12.5))
def test_composition_found_for_a_ph_gives_that_ph_back(
    totals: dict[str, float], temperature_C: float, ph: float
) -> None:
    """Backwards and forwards through the charge balance ends at the pH one began with."""
    strong = strong_charge_for(totals, ph, temperature_C)
    assert equilibrium(Composition(totals, strong), temperature_C).ph == pytest.approx(ph, abs=1e-6)
