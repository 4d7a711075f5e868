"""Peaks whose every measure is known: shapes drawn from transport and kinetics, not from one formula.

A shape is a density with a Gaussian core of unit standard deviation.  Its measures are found once, on a fine
grid, and carried over to any place, width and area by scaling, so they hold to better than one in a million.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from scipy.special import erf, erfc, erfcx

Array = NDArray[np.float64]

STEP = 0.005
"""Grid step in units of the core's standard deviation; a cubic spline on it errs by about 1e-11."""


@dataclass(frozen=True)
class Form:
    """A peak shape, lengths in units of the Gaussian core's standard deviation.

    ``kind`` is one of:

    - ``gauss``;
    - ``emg``: Gaussian with one exponential (``tail``: its time constant);
    - ``two_tails``: as ``emg``, of which ``share`` leaves with the longer time constant ``slow``;
    - ``two_sites``: a Gaussian whose molecules also stay, on average ``share`` times, on a rare site of mean
      stay ``slow`` (Poisson number of exponential stays), then pass a dead volume of time constant ``tail``;
    - ``hvl``: Haarhoff and Van der Linde's overloaded peak, ``tail`` its overload; negative: fronting.
    """

    kind: str = "emg"
    tail: float = 0.0
    slow: float = 0.0
    share: float = 0.0


@dataclass(frozen=True)
class PeakTruth:
    """What is to be measured of one peak.  Times in minutes, height in mAU, area in mAU·min."""

    retention_time_min: float
    peak_area: float
    peak_height: float
    width_half_min: float
    width_10_min: float
    width_05_min: float
    width_tangent_min: float
    mean_min: float
    variance_min2: float
    skew: float
    symmetry_factor: float
    asymmetry_10: float
    plate_number_half_height: float
    plate_number_tangent: float
    plate_number_moments: float
    plate_number_emg: float

    def as_dict(self) -> dict[str, float]:
        """Return the measures by name."""
        return {key: float(value) for key, value in asdict(self).items()}


def emg(x: Array, tail: float) -> Array:
    """Unit-area Gaussian (standard deviation 1, centre 0) convolved with an exponential of constant tail."""
    if tail < 1e-3:
        return np.asarray(np.exp(-0.5 * (x - tail) ** 2) / math.sqrt(2 * math.pi), dtype=np.float64)
    z = (1.0 / tail - x) / math.sqrt(2.0)
    out = np.empty_like(x)
    front = z >= 0
    out[front] = np.exp(-0.5 * x[front] ** 2) * erfcx(z[front])
    back = ~front
    out[back] = np.exp(0.5 / tail**2 - x[back] / tail) * erfc(z[back])
    return out / (2.0 * tail)


def _hvl(x: Array, overload: float) -> Array:
    """Haarhoff and Van der Linde's function up to a constant factor."""
    if abs(overload) < 1e-6:
        return np.asarray(np.exp(-0.5 * x**2), dtype=np.float64)
    bell = np.exp(-0.5 * x**2)
    return np.asarray(
        bell / (1.0 / math.expm1(overload) + 0.5 * (1 + erf(x / math.sqrt(2.0)))), dtype=np.float64
    )


def _two_sites(x: Array, form: Form) -> Array:
    """Invert the characteristic function of the two-site peak; x must be an even grid of step STEP."""
    n = 1 << math.ceil(math.log2(x.size * 2))
    omega = 2 * math.pi * np.fft.rfftfreq(n, STEP)
    phi = np.exp(-0.5 * omega**2 + form.share * (1 / (1 + 1j * omega * form.slow) - 1))
    phi = phi / (1 + 1j * omega * form.tail) * np.exp(1j * omega * x[0])
    return np.asarray(np.fft.irfft(phi, n)[: x.size] / STEP, dtype=np.float64)


@dataclass(frozen=True)
class Unit:
    """A shape on its fine grid, unit area, and its measures in units of the core's standard deviation."""

    form: Form
    first: float
    last: float
    spline: CubicSpline
    apex: float
    height: float
    left: dict[float, float]
    right: dict[float, float]
    tangent: float
    mean: float
    variance: float
    skew: float


def _cross(spline: CubicSpline, x: Array, y: Array, level: float, rising: bool) -> float:
    """Return where the shape passes the level on its rising or its falling side."""
    top = int(np.argmax(y))
    if rising:
        i = int(np.flatnonzero(y[: top + 1] < level)[-1])
    else:
        i = top + int(np.flatnonzero(y[top:] < level)[0]) - 1
    return float(brentq(lambda u: float(spline(u)) - level, x[i], x[i + 1], xtol=1e-13))


@lru_cache(maxsize=4096)
def unit(form: Form) -> Unit:
    """Work out a shape's measures on a fine grid."""
    reach = 34.0 * max(form.tail if form.kind != "hvl" else 0.0, form.slow)
    extent = 12.0 + reach if form.kind != "two_sites" else 12.0 + reach + 6 * form.share * form.slow
    start = -12.0
    x = start + STEP * np.arange(int((extent - start) / STEP) + 1, dtype=np.float64)
    if form.kind == "gauss":
        y = emg(x, 0.0)
    elif form.kind == "emg":
        y = emg(x, form.tail)
    elif form.kind == "two_tails":
        y = (1 - form.share) * emg(x, form.tail) + form.share * emg(x, form.slow)
    elif form.kind == "two_sites":
        y = np.maximum(_two_sites(x, form), 0.0)
    elif form.kind == "hvl":
        y = _hvl(x, form.tail)
    else:
        raise ValueError(f"no peak shape is called {form.kind!r}")
    y = y / (y.sum() * STEP)
    spline = CubicSpline(x, y)
    slope = spline.derivative()
    top = int(np.argmax(y))
    apex = float(brentq(lambda u: float(slope(u)), x[top - 1], x[top + 1], xtol=1e-13))
    height = float(spline(apex))
    left = {f: _cross(spline, x, y, f * height, True) for f in (0.5, 0.1, 0.05)}
    right = {f: _cross(spline, x, y, f * height, False) for f in (0.5, 0.1, 0.05)}
    # the foot of a tangent, t - y/y', does not move to first order about the inflection
    steep = slope(x)
    up, down = float(x[int(np.argmax(steep))]), float(x[int(np.argmin(steep))])
    feet = [u - float(spline(u)) / float(slope(u)) for u in (up, down)]
    mean = float((x * y).sum() * STEP)
    variance = float(((x - mean) ** 2 * y).sum() * STEP)
    skew = float(((x - mean) ** 3 * y).sum() * STEP) / variance**1.5
    return Unit(
        form,
        float(x[0]),
        float(x[-1]),
        spline,
        apex,
        height,
        left,
        right,
        feet[1] - feet[0],
        mean,
        variance,
        skew,
    )


@dataclass(frozen=True)
class Peak:
    """One peak: its shape, where its apex lies, how wide it is at half height, and its area."""

    name: str
    form: Form
    apex_min: float
    width_half_min: float
    area: float

    @property
    def scale(self) -> float:
        """Minutes to one standard deviation of the Gaussian core."""
        shape = unit(self.form)
        return self.width_half_min / (shape.right[0.5] - shape.left[0.5])

    def signal(self, time_min: Array) -> Array:
        """Return the peak's signal at the given times."""
        shape = unit(self.form)
        u = (time_min - self.apex_min) / self.scale + shape.apex
        inside = (u > shape.first) & (u < shape.last)
        out = np.zeros_like(time_min)
        out[inside] = shape.spline(u[inside])
        return out * (self.area / self.scale)

    def emg_parameters(self) -> dict[str, float] | None:
        """Return centre, sigma, time constant and area of an exponentially modified Gaussian."""
        if self.form.kind != "emg":
            return None
        return {
            "emg_center_min": self.apex_min - unit(self.form).apex * self.scale,
            "emg_sigma_min": self.scale,
            "emg_tau_min": self.form.tail * self.scale,
            "emg_area": self.area,
        }

    def truth(self) -> PeakTruth:
        """Return the peak's exact measures."""
        shape, s, t = unit(self.form), self.scale, self.apex_min
        width = {f: (shape.right[f] - shape.left[f]) * s for f in shape.left}
        mean = t + (shape.mean - shape.apex) * s
        ba = (shape.right[0.1] - shape.apex) / (shape.apex - shape.left[0.1])
        # Foley and Dorsey's equation holds for B/A of at least 1: a fronting peak is read in the mirror
        skewed = max(ba, 1 / ba)
        return PeakTruth(
            retention_time_min=t,
            peak_area=self.area,
            peak_height=self.area / s * shape.height,
            width_half_min=width[0.5],
            width_10_min=width[0.1],
            width_05_min=width[0.05],
            width_tangent_min=shape.tangent * s,
            mean_min=mean,
            variance_min2=shape.variance * s**2,
            skew=shape.skew,
            symmetry_factor=width[0.05] / (2 * (shape.apex - shape.left[0.05]) * s),
            asymmetry_10=ba,
            plate_number_half_height=5.54 * (t / width[0.5]) ** 2,
            plate_number_tangent=16 * (t / (shape.tangent * s)) ** 2,
            plate_number_moments=mean**2 / (shape.variance * s**2),
            plate_number_emg=41.7 * (t / width[0.1]) ** 2 / (skewed + 1.25),
        )


def of_plates(name: str, form: Form, apex_min: float, plates: float, height: float) -> Peak:
    """Return the peak with so many plates (half height) and such a height."""
    width = apex_min * math.sqrt(5.54 / plates)
    one = Peak(name, form, apex_min, width, 1.0)
    return Peak(name, form, apex_min, width, height / one.truth().peak_height)


def resolution(first: Peak, second: Peak) -> float:
    """Return the resolution of two peaks by their half-height widths."""
    return 1.18 * (second.apex_min - first.apex_min) / (first.width_half_min + second.width_half_min)


def beside(anchor: Peak, name: str, form: Form, plates: float, height: float, apart: float) -> Peak:
    """Return a peak at the wanted resolution from the anchor: after it, or before it where negative."""
    apex = anchor.apex_min
    for _ in range(60):
        width = apex * math.sqrt(5.54 / plates)
        apex = anchor.apex_min + apart * (anchor.width_half_min + width) / 1.18
    return of_plates(name, form, apex, plates, height)
