"""Constants of the buffers against independent sources."""

from math import log10

import pytest

from lyewitness.chemistry.protolytes import PROTOLYTES, pk_at


@pytest.mark.parametrize(
    ("name", "step", "at_25", "at_60"),
    [("carbonate", 0, 6.352, 6.290), ("carbonate", 1, 10.329, 10.144), ("ammonia", 0, 9.244, 8.288)],
)
def test_constants_agree_with_phreeqc_at_both_temperatures(
    name: str, step: int, at_25: float, at_60: float
) -> None:
    """pK at 25 and 60 °C agree with phreeqc.dat within 0.01."""
    ionisation = PROTOLYTES[name].steps[step]
    assert pk_at(ionisation, 25.0) == pytest.approx(at_25, abs=0.002)
    assert pk_at(ionisation, 60.0) == pytest.approx(at_60, abs=0.01)


@pytest.mark.parametrize("temperature_C", [5.0, 20.0, 35.0, 50.0])
def test_ammonium_follows_its_own_equation(temperature_C: float) -> None:
    """pK(NH4⁺) = 2835.76/T − 0.6322 + 0.001225 T (Bates and Pinching; attribution from memory)."""
    t = temperature_C + 273.15
    published = 2835.76 / t - 0.6322 + 0.001225 * t
    assert pk_at(PROTOLYTES["ammonia"].steps[0], temperature_C) == pytest.approx(published, abs=0.01)


@pytest.mark.parametrize("temperature_C", [0.0, 15.0, 40.0, 60.0, 70.0])
def test_bicarbonate_follows_plummer_and_busenberg(temperature_C: float) -> None:
    """The second pK of carbonic acid agrees with Plummer and Busenberg 1982 within 0.02, 0–70 °C."""
    t = temperature_C + 273.15
    log_k = -107.8871 - 0.03252849 * t + 5151.79 / t + 38.92561 * log10(t) - 563713.9 / t**2
    assert pk_at(PROTOLYTES["carbonate"].steps[1], temperature_C) == pytest.approx(-log_k, abs=0.02)


@pytest.mark.parametrize("temperature_C", [0.0, 10.0, 25.0, 40.0, 50.0])
def test_boric_acid_follows_owen(temperature_C: float) -> None:
    """pK = 2237.94/T + 0.016883 T − 3.305 (Owen, J. Am. Chem. Soc. 1934, 56, 1695; from memory)."""
    t = temperature_C + 273.15
    published = 2237.94 / t + 0.016883 * t - 3.305
    assert pk_at(PROTOLYTES["borate"].steps[0], temperature_C) == pytest.approx(published, abs=0.015)


@pytest.mark.parametrize(
    ("name", "step", "published", "per_kelvin"),
    [("piperidine", 0, 11.12, -0.031), ("phosphate", 2, 12.33, None), ("triethylamine", 0, 10.72, None),
     ("CAPS", 0, 10.40, -0.032)],
)  # fmt: skip
def test_constants_agree_with_a_laboratory_table(
    name: str, step: int, published: float, per_kelvin: float | None
) -> None:
    """pK and its slope agree with a table of buffer substances (20 °C for CAPS within 0.3; read in
    'Basic Methods for the Biochemical Lab', table 7.2), as far as its two figures go."""
    ionisation = PROTOLYTES[name].steps[step]
    assert pk_at(ionisation, 25.0) == pytest.approx(published, abs=0.11)
    if per_kelvin is not None:
        slope = pk_at(ionisation, 25.5) - pk_at(ionisation, 24.5)
        assert slope == pytest.approx(per_kelvin, abs=0.005)


@pytest.mark.parametrize(
    ("temperature_C", "published"),
    [(0, 11.963), (10, 11.613), (20, 11.280), (25, 11.123), (30, 10.974), (40, 10.670), (50, 10.384)],
)
def test_piperidine_lies_within_its_stated_bounds(temperature_C: float, published: float) -> None:
    """Piperidinium 0–50 °C (Bates and Bower, J. Res. NBS 1956, 57, 153; from memory) lies well within the
    bounds stated for amines."""
    ionisation = PROTOLYTES["piperidine"].steps[0]
    assert pk_at(ionisation, temperature_C) == pytest.approx(published, abs=0.5 * ionisation.pk_uncertainty)


def test_every_constant_has_source_and_bounds() -> None:
    """No constant stands without a source and an uncertainty of pK, enthalpy and heat capacity."""
    for protolyte in PROTOLYTES.values():
        for step in protolyte.steps:
            assert step.source
            assert min(step.pk_uncertainty, step.enthalpy_uncertainty, step.heat_capacity_uncertainty) > 0.0
