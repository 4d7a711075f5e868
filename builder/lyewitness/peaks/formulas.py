"""The formulas of peak metrics, as pure functions of widths, times and heights, and where they are applied.

In: numbers or arrays in one unit of time and one of signal. Out: the metric. 'Harmonised chapter' is the
harmonised general chapter on chromatographic separation techniques (USP <621>, Ph. Eur. 2.2.46, 2022).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, sqrt
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray

Number = TypeVar("Number", float, NDArray[np.float64])
"""One value, or an array of them."""


def plate_number_half_height(retention: Number, width_half: Number) -> Number:
    """Return N = 5.54 (tR/W0.5)² (harmonised chapter; a Gaussian would want 5.545177)."""
    return 5.54 * (retention / width_half) ** 2


def plate_number_tangent(retention: Number, width_tangent: Number) -> Number:
    """Return N = 16 (tR/W)², W between the inflection tangents on the baseline (common practice)."""
    return 16.0 * (retention / width_tangent) ** 2


def plate_number_moments(mean: Number, variance: Number) -> Number:
    """Return N = M1²/M2 with mean M1 and central second moment M2 (definition)."""
    return mean**2 / variance


def plate_number_emg(retention: Number, width_10: Number, asymmetry: Number) -> Number:
    """Return N = 41.7 (tR/W0.1)²/(B/A + 1.25), with A/B for a fronting peak.

    Foley and Dorsey, Anal. Chem. 1983, 55, 730 (from memory). Against exact curves the error is
    −1.3 … +0.7 % for B/A up to 2.76 and down to −9.2 % at 4.
    """
    steeper: Number = np.maximum(asymmetry, 1.0 / asymmetry)
    return 41.7 * (retention / width_10) ** 2 / (steeper + 1.25)


def emg_sigma(width_10: Number, asymmetry: Number) -> Number:
    """Return σ = W0.1/(3.27 B/A + 1.2) (Foley and Dorsey 1983, from memory)."""
    return width_10 / (3.27 * asymmetry + 1.2)


def emg_variance(width_10: Number, asymmetry: Number) -> Number:
    """Return M2 = W0.1²/(1.764 (B/A)² − 11.15 B/A + 28) (Foley and Dorsey 1983, from memory)."""
    return width_10**2 / (1.764 * asymmetry**2 - 11.15 * asymmetry + 28.0)


def symmetry_factor(width_5: Number, front_5: Number) -> Number:
    """Return As = W0.05/(2d), d from the front at 5 % of the height to the apex (harmonised chapter)."""
    return width_5 / (2.0 * front_5)


def asymmetry_10(front_10: Number, back_10: Number) -> Number:
    """Return B/A at 10 % of the height: back part over front part (common practice)."""
    return back_10 / front_10


def resolution(
    retention: Number, width_half: Number, retention_before: Number, width_half_before: Number
) -> Number:
    """Return Rs = 1.18 (tR2 − tR1)/(W0.5,1 + W0.5,2) (harmonised chapter)."""
    return 1.18 * (retention - retention_before) / (width_half + width_half_before)


def peak_to_valley(height: Number, valley: Number) -> Number:
    """Return Hp/Hv, heights above the baseline of the minor peak and of the valley (harmonised chapter)."""
    return height / valley


def signal_to_noise(height: Number, noise_range: Number) -> Number:
    """Return S/N = 2H/h, h the range of the noise around its baseline (harmonised chapter)."""
    return 2.0 * height / noise_range


def retention_factor(retention: Number, hold_up: Number) -> Number:
    """Return k = (tR − t0)/t0 (harmonised chapter)."""
    return (retention - hold_up) / hold_up


def retention_factor_error(
    retention: float, hold_up: float, retention_error: float, hold_up_error: float
) -> float:
    """Return the standard error of k = tR/t0 − 1 (first order): √(e(tR)² + (tR/t0)² e(t0)²)/t0."""
    return sqrt(retention_error**2 + (retention / hold_up * hold_up_error) ** 2) / hold_up


def resolution_error(value: float, apart: float, widths: float, errors: Sequence[float]) -> float:
    """Return the standard error of Rs (first order); `errors` of time, width, and those of the one before."""
    time, width, time_before, width_before = errors
    return value * sqrt((time**2 + time_before**2) / apart**2 + (width**2 + width_before**2) / widths**2)


def reduced_plate_height(plates: Number, length_mm: Number, particle_um: Number) -> Number:
    """Return h = L/(N dp): plate height over particle size (definition)."""
    return length_mm * 1000.0 / (plates * particle_um)


def rounded_top(height: float, width_half: float, step: float) -> float:
    """Return how long the top of a Gaussian, rounded to `step`, can keep one value, in the unit of width.

    2 √(2q/κ) with the curvature κ = 8 ln 2 H/W0.5² at the top (second derivative of the Gaussian).
    """
    return width_half * sqrt(step / (log(2.0) * height)) if height > 0.0 else 0.0


@dataclass(frozen=True, eq=False, slots=True)
class Outlines:
    """Measured shapes, each (p,); NaN where a level is not crossed. Times in minutes."""

    apex: FloatArray
    height: FloatArray
    left: FloatArray
    """(p, 3) front crossings at `LEVELS` …"""
    right: FloatArray
    """… and those of the back."""
    tangent_left: FloatArray
    """Where the front inflection tangent meets the baseline …"""
    tangent_right: FloatArray
    """… and the back one."""
    area: FloatArray
    mean: FloatArray
    variance: FloatArray
    points_half: FloatArray
    """Samples above half height."""


def shape_metrics(outlines: Outlines, lengths: FloatArray, particles: FloatArray) -> dict[str, FloatArray]:
    """Return what outlines alone tell, by metric (p,), whether they were read off the signal or off curves.

    Of columns `lengths` mm long, packed with `particles` µm. A new metric of a single peak is a line here.
    """
    apex = outlines.apex
    (l05, l10, l50), (r05, r10, r50) = outlines.left.T, outlines.right.T
    width = r50 - l50
    with np.errstate(divide="ignore", invalid="ignore"):
        tailing = asymmetry_10(apex - l10, r10 - apex)
        plates = plate_number_half_height(apex, width)
        tangents = outlines.tangent_right - outlines.tangent_left
        return {
            "retention_time_min": apex,
            "plate_number_half_height": plates,
            "plate_number_tangent": plate_number_tangent(apex, tangents),
            "plate_number_moments": plate_number_moments(outlines.mean, outlines.variance),
            "plate_number_emg": plate_number_emg(apex, r10 - l10, tailing),
            "reduced_plate_height": reduced_plate_height(plates, lengths, particles),
            "symmetry_factor": symmetry_factor(r05 - l05, apex - l05),
            "asymmetry_10": tailing,
            "peak_area": outlines.area,
            "peak_height": outlines.height,
            "width_half_min": width,
        }
