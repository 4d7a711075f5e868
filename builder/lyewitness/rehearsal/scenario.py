"""Scenarios to run: the example study, a small one, and variants with what goes wrong in practice.

In: nothing, or a scenario. Out: `Scenario`, to be handed to `simulate` or `writing.write_study`.

Three invented kinds of column under a hot alkaline amine are what other scenarios are made from; numbers
are of a likely size, none was measured.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from lyewitness.rehearsal.example import LIMITS, example
from lyewitness.rehearsal.plans import (
    Course,
    Detector,
    GroupPlan,
    MarkerOnColumn,
    MarkerPlan,
    Medium,
    Mishap,
    MishapKind,
    QuestionPlan,
    Repeatability,
    Scenario,
    Spread,
)
from lyewitness.rehearsal.records import Rehearsal
from lyewitness.rehearsal.simulating import foresee, simulate

INVENTED = "This study is invented: columns, people and traces come from a seeded simulator."
MARKERS = (
    MarkerPlan("thiourea", "void", area=0.75),
    MarkerPlan("propranolol", "base", area=1.7, pka=9.5),
    MarkerPlan("naphthalene", "neutral", area=3.2),
)
STRESS = Medium(
    buffer="diethylamine",
    buffer_mM=20,
    ph=11.0,
    ph_temperature_C=25,
    organic="acetonitrile",
    organic_percent=25,
    temperature_C=60,
    flow_mL_min=0.3,
)
TEST = Medium(
    buffer="diethylamine",
    buffer_mM=20,
    ph=11.0,
    ph_temperature_C=25,
    organic="acetonitrile",
    organic_percent=45,
    temperature_C=40,
    flow_mL_min=0.3,
    wavelength_nm=240,
    injection_uL=1.0,
)
PIERCED_H = 42.0
SCHEDULE_H = (0, 0.1, 0.2, 6, 12, 18, 24, 31, 38, 45, 52, 59, 66, 73, 80, 88, 96, 104, 112, 120)


def polymer() -> GroupPlan:
    """Return the group that holds."""
    return GroupPlan(
        name="polymer",
        letter="P",
        particle="polymer",
        bonding="none",
        particle_um=2.6,
        hold_up_min=0.346,
        pressure_bar=96,
        pressure_course=Course("first order", rate_per_h=0.01, toward=1.06),
        markers={
            "thiourea": MarkerOnColumn(0, plates=2700, tailing=0.7),
            "propranolol": MarkerOnColumn(2.4, plates=7900, tailing=0.75),
            "naphthalene": MarkerOnColumn(7.1, plates=8300, tailing=0.55),
        },
    )


def porous_hybrid() -> GroupPlan:
    """Return the group that declines slowly from the first hour on."""
    return GroupPlan(
        name="porous hybrid",
        letter="H",
        particle="porous hybrid",
        bonding="C18",
        particle_um=1.7,
        hold_up_min=0.358,
        pressure_bar=182,
        hold_up_course=Course("first order", rate_per_h=0.006, toward=1.04),
        pressure_course=Course("first order", rate_per_h=0.006, toward=1.25),
        markers={
            "thiourea": MarkerOnColumn(0, 2900, 0.65, plates_course=Course("first order", 0.0016)),
            "propranolol": MarkerOnColumn(
                2.6,
                9700,
                0.7,
                Course("first order", 0.0010, toward=0.7),
                Course("first order", 0.0030),
                Course("first order", 0.006, toward=2.5),
            ),
            "naphthalene": MarkerOnColumn(
                5.6,
                10400,
                0.5,
                Course("first order", 0.0014, toward=0.6),
                Course("first order", 0.0025),
                Course("first order", 0.006, toward=2.2),
            ),
        },
    )


def coated_silica() -> GroupPlan:
    """Return the group whose decline starts late, when the coating is pierced, and then runs fast."""
    return GroupPlan(
        name="coated silica",
        letter="C",
        particle="coated silica",
        bonding="C18",
        particle_um=2.7,
        hold_up_min=0.295,
        pressure_bar=78,
        hold_up_course=_once_pierced(0.01, toward=1.10),
        pressure_course=Course("delayed", 0.005, 58.0, toward=3.5),
        markers={
            "thiourea": MarkerOnColumn(
                0,
                2400,
                0.7,
                plates_course=_once_pierced(0.02, toward=0.15),
                tailing_course=_once_pierced(0.02, toward=2.5),
            ),
            "propranolol": MarkerOnColumn(
                2.2,
                8900,
                0.75,
                _once_pierced(0.003, toward=0.5),
                _once_pierced(0.036, toward=0.06),
                _once_pierced(0.010, toward=9.0),
            ),
            "naphthalene": MarkerOnColumn(
                5.0,
                9600,
                0.5,
                _once_pierced(0.0045, toward=0.5),
                _once_pierced(0.030, toward=0.06),
                _once_pierced(0.009, toward=7.0),
            ),
        },
    )


def _once_pierced(rate_per_h: float, toward: float) -> Course:
    """Return a course that begins when the coating is pierced."""
    return Course("delayed", rate_per_h, PIERCED_H, toward)


def three_kinds() -> Scenario:
    """Return three groups of three columns at twenty points in time, without notes and images."""
    return Scenario(
        id="three-kinds",
        title="Three kinds of column in hot diethylamine buffer",
        invented=INVENTED,
        groups=(polymer(), porous_hybrid(), coated_silica()),
        markers=MARKERS,
        stress=STRESS,
        test=TEST,
        limits=LIMITS,
        schedule_h=SCHEDULE_H,
        schedule_jitter_h=0.6,
        questions=QUESTIONS,
        spread=Spread(life=0.05, block=0.03),
        repeatability=Repeatability(plates=0.006, area=0.0025, pressure=0.004),
        detector=Detector(),
        mishaps=MISHAPS,
        dialects=("comma, minutes", "semicolon, decimal comma, seconds", "ASTM E1947 netCDF"),
        people=(("Analyst A", "ran the columns"), ("Analyst B", "prepared the buffers and kept the log")),
        keywords=("column stability", "high pH", "diethylamine", "invented example"),
        blocks=True,
        seed=4,
    )


QUESTIONS = (
    QuestionPlan(
        id="longest",
        text="Which of our three kinds of column lasts longest in 20 mmol/L diethylamine, pH 11.0, at 60 °C?",
        asked_by="Cleaning validation",
        asked_on=date(2026, 3, 2),
        expectation="The coated columns last at least as long as the porous hybrid ones.",
        run_time_min=4.0,
    ),
    QuestionPlan(
        id="base-method",
        text="Can the assay of the base stay on coated columns, if we change them every two days?",
        asked_by="Assay development",
        asked_on=date(2026, 3, 16),
        groups=("porous hybrid", "coated silica"),
        markers=("propranolol",),
        metrics=("plate_number_half_height", "symmetry_factor"),
        run_time_min=6.5,
        expectation="Two days are within the life of every coated column.",
    ),
)
MISHAPS = (
    Mishap("bubble", "H2", 9, size=6.0, why="air bubble in the detector cell"),
    Mishap("short injection", "P3", 15, size=0.35, why="sample vial nearly empty, short injection"),
)


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
