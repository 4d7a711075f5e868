"""Hazards as facts of the conditions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.chemistry.hazards import Circumstances, HazardKind, hazards, solvent_named
from lyewitness.chemistry.protolytes import BUFFERS

SAID = {word: word for word in ("buffer", "ph", "organic", "temperature", "mobile phase")}


def _kinds(
    buffer: str = "borate",
    ph: float | None = 9.0,
    organic: str = "",
    organic_percent: float | None = None,
    temperature_C: float | None = 25.0,
) -> set[HazardKind]:
    here = Circumstances(buffer, ph, organic, organic_percent, temperature_C, SAID)
    return {hazard.kind for hazard in hazards(here)}


def test_ph_eleven_and_a_half_is_where_corrosive_begins() -> None:
    """GHS takes pH 11.5 and above for corrosive for want of better knowledge."""
    assert "corrosive alkali" in _kinds(ph=11.5)
    assert "mild alkali" in _kinds(ph=11.49)


@pytest.mark.parametrize("name", ["pyrrolidine", "triethylammonium acetate", "Diethylamine/HCl, our recipe"])
def test_amines_are_known_by_their_words(name: str) -> None:
    """Free text that names an amine calls for what the amine calls for."""
    assert {"amine vapour", "neat amine flammable"} <= _kinds(name)


def test_quaternary_ammonium_gives_no_ammonia() -> None:
    """Tetrabutylammonium in the name does not bring the caution for ammonia gas."""
    assert "ammonia vapour" not in _kinds("tetrabutylammonium hydroxide")
    assert "ammonia vapour" in _kinds("Ammonium carbonate")


def test_hot_solvent_is_told_from_a_cold_one() -> None:
    """The heated column makes the difference between a flammable and a hot flammable solvent."""
    assert "hot flammable solvent" in _kinds(organic="ACN", temperature_C=60.0)
    assert "flammable solvent" in _kinds(organic="ACN", temperature_C=25.0)
    assert "solvent of unknown hazards" in _kinds(organic="dichloromethane")
    assert "peroxide-forming solvent" in _kinds(organic="THF")


def test_salts_fall_out_of_rich_solvent_only() -> None:
    """Phosphate in 70 % acetonitrile may fall out, in 30 % hardly, an amine never."""
    assert "salt precipitation" in _kinds("phosphate", organic="acetonitrile", organic_percent=70.0)
    assert "salt precipitation" not in _kinds("phosphate", organic="acetonitrile", organic_percent=30.0)
    assert "salt precipitation" not in _kinds("pyrrolidine", organic="acetonitrile", organic_percent=70.0)


def test_strong_alkali_and_acetonitrile_are_warned_of_together() -> None:
    """Hydroxide with acetonitrile calls for a caution that a mild amine with it does not."""
    assert "alkali eats the solvent" in _kinds("sodium hydroxide", ph=None, organic="acetonitrile")
    assert "alkali eats the solvent" in _kinds("piperidine", ph=11.8, organic="acetonitrile")
    assert "alkali eats the solvent" not in _kinds("pyrrolidine", ph=11.2, organic="acetonitrile")
    assert "alkali eats the solvent" not in _kinds("sodium hydroxide", ph=13.0, organic="methanol")


@given(
    st.sampled_from([buffer.name for buffer in BUFFERS]),
    st.floats(8.0, 13.5),
    st.sampled_from(["", "acetonitrile", "methanol"]),
    st.floats(20.0, 90.0),
)
def test_hotter_and_more_alkaline_never_takes_a_caution_away(
    buffer: str, ph: float, organic: str, temperature_C: float
) -> None:
    """Raising pH or temperature adds hazards or sharpens them, and removes none."""
    sharper: dict[HazardKind, HazardKind] = {
        "mild alkali": "corrosive alkali",
        "flammable solvent": "hot flammable solvent",
    }
    before = _kinds(buffer, ph, organic, 30.0, temperature_C)
    after = _kinds(buffer, ph + 0.5, organic, 30.0, temperature_C + 10.0)
    for kind in before:
        assert kind in after or sharper.get(kind) in after


def test_solvents_are_known_by_their_abbreviations() -> None:
    """Usual abbreviations lead to the solvent, and boiling lies above flashing."""
    for written in ("MeCN", "ACN", "acetonitrile", "MeOH", "IPA", "THF"):
        solvent = solvent_named(written)
        assert solvent is not None
        assert solvent.flash_C < solvent.boiling_C
