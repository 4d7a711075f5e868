"""The example study: is a sacrificial silica column worth its price, or a polymer column the better way?

In: nothing. Out: `Scenario`. Numbers are chosen to be of a likely size; none was measured.
"""

from datetime import date, datetime

from lyewitness.rehearsal.plans import (
    Course,
    Detector,
    EventPlan,
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
from lyewitness.rehearsal.story import IMAGES, NOTES

INVENTED = (
    "This study is invented: columns, people, traces and notes come from a seeded simulator, "
    "and the images are drawings."
)
MARKERS = (
    MarkerPlan("uracil", "void", area=0.8),
    MarkerPlan("dimethylbenzylamine", "base", area=1.5, pka=8.9),
    MarkerPlan("butylbenzene", "neutral", area=2.9),
)
LIMITS = (
    LimitPlan("plate_number_half_height", at_least_percent=80),
    LimitPlan("retention_factor", at_least_percent=90),
    LimitPlan("symmetry_factor", at_most=2.0),
    LimitPlan("pressure_bar", at_most_percent=150),
)
STRESS = Medium(
    buffer="pyrrolidine",
    buffer_mM=20,
    ph=11.2,
    ph_temperature_C=25,
    organic="acetonitrile",
    organic_percent=25,
    temperature_C=50,
    flow_mL_min=0.3,
)
TEST = Medium(
    buffer="pyrrolidine",
    buffer_mM=20,
    ph=11.2,
    ph_temperature_C=25,
    organic="acetonitrile",
    organic_percent=50,
    temperature_C=40,
    flow_mL_min=0.3,
    wavelength_nm=214,
    injection_uL=1.0,
)
SCHEDULE_H = (0, 0.1, 0.2, 4, 8, 12, 16, 20, 25, 30, 35, 40, 45, 50, 56, 62, 70, 78, 87, 96)
SACRIFICIAL = "silica C18 + sacrificial"


def silica() -> GroupPlan:
    """Return the silica columns on their own: the bed dissolves, faster and faster."""
    return GroupPlan(
        name="silica C18",
        letter="S",
        particle="porous silica",
        bonding="C18",
        particle_um=2.2,
        hold_up_min=0.352,
        pressure_bar=141,
        hold_up_course=Course("sigmoid", 0.06, 60.0, toward=1.05),
        pressure_course=Course("delayed", 0.004, 30.0, toward=2.0),
        markers={
            "uracil": MarkerOnColumn(0, 2700, 0.65, plates_course=Course("sigmoid", 0.08, 52.0, toward=0.2)),
            "dimethylbenzylamine": MarkerOnColumn(
                2.0,
                8700,
                0.75,
                Course("first order", 0.0016, toward=0.5),
                Course("sigmoid", 0.09, 46.0, toward=0.12),
                Course("sigmoid", 0.07, 58.0, toward=6.0),
            ),
            "butylbenzene": MarkerOnColumn(
                5.6,
                9900,
                0.5,
                Course("first order", 0.0022, toward=0.5),
                Course("sigmoid", 0.085, 49.0, toward=0.12),
                Course("sigmoid", 0.07, 62.0, toward=5.0),
            ),
        },
        price=420,
    )


def behind_sacrificial() -> GroupPlan:
    """Return the same silica behind a sacrificial column: the same fate, later."""
    return GroupPlan(
        name=SACRIFICIAL,
        letter="G",
        particle="porous silica",
        bonding="C18",
        particle_um=2.2,
        hold_up_min=0.352,
        pressure_bar=143,
        hold_up_course=Course("sigmoid", 0.045, 90.0, toward=1.05),
        pressure_course=Course("delayed", 0.004, 40.0, toward=2.0),
        markers={
            "uracil": MarkerOnColumn(0, 2700, 0.65, plates_course=Course("sigmoid", 0.055, 80.0, toward=0.2)),
            "dimethylbenzylamine": MarkerOnColumn(
                2.0,
                8700,
                0.75,
                Course("first order", 0.0010, toward=0.5),
                Course("sigmoid", 0.06, 72.0, toward=0.12),
                Course("sigmoid", 0.05, 88.0, toward=6.0),
            ),
            "butylbenzene": MarkerOnColumn(
                5.6,
                9900,
                0.5,
                Course("first order", 0.0014, toward=0.5),
                Course("sigmoid", 0.058, 76.0, toward=0.12),
                Course("sigmoid", 0.05, 92.0, toward=5.0),
            ),
        },
        upstream="sacrificial silica column ahead of the injector, in the oven; not renewed",
        price=560,
    )


def polymer() -> GroupPlan:
    """Return the group that holds, with fewer plates to begin with."""
    return GroupPlan(
        name="polymer",
        letter="P",
        particle="polymer",
        bonding="none",
        particle_um=3.0,
        hold_up_min=0.338,
        pressure_bar=88,
        pressure_course=Course("first order", rate_per_h=0.01, toward=1.05),
        markers={
            "uracil": MarkerOnColumn(0, plates=2300, tailing=0.7),
            "dimethylbenzylamine": MarkerOnColumn(
                2.5, plates=5600, tailing=0.8, plates_course=Course("first order", 0.0005)
            ),
            "butylbenzene": MarkerOnColumn(
                7.2, plates=6100, tailing=0.6, plates_course=Course("first order", 0.0004)
            ),
        },
        price=890,
    )


def example() -> Scenario:
    """Return the example study, ready to be run and written."""
    return Scenario(
        id="invented-pyrrolidine-50C",
        title="A sacrificial column, or a polymer, in hot pyrrolidine",
        invented=INVENTED,
        groups=(silica(), behind_sacrificial(), polymer()),
        markers=MARKERS,
        stress=STRESS,
        test=TEST,
        limits=LIMITS,
        schedule_h=SCHEDULE_H,
        schedule_jitter_h=0.5,
        questions=QUESTIONS,
        spread=Spread(life=0.035, block=0.03),
        repeatability=Repeatability(plates=0.006, area=0.0025, pressure=0.004),
        detector=Detector(),
        mishaps=MISHAPS,
        events=EVENTS,
        factors={"sacrificial column": {"without": ("silica C18",), "with": (SACRIFICIAL,)}},
        dialects=("comma, minutes", "semicolon, decimal comma, seconds", "ASTM E1947 netCDF"),
        people=(("Analyst K", "ran the columns"), ("Analyst M", "prepared the buffers and kept the log")),
        keywords=("column stability", "high pH", "pyrrolidine", "sacrificial column", "invented example"),
        notes=NOTES,
        images=IMAGES,
        blocks=True,
        command="lyewitness rehearse FOLDER",
        started_at=datetime(2026, 5, 4, 8, 0),
        seed=11,
    )


QUESTIONS = (
    QuestionPlan(
        id="worth-it",
        text=(
            "Is a sacrificial silica column ahead of the injector worth its price on our silica C18 at "
            "pH 11.2 and 50 °C, or should we go to a polymer column?"
        ),
        asked_by="Peptide methods",
        asked_on=date(2026, 4, 27),
        expectation="The sacrificial column doubles the life of the silica C18.",
        run_time_min=24.0,
    ),
    QuestionPlan(
        id="two-days",
        text="Does a sequence of two days fit into the life of a silica C18 behind a sacrificial column?",
        asked_by="Peptide methods",
        asked_on=date(2026, 5, 11),
        groups=("silica C18", SACRIFICIAL),
        metrics=("plate_number_half_height", "symmetry_factor"),
        run_time_min=24.0,
        span_h=48.0,
        expectation="Two days are within the life of every column behind a sacrificial one.",
    ),
)
MISHAPS = (
    Mishap("bubble", "S2", 8, size=6.0, why="air bubble in the detector cell"),
    Mishap("short injection", "P1", 15, size=0.35, why="sample vial nearly empty, short injection"),
    Mishap("leak", "G3", 11, size=1.03),
)
EVENTS = (
    EventPlan("fresh mobile phase", 24.0, "new bottle for all blocks"),
    EventPlan(
        "power cut", 33.0, "pump and oven off from evening to midnight, columns cold and wet", 7.0, block=2
    ),
    EventPlan("fresh mobile phase", 48.0, "new bottle for all blocks"),
    EventPlan(
        "part exchanged", 49.0, "fitting at the injector of block 3 tightened, ferrule renewed", block=3
    ),
    EventPlan("fresh mobile phase", 72.0, "new bottle for all blocks"),
)
