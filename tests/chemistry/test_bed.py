"""Volumes, velocities, pressure and silica of a bed."""

import pytest

from lyewitness.chemistry.bed import (
    PACKINGS,
    column_volume,
    flow_resistance,
    linear_velocity,
    pressure_drop,
    reduced_velocity,
    silica_in_bed,
    superficial_velocity,
)
from lyewitness.words.estimates import Estimate


@pytest.mark.parametrize(
    ("length_mm", "inner_diameter_mm", "volume"),
    [(150.0, 4.6, 2.49), (50.0, 2.1, 0.173), (100.0, 3.0, 0.707)],
)
def test_column_volumes_are_those_of_every_table(
    length_mm: float, inner_diameter_mm: float, volume: float
) -> None:
    """Empty volumes of usual dimensions in mL (common practice)."""
    assert column_volume(length_mm, inner_diameter_mm) == pytest.approx(volume, rel=0.005)


def test_velocity_through_the_tube_and_through_the_bed() -> None:
    """Hold-up time × superficial velocity ÷ length is the hold-up share of the column (by definition)."""
    through_tube = superficial_velocity(1.0, 4.6)
    assert through_tube == pytest.approx(1.003, abs=0.001)
    hold_up_min = 0.60 * column_volume(150.0, 4.6) / 1.0
    assert through_tube / linear_velocity(150.0, hold_up_min) == pytest.approx(0.60, rel=1e-9)


def test_flow_resistance_of_a_well_packed_bed_is_about_a_thousand() -> None:
    """At 40 % between the particles Kozeny and Carman give 1012.5, the thousand of the trade (common
    practice)."""
    assert flow_resistance(0.40) == pytest.approx(1012.5)


def test_pressure_of_a_usual_column_lies_within_bounds() -> None:
    """150 × 4.6 mm of 5 µm at 1 mL/min in water–acetonitrile of 0.9 mPa·s takes 50–80 bar (common
    practice)."""
    found = pressure_drop(150.0, 5.0, superficial_velocity(1.0, 4.6), Estimate(0.9, 0.8, 1.0))
    assert found.value is not None
    assert 50.0 < found.value < 80.0


def test_pressure_follows_length_viscosity_and_the_square_of_the_particle() -> None:
    """Twice the length doubles, half the particle size quadruples the pressure."""
    viscosity = Estimate(1.0, 0.9, 1.1)
    once = pressure_drop(50.0, 3.0, 1.0, viscosity)
    assert once.value is not None
    assert pressure_drop(100.0, 3.0, 1.0, viscosity).value == pytest.approx(2.0 * once.value)
    assert pressure_drop(50.0, 1.5, 1.0, viscosity).value == pytest.approx(4.0 * once.value)
    assert pressure_drop(50.0, 3.0, 1.0, Estimate(reason="unknown")).reason == "unknown"


def test_reduced_velocity_has_the_bounds_of_diffusion() -> None:
    """ν = u dp/D: 1 mm/s, 5 µm and 1·10⁻⁹ m²/s give 5; slower diffusion gives more."""
    found = reduced_velocity(1.0, 5.0, Estimate(1e-9, 0.5e-9, 2e-9))
    assert (found.value, found.low, found.high) == pytest.approx((5.0, 2.5, 10.0))
    assert reduced_velocity(1.0, 5.0, Estimate(reason="unknown")).value is None


def test_packing_of_a_usual_column_weighs_what_it_should() -> None:
    """A 150 × 4.6 mm column holds 1.2–1.7 g of porous packing, most of it silica (common practice)."""
    held = silica_in_bed("porous silica", column_volume(150.0, 4.6), 0.65)
    assert held.low is not None
    assert held.high is not None
    assert 1000.0 < held.low < 1700.0
    assert held.low < held.high < 2200.0


def test_unmeasured_hold_up_widens_the_bounds() -> None:
    """Without a measured hold-up share the bounds hold those with any share in the range."""
    volume = column_volume(50.0, 2.1)
    for particle, packing in PACKINGS.items():
        wide = silica_in_bed(particle, volume, None)
        narrow = silica_in_bed(particle, volume, sum(packing.hold_up_share) / 2.0)
        assert wide.low is not None
        assert wide.high is not None
        assert narrow.low is not None
        assert narrow.high is not None
        assert wide.low < narrow.low < narrow.high < wide.high


def test_particles_of_unknown_make_have_no_silica_budget() -> None:
    """For other particles nothing is claimed."""
    assert silica_in_bed("other", 0.173, 0.6).value is None
