"""Strangers that stand beside the markers from the first injection on take no name of theirs."""

from collections.abc import Callable

import pytest

from lyewitness.peaks.measuring import measure
from tests.peaks.signals import TruePeak, study_of, trace_of

STATED = {"uracil": 0.3, "toluene": 1.4, "nortriptyline": 2.2}
STRANGER: TruePeak = (0.15, 0.8, 0.01, 0.003)
STEPS = 9


def peaks(step: int) -> dict[str, TruePeak]:
    """Return the peaks of the markers; the base moves on."""
    moved = 1.0 - 0.01 * step
    return {
        "uracil": (1.0, 0.3, 0.006, 0.002),
        "toluene": (3.0, 1.4 * moved, 0.0156 * moved, 0.004),
        "nortriptyline": (4.0, 2.2 * moved, 0.026 * moved, 0.02),
    }


def gone(marker: str, steps: set[int]) -> Callable[[int], dict[str, TruePeak]]:
    """Return peaks of which one is missing in some injections."""
    return lambda step: {
        name: one for name, one in peaks(step).items() if name != marker or step not in steps
    }


def fading(step: int) -> dict[str, TruePeak]:
    """Return peaks of which one falls to a fiftieth."""
    area = 3.0 * (1.0, 1.0, 1.0, 0.9, 0.6, 0.3, 0.1, 0.05, 0.02)[step]
    return peaks(step) | {"toluene": (area, *peaks(step)["toluene"][1:])}


def passing(step: int) -> dict[str, TruePeak]:
    """Return peaks of which one loses half of its retention, and passes the stranger."""
    moved = 1.0 - 0.06 * step
    return peaks(step) | {"toluene": (3.0, 1.4 * moved, 0.0156 * moved, 0.004)}


COURSES = {
    "the neutral is gone in the later half": gone("toluene", {5, 6, 7, 8}),
    "the hold-up marker is gone in six of nine": gone("uracil", {1, 2, 4, 5, 7, 8}),
    "the neutral fades": fading,
    "the neutral passes the stranger": passing,
}


@pytest.mark.parametrize("place", [0.8, 2.9])
@pytest.mark.parametrize("course", COURSES)
def test_a_steady_stranger_takes_no_name(course: str, place: float) -> None:
    """Every marker is found where it stands, and nowhere once it is gone."""
    plan = [COURSES[course](step) for step in range(STEPS)]
    stranger = (STRANGER[0], place, *STRANGER[2:])
    study = study_of(STATED, [8.0 * step for step in range(STEPS)])
    traces = {
        one.id: trace_of([*own.values(), stranger], noise=0.1, seed=step)
        for step, (one, own) in enumerate(zip(study.injections, plan, strict=True))
    }
    found = measure(study, traces)
    for one, own in zip(study.injections, plan, strict=True):
        for marker in STATED:
            row = found.of(one.id, marker)
            assert row.found == (marker in own), (one.id, marker)
            if marker in own:
                assert row.retention_time_min == pytest.approx(own[marker][1], abs=0.03)


def test_of_two_under_one_top_neither_is_named_after_a_stranger() -> None:
    """Two that no fit can part share their top, with doubt; the stranger beside them stays one."""
    study = study_of({**STATED, "nortriptyline": 1.42}, [8.0 * step for step in range(6)])
    traces = {
        one.id: trace_of(
            [peaks(0)["uracil"], peaks(0)["toluene"], (3.0, 1.42, 0.016, 0.004), STRANGER],
            noise=0.1,
            seed=step,
        )
        for step, one in enumerate(study.injections)
    }
    for row in measure(study, traces).rows:
        if row.marker != "uracil":
            assert row.retention_time_min == pytest.approx(1.415, abs=0.02)
            assert "doubtful" in row.flags
            assert row.confidence is not None
            assert row.confidence <= 0.5


def test_what_is_far_from_its_stated_retention_is_still_a_marker() -> None:
    """A column of which all retained markers elute a third later keeps their names."""
    study = study_of(STATED, [8.0 * step for step in range(6)])
    later = [(area, 1.35 * time, 1.35 * sigma, tau) for area, time, sigma, tau in list(peaks(0).values())[1:]]
    traces = {
        one.id: trace_of([peaks(0)["uracil"], *later, STRANGER], noise=0.1, seed=step)
        for step, one in enumerate(study.injections)
    }
    for row in measure(study, traces).rows:
        if row.marker != "uracil":
            assert row.retention_time_min == pytest.approx(1.35 * STATED[row.marker], abs=0.04)
