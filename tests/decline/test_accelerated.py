"""Rates against temperature and pH."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.accelerated import arrhenius
from lyewitness.decline.judging import judge
from lyewitness.decline.records import Judgement
from lyewitness.study.records import Study
from lyewitness.words.constants import GAS_CONSTANT_KJ_MOL_K
from tests.decline.simulated_series import exposures, first_order
from tests.decline.small_study import LIMITS, noisy, study_of, with_values


def test_activation_energy_of_a_textbook_decomposition() -> None:
    """N2O5, k = 4.9e-3, 5.0e-4, 3.5e-5 1/s at 338, 318, 298 K (textbook): 103.48 kJ/mol by least squares.

    The published value takes 8.314 J/(mol K) for the gas constant.
    """
    kelvin = np.array([338.0, 318.0, 298.0])
    line = arrhenius(kelvin - 273.15, np.array([4.9e-3, 5.0e-4, 3.5e-5]))
    energy = line.slope_estimate(0.95, -GAS_CONSTANT_KJ_MOL_K)
    assert energy.value == pytest.approx(103.48 * GAS_CONSTANT_KJ_MOL_K / 8.314e-3, abs=0.0051)
    assert energy.low is not None
    assert energy.high is not None
    assert energy.low < 103.48 < energy.high


def judged(settings: Mapping[str, float], variable: str, life_at: Mapping[float, float]) -> Judgement:
    """Return the judgement of one group whose columns ran at different temperatures or pH."""
    study: Study = study_of({"hybrid": tuple(settings)}, LIMITS[:1])
    columns = tuple(replace(column, **{variable: settings[column.id]}) for column in study.columns)  # type: ignore[arg-type]
    hours, rng = exposures(), np.random.default_rng(2)
    values = {
        (column, "base"): {
            "plate_number_half_height": 9000.0 * noisy(rng, first_order(hours, life_at[setting]), 0.3)
        }
        for column, setting in settings.items()
    }
    return judge(*with_values(replace(study, columns=columns), hours, values))


def arrhenius_life(celsius: float) -> float:
    """Return a life of 100 h at 50 °C with an activation energy of 80 kJ/mol."""
    return float(100.0 * np.exp(80.0 / GAS_CONSTANT_KJ_MOL_K * (1 / (celsius + 273.15) - 1 / 323.15)))


def test_three_temperatures_give_an_activation_energy_and_lives_between_them() -> None:
    """Columns at 50, 60 and 70 °C give back 80 kJ/mol, and the life at 55 °C lies within its interval."""
    settings = {"A": 50.0, "B": 50.0, "C": 60.0, "D": 60.0, "E": 70.0, "F": 70.0}
    found = judged(settings, "temperature_C", {t: arrhenius_life(t) for t in (50.0, 60.0, 70.0)})
    (fit,) = found.accelerated
    assert found.accelerated_reason == ""
    assert (fit.variable, fit.settings) == ("temperature", (50.0, 50.0, 60.0, 60.0, 70.0, 70.0))
    energy = fit.activation_energy_kJ_mol
    assert energy.value == pytest.approx(80.0, abs=5.0)
    assert energy.low is not None
    assert energy.high is not None
    assert energy.low < 80.0 < energy.high
    predicted = dict(fit.predictions)
    assert list(predicted) == [45.0, 50.0, 55.0, 60.0, 65.0, 70.0, 75.0]
    assert predicted[55.0].value == pytest.approx(arrhenius_life(55.0), rel=0.06)
    assert predicted[45.0].reason == predicted[75.0].reason == "outside the tested range"
    assert fit.slope_per_ph.reason == "temperature was varied"


def test_columns_at_other_temperatures_are_no_replicates() -> None:
    """A group life is that of the columns under the commonest stress alone."""
    settings = {"A": 50.0, "B": 50.0, "C": 60.0, "D": 70.0}
    found = judged(settings, "temperature_C", {t: arrhenius_life(t) for t in (50.0, 60.0, 70.0)})
    (life,) = found.group_lives
    assert life.columns == ("A", "B")


def test_three_ph_values_give_a_slope() -> None:
    """A rate that grows tenfold in two pH units has a slope of 0.5."""
    lives = {10.0: 100.0, 10.5: 100.0 / 10**0.25, 11.0: 100.0 / 10**0.5}
    found = judged({"A": 10.0, "B": 10.5, "C": 11.0, "D": 11.0}, "ph", lives)
    (fit,) = found.accelerated
    assert fit.variable == "pH"
    assert fit.slope_per_ph.value == pytest.approx(0.5, abs=0.04)
    assert fit.activation_energy_kJ_mol.value is None


def test_one_stress_says_nothing_of_milder_ones() -> None:
    """A study with one temperature and pH says in words that milder conditions cannot be computed."""
    found = judged({"A": 50.0, "B": 50.0}, "temperature_C", {50.0: 80.0})
    assert found.accelerated == ()
    assert "life at milder conditions cannot be computed" in found.accelerated_reason


def test_two_temperatures_are_too_few() -> None:
    """Two temperatures give no line with an interval, and the sentence says so."""
    found = judged({"A": 50.0, "B": 60.0}, "temperature_C", {50.0: 80.0, 60.0: 40.0})
    assert found.accelerated == ()
    assert "At most 2 temperatures" in found.accelerated_reason
