"""The example study: is a sacrificial silica column worth its price, or a polymer column the better way?

In: nothing. Out: `Scenario`. Numbers are chosen to be of a likely size; none was measured.

Its notes and images speak of what the simulated columns do; all are invented.
"""

from datetime import date, datetime
from typing import Literal

from lyewitness.rehearsal.plans import (
    Course,
    Detector,
    EventPlan,
    GroupPlan,
    ImagePlan,
    LimitPlan,
    MarkerOnColumn,
    MarkerPlan,
    Medium,
    Mishap,
    NotePlan,
    QuestionPlan,
    Repeatability,
    Scenario,
    Spread,
)

END_H = 96.0
PARTICLES_NM_PER_PIXEL = 30.0
FRIT_NM_PER_PIXEL = 8000.0


def _pair(
    column: str,
    subject: Literal["particles", "frit"],
    scale: float,
    damage: float,
    fresh: tuple[str, str],
    after: tuple[str, str],
) -> tuple[ImagePlan, ImagePlan]:
    """Return a drawing before and one of the same column after the test.

    `fresh` and `after` are (what the caption says of it, what is to be seen).
    """
    kind: Literal["micrograph", "photograph"] = "micrograph" if subject == "particles" else "photograph"
    stem = column if subject == "particles" else f"{column}-frit"

    def plan(state: str, exposure_h: float, said: str, seen: str, harm: float) -> ImagePlan:
        return ImagePlan(
            file=f"{stem}-{state}.png",
            subject=subject,
            column=column,
            exposure_h=exposure_h,
            caption=f"A drawing that stands in for a {kind}: {said}",
            alt=f"Grey drawing: {seen}",
            pair=f"{stem} before and after",
            nm_per_pixel=scale,
            damage=harm,
            kind=kind,
        )

    return plan("fresh", 0.0, *fresh, 0.0), plan("after", END_H, *after, damage)


IMAGES: tuple[ImagePlan, ...] = (
    *_pair(
        "S1",
        "particles",
        PARTICLES_NM_PER_PIXEL,
        0.9,
        ("packing of the lot of column S1 before use.", "smooth spheres of one size."),
        (
            "packing from the inlet of column S1 after the test; pitted all over, many fragments.",
            "spheres with dark pits and ragged edges, many fragments between them.",
        ),
    ),
    *_pair(
        "G1",
        "particles",
        PARTICLES_NM_PER_PIXEL,
        0.5,
        ("packing of the lot of column G1 before use.", "smooth spheres of one size."),
        (
            "packing from the inlet of column G1 after the test; pits on some, and fragments.",
            "spheres with some dark pits, fragments between them.",
        ),
    ),
    *_pair(
        "P1",
        "particles",
        PARTICLES_NM_PER_PIXEL,
        0.03,
        ("packing of the lot of column P1 before use.", "smooth spheres of one size."),
        ("packing from column P1 after the test.", "smooth spheres, hardly a pit on any."),
    ),
    *_pair(
        "S2",
        "frit",
        FRIT_NM_PER_PIXEL,
        0.12,
        ("inlet frit of column S2 before the test.", "a grey disc of sintered grains in its ring."),
        (
            "inlet frit of column S2 after the test; nearly as it was.",
            "a grey disc of sintered grains with a faint pale veil.",
        ),
    ),
    *_pair(
        "G2",
        "frit",
        FRIT_NM_PER_PIXEL,
        0.75,
        ("inlet frit of column G2 before the test.", "a grey disc of sintered grains in its ring."),
        (
            "inlet frit of column G2 after the test; a pale deposit lies on much of it.",
            "a disc of sintered grains, much of it under pale patches.",
        ),
    ),
)

PLAN = """
Nine columns stand in three blocks. A block has one oven, one bottle and one detector; a valve brings its
three columns to the injector in turn:

- block 1: [[column:S1]], [[column:G1]], [[column:P1]]
- block 2: [[column:S2]], [[column:G2]], [[column:P2]]
- block 3: [[column:S3]], [[column:G3]], [[column:P3]]

The columns S and G are the same silica C18, three lots, one lot a block. Ahead of the injector of each G
column stands a short column of bare silica, in the same oven: it is to feed the mobile phase with silica
before it meets the column that counts. The sacrificial columns are not renewed during the test.

Markers: [[marker:uracil]] for the hold-up time, [[marker:dimethylbenzylamine]] as the base, hardly charged
at this pH, and [[marker:butylbenzene]] as the neutral.

The people who asked believe that the sacrificial column doubles the life.
"""
START = """
Stress began at 08:00 on all blocks, six minutes apart from column to column. Three injections on each column
before anything could happen; [[injection:S1-01]], [[injection:G1-01]] and [[injection:P1-01]] are typical.
The polymer columns start with fewer plates than the silica ones; the limits are shares of each column's own
start.

The buffer was set to pH 11.2 at room temperature. In the oven it is lower; the report should say by how
much. A new bottle is opened every 24 hours of exposure.

Pyrrolidine is corrosive and smells, and its vapour burns: the bottles stand in the hood, and the waste is
kept apart from acids.
"""
POWER = """
A power cut from 17:00 to midnight stopped block 2 for seven hours: pump, oven and detector were off, the
columns stood cold and wet. [[column:S2]], [[column:G2]] and [[column:P2]] go on where they were; their
exposure does not count these hours. Blocks 1 and 3 hang on another line and did not notice.
"""
FITTING = """
[[injection:G3-11]] came late: all three peaks by about 3 %, hold-up marker included, and the pump showed no
change. A drop hung at the injector of block 3. The fitting was tightened and its ferrule renewed after the
run. The injection is kept, because what comes later by one factor keeps its retention *factor*; but nobody
should build on its retention *times*.

Two others are left out, with the reason in the table: [[injection:S2-08]], an air bubble in the cell, and
[[injection:P1-15]], a vial that was nearly empty.
"""
TURN = """
What was slow is fast now. Until the second morning the silica columns lost a few plates in a hundred
([[injection:S1-08]]); since then each run is worse than the one before ([[injection:S1-12]],
[[injection:S1-15]]), and the hold-up time grows. The columns behind a sacrificial one go the same way, a day
later ([[injection:G1-12]]). The polymer columns show nothing ([[injection:P3-12]]).

A guess, not a finding: once the bed has a hollow at its inlet, every further milligram shows.
"""
END = """
Stress ended after 96 hours of exposure; block 2 finished seven hours after the others. Last injections:
[[injection:S1-20]], [[injection:G1-20]], [[injection:P1-20]].

All columns were flushed with water and acetonitrile before they were taken out, to get the amine off.
"""
OPENED = """
One column of each group was opened for its packing, and the inlet frits of two were looked at. *The images
of this example are drawings*: they show what might have been seen, and prove nothing.

- silica C18: [[image:S1-fresh]], [[image:S1-after]]: pits and fragments.
- silica C18 behind a sacrificial column: [[image:G1-fresh]], [[image:G1-after]]: the same, less of it.
- polymer: [[image:P1-fresh]], [[image:P1-after]]: no change to be seen.
- frits: [[image:S2-frit-after]] is nearly as it was, [[image:S2-frit-fresh]]; on [[image:G2-frit-after]]
  something pale has settled since [[image:G2-frit-fresh]], and the pressure of the G columns rose with it
  ([[note:2026-05-08-end]]). Whether it is silica from the sacrificial column, nobody has measured.

The sacrificial column costs a third of a silica column. Whoever compares prices should take the sacrificial
column's own life into account: it was half empty at the end.
"""
NOTES: tuple[NotePlan, ...] = (
    NotePlan("2026-05-03-plan.md", "Plan and blocks", date(2026, 5, 3), "Analyst K", PLAN),
    NotePlan("2026-05-04-start.md", "Start, and the buffer", date(2026, 5, 4), "Analyst M", START),
    NotePlan("2026-05-06-power.md", "Power cut on block 2", date(2026, 5, 6), "Analyst M", POWER),
    NotePlan("2026-05-06-turn.md", "What was slow is fast now", date(2026, 5, 6), "Analyst K", TURN),
    NotePlan(
        "2026-05-06-fitting.md", "A late injection, two left out", date(2026, 5, 6), "Analyst K", FITTING
    ),
    NotePlan("2026-05-08-end.md", "End of the stress", date(2026, 5, 8), "Analyst M", END),
    NotePlan("2026-05-13-opened.md", "Columns opened", date(2026, 5, 13), "Analyst K", OPENED),
)


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
        currency="EUR",
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
