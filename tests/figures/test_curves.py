"""Declines in the unit in which their limit is stated, on axes that do not blow up noise."""

from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.records import Decline
from lyewitness.figures.curves import curves_of, end_words, in_own_unit, span
from lyewitness.figures.decline_curves import decline_figure
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.study.records import Limit
from tests.figures.making import START, made_report


def _is(decline: Decline, marker: str, metric: str) -> bool:
    return (decline.series.marker, decline.series.metric) == (marker, metric)


@pytest.fixture(scope="module")
def report() -> Report:
    """Return a made-up study of one column a group."""
    return made_report(1, 8)


def test_an_absolute_limit_is_drawn_in_its_own_unit(report: Report) -> None:
    """A symmetry factor with the limit 2 has its rule at 2 and its values around 1.1."""
    declines = [one for one in report.judgement.declines if one.series.metric == "symmetry_factor"]
    assert in_own_unit(declines)
    for one in curves_of(declines, own=True):
        assert one.limit == 2.0
        assert one.value == pytest.approx(one.decline.percent * START["symmetry_factor"] / 100)
        assert one.curve[0] == pytest.approx(1.1)
        assert one.high[0] - one.low[0] == pytest.approx(3 * 1.1 / 100)


def test_a_relative_limit_is_drawn_in_percent(report: Report) -> None:
    """A plate number that may fall to 80 % is drawn in percent of each column's reference."""
    declines = [one for one in report.judgement.declines if one.series.metric == "plate_number_half_height"]
    assert not in_own_unit(declines)
    assert {one.limit for one in curves_of(declines, own=False)} == {80.0}
    both = [*declines[:1], replace(declines[1], limit=Limit("plate_number_half_height", at_least=7000))]
    assert not in_own_unit(both)


def test_own_units_are_told_in_words(report: Report) -> None:
    """Caption, alt text and table of such a figure speak of the value, not of percent."""
    figure = decline_figure(report, look_from({}), "amitrole", "symmetry_factor")
    assert "limit of 2" in figure.caption
    assert "%" not in figure.alt
    declines = [one for one in report.judgement.declines if one.series.column == "A1"]
    (steady,) = curves_of([one for one in declines if _is(one, "amitrole", "symmetry_factor")], own=True)
    assert end_words(steady, own=True) in figure.alt
    assert end_words(steady, own=True).startswith("A1 1.1")


def test_noise_looks_like_noise(report: Report) -> None:
    """What stays within 1 % takes less than a seventh of the axis, and the limit is always on it."""
    decline = next(
        one for one in report.judgement.declines if _is(one, "toluene", "plate_number_half_height")
    )
    hours = decline.curve_h
    steady = replace(
        decline, limit=None, limit_percent=None, percent=100 + 0.5 * np.cos(decline.series.exposure_h),
        curve_percent=np.full(hours.size, 100.0), curve_low=np.full(hours.size, 99.5),
        curve_high=np.full(hours.size, 100.5),
    )  # fmt: skip
    low, high = span(curves_of([steady], own=False))
    assert high - low >= 20.0
    low, high = span(curves_of([replace(steady, limit_percent=60.0)], own=False))
    assert low < 60.0 < 110.0 < high


def test_a_band_may_lengthen_the_axis_but_not_rule_it(report: Report) -> None:
    """A band of ± 8 % is seen whole; one that reaches to 1000 % leaves the picture."""
    decline = next(one for one in report.judgement.declines if one.limit_percent == 80.0)
    near = replace(decline, curve_high=decline.curve_percent + 14.0)
    assert span(curves_of([near], own=False))[1] > near.curve_high.max()
    far = replace(decline, curve_high=np.full(decline.curve_h.size, 1000.0))
    assert span(curves_of([far], own=False))[1] < 130.0


def test_doubtful_peaks_are_hollow_and_lengthen_no_axis(report: Report) -> None:
    """A wild value that was left out as doubtful is drawn at the edge, named in the table and explained."""
    declines = report.judgement.declines
    place = next(i for i, one in enumerate(declines) if _is(one, "amitrole", "plate_number_half_height"))
    whole = declines[place]
    percent = whole.percent.copy()
    percent[-1] = 900.0
    name = whole.series.injections[-1]
    doubted = replace(whole, percent=percent, outlying=(*whole.outlying, name), doubted=(name,))
    (before,), (after,) = curves_of([whole], own=False), curves_of([doubted], own=False)
    assert span([after])[1] < span([before])[1] + 5.0
    changed = replace(report.judgement, declines=(*declines[:place], doubted, *declines[place + 1 :]))
    figure = decline_figure(
        replace(report, judgement=changed), look_from({}), "amitrole", "plate_number_half_height"
    )
    assert "Hollow: doubtful peaks, left out" in figure.caption
    assert "Ringed: outlying injections, shown but left out of curve and life." in figure.caption
    assert (
        "Hollow" not in decline_figure(report, look_from({}), "amitrole", "plate_number_half_height").caption
    )
    assert [row[0] for row in figure.table if row[-1] == "doubtful, left out"] == [name]
