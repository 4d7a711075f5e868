"""How fast a metric declines.

In: a `Choice`. Out: the rate of every series with its standard error, and parameters with their units.

The rate is the relative loss per hour: the rate constant of first order and delayed (where they come to
rest at another level, the relative loss at their outset), slope ÷ 100 of a straight line, steepest
slope ÷ 100 of a sigmoid, none for steady. It is positive where the metric falls.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from lyewitness.decline.choosing import Choice, ShapeFit
from lyewitness.decline.shapes import Shape
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate


@dataclass(frozen=True, eq=False, slots=True)
class RateView:
    """Rates of S series in 1/h."""

    value: FloatArray
    """(S,)"""
    middle: FloatArray
    """(S,) middle of the interval: the value, but for steady series the slope of their straight line."""
    error: FloatArray
    """(S,) standard error; NaN where it cannot be known."""
    freedom: FloatArray
    """(S,) degrees of freedom."""
    end_h: float

    def estimate(self, row: int, confidence: float) -> Estimate:
        """Return the rate of one series with its interval."""
        error = float(self.error[row])
        if not np.isfinite(error):
            return Estimate(float(self.value[row]), reason="too few points for an interval of the rate")
        half = float(stats.t.ppf(0.5 + confidence / 2, self.freedom[row])) * error
        middle = float(self.middle[row])
        return Estimate(float(self.value[row]), middle - half, middle + half)

    def parameters(self, shape: Shape, theta: FloatArray) -> dict[str, float]:
        """Return the parameters (p,) of a curve by name, per hour instead of per length of the test."""
        values = [float(value) for value in theta]
        if shape.name == "steady":
            return {"level_percent": values[0]}
        if shape.name == "straight line":
            return {"start_percent": values[0], "slope_percent_per_h": values[1] / self.end_h}
        if shape.name == "sigmoid":
            start, step, middle, width = values
            return {
                "start_percent": start,
                "step_percent": step,
                "middle_h": middle * self.end_h,
                "width_h": width * self.end_h,
            }
        named = {"start_percent": values[0], "rate_per_h": values[2 if shape.to_rest else 1] / self.end_h}
        if shape.to_rest:
            named["rest_percent"] = values[0] + values[1]
        return named if shape.delay is None else {**named, "delay_h": values[shape.delay] * self.end_h}


def rates(choice: Choice, end_h: float) -> RateView:
    """Return the rate of every series by its chosen shape."""
    value, middle, error, freedom = (np.full(len(choice.best), np.nan) for _ in range(4))
    for index, name in enumerate(choice.names):
        mine = choice.best == index
        if mine.any():
            fit = choice.fits[name]
            value[mine], error[mine] = _rate_and_error(fit, mine)
            middle[mine] = value[mine]
            freedom[mine] = fit.residual.shape[1] - fit.shape.parameters
            line = choice.fits.get("straight line")
            if name == "steady" and line is not None:
                middle[mine], error[mine] = _rate_and_error(line, mine)
    return RateView(value / end_h, middle / end_h, error / end_h, freedom, end_h)


def _rate_and_error(fit: ShapeFit, rows: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """Return rate and standard error per scaled exposure; the sigmoid's by the delta method."""
    theta, covariance = fit.theta[rows], fit.noise.covariance[rows]
    if fit.shape.name == "steady":
        return np.zeros(len(theta)), np.full(len(theta), np.nan)
    if fit.shape.name == "straight line":
        return -theta[:, 1] / 100.0, np.sqrt(covariance[:, 1, 1]) / 100.0
    if fit.shape.to_rest:
        return _relative_rate(theta, covariance)
    if fit.shape.name == "sigmoid":
        steepest = -theta[:, 1] / (4 * theta[:, 3]) / 100.0
        gradient = np.stack([-0.25 / theta[:, 3], 0.25 * theta[:, 1] / theta[:, 3] ** 2], axis=1) / 100.0
        inner = covariance[:, [1, 3]][:, :, [1, 3]]
        return steepest, np.sqrt(np.maximum(np.einsum("sp,spq,sq->s", gradient, inner, gradient), 0.0))
    return theta[:, 1], np.sqrt(covariance[:, 1, 1])


def _relative_rate(theta: FloatArray, covariance: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the relative loss per scaled exposure at the outset of an approach to a rest, and its error.

    step × rate ÷ level, positive where the metric falls: it compares with the rate constant of a fall to
    nothing, where step and level are the same.
    """
    level, step, rate = theta[:, 0], theta[:, 1], theta[:, 2]
    gradient = np.stack([step * rate / level**2, -rate / level, -step / level], axis=1)
    variance = np.einsum("sp,spq,sq->s", gradient, covariance[:, :3, :3], gradient)
    return -step * rate / level, np.sqrt(np.maximum(variance, 0.0))
