"""How a column's properties change with exposure, and when they pass a limit.

In: courses, a column's own speed, limits. Out: factors on fresh values, true curves, true lives.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lyewitness.rehearsal import signals
from lyewitness.rehearsal.plans import Course, GroupPlan, LimitPlan, Scenario
from lyewitness.rehearsal.signals import symmetry_of
from lyewitness.words.arrays import FloatArray
from lyewitness.words.constants import GAS_CONSTANT_J_MOL_K, ZERO_CELSIUS_K

TRUE_METRICS = ("retention_factor", "retention_time_min", "plate_number_half_height", "symmetry_factor")
"""Metrics of a marker that have a true curve; `pressure_bar` and `hold_up_time_min` have one, too."""
"""J/(mol K) and K (SI)."""
USUAL_ENERGY_J_MOL = 80_000.0
"""Turns a spread of speed between blocks into one of oven temperature, about 9 % a degree at 60 °C."""
ZOOMS, ZOOM_POINTS = 5, 301
"""A passage is sought on a grid, then on a finer one within its step: to 1e-9 of the horizon and better."""


def factor(course: Course, hours: ArrayLike) -> FloatArray:
    """Return the factor on the fresh value after `hours` of exposure; 1 at the start.

    With g falling from 1 to 0 the factor is toward + (1 − toward) · g. Steady: g = 1. First order:
    exp(−k t). Delayed: the same from the end of the delay on. Sigmoid: logistic in time about its
    middle, scaled to start at 1. Straight line: 1 ± k t until `toward` is met.
    """
    t = np.asarray(hours, float)
    match course.kind:
        case "steady":
            return np.ones_like(t)
        case "straight line":
            sign = 1.0 if course.toward < 1 else -1.0
            line = 1 - sign * course.rate_per_h * t
            return np.maximum(line, course.toward) if course.toward < 1 else np.minimum(line, course.toward)
        case "first order":
            left = np.exp(-course.rate_per_h * t)
        case "delayed":
            left = np.exp(-course.rate_per_h * np.maximum(t - course.delay_h, 0))
        case "sigmoid":
            scale = 1 + np.exp(-course.rate_per_h * course.delay_h)
            left = scale / (1 + np.exp(np.minimum(course.rate_per_h * (t - course.delay_h), 700)))
    return np.asarray(course.toward + (1 - course.toward) * left)


@dataclass(frozen=True, slots=True)
class ColumnState:
    """What distinguishes one column from its group: factors about 1."""

    id: str
    group: GroupPlan
    number: int
    """From 1 within its group."""
    temperature_C: float
    """At which it really is."""
    speed: float
    plates: float
    hold_up: float
    retention: float
    tailing: float
    pressure: float


def draw_columns(scenario: Scenario, seed: int) -> tuple[ColumnState, ...]:
    """Return the columns of all groups; the same seed gives the same columns."""
    spread = scenario.spread
    sizes = np.array(
        [spread.life, spread.plates, spread.hold_up, spread.retention, spread.tailing, spread.pressure]
    )
    columns = []
    for g, group in enumerate(scenario.groups):
        for number in range(1, group.columns + 1):
            stream = signals.random_stream(seed, 1, g, number)
            speed, *others = np.exp(sizes * signals.normal(stream, (6,))).tolist()
            temperature = _oven_temperature(scenario, group, number, seed)
            speed *= arrhenius(temperature, scenario.stress.temperature_C, group.activation_energy_kJ_mol)
            columns.append(ColumnState(f"{group.letter}{number}", group, number, temperature, speed, *others))
    return tuple(columns)


def setpoint(scenario: Scenario, group: GroupPlan, number: int) -> float:
    """Return the temperature to which the oven of a column is set."""
    if not group.temperatures_C:
        return scenario.stress.temperature_C
    return group.temperatures_C[(number - 1) % len(group.temperatures_C)]


def _oven_temperature(scenario: Scenario, group: GroupPlan, number: int, seed: int) -> float:
    """Return the temperature in the oven: as set, and off by what the block's spread of speed asks for."""
    temperature = setpoint(scenario, group, number)
    draw = float(signals.normal(signals.random_stream(seed, 11, number), (1,))[0])
    per_degree = USUAL_ENERGY_J_MOL / (GAS_CONSTANT_J_MOL_K * (temperature + ZERO_CELSIUS_K) ** 2)
    return temperature + scenario.spread.block * draw / per_degree


def arrhenius(temperature_C: float, at_C: float, energy_kJ_mol: float) -> float:
    """Return how much faster a change runs than at `at_C`: exp(E/R · (1/T0 − 1/T))."""
    inverse = 1 / (at_C + ZERO_CELSIUS_K) - 1 / (temperature_C + ZERO_CELSIUS_K)
    return exp(1000 * energy_kJ_mol / GAS_CONSTANT_J_MOL_K * inverse)


def true_curve(column: ColumnState, marker: str, metric: str, hours: ArrayLike) -> FloatArray:
    """Return the noise-free values of `metric` at these exposures; KeyError for an unknown metric."""
    aged = np.asarray(hours, float) * column.speed
    group = column.group
    if metric == "pressure_bar":
        return group.pressure_bar * column.pressure * factor(group.pressure_course, aged)
    hold_up = group.hold_up_min * column.hold_up * factor(group.hold_up_course, aged)
    if metric == "hold_up_time_min":
        return hold_up
    plan = group.markers[marker]
    retention = plan.retention_factor * column.retention * factor(plan.retention_course, aged)
    curves: dict[str, Callable[[], FloatArray]] = {
        "retention_factor": lambda: retention,
        "retention_time_min": lambda: hold_up * (1 + retention),
        "plate_number_half_height": lambda: plan.plates * column.plates * factor(plan.plates_course, aged),
        "tailing": lambda: plan.tailing * column.tailing * factor(plan.tailing_course, aged),
        "symmetry_factor": lambda: symmetry_of(
            plan.tailing * column.tailing * factor(plan.tailing_course, aged)
        ),
    }
    return curves[metric]()


def true_life_h(
    column: ColumnState, marker: str, limit: LimitPlan, reference_h: ArrayLike, horizon_h: float
) -> float:
    """Return the exposure at which the true curve passes the limit; infinite where not by `horizon_h`."""

    def value(hours: ArrayLike) -> FloatArray:
        return true_curve(column, marker, limit.metric, hours)

    reference = float(np.mean(value(reference_h)))
    lower = limit.at_least if limit.at_least_percent is None else limit.at_least_percent / 100 * reference
    upper = limit.at_most if limit.at_most_percent is None else limit.at_most_percent / 100 * reference
    return first_passage_h(value, lower, upper, horizon_h)


def first_passage_h(
    value: Callable[[FloatArray], FloatArray], lower: float | None, upper: float | None, horizon_h: float
) -> float:
    """Return the first exposure at which `value` is below `lower` or above `upper`; infinite for never."""

    def past(hours: FloatArray) -> NDArray[np.bool_]:
        values = value(hours)
        low = values < lower if lower is not None else np.zeros(values.shape, bool)
        high = values > upper if upper is not None else np.zeros(values.shape, bool)
        return np.asarray(low | high)

    if past(np.zeros(1))[0]:
        return 0.0
    before, behind = 0.0, horizon_h
    for _ in range(ZOOMS):
        grid = np.linspace(before, behind, ZOOM_POINTS)
        beyond = past(grid)
        if not beyond.any():
            return float("inf")
        first = int(np.argmax(beyond))
        before, behind = float(grid[first - 1]), float(grid[first])
    return 0.5 * (before + behind)
