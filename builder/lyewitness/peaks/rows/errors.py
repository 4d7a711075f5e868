"""Standard errors of a peak's metrics: noise, background, neighbours and a shape that no curve has.

In: what the fit makes of noise, and a `LocalFit` with what it says of its own doubts. Out: arrays of standard
errors, one value a peak.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from lyewitness.peaks.rows.windows import Peak
from lyewitness.words.arrays import FloatArray

WHITE = 0.7
"""The noise of a window is the larger one of two estimates: its variance is that much smaller."""
SHAPE = 0.2
"""Relative error ÷ what the fit leaves beyond noise, in heights: a tenth for fronting and overloaded peaks, a
half for two sites."""


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """By how much one metric suffers from what may be wrong with a peak. All but `reading` relative.

    By maximum likelihood over 3000 simulated peaks of eighty situations: shapes, backgrounds, noises,
    meetings.
    """

    reading: float = 1.2
    """Standard error where the metric is read off the signal ÷ that of the fitted curve."""
    curvature: float = 0.0012
    """What local polynomials read off a noiseless peak of 10 … 40 samples (95th percentile / 2)."""
    moved: float = 0.18
    """÷ the share of the area that a baseline of its own has taken or given: what a peak has beyond an EMG, a
    long tail above all, such a baseline takes for background."""
    shared: float = 0.14
    """÷ the share of the area that lies under neighbours: whose it is the shape of the curves decides, and no
    column makes exactly such curves."""
    background: float = 0.8
    """÷ what the baseline may be off, in heights, where too little of the trace is free to show it."""
    shape: float = SHAPE


SENSITIVITY: Mapping[str, Sensitivity] = {
    # A tenth of a width, in times that are some forty widths long.
    "retention_time_min": Sensitivity(1.2, 2e-5, 0.002, 0.002, 0.002, 0.05 * SHAPE),
    "peak_area": Sensitivity(curvature=2e-4, moved=0.66, shared=0.7),
    "peak_height": Sensitivity(curvature=4e-4, shared=0.02),
    "width_half_min": Sensitivity(moved=0.1),
    "plate_number_tangent": Sensitivity(reading=1.5),
    "plate_number_emg": Sensitivity(reading=1.5, moved=0.9, shared=3.0),
    "plate_number_moments": Sensitivity(reading=3.0, moved=1.6, shared=5.0, background=4.0),
    "symmetry_factor": Sensitivity(reading=1.5, curvature=6e-4, moved=0.6, shared=1.4),
    "asymmetry_10": Sensitivity(reading=1.5, moved=0.6, shared=1.4),
}
"""By metric; the others have what `Sensitivity` has by default."""


@dataclass(frozen=True, eq=False, slots=True)
class Doubts:
    """What may be wrong with each peak, (p,) shares of its area or height."""

    moved: FloatArray
    shared: FloatArray
    background: FloatArray
    shape: FloatArray

    @classmethod
    def of(cls, peaks: Sequence[Peak]) -> Self:
        """Return the doubts about `peaks`."""
        told = [
            (
                0.01 * peak.local.baseline_shift_percent,
                peak.local.shared_share,
                # Where the trace itself shows what its background does to such a peak, that counts.
                0.0 if peak.local.wander[0, 0] > 0.0 else peak.local.baseline_share,
                peak.local.residual_share,
            )
            for peak in peaks
        ]
        return cls(*np.array(told).T)


def noise_error(slope: FloatArray, covariance: FloatArray, wander: FloatArray) -> FloatArray:
    """Return (p,) the standard error of a metric whose slopes by the parameters are `slope` (p, 4).

    `covariance` (p, 4, 4) is for white noise, `wander` is what the trace itself does to the parameters where
    no peak stands; the larger one counts.
    """
    white, seen = (((slope[:, None, :] @ one)[:, 0] * slope).sum(axis=1) for one in (covariance, wander))
    return np.asarray(np.sqrt(np.maximum(np.maximum(WHITE * white, seen), 0.0)))


def spread(
    name: str, value: FloatArray, error: FloatArray, reading: FloatArray, doubts: Doubts
) -> FloatArray:
    """Return (p,) the standard error of a metric: of the fit, the reading, and of what neither knows.

    `value` is the metric, `error` that of the fitted curve by noise alone, `reading` (0 … 1) how much of the
    value was read off the signal.
    """
    own = SENSITIVITY.get(name, Sensitivity())
    read = (own.reading * error) ** 2 + (own.curvature * value) ** 2
    unknown = (own.moved * doubts.moved) ** 2 + (own.shared * doubts.shared) ** 2
    unknown += (own.background * doubts.background) ** 2 + (own.shape * doubts.shape) ** 2
    return np.sqrt(reading**2 * read + ((1.0 - reading) * error) ** 2 + unknown * value**2)
