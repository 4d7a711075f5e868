"""Scenarios to run: the example study, a small one, and variants with what goes wrong in practice.

In: nothing, or a scenario. Out: `Scenario`, to be handed to `simulate` or `writing.write_study`.
"""

from collections.abc import Mapping
from dataclasses import replace

from lyewitness.rehearsal.example import core_shell, example, porous_hybrid
from lyewitness.rehearsal.records import Course, GroupPlan, MarkerOnColumn, Mishap, Rehearsal, Scenario
from lyewitness.rehearsal.simulating import foresee, simulate

__all__ = [
    "Rehearsal",
    "Scenario",
    "example_scenario",
    "foresee",
    "simulate",
    "small_scenario",
    "with_absent_peaks",
    "with_columns",
    "with_equal_groups",
    "with_marker_swap",
    "with_merged_pair",
    "with_saturation",
    "with_split_peaks",
]


def example_scenario() -> Scenario:
    """Return the example study: three groups of three columns, twenty points in time."""
    return example()


def small_scenario() -> Scenario:
    """Return two groups of two columns at six points in time, for tests that need a whole study soon."""
    return replace(
        example(),
        id="small",
        title="Two kinds of column, a small invented study",
        groups=(replace(porous_hybrid(), columns=2), replace(core_shell(), columns=2)),
        schedule_h=(0, 0.1, 30, 60, 90, 120),
        reference_injections=2,
        questions=example().questions[:1],
        mishaps=(Mishap("bubble", "H2", 4, size=6.0, why="air bubble in the detector cell"),),
        dialects=("comma, minutes", "ASTM E1947 netCDF"),
        notes=(),
        images=(),
        seed=7,
    )


def with_columns(scenario: Scenario, columns: int) -> Scenario:
    """Return `scenario` with that many columns in every group."""
    return replace(scenario, groups=tuple(replace(group, columns=columns) for group in scenario.groups))


def with_equal_groups(scenario: Scenario) -> Scenario:
    """Return `scenario` with every group behaving as the first one does, under its own name."""
    model = scenario.groups[0]
    return replace(
        scenario,
        groups=tuple(replace(model, name=group.name, letter=group.letter) for group in scenario.groups),
    )


def with_marker_swap(scenario: Scenario, after_h: float = 40.0) -> Scenario:
    """Return `scenario` with base and neutral changing places in the order of elution.

    The neutral loses retention and the base gains some, from `after_h` on; they pass each other,
    merged for a while, when the neutral has lost about half of its retention.
    """
    falling = Course("delayed", 0.04, after_h, toward=0.35)
    rising = Course("delayed", 0.04, after_h, toward=1.25)
    first, second = _retained(scenario)
    return _with_retention_courses(scenario, {first: rising, second: falling})


def with_merged_pair(scenario: Scenario, resolution: float = 0.9) -> Scenario:
    """Return `scenario` with the second retained marker only `resolution` behind the first."""
    first, second = _retained(scenario)

    def beside(group: GroupPlan) -> GroupPlan:
        early, late = group.markers[first], group.markers[second]
        width = (5.54 / early.plates) ** 0.5
        distance = resolution * 2 * width / 1.18
        k = (1 + early.retention_factor) * (1 + distance) - 1
        moved = replace(
            late, retention_factor=k, plates=early.plates, retention_course=early.retention_course
        )
        return replace(group, markers={**group.markers, second: moved})

    return replace(scenario, groups=tuple(beside(group) for group in scenario.groups))


def with_absent_peaks(scenario: Scenario, turns: tuple[int, ...] = (4, 5)) -> Scenario:
    """Return `scenario` with the last marker missing in these injections of every column."""
    return _with_mishaps(scenario, "absent", turns, 0.0)


def with_split_peaks(
    scenario: Scenario, turns: tuple[int, ...] = (5, 6), distance_sigma: float = 3.5
) -> Scenario:
    """Return `scenario` with the last marker split into two tops in these injections."""
    return _with_mishaps(scenario, "split", turns, distance_sigma)


def with_saturation(scenario: Scenario, at_mAU: float = 40.0) -> Scenario:
    """Return `scenario` with a detector that ends at `at_mAU`."""
    return replace(scenario, detector=replace(scenario.detector, saturates_at_mAU=at_mAU))


def _retained(scenario: Scenario) -> tuple[str, str]:
    """Return the ids of the first two markers that are retained."""
    first, second = [marker.id for marker in scenario.markers if marker.role != "void"][:2]
    return first, second


def _with_retention_courses(scenario: Scenario, courses: Mapping[str, Course]) -> Scenario:
    def changed(marker: str, plan: MarkerOnColumn) -> MarkerOnColumn:
        return replace(plan, retention_course=courses.get(marker, plan.retention_course))

    return replace(
        scenario,
        groups=tuple(
            replace(group, markers={marker: changed(marker, plan) for marker, plan in group.markers.items()})
            for group in scenario.groups
        ),
    )


def _with_mishaps(scenario: Scenario, kind: str, turns: tuple[int, ...], size: float) -> Scenario:
    assert kind in ("absent", "split")
    added = tuple(
        Mishap("absent" if kind == "absent" else "split", f"{group.letter}{number}", turn, marker, size)
        for group in scenario.groups
        for number in range(1, group.columns + 1)
        for turn in turns
        for marker in [scenario.markers[-1].id]
    )
    return replace(scenario, mishaps=scenario.mishaps + added)
