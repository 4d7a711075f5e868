"""Solubility of silica against published values, and what must hold of it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.chemistry.bed import (
    CLUSTERS,
    MONOMERS,
    UNFAVOURABLE,
    USUAL,
    neutral_solubility_mg_kg,
    silica_at_ph,
    silica_in_medium,
)
from lyewitness.chemistry.equilibria import equilibrium
from lyewitness.chemistry.records import Composition, NotComputableError

PHREEQC = {
    25.0: {7.0: 116.8, 9.0: 134.2, 9.5: 173.0, 10.0: 299.6, 10.5: 722.5, 11.0: 2192.0},
    60.0: {7.0: 211.9, 9.0: 298.2, 9.5: 496.6, 10.0: 1172.0, 10.5: 3611.0, 11.0: 13677.0},
}
"""mg SiO2/kg, amorphous silica at a pH kept constant (phreeqpython with phreeqc.dat)."""


@pytest.mark.parametrize(("temperature_C", "published"), [(25, 117.0), (40, 153.3), (60, 211.7), (80, 281.9)])
def test_neutral_silica_is_that_of_fournier_and_rowe(temperature_C: float, published: float) -> None:
    """Solubility in neutral water agrees with the tabulated values (Fournier and Rowe 1977)."""
    assert neutral_solubility_mg_kg(temperature_C) == pytest.approx(published, rel=0.002)


@pytest.mark.parametrize(
    ("temperature_C", "ph", "published"),
    [(t, ph, value) for t, row in PHREEQC.items() for ph, value in row.items()],
)
def test_silica_at_constant_ph_agrees_with_an_independent_program(
    temperature_C: float, ph: float, published: float
) -> None:
    """Within 10 % of phreeqpython from pH 7 to 11 at 25 and 60 °C (found: within 4 %)."""
    assert silica_at_ph(ph, temperature_C).silica_mg_kg == pytest.approx(published, rel=0.10)


@pytest.mark.parametrize(
    ("ph", "measured"), [(8.0, 120.0), (9.0, 138.0), (9.5, 180.0), (10.0, 310.0), (10.6, 876.0)]
)
def test_single_ions_and_clusters_bracket_what_was_measured(ph: float, measured: float) -> None:
    """Without and with clusters the solubility at 25 °C brackets the measured one within 5 % (Alexander,
    Heston and Iler, J. Phys. Chem. 1954, 58, 453; from memory)."""
    assert silica_at_ph(ph, 25.0, MONOMERS).silica_mg_kg < 1.05 * measured
    assert silica_at_ph(ph, 25.0, USUAL).silica_mg_kg > 0.95 * measured


def test_clusters_are_those_of_the_review() -> None:
    """From neutral acids alone the constants are those of the NEA review 1992 (from memory)."""
    published = {(1, 2): -8.1, (2, 2): -19.0, (3, 3): -27.5, (3, 4): -25.5, (4, 4): -36.3}
    for cluster in CLUSTERS:
        from_acids = cluster.log_k - 9.81 * cluster.anions
        assert from_acids == pytest.approx(
            published[cluster.anions, cluster.acids + cluster.anions], abs=0.02
        )


mixtures = st.builds(
    lambda amine, strong: Composition({"pyrrolidine": amine}, -strong * amine),
    st.floats(0.002, 0.05),
    st.floats(0.0, 0.9),
)


@settings(max_examples=40, deadline=None)
@given(mixtures, st.floats(20.0, 90.0))
def test_dissolving_silica_lowers_the_ph_and_stays_below_the_bound(
    composition: Composition, temperature_C: float
) -> None:
    """Saturation lowers the pH, clusters add to single ions, and the bound lies above the estimate."""
    before = equilibrium(composition, temperature_C).ph
    single, usual, bound = (
        silica_in_medium(composition, temperature_C, constants)
        for constants in (MONOMERS, USUAL, UNFAVOURABLE)
    )
    assert usual.ph < before
    assert single.silica_mg_kg <= usual.silica_mg_kg < bound.silica_mg_kg


def test_a_buffer_holds_less_than_a_ph_kept_constant() -> None:
    """The alkali that silicate uses up limits what a buffer can take, far below that at constant pH."""
    composition = Composition({"pyrrolidine": 0.020}, -0.008)
    kept = silica_at_ph(equilibrium(composition, 50.0).ph, 50.0)
    assert silica_in_medium(composition, 50.0).silica_mg_kg < 0.5 * kept.silica_mg_kg


def test_beyond_the_activity_coefficients_nothing_is_given() -> None:
    """At pH 13 silicate would make a solution too strong for any activity coefficient used here."""
    with pytest.raises(NotComputableError, match="too concentrated"):
        silica_at_ph(13.0, 60.0)
