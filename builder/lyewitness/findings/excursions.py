"""What a detector shows that came through no column: spikes of a point or two, and bubbles.

In: traces, and how narrow a peak of the column can be. Out: the times at which they stand.

What comes through a column is as wide as the column makes it, and stands above the baseline. A bubble in the
flow cell does neither: its edges are as steep as the flow is fast, and the light that it turns away or lets
through makes the signal fall as often as rise.
"""

from collections.abc import Sequence
from functools import lru_cache, reduce

import numpy as np
import scipy

from lyewitness.peaks.narrow import narrow_peaks
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray

NOISES = 30.0
"""Height of a spike or depth of a dip in standard deviations of the noise."""
FEWEST_POINTS = 50
"""Points of a trace without which nothing is told of its neighbours."""
A_SPIKE = 2.5
"""Points at half height up to which it is a spike: electrical, not of the flow."""
HALF_AS_WIDE = 0.5
"""Of the narrowest relative width of a marker: their plates differ by less than 4 times."""
BY_ITSELF = 0.5
"""Of its height above the baseline by which a peak must rise out of what surrounds it: the tip that a split
peak shows is narrow, and rises by less; what rises by more shows two thirds of its true width at least."""
BASES = 4
"""Widths of the widest peak over which a baseline is looked for: it stands free once on that way."""
NOISIER = 10.0
"""Times the noise of the neighbours that no ageing makes: a lamp that loses half of its light doubles it, and
a bottle that was not degassed trebles it."""
NEAR_IN_TIME = 0.1
"""Relative difference of times within which a neighbour may show the same: peaks move, and what the sample's
solvent does moves with them."""


def spikes_of(trace: Trace, height: float) -> list[float]:
    """Return the times (minutes) of points that stand alone above or below their neighbours by `height`.

    A spike is one or two points wide; a peak is at least eight, so that it leaves its neighbours near it.
    """
    values = trace.signal
    if values.size < FEWEST_POINTS:
        return []
    # Of the seven points around each, the outer four.
    rest = (values[:-6], values[1:-5], values[5:-1], values[6:])
    highest, lowest = reduce(np.maximum, rest), reduce(np.minimum, rest)
    above, below = values[3:-3] - highest, lowest - values[3:-3]
    least = max(height, NOISES * _noise(trace))
    # What rises out of a steep flank is a narrow peak: the outer points must lie close together themselves.
    alone = (np.maximum(above, below) > least) & (highest - lowest < 0.3 * least)
    return [float(trace.time_min[place + 3]) for place in np.flatnonzero(alone)]


# One trace is asked for spikes, narrow peaks, dips and its noise, one after the other.
@lru_cache(maxsize=1)
def _noise(trace: Trace) -> float:
    """Return the standard deviation of the noise from point to point, signal unit."""
    return 1.4826 * float(np.median(np.abs(np.diff(trace.signal)))) / 2**0.5


def noisier(trace: Trace, near: Sequence[Trace], felt: float) -> float | None:
    """Return how many times as noisy as its neighbours a trace is; None where that is not far beyond them.

    `felt`: standard deviation, in signal units, below which no noise matters.
    """
    own = [one for one in (trace, *near) if one.signal.size >= FEWEST_POINTS]
    if len(own) <= len(near) or (noise := _seen_noise(own[0])) <= felt:
        return None
    usual = float(np.median([_seen_noise(one) for one in own[1:]])) if near else 0.0
    return noise / usual if usual > 0 and noise > NOISIER * usual else None


def _seen_noise(trace: Trace) -> float:
    """Return the noise of a trace, as much at least as its numbers can show."""
    return max(_noise(trace), _step_of(trace.signal))


def _step_of(signal: FloatArray) -> float:
    """Return the least difference that the numbers of a signal can show; noise below it is not seen."""
    steps = np.abs(np.diff(signal))
    return float(np.min(steps[steps > 0], initial=float(np.ptp(signal)))) / 12**0.5


def spacing_min(trace: Trace) -> float:
    """Return the usual time from point to point, minutes."""
    return float(np.median(np.diff(trace.time_min)))


def narrow_of(trace: Trace, near: Sequence[Trace], height: float, narrowest: float) -> list[float]:
    """Return the times (minutes) of peaks too narrow for the column, where no neighbour has one.

    `height` in signal units; `narrowest`: half-height width ÷ retention time of the narrowest marker. They
    are sought on the trace itself: what finds the column's peaks passes over what is narrower.
    """
    if height <= 0 or narrowest <= 0:
        return []
    found = _narrow(trace, height, narrowest)
    usual = [time for other in near for time in _narrow(other, height, narrowest)] if found else []
    return [time for time in found if not any(abs(other - time) <= NEAR_IN_TIME * time for other in usual)]


def _narrow(trace: Trace, height: float, narrowest: float) -> list[float]:
    """Return the times of the peaks of a trace that are wider than spikes and too narrow for the column."""
    signal = trace.signal
    if signal.size < FEWEST_POINTS:
        return []
    spacing = spacing_min(trace)
    widest = HALF_AS_WIDE * narrowest * trace.end_min / spacing
    least = max(height, NOISES * _noise(trace))
    places, rises, widths = narrow_peaks(signal, least, (A_SPIKE, max(A_SPIKE, widest)))
    if not places.size:
        return []
    base = scipy.ndimage.grey_opening(signal, size=(max(5, round(BASES * widest / HALF_AS_WIDE)),))
    least_wide = HALF_AS_WIDE * narrowest * trace.time_min[places] / spacing
    alone = rises > BY_ITSELF * (signal - base)[places]
    return [float(time) for time in trace.time_min[places[alone & (widths < least_wide)]]]


def dips_of(trace: Trace, near: Sequence[Trace], depth: float, narrowest: float) -> list[float]:
    """Return the times (minutes) at which the signal falls below its baseline, as no neighbour's does.

    `depth` in signal units; `narrowest`: half-height width ÷ retention time of the narrowest marker. A dip is
    no wider than a peak at the end of the trace would be, else it is a baseline that wanders; and it reaches
    below what the neighbours show about that time, else it is a valley between peaks or one of the solvent.
    """
    signal = trace.signal
    if depth <= 0 or narrowest <= 0 or signal.size < FEWEST_POINTS:
        return []
    least = max(depth, NOISES * _noise(trace))
    widest = round(narrowest * trace.end_min / spacing_min(trace))
    filled = np.asarray(scipy.ndimage.grey_closing(signal, size=(max(5, widest),)), dtype=np.float64)
    parts, count = scipy.ndimage.label(filled - signal > least)
    found = []
    for part in range(1, count + 1):
        places = np.flatnonzero(parts == part)
        lowest = int(places[np.argmin(signal[places])])
        time, low = float(trace.time_min[lowest]), _above_usual(signal)[lowest]
        if len(places) > A_SPIKE and all(low < _lowest_near(other, time) - least for other in near):
            found.append(time)
    return found


def _lowest_near(trace: Trace, time_min: float) -> float:
    """Return how low a trace stands about a time, above its usual; infinite where it does not reach there."""
    about = np.abs(trace.time_min - time_min) <= max(NEAR_IN_TIME * time_min, spacing_min(trace))
    return float(np.min(_above_usual(trace.signal)[about])) if np.any(about) else float("inf")


def _above_usual(signal: FloatArray) -> FloatArray:
    """Return the signal above its median, which is baseline wherever peaks fill less than half a trace."""
    return np.asarray(signal - np.median(signal), dtype=np.float64)
