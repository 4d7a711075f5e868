"""Ionisation of the markers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.chemistry.equilibria import (
    IonisableRole,
    ionised,
    ionised_share,
    pka_at,
    retention_change_percent,
)
from lyewitness.words.estimates import Estimate

roles: st.SearchStrategy[IonisableRole] = st.sampled_from(["base", "acid"])


@pytest.mark.parametrize(
    ("ph_above_pka", "base", "acid"),
    [(-2, 0.990, 0.010), (-1, 0.909, 0.091), (0, 0.5, 0.5), (1, 0.091, 0.909)],
)
def test_shares_are_those_of_every_textbook(ph_above_pka: float, base: float, acid: float) -> None:
    """One unit from the pKa eleven parts in twelve are on one side (common practice)."""
    assert ionised_share(9.0 + ph_above_pka, 9.0, "base") == pytest.approx(base, abs=0.001)
    assert ionised_share(9.0 + ph_above_pka, 9.0, "acid") == pytest.approx(acid, abs=0.001)


@pytest.mark.parametrize(
    ("role", "at_25", "temperature_C", "published", "source"),
    [
        ("base", 9.498, 50.0, 8.81, "ethanolamine, Bates and Pinching 1951; from memory"),
        ("base", 9.245, 50.0, 8.54, "ammonia, Bates and Pinching; from memory"),
        ("base", 11.123, 50.0, 10.384, "piperidine, Bates and Bower 1956; from memory"),
        ("base", 6.99, 50.0, 6.51, "imidazole, ΔH 36.6 kJ/mol, Goldberg et al. 2002; from memory"),
        ("base", 5.20, 50.0, 4.94, "pyridine, ΔH 20.1 kJ/mol; from memory"),
        ("acid", 9.99, 50.0, 9.67, "phenol, ΔH 23.6 kJ/mol; from memory"),
        ("acid", 4.20, 50.0, 4.22, "benzoic acid, ΔH 0.4 kJ/mol; from memory"),
    ],
)
def test_range_of_enthalpies_holds_known_compounds(
    role: IonisableRole, at_25: float, temperature_C: float, published: float, source: str
) -> None:
    """The bounds of the pKa when hot hold compounds whose value is known."""
    pka = pka_at(at_25, role, temperature_C)
    assert pka.low is not None
    assert pka.high is not None
    assert pka.low <= published <= pka.high, source


@given(st.floats(7.0, 12.0), st.floats(6.0, 12.0), st.floats(20.0, 90.0), roles)
def test_bounds_hold_the_share(ph: float, pka: float, temperature_C: float, role: IonisableRole) -> None:
    """The ionised share lies between its bounds and between nothing and all."""
    share = ionised(Estimate(ph, ph - 0.1, ph + 0.1), pka_at(pka, role, temperature_C), role)
    assert share.value is not None
    assert share.low is not None
    assert share.high is not None
    assert 0.0 <= share.low <= share.value <= share.high <= 1.0


def test_an_unknown_ph_gives_no_share_but_its_reason() -> None:
    """Without a pH the share has no value and says why."""
    assert ionised(Estimate(reason="no buffer is stated"), Estimate(9.0, 8.9, 9.1), "base").reason == (
        "no buffer is stated"
    )


@given(st.floats(6.0, 12.0), st.floats(6.0, 12.0))
def test_retention_of_bases_rises_and_of_acids_falls_with_ph(ph: float, pka: float) -> None:
    """0.1 pH moves retention by at most 10^0.1 − 1 = 26 % up for a base and 21 % down for an acid."""
    assert 0.0 <= retention_change_percent(ph, pka, "base") <= 25.9 + 0.02
    assert -20.6 - 0.02 <= retention_change_percent(ph, pka, "acid") <= 0.0
