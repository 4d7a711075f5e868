"""The whole stage: from traces to rows."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lyewitness.peaks import measuring
from lyewitness.peaks.measuring import measure
from lyewitness.peaks.rows.local_fits import fit_locally
from lyewitness.store import Store, digest_of
from lyewitness.study.records import Study
from lyewitness.traces.records import Trace
from tests.peaks.signals import as_trace, study_of, trace_of

MARKERS = {"uracil": 0.3, "caffeine": 1.2, "metoprolol": 2.4}


def fresh_peaks(scale: float = 1.0) -> list[tuple[float, float, float, float]]:
    """Return the three markers of a fresh column."""
    return [
        (2.0 * scale, 0.3, 0.005, 0.002),
        (3.0 * scale, 1.2, 0.012, 0.004),
        (4.0 * scale, 2.4, 0.022, 0.012),
    ]


def test_every_injection_and_marker_has_one_row_in_order() -> None:
    """Rows stand in the order of injections and markers, left-out injections too, measured all the same."""
    study = study_of(MARKERS, [0.0, 10.0, 20.0], unused=[1])
    traces = {f"i00{i}": trace_of(fresh_peaks(), noise=0.1, seed=i) for i in range(3)}
    rows = measure(study, traces).rows
    assert [(row.injection, row.marker) for row in rows] == [
        (i.id, m.id) for i in study.injections for m in study.markers
    ]
    assert [row.used for row in rows] == [True] * 3 + [False] * 3 + [True] * 3
    assert all(row.found for row in rows)


def test_exposure_in_column_volumes_comes_from_the_hold_up_time() -> None:
    """Exposure is hours × flow ÷ (hold-up time × flow of the test), by the definition of column volumes."""
    study = study_of(MARKERS, [0.0, 10.0])
    rows = measure(study, {f"i00{i}": trace_of(fresh_peaks(), noise=0.1, seed=i) for i in range(2)}).rows
    hold_up = rows[0].hold_up_time_min
    assert hold_up is not None
    assert 0.3 < hold_up < 0.302
    assert rows[-1].exposure_h == 10.0
    assert rows[-1].exposure_cv == pytest.approx(600.0 / hold_up, rel=0.002)


def test_an_injection_without_a_trace_says_so() -> None:
    """A trace that is missing from the mapping gives rows that are not found, with the reason."""
    rows = measure(study_of(MARKERS, [0.0, 10.0]), {"i000": trace_of(fresh_peaks(), noise=0.1)}).rows
    assert [row.found for row in rows] == [True] * 3 + [False] * 3
    assert {row.absent_because for row in rows[3:]} == {"the injection has no trace"}


def test_an_empty_trace_has_no_peaks() -> None:
    """Noise on a drifting baseline holds no peak at all, and each absent marker has a reason."""
    time = np.arange(0.0, 4.0, 1.0 / 1200.0)
    found = measure(study_of(MARKERS, [0.0]), {"i000": trace_of([], noise=0.1, drift=np.sin(time) + time)})
    assert not any(row.found for row in found.rows)
    assert all(row.absent_because for row in found.rows)
    assert found.unassigned["i000"] == ()


def test_progress_is_told_until_all_traces_are_done() -> None:
    """The callback hears of growing numbers, the last of them all traces."""
    study = study_of(MARKERS, [float(step) for step in range(70)])
    trace = trace_of(fresh_peaks(), noise=0.1)
    heard: list[tuple[int, int]] = []
    measure(study, {i.id: trace for i in study.injections}, lambda done, all_: heard.append((done, all_)))
    assert heard[-1] == (70, 70)
    assert heard == sorted(heard)
    assert len(heard) > 1


def test_without_a_hold_up_marker_the_dimensions_count() -> None:
    """Column volumes then rest on an estimate from length and diameter, and the record says so."""
    study = study_of(MARKERS, [0.0, 10.0], void="none")
    found = measure(study, {i.id: trace_of(fresh_peaks(), noise=0.1) for i in study.injections})
    volume = found.void_volumes["H1"]
    # π/4 · (2.1 mm)² · 50 mm is 173.2 µL of empty column; 0.65 of it is mobile phase (from memory).
    assert volume.volume_mL == pytest.approx(0.65 * 0.1732, rel=1e-3)
    assert "porosity" in volume.origin
    assert found.rows[-1].exposure_cv == pytest.approx(10.0 * 60.0 * 0.4 / volume.volume_mL)
    assert all(row.retention_factor is None for row in found.rows)


def test_exposure_in_column_volumes_becomes_hours() -> None:
    """An injection placed by column volumes gets its hours from void volume and flow of the stress."""
    study = study_of(MARKERS, [0.0, 0.0])
    placed = (study.injections[0], replace(study.injections[1], exposure_h=None, exposure_cv=1000.0))
    study = replace(study, injections=placed)
    found = measure(study, {i.id: trace_of(fresh_peaks(), noise=0.1) for i in study.injections})
    assert found.rows[-1].exposure_cv == 1000.0
    assert found.rows[-1].exposure_h == pytest.approx(
        1000.0 * found.void_volumes["H1"].volume_mL / 0.4 / 60.0
    )


def test_strange_traces_are_measured_or_said_to_be_empty() -> None:
    """Two samples, a flat line, a ramp, a step: nothing found, nothing raised, a reason in every row."""
    time = np.arange(0.0, 4.0, 1.0 / 1200.0)
    strange = {
        "two samples": (np.array([0.0, 1.0]), np.array([0.0, 1.0])),
        "flat": (time, np.full_like(time, 5.0)),
        "ramp": (time, 3.0 * time),
        "step": (time, np.where(time > 2.0, 10.0, 0.0)),
        "five samples": (np.arange(5.0), np.array([0.0, 1.0, 5.0, 1.0, 0.0])),
    }
    for name, (times, signal) in strange.items():
        rows = measure(study_of(MARKERS, [0.0]), {"i000": as_trace(times, signal)}).rows
        assert not any(row.found for row in rows), name
        assert all(row.absent_because for row in rows), name


@pytest.mark.parametrize("scale", [1e-9, 1e9])
def test_the_unit_of_the_signal_does_not_matter(scale: float) -> None:
    """A signal in other units has the same plates and times, and heights in these units."""
    trace = trace_of(fresh_peaks(), noise=0.1)
    other = as_trace(trace.time_min, scale * trace.signal)
    study = study_of(MARKERS, [0.0])
    for row, scaled in zip(
        measure(study, {"i000": trace}).rows, measure(study, {"i000": other}).rows, strict=True
    ):
        assert row.plate_number_half_height == pytest.approx(scaled.plate_number_half_height, rel=1e-6)
        assert (scaled.peak_height or 0.0) / scale == pytest.approx(row.peak_height, rel=1e-6)
        assert row.flags == scaled.flags


def test_the_method_is_told_with_the_numbers_that_were_used() -> None:
    """The notes for the method page name the study's noise window and the shipped accuracy."""
    study = study_of(MARKERS, [0.0])
    study = replace(study, choices=replace(study.choices, noise_window_half_widths=7.5))
    notes = dict(measure(study, {"i000": trace_of(fresh_peaks(), noise=0.1)}).method_notes)
    assert "7.5 widths at half height" in notes["Noise"]
    assert "plate number (moments)" in notes["How true the measured values are"]


def test_one_injection_more_leaves_the_rows_of_those_before_it_as_they_were() -> None:
    """Of a long series, what is measured of all but the last sixty does not know how many follow."""
    hours = [float(hour) for hour in range(62)]
    traces = {
        f"i{i:03d}": trace_of(
            [
                (size, at, sigma * (1 + 0.003 * i), tau * (1 + 0.01 * i))
                for size, at, sigma, tau in fresh_peaks()
            ],
            noise=0.1,
            seed=i,
        )
        for i in range(62)
    }
    whole, fewer = (
        measure(study_of(MARKERS, hours[:number]), dict(list(traces.items())[:number])).rows
        for number in (62, 61)
    )
    assert whole[: 60 * len(MARKERS)] == fewer[: 60 * len(MARKERS)]


def touching(count: int) -> tuple[Study, dict[str, Trace]]:
    """Return a study of so many injections with two markers whose feet touch, and its traces."""
    peaks = [*fresh_peaks()[:2], (4.0, 1.29, 0.013, 0.004)]
    study = study_of(MARKERS | {"metoprolol": 1.29}, [10.0 * i for i in range(count)])
    traces = {one.id: trace_of(peaks, noise=0.01, seed=i) for i, one in enumerate(study.injections)}
    return study, {name: replace(trace, file=name, sha256=name) for name, trace in traces.items()}


def test_feet_that_touch_are_those_of_their_own_injections(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many injections are measured in one go, the outline of a peak is its own."""
    study, traces = touching(5)
    at_once = measure(study, traces).rows
    monkeypatch.setattr(measuring, "TOGETHER", 2)
    in_turn = measure(study, traces).rows
    for one, other in zip(at_once, in_turn, strict=True):
        assert other.symmetry_factor_se == pytest.approx(one.symmetry_factor_se, rel=1e-3)


def test_one_injection_more_is_fitted_with_the_last_ones_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a column in the store those before are neither fitted nor outlined again, and stay as they are."""
    monkeypatch.setattr(measuring, "TOGETHER", 2)
    store, fitted = Store(tmp_path), set[str]()

    def told(peaks: Any) -> Any:
        fitted.update(survey.trace.file for survey, *_ in peaks)
        return fit_locally(peaks)

    study, traces = touching(5)
    fewer = replace(study, injections=study.injections[:4])
    measure(fewer, {one.id: traces[one.id] for one in fewer.injections}, store=store)
    monkeypatch.setattr(measuring, "fit_locally", told)
    again = measure(study, traces, store=store)
    assert fitted == {study.injections[4].id}
    assert digest_of(again) == digest_of(measure(study, traces))
