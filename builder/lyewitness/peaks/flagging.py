"""The flags of a peak.

In: a `Peak`, its metrics and outline. Out: words of `records.FLAGS`.
"""

from collections.abc import Mapping

import numpy as np

from lyewitness.peaks.outlining import Outlines
from lyewitness.peaks.peak import Peak, valleys
from lyewitness.peaks.records import FLAGS

LOW_SIGNAL = 10.0
FEW_POINTS = 8
OVERLAP = 0.1
"""A valley above this share of the height is an overlap."""
MERGED = 0.02
"""A neighbour that reaches this share of the height at apex or half height has to be taken off."""
SATURATION_SHARE = 0.01
DOUBTFUL = 0.95
"""Below this confidence an assignment is flagged."""


def flags_of(peak: Peak, metrics: Mapping[str, float | None], outlines: Outlines) -> tuple[str, ...]:
    """Return the words of `FLAGS` that hold for the peak, in their order there."""
    i, own, trace = peak.place, peak.own, peak.survey.trace
    height = float(outlines.height[i])
    noise = metrics["signal_to_noise"]
    said = {
        "saturated": is_saturated(peak, height),
        "split": len(own) > 1,
        "merged": bool(peak.assignment.shared_with) or peak.assignment.separated or is_merged(peak, height),
        "edge": min(c.start_min for c in own) < trace.time_min[0]
        or max(c.end_min for c in own) > trace.time_min[-1],
        "low-signal": noise is not None and noise < LOW_SIGNAL,
        "few-points": outlines.points_half[i] < FEW_POINTS,
        "doubtful": bool(peak.assignment.shared_with) or (peak.assignment.confidence or 0.0) < DOUBTFUL,
        "overlap": any(valley > OVERLAP * height for _, valley in valleys(peak)),
    }
    return tuple(word for word in FLAGS if said[word])


def is_saturated(peak: Peak, height: float) -> bool:
    """Tell whether the top is cut flat: one highest value three samples running, and the fit goes above it.

    The fit leaves those samples out; without the second condition a coarse digitiser would count, too.
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
    above = tallest.height + float(peak.survey.baseline.at(np.array([tallest.apex_min]))[0]) - highest
    flat = bool(np.any(top[:-2] & top[1:-1] & top[2:]))
    return flat and above > max(SATURATION_SHARE * height, 3.0 * peak.survey.noise_sd)


def is_merged(peak: Peak, height: float) -> bool:
    """Tell whether a neighbour's curve reaches 2 % of the height at the peak's apex or half height."""
    own = max(peak.own, key=lambda c: c.height)
    if not peak.neighbours:
        return False
    places = own.apex_min + own.width_min * np.array([-0.5, 0.0, 0.5])
    return bool(np.any(peak.survey.curve(places, peak.neighbours) > MERGED * height))
