"""Which peak is which marker, along a whole sequence."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.naming.assignments import is_tail
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.peaks.survey.fitting import ClusterFit
from lyewitness.peaks.survey.surveys import components_of
from lyewitness.study.records import Study
from lyewitness.traces.records import Trace
from tests.peaks.signals import TruePeak, study_of, trace_of

MARKERS = {"uracil": 0.3, "caffeine": 1.2, "metoprolol": 2.4}
AREAS = {"uracil": 2.0, "caffeine": 3.0, "metoprolol": 4.5}
STEPS = 21


def peak(marker: str, time: float, plates: float, tail: float) -> TruePeak:
    """Return a marker's peak at `time` with N = plates by its σ, and τ = tail · σ."""
    sigma = time / float(np.sqrt(plates))
    return AREAS[marker], time, sigma, tail * sigma


def declining(step: int) -> list[TruePeak]:
    """Return the peaks of a column that loses half of its retention and nine tenths of its plates."""
    left = 1.0 - step / (STEPS - 1)
    plates = 900.0 + 8000.0 * left
    return [
        peak("uracil", 0.3, 0.4 * plates, 0.4),
        peak("caffeine", 0.3 + 0.9 * (0.5 + 0.5 * left), plates, 0.4 + 3.0 * (1.0 - left)),
        peak("metoprolol", 0.3 + 2.1 * (0.5 + 0.5 * left), plates, 0.5 + 3.0 * (1.0 - left)),
    ]


def crossing(step: int) -> list[TruePeak]:
    """Return the peaks of a column on which the last marker overtakes the one before it."""
    share = step / (STEPS - 1)
    return [
        peak("uracil", 0.3, 2500.0, 0.4),
        peak("caffeine", 1.2 + 0.15 * share, 8000.0, 0.4),
        peak("metoprolol", 2.0 - 1.1 * share, 8000.0, 0.4),
    ]


def sequence(plan: list[list[TruePeak]], noise: float = 0.15) -> tuple[Study, dict[str, Trace]]:
    """Return a study with one injection for each list of peaks."""
    study = study_of(MARKERS, [6.0 * step for step in range(len(plan))])
    traces = {
        injection.id: trace_of(peaks, noise=noise, seed=place, drift=0.3 * np.sin(place))
        for place, (injection, peaks) in enumerate(zip(study.injections, plan, strict=True))
    }
    return study, traces


def row_times(found: Measurements, marker: str) -> list[float | None]:
    """Return the retention times of one marker in order."""
    return [row.retention_time_min for row in found.rows if row.marker == marker]


def follows(found: Measurements, plan: list[list[TruePeak]]) -> bool:
    """Tell whether every marker was found within half a width of its own peak in every injection."""
    for place, marker in enumerate(MARKERS):
        for time, peaks in zip(row_times(found, marker), plan, strict=True):
            _, center, sigma, tau = peaks[place]
            if time is None or not center - sigma < time < center + sigma + tau:
                return False
    return True


def test_a_decline_to_half_retention_and_a_tenth_of_the_plates_is_followed() -> None:
    """Every marker keeps its name while its peak drifts far out of the window it started in."""
    plan = [declining(step) for step in range(STEPS)]
    found = measure(*sequence(plan))
    assert follows(found, plan)
    assert all((row.confidence or 0.0) > 0.95 for row in found.rows)


def test_two_markers_that_change_places_keep_their_names() -> None:
    """The overtaking marker is followed through the other one by its course and its area."""
    plan = [crossing(step) for step in range(STEPS)]
    found = measure(*sequence(plan))
    assert follows(found, plan)
    first, last = (found.of(f"i{place:03d}", "metoprolol") for place in (0, STEPS - 1))
    other = found.of(f"i{STEPS - 1:03d}", "caffeine")
    assert first.retention_time_min is not None
    assert last.retention_time_min is not None
    assert other.retention_time_min is not None
    assert last.retention_time_min < other.retention_time_min < first.retention_time_min
    meeting = [row for row in found.rows if row.marker == "caffeine" and "merged" in row.flags]
    assert 1 <= len(meeting) <= 8


@pytest.mark.parametrize("bad", [0, 9, STEPS - 1])
def test_one_bad_injection_does_not_lose_the_rest(bad: int) -> None:
    """An injection of something else, anywhere in the sequence, leaves all others as they are."""
    plan = [declining(step) for step in range(STEPS)]
    strange = [*plan]
    strange[bad] = [(3.0, 0.55, 0.012, 0.0), (1.0, 1.75, 0.02, 0.0), (6.0, 3.3, 0.03, 0.0)]
    found = measure(*sequence(strange))
    kept = [row for row in found.rows if row.injection != f"i{bad:03d}"]
    good = plan[:bad] + plan[bad + 1 :]
    assert follows(Measurements(tuple(kept)), good)
    wrong = [row for row in found.rows if row.injection == f"i{bad:03d}"]
    assert all(not row.found or "doubtful" in row.flags for row in wrong)


def test_a_short_injection_is_recognised_by_its_neighbours() -> None:
    """All peaks at a third of their area are still the same markers."""
    plan = [declining(step) for step in range(STEPS)]
    plan[7] = [(0.33 * area, *shape) for area, *shape in plan[7]]  # type: ignore[misc]
    found = measure(*sequence(plan))
    assert follows(found, plan)


def test_a_shift_of_all_peaks_is_recognised() -> None:
    """One injection at another flow moves all peaks by 6 %, and each keeps its name."""
    plan = [declining(step) for step in range(STEPS)]
    plan[12] = [(area, 1.06 * center, sigma, tau) for area, center, sigma, tau in plan[12]]
    found = measure(*sequence(plan))
    assert follows(found, plan)


def test_an_absent_marker_is_absent_with_the_place_it_was_looked_for() -> None:
    """A marker left out of two injections is not found there; a stranger does not take its name."""
    plan = [declining(step) for step in range(STEPS)]
    for place in (5, 6):
        plan[place] = [*plan[place][:2], (0.6, 0.8, 0.01, 0.0)]
    found = measure(*sequence(plan))
    for place in (5, 6):
        row: PeakRow = found.of(f"i{place:03d}", "metoprolol")
        assert not row.found
        assert row.absent_because.startswith("no peak between ")
        assert row.absent_because.endswith("where its other injections place it")
        assert row.peak_area is None
        assert len(found.unassigned[f"i{place:03d}"]) == 1


def test_an_impurity_that_grows_beside_a_marker_takes_no_name() -> None:
    """A stranger that appears between two markers is listed as unassigned."""
    plan = [[*declining(step), (0.02 * step + 0.01, 0.75, 0.012, 0.0)] for step in range(STEPS)]
    found = measure(*sequence(plan))
    assert follows(found, plan)
    assert sum(len(found.unassigned[f"i{step:03d}"]) for step in range(5, STEPS)) >= STEPS - 6


HARD: dict[str, Callable[[float], list[TruePeak]]] = {
    "equal areas change places": lambda share: [
        peak("uracil", 0.3, 2500.0, 0.4),
        (3.0, 1.2, 0.0134, 0.006),
        (3.0, 2.0 - 1.2 * share, (2.0 - 1.2 * share) / 90.0, 0.006),
    ],
    "the injected amount of one marker fades to a tenth": lambda share: [
        peak("uracil", 0.3, 2500.0, 0.4),
        (3.0 * (1.0 - 0.9 * share), 1.2, 0.0134, 0.006),
        peak("metoprolol", 2.4 - 0.8 * share, 8000.0, 0.5),
    ],
    "everything breaks down at once": lambda share: [
        peak("uracil", 0.3, 2500.0 if share < 0.5 else 300.0, 0.4 if share < 0.5 else 2.0),
        peak(
            "caffeine",
            1.2 if share < 0.5 else 0.95,
            8000.0 if share < 0.5 else 900.0,
            0.5 if share < 0.5 else 3.5,
        ),
        peak(
            "metoprolol",
            2.4 if share < 0.5 else 1.8,
            8000.0 if share < 0.5 else 800.0,
            0.5 if share < 0.5 else 3.5,
        ),
    ],
    "the stated retention is 8 % off": lambda share: [
        peak("uracil", 0.315, 2500.0, 0.4),
        peak("caffeine", 1.29 - 0.1 * share, 8000.0, 0.5),
        peak("metoprolol", 2.6 - 0.3 * share, 8000.0, 0.5),
    ],
}


@pytest.mark.parametrize("case", HARD)
def test_hard_courses_are_followed(case: str) -> None:
    """Markers keep their names whatever of position, area and shape gives way."""
    plan = [HARD[case](step / (STEPS - 1)) for step in range(STEPS)]
    assert follows(measure(*sequence(plan)), plan)


def test_without_stated_retention_names_are_doubtful() -> None:
    """Where nothing but their order tells two markers apart, they are named and flagged."""
    plan = [declining(step) for step in range(5)]
    study, traces = sequence(plan)
    nowhere = tuple(replace(marker, retention_min={}) for marker in study.markers)
    found = measure(replace(study, markers=nowhere), traces)
    assert follows(found, plan)
    assert all("doubtful" in row.flags for row in found.rows)


@settings(max_examples=5, deadline=None)
@given(st.permutations(range(8)))
def test_the_order_of_the_folder_does_not_matter(order: list[int]) -> None:
    """Shuffling the injections of a study changes no value."""
    plan = [declining(2 * step) for step in range(8)]
    study, traces = sequence(plan)
    straight = measure(study, traces)
    injections = tuple(study.injections[place] for place in order)
    shuffled = measure(replace(study, injections=injections), traces)
    for row in straight.rows:
        assert shuffled.of(row.injection, row.marker) == row


def vanishing(step: int, drift: float) -> list[TruePeak]:
    """Return the peaks of a column on which the last marker moves on to another and is gone by then.

    The other one moves by the share `drift` a step, and keeps its width.
    """
    share, moved = step / 5.0, 1.0 + drift * step
    uracil, caffeine = peak("uracil", 0.3, 2500.0, 0.4), peak("caffeine", 1.2 * moved, 8000.0 * moved**2, 0.4)
    _, time, sigma, tail = peak("metoprolol", 1.9 - 0.7 * min(share, 1.0), 6000.0, 0.6)
    left = max(AREAS["metoprolol"] * (1.0 - 0.17 * step), 0.0)
    return [uracil, caffeine, (left, time, sigma, tail)] if step < 4 else [uracil, caffeine]


@pytest.mark.parametrize("drift", [0.0, -0.035])
def test_a_marker_that_is_gone_where_another_stands_is_not_given_a_share_of_it(drift: float) -> None:
    """Once the top holds no more than the other marker did alone, that one keeps all of its area."""
    plan = [vanishing(step, drift) for step in range(7)]
    found = measure(*sequence(plan))
    for step in range(7):
        other = found.of(f"i{step:03d}", "caffeine")
        assert other.peak_area == pytest.approx(AREAS["caffeine"], rel=0.03)
        assert found.of(f"i{step:03d}", "metoprolol").found == (step < 4)


def test_a_broad_tail_behind_a_marker_is_its_own() -> None:
    """A curve that a worn marker's tail needs for itself is not lost from its area, nor a stranger."""
    whole = peak("metoprolol", 2.4, 6000.0, 0.6)
    area, time, sigma, tail = whole
    front = (0.82 * area, time, sigma, tail)
    behind = (0.18 * area, time + 3.4 * sigma, 2.2 * sigma, 2.0 * sigma)
    others = [peak("uracil", 0.3, 2500.0, 0.4), peak("caffeine", 1.2, 8000.0, 0.4)]
    plan = [[*others, whole]] * 3 + [[*others, front, behind]] * 2
    found = measure(*sequence(plan))
    for step in (3, 4):
        row = found.of(f"i{step:03d}", "metoprolol")
        assert row.peak_area == pytest.approx(area, rel=0.04)
        assert not [one for one in found.unassigned[f"i{step:03d}"] if 2.4 < one.apex_min < 2.8]


def test_a_wave_of_the_background_behind_a_marker_is_not_its_tail() -> None:
    """What is highest under a marker may be its tail; what is highest behind its end adds nothing to it."""
    fit = partial(
        ClusterFit, error=np.zeros((3, 4)), baseline=(0.0, 7.0, 0.0, 0.0), residual_sd=0.0, misfit=0.0
    )
    areas, centers = np.array([8.3, 1.2, 2.2]), np.array([4.18, 4.3, 4.58])
    sigmas, tails = np.array([0.042, 0.09, 0.16]), np.array([0.042, 0.12, 0.27])
    ((marker, tail, wave),) = components_of([0], [fit(area=areas, center=centers, sigma=sigmas, tau=tails)])
    assert is_tail(marker, tail)
    assert wave.start_min < marker.end_min < wave.apex_min
    assert not is_tail(marker, wave)
