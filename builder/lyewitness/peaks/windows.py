"""The signal of one named peak alone: baseline and neighbours taken off.

In: a survey and the components of one marker. Out: a `PeakWindow`, thinned where the samples are dense.
"""

import numpy as np

from lyewitness.peaks.local_fits import LocalFit
from lyewitness.peaks.padding import PeakWindow
from lyewitness.peaks.sampling import binned
from lyewitness.peaks.surveying import Survey

POINTS_PER_WIDTH = 30.0
"""More samples than this across half height are averaged in pairs, threes, …"""


def window_of(survey: Survey, local: LocalFit) -> PeakWindow:
    """Return the window of a peak, with its baseline and every other curve of its trace taken off."""
    own, time = local.own, survey.trace.time_min
    start, end = min([c.start_min for c in own]), max([c.end_min for c in own])
    first = max(int(time.searchsorted(start)) - 2, 0)
    last = min(int(time.searchsorted(end)) + 2, len(time))
    step = float(time[last - 1] - time[first]) / max(last - 1 - first, 1)
    size = max(1, int(min(c.width_min for c in own) / step / POINTS_PER_WIDTH))
    stretch, signal = binned(time[first:last], size), binned(survey.trace.signal[first:last], size)
    net = signal - local.baseline.at(stretch)
    if local.beside:
        net -= survey.curve(stretch, local.beside)
    tallest = max(own, key=lambda c: c.height)
    return PeakWindow(
        time=stretch,
        net=net,
        curves=np.array([[c.area, c.center_min, c.sigma_min, c.tau_min] for c in own]),
        apex=tallest.apex_min,
        height=tallest.height,
        bin_variance=(size**2 - 1) / 12.0 * step**2,
        noise=survey.noise_sd / float(np.sqrt(size)),
        samples_per_point=size,
    )
