"""How long measuring takes, against only reading the file and against a loop of single fits.

The benchmarks run with `pytest tests/peaks/test_speed.py --benchmark-only`;
`python -m tests.peaks.test_speed` prints ratios of processor time within one
run, so that a busy machine shifts them little.
"""

import time
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from statistics import median

import numpy as np
import pandas as pd
import pytest
from lmfit.models import ExponentialGaussianModel, LinearModel
from pytest_benchmark.fixture import BenchmarkFixture

from lyewitness.peaks.measuring import measure
from lyewitness.rehearsal.scenario import three_kinds_scenario
from lyewitness.study.records import Exports
from lyewitness.traces.reading import read_traces
from lyewitness.traces.records import Trace
from tests.peaks.rehearsed import Rehearsed, rehearse

POINTS = 6000


def simulated() -> Rehearsed:
    """Return a simulated study of 180 injections of 6,000 points with three peaks each."""
    plan = three_kinds_scenario()
    return rehearse(replace(plan, detector=replace(plan.detector, points=POINTS), mishaps=()), 1)


def as_text(study: Rehearsed) -> bytes:
    """Return one injection as a comma-separated file."""
    trace = next(iter(study.traces.values()))
    rows = "".join(f"{t:.5f},{y:.5f}\n" for t, y in zip(trace.time_min, trace.signal, strict=True))
    return ("time_min,signal_mAU\n" + rows).encode()


@pytest.fixture(scope="module")
def study() -> Rehearsed:
    """Return the simulated study."""
    return simulated()


@pytest.fixture(scope="module")
def file(study: Rehearsed) -> bytes:
    """Return one injection of it as a file."""
    return as_text(study)


def processor_time(work: Callable[[], object], runs: int) -> float:
    """Return the shortest processor time of one run, s."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def lmfit_loop(traces: list[Trace], peaks: list[tuple[float, float, float]]) -> None:
    """Fit every peak of every trace by itself with lmfit."""
    model = ExponentialGaussianModel() + LinearModel()
    for trace in traces:
        for apex, width, height in peaks:
            near = np.abs(trace.time_min - apex) < 4.0 * width
            sigma = width / 2.6
            start = model.make_params(
                amplitude=2.6 * height * sigma,
                center=apex,
                sigma=sigma,
                gamma=1.0 / sigma,
                slope=0.0,
                intercept=0.0,
            )
            start["gamma"].max = np.inf
            model.fit(trace.signal[near], start, x=trace.time_min[near])


def peaks_of_first(study: Rehearsed) -> list[tuple[float, float, float]]:
    """Return apex, width and height of the peaks of the first injection."""
    first = study.study.injections[0].id
    true = [peak for (injection, _), peak in study.truth.truth.peaks.items() if injection == first]
    return [(peak.retention_time_min, peak.width_half_min, peak.height) for peak in true]


def ratios(study: Rehearsed, file: bytes, rounds: int = 9) -> dict[str, list[float]]:
    """Return how long one injection takes, in units of what pandas needs only to read its file, by round."""
    few, count = list(study.traces.values())[:3], len(study.traces)
    found: dict[str, list[float]] = {"reading": [], "measuring": [], "both": [], "three fits with lmfit": []}
    for _ in range(rounds):
        pandas = processor_time(lambda: [pd.read_csv(BytesIO(file)) for _ in range(20)], 2) / 20
        reading = processor_time(lambda: [read_traces(file, "a.csv", Exports()) for _ in range(20)], 2) / 20
        measuring = processor_time(lambda: measure(study.study, study.traces), 1) / count
        single = processor_time(lambda: lmfit_loop(few, peaks_of_first(study)), 1) / len(few)
        for name, seconds in zip(found, (reading, measuring, reading + measuring, single), strict=True):
            found[name].append(seconds / pandas)
    return found


@pytest.mark.benchmark(group="one injection: pandas reads it", max_time=0.4, min_rounds=2)
def test_benchmark_pandas(benchmark: BenchmarkFixture, file: bytes) -> None:
    """Time pandas on the file."""
    assert len(benchmark(lambda: pd.read_csv(BytesIO(file)))) == POINTS


@pytest.mark.benchmark(group="one injection: read it", max_time=0.4, min_rounds=2)
def test_benchmark_reading(benchmark: BenchmarkFixture, file: bytes) -> None:
    """Time this program's reader on the file."""
    assert len(benchmark(lambda: read_traces(file, "a.csv", Exports()))[0].time_min) == POINTS


@pytest.mark.benchmark(group="180 injections: measure them", max_time=0.4, min_rounds=2)
def test_benchmark_measuring(benchmark: BenchmarkFixture, study: Rehearsed) -> None:
    """Time the whole study; divide by 180 for one injection."""
    found = benchmark(lambda: measure(study.study, study.traces))
    assert len(found.rows) == 3 * len(study.traces)


@pytest.mark.benchmark(group="one injection: three single fits", max_time=0.4, min_rounds=2)
def test_benchmark_lmfit(benchmark: BenchmarkFixture, study: Rehearsed) -> None:
    """Time lmfit on the three peaks of one injection."""
    few = list(study.traces.values())[:1]
    benchmark(lambda: lmfit_loop(few, peaks_of_first(study)))


if __name__ == "__main__":
    made = simulated()
    print("one injection of 6,000 points with three peaks; 1 is the time pandas needs to read its file")
    for what, found in ratios(made, as_text(made)).items():
        print(f"{what}: median {median(found):.2f}, least {min(found):.2f}")
