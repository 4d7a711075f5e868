"""Noise beside a peak, as the harmonised chapter wants it: the range in a window without peaks.

In: a surveyed trace, a peak's apex and the window's width. Out: the range h of S/N = 2H/h.
"""

import numpy as np

from lyewitness.peaks.surveying import Survey

LEAST_POINTS = 8


def noise_range(survey: Survey, apex_min: float, width_min: float) -> float | None:
    """Return max − min of the signal around its baseline in the nearest peak-free samples.

    No blank is at hand, so the window lies beside the peak: as many samples as `width_min` holds, those
    nearest to the apex that no peak touches, from both sides. Fewer where the trace has no more; None below
    eight.
    """
    time, free = survey.trace.time_min, survey.free_time
    step = (time[-1] - time[0]) / (len(time) - 1)
    count = min(max(int(width_min / step), LEAST_POINTS), len(free))
    if count < LEAST_POINTS:
        return None
    place = int(free.searchsorted(apex_min))
    first, last = max(place - count, 0), min(place, len(free) - count)
    # Of all runs of so many free samples, the one whose two ends are equally far from the apex.
    off = np.abs(free[first : last + 1] + free[first + count - 1 : last + count] - 2.0 * apex_min)
    start = first + int(off.argmin())
    window = slice(start, start + count)
    rest = survey.free_signal[window] - survey.smooth.at(free[window])
    return float(rest.max() - rest.min())
