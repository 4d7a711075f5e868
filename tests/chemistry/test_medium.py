"""From the bench to the oven."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.chemistry.equilibria import buffer_capacity_molal, equilibrium
from lyewitness.chemistry.medium import apparent_pk, stress_medium
from lyewitness.chemistry.protolytes import BUFFERS, PROTOLYTES, buffer_named
from lyewitness.chemistry.records import Composition, NotComputableError


@pytest.mark.parametrize(("bench_ph", "hot_ph"), [(9.0, 8.114), (9.5, 8.625), (10.0, 9.149), (10.5, 9.645)])
def test_ammonium_bicarbonate_set_at_the_bench_is_milder_in_the_oven(bench_ph: float, hot_ph: float) -> None:
    """Ten mmol/kg raised with ammonia at 25 °C has at 60 °C the pH that phreeqpython finds, within 0.05."""
    medium = stress_medium("ammonium bicarbonate", 9.97, bench_ph, 25.0, 60.0)
    assert medium.set_by == "raised with ammonia"
    assert medium.bench.ph == pytest.approx(bench_ph, abs=1e-6)
    assert medium.hot.ph == pytest.approx(hot_ph, abs=0.05)


@pytest.mark.parametrize(("temperature_C", "published"), [(25.0, 7.773), (60.0, 7.285)])
def test_ammonium_bicarbonate_as_it_is(temperature_C: float, published: float) -> None:
    """Dissolved as it is it has the pH that phreeqpython finds, within 0.05."""
    medium = stress_medium("ammonium bicarbonate", 9.97, None, None, temperature_C)
    assert medium.hot.ph == pytest.approx(published, abs=0.05)


@pytest.mark.parametrize(("temperature_C", "published"), [(60.0, 8.962), (80.0, 8.885)])
def test_bounds_hold_where_the_constants_are_stretched(temperature_C: float, published: float) -> None:
    """The borax standard at 60 and 80 °C (NBS; from memory) lies within the bounds stated."""
    borax = equilibrium(Composition({"borate": 0.04}, 0.02), 25.0)
    medium = stress_medium("borate", 39.88, borax.ph, 25.0, temperature_C)
    assert medium.ph.low is not None
    assert medium.ph.high is not None
    assert medium.ph.low < published < medium.ph.high


@pytest.mark.parametrize(("name", "published"), [("ammonium acetate", 7.0), ("ammonium formate", 6.5)])
def test_ammonium_salts_as_they_are(name: str, published: float) -> None:
    """Ten mmol/L dissolved as they are have the pH that every handbook of mobile phases gives them,
    halfway between the two pK (common practice)."""
    assert stress_medium(name, 10.0, None, None, 25.0).hot.ph == pytest.approx(published, abs=0.1)


def test_borax_as_it_is_needs_nothing_to_reach_its_standard_ph() -> None:
    """Ten mmol of borax in a kilogram have pH 9.18 at 25 °C (NBS standard), so nothing was added."""
    medium = stress_medium("borax", 9.97, 9.18, 25.0, 25.0)
    assert abs(medium.added_molal) < 0.0005


def test_phosphate_works_lower_than_its_pk_in_real_solutions() -> None:
    """At an ionic strength of 0.1 the second pK of phosphate acts as 6.8–6.9 (common practice)."""
    second = PROTOLYTES["phosphate"].steps[1]
    assert 6.8 < apparent_pk(second, -1, 0.1, 25.0) < 6.9


def test_litres_at_the_bench_become_kilograms() -> None:
    """Ten mmol in a litre of water at 60 °C, which weighs 983.2 g, are 10.17 mmol/kg (IAPWS)."""
    medium = stress_medium("hydroxide", 10.0, None, 60.0, 60.0)
    assert 1000.0 * medium.composition.strong_charge_molal == pytest.approx(10.0 / 0.983196, rel=1e-4)


def test_a_buffer_at_its_pk_has_the_textbook_capacity() -> None:
    """At its pK a buffer of concentration C has the capacity 0.576 C (Van Slyke 1922)."""
    total = 0.020
    composition = Composition({"ammonia": total}, -total / 2.0)
    at = equilibrium(composition, 25.0)
    free = 10.0 ** (at.ph - 13.995)
    capacity = buffer_capacity_molal(composition, at)
    assert capacity == pytest.approx(0.576 * total + 2.303 * free, rel=0.01)


named = st.sampled_from([buffer.name for buffer in BUFFERS])


@settings(max_examples=60, deadline=None)
@given(named, st.floats(2.0, 50.0), st.floats(8.0, 12.0), st.floats(15.0, 30.0), st.floats(15.0, 90.0))
def test_bench_ph_is_kept_and_bounds_hold_the_value(
    name: str, buffer_mM: float, ph: float, bench_C: float, hot_C: float
) -> None:
    """At the bench the medium has the pH that was read, and the hot pH lies between its bounds."""
    medium = stress_medium(name, buffer_mM, ph, bench_C, hot_C)
    assert medium.bench.ph == pytest.approx(ph, abs=1e-5)
    assert medium.ph.low is not None
    assert medium.ph.high is not None
    assert medium.ph.low < medium.hot.ph < medium.ph.high
    assert medium.capacity_mM > 0.0


@settings(max_examples=40, deadline=None)
@given(named, st.floats(5.0, 50.0), st.floats(8.5, 12.0), st.floats(30.0, 90.0))
def test_the_oven_never_raises_the_ph_of_an_alkaline_buffer(
    name: str, buffer_mM: float, ph: float, hot_C: float
) -> None:
    """Every alkaline buffer of the table loses pH on heating (common practice)."""
    assert stress_medium(name, buffer_mM, ph, 25.0, hot_C).hot.ph < ph


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        (("", 10.0, 10.0, 25.0, 60.0), "no buffer is stated"),
        (("recipe 7b", 10.0, 10.0, 25.0, 60.0), "‘recipe 7b’ is not in the table"),
        (("borate", None, 9.2, 25.0, 60.0), "concentration"),
        (("borate", 20.0, None, 25.0, 60.0), "pH measured at the bench"),
        (("borate", 20.0, 9.2, None, 60.0), "temperature at which the pH"),
        (("borate", 20.0, 9.2, 25.0, None), "no temperature"),
        (("borate", 20.0, 9.2, 25.0, 130.0), "0 to 100"),
        (("borate", 20.0, 19.2, 25.0, 60.0), "outside 0 to 14"),
        (("phosphate", 900.0, 12.0, 25.0, 60.0), "too concentrated"),
    ],
)
def test_what_is_missing_is_said(
    arguments: tuple[str, float | None, float | None, float | None, float | None], reason: str
) -> None:
    """Where the pH cannot be computed the reason is named."""
    with pytest.raises(NotComputableError, match=reason):
        stress_medium(*arguments)


@pytest.mark.parametrize(
    ("name", "buffer_mM", "ph", "note"),
    [
        ("phosphate", 20.0, 10.0, "out of range at the bench"),
        ("ammonia", 20.0, 11.9, "strong base beyond the buffer"),
        ("hydroxide", 10.0, 11.0, "alkali disagrees with the pH"),
        ("ammonium bicarbonate", 10.0, 7.2, "acid below the buffer"),
    ],
)
def test_composition_and_ph_that_do_not_fit_are_noted(
    name: str, buffer_mM: float, ph: float, note: str
) -> None:
    """Out of range, more alkali than the buffer has, or less: each is said."""
    assert note in stress_medium(name, buffer_mM, ph, 25.0, 40.0).notes


def test_a_sound_buffer_has_no_notes() -> None:
    """Pyrrolidine at its pK has nothing against it."""
    assert stress_medium("pyrrolidine", 20.0, 11.3, 25.0, 50.0).notes == ()


def test_nobody_raises_a_ph_with_moles_of_ammonia() -> None:
    """Where ammonia would have to be added by the mole, strong base is taken instead."""
    medium = stress_medium("ammonium bicarbonate", 20.0, 11.3, 25.0, 70.0)
    assert medium.set_by == "set with a strong base"


def test_bounds_cover_both_ways_of_setting_the_ph() -> None:
    """Ammonium bicarbonate raised with strong base lies within the bounds given for ammonia."""
    medium = stress_medium("ammonium bicarbonate", 10.0, 10.0, 25.0, 60.0)
    kilogram = 0.010 / 0.99705
    for strong in (0.0105, 0.0125, 0.0145):
        other = Composition({"ammonia": kilogram, "carbonate": kilogram}, strong)
        if abs(equilibrium(other, 25.0).ph - 10.0) < 0.05:
            assert medium.ph.high is not None
            assert equilibrium(other, 60.0).ph < medium.ph.high


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("Pyrrolidine", "pyrrolidine"),
        ("ammonium hydrogen carbonate", "ammonium bicarbonate"),
        ("  sodium   hydroxide ", "hydroxide"),
        ("borate buffer", "borate"),
        ("CAPS (3-(cyclohexylamino)propanesulfonic acid)", "CAPS"),
    ],
)
def test_usual_names_are_known(written: str, name: str) -> None:
    """A buffer is found by its usual names, in any case."""
    found = buffer_named(written)
    assert found is not None
    assert found.name == name


def test_no_two_buffers_share_a_name() -> None:
    """Every name and alias leads to its own buffer."""
    for buffer in BUFFERS:
        for name in (buffer.name, *buffer.aliases):
            assert buffer_named(name) is buffer
