"""The charge balance against an independent program, phreeqpython with phreeqc.dat."""

from math import log10
from typing import Any

import phreeqpython
import pytest

from lyewitness.chemistry.bed import MONOMERS, silica_in_medium
from lyewitness.chemistry.equilibria import co2_pressure_atm, equilibrium
from lyewitness.chemistry.records import Composition

WITHOUT_SODIUM_PAIRS = """SOLUTION_SPECIES
Na+ + CO3-2 = NaCO3-
 log_k -20
 delta_h 0
Na+ + HCO3- = NaHCO3
 log_k -20
 delta_h 0
END
"""
"""phreeqc.dat's pairs of sodium with carbonate shift the carbonate pH standard by −0.145."""


@pytest.fixture(scope="module")
def program() -> Any:
    """Return phreeqpython without the pairs that the pH standards contradict."""
    started = phreeqpython.PhreeqPython(database="phreeqc.dat")
    started.ip.run_string(WITHOUT_SODIUM_PAIRS)
    return started


def _solution(program: Any, temperature_C: float, **molal: float) -> Any:
    """Return a solution whose charges are balanced by its pH; nitrogen and carbon in one state each."""
    names = {"N": "N(-3)", "C": "C(4)"}
    recipe = {names.get(name, name): amount for name, amount in molal.items()}
    return program.add_solution({"units": "mol/kgw", "temp": temperature_C, "pH": "9 charge", **recipe})


@pytest.mark.parametrize("temperature_C", [25.0, 60.0])
@pytest.mark.parametrize("added", [0.0, 0.00597, 0.0204, 0.0740, 0.271])
def test_ammonium_bicarbonate_agrees(program: Any, temperature_C: float, added: float) -> None:
    """Ten mmol/kg of ammonium bicarbonate with added ammonia agree within 0.05 (they do within 0.01)."""
    reference = _solution(program, temperature_C, N=0.010 + added, C=0.010)
    found = equilibrium(Composition({"ammonia": 0.010 + added, "carbonate": 0.010}, 0.0), temperature_C)
    assert found.ph == pytest.approx(reference.pH, abs=0.02)


@pytest.mark.parametrize("temperature_C", [10.0, 25.0, 40.0, 60.0])
def test_hydroxide_and_carbonate_agree(program: Any, temperature_C: float) -> None:
    """Sodium hydroxide agrees within 0.005, a carbonate buffer within 0.02."""
    hydroxide = _solution(program, temperature_C, Na=0.010)
    found = equilibrium(Composition({}, 0.010), temperature_C)
    assert found.ph == pytest.approx(hydroxide.pH, abs=0.005)
    carbonate = _solution(program, temperature_C, C=0.020, Na=0.035)
    found = equilibrium(Composition({"carbonate": 0.020}, 0.035), temperature_C)
    assert found.ph == pytest.approx(carbonate.pH, abs=0.02)


@pytest.mark.parametrize("temperature_C", [25.0, 40.0, 60.0])
def test_phosphate_agrees_as_far_as_its_pairs_allow(program: Any, temperature_C: float) -> None:
    """Phosphate agrees within 0.03; phreeqc.dat pairs it with sodium, which is left out here."""
    reference = _solution(program, temperature_C, P=0.020, Na=0.050)
    found = equilibrium(Composition({"phosphate": 0.020}, 0.050), temperature_C)
    assert found.ph == pytest.approx(reference.pH, abs=0.03)


@pytest.mark.parametrize("temperature_C", [25.0, 60.0])
@pytest.mark.parametrize("added", [0.0, 0.0740])
def test_pressure_of_carbon_dioxide_agrees(program: Any, temperature_C: float, added: float) -> None:
    """The pressure of carbon dioxide over ammonium bicarbonate agrees within 5 %."""
    reference = _solution(program, temperature_C, N=0.010 + added, C=0.010)
    composition = Composition({"ammonia": 0.010 + added, "carbonate": 0.010}, 0.0)
    pressure = co2_pressure_atm(composition, equilibrium(composition, temperature_C))
    assert pressure is not None
    assert log10(pressure) == pytest.approx(reference.si("CO2(g)"), abs=0.02)


@pytest.mark.parametrize("temperature_C", [10.0, 25.0, 60.0])
def test_hydroxide_takes_up_as_much_silica(program: Any, temperature_C: float) -> None:
    """Sodium hydroxide saturated with amorphous silica holds the same silica (1 %) at the same pH (0.01)."""
    reference = _solution(program, temperature_C, Na=0.010)
    reference.equalize(["SiO2(a)"], [0.0])
    found = silica_in_medium(Composition({}, 0.010), temperature_C, MONOMERS)
    assert found.silica_mg_kg == pytest.approx(60084.0 * reference.total("Si", "mol"), rel=0.01)
    assert found.ph == pytest.approx(reference.pH, abs=0.01)
