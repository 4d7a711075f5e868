"""The whole stage: from traces to rows."""

import numpy as np
import pytest

from lyewitness.peaks.measuring import measure
from tests.peaks.signals import study_of, trace_of

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
