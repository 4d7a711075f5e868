"""Rates and lives against temperature or pH.

In: the `Decline`s of columns of one group that were run at different temperatures or pH.
Out: `AcceleratedFit`s, or the sentence that says why there are none.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, sqrt
from typing import Literal

import numpy as np

from lyewitness.decline import distributions as stats
from lyewitness.decline.column_lives import log_hours, log_rate
from lyewitness.decline.records import AcceleratedFit, Decline
from lyewitness.study.records import Choices, Column, Study
from lyewitness.words.arrays import FloatArray
from lyewitness.words.constants import GAS_CONSTANT_KJ_MOL_K, ZERO_CELSIUS_K
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import with_unit

Variable = Literal["temperature", "pH"]
BOTH: tuple[Variable, Variable] = ("temperature", "pH")


# Two settings lie on any line: from three on a departure from it can be seen.
LEAST_SETTINGS = 3
JUST_OUTSIDE = 0.25
"""Predictions go this share of the tested range beyond both its ends, and no further."""


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight line by least squares with what its intervals need."""

    intercept: float
    slope: float
    slope_error: float
    residual_sd: float
    n: int
    mean_x: float
    spread_x: float
    """Sum of squares of x about its mean."""

    def slope_estimate(self, confidence: float, factor: float = 1.0) -> Estimate:
        """Return slope × `factor` with its t interval."""
        half = _quantile(confidence, self.n - 2) * self.slope_error
        ends = sorted((factor * (self.slope - half), factor * (self.slope + half)))
        return Estimate(factor * self.slope, ends[0], ends[1])

    def at(self, x: float, confidence: float) -> tuple[float, float, float]:
        """Return the mean line at `x` with its t interval."""
        error = self.residual_sd * sqrt(1 / self.n + (x - self.mean_x) ** 2 / self.spread_x)
        half = _quantile(confidence, self.n - 2) * error
        middle = self.intercept + self.slope * x
        return middle, middle - half, middle + half


def _quantile(confidence: float, freedom: int) -> float:
    return float(stats.t.ppf(0.5 + confidence / 2, freedom))


def straight(x: FloatArray, y: FloatArray) -> Straight:
    """Return the line through `x`, `y` (n ≥ 3,); ValueError where x does not vary."""
    n, mean_x = len(x), float(x.mean())
    spread = float(((x - mean_x) ** 2).sum())
    if n < 3 or spread <= 0:
        raise ValueError("a line with an interval needs three points at more than one place")
    slope = float(((x - mean_x) * (y - y.mean())).sum()) / spread
    intercept = float(y.mean()) - slope * mean_x
    left = y - intercept - slope * x
    sd = sqrt(float(left @ left) / (n - 2))
    return Straight(intercept, slope, sd / sqrt(spread), sd, n, mean_x, spread)


def arrhenius(temperatures_C: FloatArray, rates: FloatArray) -> Straight:
    """Return the line of ln(rate) against 1/T (1/K); −slope × gas constant is the activation energy."""
    return straight(1.0 / (temperatures_C + ZERO_CELSIUS_K), np.log(rates))


def fit_accelerated(study: Study, declines: Sequence[Decline]) -> tuple[tuple[AcceleratedFit, ...], str]:
    """Return the fits of groups run at three or more temperatures or pH; where none was, why."""
    fits = tuple(_fits(study, declines))
    return fits, "" if fits else _why_none(study)


def _fits(study: Study, declines: Sequence[Decline]) -> Iterator[AcceleratedFit]:
    """Yield the fits, one a group, variable, marker and limited metric."""
    for group in study.groups:
        for variable in _variables(study, group):
            members: dict[tuple[str, str], list[Decline]] = {}
            for decline in declines:
                if decline.series.group == group and decline.limit is not None:
                    members.setdefault((decline.series.marker, decline.series.metric), []).append(decline)
            settings = _settings(study, group, variable)
            for own in members.values():
                yield _fit(own, variable, settings, study.choices)


def _variables(study: Study, group: str) -> list[Variable]:
    """Return what was varied over at least three settings while the other was held."""
    temperature = set(_settings(study, group, "temperature").values())
    ph = set(_settings(study, group, "pH").values())
    varied: list[Variable] = []
    if len(temperature) >= LEAST_SETTINGS and len(ph) <= 1:
        varied.append("temperature")
    if len(ph) >= LEAST_SETTINGS and len(temperature) <= 1:
        varied.append("pH")
    return varied


def _settings(study: Study, group: str, variable: Variable) -> dict[str, float]:
    """Return temperature or pH by column, where it is known."""
    pick: Callable[[Column], float | None] = {
        "temperature": lambda column: _or(column.temperature_C, study.stress.temperature_C),
        "pH": lambda column: _or(column.ph, study.stress.ph),
    }[variable]
    found = {column.id: pick(column) for column in study.replicates(group)}
    return {column: setting for column, setting in found.items() if setting is not None}


def _or(own: float | None, common: float | None) -> float | None:
    return own if own is not None else common


def _fit(
    declines: Sequence[Decline], variable: Variable, settings: Mapping[str, float], choices: Choices
) -> AcceleratedFit:
    """Return the fit of one group, marker and metric."""
    series = declines[0].series
    known = [decline for decline in declines if decline.series.column in settings]
    rated = [(settings[decline.series.column], log_rate(decline, choices.confidence)) for decline in known]
    tested = tuple(setting for setting, rate in rated if rate is not None)
    rates = tuple(exp(rate[0]) for _, rate in rated if rate is not None)
    if len(set(tested)) < LEAST_SETTINGS:
        reason = f"rates above zero at {len(set(tested))} settings only; a line with an interval needs three"
        return AcceleratedFit(
            series.group, series.marker, series.metric, variable, tested, rates, reason=reason
        )
    x, y = np.array(tested), np.array(rates)
    confidence = choices.confidence
    energy, slope = Estimate(reason="pH was varied"), Estimate(reason="temperature was varied")
    if variable == "temperature":
        energy = arrhenius(x, y).slope_estimate(confidence, -GAS_CONSTANT_KJ_MOL_K)
    else:
        slope = straight(x, np.log10(y)).slope_estimate(confidence)
    predictions, reason = _predictions(declines, variable, settings, confidence)
    return AcceleratedFit(
        series.group,
        series.marker,
        series.metric,
        variable,
        tested,
        rates,
        energy,
        slope,
        predictions,
        reason,
    )


def _predictions(
    declines: Sequence[Decline], variable: Variable, settings: Mapping[str, float], confidence: float
) -> tuple[tuple[tuple[float, Estimate], ...], str]:
    """Return the life of the typical column at, between and just outside the tested settings."""
    lives = [
        (settings[decline.series.column], log_hours(decline.life.hours.value))
        for decline in declines
        if decline.series.column in settings
        and decline.life.hours.value is not None
        and not decline.life.extrapolated
    ]
    tested = sorted({setting for setting, _ in lives})
    if len(tested) < LEAST_SETTINGS:
        return (), f"the limit was reached at {len(tested)} settings only: no prediction of lives"
    line = straight(
        np.array([_axis(setting, variable) for setting, _ in lives]), np.array([y for _, y in lives])
    )
    span = tested[-1] - tested[0]
    between = [(low + high) / 2 for low, high in pairwise(tested)]
    outside = [tested[0] - JUST_OUTSIDE * span, tested[-1] + JUST_OUTSIDE * span]
    wanted = sorted([*tested, *between, *outside])
    return tuple((setting, _life_at(line, setting, variable, tested, confidence)) for setting in wanted), ""


def _axis(setting: float, variable: Variable) -> float:
    """Return where a setting stands on the axis of the fit: 1/T or pH."""
    return 1.0 / (setting + ZERO_CELSIUS_K) if variable == "temperature" else setting


def _life_at(
    line: Straight, setting: float, variable: Variable, tested: Sequence[float], confidence: float
) -> Estimate:
    """Return the life at one setting; marked where it lies outside the tested range."""
    middle, low, high = line.at(_axis(setting, variable), confidence)
    outside = not tested[0] <= setting <= tested[-1]
    return Estimate(exp(middle), exp(low), exp(high), "outside the tested range" if outside else "")


def _why_none(study: Study) -> str:
    """Return the plain sentence for a study that says nothing of milder conditions."""
    counts = {
        variable: max(
            (len(set(_settings(study, group, variable).values())) for group in study.groups), default=0
        )
        for variable in BOTH
    }
    temperature, ph = study.stress.temperature_C, study.stress.ph
    at = ", ".join(
        part
        for part in (
            with_unit(f"{temperature:g}", "°C")
            if temperature is not None and counts["temperature"] <= 1
            else "",
            f"pH {ph:g}" if ph is not None and counts["pH"] <= 1 else "",
        )
        if part
    )
    if max(counts.values()) <= 1:
        under = f" ({at})" if at else ""
        return (
            f"All columns of a group ran under one stress{under}: life at milder conditions cannot be "
            "computed from this study. Three or more temperatures, or pH values, of one group would allow "
            "it."
        )
    return (
        f"At most {counts['temperature']} temperatures and {counts['pH']} pH values of one group were run: "
        "a line with an interval needs three of one while the other is held, so life at milder conditions "
        "cannot be computed from this study."
    )
