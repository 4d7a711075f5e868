"""Three invented kinds of column under a hot alkaline amine, from which other scenarios are made.

In: nothing. Out: `Scenario`. Numbers are chosen to be of a likely size; none was measured.
"""

from datetime import date

from lyewitness.rehearsal.plans import (
    Course,
    Detector,
    GroupPlan,
    LimitPlan,
    MarkerOnColumn,
    MarkerPlan,
    Medium,
    Mishap,
    QuestionPlan,
    Repeatability,
    Scenario,
    Spread,
)

INVENTED = "This study is invented: columns, people and traces come from a seeded simulator."
MARKERS = (
    MarkerPlan("thiourea", "void", area=0.75),
    MarkerPlan("propranolol", "base", area=1.7, pka=9.5),
    MarkerPlan("naphthalene", "neutral", area=3.2),
)
LIMITS = (
    LimitPlan("plate_number_half_height", at_least_percent=80),
    LimitPlan("retention_factor", at_least_percent=90),
    LimitPlan("symmetry_factor", at_most=2.0),
    LimitPlan("pressure_bar", at_most_percent=150),
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
