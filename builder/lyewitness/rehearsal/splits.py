"""A peak with two tops, as a void at the column inlet makes them.

In: a true peak and the distance of its two halves. Out: the peak with the values of the sum, taken from
the exact sum on a fine grid.
"""

from dataclasses import replace

import numpy as np

from lyewitness.rehearsal.records import TruePeak
from lyewitness.rehearsal.signals import emg
from lyewitness.words.arrays import FloatArray

FIRST_SHARE = 0.6
GRID = 40_001


def split_peak(peak: TruePeak, distance_sigma: float) -> TruePeak:
    """Return `peak` as two halves, 60 and 40 % of its area, the second later by `distance_sigma` σ."""
    later = distance_sigma * peak.sigma_min
    reach = 9 * peak.sigma_min
    time = np.linspace(peak.center_min - reach, peak.center_min + later + reach + 12 * peak.tau_min, GRID)
    signal = FIRST_SHARE * emg(time, peak.area, peak.center_min, peak.sigma_min, peak.tau_min)
    signal += (1 - FIRST_SHARE) * emg(time, peak.area, peak.center_min + later, peak.sigma_min, peak.tau_min)
    top = int(np.argmax(signal))
    apex, height = float(time[top]), float(signal[top])
    half, ten, five = (_ends(time, signal, share * height) for share in (0.5, 0.1, 0.05))
    mean = peak.center_min + peak.tau_min + (1 - FIRST_SHARE) * later
    variance = peak.sigma_min**2 + peak.tau_min**2 + FIRST_SHARE * (1 - FIRST_SHARE) * later**2
    asymmetry = (ten[1] - apex) / (apex - ten[0])
    tangent = _tangent_width(time, signal)
    return replace(
        peak,
        retention_time_min=apex,
        retention_factor=apex / peak.hold_up_time_min - 1,
        height=height,
        width_half_min=half[1] - half[0],
        plate_number_half_height=5.54 * (apex / (half[1] - half[0])) ** 2,
        plate_number_tangent=16 * (apex / tangent) ** 2,
        plate_number_moments=mean**2 / variance,
        plate_number_emg=41.7 * (apex / (ten[1] - ten[0])) ** 2 / (asymmetry + 1.25),
        symmetry_factor=(five[1] - five[0]) / (2 * (apex - five[0])),
        asymmetry_10=asymmetry,
        split=True,
        split_by_min=later,
        split_share=FIRST_SHARE,
    )


def _ends(time: FloatArray, signal: FloatArray, level: float) -> tuple[float, float]:
    """Return the outermost times at which the signal passes `level`, interpolated."""
    above = np.flatnonzero(signal >= level)
    first, last = int(above[0]), int(above[-1])
    front = np.interp(level, signal[first - 1 : first + 1], time[first - 1 : first + 1])
    rear = np.interp(-level, -signal[last : last + 2], time[last : last + 2])
    return float(front), float(rear)


def _tangent_width(time: FloatArray, signal: FloatArray) -> float:
    """Return the base width between the steepest tangents of the sum's front and rear."""
    slope = np.gradient(signal, time)
    front, rear = int(np.argmax(slope)), int(np.argmin(slope))
    feet = [time[i] - signal[i] / slope[i] for i in (front, rear)]
    return float(feet[1] - feet[0])
