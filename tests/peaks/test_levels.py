"""What stands behind a peak and is no background: slow tails, and steps of the signal under a front."""

import numpy as np

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import PeakRow
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import TruePeak, as_trace, reference_curve, study_of

TIME: FloatArray = np.arange(0.0, 7.0, 1.0 / 600.0)
SIGMA = 0.06
OTHERS: tuple[TruePeak, ...] = ((2.0, 0.9, 0.0127, 0.0), (11.0, 3.0, 0.036, 0.0))
MARKERS = {"uracil": 0.9, "neutral": 3.0, "base": 4.8}


def slow(share: float) -> list[TruePeak]:
    """Return a peak of which this share leaves with a time constant ten times its width."""
    return [(12.0 * (1.0 - share), 4.8, SIGMA, 0.0), (12.0 * share, 4.8, SIGMA, 10.0 * SIGMA)]


def measured(signal: FloatArray) -> PeakRow:
    """Return the row of the base on a trace with both other markers, noise and a slow wave."""
    rng = np.random.default_rng(4)
    others = sum((reference_curve(TIME, peak) for peak in OTHERS), np.zeros_like(TIME))
    drift = 0.3 * np.sin(2.0 * np.pi * TIME / 11.0 + 0.4) + 0.05 * TIME
    noisy = others + signal + drift + rng.normal(0.0, 0.02, len(TIME))
    return measure(study_of(MARKERS, [0.0]), {"i000": as_trace(TIME, noisy)}).of("i000", "base")


def symmetry_of(peaks: list[TruePeak]) -> float:
    """Return the symmetry factor at 0.05 of the height, from the exact curve on a fine grid."""
    time = np.arange(4.0, 9.0, 1e-4)
    curve = sum((reference_curve(time, peak) for peak in peaks), np.zeros_like(time))
    above = time[curve > 0.05 * curve.max()]
    return float((above[-1] - above[0]) / (2.0 * (time[curve.argmax()] - above[0])))


def test_a_slow_tail_is_the_peaks_own() -> None:
    """A tail of 10 σ with 5 … 35 % of the area is no background: symmetry and area hold it."""
    for share in (0.05, 0.15, 0.25, 0.35):
        peaks = slow(share)
        row = measured(sum((reference_curve(TIME, peak) for peak in peaks), np.zeros_like(TIME)))
        assert row.peak_area is not None
        assert row.symmetry_factor is not None
        assert abs(row.peak_area / 12.0 - 1.0) < 0.02, share
        assert abs(row.symmetry_factor / symmetry_of(peaks) - 1.0) < 0.03, share
        assert "baseline" in row.flags
        assert (row.baseline_doubt_percent or 0.0) > 50.0 * share
        off = abs((row.plate_number_half_height or 0.0) / (5.54 * (4.8 / 2.3548 / SIGMA) ** 2) - 1.0)
        assert off < 0.05


def tailing(share: float, sigmas: float, behind: float = 2.0) -> tuple[PeakRow, list[TruePeak]]:
    """Return the row of a peak with a tail of `sigmas` on a flat baseline, and its truth.

    The next peak comes `behind` minutes later.
    """
    peaks: list[TruePeak] = [
        (12.0 * (1.0 - share), 4.8, SIGMA, 0.4 * SIGMA),
        (12.0 * share, 4.8, SIGMA, sigmas * SIGMA),
    ]
    rng = np.random.default_rng(11)
    others = (*OTHERS, (11.0, 4.8 + behind, 0.045, 0.0))
    signal = sum((reference_curve(TIME, peak) for peak in (*others, *peaks)), np.zeros_like(TIME))
    study = study_of({**MARKERS, "last": 4.8 + behind}, [0.0])
    trace = as_trace(TIME, signal + 2.0 + rng.normal(0.0, 0.02, len(TIME)))
    return measure(study, {"i000": trace}).of("i000", "base"), peaks


def test_a_tail_that_is_seen_to_its_end_is_no_doubt_about_the_baseline() -> None:
    """Plain tails to a symmetry factor of 2.3 on a flat baseline: values and their errors hold the truth."""
    for share, sigmas in ((0.1, 3.0), (0.2, 4.0), (0.35, 4.0), (0.5, 4.0), (0.55, 3.5)):
        row, peaks = tailing(share, sigmas)
        area, error = row.peak_area or 0.0, row.peak_area_se or 0.0
        assert "baseline" not in row.flags, (share, sigmas)
        assert "uncertain" not in row.flags, (share, sigmas)
        assert (row.baseline_doubt_percent or 0.0) < 1.5
        assert abs(area - 12.0) < 3.0 * error + 0.06
        assert abs((row.symmetry_factor or 0.0) / symmetry_of(peaks) - 1.0) < 0.02


def test_a_tail_that_the_next_peak_cuts_off_stays_in_doubt() -> None:
    """Where what is behind a slow tail is not seen, the row goes on saying that its baseline is open."""
    row, _ = tailing(0.25, 9.0, behind=1.3)
    assert "baseline" in row.flags


def test_a_step_of_half_a_second_on_a_front_is_not_passed_over() -> None:
    """The level behind a peak is not that ahead of it: the row says so, and its errors hold the change."""
    (peak,) = slow(0.0)[:1]
    clean = reference_curve(TIME, peak)
    for size in (2.0, 4.0):
        step = size * np.clip((TIME - (4.8 - 0.8 * 2.3548 * SIGMA)) * 120.0, 0.0, 1.0)
        row = measured(clean + step)
        assert "disturbed" in row.flags
        for value, error, true in (
            (row.peak_area, row.peak_area_se, 12.0),
            (row.symmetry_factor, row.symmetry_factor_se, 1.0),
        ):
            assert abs((value or 0.0) - true) < 2.0 * (error or 0.0) + 0.005 * true


def test_without_a_tail_levels_change_nothing() -> None:
    """A wave and a slope under a symmetric peak are background: nothing is said of the baseline."""
    row = measured(reference_curve(TIME, slow(0.0)[0]))
    assert row.flags == ()
    assert abs((row.peak_area or 0.0) / 12.0 - 1.0) < 0.003
