"""Narrow peaks of a signal, which the survey of a column's peaks passes over.

In: a signal, how far a peak must rise, how wide it may be. Out: where they stand, how far they rise, how wide
they are.
"""

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray


def narrow_peaks(
    signal: FloatArray, rise: float, width: tuple[float, float]
) -> tuple[NDArray[np.intp], FloatArray, FloatArray]:
    """Return places, prominences and half-height widths (points) of the peaks that are within `width`."""
    places, found = scipy.signal.find_peaks(signal, prominence=rise, width=width)
    return places, found["prominences"], found["widths"]
