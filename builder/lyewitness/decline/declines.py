"""The decline of every column, marker and metric.

In: `Series` with their limits, and the study's choices. Out: `Decline`s, in the order of the series.

Series that share their exposures are fitted together, which is what makes hundreds of them quick.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import stats

from lyewitness.decline.bands import Band, band
from lyewitness.decline.choosing import Choice, choose
from lyewitness.decline.lives import (
    Edges,
    LimitLine,
    bracket,
    in_column_volumes,
    life_from_bracket,
    life_from_curve,
    limit_line,
    share_of_fall,
    surely_past,
    widened_to_bracket,
)
from lyewitness.decline.noise import POINTS_FOR_NOISE
from lyewitness.decline.rates import RateView, rates
from lyewitness.decline.records import Decline, Life, ModelFit, Series
from lyewitness.decline.series import read_only
from lyewitness.decline.shapes import SHAPES
from lyewitness.study.records import Choices, Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

CURVE_POINTS = 161
"""Exposures at which curves and bands are given."""
LEAST_REFERENCE = 1e-9
"""A reference value below this share of the largest value is nothing that could be divided by."""
TOGETHER = 300
"""Most series that are fitted at once, so that the working arrays stay small."""


@dataclass(frozen=True, eq=False, slots=True)
class Task:
    """One series to be judged."""

    series: Series
    limits: tuple[Limit, ...] = ()
    """Where there are several, the life is to the one that is passed first."""


def judge_declines(
    tasks: Sequence[Task], choices: Choices, shapes: Sequence[str] = tuple(SHAPES)
) -> tuple[Decline, ...]:
    """Return the decline of every task, in order; only `shapes` are tried."""
    found: dict[int, Decline] = {}
    batches: dict[tuple[bytes, int], list[int]] = {}
    for index, task in enumerate(tasks):
        reason = _unfit(task.series)
        if reason:
            found[index] = _nothing(task, reason)
        else:
            reference_n = min(choices.reference_injections, len(task.series.value))
            batches.setdefault((task.series.exposure_h.tobytes(), reference_n), []).append(index)
    for (_, reference_n), members in batches.items():
        for start in range(0, len(members), TOGETHER):
            some = members[start : start + TOGETHER]
            declines = _judge_batch([tasks[index] for index in some], reference_n, choices, shapes)
            found.update(zip(some, declines, strict=True))
    return tuple(found[index] for index in range(len(tasks)))


def _unfit(series: Series) -> str:
    """Return why nothing can be computed from `series`; empty where something can."""
    if len(series.value) == 0:
        return "not measured in any used injection" if series.marker else "not in the conditions log"
    if series.exposure_h[-1] <= 0:
        return "no used injection after the start of the stress"
    return ""


def _nothing(task: Task, reason: str) -> Decline:
    """Return a decline of which nothing is known but why."""
    limit = task.limits[0] if task.limits else None
    life = Life("not measured", Estimate(reason=reason), Estimate(reason=reason))
    empty = Estimate(reason=reason)
    return Decline(
        task.series, None, None, 0, read_only([]), remaining=empty, rate_per_h=empty, limit=limit,
        life=life, reason=reason,
    )  # fmt: skip


def _judge_batch(
    tasks: Sequence[Task], reference_n: int, choices: Choices, shapes: Sequence[str]
) -> list[Decline]:
    """Return the declines of series that share their exposures."""
    hours = tasks[0].series.exposure_h
    end_h = float(hours[-1])
    values = np.stack([task.series.value for task in tasks])
    reference = values[:, :reference_n].mean(axis=1)
    usable = reference > LEAST_REFERENCE * values.max(axis=1)
    percent = 100.0 * values / np.where(usable, reference, 1.0)[:, None]
    choice = choose(hours / end_h, percent, reference_n, shapes)
    grid = np.linspace(float(hours[0]), max(end_h, choices.extrapolate_to_h or 0.0), CURVE_POINTS)
    if not choice.fits:
        return [_bare(task, percent[row], reference_n, choices) for row, task in enumerate(tasks)]
    view = _View(
        choice, band(choice, grid / end_h, hours / end_h), rates(choice, end_h), grid, end_h, choices
    )
    return [
        _decline(task, percent[row], reference_n, view, row)
        if usable[row]
        else _nothing(task, "the reference value is not above zero")
        for row, task in enumerate(tasks)
    ]


@dataclass(frozen=True, eq=False, slots=True)
class _View:
    """What a batch shares."""

    choice: Choice
    band: Band
    rates: RateView
    hours: FloatArray
    end_h: float
    choices: Choices


def _reference(task: Task, reference_n: int) -> tuple[float, float | None]:
    """Return the mean and the standard deviation of the reference injections."""
    first = task.series.value[:reference_n]
    return float(first.mean()), float(first.std(ddof=1)) if reference_n > 1 else None


def _bare(task: Task, percent: FloatArray, reference_n: int, choices: Choices) -> Decline:
    """Return a decline with so few points that no curve is fitted: the injections alone speak."""
    why = f"{len(percent)} used injections are too few for a curve"
    value, spread = _reference(task, reference_n)
    if value <= LEAST_REFERENCE * task.series.value.max():
        return _nothing(task, "the reference value is not above zero")
    end_h = float(task.series.exposure_h[-1])
    lives: list[tuple[Life, Limit, LimitLine]] = []
    for limit in task.limits:
        line = limit_line(limit, value)
        seen = bracket(task.series.exposure_h, percent, line)
        lives.append((life_from_bracket(seen, end_h, why), limit, line))
    bare = Decline(
        task.series, value, spread, reference_n, read_only(percent), end_h=end_h,
        remaining=Estimate(reason=why), rate_per_h=Estimate(reason=why), reason=why,
    )  # fmt: skip
    return _with_life(bare, lives)


def _decline(task: Task, percent: FloatArray, reference_n: int, view: _View, row: int) -> Decline:
    """Return the decline of one row of a batch."""
    value, spread = _reference(task, reference_n)
    choice, series = view.choice, task.series
    lines = [(limit, limit_line(limit, value)) for limit in task.limits]
    outlying = choice.outlying[row]
    lives = [
        (_life(view, row, line, series.exposure_h[~outlying], percent[~outlying]), limit, line)
        for limit, line in lines
    ]
    models = _models(view, row)
    fit = choice.fits[choice.names[choice.best[row]]]
    residual = percent - view.band.fitted[row]
    noise, judged = fit.noise, len(residual) >= POINTS_FOR_NOISE
    decline = Decline(
        series,
        value,
        spread,
        reference_n,
        read_only(percent),
        outlying=tuple(name for name, out in zip(series.injections, outlying, strict=True) if out),
        model=models[0],
        rivals=tuple(models[1:]),
        residuals=read_only(residual),
        serial_correlation=_lag_one(residual),
        serial_p=float(noise.correlation_p[row]) if judged else None,
        noise_growth=float(np.exp(noise.growth[row])) if judged else None,
        noise_growth_p=float(noise.growth_p[row]) if judged else None,
        end_h=view.end_h,
        rate_per_h=view.rates.estimate(row, view.choices.confidence),
    )
    return _with_band(_with_life(decline, lives), view, row)


def _life(view: _View, row: int, line: LimitLine, hours: FloatArray, percent: FloatArray) -> Life:
    """Return the life of one row to one limit; `hours`, `percent` without outlying injections."""
    seen = bracket(hours, percent, line)
    fall = share_of_fall(hours, percent, seen)
    error = view.band.error_of_percent if line.relative else view.band.error
    confidence, freedom = view.choices.confidence, view.band.freedom[row]
    edges = Edges(
        view.hours,
        view.band.curve[row],
        error[row],
        float(stats.t.ppf(0.5 + confidence / 2, freedom)),
        float(stats.t.ppf(confidence, freedom)),
    )
    life = life_from_curve(edges, line, view.end_h, seen)
    if (life.hours.value is None or life.extrapolated) and surely_past(percent, line):
        return life_from_bracket(seen, view.end_h, "the injections pass the limit where the curve does not")
    return widened_to_bracket(life, fall)


def _with_life(decline: Decline, lives: Sequence[tuple[Life, Limit, LimitLine]]) -> Decline:
    """Return `decline` with the life to the limit that is passed first."""
    if not lives:
        return replace(decline, life=Life("not measured", Estimate(reason="no limit is set on this metric")))

    def when(life: Life) -> tuple[bool, float, float]:
        value = life.hours.value if life.hours.value is not None else life.hours.high
        return (life.state != "reached", np.inf if value is None else value, life.hours.low or 0.0)

    life, limit, line = min(lives, key=lambda entry: when(entry[0]))
    life = in_column_volumes(life, decline.series.exposure_h, decline.series.exposure_cv)
    return replace(
        decline, life=life, limit=limit, limit_percent=line.percent, band_carries_reference=line.relative
    )


def _with_band(decline: Decline, view: _View, row: int) -> Decline:
    """Return `decline` with its curve, its band and what remained at the end of the test."""
    quantile = float(stats.t.ppf(0.5 + view.choices.confidence / 2, view.band.freedom[row]))
    kind = view.band.error_of_percent if decline.band_carries_reference else view.band.error
    curve, half = view.band.curve[row], quantile * kind[row]
    relative = quantile * view.band.error_of_percent[row]
    value = float(np.interp(view.end_h, view.hours, curve))
    reach = float(np.interp(view.end_h, view.hours, relative))
    return replace(
        decline,
        curve_h=read_only(view.hours),
        curve_percent=read_only(curve),
        curve_low=read_only(curve - half),
        curve_high=read_only(curve + half),
        remaining=Estimate(value, value - reach, value + reach),
    )


def _models(view: _View, row: int) -> list[ModelFit]:
    """Return every shape's fit of one row, best first; shapes the points cannot bear are left out."""
    choice = view.choice
    order = np.argsort(choice.aicc[row], kind="stable")
    names = [choice.names[index] for index in order if np.isfinite(choice.aicc[row, index])]
    best_of_name: dict[str, ModelFit] = {}
    for name in names or [choice.names[choice.best[row]]]:
        fit = choice.fits[name]
        left = fit.residual[row]
        spread = float(np.sqrt((left**2).sum() / (len(left) - fit.shape.parameters)))
        parameters = view.rates.parameters(fit.shape, fit.theta[row])
        aicc = float(choice.aicc[row, choice.names.index(name)])
        best_of_name.setdefault(fit.shape.name, ModelFit(fit.shape.name, parameters, aicc, spread))
    return list(best_of_name.values())


def _lag_one(residual: FloatArray) -> float | None:
    """Return the lag-one correlation of the residuals; None where there is nothing to correlate."""
    power = float((residual**2).sum())
    return float((residual[1:] * residual[:-1]).sum() / power) if power > 0 and len(residual) > 2 else None
