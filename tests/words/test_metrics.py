"""One record a metric, and what derives from it."""

from dataclasses import fields

import pytest

from lyewitness.outputs.tables import MEASUREMENTS, MEASUREMENTS_BESIDE
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import LoggedCondition
from lyewitness.words.metrics import (
    LIMITED,
    METRICS,
    SHOWN,
    axis_words,
    measured,
    metric_name,
    metric_of_marker,
    metric_text,
    places_in,
    unit_of,
)


def test_every_metric_is_measured_or_logged() -> None:
    """A metric is a field of what is measured on a peak or of what the log holds."""
    known = {one.name for record in (PeakRow, LoggedCondition) for one in fields(record)}
    assert [name for name in METRICS if name not in known] == []
    assert set(measured("promised")) <= set(MEASUREMENTS)
    assert set(measured("beside")) <= set(MEASUREMENTS_BESIDE)


def test_the_first_contract_keeps_its_columns_in_their_order() -> None:
    """The columns that were promised first stand in measurements.csv as they were promised."""
    assert measured("promised") == (
        "retention_time_min", "retention_factor", "plate_number_half_height", "plate_number_tangent",
        "plate_number_moments", "plate_number_emg", "symmetry_factor", "asymmetry_10", "resolution",
        "peak_area", "peak_height", "signal_to_noise",
    )  # fmt: skip


@pytest.mark.parametrize("name", SHOWN)
def test_every_shown_metric_is_explained(name: str) -> None:
    """What the page of an injection shows, the page of the method explains."""
    assert METRICS[name].explanation.endswith(".")


def test_a_limit_may_stand_on_what_has_words() -> None:
    """A metric that may be limited is never told by its name in tables."""
    assert [name for name in LIMITED if "_" in metric_name(name)] == []


def test_units_and_axes() -> None:
    """Areas are in the detector's unit times minutes; axes name the unit behind a stroke."""
    assert unit_of("peak_area", "mAU") == "mAU min"
    assert unit_of("peak_area") == ""
    assert unit_of("peak_height", "mAU") == "mAU"
    assert axis_words("peak_area") == "peak area / signal × min"
    assert axis_words("retention_factor") == "retention factor"
    assert axis_words("pressure_bar") == "pressure / bar"


def test_decimals_are_the_metrics_own_or_those_of_four_figures() -> None:
    """Retention has three decimals; heights have four figures in all."""
    assert places_in("retention_time_min", [1234.0]) == 3
    assert places_in("peak_height", [12.3, None]) == 2
    assert places_in("peak_height", []) == 0
    assert metric_text("plate_number_half_height", 9512.4) == "9512"
    assert metric_text("plate_number_half_height", None) == "–"


def test_a_metric_names_its_marker_unless_it_is_of_the_column() -> None:
    """`retention factor of toluene`, but `pressure`."""
    assert metric_of_marker("toluene", "retention_factor") == "retention factor of toluene"
    assert metric_of_marker("", "pressure_bar") == "pressure"
