"""The conservative life after ICH Q1E: where a one-sided bound of the mean line meets the limit.

In: batches (here: columns) of exposure and value. Out: `ShelfLife`.

ICH Q1E (2003), appendix B: lines of all batches are pooled where neither slopes nor intercepts differ at
a level of 0.25; a common slope is kept where only the intercepts differ; the shortest batch counts.

A group's conservative life is had from the `Decline`s of its columns, which bear the same limit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, sqrt
from typing import Literal

import numpy as np

from lyewitness.decline import distributions as stats
from lyewitness.decline.records import Decline
from lyewitness.words.arrays import FloatArray

Batch = tuple[FloatArray, FloatArray]
"""(exposures (n,), values (n,))"""
Pooling = Literal["one line", "separate intercepts", "separate lines"]

# ICH Q1E (2003), appendix B: 0.25, so that the test of pooling keeps its power.
POOLING_LEVEL = 0.25


@dataclass(frozen=True, slots=True)
class ShelfLife:
    """The conservative life of several batches."""

    pooling: Pooling
    slopes_p: float | None
    """p value of 'all slopes are equal'; None for a single batch."""
    intercepts_p: float | None
    """p value of 'all intercepts are equal'; None for a single batch."""
    intercepts: tuple[float, ...]
    slopes: tuple[float, ...]
    """One a batch."""
    lives: tuple[float | None, ...]
    """Where each batch's bound meets the limit; None for never."""

    @property
    def life(self) -> float | None:
        """Return the life of the shortest batch; None where no bound ever meets the limit."""
        met = [life for life in self.lives if life is not None]
        return min(met, default=None)


def shelf_life(
    batches: Sequence[Batch],
    limit: float,
    falling: bool = True,
    level: float = POOLING_LEVEL,
    confidence: float = 0.95,
    pooled_variance: bool = True,
) -> ShelfLife:
    """Return the conservative life of `batches` to `limit`; ValueError with too few points for lines.

    `confidence` is one-sided. The F tests of slopes and of intercepts both use the mean square of the
    separate lines. Where lines stay separate, `pooled_variance` says whether each bound uses that mean
    square or the batch's own.
    """
    many = len(batches) > 1
    designs = _designs(batches) if many else {"separate lines": _design(batches, True, True)}
    values = np.concatenate([value for _, value in batches])
    fits = {name: _Line.of(design, values) for name, design in designs.items()}
    full = fits["separate lines"]
    if full.freedom < 1:
        raise ValueError("too few points for the lines of these batches")
    slopes_p = _f_test(fits["separate intercepts"], full, full) if many else None
    intercepts_p = _f_test(fits["one line"], fits["separate intercepts"], full) if many else None
    pooling = _pooling(slopes_p, intercepts_p, level)
    fit = fits[pooling]
    found = [_batch(pooling, index, batches, fit, pooled_variance) for index in range(len(batches))]
    side = 1.0 if falling else -1.0
    quantile = [float(stats.t.ppf(confidence, line.freedom)) for line, _ in found]
    lives = tuple(_meets(line, row, limit, side * q) for (line, row), q in zip(found, quantile, strict=True))
    terms = [line.at(row) for line, row in found]
    return ShelfLife(
        pooling,
        slopes_p,
        intercepts_p,
        tuple(start for start, _ in terms),
        tuple(slope for _, slope in terms),
        lives,
    )


@dataclass(frozen=True, eq=False, slots=True)
class _Line:
    """A linear model fitted by least squares."""

    beta: FloatArray
    inverse: FloatArray
    squares: float
    freedom: int

    @classmethod
    def of(cls, design: FloatArray, values: FloatArray) -> "_Line":
        """Fit `values` (n,) on `design` (n, p)."""
        beta = np.asarray(np.linalg.lstsq(design, values, rcond=None)[0], dtype=np.float64)
        left = values - design @ beta
        inverse = np.asarray(np.linalg.pinv(design.T @ design), dtype=np.float64)
        return cls(beta, inverse, float(left @ left), len(values) - design.shape[1])

    def at(self, row: tuple[FloatArray, FloatArray]) -> tuple[float, float]:
        """Return intercept and slope of the line that `row` picks."""
        return float(row[0] @ self.beta), float(row[1] @ self.beta)


def _design(batches: Sequence[Batch], own_intercepts: bool, own_slopes: bool) -> FloatArray:
    """Return the (n, p) design with common or own intercepts, then common or own slopes."""
    member = np.repeat(np.arange(len(batches)), [len(hours) for hours, _ in batches])
    each = (member[:, None] == np.arange(len(batches))).astype(np.float64)
    hours = np.concatenate([exposure for exposure, _ in batches])[:, None]
    one = np.ones_like(hours)
    return np.concatenate([each if own_intercepts else one, (each if own_slopes else one) * hours], axis=1)


def _designs(batches: Sequence[Batch]) -> dict[str, FloatArray]:
    return {
        "one line": _design(batches, False, False),
        "separate intercepts": _design(batches, True, False),
        "separate lines": _design(batches, True, True),
    }


def _f_test(simple: _Line, rich: _Line, full: _Line) -> float:
    """Return the p value of 'the simpler model suffices', against the mean square of the full one."""
    between = simple.freedom - rich.freedom
    f = (simple.squares - rich.squares) / between / (full.squares / full.freedom)
    return float(stats.f.sf(f, between, full.freedom))


def _pooling(slopes_p: float | None, intercepts_p: float | None, level: float) -> Pooling:
    """Return how far the batches may be pooled."""
    if slopes_p is None or intercepts_p is None or slopes_p < level:
        return "separate lines"
    return "separate intercepts" if intercepts_p < level else "one line"


def _batch(
    pooling: Pooling, index: int, batches: Sequence[Batch], fit: _Line, pooled_variance: bool
) -> tuple[_Line, tuple[FloatArray, FloatArray]]:
    """Return the model of one batch and the rows that pick its intercept and slope."""
    if pooling == "separate lines" and not pooled_variance:
        hours, values = batches[index]
        own = _Line.of(np.stack([np.ones_like(hours), hours], axis=1), values)
        return own, (np.array([1.0, 0.0]), np.array([0.0, 1.0]))
    start, slope = np.zeros(len(fit.beta)), np.zeros(len(fit.beta))
    start[0 if pooling == "one line" else index] = 1.0
    slope[len(batches) + index if pooling == "separate lines" else -1] = 1.0
    return fit, (start, slope)


def _meets(line: _Line, row: tuple[FloatArray, FloatArray], limit: float, quantile: float) -> float | None:
    """Return the first exposure from 0 on at which the bound meets the limit: the root of a quadratic.

    (a + b t − limit)² = q² s² (v0 + 2 v1 t + v2 t²), on the side of the limit that `quantile` says.
    """
    (start, slope), (pick0, pick1) = line.at(row), row
    scale = quantile**2 * line.squares / line.freedom
    v0, v1, v2 = (
        float(x @ line.inverse @ y) * scale for x, y in ((pick0, pick0), (pick0, pick1), (pick1, pick1))
    )
    gap = start - limit
    a, b, c = slope**2 - v2, 2 * (gap * slope - v1), gap**2 - v0
    inside = b * b - 4 * a * c
    if inside < 0:
        return None
    roots = [(-b - sqrt(inside)) / (2 * a), (-b + sqrt(inside)) / (2 * a)] if a else [-c / b] if b else []
    side = 1.0 if quantile > 0 else -1.0
    if side * gap <= sqrt(v0):
        return 0.0
    met = [root for root in roots if root > 0 and side * (gap + slope * root) >= 0]
    return min(met, default=None)


STRAIGHT = ("steady", "straight line")
# Through fewer a line leaves no residual.
LEAST_POINTS = 3


def conservative_life(declines: Sequence[Decline], confidence: float) -> tuple[float | None, str]:
    """Return the exposure at which the one-sided bound meets the limit on the first column, and how.

    After ICH Q1E where the columns fall along lines, or along lines of the logarithm (first order); for
    shapes that are no lines the earliest of the columns' own bounds is taken. Nothing beyond the test.
    """
    measured = [decline for decline in declines if decline.model is not None and decline.end_h is not None]
    if not measured:
        return None, "no curve could be fitted"
    end_h = max(decline.end_h or 0.0 for decline in measured)
    kind = _kind(measured)
    if kind == "no line":
        bounds = [decline.life.conservative_h for decline in measured]
        life, how = (
            min((bound for bound in bounds if bound is not None), default=None),
            (
                "the earliest of the columns' own one-sided bounds: the shapes are no lines, so none were "
                "pooled"
            ),
        )
    else:
        life, how = _by_lines(measured, kind == "line of the logarithm", confidence)
    surest = [
        bound
        for decline in measured
        if decline.life.state == "reached"
        and (bound := decline.life.bracket_h[0 if decline.life.is_bracketed else 1]) is not None
    ]
    if surest and life is not None and life > min(surest):
        life, how = min(surest), f"{how}; held to what the injections of the first column to fail show"
    held = [bound for decline in measured if (bound := _surely_held_h(decline)) is not None]
    if held and (life is None or life > min(held)):
        # Lines through all columns know nothing of the one that fell off them.
        life, how = min(held), f"{how}; held to what each column by itself surely held"
    if life is None or life > end_h:
        return None, f"{how}; the bound does not meet the limit during the test"
    return life, how


def _surely_held_h(decline: Decline) -> float | None:
    """Return the one-sided bound of a column's own life, hours; None where it outlived the test."""
    if decline.life.conservative_h is not None or decline.life.state == "not reached":
        return decline.life.conservative_h
    return decline.life.hours.low


def _kind(declines: Sequence[Decline]) -> str:
    """Return along what the columns fall: the shapes of all of them must agree."""
    shapes = [decline.model for decline in declines if decline.model is not None]
    if all(shape.name in STRAIGHT for shape in shapes):
        return "line"
    to_nothing = [shape.name == "first order" and "rest_percent" not in shape.parameters for shape in shapes]
    positive = all((decline.percent > 0).all() for decline in declines)
    return "line of the logarithm" if all(to_nothing) and positive else "no line"


def _by_lines(declines: Sequence[Decline], logarithmic: bool, confidence: float) -> tuple[float | None, str]:
    """Return the bound by lines through % of the reference or its logarithm."""
    limit = float(
        np.mean([decline.limit_percent for decline in declines if decline.limit_percent is not None])
    )
    limits = [decline.limit for decline in declines if decline.limit is not None]
    falling = limits[0].at_least is not None or limits[0].at_least_percent is not None
    sound = [~np.isin(decline.series.injections, decline.doubted) for decline in declines]
    batches: list[Batch] = [
        (
            decline.series.exposure_h[own],
            np.log(decline.percent[own]) if logarithmic else decline.percent[own],
        )
        for decline, own in zip(declines, sound, strict=True)
        if np.count_nonzero(own) >= LEAST_POINTS
    ]
    found = shelf_life(batches, log(limit) if logarithmic else limit, falling, confidence=confidence)
    of = "lines of the logarithm" if logarithmic else "lines"
    if found.slopes_p is None or found.intercepts_p is None:
        return found.life, f"{of}, a single column"
    pooled = {
        "one line": "pooled to one line",
        "separate intercepts": "pooled to one slope with an intercept each",
        "separate lines": "not pooled",
    }[found.pooling]
    return found.life, (
        f"{of}, {pooled} (slopes p = {found.slopes_p:.2g}, intercepts p = {found.intercepts_p:.2g}, pooling "
        f"at {POOLING_LEVEL:g})"
    )
