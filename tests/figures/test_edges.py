"""Figures of studies in which something is missing, broken or strange."""

import re
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.records import AcceleratedFit, Decline, Life
from lyewitness.figures.drawing import draw_figures
from lyewitness.figures.records import Figure
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Answer, Findings, Report
from lyewitness.peaks.records import Measurements
from lyewitness.store import store_of_user
from lyewitness.study.records import Limit, LoggedCondition, Question
from lyewitness.words.estimates import Estimate
from lyewitness.words.names import slug
from lyewitness.words.numbers import stated
from tests.figures.making import drawn_by, made_report

LOOK = look_from({})


def drawn(report: Report) -> dict[str, Figure]:
    """Return the report's figures by id."""
    # What a test leaves as it is was drawn for another one.
    return {figure.id: figure for figure in draw_figures(report, LOOK, store_of_user())}


def by_id(function: str, report: Report) -> dict[str, Figure]:
    """Return what one drawing function makes of the report, by id."""
    return {figure.id: figure for figure in drawn_by(function, report, LOOK)}


def with_declines(report: Report, declines: tuple[Decline, ...]) -> Report:
    """Return the report with other declines."""
    return replace(report, judgement=replace(report.judgement, declines=declines))


def test_a_study_without_results_still_shows_its_traces() -> None:
    """Without declines and lives there are traces, chromatograms and logs, and nothing fails."""
    report = made_report(1, 3)
    bare = replace(
        report,
        measurements=Measurements(()),
        judgement=replace(report.judgement, declines=(), group_lives=(), deciding=("", "")),
    )
    ids = drawn(bare)
    assert "lives" not in ids
    assert not [one for one in ids if one.startswith(("decline", "column", "marker", "residuals"))]
    assert len([one for one in ids if one.startswith("trace-")]) == 9


def test_one_injection_a_column_is_enough_to_draw() -> None:
    """A single injection at hour 0 gives axes of some length, and no comparison of first and last."""
    ids = drawn(made_report(1, 1))
    assert "lives" in ids
    assert not [one for one in ids if one.startswith(("first-last", "waterfall"))]


def test_missing_fits_leave_points_joined() -> None:
    """Where no curve was fitted the points are joined, and the caption says so."""
    report = made_report(1, 5)
    nothing = np.empty(0)
    bare = tuple(
        replace(
            one, model=None, curve_h=nothing, curve_percent=nothing, curve_low=nothing, curve_high=nothing,
            residuals=nothing, remaining=Estimate(reason="too few points"), life=Life("not measured"),
        )
        for one in report.judgement.declines
    )  # fmt: skip
    ids = drawn(with_declines(report, bare))
    assert "Points: injections, joined for each column." in ids["decline-toluene-retention_factor"].caption
    assert "residuals" not in ids


def test_lives_that_are_unclear_or_not_measured_say_why() -> None:
    """An unclear life shows its interval, one that was not measured its reason."""
    report = made_report(1, 5)
    lives = list(report.judgement.group_lives)
    place = [i for i, one in enumerate(lives) if (one.marker, one.metric) == report.judgement.deciding]
    lives[place[0]] = replace(lives[place[0]], life=Life("unclear", Estimate(low=30.0, high=90.0)))
    lives[place[1]] = replace(
        lives[place[1]], life=Life("not measured", Estimate(reason="no peak was found"))
    )
    figure = drawn(replace(report, judgement=replace(report.judgement, group_lives=tuple(lives))))["lives"]
    assert "between 30 and 90\u2009h" in figure.alt
    assert "no peak was found" in figure.alt


def test_peaks_that_were_not_found_are_named_with_their_reason() -> None:
    """The caption of a trace names absent markers, and the injections left out with the study's reason."""
    report = made_report(1, 3)
    rows = list(report.measurements.rows)
    rows[1] = replace(rows[1], found=False, outline=None, absent_because="nothing above the noise")
    left_out = (replace(report.study.injections[0], used=False, why="leak"), *report.study.injections[1:])
    changed = replace(
        report, measurements=Measurements(tuple(rows)), study=replace(report.study, injections=left_out)
    )
    caption = drawn(changed)[f"trace-{slug(left_out[0].id)}"].caption
    assert "Not found: toluene (nothing above the noise)." in caption
    assert "Left out of every computation: leak." in caption


def test_names_cannot_break_a_figure() -> None:
    """Names with markup, dollar signs and brackets are drawn as they are written."""
    report = made_report(1, 3, groups=("<b>$x^2$ & co", "Ünïcode µ \u2265 5", 'quote " and \\frac'))
    for figure in drawn(report).values():
        assert re.fullmatch(r"[A-Za-z0-9_-]+", figure.id)
        assert re.fullmatch(r"[A-Za-z0-9_/.-]+", figure.file)
        assert b"<b>" not in figure.data


def test_ids_that_differ_in_case_alone_do_not_overwrite_each_other() -> None:
    """Two injections called a1 and A1 have two files on every disk."""
    report = made_report(1, 2, groups=("one",))
    first, second = report.study.injections
    ids = ("X1", "x1")
    study = replace(report.study, injections=(replace(first, id=ids[0]), replace(second, id=ids[1])))
    traces = dict(zip(ids, report.traces.values(), strict=True))
    files = [one.file.lower() for one in draw_figures(replace(report, study=study, traces=traces), LOOK)]
    assert len(set(files)) == len(files)


def test_limits_in_the_own_unit_are_a_band_of_percentages() -> None:
    """Columns of different reference values have one limit at different percentages: a band, said so."""
    report = made_report(1, 5)
    moved = tuple(
        replace(one, limit_percent=(one.limit_percent or 0.0) * (1 + 0.02 * i))
        if one.series.metric == "symmetry_factor"
        else one
        for i, one in enumerate(report.judgement.declines)
    )
    assert drawn(with_declines(report, moved))["decline-toluene-symmetry_factor"].data


def test_a_flat_trace_is_drawn() -> None:
    """A detector that was off gives a straight line and no division by zero."""
    report = made_report(1, 2, groups=("one",))
    flat = {name: replace(trace, signal=np.zeros(trace.signal.size)) for name, trace in report.traces.items()}
    ids = drawn(replace(report, traces=flat, measurements=Measurements(())))
    assert len([one for one in ids if one.startswith("trace-")]) == 2


def test_a_question_about_other_groups_has_its_own_lives() -> None:
    """A second question about two of the groups gets a figure with these two alone."""
    report = made_report(1, 5)
    asked = Question("second", "And of the two?", groups=report.study.groups[:2])
    answers = (report.findings.answers[0], Answer(asked, "", "", (), ()))
    ids = by_id("lives_figures", replace(report, findings=Findings(answers, (), (), (), ())))
    assert report.study.groups[2] in ids["lives"].alt
    assert report.study.groups[2] not in ids["lives-second"].alt


def test_survival_is_drawn_where_there_are_five_columns() -> None:
    """Kaplan–Meier needs five columns in a group; with three there is none."""
    assert not by_id("survival_figures", made_report(3, 4))
    figure = by_id("survival_figures", made_report(5, 4))["survival-amitrole-plate_number_half_height"]
    assert "hybrid 100\u2009% (47 to 100) of 5 columns" in figure.alt


def test_logged_volumes_and_hours_meet_on_one_axis() -> None:
    """A log in millilitres is drawn in hours by the flow of the stress: 24 mL at 0.4 mL/min are 1 h."""
    report = made_report(1, 3, groups=("one",))
    logged = tuple(LoggedCondition("A1", exposure_mL=24.0 * i, pressure_bar=100.0 + i) for i in range(4))
    figure = by_id("logged_figures", replace(report, study=replace(report.study, conditions=logged)))[
        "pressure"
    ]
    assert [row[3] for row in figure.table[1:]] == ["0", "1", "2", "3"]
    assert not by_id("logged_figures", replace(report, study=replace(report.study, conditions=())))


def test_rates_at_three_temperatures_lie_on_the_arrhenius_line() -> None:
    """N2O5: 3.5e-5, 5.0e-4, 4.9e-3 s⁻¹ at 298, 318, 338 K, 103.48 kJ/mol (textbook, by least squares)."""
    report = made_report(1, 3)
    rates = tuple(3600 * rate for rate in (3.5e-5, 5.0e-4, 4.9e-3))
    fit = AcceleratedFit(
        report.study.groups[0], "amitrole", "retention_factor", "temperature", (24.85, 44.85, 64.85), rates,
        activation_energy_kJ_mol=Estimate(103.48, 100.0, 107.0),
    )  # fmt: skip
    changed = replace(report, judgement=replace(report.judgement, accelerated=(fit,)))
    figure = by_id("accelerated_figures", changed)["accelerated-amitrole-retention_factor"]
    assert "103\u2009kJ/mol (100 to 107)" in figure.caption


def test_a_trace_of_pure_noise_stays_small() -> None:
    """30,000 points of noise are drawn in less than 25 KB."""
    report = made_report(1, 1, groups=("one",))
    noise = np.random.default_rng(1).normal(0, 1, 30_000)
    traces = {
        name: replace(trace, time_min=np.linspace(0, 9, noise.size), signal=noise)
        for name, trace in report.traces.items()
    }
    (figure,) = [one for one in drawn(replace(report, traces=traces)).values() if one.id.startswith("trace-")]
    assert len(figure.data) < 25_000


def test_large_studies_stay_small() -> None:
    """With 200 injections a column no figure is larger than 300 KB and no trace larger than 25 KB."""
    for figure in draw_figures(made_report(1, 200), LOOK):
        assert len(figure.data) <= (25_000 if figure.id.startswith("trace-") else 300_000)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.0, "0"),
        (80.0, "80"),
        (2.5, "2.5"),
        (0.05, "0.05"),
        (100.0, "100"),
        (30_000.0, "30\u2009000"),
        (-3.0, "\u22123"),
    ],
)
def test_stated_numbers_keep_their_figures(value: float, expected: str) -> None:
    """A limit of 80 is written 80, not 80.0."""
    assert stated(value) == expected


def test_two_limits_on_one_metric_are_two_rules() -> None:
    """Columns judged by different limits of one metric show both."""
    report = made_report(2, 5)
    other = Limit("retention_factor", at_least_percent=70)
    mixed = tuple(
        replace(one, limit=other, limit_percent=70.0)
        if one.series.metric == "retention_factor" and one.series.column.endswith("1")
        else one
        for one in report.judgement.declines
    )
    one, two = (
        by_id("decline_figure", each)["decline-toluene-retention_factor"].data
        for each in (report, with_declines(report, mixed))
    )
    assert len(two) > len(one)
