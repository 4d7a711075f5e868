"""When a row bears which flag, and what stands in it then."""

from dataclasses import replace

import numpy as np
import pytest

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import FLAGS, PeakRow
from lyewitness.peaks.rows.flags import unlike_neighbours
from tests.peaks.conditions import judged
from tests.peaks.signals import TruePeak, as_trace, reference_curve, study_of, trace_of
from tests.peaks.tailing import series

MARKERS = {"uracil": 0.3, "caffeine": 1.2, "metoprolol": 2.4}
UNDISTURBED: list[TruePeak] = [
    (2.0, 0.3, 0.005, 0.002),
    (3.0, 1.2, 0.012, 0.004),
    (4.0, 2.4, 0.022, 0.012),
]


def last_row(peaks: list[TruePeak], noise: float = 0.1, runs: int = 3) -> PeakRow:
    """Return metoprolol's row where the last of `runs` injections has these peaks."""
    study = study_of(MARKERS, [5.0 * run for run in range(runs)])
    traces = {i.id: trace_of(UNDISTURBED, noise=0.1, seed=n) for n, i in enumerate(study.injections)}
    traces[study.injections[-1].id] = trace_of(peaks, noise=noise, seed=99)
    return measure(study, traces).of(study.injections[-1].id, "metoprolol")


def test_an_undisturbed_peak_has_no_flag() -> None:
    """A clear peak bears no flag; every metric that can be measured is there."""
    row = last_row(UNDISTURBED)
    assert row.flags == ()
    assert row.confidence is not None
    assert row.confidence > 0.99
    for name in PeakRow.__dataclass_fields__:
        if name != "peak_to_valley":
            assert getattr(row, name) is not None, name
    assert set(row.emg) == {"area", "center_min", "sigma_min", "tau_min"}


def test_emg_parameters_stand_beside_with_their_errors() -> None:
    """Low and high are one standard error away and cover the truth within four of them."""
    row = last_row(UNDISTURBED)
    for name, true in zip(("area", "center_min", "sigma_min", "tau_min"), UNDISTURBED[2], strict=True):
        estimate = row.emg[name]
        assert estimate.value is not None
        assert estimate.low is not None
        assert estimate.high is not None
        assert abs(estimate.value - true) < 2.0 * (estimate.high - estimate.low)
        assert estimate.high - estimate.value == pytest.approx(estimate.value - estimate.low)


def test_a_cut_top_is_saturated() -> None:
    """A detector that ends at 40 % of the height is noticed; a coarse digitiser is not taken for one."""
    study, whole = study_of(MARKERS, [0.0]), trace_of(UNDISTURBED, noise=0.1)
    cut = as_trace(whole.time_min, np.minimum(whole.signal, 28.0))
    assert all("saturated" in row.flags for row in measure(study, {"i000": cut}).rows)
    coarse = as_trace(whole.time_min, np.round(whole.signal))
    assert not any("saturated" in row.flags for row in measure(study, {"i000": coarse}).rows)


@pytest.mark.parametrize("step", [0.01, 0.1, 1.0])
@pytest.mark.parametrize("size", [0.01, 0.03, 0.1, 0.3, 1.0])
@pytest.mark.parametrize("noise", [0.0, 0.2, 1.0])
def test_a_rounded_top_is_not_saturated(step: float, size: float, noise: float) -> None:
    """Peaks with a second tail, each time on another level, rounded to 0.01 … 1 mAU: none counts as cut."""
    peaks = [(size * area, *shape) for area, *shape in UNDISTURBED]
    peaks += [(0.2 * size * area, center, 2.2 * sigma, 4.0 * tau) for area, center, sigma, tau in UNDISTURBED]
    for seed in range(3):
        whole = trace_of(peaks, noise=noise * step, seed=seed, drift=0.37 * step * seed)  # type: ignore[arg-type]
        rounded = as_trace(whole.time_min, step * np.round(whole.signal / step))
        rows = measure(study_of(MARKERS, [0.0]), {"i000": rounded}).rows
        assert not any("saturated" in row.flags for row in rows)


@pytest.mark.parametrize("step", [0.001, 0.01, 0.1])
@pytest.mark.parametrize("share", [0.4, 0.7, 0.85])
@pytest.mark.parametrize("noise", [0.0, 0.2, 1.0])
def test_a_cut_top_is_saturated_however_it_is_rounded(step: float, share: float, noise: float) -> None:
    """Every peak that a detector's end cuts by a tenth or more is noticed under rounding and noise."""
    whole = trace_of(UNDISTURBED, noise=noise * step)
    end = share * float(whole.signal.max())
    cut = as_trace(whole.time_min, step * np.round(np.minimum(whole.signal, end) / step))
    rows = measure(study_of(MARKERS, [0.0]), {"i000": cut}).rows
    for row, peak in zip(rows, UNDISTURBED, strict=True):
        height = float(reference_curve(whole.time_min, peak).max())
        if height > 1.1 * end:
            assert "saturated" in row.flags
        elif height < 0.98 * end:
            assert "saturated" not in row.flags


def test_a_split_peak_is_measured_as_one() -> None:
    """Two tops 3.4 σ apart are one marker with the area of both."""
    row = last_row([*UNDISTURBED[:2], (2.4, 2.4, 0.022, 0.006), (1.6, 2.475, 0.022, 0.006)])
    assert "split" in row.flags
    assert row.peak_area == pytest.approx(4.0, rel=0.01)
    assert row.width_half_min is not None
    assert row.width_half_min > 0.1
    assert row.emg == {}


def test_a_shoulder_is_a_split_peak() -> None:
    """A second half that makes no top of its own, only a shoulder, is recognised and counted in."""
    row = last_row([*UNDISTURBED[:2], (3.0, 2.4, 0.022, 0.006), (1.0, 2.452, 0.022, 0.006)], noise=0.05)
    assert "split" in row.flags
    assert row.peak_area == pytest.approx(4.0, rel=0.01)


def test_merged_peaks_are_separated_by_a_fit() -> None:
    """A stranger at a resolution of 0.7 behind the marker: flagged, and the area is the marker's own."""
    row = last_row([*UNDISTURBED, (1.5, 2.47, 0.022, 0.01)])
    assert "merged" in row.flags
    assert "overlap" in row.flags
    assert row.peak_area == pytest.approx(4.0, rel=0.03)
    assert row.peak_to_valley is None


def test_peak_to_valley_is_that_of_the_outline() -> None:
    """Two equal Gaussians 4 σ apart have a dip of 2 exp(−2) between tops of 1 + exp(−8) (closed form)."""
    row = last_row([*UNDISTURBED[:2], (4.0, 2.4, 0.022, 0.0), (4.0, 2.488, 0.022, 0.0)], noise=0.05)
    assert row.peak_to_valley == pytest.approx((1.0 + np.exp(-8.0)) / (2.0 * np.exp(-2.0)), rel=0.01)


def test_two_markers_under_one_top_are_never_summed() -> None:
    """Two markers that elute together are flagged, and neither row has the area of both."""
    meeting = [*UNDISTURBED[:1], (3.0, 2.41, 0.022, 0.01), UNDISTURBED[2]]
    plan = [
        [UNDISTURBED[0], (3.0, 1.2 + 1.21 * min(step, 6) / 6, 0.022, 0.01), UNDISTURBED[2]]
        for step in range(7)
    ]
    study = study_of(MARKERS, [5.0 * step for step in range(7)])
    traces = {i.id: trace_of(plan[n], noise=0.1, seed=n) for n, i in enumerate(study.injections)}
    assert plan[-1] == meeting
    found = measure(study, traces)
    for marker in ("caffeine", "metoprolol"):
        row = found.of("i006", marker)
        assert "merged" in row.flags
        assert row.peak_area is None or row.peak_area < 5.0


def test_a_weak_peak_is_flagged() -> None:
    """A peak with S/N below 10 is found, measured and flagged."""
    row = last_row([(0.1 * area, *shape) for area, *shape in UNDISTURBED], noise=0.6)  # type: ignore[misc]
    assert row.found
    assert row.signal_to_noise is not None
    assert row.signal_to_noise < 10.0
    assert "low-signal" in row.flags


def test_few_samples_are_flagged() -> None:
    """At 1.5 Hz a narrow peak has fewer than eight samples above half height."""
    trace = trace_of(UNDISTURBED, noise=0.05, rate_hz=1.5)
    rows = measure(study_of(MARKERS, [0.0]), {"i000": trace}).rows
    assert "few-points" in rows[1].flags
    plenty = measure(study_of(MARKERS, [0.0]), {"i000": trace_of(UNDISTURBED, noise=0.05)}).rows
    assert not any("few-points" in row.flags for row in plenty)


def test_a_peak_at_the_end_of_the_trace_is_flagged() -> None:
    """A trace that ends on the tail has an edge, and widths that are not there stay empty."""
    study, whole = study_of(MARKERS, [0.0]), trace_of(UNDISTURBED, noise=0.1)
    keep = whole.time_min < 2.44
    row = measure(study, {"i000": as_trace(whole.time_min[keep], whole.signal[keep])}).of(
        "i000", "metoprolol"
    )
    assert "edge" in row.flags
    assert row.symmetry_factor is None


def test_flags_are_words_of_the_closed_list() -> None:
    """Whatever happens, a row's flags are words of the list that the method page explains."""
    study = study_of(MARKERS, [0.0, 1.0, 2.0])
    traces = {
        i.id: trace_of(UNDISTURBED, noise=0.1 + 6.0 * n, seed=n) for n, i in enumerate(study.injections)
    }
    for row in measure(study, traces).rows:
        assert set(row.flags) <= set(FLAGS)
        assert list(row.flags) == [word for word in FLAGS if word in row.flags]


def test_the_noise_window_is_the_study_s_choice() -> None:
    """A window of 20 half-height widths sees a larger range than one of 5, so S/N falls."""
    study = study_of(MARKERS, [0.0])
    wide = replace(study, choices=replace(study.choices, noise_window_half_widths=20.0))
    traces = {"i000": trace_of(UNDISTURBED, noise=0.1)}
    narrow_noise = measure(study, traces).of("i000", "uracil").signal_to_noise
    wide_noise = measure(wide, traces).of("i000", "uracil").signal_to_noise
    assert narrow_noise is not None
    assert wide_noise is not None
    assert wide_noise < narrow_noise


def test_a_misfit_that_comes_and_goes_is_unlike_its_neighbours() -> None:
    """What grows with the column's age is its own; what one injection alone shows is not."""
    assert unlike_neighbours([0.001, 0.03, 0.002, 0.001]) == [False, True, False, False]
    assert unlike_neighbours([0.001, 0.002, 0.03]) == [False, False, True]
    assert not any(unlike_neighbours([0.004, 0.01, 0.02, 0.03]))
    assert not any(unlike_neighbours([0.001, 0.03, None, 0.001]))
    assert not any(unlike_neighbours([0.03, 0.001]))
    assert not any(unlike_neighbours([0.5]))
    assert unlike_neighbours([]) == []


def test_a_dip_beside_a_peak_is_told_and_trusted_no_more() -> None:
    """A lens of a third of the void peak in front of it costs plates little, and is told of all the same."""
    void = [case for case in judged("lens35", 77) if case.marker == "uracil"]
    assert all(abs(case.errors["plate_number_half_height"]) < 0.05 for case in void)
    assert all({"disturbed", "baseline"} & set(case.flags.split()) for case in void)
    assert all((case.confidence or 0.0) <= 0.5 for case in void)


def test_a_clean_peak_of_any_law_is_trusted() -> None:
    """A tail that no fitted curve has is read off the signal: plates within 5 %, and trusted."""
    for kind in ("bigaussian", "langmuir", "gamma"):
        one = series(kind, 11, with_stranger=False)
        for row in measure(one.study, one.traces).rows:
            time, wide = one.apexes[row.injection, row.marker]
            assert row.plate_number_half_height == pytest.approx(5.545 * (time / wide) ** 2, rel=0.05)
            assert (row.confidence or 0.0) > 0.9
