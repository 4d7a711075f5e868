"""What is a top and what is noise, drift or a spike."""

import numpy as np
import pytest

from lyewitness.peaks.survey.clusters import spans_of
from lyewitness.peaks.survey.surveys import survey_traces
from lyewitness.peaks.survey.tops import Top, find_tops, noise_sd
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import as_trace, trace_of

TIME = trace_of([]).time_min


def tops_of(time: FloatArray, signal: FloatArray) -> tuple[Top, ...]:
    """Return the tops of one trace, σ = 0.002 min and more."""
    return find_tops([time], [signal], [noise_sd(signal)], [0.002])[0]


def flicker(seed: int, sd: float) -> FloatArray:
    """Return noise whose power falls as 1/f."""
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft(rng.normal(0.0, 1.0, len(TIME)))
    spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
    noise = np.fft.irfft(spectrum, len(TIME))
    return np.asarray(sd * noise / noise.std())


def test_noise_and_drift_hold_no_peaks() -> None:
    """On 150 traces of white and flicker noise with slow waves there is not one peak."""
    traces = []
    for seed in range(150):
        rng = np.random.default_rng(seed)
        wave = (
            3.0 * np.sin(2.0 * np.pi * (TIME / rng.uniform(3.0, 9.0) + rng.uniform())) + rng.normal() * TIME
        )
        traces.append(as_trace(TIME, wave + flicker(seed, 0.05) + rng.normal(0.0, 0.1, len(TIME))))
    surveys = survey_traces(traces, [0.002] * len(traces))
    assert sum(len(survey.components) for survey in surveys) == 0


def test_noise_is_measured_beside_peaks() -> None:
    """The standard deviation of white noise comes out within 5 %, with peaks on a fifth of the trace."""
    trace = trace_of([(5.0, 1.0, 0.03, 0.05), (5.0, 2.5, 0.05, 0.05)], noise=0.2)
    assert noise_sd(trace.signal) == pytest.approx(0.2, rel=0.05)


def test_a_spike_is_no_peak() -> None:
    """One sample out of line has more plates than any column and is left out."""
    trace = trace_of([(3.0, 1.2, 0.012, 0.004)], noise=0.1)
    signal = trace.signal.copy()
    signal[3000] += 200.0
    tops = tops_of(trace.time_min, signal)
    assert [round(top.apex_min, 2) for top in tops] == [1.20]


@pytest.mark.parametrize("height", [0.6, 1.0])
def test_a_broad_weak_peak_stands_out_of_noise(height: float) -> None:
    """A peak no higher than 6 … 10 sds of the noise, but 100 samples wide, is found."""
    area = height * 0.036 * np.sqrt(2.0 * np.pi)
    trace = trace_of([(float(area), 2.0, 0.036, 0.0)], noise=0.1)
    tops = tops_of(trace.time_min, trace.signal)
    assert len(tops) == 1
    assert tops[0].apex_min == pytest.approx(2.0, abs=0.03)


def test_peaks_far_apart_are_fitted_apart_and_near_ones_together() -> None:
    """Tops whose flanks meet share a span; spans keep the order of time and do not end before they start."""
    peaks = [(1.0, 0.5, 0.01, 0.0), (3.0, 2.0, 0.02, 0.01), (2.0, 2.1, 0.02, 0.01)]
    trace = trace_of(peaks, noise=0.05)
    spans = spans_of(trace.time_min, tops_of(trace.time_min, trace.signal))
    assert [len(span.tops) for span in spans] == [1, 2]
    assert all(span.first < span.last for span in spans)


def test_of_a_flat_top_the_middle_counts() -> None:
    """A top that the detector cuts flat has its apex in the middle of the plateau."""
    trace = trace_of([(3.0, 1.2, 0.012, 0.0)], noise=0.0)
    signal = np.minimum(trace.signal, 0.6 * trace.signal.max())
    flat = trace.time_min[signal == signal.max()]
    (top,) = find_tops([trace.time_min], [signal], [0.01], [0.002])[0]
    assert top.apex_min == pytest.approx(0.5 * (flat[0] + flat[-1]), abs=0.003)


@pytest.mark.parametrize("step", [0.2, 0.6, 1.0, 1.5, 2.0, 2.5])
def test_the_noise_of_a_signal_in_coarse_steps_is_what_it_was_before_rounding(step: float) -> None:
    """Whatever the step of the converter, the noise is told within 20 % of noise and rounding together."""
    drawn = np.random.default_rng(3)
    for _ in range(5):
        signal = np.round(drawn.normal(size=4000) / step) * step
        assert noise_sd(signal) == pytest.approx(np.sqrt(1.0 + step**2 / 12.0), rel=0.2)


def test_an_early_peak_as_wide_in_time_as_the_late_ones_is_no_background() -> None:
    """Peaks that the instrument widens alike are all found, though the first has a 25th of the plates."""
    time = np.arange(0.0, 4.0, 0.004)
    for seed in range(20):
        noise = np.random.default_rng(seed).normal(0.0, 0.05, len(time))
        for early in (0.02, 0.03, 0.04):
            peaks = [(0.5, early), (1.2, 0.03), (2.5, 0.03)]
            signal = noise + sum(100.0 * np.exp(-0.5 * ((time - at) / sd) ** 2) for at, sd in peaks)
            (survey,) = survey_traces([as_trace(time, signal)], [0.003])
            assert [round(c.apex_min, 2) for c in survey.components] == [0.5, 1.2, 2.5]
            assert [c.width_min for c in survey.components] == pytest.approx(
                [2.355 * sd for _, sd in peaks], rel=0.03
            )
