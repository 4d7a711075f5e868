"""What real detectors do to traces: spikes, humps, ends, strangers, short runs; and how honest errors are."""

from types import SimpleNamespace

import numpy as np
import pytest

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import Measurements
from lyewitness.peaks.rows.metrics import noise_range
from lyewitness.peaks.survey.disturbances import without_spikes
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import TruePeak, as_trace, reference_curve, study_of, trace_of

MARKERS = {"uracil": 0.3, "caffeine": 1.2, "metoprolol": 2.4}
PEAKS: list[TruePeak] = [
    (2.0, 0.3, 0.005, 0.002),
    (3.0, 1.2, 0.012, 0.004),
    (4.0, 2.4, 0.022, 0.012),
]


def grid(end_min: float = 4.0) -> FloatArray:
    """Return the times of a trace."""
    return np.arange(0.0, end_min, 1.0 / 1200.0)


def true_plates(peak: TruePeak) -> float:
    """Return 5.54 (tR/W)² of an exact curve, read off a fine grid."""
    _, center, sigma, tau = peak
    time = np.linspace(center - 5.0 * sigma, center + 6.0 * sigma + 12.0 * tau, 200001)
    curve = reference_curve(time, peak)
    above = np.flatnonzero(curve > 0.5 * curve.max())
    return float(5.54 * (time[curve.argmax()] / (time[above[-1]] - time[above[0]])) ** 2)


def measured(signals: list[FloatArray], markers: dict[str, float] | None = None) -> Measurements:
    """Return what is measured on one column of these signals, five hours apart."""
    study = study_of(markers or MARKERS, [5.0 * place for place in range(len(signals))])
    traces = {
        injection.id: as_trace(np.arange(len(signal)) / 1200.0, signal)
        for injection, signal in zip(study.injections, signals, strict=True)
    }
    return measure(study, traces)


def clean(seed: int = 1, noise: float = 0.1, peaks: list[TruePeak] | None = None) -> FloatArray:
    """Return the signal of a trace without any trouble."""
    return trace_of(PEAKS if peaks is None else peaks, noise=noise, seed=seed).signal


@pytest.mark.parametrize("width", [1, 2, 3])
def test_spikes_are_taken_out_and_counted(width: int) -> None:
    """Spikes of one to three samples on a flank and beside change nothing but a flag and a number."""
    signal, place = clean(), int(2.38 * 1200)
    spiked = signal.copy()
    spiked[place : place + width] += 60.0
    spiked[4000 : 4000 + width] -= 80.0
    plain, row = (measured([one]).of("i000", "metoprolol") for one in (signal, spiked))
    assert "spikes" in row.flags
    assert row.spikes_removed == 1
    for name in ("peak_area", "plate_number_half_height", "plate_number_tangent", "symmetry_factor"):
        assert getattr(row, name) == pytest.approx(getattr(plain, name), rel=0.01)


@pytest.mark.parametrize("sigma", [1.5, 2.0, 3.0, 10.0, 60.0])
def test_a_peak_is_no_spike(sigma: float) -> None:
    """Gaussians from 1.5 samples of σ upwards keep every sample."""
    time, rng = np.arange(4000.0), np.random.default_rng(5)
    for _ in range(20):
        signal = 80.0 * np.exp(-0.5 * ((time - 2000.0 - rng.uniform()) / sigma) ** 2)
        signal += rng.normal(0.0, 0.02, len(time))
        clean_signal, found = without_spikes(signal, 0.02)
        assert len(found) == 0
        assert clean_signal is signal or np.array_equal(clean_signal, signal)


@pytest.mark.parametrize("missing", [3, 10, 25])
def test_a_pause_on_a_flank_is_no_spike(missing: int) -> None:
    """Where points are missing the flank goes on meanwhile; a spike beside a short pause is still one."""
    samples, rng = np.arange(4000.0), np.random.default_rng(5)
    for first in range(1960, 2040, 4):
        signal = 80.0 * np.exp(-0.5 * ((samples - 2000.0) / 11.0) ** 2) + rng.normal(0.0, 0.1, len(samples))
        kept = np.delete(np.arange(4000), np.arange(first, first + missing))
        found = without_spikes(signal[kept], 0.1, samples[kept])[1]
        assert len(found) == 0
        # Across two standard deviations of a peak no cubic tells what belongs there.
        if missing <= 10:
            signal[first - 3] += 60.0
            found = without_spikes(signal[kept], 0.1, samples[kept])[1]
            assert found.tolist() == [first - 3]


@pytest.mark.parametrize("sigma", [5.0, 6.0, 8.0, 20.0])
def test_a_sample_that_drops_out_of_a_flank_is_taken_out(sigma: float) -> None:
    """It comes back to where the flank is, wherever on it the detector missed it."""
    time, rng = np.arange(4000.0), np.random.default_rng(5)
    whole = 80.0 * np.exp(-0.5 * ((time - 2000.3) / sigma) ** 2) + rng.normal(0.0, 0.1, len(time))
    for place in (1.0, 1.4, -1.0, -1.4):
        at = round(2000.3 + place * sigma)
        signal = whole.copy()
        signal[at] = 0.3 * whole[at]
        clean_signal, found = without_spikes(signal, 0.1)
        assert found.tolist() == [at]
        assert clean_signal[at] == pytest.approx(whole[at], abs=2.5)


@pytest.mark.parametrize("apart", [4.0, 5.0, 6.0, 7.0, 9.0])
@pytest.mark.parametrize("share", [0.2, 0.5, 1.0])
def test_a_valley_between_sharp_peaks_is_no_spike(apart: float, share: float) -> None:
    """Two peaks of few samples keep the one between them."""
    time = np.arange(4000.0)
    for sigma in (2.5, 3.0, 4.0):
        for place in np.arange(0.0, 1.0, 0.25):
            signal = 80.0 * np.exp(-0.5 * ((time - 2000.0 - place) / sigma) ** 2)
            signal += share * 80.0 * np.exp(-0.5 * ((time - 2000.0 - place - apart) / sigma) ** 2)
            signal += np.random.default_rng(5).normal(0.0, 0.02, len(time))
            assert len(without_spikes(signal, 0.02)[1]) == 0


@pytest.mark.parametrize("height", [25.0, 50.0, 100.0])
def test_a_hump_is_background(height: float) -> None:
    """A hump under a peak loses no marker, is named after none, and what it may do to the area is said."""
    true = true_plates(PEAKS[2])
    for place in (2.0, 2.4, 2.7):
        hump = height * np.exp(-0.5 * ((grid() - place) / 0.35) ** 2)
        row = measured([clean() + hump]).of("i000", "metoprolol")
        assert row.found
        assert row.retention_time_min == pytest.approx(2.4086, abs=0.01)
        assert row.plate_number_half_height == pytest.approx(true, rel=0.05)
        assert row.peak_area is not None
        assert row.peak_area_se is not None
        assert abs(row.peak_area - 4.0) < max(3.0 * row.peak_area_se, 0.04)
        assert abs(row.peak_area - 4.0) < 0.12 or "baseline" in row.flags


@pytest.mark.parametrize("share", [0.7, 0.85, 0.95])
def test_a_clipped_peak_is_measured_below_the_clip(share: float) -> None:
    """Plate number, symmetry and area of a peak whose top the detector cuts are those of the whole peak."""
    whole = measured([clean()]).of("i000", "metoprolol")
    signal = clean()
    row = measured([np.minimum(signal, share * signal[2600:3200].max())]).of("i000", "metoprolol")
    assert "saturated" in row.flags
    assert row.confidence is not None
    assert row.confidence < 0.99
    for name in ("peak_area", "peak_height", "plate_number_half_height", "symmetry_factor"):
        assert getattr(row, name) == pytest.approx(getattr(whole, name), rel=0.015), name


def lognormal(time: FloatArray, apex: float, width: float, lean: float) -> FloatArray:
    """Return a log-normal peak of unit height: `lean` is the ratio of its half-widths, at half height."""
    place = np.maximum(1.0 + (time - apex) * (lean**2 - 1.0) / (width * lean), 1e-300)
    return np.asarray(np.exp(-np.log(2.0) * (np.log(place) / np.log(lean)) ** 2))


@pytest.mark.parametrize("lean", [1.2, 1.4])
@pytest.mark.parametrize("cut", [0.1, 0.2])
def test_a_cut_peak_of_no_known_shape_is_as_high_as_its_flanks_tell_and_its_errors_say_so(
    lean: float, cut: float
) -> None:
    """Log-normal tops are told within 12 % in N and 3 % in area, and never beyond three standard errors."""
    peak = 60.0 * lognormal(grid(), 2.4, 0.06, lean)
    signal = np.minimum(clean(peaks=PEAKS[:2]) + peak, (1.0 - cut) * 60.0)
    row = measured([signal]).of("i000", "metoprolol")
    # The half-widths of a log-normal are in the ratio that it is drawn by.
    plates, area = 5.545 * (2.4 / 0.06) ** 2, float(peak.sum()) / 1200.0
    assert "saturated" in row.flags
    assert row.plate_number_half_height == pytest.approx(plates, rel=0.12)
    assert row.peak_area == pytest.approx(area, rel=0.03)
    assert row.plate_number_half_height is not None
    assert row.plate_number_half_height_se is not None
    assert abs(row.plate_number_half_height - plates) < 3.0 * row.plate_number_half_height_se


def test_a_top_rounded_by_the_detector_is_saturated() -> None:
    """Absorbance that bends into its end makes a top flatter than a Gaussian's; below it is measured."""
    whole, signal = measured([clean()]).of("i000", "metoprolol"), clean()
    end = 0.9 * float(signal[2600:3200].max())
    beyond = (signal - 0.9 * end) / (0.1 * end)
    bent = np.where(beyond > 0.0, end - 0.1 * end * np.exp(-beyond), signal)
    row = measured([bent]).of("i000", "metoprolol")
    assert "saturated" in row.flags
    assert row.plate_number_half_height == pytest.approx(whole.plate_number_half_height, rel=0.02)
    assert row.peak_area == pytest.approx(whole.peak_area, rel=0.02)


def test_a_stranger_that_grows_beside_a_marker_is_no_part_of_it() -> None:
    """A product at a resolution of 0.8 is parted from the marker to a tenth, and the marker is flagged."""
    width = 2.355 * 0.022 + 0.7 * 0.012
    signals = [
        clean(n, peaks=[*PEAKS, (4.0 * 0.1 * n + 1e-9, 2.4 + 0.8 * width / 1.18, 0.022, 0.012)])
        for n in range(8)
    ]
    found = measured(signals)
    for place in range(2, 8):
        row = found.of(f"i{place:03d}", "metoprolol")
        assert "stranger" in row.flags
        assert row.confidence is not None
        assert row.confidence < 0.99
        assert row.peak_area == pytest.approx(4.0, rel=0.1)
        assert row.plate_number_half_height == pytest.approx(true_plates(PEAKS[2]), rel=0.1)


def test_a_run_that_ends_too_early_has_not_recorded_the_marker() -> None:
    """A marker behind the end of the run is 'not recorded', with a flag; one that is not there is not."""
    signals = [clean(n) for n in range(4)]
    signals[3] = signals[3][: int(2.2 * 1200)]
    row = measured(signals).of("i003", "metoprolol")
    assert not row.found
    assert row.flags == ("not-recorded",)
    assert row.absent_because.startswith("not recorded: the run ends at 2.20 min")
    signals[3] = clean(3, peaks=PEAKS[:2])
    row = measured(signals).of("i003", "metoprolol")
    assert not row.found
    assert row.flags == ()


def test_resolution_does_not_jump_to_another_neighbour() -> None:
    """Where the marker before it is lost a peak has no resolution, and the row says why."""
    signals = [clean(n) for n in range(4)]
    signals[3] = clean(3, peaks=[PEAKS[0], PEAKS[2]])
    found = measured(signals)
    before, row = found.of("i002", "metoprolol"), found.of("i003", "metoprolol")
    assert before.resolution is not None
    assert before.resolution_because == ""
    assert row.resolution is None
    assert row.resolution_because == "caffeine, which elutes before it, has no peak"


def test_one_top_for_two_markers_hands_out_its_time_alone() -> None:
    """Two markers expected where one peak stands have its retention time, and no width, area or height."""
    found = measured([clean(peaks=PEAKS[:2])], {"uracil": 0.3, "caffeine": 1.19, "metoprolol": 1.21})
    for marker in ("caffeine", "metoprolol"):
        row = found.of("i000", marker)
        assert row.found
        assert row.retention_time_min == pytest.approx(1.2029, abs=0.002)
        for name in (
            "width_half_min",
            "peak_area",
            "peak_height",
            "plate_number_half_height",
            "peak_area_se",
        ):
            assert getattr(row, name) is None, name


@pytest.mark.parametrize(("samples", "is_known"), [(7, False), (8, True), (12, True), (30, True)])
def test_eight_free_samples_tell_the_noise(samples: int, is_known: bool) -> None:
    """The range of the noise is known from eight samples without a peak, and from no fewer."""
    free = np.linspace(0.0, 0.1, samples)
    survey = SimpleNamespace(
        trace=SimpleNamespace(time_min=np.linspace(0.0, 1.0, 101)),
        free_time=free,
        free_signal=np.where(np.arange(samples) == samples - 3, 2.0, 0.5),
        smooth=SimpleNamespace(at=np.zeros_like),
    )
    found = noise_range(survey, 0.5, 0.05)  # type: ignore[arg-type]
    assert found == (1.5 if is_known else None)


@pytest.mark.parametrize("noise", [2.0, 0.5])
def test_standard_errors_are_honest_in_white_noise(noise: float) -> None:
    """Errors ÷ standard errors have a root mean square of 1 within a fifth, at S/N of 12 and 50."""
    study = study_of(MARKERS, [0.0])
    deviations: dict[str, list[float]] = {"peak_area": [], "plate_number_half_height": []}
    truth = {"peak_area": 4.0, "plate_number_half_height": true_plates(PEAKS[2])}
    for seed in range(120):
        row = measure(study, {"i000": trace_of(PEAKS, noise=noise, seed=seed)}).of("i000", "metoprolol")
        for name, found in deviations.items():
            found.append((getattr(row, name) - truth[name]) / getattr(row, f"{name}_se"))
    for name, found in deviations.items():
        assert 0.79 < float(np.sqrt(np.mean(np.square(found)))) < 1.2, name
