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
    time = survey.trace.time_min
    step = (time[-1] - time[0]) / (len(time) - 1)
    count = min(max(int(width_min / step), LEAST_POINTS), len(survey.free))
    if count < LEAST_POINTS:
        return None
    place = int(np.searchsorted(time[survey.free], apex_min))
    first, last = max(place - count, 0), min(place, len(survey.free) - count)
    # Of all runs of so many free samples, the one whose two ends are equally far from the apex.
    starts = survey.free[first : last + 1]
    ends = survey.free[first + count - 1 : last + count]
    off = np.abs(time[starts] + time[ends] - 2.0 * apex_min)
    window = survey.free[first + int(off.argmin()) :][:count]
    return float(np.ptp(survey.trace.signal[window] - survey.smooth.at(time[window])))
