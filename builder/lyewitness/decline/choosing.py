"""Which shape a decline has, among those that the points can bear.

In: scaled exposures that the series share, values in % of the reference. Out: `Choice`: every shape
fitted to every series, Akaike's criterion of each, and the injections that lie outside the rule.

Least squares for many series at once: a start by variable projection on a grid, refined by Levenberg and
Marquardt's method.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import TypeVar

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.decline import distributions as stats
from lyewitness.decline.noise import POINTS_FOR_NOISE, NoiseView, noise_scale, progress, view_noise, whitener
from lyewitness.decline.shapes import SHAPES, Curve, Shape
from lyewitness.store import remembered
from lyewitness.words.arrays import BoolArray, FloatArray

Reweight = Callable[[FloatArray], FloatArray]

# Starts of the simple curves that name a decline, in shares of the test or changes over it: neighbours lie so
# near that the refined fit of one is that of the next.
RATES = np.concatenate([-np.geomspace(0.01, 10.0, 24)[::-1], np.geomspace(0.01, 40.0, 32)])
APPROACHES = np.geomspace(0.3, 40.0, 24)
DELAYS = np.linspace(0.02, 0.94, 32)
MIDDLES = np.linspace(-0.1, 1.3, 29)
WIDTHS = np.geomspace(0.015, 0.5, 9)


def starts(shape: Shape, u: FloatArray, y: FloatArray) -> FloatArray:
    """Return (S, p) starting parameters for `y` (S, n) at the scaled exposures `u` (n,).

    Variable projection (Golub and Pereyra 1973): on a grid of the parameters that enter nonlinearly, the
    linear ones are solved for, and the node with the least sum of squares is taken.
    """
    if shape.name == "steady":
        return np.asarray(y.mean(axis=1, keepdims=True))
    if shape.name == "straight line":
        slope = _slopes(u[None, :], y)[:, 0]
        return np.stack([y.mean(axis=1) - slope * u.mean(), slope], axis=1)
    if shape.name == "sigmoid":
        return _sigmoid_starts(u, y)
    if shape.to_rest:
        return _rest_starts(u, y, DELAYS if shape.name == "delayed" else None)
    return _decay_starts(u, y, DELAYS if shape.name == "delayed" else None)


def _slopes(basis: FloatArray, y: FloatArray) -> FloatArray:
    """Return (S, g) slopes of every series on every row of `basis` (g, n), with an intercept."""
    centred = basis - basis.mean(axis=1, keepdims=True)
    return np.asarray((y @ centred.T) / np.maximum((centred**2).sum(axis=1), 1e-12))


def _decay_starts(u: FloatArray, y: FloatArray, delays: FloatArray | None) -> FloatArray:
    """Return the best (level, rate) or (level, rate, delay) of a falling or rising exponential."""
    delay, rate = (
        grid.ravel() for grid in np.meshgrid(np.zeros(1) if delays is None else delays, RATES, indexing="ij")
    )
    basis = np.exp(-rate[:, None] * np.maximum(u - delay[:, None], 0.0))
    power = (basis**2).sum(axis=1)
    level = (y @ basis.T) / power
    best = np.argmax(level**2 * power, axis=1)
    found = [np.take_along_axis(level, best[:, None], axis=1)[:, 0], rate[best]]
    return np.stack(found if delays is None else [*found, delay[best]], axis=1)


def _rest_starts(u: FloatArray, y: FloatArray, delays: FloatArray | None) -> FloatArray:
    """Return the best (level, step, rate) or (level, step, rate, delay) of an approach to a rest."""
    delay, rate = (
        grid.ravel()
        for grid in np.meshgrid(np.zeros(1) if delays is None else delays, APPROACHES, indexing="ij")
    )
    basis = -np.expm1(-rate[:, None] * np.maximum(u - delay[:, None], 0.0))
    level, step, best = _level_and_step(basis, y)
    found = [level, step, rate[best]]
    return np.stack(found if delays is None else [*found, delay[best]], axis=1)


def _sigmoid_starts(u: FloatArray, y: FloatArray) -> FloatArray:
    """Return the best (level, step, middle, width)."""
    middle, width = (grid.ravel() for grid in np.meshgrid(MIDDLES, WIDTHS, indexing="ij"))
    level, step, best = _level_and_step(scipy.special.expit((u - middle[:, None]) / width[:, None]), y)
    return np.stack([level, step, middle[best], width[best]], axis=1)


def _level_and_step(basis: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray, NDArray[np.intp]]:
    """Return level and step (S,) of the row of `basis` (g, n) that fits best, and which row that is."""
    step = _slopes(basis, y)
    gain = step**2 * ((basis - basis.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
    best = np.argmax(gain, axis=1)
    chosen = np.take_along_axis(step, best[:, None], axis=1)[:, 0]
    return y.mean(axis=1) - chosen * basis.mean(axis=1)[best], chosen, best


def refine(
    curve: Curve,
    jacobian: Curve,
    start: FloatArray,
    u: FloatArray,
    y: FloatArray,
    clip: Reweight = lambda theta: theta,
    reweight: Reweight = lambda rows: rows,
    rounds: int = 40,
    tolerance: float = 1e-10,
) -> FloatArray:
    """Return (S, p) parameters that make the sum of squares of `reweight(y - curve)` least, from `start`.

    Levenberg and Marquardt's method (Marquardt 1963), each series with its own damping; `reweight` takes
    (S, n, …) arrays and turns correlated rows into independent ones. A parameter that presses against its
    bound is held there while the others move: else they go on as if it could follow, and creep.
    """
    theta = clip(start)
    damping = np.full(len(theta), 1e-3)
    residual = reweight(y - curve(theta, u))
    squares = (residual**2).sum(axis=1)
    moving = np.ones(len(theta), dtype=bool)
    for _ in range(rounds):
        slope = reweight(jacobian(theta, u))
        step = _step(slope, residual, damping)
        pressed = (clip(theta + step) == theta) & (step != 0.0)
        if pressed.any():
            step = _step(np.where(pressed[:, None], 0.0, slope), residual, damping)
        trial = clip(theta + step)
        left = reweight(y - curve(trial, u))
        trial_squares = (left**2).sum(axis=1)
        better = trial_squares <= squares
        moving = (np.abs(squares - trial_squares) > tolerance * squares) | (damping > 1.0)
        theta = np.where(better[:, None], trial, theta)
        residual = np.where(better[:, None], left, residual)
        squares = np.where(better, trial_squares, squares)
        damping = np.clip(np.where(better, damping / 5.0, damping * 6.0), 1e-14, 1e10)
        if not (moving & (damping < 1e9)).any():
            break
    return theta


def _step(jacobian: FloatArray, residual: FloatArray, damping: FloatArray) -> FloatArray:
    """Return one damped Gauss–Newton step (S, p), parameters scaled by their columns' lengths."""
    turned = np.swapaxes(jacobian, 1, 2)
    normal = turned @ jacobian
    length = np.sqrt(np.einsum("spp->sp", normal))
    length = np.where(length > 0, length, 1.0)
    normal = normal / (length[:, :, None] * length[:, None, :])
    normal += damping[:, None, None] * np.eye(jacobian.shape[2])
    gradient = (turned @ residual[:, :, None]) / length[:, :, None]
    return np.asarray(np.linalg.solve(normal, gradient)[:, :, 0] / length)


def fit_shape(
    shape: Shape, u: FloatArray, y: FloatArray, reweight: Reweight = lambda rows: rows
) -> FloatArray:
    """Return (S, p) parameters of `shape` fitted to `y` (S, n) at the scaled exposures `u` (n,)."""
    return refine(shape.curve, shape.jacobian, starts(shape, u, y), u, y, shape.clipped, reweight)


Cell = TypeVar("Cell", np.float64, np.bool_)

LEAST_POINTS = 5
"""With fewer injections no curve is fitted."""
OUTLYING = 4.0
"""An injection is outlying when its residual exceeds this many robust standard deviations.

Robust: from the median of all residuals, or of the nine next to it where that is larger.
"""
PULLED_TO = 2.5
"""It then counts as if it lay this many robust standard deviations from the curve (Huber's pseudo-value)."""
NEIGHBOURS = 9
"""Injections that a local median of residuals goes over."""
LEAST_NOISE = 0.01
"""Robust standard deviations count as this much at least, % of the reference: rounding is no noise."""
MAD_TO_SD = 1.4826
"""Standard deviation of a normal distribution ÷ its median absolute deviation."""


@dataclass(frozen=True, eq=False, slots=True)
class ShapeFit:
    """One shape fitted to S series."""

    shape: Shape
    theta: FloatArray
    """(S, p) parameters against scaled exposure."""
    noise: NoiseView
    borne: BoolArray
    """(S,) whether the points lie where the shape needs them."""
    residual: FloatArray
    """(S, n) value − curve, outlying injections pulled in."""
    scale: FloatArray
    """(S, n) standard deviation of the noise, relative to that at the start."""


@dataclass(frozen=True, eq=False, slots=True)
class Choice:
    """Every shape fitted to S series of n points."""

    fits: Mapping[str, ShapeFit]
    names: tuple[str, ...]
    aicc: FloatArray
    """(S, shapes) in the order of `names`."""
    best: NDArray[np.intp]
    """(S,) index of the least criterion; −1 where no shape can be borne."""
    outlying: BoolArray
    """(S, n)"""

    @property
    def weight(self) -> FloatArray:
        """Return (S, shapes) Akaike weights."""
        return akaike_weight(self.aicc)


# A study is judged up to three times, and most columns are then as they were.
@remembered(256)
def choose(u: FloatArray, y: FloatArray, reference_n: int, names: Sequence[str] = tuple(SHAPES)) -> Choice:
    """Return the fits of the shapes `names` to `y` (S, n) at the scaled exposures `u` (n,).

    Series with outlying injections are fitted again with those pulled in; nothing is dropped.
    """
    first = _fit_all(u, y, reference_n, names)
    pulled, outlying = _pull_in(y, first)
    again = np.asarray(outlying.any(axis=1))
    if not again.any():
        return replace(first, outlying=outlying)
    second = _fit_all(u, pulled[again], reference_n, names)
    return replace(_merged(first, second, again), outlying=outlying)


def bearable(u: FloatArray) -> tuple[str, ...]:
    """Return the names of the shapes that the number of distinct exposures `u` (n,) allows."""
    distinct = len(np.unique(u))
    return tuple(
        name
        for name, shape in SHAPES.items()
        if distinct >= shape.least_points and len(u) >= max(LEAST_POINTS, shape.parameters + 3)
    )


def _fit_all(u: FloatArray, y: FloatArray, reference_n: int, wanted: Sequence[str]) -> Choice:
    """Fit every shape that the number of distinct exposures allows."""
    allowed = bearable(u)
    fits = {name: _fit_shape(SHAPES[name], u, y, reference_n) for name in allowed if name in wanted}
    names = tuple(fits)
    if not fits:
        nothing = np.full(len(y), -1, dtype=np.intp)
        return Choice({}, (), np.empty((len(y), 0)), nothing, np.zeros(y.shape, dtype=bool))
    aicc = judge_shapes([fits[name] for name in names], len(u))
    return Choice(fits, names, aicc, np.argmin(aicc, axis=1), np.zeros(y.shape, dtype=bool))


def _fit_shape(shape: Shape, u: FloatArray, y: FloatArray, reference_n: int) -> ShapeFit:
    """Fit by plain least squares, look at the noise, fit again with the noise known."""
    theta = fit_shape(shape, u, y)
    curve = shape.curve(theta, u)
    way = progress(u, curve)
    noise = view_noise(way, shape.jacobian(theta, u), y - curve, reference_n)
    white = whitener(way, noise.correlation, noise.growth)
    theta = refine(shape.curve, shape.jacobian, theta, u, y, shape.clipped, white, rounds=15)
    curve = shape.curve(theta, u)
    way = progress(u, curve)
    noise = view_noise(way, shape.jacobian(theta, u), y - curve, reference_n)
    return ShapeFit(shape, theta, noise, _borne(shape, theta, u), y - curve, noise_scale(way, noise.growth))


def judge_shapes(fits: Sequence[ShapeFit], n: int) -> FloatArray:
    """Return (S, shapes) values of Akaike's criterion with the correction for few points.

    All shapes of a series are judged under one view of the noise: the mean of their restricted likelihoods'
    views, each shape counting by a first round of the criterion. Left to itself each shape would take
    serial noise for curvature, or curvature for serial noise (Hurvich and Tsai 1989 for the correction).
    """
    noise_parameters = 2 if n >= POINTS_FOR_NOISE else 0
    penalty = np.array([_penalty(fit.shape.charged + noise_parameters + 1, n) for fit in fits])
    penalty = penalty + np.where(np.stack([fit.borne for fit in fits], axis=1), 0.0, np.inf)
    if n < POINTS_FOR_NOISE:
        penalty += _refuted(fits, n)
    first = penalty - 2 * np.stack([fit.noise.log_likelihood.max(axis=(1, 2)) for fit in fits], axis=1)
    share = akaike_weight(first)
    view = np.einsum("sk,ksgr->sgr", share, np.stack([fit.noise.weight for fit in fits]))
    likelihood = np.stack([(view * fit.noise.log_likelihood).sum(axis=(1, 2)) for fit in fits], axis=1)
    return np.asarray(penalty - 2 * likelihood)


def _refuted(fits: Sequence[ShapeFit], n: int) -> FloatArray:
    """Return (S, shapes) infinity for 'steady' where a straight line is better at 5 % (F test).

    With five to eleven points the correction of Akaike's criterion would call steady what plainly falls.
    """
    refuted = np.zeros((len(fits[0].theta), len(fits)))
    squares = {fit.shape.name: (fit.residual**2).sum(axis=1) for fit in fits}
    if "steady" in squares and "straight line" in squares:
        gain = (squares["steady"] - squares["straight line"]) / np.maximum(squares["straight line"], 1e-12)
        steady = [fit.shape.name for fit in fits].index("steady")
        refuted[gain * (n - 2) > stats.f.ppf(0.95, 1, n - 2), steady] = np.inf
    return refuted


def _penalty(k: int, n: int) -> float:
    """Return what Akaike's criterion charges for `k` parameters of `n` points."""
    return 2 * k + 2 * k * (k + 1) / (n - k - 1) if n - k - 1 >= 1 else inf


def akaike_weight(criterion: FloatArray) -> FloatArray:
    """Return (S, shapes) weights of a criterion (Burnham and Anderson 2002)."""
    apart = criterion - np.min(criterion, axis=1, keepdims=True)
    weight = np.exp(-0.5 * np.where(np.isfinite(apart), apart, np.inf))
    return np.asarray(weight / np.maximum(weight.sum(axis=1, keepdims=True), 1e-300))


def _borne(shape: Shape, theta: FloatArray, u: FloatArray) -> BoolArray:
    """Return (S,) whether the points lie where the parameters need them: a delay needs both its sides."""
    if shape.delay is None:
        return np.ones(len(theta), dtype=bool)
    before = u[None, :] <= theta[:, shape.delay, None]
    levels = np.array([len(np.unique(u[row])) for row in before])
    return np.asarray((levels >= 2) & ((~before).sum(axis=1) >= shape.parameters))


def _pull_in(y: FloatArray, choice: Choice) -> tuple[FloatArray, BoolArray]:
    """Return the values with outlying ones pulled towards the curve, and which those are."""
    if not choice.fits:
        return y, np.zeros(y.shape, dtype=bool)
    residual = best_rows(choice, lambda found: found.residual)
    scale = best_rows(choice, lambda found: found.scale)
    spread = np.maximum(MAD_TO_SD * _usual(np.abs(residual / scale)) * scale, LEAST_NOISE)
    outlying = np.abs(residual) > OUTLYING * spread
    return np.where(outlying, y - residual + np.sign(residual) * PULLED_TO * spread, y), outlying


def _usual(size: FloatArray) -> FloatArray:
    """Return what size (S, n) of a residual is usual: the median of all, or of its neighbours where larger.

    The neighbours speak where the noise sets in at once, as when a shell is pierced.
    """
    everywhere = np.median(size, axis=1, keepdims=True)
    if size.shape[1] < 2 * NEIGHBOURS:
        return np.asarray(everywhere)
    half = NEIGHBOURS // 2
    padded = np.pad(size, ((0, 0), (half, half)), mode="reflect")
    near = np.median(np.lib.stride_tricks.sliding_window_view(padded, NEIGHBOURS, axis=1), axis=2)
    return np.maximum(everywhere, near)


def best_rows(choice: Choice, pick: Callable[[ShapeFit], FloatArray]) -> FloatArray:
    """Return what `pick` takes from the chosen shape's fit, row by row."""
    rows = np.stack([pick(choice.fits[name]) for name in choice.names])
    return np.asarray(rows[choice.best, np.arange(rows.shape[1])])


def _merged(first: Choice, second: Choice, again: BoolArray) -> Choice:
    """Return `first` with the rows `again` taken from `second`."""
    fits = {name: _merged_fit(first.fits[name], second.fits[name], again) for name in first.names}
    aicc = _put(first.aicc, second.aicc, again)
    return Choice(fits, first.names, aicc, np.argmin(aicc, axis=1), first.outlying)


def _merged_fit(first: ShapeFit, second: ShapeFit, again: BoolArray) -> ShapeFit:
    """Return one shape's fit with the rows `again` taken from `second`."""
    noise = {
        name: _put(getattr(first.noise, name), getattr(second.noise, name), again)
        for name in NoiseView.__slots__
    }
    return ShapeFit(
        first.shape,
        _put(first.theta, second.theta, again),
        NoiseView(**noise),
        _put(first.borne, second.borne, again),
        _put(first.residual, second.residual, again),
        _put(first.scale, second.scale, again),
    )


def _put(first: NDArray[Cell], second: NDArray[Cell], again: BoolArray) -> NDArray[Cell]:
    """Return a copy of `first` with the rows `again` replaced."""
    merged = first.copy()
    merged[again] = second
    return merged
