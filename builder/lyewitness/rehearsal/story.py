"""What people of the example study wrote and drew: notes and images, all invented.

In: nothing. Out: `NotePlan`s and `ImagePlan`s. The notes speak of what the simulated columns do.
"""

from datetime import date
from typing import Literal

from lyewitness.rehearsal.plans import ImagePlan, NotePlan

END_H = 120.0
PARTICLES_NM_PER_PIXEL = 30.0
BED_NM_PER_PIXEL = 8000.0


def _pair(
    column: str,
    subject: Literal["particles", "bed"],
    scale: float,
    damage: float,
    fresh: tuple[str, str],
    after: tuple[str, str],
) -> tuple[ImagePlan, ImagePlan]:
    """Return a drawing of fresh material and one of the same column after the test.

    `fresh` and `after` are (what the caption says of it, what is to be seen).
    """
    kind: Literal["micrograph", "photograph"] = "micrograph" if subject == "particles" else "photograph"
    stem = column if subject == "particles" else f"{column}-inlet"

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
        "P1",
        "particles",
        PARTICLES_NM_PER_PIXEL,
        0.04,
        ("packing of the lot of column P1 before use.", "smooth spheres of one size."),
        ("packing from column P1 after the test.", "smooth spheres, hardly a pit on any."),
    ),
    *_pair(
        "H1",
        "particles",
        PARTICLES_NM_PER_PIXEL,
        0.45,
        ("packing of the lot of column H1 before use.", "smooth small spheres of one size."),
        (
            "packing from column H1 after the test; pits all over the surface.",
            "small spheres with dark pits and ragged edges, some fragments between them.",
        ),
    ),
    *_pair(
        "C1",
        "particles",
        PARTICLES_NM_PER_PIXEL,
        0.95,
        (
            "packing of the lot of column C1 before use, cut open: bright core, darker shell.",
            "discs with a bright core and an even grey shell.",
        ),
        (
            "packing from column C1 after the test, cut open; the shell is eaten from outside.",
            "discs with a whole bright core, the shell around it full of dark holes, many fragments.",
        ),
    ),
    *_pair(
        "H2",
        "bed",
        BED_NM_PER_PIXEL,
        0.12,
        ("inlet of column H2 before the test.", "a full, pale bed in its tube."),
        (
            "inlet of column H2 after the test, opened; the bed is nearly full.",
            "a pale bed with a thin dark gap on one side.",
        ),
    ),
    *_pair(
        "C2",
        "bed",
        BED_NM_PER_PIXEL,
        0.85,
        ("inlet of column C2 before the test.", "a full, pale bed in its tube."),
        (
            "inlet of column C2 after the test, opened; the bed has sunk at the wall.",
            "a pale bed with a wide dark hollow on one side.",
        ),
    ),
)

PLAN = """
Nine columns, three of each kind, stand in three blocks. The columns of a block share one oven, one bottle
and one detector, and a valve brings them to the injector in turn:

- block 1: [[column:P1]], [[column:H1]], [[column:C1]]
- block 2: [[column:P2]], [[column:H2]], [[column:C2]]
- block 3: [[column:P3]], [[column:H3]], [[column:C3]]

Each system exports in its own way: block 1 as text with commas, block 2 as text with semicolons and decimal
commas, block 3 as netCDF. So a kind of column is never tied to one system. The three columns of a kind come
from three lots, so that the answer is about the kind and not about one lot.

Markers: [[marker:thiourea]] for the hold-up time, [[marker:propranolol]] as the base, not charged for the
most part at this pH, and [[marker:naphthalene]] as the neutral.
"""
START = """
Stress began at 08:00 on all blocks. Three injections on each column before anything could happen:
[[injection:P1-01]], [[injection:H1-01]] and [[injection:C1-01]] are typical. Order of elution is the same on
all three kinds.

The buffer was set to pH 11.0 at room temperature. At the temperature of the stress it is lower; the report
should say by how much. A new bottle is opened every 24 hours, and its pH at 25 °C goes into the log.

Diethylamine is volatile and smells: the bottles stand in the hood, the oven has a leak sensor, and the waste
is kept apart from acids.
"""
BROADER = """
At noon all core-shell columns gave clearly broader peaks than yesterday: compare [[injection:C3-09]] with
[[injection:C3-11]]. Until last night nothing had moved on them ([[injection:C2-09]]), so this began within
hours. Retention is nearly unchanged, pressure too.

The porous hybrid columns lose plates slowly and steadily from the first day ([[injection:H1-11]]). The
polymer columns show nothing ([[injection:P2-11]]).
"""
LEFT_OUT = """
Two injections are left out of every computation, with the reason in the table:

- [[injection:H2-09]]: an air bubble came into the detector cell behind the base. The trace jumps and is
  noisy after that. The next one, [[injection:H2-10]], is clean.
- [[injection:P3-15]]: the vial was nearly empty, and all three peaks are small. Retention and widths look
  right, but nobody will believe the areas. Vial refilled before [[injection:P3-16]].

They stay in the folder. Everything else is used, also what looks bad.
"""
END = """
Stress ended at 08:00 after five days. Last injections: [[injection:P1-20]], [[injection:H1-20]],
[[injection:C1-20]].

The core-shell columns now tail strongly, most of all with [[marker:propranolol]], and their pressure has
risen well above the start; see the log. What they did on the third day is in
[[note:2026-03-05-broader-peaks]].

All columns were flushed with water and acetonitrile before they were taken out, to get the amine off.
"""
OPENED = """
One column of each kind was opened for the packing, and two for the inlet. *The images of this example are
drawings*: they show what might have been seen, and prove nothing.

- polymer: [[image:P1-fresh]], [[image:P1-after]]: no change to be seen.
- porous hybrid: [[image:H1-fresh]], [[image:H1-after]]: pits. The inlet is nearly full,
  [[image:H2-inlet-after]], as it was before, [[image:H2-inlet-fresh]].
- core-shell: [[image:C1-fresh]], [[image:C1-after]]: the shell is eaten, the core is whole. The inlet has
  sunk, [[image:C2-inlet-after]], against [[image:C2-inlet-fresh]].

A late and then fast decline ([[note:2026-03-05-broader-peaks]]) would fit a surface that holds until it is
pierced. It would also fit a bed that sinks once enough has dissolved. One opened column of a kind does not
tell the two apart.
"""
NOTES: tuple[NotePlan, ...] = (
    NotePlan("2026-03-02-plan.md", "Plan and blocks", date(2026, 3, 2), "Analyst A", PLAN),
    NotePlan("2026-03-03-start.md", "Start, and the buffer", date(2026, 3, 3), "Analyst B", START),
    NotePlan("2026-03-05-broader-peaks.md", "Broader peaks", date(2026, 3, 5), "Analyst A", BROADER),
    NotePlan("2026-03-06-left-out.md", "Two injections left out", date(2026, 3, 6), "Analyst A", LEFT_OUT),
    NotePlan("2026-03-08-end.md", "End of the stress", date(2026, 3, 8), "Analyst B", END),
    NotePlan("2026-03-12-opened.md", "Columns opened", date(2026, 3, 12), "Analyst A", OPENED),
)
