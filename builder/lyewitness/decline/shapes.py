"""The shapes a decline may have, with their derivatives.

In: parameters and scaled exposure (hours ÷ hours of the last injection, so 0 … 1).
Out: curves and Jacobians, batched over series. Values are % of the reference.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import scipy

from lyewitness.decline.records import ModelName
from lyewitness.words.arrays import FloatArray

Curve = Callable[[FloatArray, FloatArray], FloatArray]

STEEPEST = 60.0
"""Largest rate per scaled exposure that is searched: a fall to nothing within a twentieth of the test."""
SLOWEST = 0.3
"""Smallest rate per scaled exposure towards a rest: slower ones cannot be told from a straight line."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One model: `curve(theta (S, p), u (m,)) -> (S, m)`, `jacobian(theta, u) -> (S, m, p)`."""

    name: ModelName
    """What it is called; a shape that comes to rest bears the name of the one that falls to nothing."""
    curve: Curve
    jacobian: Curve
    lowest: tuple[float, ...]
    """(p,) lower bounds of the parameters."""
    highest: tuple[float, ...]
    """(p,) upper bounds of the parameters."""
    least_points: int
    """Distinct exposures that a fit needs, so that something is left to judge it by."""

    @property
    def charged(self) -> int:
        """Return the parameters that Akaike's criterion charges for.

        A place in time that was searched for (a delay, the middle of a sigmoid) fits noise as well as
        two ordinary parameters do: it is not defined where nothing happens (Davies 1977; Ninomiya 2005).
        """
        return self.parameters + (self.name in ("delayed", "sigmoid"))

    @property
    def to_rest(self) -> bool:
        """Return whether the curve comes to rest at a level of its own."""
        return self.name in ("first order", "delayed") and self.lowest[2:3] == (SLOWEST,)

    @property
    def delay(self) -> int | None:
        """Return which parameter is the delay; None where there is none."""
        return self.parameters - 1 if self.name == "delayed" else None

    @property
    def parameters(self) -> int:
        """Return the number of parameters of the curve."""
        return len(self.lowest)

    def clipped(self, theta: FloatArray) -> FloatArray:
        """Return `theta` moved into the bounds."""
        return np.clip(theta, self.lowest, self.highest)


def _steady(theta: FloatArray, u: FloatArray) -> FloatArray:
    return theta[:, :1] + np.zeros_like(u)


def _steady_jacobian(theta: FloatArray, u: FloatArray) -> FloatArray:
    return np.ones((len(theta), len(u), 1))


def _line(theta: FloatArray, u: FloatArray) -> FloatArray:
    return theta[:, :1] + theta[:, 1:2] * u


def _line_jacobian(theta: FloatArray, u: FloatArray) -> FloatArray:
    return np.broadcast_to(np.stack([np.ones_like(u), u], axis=1), (len(theta), len(u), 2))


def _first_order(theta: FloatArray, u: FloatArray) -> FloatArray:
    return np.asarray(theta[:, :1] * np.exp(-theta[:, 1:2] * u))


def _first_order_jacobian(theta: FloatArray, u: FloatArray) -> FloatArray:
    decay = np.exp(-theta[:, 1:2] * u)
    return np.stack([decay, -theta[:, :1] * u * decay], axis=2)


def _delayed(theta: FloatArray, u: FloatArray) -> FloatArray:
    return np.asarray(theta[:, :1] * np.exp(-theta[:, 1:2] * np.maximum(u - theta[:, 2:3], 0.0)))


def _delayed_jacobian(theta: FloatArray, u: FloatArray) -> FloatArray:
    after = np.maximum(u - theta[:, 2:3], 0.0)
    decay = np.exp(-theta[:, 1:2] * after)
    level = theta[:, :1] * decay
    return np.stack([decay, -after * level, theta[:, 1:2] * level * (after > 0)], axis=2)


def _sigmoid(theta: FloatArray, u: FloatArray) -> FloatArray:
    return np.asarray(theta[:, :1] + theta[:, 1:2] * scipy.special.expit((u - theta[:, 2:3]) / theta[:, 3:4]))


def _sigmoid_jacobian(theta: FloatArray, u: FloatArray) -> FloatArray:
    position = (u - theta[:, 2:3]) / theta[:, 3:4]
    step = scipy.special.expit(position)
    slope = theta[:, 1:2] * step * (1.0 - step) / theta[:, 3:4]
    return np.stack([np.ones_like(step), step, -slope, -slope * position], axis=2)


def _delayed_to_rest(theta: FloatArray, u: FloatArray) -> FloatArray:
    after = np.maximum(u - theta[:, 3:4], 0.0)
    return np.asarray(theta[:, :1] - theta[:, 1:2] * np.expm1(-theta[:, 2:3] * after))


def _delayed_to_rest_jacobian(theta: FloatArray, u: FloatArray) -> FloatArray:
    after = np.maximum(u - theta[:, 3:4], 0.0)
    left = theta[:, 1:2] * np.exp(-theta[:, 2:3] * after)
    met = -np.expm1(-theta[:, 2:3] * after)
    return np.stack([np.ones_like(after), met, after * left, -theta[:, 2:3] * left * (after > 0)], axis=2)


def _first_order_to_rest(theta: FloatArray, u: FloatArray) -> FloatArray:
    return np.asarray(theta[:, :1] - theta[:, 1:2] * np.expm1(-theta[:, 2:3] * u))


def _first_order_to_rest_jacobian(theta: FloatArray, u: FloatArray) -> FloatArray:
    left = np.exp(-theta[:, 2:3] * u)
    return np.stack([np.ones_like(left), 1.0 - left, theta[:, 1:2] * u * left], axis=2)


SHAPES: Mapping[str, Shape] = {
    "steady": Shape("steady", _steady, _steady_jacobian, (-np.inf,), (np.inf,), 4),
    "straight line": Shape("straight line", _line, _line_jacobian, (-np.inf,) * 2, (np.inf,) * 2, 4),
    "first order": Shape(
        "first order", _first_order, _first_order_jacobian, (-np.inf, -STEEPEST), (np.inf, STEEPEST), 4
    ),
    "delayed": Shape(
        "delayed", _delayed, _delayed_jacobian, (-np.inf, -STEEPEST, 0.0), (np.inf, STEEPEST, 0.97), 6
    ),
    "first order to a rest": Shape(
        "first order",
        _first_order_to_rest,
        _first_order_to_rest_jacobian,
        (-np.inf, -1e4, SLOWEST),
        (np.inf, 1e4, STEEPEST),
        6,
    ),
    "delayed to a rest": Shape(
        "delayed",
        _delayed_to_rest,
        _delayed_to_rest_jacobian,
        (-np.inf, -1e4, SLOWEST, 0.0),
        (np.inf, 1e4, STEEPEST, 0.97),
        8,
    ),
    "sigmoid": Shape(
        "sigmoid", _sigmoid, _sigmoid_jacobian, (-np.inf, -1e4, -0.2, 0.01), (np.inf, 1e4, 1.5, 0.6), 8
    ),
}
"""Every shape. First order and delayed have two forms: falling to nothing, and coming to rest elsewhere."""


def named_parameters(shape: Shape, theta: FloatArray, end_h: float) -> dict[str, float]:
    """Return the parameters (p,) of a curve by name, per hour instead of per length of the test, `end_h`."""
    values = [float(value) for value in theta]
    if shape.name == "steady":
        return {"level_percent": values[0]}
    if shape.name == "straight line":
        return {"start_percent": values[0], "slope_percent_per_h": values[1] / end_h}
    if shape.name == "sigmoid":
        start, step, middle, width = values
        return {
            "start_percent": start,
            "step_percent": step,
            "middle_h": middle * end_h,
            "width_h": width * end_h,
        }
    named = {"start_percent": values[0], "rate_per_h": values[2 if shape.to_rest else 1] / end_h}
    if shape.to_rest:
        named["rest_percent"] = values[0] + values[1]
    return named if shape.delay is None else {**named, "delay_h": values[shape.delay] * end_h}
