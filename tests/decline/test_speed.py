"""How fast a large study is judged.

The times are for comparison from one change to the next; nothing fails for being slow.
"""

from dataclasses import replace

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Judgement
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Limit, Marker, Study
from tests.decline.simulated_series import delayed, exposures, first_order
from tests.decline.small_study import noisy, study_of, with_values

METRICS = (
    "retention_factor",
    "plate_number_half_height",
    "symmetry_factor",
    "peak_area",
    "resolution",
    "peak_height",
    "signal_to_noise",
    "asymmetry_10",
)


def large_study(injections: int, jitter_h: float) -> tuple[Study, Measurements]:
    """Return nine columns, three markers, eight limited metrics; every column has its own times."""
    rng = np.random.default_rng(0)
    limits = tuple(Limit(metric, at_least_percent=80.0) for metric in METRICS)
    study = study_of({group: tuple(f"{group}{n}" for n in range(3)) for group in "ABC"}, limits)
    study = replace(study, markers=tuple(Marker(f"m{n}", "base", 1.0 + n) for n in range(3)))
    hours = exposures(injections)
    values = {}
    for column in study.columns:
        for marker in study.markers:
            life = float(rng.uniform(50.0, 90.0))
            laws = (first_order(hours, life), delayed(hours, life))
            values[column.id, marker.id] = {
                metric: 1000.0 * noisy(rng, laws[n % 2], 1.0) for n, metric in enumerate(METRICS)
            }
    study, measurements = with_values(study, hours, values)
    late = {column.id: jitter_h * n for n, column in enumerate(study.columns)}
    rows = tuple(replace(row, exposure_h=row.exposure_h + late[row.column]) for row in measurements.rows)
    return study, Measurements(rows)


@pytest.mark.parametrize("injections", [50, 200])
def test_large_study(benchmark: BenchmarkFixture, injections: int) -> None:
    """Nine columns, 50 or 200 injections, three markers, eight metrics: 216 declines, 72 comparisons."""
    study, measurements = large_study(injections, 0.01)
    run = benchmark.pedantic(judge, (study, measurements), rounds=1)  # type: ignore[no-untyped-call]
    judgement: Judgement = run
    assert len(judgement.declines) == 216
    assert len(judgement.comparisons) == 72
    assert all(decline.model is not None for decline in judgement.declines)
