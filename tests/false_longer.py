"""How often a study of two equal groups is told to differ when it is looked at again and again.

`python -m tests.false_longer [STUDIES]` prints, over all looks of each study, how often 'shown' was said of a
difference that is not there: at the planned looks alone, at every injection, and, for comparison, at every
look against the level of a single one. `python -m tests.false_longer asked [STUDIES]` counts the same within
each question of a study that asks three: of one pair by one metric, of one pair by any, of all pairs by any.

Both groups of each study have one law of decline: a straight fall after a delay, with slow waves in the noise
that the program does not know of; lives scatter between columns by 6 to 20 %.
"""

import sys
from dataclasses import replace

import numpy as np

from lyewitness.decline.judging import judge
from lyewitness.decline.looks import standing_of
from lyewitness.findings.answer.question_scope import scope_of
from lyewitness.findings.answer.ranking import Pairing, rank
from lyewitness.findings.audit.running import ended
from lyewitness.findings.evidence import Evidence
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Limit, Marker, Plan, Question, Study
from lyewitness.words.arrays import FloatArray
from tests.decline.small_study import study_of, with_values

ENDS_H = 72.0
LOOKS_H = (24.0, 48.0, 72.0)
STEP_H = 6.0
COLUMNS = 3
METRICS = ("plate_number_half_height", "retention_factor", "peak_area")


def fall(rng: np.random.Generator, hours: FloatArray, life_h: float, delay: float) -> FloatArray:
    """Return plate numbers that pass 80 % at `life_h`: level, then straight down, with waves and noise."""
    start = delay * life_h
    clean = 1.0 - 0.2 * np.clip(hours - start, 0.0, None) / (life_h - start)
    wave = 0.006 * np.sin(hours / rng.uniform(3.0, 9.0) + rng.uniform(0.0, 6.3))
    noise = rng.normal(0.0, 0.006, hours.size)
    return np.asarray(12000.0 * (np.clip(clean, 0.2, None) + wave + noise))


def told(study: Study, hours: FloatArray, values: dict[tuple[str, str], FloatArray]) -> tuple[bool, bool]:
    """Return whether a difference is told as shown, and whether it were at the level of a single look."""
    own = {key: {"plate_number_half_height": value[: hours.size]} for key, value in values.items()}
    filled, measurements = with_values(study, hours, own)
    evidence = Evidence(filled, {}, measurements, judge(filled, measurements))
    points = tuple(ended(evidence))
    scope = scope_of(evidence, filled.questions[0])
    with_looks = rank(evidence, points, scope).pairings
    naive_study = replace(filled, plan=Plan())
    naive = rank(replace(evidence, study=naive_study), (), scope).pairings
    return _longer(with_looks), _longer(naive)


def _longer(pairings: tuple[Pairing, ...]) -> bool:
    return any(one.verdict == "longer" and one.strength == "shown" for one in pairings)


def one_study(seed: int) -> tuple[bool, bool, bool]:
    """Return (shown at a planned look, shown at any injection, shown at any injection without a plan)."""
    rng = np.random.default_rng(seed)
    names = {group: tuple(f"{group}{n}" for n in range(COLUMNS)) for group in "AB"}
    study = study_of(names, (Limit("plate_number_half_height", at_least_percent=80.0),))
    study = replace(
        study, markers=(Marker("base", "base", 2.9, 9.6),), plan=Plan(ends_h=ENDS_H, looks_h=LOOKS_H)
    )
    hours = np.arange(0.0, ENDS_H + 1e-9, STEP_H)
    typical, spread, delay = rng.uniform(16.0, 60.0), rng.uniform(0.06, 0.20), rng.uniform(0.0, 0.7)
    values = {
        (column.id, "base"): fall(rng, hours, typical * float(np.exp(rng.normal(0.0, spread))), delay)
        for column in study.columns
    }
    at_looks = at_any = without = False
    for count in range(4, hours.size + 1):
        shown, naive = told(study, hours[:count], values)
        planned = standing_of(*_standing(study, hours[:count])).look > 0
        at_looks |= shown and planned
        at_any |= shown
        without |= naive
    return at_looks, at_any, without


def _standing(study: Study, hours: FloatArray) -> tuple[Study, Measurements]:
    values = {(c.id, "base"): {"plate_number_half_height": np.ones(hours.size)} for c in study.columns}
    return with_values(study, hours, values)


QUESTIONS = (
    Question("all", "Which lasts longest?"),
    Question("pair", "Which of A and B lasts longer?"),
    Question("one", "Which of A and B keeps its plates longer?"),
)


def asked_study(seed: int) -> tuple[bool, ...]:
    """Return for each question whether of three equal groups it is told that one it asks after lasts longer.

    Lives of one column by two metrics go together: what wears plates wears retention, too.
    """
    rng = np.random.default_rng(seed)
    names = {group: tuple(f"{group}{n}" for n in range(COLUMNS)) for group in "ABC"}
    limits = tuple(Limit(metric, at_least_percent=80.0) for metric in METRICS)
    study = replace(study_of(names, limits), markers=(Marker("base", "base", 2.9, 9.6),), questions=QUESTIONS)
    hours = np.arange(0.0, ENDS_H + 1e-9, STEP_H)
    typical, spread, delay = rng.uniform(16.0, 60.0), rng.uniform(0.06, 0.20), rng.uniform(0.0, 0.7)
    values = {}
    for column in study.columns:
        own = rng.normal(0.0, spread)
        values[(column.id, "base")] = {
            metric: fall(rng, hours, typical * float(np.exp(own + rng.normal(0.0, 0.05))), delay)
            for metric in METRICS
        }
    filled, measurements = with_values(study, hours, values)
    evidence = Evidence(filled, {}, measurements, judge(filled, measurements))
    return tuple(_longer_asked(evidence, question) for question in QUESTIONS)


def _longer_asked(evidence: Evidence, question: Question) -> bool:
    pairings = rank(evidence, (), scope_of(evidence, question)).pairings
    asked = [one for one in pairings if one.comparison and one.comparison.of_question == question.id]
    return any(one.verdict == "longer" for one in asked)


def main() -> None:
    """Print how often."""
    if sys.argv[1:2] == ["asked"]:
        count = int(sys.argv[2]) if len(sys.argv) > 2 else 400
        wrong = np.array([asked_study(seed) for seed in range(count)]).sum(axis=0)
        for question, number in zip(QUESTIONS, wrong, strict=True):
            print(f"{question.text} {number} of {count} ({100 * number / count:.1f} %)")
        return
    studies = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    found = np.array([one_study(seed) for seed in range(studies)])
    names = ("at planned looks", "at every injection, with the plan", "at every injection, without a plan")
    for name, count in zip(names, found.sum(axis=0), strict=True):
        print(f"{name}: {count} of {studies} ({100 * count / studies:.1f} %)")


if __name__ == "__main__":
    main()
