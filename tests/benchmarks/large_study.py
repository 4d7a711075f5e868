"""A study of many injections, as a folder on disk, to be timed on.

`python -m tests.benchmarks.large_study FOLDER [INJECTIONS]` writes one: 8 columns in two groups, 6,000 points
an injection, text exports, nothing that went wrong.
"""

import sys
from dataclasses import replace
from pathlib import Path

from lyewitness.rehearsal.scenario import Scenario, coated_silica, porous_hybrid, three_kinds_scenario
from lyewitness.rehearsal.writing import write_study

POINTS = 6000
COLUMNS = 8
ENDS_H = 120.0


def large_scenario(injections: int) -> Scenario:
    """Return the plan of a study of about that many injections."""
    plan = three_kinds_scenario()
    each = max(injections // COLUMNS, 6)
    hours = tuple(round(ENDS_H * place / (each - 1), 3) for place in range(each))
    return replace(
        plan,
        id=f"large-{injections}",
        title=f"An invented study of {each * COLUMNS} injections",
        groups=(replace(porous_hybrid(), columns=4), replace(coated_silica(), columns=4)),
        schedule_h=hours,
        schedule_jitter_h=0.0,
        detector=replace(plan.detector, points=POINTS),
        mishaps=(),
        notes=(),
        images=(),
        dialects=("comma, minutes",),
        questions=plan.questions[:1],
        command="",
        seed=11,
    )


def write_large_study(folder: Path, injections: int) -> None:
    """Write it; FileExistsError where something lies there already."""
    write_study(large_scenario(injections), folder)


if __name__ == "__main__":
    write_large_study(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 2000)
