"""Noise beside a peak, as the harmonised chapter wants it: the range in a window without peaks.

In: a surveyed trace, a peak and the window's width. Out: the range h of S/N = 2H/h.
"""

import numpy as np

from lyewitness.peaks.surveying import Survey

LEAST_POINTS = 8


def noise_range(survey: Survey, apex_min: float, width_min: float) -> float | None:
    """Return max − min of the signal around its baseline in the nearest peak-free stretch of that width.

    No blank is at hand, so the window lies beside the peak: the `width_min` nearest to the apex that no
    peak touches, taken together from both sides where one is too short. None where there are too few points.
    """
    time = survey.trace.time_min
    reach = max(4.0 * width_min, 20 * (time[-1] - time[0]) / len(time))
    while True:
        first, last = np.searchsorted(time, [apex_min - reach, apex_min + reach])
        free = np.ones(last - first, dtype=np.bool_)
        stretch = time[first:last]
        for component in survey.components:
            free &= (stretch < component.start_min) | (stretch > component.end_min)
        step = (stretch[-1] - stretch[0]) / max(len(stretch) - 1, 1)
        wanted = max(int(width_min / step), LEAST_POINTS)
        if free.sum() >= wanted or (first == 0 and last == len(time)):
            break
        reach *= 2.0
    places = np.flatnonzero(free)
    if len(places) < LEAST_POINTS:
        return None
    if len(places) > wanted:
        nearest = np.argpartition(np.abs(stretch[places] - apex_min), wanted - 1)[:wanted]
        places = places[nearest]
    rest = survey.trace.signal[first:last][places] - survey.smooth.at(stretch[places])
    return float(np.ptp(rest))
