"""Whether the detector's end has cut a peak.

In: a `Peak` and its height. Out: yes or no. A rounded top, which keeps one value for a while, is not cut.
"""

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks import formulas
from lyewitness.peaks.rows.peak import Peak
from lyewitness.words.arrays import FloatArray

SATURATION_SHARE = 0.01
LONGER_THAN_ROUNDED = 1.5
"""A run of highest values this many times as long as rounding makes it is a cut."""


def is_saturated(peak: Peak, height: float) -> bool:
    """Tell whether a top is rounded as no column rounds one, or cut flat."""
    return peak.local.is_flat or _is_cut(peak, height)


def _is_cut(peak: Peak, height: float) -> bool:
    """Tell whether the top is cut flat: its highest value runs on for longer than rounding explains.

    The fit, which leaves a run of highest values out, must go above it, too: a spike is not cut.
    """
    trace = peak.survey.trace
    ends = [min(c.start_min for c in peak.own), max(c.end_min for c in peak.own)]
    first, last = trace.time_min.searchsorted(ends).tolist()
    signal = trace.signal[first:last]
    if len(signal) < 4:
        return False
    highest = float(signal.max())
    top = signal == highest
    if np.count_nonzero(top) < 3:
        return False
    tallest = max(peak.own, key=lambda c: c.height)
    above = tallest.height + float(peak.local.baseline.at(np.array([tallest.apex_min]))[0]) - highest
    start, end = longest_run(top)
    lasts = float(trace.time_min[first + end - 1] - trace.time_min[first + start])
    explained = formulas.rounded_top(tallest.height, tallest.width_min, _step_of(signal))
    is_long = end - start >= 3 and lasts > LONGER_THAN_ROUNDED * explained
    return is_long and above > max(SATURATION_SHARE * height, 3.0 * peak.survey.noise_sd)


def longest_run(values: NDArray[np.bool_]) -> tuple[int, int]:
    """Return where the longest run of True begins and where it is over; (0, 0) where there is none."""
    edges = np.flatnonzero(np.diff(values, prepend=False, append=False)).reshape(-1, 2)
    if not len(edges):
        return 0, 0
    start, end = edges[np.argmax(edges[:, 1] - edges[:, 0])].tolist()
    return start, end


def _step_of(signal: FloatArray) -> float:
    """Return the step to which a signal is rounded: the smallest difference between any two of its values."""
    values = np.unique(signal)
    apart = np.diff(values)
    # Decimal fractions are not exact as doubles: what differs by less than this is one and the same value.
    apart = apart[apart > 1e-9 * max(abs(float(values[0])), abs(float(values[-1])))]
    return float(apart.min()) if len(apart) else 0.0
