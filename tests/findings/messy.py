"""Studies as they come: few columns or many, lost injections, collapses, recoveries, limits of every kind.

In: a seed. Out: `Evidence`, for tests that read what is said of it.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import chain
from math import exp

import numpy as np

from lyewitness.findings.evidence import Evidence
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Choices, Column, Factor, Injection, Limit, Question, Study
from tests.findings.making import column, evidence_of, judge_once, measured, study_of, traces_of

Curve = Callable[[float], float]
"""What is left of 1 at an exposure in hours."""

NAMES = (
    "silica C18", "silica C18 + sacrificial", "polymer", "porous hybrid with a charged surface, lot B",
    "core-shell hybrid surface", "coated columns",
)  # fmt: skip
QUESTIONS = (
    "Which lasts longest?", "Do the {0} columns last two days?", "Which of our columns is cheapest to run?",
    "Does the base tail earlier on {0} than on {1}?", "How often must we change the {0} columns?",
    "Do the {0} columns outlast the {1} ones?", "How fast do the plates fall?", "Is {0} worth its price?",
)  # fmt: skip
EXPECTATIONS = (
    "", "The {0} columns last twice as long as the {1} ones.", "The {0} columns hold for at least 40 h.",
    "The {0} columns hold for at most 40 h.", "There is no difference.", "All will be well.",
    "The {0} columns fail first.",
)  # fmt: skip


def curve_of(law: str, life_h: float) -> Curve:
    """Return a course that passes 80 % at `life_h`."""
    laws: Mapping[str, Curve] = {
        "line": lambda h: max(0.02, 1 - 0.2 * h / life_h),
        "first order": lambda h: exp(-0.2231 * h / life_h),
        "delayed": lambda h: 1.0 if h < 0.7 * life_h else max(0.02, 1 - 0.2 * (h / life_h - 0.7) / 0.3),
        "fourth power": lambda h: max(0.02, 1 - 0.2 * (h / life_h) ** 4),
        "collapse": lambda h: 0.99 if h < life_h else 0.3,
        "recovery": lambda h: 0.7 if life_h <= h < life_h + 15 else 0.95,
        "stairs": lambda h: 0.97 if h < 0.5 * life_h else 0.88 if h < life_h else 0.76,
    }
    return laws[law]


LAWS = ("line", "first order", "delayed", "fourth power", "collapse", "recovery", "stairs")


def messy(seed: int) -> Evidence:
    """Return the evidence of a study that differs in most things from that of another seed."""
    random = np.random.default_rng(seed)
    count = int(random.choice([1, 2, 2, 3, 4]))
    names = [str(name) for name in random.permutation(NAMES)[:count]]
    sizes = [int(random.choice([1, 2, 3, 3, 4])) for _ in names]
    middle = float(random.choice([15.0, 40.0, 60.0, 90.0, 150.0, 900.0]))
    spread, law = float(random.choice([0.03, 0.1, 0.3])), str(random.choice(LAWS))
    lives = {
        name: [
            middle * exp(0.4 * random.standard_normal() + spread * random.standard_normal()) for _ in range(n)
        ]
        for name, n in zip(names, sizes, strict=True)
    }
    study = _study(random, lives, names)
    by_column = {
        c.id: life for c, life in zip(study.columns, chain.from_iterable(lives.values()), strict=True)
    }
    rows = measured(study, dict.fromkeys(by_column, 1e9), float(random.choice([0.003, 0.01, 0.03])), seed)
    rising = any(limit.metric == "symmetry_factor" for limit in study.limits)
    rows = _along(rows, {c: curve_of(law, life) for c, life in by_column.items()}, rising)
    return Evidence(study, traces_of(study), rows, judge_once(study, rows))


def _study(random: np.random.Generator, lives: Mapping[str, list[float]], names: list[str]) -> Study:
    columns: list[Column] = []
    for group, own in lives.items():
        for _ in own:
            number = len(columns) + 1
            columns.append(
                column(f"K{number}", group, price=float(100 * number) if random.random() < 0.8 else None)
            )
    hours = np.concatenate([[0.0, 0.1, 0.2], np.linspace(8.0, 100.0, int(random.choice([3, 5, 10, 16])))])
    injections = tuple(
        Injection(f"{c.id}-{turn:02d}", f"{c.id}-{turn:02d}.csv", c.id, exposure_h=float(h),
                  used=(used := random.random() > 0.07), why="" if used else "air in the loop")
        for c in columns for turn, h in enumerate(hours, start=1)
    )  # fmt: skip
    limits = [Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine", "aniline"))]
    if random.random() < 0.3:
        limits = [Limit("plate_number_half_height", at_least=8000.0)]
    if random.random() < 0.4:
        limits.append(Limit("symmetry_factor", at_most=2.0))
    if random.random() < 0.2:
        limits.append(Limit("retention_factor", at_least_percent=90.0))
    pair = (names[0], names[-1])
    question = Question(
        "q1", str(random.choice(QUESTIONS)).format(*pair),
        expectation=str(random.choice(EXPECTATIONS)).format(*pair),
        run_time_min=float(random.choice([0.0, 6.0, 30.0])) or None,
    )  # fmt: skip
    factors: tuple[Factor, ...] = ()
    if {"silica C18", "silica C18 + sacrificial"} <= set(names):
        levels = {"without": ("silica C18",), "with": ("silica C18 + sacrificial",)}
        factors = (Factor("sacrificial column", levels),)
    return study_of(
        {}, columns=tuple(columns), injections=injections, limits=tuple(limits), questions=(question,),
        factors=factors, choices=Choices(reference_injections=3),
    )  # fmt: skip


def _along(rows: Measurements, curves: Mapping[str, Curve], rising: bool) -> Measurements:
    """Return the rows with plates along the curves, and symmetry that rises as they fall."""
    changed = []
    for row in rows.rows:
        left = curves[row.column](row.exposure_h)
        plates, symmetry = row.plate_number_half_height, row.symmetry_factor
        if row.marker == "uracil" or plates is None or symmetry is None:
            changed.append(row)
            continue
        symmetry = symmetry * (1 + (1 - left) * 2.5) if rising and row.marker == "aniline" else symmetry
        changed.append(replace(row, plate_number_half_height=plates * left, symmetry_factor=symmetry))
    return replace(rows, rows=tuple(changed))


def torn(seed: int) -> Evidence:
    """Return the evidence of a study whose types fail by different limits, or some by none."""
    random = np.random.default_rng(seed)
    names = ("coated", "oxide", "silica")
    sizes = random.choice([1, 2, 3, 4], 3)
    middles = random.choice([40.0, 60.0, 90.0, 900.0], 3)
    lives = {
        name: tuple(float(life) for life in middle * np.exp(0.15 * random.standard_normal(size)))
        for name, middle, size in zip(names, middles, sizes, strict=True)
    }
    lost = {name: float(random.choice([0.0, 0.12, 0.2, 0.4])) for name in names}
    courses = {
        (f"{name[0].upper()}{number}", "aniline", "retention_factor"): -lost[name]
        * exp(0.15 * random.standard_normal())
        for name, own in lives.items()
        for number in range(1, len(own) + 1)
        if lost[name]
    }
    question = Question(
        "q1",
        str(random.choice(QUESTIONS)).format("coated", "silica"),
        expectation=str(random.choice(EXPECTATIONS)).format("oxide", "silica"),
        run_time_min=6.0,
    )
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("aniline",)),
    )
    return evidence_of(lives, courses=courses, limits=limits, questions=(question,))
