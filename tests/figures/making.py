"""Small made-up studies with everything a figure needs, for the tests of this stage.

In: a seed and counts. Out: a `Report` whose peaks, declines and lives are drawn from stated formulas.
"""

from pathlib import Path

import numpy as np

from lyewitness.decline.records import (
    Decline,
    FirstFailure,
    GroupLife,
    Judgement,
    Life,
    ModelFit,
    Series,
)
from lyewitness.figures import drawing
from lyewitness.figures.records import Figure
from lyewitness.figures.style import Look
from lyewitness.findings.records import Answer, Findings, Report
from lyewitness.peaks.records import Measurements, PeakOutline, PeakRow
from lyewitness.study.records import (
    Column,
    Conditions,
    Injection,
    Limit,
    LoggedCondition,
    Marker,
    Question,
    Study,
)
from lyewitness.traces.records import Trace
from lyewitness.words.estimates import Estimate

GROUPS = ("hybrid", "coated silica", "core-shell hybrid surface")
RATES_PER_H = (0.0003, 0.0035, 0.02)
DELAYS_H = (0.0, 0.0, 70.0)
LIMITS = (
    Limit("plate_number_half_height", at_least_percent=80),
    Limit("retention_factor", at_least_percent=90),
    Limit("symmetry_factor", at_most=2.0),
)
MARKERS = (
    Marker("uracil", "void", 0.5),
    Marker("toluene", "neutral", 2.1),
    Marker("amitrole", "base", 3.4, pka=9.6),
)
END_H = 120.0
START = {"plate_number_half_height": 9000.0, "retention_factor": 5.8, "symmetry_factor": 1.1}
"""Reference value by metric."""


def made_study(columns: int = 3, injections: int = 20, groups: tuple[str, ...] = GROUPS) -> Study:
    """Return a study of `groups` with `columns` columns each and `injections` injections a column."""
    made = tuple(
        Column(
            f"{chr(65 + g)}{c + 1}", f"{group} {c + 1}", group, "other", length_mm=50, inner_diameter_mm=2.1
        )
        for g, group in enumerate(groups)
        for c in range(columns)
    )
    placed = tuple(
        Injection(
            f"{column.id}-{hours:06.2f}",
            f"chromatograms/{column.id}-{i}.csv",
            column.id,
            exposure_h=float(hours),
        )
        for column in made
        for i, hours in enumerate(np.linspace(0.0, END_H, injections))
    )
    logged = tuple(
        LoggedCondition(
            column.id,
            exposure_h=float(h),
            pressure_bar=300 + c * 5 + h * 0.4,
            temperature_C=50 + 0.1 * (h % 3),
        )
        for c, column in enumerate(made)
        for h in np.linspace(0, END_H, 25)
    )
    return Study(
        folder=Path("made"), id="made", title="Made", questions=(Question("q", "Which lasts longest?"),),
        stress=Conditions("pyrrolidine", 20, 11.3, 25, temperature_C=50, flow_mL_min=0.4), test=Conditions(),
        columns=made, markers=MARKERS, limits=LIMITS, injections=placed, conditions=logged,
    )  # fmt: skip


def made_trace(
    injection: Injection, plates: float, shrink: float, points: int = 3000
) -> tuple[Trace, list[PeakOutline]]:
    """Return a trace of three Gaussians on a drifting baseline, and where they stand."""
    time = np.linspace(0.0, 5.0, points)
    seed = sum(ord(letter) * (i + 1) for i, letter in enumerate(injection.id))
    signal = np.random.default_rng(seed).normal(0.0, 0.25, points) + 2.0 + 0.3 * time
    outlines = []
    for marker, height in zip(MARKERS, (60.0, 220.0, 150.0), strict=True):
        assert isinstance(marker.retention_min, float)
        apex = 0.5 + (marker.retention_min - 0.5) * shrink
        sigma = apex / np.sqrt(plates)
        signal += height * np.exp(-0.5 * ((time - apex) / sigma) ** 2)
        floor = 2.0 + 0.3 * apex
        outlines.append(
            PeakOutline(
                apex - 4 * sigma, apex + 4 * sigma, floor - 1.2 * sigma, floor + 1.2 * sigma,
                apex, floor + height,
                apex - 1.17741 * sigma, apex + 1.17741 * sigma, floor + height / 2,
            )
        )  # fmt: skip
    trace = Trace(injection.file, "", time, signal, "mAU", "min", "delimited text", "0" * 64)
    return trace, outlines


def made_report(
    columns: int = 3, injections: int = 20, groups: tuple[str, ...] = GROUPS, points: int = 3000
) -> Report:
    """Return a whole report on `made_study`."""
    study = made_study(columns, injections, groups)
    traces, rows = {}, []
    for injection in study.injections:
        column = study.column(injection.column)
        group = study.groups.index(column.group)
        left = remaining(group, float(injection.exposure_h or 0.0), column)
        trace, outlines = made_trace(injection, 9000 * left, 0.7 + 0.3 * left, points)
        traces[injection.id] = trace
        rows += [
            made_row(injection, column, marker, outline, left)
            for marker, outline in zip(MARKERS, outlines, strict=True)
        ]
    declines = tuple(
        made_decline(study, column, marker.id, limit)
        for column in study.columns
        for marker in MARKERS[1:]
        for limit in LIMITS
    )
    lives = tuple(
        made_life(
            group, marker.id, limit, [one for one in declines if _is(one, group, marker.id, limit.metric)]
        )
        for group in study.groups
        for marker in MARKERS[1:]
        for limit in LIMITS
    )
    failures = tuple(
        FirstFailure(column.id, column.group, "", "", Life("not reached")) for column in study.columns
    )
    judgement = Judgement(declines, lives, failures, (), deciding=("amitrole", "plate_number_half_height"))
    answer = Answer(study.questions[0], "", "", (), ())
    return Report(
        study, traces, Measurements(tuple(rows)), judgement, Findings((answer,), (), (), (), ()), ()
    )


def drawn_by(function: str, report: Report, look: Look) -> list[Figure]:
    """Return what one drawing function makes of a report, such as `decline_figure`, as `draw_figures` has it.

    For who asks after figures of one kind: all that a report has take twenty times as long.
    """
    own = [one for one in drawing.drawings_of(report, look) if one.source[0] == function]
    assert own, function
    return [figure for one in own for figure in drawing._drawn(one)]


def remaining(group: int, hours: float, column: Column) -> float:
    """Return the share of plates left: first order after a delay, columns of a group 8 % apart."""
    faster = 1.0 + 0.08 * (int(column.id[1:]) - 2)
    lost = max(0.0, hours - DELAYS_H[group % 3] * (2.0 - faster)) * RATES_PER_H[group % 3] * faster
    return float(np.exp(-lost))


def made_row(
    injection: Injection, column: Column, marker: Marker, outline: PeakOutline, left: float
) -> PeakRow:
    """Return a row as the measuring stage would, for the fields that figures read."""
    return PeakRow(
        injection.id, column.id, column.group, marker.id, float(injection.exposure_h or 0.0), None,
        True, True,
        confidence=1.0, retention_time_min=outline.apex_min, plate_number_half_height=9000 * left,
        retention_factor=outline.apex_min / 0.5 - 1, symmetry_factor=1.1 / left,
        peak_area=10.0, peak_height=200.0,
        asymmetry_10=1.2 / left, signal_to_noise=300.0, hold_up_time_min=0.5, outline=outline,
    )  # fmt: skip


def made_decline(study: Study, column: Column, marker: str, limit: Limit) -> Decline:
    """Return a decline with a band, one outlying injection and the life its formula gives."""
    group = study.groups.index(column.group)
    own = [one for one in study.injections if one.column == column.id]
    hours = np.array([one.exposure_h for one in own], dtype=float)
    noise = np.random.default_rng(ord(column.id[0]) + int(column.id[1:])).normal(0.0, 0.8, hours.size)
    power = {"plate_number_half_height": 1.0, "retention_factor": 0.25, "symmetry_factor": -0.8}[limit.metric]

    def curve(at: np.ndarray) -> np.ndarray:
        return np.array([100 * remaining(group, float(hour), column) ** power for hour in at])

    percent = curve(hours) + noise
    bound = (
        limit.at_least_percent
        if limit.at_least_percent is not None
        else 100 * (limit.at_most or 0.0) / START[limit.metric]
    )
    fine = np.linspace(0.0, END_H, 61)
    passed = np.flatnonzero((curve(fine) < bound) if power > 0 else (curve(fine) > bound))
    life = Life("not reached", Estimate(low=END_H, reason="limit not reached"))
    if passed.size:
        when = float(fine[passed[0]])
        life = Life("reached", Estimate(when, when * 0.94, when * 1.06))
    series = Series(
        column.id,
        column.group,
        marker,
        limit.metric,
        tuple(one.id for one in own),
        hours,
        hours * 240.0,
        percent * START[limit.metric] / 100,
    )
    end = float(curve(hours[-1:])[0])
    return Decline(
        series,
        reference_value=START[limit.metric],
        reference_sd=0.004 * START[limit.metric],
        reference_n=3,
        percent=percent,
        outlying=(own[len(own) // 3].id,),
        model=ModelFit("first order", {}, 10.0, 0.8),
        curve_h=fine,
        curve_percent=curve(fine),
        curve_low=curve(fine) - 1.5,
        curve_high=curve(fine) + 1.5,
        residuals=noise,
        serial_correlation=0.1,
        end_h=END_H,
        remaining=Estimate(end, end - 1.5, end + 1.5),
        rate_per_h=Estimate(RATES_PER_H[group % 3]),
        limit=limit,
        limit_percent=bound,
        life=life,
    )


def made_life(group: str, marker: str, limit: Limit, declines: list[Decline]) -> GroupLife:
    """Return a group's life from its columns' lives."""
    lives = [one.life.hours.value for one in declines if one.life.hours.value is not None]
    states = tuple(one.life.state for one in declines)
    life = Life("not reached", Estimate(low=END_H, reason="limit not reached"))
    if len(lives) == len(declines):
        middle = float(np.median(lives))
        life = Life("reached", Estimate(middle, 0.85 * middle, 1.2 * middle))
    ids = tuple(one.series.column for one in declines)
    steps = tuple(sorted(lives))
    shares = tuple(1 - (i + 1) / len(declines) for i in range(len(steps)))
    return GroupLife(
        group, marker, limit.metric, limit, ids, states, life, min(lives, default=None),
        tested_to_h=END_H, survival_h=(0.0, *steps), survival=(1.0, *shares),
    )  # fmt: skip


def _is(decline: Decline, group: str, marker: str, metric: str) -> bool:
    return (decline.series.group, decline.series.marker, decline.series.metric) == (group, marker, metric)
