"""Whole studies with known lives, for the calibration of the decline stage.

In: kinds of studies and a seed. Out: their columns, and what the stage judged of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isinf

import numpy as np

from lyewitness.decline.comparing import compare
from lyewitness.decline.corrections import settle
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.judging import side_of
from lyewitness.decline.records import Comparison, Decline
from lyewitness.study.records import Choices
from tests.decline.simulated_series import (
    LIMIT,
    Law,
    Noise,
    Simulated,
    delayed,
    exposures,
    first_order,
    sigmoid,
    simulate_column,
    steady,
    straight_line,
)

SERIAL = Noise()
Simulation = Sequence[Sequence[Sequence[Sequence[Simulated]]]]
"""Columns by study, metric and group."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Studies of one kind: groups of three columns, 24 times over 120 h unless said otherwise."""

    name: str
    groups: tuple[tuple[Law, float], ...]
    """(law, typical life in hours) of every group."""
    noise: Noise = SERIAL
    metrics: int = 1
    columns: int = 3
    times: int = 24
    spread: float = 0.12
    claimed: bool = True
    """Whether the intervals are held to their claim; a kind that is not shows where it ends."""


KINDS = (
    Kind("different", ((first_order, 50.0), (first_order, 75.0))),
    Kind("equal", ((first_order, 60.0), (first_order, 60.0))),
    Kind("steady", ((steady, inf), (first_order, 60.0))),
    Kind("delayed", ((delayed, 50.0), (delayed, 75.0))),
    Kind("straight line", ((straight_line, 50.0), (straight_line, 75.0))),
    Kind("sigmoid", ((sigmoid, 50.0), (sigmoid, 75.0)), claimed=False),
    Kind("three equal types, two metrics", ((first_order, 60.0),) * 3, metrics=2),
    Kind("equal, half outlive the test", ((delayed, 118.0), (delayed, 118.0)), claimed=False),
    Kind("independent noise", ((first_order, 50.0), (first_order, 75.0)), Noise(correlation=0.0, growth=1.0)),
    Kind(
        "very serial noise",
        ((first_order, 50.0), (first_order, 75.0)),
        Noise(correlation=0.75),
        claimed=False,
    ),
    Kind("noisy", ((first_order, 50.0), (first_order, 75.0)), Noise(percent=2.0), claimed=False),
    Kind("outliers", ((first_order, 50.0), (first_order, 75.0)), Noise(outlier_share=0.03)),
    Kind("ten times", ((first_order, 50.0), (first_order, 75.0)), times=10, claimed=False),
    Kind("sixty times", ((delayed, 50.0), (delayed, 75.0)), times=60),
)


@dataclass(frozen=True, eq=False, slots=True)
class SimulatedStudy:
    """One study: its columns, what was judged of them, and the comparisons."""

    columns: tuple[tuple[tuple[Simulated, ...], ...], ...]
    """By metric, by group."""
    declines: tuple[tuple[tuple[Decline, ...], ...], ...]
    comparisons: tuple[Comparison, ...]


def simulate_studies(kind: Kind, studies: int, seed: int) -> Simulation:
    """Return columns by study, metric and group."""
    hours = exposures(kind.times)
    found = []
    for number in range(studies):
        rng = np.random.default_rng([seed, KINDS.index(kind) if kind in KINDS else 99, number])
        found.append(
            [
                [
                    [
                        simulate_column(
                            rng, law, life, f"g{g}", f"g{g}c{c}", hours, kind.spread, kind.noise, f"m{metric}"
                        )
                        for c in range(kind.columns)
                    ]
                    for g, (law, life) in enumerate(kind.groups)
                ]
                for metric in range(kind.metrics)
            ]
        )
    return found


def judge_studies(
    simulated: Simulation,
    choices: Choices,
) -> list[SimulatedStudy]:
    """Return every study judged."""
    found = []
    for study in simulated:
        tasks = [Task(c.series, (LIMIT,)) for m in study for g in m for c in g]
        declines = iter(judge_declines(tasks, choices))
        judged = tuple(tuple(tuple(next(declines) for _ in group) for group in metric) for metric in study)
        comparisons = compare_all(judged, choices)
        columns = tuple(tuple(tuple(group) for group in metric) for metric in study)
        found.append(SimulatedStudy(columns, judged, comparisons))
    return found


def compare_all(judged: Sequence[Sequence[Sequence[Decline]]], choices: Choices) -> tuple[Comparison, ...]:
    """Return every pair of groups of every metric, settled together."""
    found = []
    for metric in judged:
        sides = [side_of(group[0].series.group, group, {}, choices) for group in metric]
        marker = metric[0][0].series.marker
        found += [
            compare(marker, LIMIT.metric, a, b, choices) for i, a in enumerate(sides) for b in sides[i + 1 :]
        ]
    return settle(found, choices)


def is_different(kind: Kind) -> bool:
    """Say whether the groups of a kind differ in truth."""
    return len({life for _, life in kind.groups}) > 1


def described(kind: Kind) -> str:
    """Return a kind in words."""
    laws = " against ".join(
        f"{law.__name__.replace('_', ' ')}" + ("" if isinf(life) else f" ({life:g} h)")
        for law, life in kind.groups
    )
    noise = kind.noise
    return (
        f"{laws}; {kind.columns} columns each, {kind.times} injections over 120 h, lives scattering by "
        f"{100 * kind.spread:g} % between columns; noise {noise.percent:g} %, "
        f"{f'growing {noise.growth:g}-fold' if noise.growth != 1 else 'constant'}, "
        f"serial correlation {noise.correlation:g}"
        + (f", {100 * noise.outlier_share:g} % outlying injections" if noise.outlier_share else "")
        + (f"; {kind.metrics} metrics" if kind.metrics > 1 else "")
    )
