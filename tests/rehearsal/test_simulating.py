"""A simulated study and its truth agree with each other."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from lyewitness.rehearsal.columns import arrhenius, factor, first_passage_h
from lyewitness.rehearsal.metadata import study_toml
from lyewitness.rehearsal.plans import Course, Detector, Repeatability, Scenario, Spread
from lyewitness.rehearsal.scenario import (
    accelerated_scenario,
    example_scenario,
    foresee,
    ruined_scenario,
    simulate,
    small_scenario,
    three_kinds_scenario,
    with_absent_peaks,
    with_columns,
    with_equal_groups,
    with_marker_swap,
    with_merged_pair,
    with_saturation,
    with_split_peaks,
    with_stranger,
)


def quiet(scenario: Scenario) -> Scenario:
    """Return `scenario` without noise, baseline and bubbles."""
    still = Detector(white_noise_mAU=0, flicker_noise_mAU=0, drift_mAU=0)
    return replace(scenario, detector=still, mishaps=())


def half_height_width(time: np.ndarray, signal: np.ndarray, apex: float) -> float:
    """Return the width at half height about `apex`, interpolated between points."""
    top = int(np.argmin(np.abs(time - apex)))
    level = signal[top - 2 : top + 3].max() / 2
    left = top - int(np.argmax(signal[top::-1] < level))
    right = top + int(np.argmax(signal[top:] < level))
    front = np.interp(level, signal[left : left + 2], time[left : left + 2])
    rear = np.interp(-level, -signal[right - 1 : right + 1], time[right - 1 : right + 1])
    return float(rear - front)


@pytest.mark.parametrize(
    ("course", "at", "expected"),
    [
        (Course(), 50.0, 1.0),
        (Course("straight line", 0.002), 50.0, 0.9),
        (Course("straight line", 0.01, toward=1.2), 50.0, 1.2),
        (Course("first order", 0.01), 100.0, np.exp(-1)),
        (Course("delayed", 0.03, 44.0), 44.0, 1.0),
        (Course("delayed", 0.03, 44.0, toward=2.0), 144.0, 2 - np.exp(-3)),
        (Course("sigmoid", 1.0, 60.0), 60.0, 0.5),
    ],
)
def test_courses_have_their_closed_form(course: Course, at: float, expected: float) -> None:
    """Each starts at 1 and has the value of its formula."""
    assert factor(course, 0.0) == pytest.approx(1.0)
    assert factor(course, at) == pytest.approx(expected)


def test_first_passage_of_an_exponential() -> None:
    """80 % of a first-order decline is reached at ln(1/0.8)/k."""
    life = first_passage_h(lambda t: 100 * np.exp(-0.0024 * t), 80.0, None, 1000.0)
    assert life == pytest.approx(np.log(1 / 0.8) / 0.0024, rel=1e-9)
    assert first_passage_h(lambda t: 100 + 0 * t, 80.0, None, 1000.0) == np.inf


def test_a_trace_shows_the_true_peaks() -> None:
    """Without noise, apex, half width and area read off the points are those of the truth."""
    scenario = quiet(small_scenario())
    run = simulate(scenario)
    for injection in run.truth.injections:
        trace = run.traces[injection.id]
        neutral = run.truth.peaks[injection.id, "naphthalene"]
        near = np.abs(trace.time_min - neutral.retention_time_min) < 2 * neutral.width_half_min
        time, signal = trace.time_min[near], trace.signal[near]
        assert time[np.argmax(signal)] == pytest.approx(neutral.retention_time_min, abs=0.05 / 60)
        width = half_height_width(time, signal, neutral.retention_time_min)
        assert width == pytest.approx(neutral.width_half_min, rel=5e-3)
        plates = 5.54 * (neutral.retention_time_min / neutral.width_half_min) ** 2
        assert plates == pytest.approx(neutral.plate_number_half_height, rel=1e-9)
        total = sum(run.truth.peaks[injection.id, marker.id].area for marker in scenario.markers)
        assert np.trapezoid(trace.signal, trace.time_min) == pytest.approx(total, rel=1e-4)


def test_the_same_seed_gives_the_same_study_and_another_seed_another() -> None:
    """Every array is fixed by the seed."""
    one, two, other = simulate(small_scenario()), simulate(small_scenario()), simulate(small_scenario(), 8)
    for injection, trace in one.traces.items():
        np.testing.assert_array_equal(trace.signal, two.traces[injection].signal)
    assert one.truth.peaks == two.truth.peaks
    assert not np.array_equal(one.traces["H1-01"].signal, other.traces["H1-01"].signal)


def test_true_lives_scale_with_the_speed_of_the_column() -> None:
    """A first-order column reaches 80 % at ln(1/0.8)/(k · speed), counted from its reference."""
    run = foresee(replace(small_scenario(), schedule_h=(0, 0, 30, 60, 90, 120)))
    for name in ("H1", "H2"):
        column = run.columns[name]
        expected = np.log(1 / 0.8) / 0.0025 / column.speed
        assert column.lives_h["naphthalene", "plate_number_half_height"] == pytest.approx(expected, rel=1e-6)


def test_the_example_tells_a_story() -> None:
    """Polymer holds, silica fails; behind a sacrificial column it lasts longer, but not twice as long."""
    truth = foresee(example_scenario())
    key = ("dimethylbenzylamine", "plate_number_half_height")
    lives = {name: column.lives_h[key] for name, column in truth.columns.items()}
    alone, behind = [lives[f"S{n}"] for n in (1, 2, 3)], [lives[f"G{n}"] for n in (1, 2, 3)]
    assert all(lives[f"P{n}"] > 96 for n in (1, 2, 3))
    assert 1.5 < float(np.median(behind) / np.median(alone)) < 1.75
    assert min(behind) > 48
    assert len(truth.injections) == 180
    assert all(peak.retention_time_min < 3.6 for peak in truth.peaks.values())
    fresh = [truth.peaks[f"{name}-01", "butylbenzene"].plate_number_half_height for name in truth.columns]
    assert min(fresh) > 5500
    assert max(fresh) < 11200


def test_a_leak_delays_every_peak_by_one_factor() -> None:
    """Times grow and retention factors stay, as where mobile phase is lost ahead of the column."""
    leaking, sound = example_scenario(), replace(example_scenario(), mishaps=())
    late, usual = (foresee(scenario).peaks for scenario in (leaking, sound))
    for marker in ("uracil", "dimethylbenzylamine", "butylbenzene"):
        one, other = late["G3-11", marker], usual["G3-11", marker]
        assert one.retention_time_min == pytest.approx(1.03 * other.retention_time_min)
        assert one.retention_factor == pytest.approx(other.retention_factor)


def test_columns_of_a_group_spread_as_planned() -> None:
    """The logarithms of the lives of many columns have the planned standard deviation."""
    scenario = with_columns(replace(small_scenario(), spread=Spread(life=0.12)), 150)
    speeds = np.array([column.speed for column in foresee(scenario).columns.values()])
    assert np.log(speeds).std() == pytest.approx(0.12, abs=0.01)


def test_equal_groups_behave_alike() -> None:
    """Every group has the plan of the first one, under its own name."""
    scenario = with_equal_groups(small_scenario())
    assert [group.name for group in scenario.groups] == [group.name for group in small_scenario().groups]
    assert scenario.groups[0].markers == scenario.groups[1].markers


def test_the_pair_swaps_its_order() -> None:
    """The neutral elutes behind the base at first and before it in the end."""
    truth = foresee(with_marker_swap(small_scenario()))
    for column in truth.columns:
        early, late = (
            {
                m: truth.peaks[f"{column}-{turn:02d}", m].retention_time_min
                for m in ("propranolol", "naphthalene")
            }
            for turn in (1, 6)
        )
        assert early["naphthalene"] > early["propranolol"]
        assert late["naphthalene"] < late["propranolol"]


def test_the_merged_pair_has_the_wanted_resolution() -> None:
    """1.18 Δt ÷ sum of half widths."""
    truth = foresee(with_merged_pair(small_scenario(), 0.9))
    one, two = (truth.peaks["H1-01", marker] for marker in ("propranolol", "naphthalene"))
    resolution = 1.18 * (two.retention_time_min - one.retention_time_min)
    assert resolution / (one.width_half_min + two.width_half_min) == pytest.approx(0.9, rel=0.06)


def test_an_absent_peak_leaves_no_area() -> None:
    """The trace of an injection without the neutral shows nothing at its place."""
    scenario = with_absent_peaks(quiet(small_scenario()), (3,))
    run = simulate(scenario)
    assert not run.truth.peaks["H1-03", "naphthalene"].present
    assert run.traces["H1-03"].signal[run.traces["H1-03"].time_min > 2.0].max() < 1e-6


def test_a_split_peak_has_two_tops() -> None:
    """Both tops stand in the trace, and the half width spans both."""
    run = simulate(with_split_peaks(quiet(small_scenario()), (3,), 4.0))
    peak = run.truth.peaks["H1-03", "naphthalene"]
    trace = run.traces["H1-03"]
    assert peak.split
    near = trace.signal[np.abs(trace.time_min - peak.retention_time_min) < 2 * peak.width_half_min]
    tops = [b for (a, b), c in zip(pairwise(near), near[2:], strict=False) if b > a and b > c]
    assert len(tops) == 2
    width = half_height_width(trace.time_min, trace.signal, peak.retention_time_min)
    assert peak.width_half_min > width * 0.99


def test_a_saturated_detector_ends_flat() -> None:
    """No point is above the detector's end, and the truth says which peaks went beyond."""
    run = simulate(with_saturation(small_scenario(), 30.0))
    assert max(trace.signal.max() for trace in run.traces.values()) == 30.0
    assert run.truth.peaks["H1-01", "naphthalene"].saturated


def test_noise_between_injections_is_as_planned() -> None:
    """Retention on a column that does not change repeats within the planned deviation."""
    calm = replace(
        three_kinds_scenario(), repeatability=Repeatability(retention=0.002, hold_up=0.0, serial=0.0)
    )
    truth = foresee(with_columns(calm, 60))
    factors = np.array(
        [
            [truth.peaks[f"P{number}-{turn:02d}", "naphthalene"].retention_factor for turn in range(1, 21)]
            for number in range(1, 61)
        ]
    )
    assert np.log(factors).std(axis=1).mean() == pytest.approx(0.002, rel=0.1)


@pytest.mark.benchmark(group="180 injections: simulate them", max_time=0.4, min_rounds=2)
def test_benchmark_simulating(benchmark: BenchmarkFixture) -> None:
    """Time the simulation of 180 injections of 4,800 points."""
    run = benchmark(lambda: simulate(example_scenario()))
    assert sum(trace.signal.size for trace in run.traces.values()) == 180 * 4800


def test_arrays_cannot_be_changed() -> None:
    """What others read stays as it was simulated."""
    trace = simulate(small_scenario()).traces["H1-01"]
    with pytest.raises(ValueError, match="read-only"):
        trace.signal[0] = 1.0


def test_columns_of_a_block_share_their_oven() -> None:
    """With a block effect alone, a warm oven shortens the lives of all its columns alike."""
    scenario = replace(small_scenario(), spread=Spread(life=0.0, block=0.2))
    columns = foresee(scenario).columns
    assert columns["H1"].speed == pytest.approx(columns["C1"].speed)
    assert columns["H1"].speed != pytest.approx(columns["H2"].speed, rel=0.01)
    warm, cold = sorted((columns["H1"], columns["H2"]), key=lambda column: -column.temperature_C)
    key = ("naphthalene", "plate_number_half_height")
    assert warm.lives_h[key] < cold.lives_h[key]


def test_the_spread_between_blocks_is_as_planned() -> None:
    """The temperatures are drawn so that the logarithm of the speed has the planned deviation."""
    scenario = with_columns(replace(small_scenario(), spread=Spread(life=0.0, block=0.05)), 150)
    speeds = [column.speed for column in foresee(scenario).columns.values() if column.id.startswith("H")]
    assert np.log(speeds).std() == pytest.approx(0.05, abs=0.005)


def test_rates_follow_arrhenius() -> None:
    """Textbook: N2O5 at 338 and 298 K, 103.48 kJ/mol, decomposes 140 times faster (4.9e-3 ÷ 3.5e-5)."""
    ratio = arrhenius(338 - 273.15, 298 - 273.15, 103.48)
    assert ratio == pytest.approx(4.9e-3 / 3.5e-5, rel=0.02)


def test_accelerated_columns_fail_sooner_where_it_is_hotter() -> None:
    """Three temperatures, three columns each; the mean life falls with every step."""
    columns = foresee(accelerated_scenario()).columns.values()
    key = ("naphthalene", "plate_number_half_height")
    lives = [
        np.mean([column.lives_h[key] for column in columns if abs(column.temperature_C - at) < 2])
        for at in (50, 60, 70)
    ]
    assert lives[0] > lives[1] > lives[2]
    assert len(list(columns)) == 9


def test_ruined_columns_are_ruined() -> None:
    """Plates near a tenth, tails near 4, half of the retention gone, and the last peaks split."""
    truth = foresee(ruined_scenario())
    first, last = truth.peaks["C1-01", "naphthalene"], truth.peaks["C1-18", "naphthalene"]
    assert last.plate_number_half_height < 0.2 * first.plate_number_half_height
    assert last.symmetry_factor > 3
    assert last.retention_factor < 0.55 * first.retention_factor
    assert truth.peaks["C1-20", "naphthalene"].split


def test_a_stranger_comes_when_it_is_told_to() -> None:
    """Before its first injection it is absent; it is no marker of the study."""
    scenario = with_stranger(small_scenario(), from_turn=4)
    truth = foresee(scenario)
    assert [truth.peaks[f"H1-0{turn}", "stranger"].present for turn in (1, 3, 4, 6)] == [
        False,
        False,
        True,
        True,
    ]
    assert "stranger" not in study_toml(scenario)
