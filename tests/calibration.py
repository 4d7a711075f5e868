"""How often the intervals and findings of the decline stage are true, by simulation.

    python -m tests.calibration            100 studies of each kind; writes what the method page shows
    python -m tests.calibration --short    60 studies of each kind; fails where a number is far off
    python -m tests.calibration --short --studies 20    as the tests run it

In: a seed. Out: a table, and `builder/lyewitness/decline/calibration.json`.
"""

import argparse
import json
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from math import inf, isinf, log, sqrt
from pathlib import Path
from typing import Any

import numpy as np

import lyewitness.decline
from lyewitness.decline.column_lives import ColumnLife
from lyewitness.decline.comparing import compare
from lyewitness.decline.corrections import settle
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.group_lives import group_life
from lyewitness.decline.life_ratios import Side
from lyewitness.decline.method_notes import LawHeld
from lyewitness.decline.records import Life, Series
from lyewitness.rehearsal.scenario import foresee, three_kinds_scenario
from lyewitness.study.records import Choices, Limit
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import metric_name
from tests.decline.simulated_series import LIMIT, Simulated, exposures
from tests.decline.simulated_studies import (
    KINDS,
    Kind,
    SimulatedStudy,
    Simulation,
    described,
    is_different,
    judge_studies,
    simulate_studies,
)
from tests.law_calibration import law_rows

SHIPPED = Path(lyewitness.decline.__file__).with_name("calibration.json")
SEED = 20260101
NOT_CLAIMED = ("stairs_just_past",)
"""A step that ends within the noise of the limit looks like a later one; the method page tells the share."""
LEAST_BY_LAW = 0.9
"""Share of lives that are to be held of every law."""
FULL, SHORT = 100, 60
"""Studies of each kind in the full form, and in the short one."""
FEWEST_OF_A_LAW = 12
"""Series of each law and number in the short form: with fewer, half of them must miss before one is told."""


@dataclass(frozen=True, slots=True)
class Share:
    """How many of how many."""

    held: int
    of: int

    @property
    def value(self) -> float:
        """Return the share, 0 … 1; NaN of none."""
        return self.held / self.of if self.of else float("nan")

    def within(self) -> tuple[float, float]:
        """Return Wilson's 95 % interval of the share."""
        if not self.of:
            return (0.0, 1.0)
        z2 = 1.96**2
        middle = (self.value + z2 / (2 * self.of)) / (1 + z2 / self.of)
        half = (
            1.96 * sqrt(self.value * (1 - self.value) / self.of + z2 / (4 * self.of**2)) / (1 + z2 / self.of)
        )
        return (middle - half, middle + half)


def holds(estimate: Estimate, truth: float) -> bool:
    """Say whether the interval of `estimate` holds `truth`; open ends hold everything beyond."""
    low = -inf if estimate.low is None else estimate.low
    high = inf if estimate.high is None else estimate.high
    return low <= truth <= high


def life_share(studies: Sequence[SimulatedStudy]) -> Share:
    """Return how many intervals of a column's life hold the true life, of those columns that ever fail."""
    pairs = [
        (decline.life, column.life_h)
        for study in studies
        for columns, declines in zip(study.columns, study.declines, strict=True)
        for own, judged in zip(columns, declines, strict=True)
        for column, decline in zip(own, judged, strict=True)
        if not isinf(column.life_h)
    ]
    return _held(pairs)


def _held(pairs: Sequence[tuple[Life, float]]) -> Share:
    return Share(sum(holds(life.hours, truth) for life, truth in pairs), len(pairs))


def group_share(studies: Sequence[SimulatedStudy], choices: Choices) -> Share:
    """Return how many intervals of a group's life hold the life of its typical column."""
    pairs = [
        (group_life(judged, choices.confidence).life, own[0].typical_h)
        for study in studies
        for columns, declines in zip(study.columns, study.declines, strict=True)
        for own, judged in zip(columns, declines, strict=True)
        if not isinf(own[0].typical_h)
    ]
    return _held(pairs)


def ratio_share(studies: Sequence[SimulatedStudy]) -> Share:
    """Return how many intervals of a ratio of lives hold the ratio of the typical lives.

    Where one side never fails the ratio has no end to be held, and nothing is counted.
    """
    held = total = 0
    for study in studies:
        typical = {own[0].series.group: own[0].typical_h for metric in study.columns for own in metric}
        for comparison in study.comparisons:
            ratio, truth = comparison.life_ratio, typical[comparison.group_a] / typical[comparison.group_b]
            if (ratio.low is None and ratio.high is None) or isinf(truth):
                continue
            total += 1
            held += holds(ratio, truth)
    return Share(held, total)


def found_share(studies: Sequence[SimulatedStudy]) -> Share:
    """Return in how many studies at least one pair is said to differ in life."""
    found = [any("longer" in c.finding for c in study.comparisons) for study in studies]
    return Share(sum(found), len(found))


def wrong_way_share(studies: Sequence[SimulatedStudy], longer: str) -> Share:
    """Return in how many studies the shorter-lived group is said to last longer (`longer` is 'a' or 'b')."""
    wrong = {"a": "b lasts longer", "b": "a lasts longer"}[longer]
    return Share(sum(any(c.finding == wrong for c in s.comparisons) for s in studies), len(studies))


def all_knowing_share(kind: Kind, simulated: Simulation, choices: Choices) -> Share:
    """Return in how many studies a difference is seen by one who reads the true lives off the columns.

    That the columns of a type differ is left to it, too, and it compares them by the same
    tests. Nobody who has to fit can do better.
    """
    end_h = exposures(kind.times)[-1]
    found = 0
    for study in simulated:
        sides = [
            Side(f"g{g}", tuple(_true_life(c, float(end_h)) for c in own)) for g, own in enumerate(study[0])
        ]
        (comparison,) = settle([compare("m0", LIMIT.metric, sides[0], sides[1], choices)], choices)
        found += "longer" in comparison.finding
    return Share(found, len(simulated))


def _true_life(column: Simulated, end_h: float) -> ColumnLife:
    """Return the column's life as known to one who sees it: exactly, where it ended within the test."""
    reached = column.life_h <= end_h
    bound = log(min(column.life_h, end_h))
    return ColumnLife(
        column.series.column, "", "reached" if reached else "not reached",
        bound if reached else None, 0.0, bound, bound if reached else None,
    )  # fmt: skip


def calibrate(kind: Kind, studies: int, seed: int) -> dict[str, Share]:
    """Return every share for studies of one kind."""
    choices = Choices()
    simulated = simulate_studies(kind, studies, seed)
    judged = judge_studies(simulated, choices)
    shares = {
        "life": life_share(judged),
        "group life": group_share(judged, choices),
        "ratio of lives": ratio_share(judged),
        "said to differ": found_share(judged),
    }
    if is_different(kind):
        shares["said to differ by the all-knowing"] = all_knowing_share(kind, simulated, choices)
        longer = "a" if kind.groups[0][1] > kind.groups[1][1] else "b"
        shares["said to differ the wrong way"] = wrong_way_share(judged, longer)
    return shares


REHEARSED = "columns of the rehearsal"


def calibrate_rehearsed(seeds: int, seed: int) -> dict[str, Share]:
    """Return how often lives of rehearsed columns hold the truth, metric by metric.

    Another generator than that of the kinds: the columns of the example study, with the rehearsal's usual
    spread and repeatability, before any trace is drawn. Only lives that end within the test count.
    """
    plain = three_kinds_scenario()
    scenario = replace(plain, spread=type(plain.spread)(), repeatability=type(plain.repeatability)())
    limits = {limit.metric: _limit_of(limit) for limit in scenario.limits}
    choices = Choices(reference_injections=scenario.reference_injections)
    held = []
    for number in range(seeds):
        truth = foresee(scenario, seed + number)
        tasks, lives = [], []
        for series in _rehearsed_series(truth, [marker.id for marker in scenario.markers], limits):
            life = truth.columns[series.column].lives_h[series.marker, series.metric]
            if life <= series.exposure_h[-1]:
                tasks.append(Task(series, (limits[series.metric],)))
                lives.append(life)
        declines = judge_declines(tasks, choices)
        held += [(d.series.metric, d.life, life) for d, life in zip(declines, lives, strict=True)]
    shares = {"life": _held([(judged, life) for _, judged, life in held])}
    for metric in limits:
        own = [(judged, life) for name, judged, life in held if name == metric]
        if own:
            shares[f"life by {metric_name(metric)}"] = _held(own)
    return shares


def _limit_of(plan: Any) -> Limit:
    """Return a limit of the rehearsal as the study has it."""
    bounds = ("at_least_percent", "at_most_percent", "at_least", "at_most")
    return Limit(plan.metric, **{bound: getattr(plan, bound) for bound in bounds})


def _rehearsed_series(truth: Any, markers: Sequence[str], limits: Mapping[str, Limit]) -> Iterator[Series]:
    """Yield the series of every column, marker and limited metric of peaks."""
    for column in truth.columns.values():
        own = [
            injection for injection in truth.injections if injection.column == column.id and injection.used
        ]
        hours = np.array([one.exposure_h for one in own])
        for marker in markers:
            for metric in limits:
                if (marker, metric) in column.lives_h:
                    value = np.array([getattr(truth.peaks[one.id, marker], metric) for one in own])
                    names = tuple(one.id for one in own)
                    yield Series(column.id, column.group, marker, metric, names, hours, hours * 10.0, value)


def write(
    results: Mapping[str, Mapping[str, Share]],
    studies: int,
    seed: int,
    path: Path,
    laws: Sequence[LawHeld] = (),
) -> None:
    """Write the shares as JSON, with what the kinds are."""
    kinds = {kind.name: described(kind) for kind in KINDS} | {
        REHEARSED: "the columns of the example study, with the rehearsal's usual spread and repeatability"
    }
    data = {
        "studies": studies,
        "seed": seed,
        "kinds": [
            {
                "kind": name,
                "about": kinds[name],
                "shares": {
                    what: {**asdict(share), "interval": share.within()} for what, share in shares.items()
                },
            }
            for name, shares in results.items()
        ],
        "laws": [asdict(row) for row in laws],
    }
    path.write_text(json.dumps(data, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def far_off(kind: Kind, shares: Mapping[str, Share]) -> list[str]:
    """Return which shares of one kind are surely not what they should be."""
    wrong = []
    for what in ("life", "ratio of lives"):
        if kind.claimed and shares[what].of and shares[what].within()[1] < 0.93:
            wrong.append(f"{kind.name}: {what} held {shares[what].value:.3f}")
    if not is_different(kind) and shares["said to differ"].within()[0] > 0.05:
        wrong.append(f"{kind.name}: falsely said to differ {shares['said to differ'].value:.3f}")
    if is_different(kind):
        power, knowing = shares["said to differ"], shares["said to differ by the all-knowing"]
        if power.within()[1] < 0.9 * knowing.value:
            wrong.append(f"{kind.name}: power {power.value:.3f}, all-knowing {knowing.value:.3f}")
    return wrong


def far_off_by_law(rows: Iterable[LawHeld]) -> list[str]:
    """Return which laws' lives are surely not held as they should be, or called alive when dead."""
    wrong = []
    for row in rows:
        if row.law not in NOT_CLAIMED and Share(row.held, row.claims).within()[1] < LEAST_BY_LAW:
            wrong.append(f"{row.law}, {row.n} injections: {row.held} of {row.claims} lives held")
        if row.dead_called_alive:
            wrong.append(f"{row.law}, {row.n} injections: {row.dead_called_alive} dead columns called alive")
    return wrong


def _shown(kind: str, shares: Mapping[str, Share]) -> str:
    return f"{kind}: " + ", ".join(f"{what} {share.value:.3f}" for what, share in shares.items())


def main(arguments: Sequence[str] | None = None, say: Callable[[str], None] = print) -> int:
    """Run the calibration; return 1 where a number is surely off."""
    parser = argparse.ArgumentParser(prog="python -m tests.calibration", description=__doc__)
    parser.add_argument("--short", action="store_true", help="60 studies of each kind, nothing written")
    parser.add_argument("--studies", type=int, help="of each kind")
    parser.add_argument("--series", type=int, default=12, help="of each law, number, noise and columns")
    parser.add_argument("--seed", type=int, default=SEED)
    chosen = parser.parse_args(arguments)
    studies = chosen.studies or (SHORT if chosen.short else FULL)
    results: dict[str, dict[str, Share]] = {}
    wrong: list[str] = []
    for kind in KINDS:
        results[kind.name] = calibrate(kind, studies, chosen.seed)
        wrong += far_off(kind, results[kind.name])
        say(_shown(kind.name, results[kind.name]))
    results[REHEARSED] = calibrate_rehearsed(max(studies // 10, 5), chosen.seed)
    say(_shown(REHEARSED, results[REHEARSED]))
    if chosen.short:
        each = max(studies // 3, FEWEST_OF_A_LAW)
        wrong += far_off_by_law(
            law_rows(each, chosen.seed, numbers=(8, 24), noises=("indep_1",), columns=(1,))
        )
    else:
        laws = tuple(law_rows(chosen.series, chosen.seed))
        write(results, studies, chosen.seed, SHIPPED, laws)
    for line in wrong:
        say(f"off: {line}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
