"""Scenarios to run: the example study, a small one, and variants with what goes wrong in practice.

In: nothing, or a scenario. Out: `Scenario`, to be handed to `simulate` or `writing.write_study`.
"""

from collections.abc import Mapping
from dataclasses import replace

from lyewitness.rehearsal.example import example
from lyewitness.rehearsal.kinds import coated_silica, porous_hybrid, three_kinds
from lyewitness.rehearsal.plans import (
    Course,
    GroupPlan,
    MarkerOnColumn,
    MarkerPlan,
    Mishap,
    MishapKind,
    Scenario,
)
from lyewitness.rehearsal.records import Rehearsal
from lyewitness.rehearsal.simulating import foresee, simulate

__all__ = [
    "Rehearsal",
    "Scenario",
    "accelerated_scenario",
    "example_scenario",
    "foresee",
    "ruined_scenario",
    "simulate",
    "small_scenario",
    "three_kinds_scenario",
    "with_absent_peaks",
    "with_columns",
    "with_equal_groups",
    "with_marker_swap",
    "with_merged_pair",
    "with_saturation",
    "with_split_peaks",
    "with_stranger",
]


def example_scenario() -> Scenario:
    """Return the example study: a silica C18 alone and behind a sacrificial column, and a polymer."""
    return example()


def three_kinds_scenario() -> Scenario:
    """Return three kinds of column of which one holds, one declines slowly and one fails late and fast."""
    return three_kinds()


def small_scenario() -> Scenario:
    """Return two groups of two columns at six points in time, for tests that need a whole study soon."""
    return replace(
        three_kinds(),
        id="small",
        title="Two kinds of column, a small invented study",
        groups=(replace(porous_hybrid(), columns=2), replace(coated_silica(), columns=2)),
        schedule_h=(0, 0.1, 30, 60, 90, 120),
        reference_injections=2,
        questions=three_kinds().questions[:1],
        mishaps=(Mishap("bubble", "H2", 4, size=6.0, why="air bubble in the detector cell"),),
        dialects=("comma, minutes", "ASTM E1947 netCDF"),
        seed=7,
    )


def ruined_scenario() -> Scenario:
    """Return three coated columns that are run until nothing is left of them.

    Plates fall to about a tenth, tails grow to a symmetry factor of about 4, the neutral loses half of
    its retention and passes the base on its way, and in the last injections its peak is split.
    """
    ruined = coated_silica()
    base, neutral = ruined.markers["propranolol"], ruined.markers["naphthalene"]
    tails = Course("delayed", 0.012, 30.0, toward=20.0)
    plates = Course("delayed", 0.04, 30.0, toward=0.08)
    markers = {
        **ruined.markers,
        "propranolol": replace(base, plates_course=plates, tailing_course=tails),
        "naphthalene": replace(neutral, plates_course=plates, tailing_course=tails),
    }
    bare = replace(
        three_kinds(),
        id="ruined",
        title="Three columns run to ruin, an invented study",
        groups=(replace(ruined, markers=markers),),
        questions=three_kinds().questions[:1],
        mishaps=(),
    )
    return with_split_peaks(with_marker_swap(bare), (19, 20))


def accelerated_scenario(temperatures_C: tuple[float, ...] = (50.0, 60.0, 70.0)) -> Scenario:
    """Return porous hybrid columns, three at each of these temperatures, with the same activation energy."""
    columns = 3 * len(temperatures_C)
    group = replace(porous_hybrid(), columns=columns, temperatures_C=temperatures_C)
    return replace(
        three_kinds(),
        id="accelerated",
        title="One kind of column at several temperatures, an invented study",
        groups=(group,),
        questions=three_kinds().questions[:1],
        mishaps=(),
        notes=(),
        images=(),
        blocks=False,
        command="",
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


def with_stranger(
    scenario: Scenario, retention_factor: float = 1.2, area: float = 0.8, from_turn: int = 1
) -> Scenario:
    """Return `scenario` with a compound that `study.toml` does not name, from that injection on."""
    model = scenario.markers[-1].id
    groups = tuple(
        replace(
            group,
            markers={
                **group.markers,
                "stranger": replace(group.markers[model], retention_factor=retention_factor),
            },
        )
        for group in scenario.groups
    )
    stranger = MarkerPlan("stranger", "neutral", area, stated=False)
    changed = replace(scenario, groups=groups, markers=(*scenario.markers, stranger))
    return _with_mishaps(changed, "absent", tuple(range(1, from_turn)), 0.0)


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


def _with_mishaps(scenario: Scenario, kind: MishapKind, turns: tuple[int, ...], size: float) -> Scenario:
    """Return `scenario` with this happening to its last marker on every column."""
    added = tuple(
        Mishap(kind, f"{group.letter}{number}", turn, scenario.markers[-1].id, size)
        for group in scenario.groups
        for number in range(1, group.columns + 1)
        for turn in turns
    )
    return replace(scenario, mishaps=scenario.mishaps + added)
