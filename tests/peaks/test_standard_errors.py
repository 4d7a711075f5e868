"""Standard errors where the trace does not show what is wrong: coloured noise, few points."""

from collections.abc import Mapping, Sequence

import numpy as np
import pytest

from lyewitness.peaks.measuring import measure
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import TruePeak, as_trace, reference_curve, study_of

TIME: FloatArray = np.arange(0.0, 5.0, 1.0 / 900.0)
PEAKS: tuple[TruePeak, ...] = (
    (2.0, 0.45, 0.006, 0.003),
    (2.0, 1.9, 0.025, 0.012),
    (2.0, 2.8, 0.037, 0.018),
    (2.0, 3.9, 0.052, 0.026),
)
MARKERS = {"uracil": 0.45, "a": 1.9, "b": 2.8, "c": 3.9}
INJECTIONS = 40


def coloured(power: float, rng: np.random.Generator) -> FloatArray:
    """Return noise of standard deviation 1 whose power falls as frequency to the `power`."""
    frequency = np.fft.rfftfreq(len(TIME))
    frequency[0] = frequency[1]
    parts = rng.normal(size=len(frequency)) + 1j * rng.normal(size=len(frequency))
    noise = np.fft.irfft(parts / frequency ** (power / 2.0), len(TIME))
    return np.asarray((noise - noise.mean()) / noise.std())


@pytest.mark.parametrize(("power", "size"), [(1.0, 0.25), (1.4, 0.25), (2.0, 0.4)])
def test_standard_errors_hold_what_coloured_noise_does(power: float, size: float) -> None:
    """Errors of areas and plate numbers are what their standard errors say, up to four tenths."""
    rng = np.random.default_rng(11)
    clean = sum((reference_curve(TIME, peak) for peak in PEAKS), np.zeros_like(TIME))
    traces = {
        f"i{i:03d}": as_trace(TIME, clean + size * coloured(power, rng) + rng.normal(0.0, 0.03, len(TIME)))
        for i in range(INJECTIONS)
    }
    study = study_of(MARKERS, [float(i) for i in range(INJECTIONS)])
    free = measure(study_of(MARKERS, [0.0]), {"i000": as_trace(TIME, clean)})
    truth = {row.marker: row for row in free.rows}
    rows = [row for row in measure(study, traces).rows if row.found and row.marker != "uracil"]
    assert len(rows) == 3 * INJECTIONS
    for name in ("peak_area", "plate_number_half_height"):
        off = [(getattr(r, name) - getattr(truth[r.marker], name)) / getattr(r, f"{name}_se") for r in rows]
        spread = float(np.sqrt(np.mean(np.square(off))))
        assert 0.5 < spread < 1.4, (name, spread)


def test_few_points_leave_open_whether_the_detector_averages() -> None:
    """Five samples across half of a peak's height, each the mean of its interval: the error of N says so."""
    fine, few = 40, 5
    wide = 2.355 * 0.02
    time = (np.arange(0.0, 4.0, wide / few / fine) + 1e-9)[: 300 * fine]
    noise = np.random.default_rng(3).normal(0.0, 0.01, 300)
    signal = sum(100.0 * np.exp(-0.5 * ((time - at) / 0.02) ** 2) for at in (0.8, 1.6, 2.4))
    means, middles = (np.asarray(own).reshape(-1, fine).mean(axis=1) for own in (signal, time))
    study = study_of({"uracil": 0.8, "a": 1.6, "b": 2.4}, [0.0])
    for row in measure(study, {"i000": as_trace(middles, means + noise)}).rows:
        assert row.plate_number_half_height is not None
        off = row.plate_number_half_height / ((row.retention_time_min or 0.0) / 0.02) ** 2 - 1.0
        assert -0.03 < off < -0.01
        assert abs(off) < 2.0 * (row.plate_number_half_height_se or 0.0) / row.plate_number_half_height


def test_ragged_bubbles_on_a_peak_are_in_the_errors_of_its_plates() -> None:
    """What stands on a flank for a third of a width sets definitions apart: the error of N holds it."""
    rng = np.random.default_rng(5)
    peak, sigma = PEAKS[2], 0.041
    clean = sum((reference_curve(TIME, one) for one in PEAKS), np.zeros_like(TIME))
    height = 0.8 * float(reference_curve(TIME, peak).max())
    free = measure(study_of(MARKERS, [0.0]), {"i000": as_trace(TIME, clean)}).of("i000", "b")
    off = []
    for at in np.linspace(-1.8, 1.8, 13):
        start = peak[1] + at * sigma
        inside = (start < TIME) & (start + 0.7 * sigma > TIME)
        bubble = inside * height * (1.0 + 0.25 * rng.normal(size=len(TIME)))
        trace = as_trace(TIME, clean + rng.normal(0.0, 0.03, len(TIME)) + bubble)
        row = measure(study_of(MARKERS, [0.0]), {"i000": trace}).of("i000", "b")
        assert (row.confidence or 0.0) < 0.99
        apart = (row.plate_number_half_height or 0.0) - (free.plate_number_half_height or 0.0)
        off.append(apart / (row.plate_number_half_height_se or 1e-9))
    assert float(np.sqrt(np.mean(np.square(off)))) < 3.0, off


def test_a_tail_that_hardly_shows_leaves_errors_of_the_size_of_their_scatter() -> None:
    """Gaussians at a signal-to-noise ratio of 20: what shows no tail is known as well as the rest."""
    rng = np.random.default_rng(8)
    peaks: tuple[TruePeak, ...] = ((1.0, 0.9, 0.0127, 0.0), (2.5, 3.0, 0.0358, 0.0))
    time = np.arange(0.0, 4.5, 1.0 / 600.0)
    clean = sum((reference_curve(time, peak) for peak in peaks), np.zeros_like(time))
    size = float(reference_curve(time, peaks[1]).max()) / 50.0
    traces = {f"i{i:03d}": as_trace(time, clean + rng.normal(0.0, size, len(time))) for i in range(60)}
    study = study_of({"uracil": 0.9, "a": 3.0}, [float(i) for i in range(60)])
    rows = [row for row in measure(study, traces).rows if row.marker == "a"]
    true_plates = 5.54 * (3.0 / (2.3548 * 0.0358)) ** 2
    for name, true in (("plate_number_half_height", true_plates), ("symmetry_factor", 1.0)):
        values, errors = (np.array([getattr(row, own) for row in rows]) for own in (name, f"{name}_se"))
        assert errors.max() < 0.04 * true
        assert 0.8 < float(np.sqrt(np.mean(((values - true) / errors) ** 2))) < 1.2, name
    assert min(row.confidence or 0.0 for row in rows) > 0.95


def _off(
    traces: Mapping[str, Trace], clean: FloatArray, names: Sequence[str], markers: Mapping[str, float]
) -> dict[str, FloatArray]:
    """Return errors ÷ standard errors by metric, of all peaks but the void marker's."""
    truth = {
        row.marker: row for row in measure(study_of(markers, [0.0]), {"i000": as_trace(TIME, clean)}).rows
    }
    rows = measure(study_of(markers, [float(i) for i in range(len(traces))]), traces).rows
    found = [row for row in rows if row.found and row.marker != "uracil"]
    assert len(found) == 3 * len(traces)
    return {
        name: np.array(
            [(getattr(r, name) - getattr(truth[r.marker], name)) / getattr(r, f"{name}_se") for r in found]
        )
        for name in names
    }


@pytest.mark.parametrize("size", [0.08, 0.15, 0.25, 0.35])
def test_standard_errors_hold_what_coarse_rounding_does(size: float) -> None:
    """Whole counts whose noise is a fraction of one: on a slope they err by more than flat stretches show."""
    rng = np.random.default_rng(17)
    level = rng.uniform(2.0, 3.0, INJECTIONS)
    clean = 4.0 * sum((reference_curve(TIME, peak) for peak in PEAKS), np.zeros_like(TIME))
    traces = {
        f"i{i:03d}": as_trace(TIME, np.round(clean + level[i] + rng.normal(0.0, size, len(TIME))))
        for i in range(INJECTIONS)
    }
    names = ("peak_area", "plate_number_half_height", "symmetry_factor", "retention_time_min")
    for name, off in _off(traces, clean, names, MARKERS).items():
        assert 0.4 < float(np.sqrt(np.mean(np.square(off)))) < 1.4, name


def test_standard_errors_hold_what_is_left_of_spikes() -> None:
    """A spike of one to three samples on every peak, too low to be taken out of some, is in the errors."""
    rng = np.random.default_rng(23)
    clean = 4.0 * sum((reference_curve(TIME, peak) for peak in PEAKS), np.zeros_like(TIME))
    traces = {}
    for i in range(INJECTIONS):
        signal = clean + rng.normal(0.0, 0.02, len(TIME))
        for _, at, sigma, _ in PEAKS:
            place = int(np.searchsorted(TIME, at + rng.uniform(-1.5, 1.5) * sigma))
            wide = int(rng.integers(1, 4))
            height = float(np.exp(rng.uniform(np.log(0.02), np.log(0.4)))) * clean[place]
            signal[place : place + wide] += height * np.array([1.0, 0.7, 0.3])[:wide]
        traces[f"i{i:03d}"] = as_trace(TIME, signal)
    for name, off in _off(traces, clean, ("plate_number_half_height", "symmetry_factor"), MARKERS).items():
        assert float(np.mean(np.abs(off) > 3.0)) < 0.05, name
        assert float(np.sqrt(np.mean(np.square(off)))) < 2.0, name
