"""What people of the example study wrote and drew: notes and images, all invented.

In: nothing. Out: `NotePlan`s and `ImagePlan`s. The notes speak of what the simulated columns do.
"""

from datetime import date
from typing import Literal

from lyewitness.rehearsal.plans import ImagePlan, NotePlan

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
            "packing from the inlet of column G1 after the test; pits, fewer fragments than in S1.",
            "spheres with some dark pits, a few fragments between them.",
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
