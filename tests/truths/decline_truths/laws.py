"""Laws of decline: noise-free curves whose life at a limit is known exactly.

Every law is written as a *loss* in per cent of the start: nothing at exposure 0, and exactly
``drop = 100 - limit`` at the life.  A law therefore has its life as a parameter, and the curve drawn for
a limit passes that limit at the drawn life; the life at any other limit comes from root finding.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

FloatArray = NDArray[np.float64]
Constants = Mapping[str, FloatArray]
LossFunction = Callable[[FloatArray, FloatArray, FloatArray, Constants], FloatArray]

RISING_GAIN = 1.27
"""A rising metric (a symmetry factor from 1.1 to 2.5) gains 127 % while its falling twin loses 100 %."""


@dataclass(frozen=True)
class Context:
    """What a law may know of the test when its parameters are drawn."""

    end_h: float
    gap_h: float
    drop: float


@dataclass(frozen=True)
class Drawn:
    """Parameters drawn for one curve."""

    life_h: float
    shape: float
    constants: dict[str, FloatArray]


DrawFunction = Callable[[np.random.Generator, Context, float], Drawn]


@dataclass(frozen=True)
class Law:
    """A family of curves: the loss for a life and one shape parameter, and how its constants are drawn.

    ``shape_range`` is None when the law has no free shape; ``smooth`` says that the curve has neither a
    jump nor a kink near its life; ``lifeless`` that it never passes the limit.
    """

    name: str
    summary: str
    loss: LossFunction
    draw: DrawFunction
    shape_range: tuple[float, float] | None = None
    smooth: bool = True
    monotone: bool = True
    lifeless: bool = False


@dataclass(frozen=True)
class Curve:
    """One noise-free curve in per cent of the start, callable on exposures in hours.

    ``stretch`` multiplies the exposure (a column that ages faster); ``gain`` is None for a falling metric,
    and the gain per lost per cent for a rising one.
    """

    law: Law
    life_h: float
    shape: float
    constants: Constants
    stretch: float = 1.0
    gain: float | None = None

    def __call__(self, exposures: FloatArray | float) -> FloatArray:
        """Return the noise-free metric at the exposures."""
        times = np.asarray(exposures, dtype=np.float64) * self.stretch
        loss = self.law.loss(times, np.asarray(self.life_h), np.asarray(self.shape), self.constants)
        if self.gain is None:
            return np.asarray(100.0 - loss, dtype=np.float64)
        return np.asarray(100.0 + self.gain * loss, dtype=np.float64)

    @property
    def falling(self) -> bool:
        """Tell whether the metric falls."""
        return self.gain is None

    def stretched(self, factor: float) -> Curve:
        """Return the same curve lived through ``factor`` times as slowly (all its lives times factor)."""
        return replace(self, stretch=self.stretch / factor)

    def life_at(self, limit: float, horizon_h: float, points: int = 4001) -> float:
        """Return the first exposure at which the curve is at or past the limit, inf when not by horizon.

        A bisection inside the first of ``points - 1`` intervals at whose end the limit is passed; at a
        jump it converges to the jump itself.
        """
        grid = np.linspace(0.0, horizon_h, points)
        past = self.past(limit, grid)
        if not past.any():
            return math.inf
        first = int(np.argmax(past))
        if first == 0:
            return 0.0
        low, high = float(grid[first - 1]), float(grid[first])
        for _ in range(80):
            middle = 0.5 * (low + high)
            if bool(self.past(limit, np.asarray(middle))):
                high = middle
            else:
                low = middle
        return high

    def past(self, limit: float, exposures: FloatArray) -> NDArray[np.bool_]:
        """Tell for each exposure whether the curve is at or past the limit."""
        values = self(exposures)
        return np.asarray(values <= limit if self.falling else values >= limit, dtype=np.bool_)


def draw_life_fraction(rng: np.random.Generator) -> float:
    """Draw life / end of test: early 15 %, middle 50 %, late 20 %, beyond the end 15 %."""
    kind = rng.choice(4, p=[0.15, 0.50, 0.20, 0.15])
    low, high = ((0.10, 0.30), (0.30, 0.75), (0.75, 0.98), (1.03, 2.0))[int(kind)]
    return float(rng.uniform(low, high))


def draw_curve(
    law: Law,
    rng: np.random.Generator,
    end_h: float,
    gap_h: float,
    limit: float,
    life_fraction: float | None = None,
) -> Curve:
    """Draw one curve of a law for a test of ``end_h`` hours; a limit above 100 makes a rising metric."""
    gain = None if limit < 100.0 else RISING_GAIN
    drop = 100.0 - limit if gain is None else (limit - 100.0) / gain
    if not 0.5 <= drop <= 90.0:
        raise ValueError(f"limit {limit} is out of the range the laws are made for")
    drawn_fraction = draw_life_fraction(rng)
    fraction = drawn_fraction if life_fraction is None else life_fraction
    drawn = law.draw(rng, Context(end_h, gap_h, drop), fraction * end_h)
    constants = {**drawn.constants, "drop": np.asarray(drop)}
    return Curve(law, drawn.life_h, drawn.shape, constants, 1.0, gain)


def _constants(**values: float) -> dict[str, FloatArray]:
    """Return scalar constants as arrays."""
    return {name: np.asarray(value, dtype=np.float64) for name, value in values.items()}


def _ceiling(rng: np.random.Generator, drop: float, low: float = 0.6, high: float = 0.95) -> float:
    """Draw the greatest loss: ``low`` to ``high`` of the way from the limit down to nothing."""
    return float(drop + (100.0 - drop) * rng.uniform(low, high))


def _last(rng: np.random.Generator, drop: float) -> float:
    """Draw the loss of a column that is left with next to nothing (5 to 12 % for a limit of 80 %)."""
    return _ceiling(rng, drop, 0.85, 0.94)


def _powers(exponent: float) -> LossFunction:
    """Return the loss of a power law that stops at its greatest loss."""

    def loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
        """Return the loss."""
        return np.asarray(np.minimum(c["drop"] * (t / life) ** exponent + 0.0 * shape, c["ceiling"]))

    return loss


def _draw_ceiling(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a law that has no constant but its greatest loss."""
    return Drawn(life, 0.0, _constants(ceiling=_ceiling(rng, context.drop)))


def _first_order_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return the loss of a first-order decline to an end level."""
    rate = -np.log1p(-c["drop"] / c["ceiling"])
    return np.asarray(-c["ceiling"] * np.expm1(-rate * t / life) + 0.0 * shape)


def _draw_first_order(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a first-order decline: to next to nothing in half of the cases, else to a level between."""
    ceiling = _last(rng, context.drop) if rng.random() < 0.5 else _ceiling(rng, context.drop, 0.15, 0.6)
    return Drawn(life, 0.0, _constants(ceiling=ceiling))


def _draw_plateau_below(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a first-order decline to a level 0.5 to 2 % past the limit."""
    return Drawn(life, 0.0, _constants(ceiling=context.drop + float(rng.uniform(0.5, 2.0))))


def _delayed_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return the loss of a decline that is flat until ``shape`` of the life, then first order."""
    rate = -np.log1p(-c["drop"] / c["ceiling"])
    late = np.maximum(t / life - shape, 0.0) / (1.0 - shape)
    return np.asarray(-c["ceiling"] * np.expm1(-rate * late))


def _draw_delayed(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a delayed start at 20 to 85 % of the life."""
    drawn = _draw_first_order(rng, context, life)
    return Drawn(life, float(rng.uniform(0.2, 0.85)), drawn.constants)


def _quadratic_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return a linear share ``shape`` of the loss plus a quadratic rest."""
    x = t / life
    return np.asarray(np.minimum(c["drop"] * (shape * x + (1.0 - shape) * x * x), c["ceiling"]))


def _draw_quadratic(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a quadratic decline with a linear share of 0 to 0.6."""
    return Drawn(life, float(rng.uniform(0.0, 0.6)), _constants(ceiling=_ceiling(rng, context.drop)))


def _weibull_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return the loss of exp(-(t / tau)^shape), down to the last few per cent."""
    rate = -np.log1p(-c["drop"] / c["ceiling"])
    return np.asarray(-c["ceiling"] * np.expm1(-rate * np.minimum((t / life) ** shape, 1e6)))


def _draw_weibull(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a Weibull decline with exponent 1.2 to 4."""
    return Drawn(life, float(rng.uniform(1.2, 4.0)), _constants(ceiling=_last(rng, context.drop)))


def _logistic_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return the loss of a logistic decline, scaled to lose nothing at 0; ``shape`` is width / life."""
    rest = 1.0 - c["drop"] / c["ceiling"]
    y = (1.0 - rest) / (rest * np.exp(1.0 / shape) - 1.0)
    grown = np.exp(np.minimum(t / life / shape, 600.0))
    return np.asarray(c["ceiling"] * (1.0 - (1.0 + y) / (1.0 + y * grown)))


def _draw_logistic(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a logistic decline of width 0.06 to 0.3 lives to any end level below the limit."""
    shape = float(rng.uniform(0.06, 0.3))
    return Drawn(life, shape, _constants(ceiling=_ceiling(rng, context.drop, 0.3, 0.94)))


def _fast_slow_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return the loss of two first-order phases; the fast one loses ``shape`` of the way to the limit."""
    drop, theta = c["drop"], c["theta"]
    fast = shape * drop
    slow = c["ceiling"] - fast
    rest = (c["ceiling"] - drop - fast * np.exp(-1.0 / theta)) / slow
    x = t / life
    return np.asarray(-fast * np.expm1(-x / theta) - slow * np.expm1(np.log(rest) * x))


def _draw_fast_slow(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw two phases: the fast one loses 30 to 80 % of the drop, with a time constant of 0.05-0.2 lives."""
    theta = float(rng.uniform(0.05, 0.2))
    shape = float(rng.uniform(0.3, 0.8))
    return Drawn(life, shape, _constants(theta=theta, ceiling=_last(rng, context.drop)))


def _two_slopes_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return the loss along two straight lines; the first has ``shape`` times the mean slope."""
    x, knee = t / life, c["knee"]
    early = shape * x
    late = shape * knee + (1.0 - shape * knee) * (x - knee) / (1.0 - knee)
    return np.asarray(np.minimum(c["drop"] * np.where(x < knee, early, late), c["ceiling"]))


def _draw_two_slopes(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a knee at 30 to 85 % of the life and a first slope of 0.1 to 0.6 of the mean slope."""
    constants = _constants(knee=float(rng.uniform(0.3, 0.85)), ceiling=_ceiling(rng, context.drop))
    return Drawn(life, float(rng.uniform(0.1, 0.6)), constants)


def _collapse_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return a small straight loss and, at the life, a jump to the end level."""
    before = c["before"] * c["drop"] * np.minimum(t / life, 1.0) + 0.0 * shape
    return np.asarray(np.where(t < life, before, c["ceiling"]))


def _draw_collapse(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a collapse after a loss of at most 40 % of the drop."""
    constants = _constants(
        before=float(rng.uniform(0.0, 0.4)), ceiling=_ceiling(rng, context.drop, 0.15, 0.9)
    )
    return Drawn(life, 0.0, constants)


def _stairs_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return the sum of the steps taken so far."""
    x = np.asarray(t / life)[..., None]
    return np.asarray(np.sum(c["heights"] * (x >= c["places"]), axis=-1) + 0.0 * shape)


def _steps_before(rng: np.random.Generator, drop: float) -> tuple[FloatArray, FloatArray]:
    """Draw one to three steps before the life that together lose 30 to 85 % of the drop."""
    count = int(rng.integers(1, 4))
    places = np.sort(rng.uniform(0.1, 0.9, count))
    return places, drop * float(rng.uniform(0.3, 0.85)) * rng.dirichlet(np.full(count, 3.0))


def _draw_stairs(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw steps before the life, one at the life well past the limit, and up to two later ones."""
    drop = context.drop
    places, heights = _steps_before(rng, drop)
    past = (100.0 - drop) * float(rng.uniform(0.05, 0.3))
    later = int(rng.integers(0, 3))
    more = (100.0 - drop - past) * rng.uniform(0.05, 0.3, later)
    constants = {
        "places": np.concatenate([places, [1.0], np.sort(rng.uniform(1.1, 2.5, later))]),
        "heights": np.concatenate([heights, [drop + past - heights.sum()], more]),
    }
    return Drawn(life, 0.0, constants)


def _draw_stairs_just_past(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw steps of which the last, at the life, ends 0.3 to 1.5 % past the limit."""
    places, heights = _steps_before(rng, context.drop)
    last = context.drop + float(rng.uniform(0.3, 1.5)) - heights.sum()
    constants = {"places": np.append(places, 1.0), "heights": np.append(heights, last)}
    return Drawn(life, 0.0, constants)


def _dip_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return a raised-cosine dip that first passes the limit at the life, and a small lasting loss."""
    half, depth, lasting = c["half"], c["depth"], c["lasting"]
    angle = np.arccos(2.0 * c["drop"] / depth - 1.0)
    from_centre = t - life - half * angle / np.pi
    bump = 0.5 * (1.0 + np.cos(np.pi * np.clip(from_centre / half, -1.0, 1.0)))
    after = lasting + (depth - lasting) * bump
    return np.asarray(np.where(from_centre < 0.0, depth * bump, after) + 0.0 * shape)


def _draw_dip(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a dip that stays past the limit for about two to four injections and is over within the test."""
    drop, end = context.drop, context.end_h
    depth = min(drop * float(rng.uniform(1.3, 2.0)), 0.5 * (drop + 100.0))
    below = max(float(rng.uniform(1.8, 3.5)) * context.gap_h, 0.06 * end)
    angle = math.acos(2.0 * drop / depth - 1.0)
    half = below * math.pi / (2.0 * angle)
    earliest = half * (1.0 - angle / math.pi)
    latest = max(end - 2.0 * half + earliest, earliest)
    place = float(np.clip(life, earliest, latest))
    return Drawn(place, 0.0, _constants(half=half, depth=depth, lasting=float(rng.uniform(0.0, 0.25)) * drop))


def _flat_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return a loss that never exceeds the trifle ``shape``."""
    return np.asarray(-shape * np.expm1(-t / c["tau"]) + np.zeros(np.shape(life)))


def _draw_flat(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a trifling loss of 0 to 7 % of the drop (at most 1.4 % for a limit of 80 %)."""
    trifle = float(rng.uniform(0.0, 0.07)) * context.drop
    return Drawn(math.inf, trifle, _constants(tau=context.end_h * float(rng.uniform(0.3, 2.0))))


def _plateau_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return a first-order loss that ends ``shape`` of the drop short of the limit."""
    return np.asarray(-c["drop"] * (1.0 - shape) * np.expm1(-t / c["tau"]) + np.zeros(np.shape(life)))


def _draw_plateau(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a decline that ends 0.5 to 3 % before the limit."""
    short = min(float(rng.uniform(0.5, 3.0)) / context.drop, 0.5)
    return Drawn(math.inf, short, _constants(tau=context.end_h * float(rng.uniform(0.1, 0.4))))


def _conditioning_loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
    """Return the loss of a metric that first gets better, then declines with the power 1 + ``shape``."""
    rise = -c["rise"] * np.expm1(-t / life / c["theta"])
    at_life = -c["rise"] * np.expm1(-1.0 / c["theta"])
    ceiling = c["ceiling"]
    return np.asarray(np.minimum((c["drop"] + at_life) * (t / life) ** (1.0 + shape) - rise, ceiling))


def _draw_conditioning(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw a first gain of 5 to 25 % of the drop, then a decline with power 1.5 to 3."""
    constants = _constants(
        rise=float(rng.uniform(0.05, 0.25)) * context.drop,
        theta=float(rng.uniform(0.05, 0.2)),
        ceiling=_ceiling(rng, context.drop),
    )
    return Drawn(life, float(rng.uniform(0.5, 2.0)), constants)


def _through_knots(t: FloatArray, c: Constants, smooth: bool) -> FloatArray:
    """Interpolate the knots; beyond the last one go on straight with the last slope."""
    times, heights = c["knot_times"], c["knot_heights"]
    inside = np.clip(t, times[0], times[-1])
    middle = PchipInterpolator(times, heights)(inside) if smooth else np.interp(inside, times, heights)
    slope = (heights[-1] - heights[-2]) / (times[-1] - times[-2])
    return np.asarray(middle + slope * np.maximum(t - times[-1], 0.0), dtype=np.float64)


def _knots(smooth: bool) -> LossFunction:
    """Return the loss c (1 - exp(-rate G(t))) with G through the knots and the rate set by the life."""

    def loss(t: FloatArray, life: FloatArray, shape: FloatArray, c: Constants) -> FloatArray:
        """Return the loss."""
        rate = -np.log1p(-c["drop"] / c["ceiling"]) / _through_knots(life, c, smooth)
        return np.asarray(-c["ceiling"] * np.expm1(-rate * _through_knots(t, c, smooth)) + 0.0 * shape)

    return loss


def _draw_monotone(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw six to ten knots with gamma increments (uneven decline without any form)."""
    count = int(rng.integers(6, 11))
    times = np.concatenate([[0.0], np.sort(rng.uniform(0.05, 0.95, count - 2)), [1.0]])
    steps = np.diff(times)
    steps = (steps + 0.03) / np.sum(steps + 0.03)
    gains = rng.gamma(1.5 * np.ones(count - 1)) * steps + 0.05 * steps
    span = 1.1 * max(context.end_h, life)
    times = span * np.concatenate([[0.0], np.cumsum(steps)])
    heights = np.concatenate([[0.0], np.cumsum(gains)])
    constants = _constants(ceiling=_last(rng, context.drop))
    return Drawn(life, 0.0, {**constants, "knot_times": times, "knot_heights": heights})


def _draw_convex(rng: np.random.Generator, context: Context, life: float) -> Drawn:
    """Draw the integral of a gamma process: damage runs faster with every hit."""
    count = 41
    speed = np.cumsum(rng.gamma(0.25, 1.0, count - 1)) + 0.1
    times = 1.1 * max(context.end_h, life) * np.linspace(0.0, 1.0, count)
    heights = np.concatenate([[0.0], np.cumsum(speed)]) / count
    constants = _constants(ceiling=_last(rng, context.drop))
    return Drawn(life, 0.0, {**constants, "knot_times": times, "knot_heights": heights})


_ALL = (
    Law("straight", "straight line down to an end level", _powers(1.0), _draw_ceiling),
    Law(
        "first_order",
        "exponential decline to next to nothing or to a level",
        _first_order_loss,
        _draw_first_order,
    ),
    Law("delayed", "flat, then first order", _delayed_loss, _draw_delayed, (0.0, 0.97), smooth=False),
    Law("quadratic", "linear share plus quadratic rest", _quadratic_loss, _draw_quadratic, (-0.5, 1.5)),
    Law("fourth_power", "loss grows with the fourth power", _powers(4.0), _draw_ceiling),
    Law(
        "weibull",
        "exp(-(t/tau)^k), k 1.2-4, down to the last few per cent",
        _weibull_loss,
        _draw_weibull,
        (0.3, 12.0),
    ),
    Law("logistic", "logistic decline to an end level", _logistic_loss, _draw_logistic, (0.015, 1.2)),
    Law("fast_slow", "two first-order phases", _fast_slow_loss, _draw_fast_slow, (0.0, 0.98)),
    Law(
        "slow_fast",
        "two straight slopes, the later steeper",
        _two_slopes_loss,
        _draw_two_slopes,
        (-0.4, 1.3),
        smooth=False,
    ),
    Law("square_root", "loss grows with the square root", _powers(0.5), _draw_ceiling),
    Law(
        "collapse",
        "jump between two injections after a small loss",
        _collapse_loss,
        _draw_collapse,
        smooth=False,
    ),
    Law("stairs", "several steps, one of them well past the limit", _stairs_loss, _draw_stairs, smooth=False),
    Law(
        "stairs_just_past",
        "several steps, the last ends just past the limit",
        _stairs_loss,
        _draw_stairs_just_past,
        smooth=False,
    ),
    Law("dip", "past the limit for some injections, then well again", _dip_loss, _draw_dip, monotone=False),
    Law("flat", "trifling loss", _flat_loss, _draw_flat, (-20.0, 60.0), lifeless=True),
    Law("plateau", "ends just short of the limit", _plateau_loss, _draw_plateau, (-1.0, 1.0), lifeless=True),
    Law("plateau_below", "ends just past the limit", _first_order_loss, _draw_plateau_below),
    Law(
        "conditioning",
        "gets better first, then declines",
        _conditioning_loss,
        _draw_conditioning,
        (-0.5, 6.0),
        monotone=False,
    ),
    Law("monotone", "random monotone spline", _knots(True), _draw_monotone),
    Law("convex", "integrated gamma process", _knots(False), _draw_convex),
)

LAWS: dict[str, Law] = {law.name: law for law in _ALL}
"""The registry: name -> law."""
