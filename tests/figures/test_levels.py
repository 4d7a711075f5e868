"""Axes on which noise looks like noise, and uncertainty wherever something was estimated."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.decline.records import AcceleratedFit, Life
from lyewitness.figures.effects import accelerated_figures
from lyewitness.figures.events import level_axis, logged_figures, stated_value
from lyewitness.figures.lives import draw_lives, lives_figures
from lyewitness.figures.multiples import marker_figure
from lyewitness.figures.sheets import KEY_PX, applied, key_places
from lyewitness.figures.style import look_from
from lyewitness.words.estimates import Estimate
from tests.figures.making import made_report
from tests.figures.reading import keep_words_as_text, words_of

LOOK = look_from({})
AREA = b"fill-opacity: 0.13"
"""How a band is drawn."""


@given(st.sampled_from(["temperature_C", "ph", "flow_mL_min", "pressure_bar"]),
       st.lists(st.floats(0.1, 400), min_size=1, max_size=9))  # fmt: skip
def test_what_was_logged_lies_within_its_axis(metric: str, values: list[float]) -> None:
    """All values are seen, and the axis is never narrower than what matters."""
    low, high = level_axis(metric, values)
    assert low < min(values)
    assert max(values) < high
    least = {"temperature_C": 6.0, "ph": 0.6}.get(metric, 0.1 * (min(values) + max(values)) / 2)
    assert high - low >= least - 1e-9


def test_half_a_degree_looks_steady() -> None:
    """60.0 ± 0.2 °C takes less than a tenth of the axis, pH 11.00 ± 0.02 likewise."""
    low, high = level_axis("temperature_C", [59.8, 60.2])
    assert 0.4 / (high - low) < 0.1
    low, high = level_axis("ph", [10.98, 11.02])
    assert 0.04 / (high - low) < 0.1


def test_logged_values_stand_beside_what_was_stated(monkeypatch: pytest.MonkeyPatch) -> None:
    """The stress was stated at 50 °C for all columns: a rule on the axis of temperature, and words for it."""
    keep_words_as_text(monkeypatch)
    report = made_report(1, 3)
    columns = [column.id for column in report.study.columns]
    assert stated_value(report, "temperature_C", columns) == 50.0
    figures = {one.id: one for one in logged_figures(report, LOOK)}
    words = {one.text for one in words_of(figures["conditions"].data, LOOK)}
    assert "temperature / °C (dashed: stated 50\u2009°C)" in words
    hotter = (replace(report.study.columns[0], temperature_C=70.0), *report.study.columns[1:])
    varied = replace(report, study=replace(report.study, columns=hotter))
    assert stated_value(varied, "temperature_C", columns) is None


def test_every_panel_has_its_own_numbers_and_its_bands(monkeypatch: pytest.MonkeyPatch) -> None:
    """A metric that doubles does not flatten one that loses a tenth: each panel counts for itself."""
    report = made_report(1, 8)
    figure = marker_figure(report, LOOK, "amitrole")
    assert figure is not None
    assert figure.data.count(AREA) == 9
    keep_words_as_text(monkeypatch)
    again = marker_figure(report, LOOK, "amitrole")
    assert again is not None
    words = [one.text for one in words_of(again.data, LOOK)]
    assert words.count("exposure / h") == 3
    assert {"limit 80\u2009%", "limit 90\u2009%", "limit 2"} <= set(words)


def test_a_key_takes_as_many_rows_as_its_names_need() -> None:
    """Twelve names stand on several rows, none beyond the right edge; two names on one."""
    inks = {f"a rather long name {i}": LOOK.group(i) for i in range(12)}
    places = key_places(inks, LOOK)
    assert places[-1][0] >= 3
    for name, (_, left) in zip(inks, places, strict=True):
        assert left + 33 + LOOK.words_width(name) <= LOOK.width_px
    assert [row for row, _ in key_places(dict(list(inks.items())[:2]), LOOK)] == [0, 0]
    assert LOOK.label_px < KEY_PX


def test_the_slope_of_rates_has_a_band() -> None:
    """Where the activation energy has an interval the line has a band, and none where it has not."""
    report = made_report(1, 2)
    fit = AcceleratedFit(
        "hybrid", "amitrole", "retention_factor", "temperature", (25.0, 45.0, 65.0), (0.01, 0.1, 0.7),
        activation_energy_kJ_mol=Estimate(90.0, 80.0, 100.0),
    )  # fmt: skip
    drawn = [
        accelerated_figures(replace(report, judgement=replace(report.judgement, accelerated=(one,))), LOOK)[0]
        for one in (fit, replace(fit, activation_energy_kJ_mol=Estimate(90.0)))
    ]
    assert [AREA in one.data for one in drawn] == [True, False]


def test_a_column_whose_life_is_only_an_interval_is_drawn() -> None:
    """A column that failed before its first injection has a line from 0 h to that injection."""
    report = made_report(1, 3)
    life = Life("reached", Estimate(low=0.0, high=60.0))
    lives = [one for one in report.judgement.group_lives if one.group == "hybrid"][:1]
    own = [one for one in report.judgement.declines if one.series.group == "hybrid"][:1]
    unknown = [replace(own[0], life=Life("not measured"))]
    with applied(LOOK):
        with_line = draw_lives(lives, [replace(own[0], life=life)], ("hybrid",), LOOK)[0]
        without = draw_lives(lives, unknown, ("hybrid",), LOOK)[0]
    assert len(with_line) > len(without)


def test_lives_of_long_names_make_room() -> None:
    """A name of forty letters gets a second line, and its row the height for it."""
    short, long = (
        made_report(1, 3, (name,)) for name in ("hybrid", "a group with a name of forty letters abcd")
    )
    heights = [
        (figure.height_px, figure.narrow_height_px)
        for report in (short, long)
        for figure in lives_figures(report, LOOK)
    ]
    assert heights[1][1] > heights[0][1]
    assert heights[1][0] >= heights[0][0]


def test_a_flat_log_has_an_axis_of_some_length() -> None:
    """A value of 0 throughout (a flow that was never on) is drawn without division by zero."""
    low, high = level_axis("flow_mL_min", [0.0, 0.0])
    assert np.isfinite([low, high]).all()
    assert high > low
