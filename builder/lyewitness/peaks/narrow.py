"""Narrow peaks of a signal, which the survey of a column's peaks passes over.

In: a signal, how far a peak must rise, how wide it may be. Out: where they stand, how far they rise, how wide
they are.
"""

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.maxima import half_widths, local_maxima, prominences
from lyewitness.words.arrays import FloatArray

NEARLY = 0.99
"""Of a rise: rounding must not leave out what rises just so far."""


def narrow_peaks(
    signal: FloatArray, rise: float, width: tuple[float, float]
) -> tuple[NDArray[np.intp], FloatArray, FloatArray]:
    """Return places, prominences and half-height widths (points) of the peaks that are within `width`."""
    # What rises so far stands so high above the lowest point; of all else how far it rises is not asked.
    least = float(signal.min()) + NEARLY * rise
    places = local_maxima(signal)
    places = places[signal[places] >= least]
    risen, left, right = prominences(signal, places)
    kept = risen >= rise
    places, risen = places[kept], risen[kept]
    wide, _, _ = half_widths(signal, places, (risen, left[kept], right[kept]))
    kept = (wide >= width[0]) & (wide <= width[1])
    return places[kept], risen[kept], wide[kept]
