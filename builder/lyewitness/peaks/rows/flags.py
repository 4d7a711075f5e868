"""The flags of a peak.

In: a `Peak`, its metrics and outline. Out: words of `records.FLAGS`.
"""

from collections.abc import Sequence

import numpy as np

from lyewitness.peaks.formulas import Outlines
from lyewitness.peaks.records import FLAGS
from lyewitness.peaks.rows.metrics import INCONSISTENT, Measured
from lyewitness.peaks.rows.outlines import Peak, valleys

# Ten times the noise is usually taken as the limit of quantitation (common practice).
LOW_SIGNAL = 10.0
# Fewer across half the height leave a width to its interpolation.
FEW_POINTS = 8
OVERLAP = 0.1
"""A valley above this share of the height is an overlap."""
MERGED = 0.02
"""A neighbour that reaches this share of the height at apex or half height has to be taken off."""
BASELINE_PERCENT = 1.5
"""Share of the area that two baselines may differ by without a word: half of what injections scatter."""
UNCERTAIN_PERCENT = 3.0
"""A baseline less certain than this share of the height is said to be so: the area follows it one to one."""
UNCERTAIN = 0.03
"""Beyond this standard error one row in ten is off by more than 5 %, a quarter to a half of what limits
usually allow a plate number or a symmetry factor to change."""
EDGE_SHARE = 0.003
"""What is left of a bubble at the start of a peak below this share of its height changes no area."""
DISTURBED = 0.03
"""A deviation from the fitted curve of this share of the height, beyond noise, is more than shape."""
UNLIKE, TIMES = 0.01, 3.0
"""Misfit, as share of the height, that has come and gone within one injection: a column ages slower."""
DOUBTFUL = 0.95
"""Below this confidence an assignment is flagged."""


def flags_of(peak: Peak, measured: Measured, outlines: Outlines) -> tuple[str, ...]:
    """Return the words of `FLAGS` that hold for the peak, in their order there."""
    i, own, trace = peak.place, peak.own, peak.survey.trace
    height = float(outlines.height[i])
    noise = measured.value["signal_to_noise"]
    said = {
        "saturated": measured.is_cut,
        "split": len(own) > 1,
        "merged": bool(peak.assignment.shared_with) or peak.assignment.separated or is_merged(peak, height),
        "edge": min(c.start_min for c in own) < trace.time_min[0]
        or max(c.end_min for c in own) > trace.time_min[-1],
        "low-signal": noise is not None and noise < LOW_SIGNAL,
        "few-points": outlines.points_half[i] < FEW_POINTS,
        "doubtful": bool(peak.assignment.shared_with) or (peak.assignment.confidence or 0.0) < DOUBTFUL,
        "overlap": any(valley > OVERLAP * height for _, valley in valleys(peak)),
        "baseline": is_baseline_doubtful(peak, measured),
        "spikes": spikes_in(peak) > 0,
        "disturbed": peak.local.spike_share > DISTURBED
        or peak.is_unlike
        or peak.local.dip_share > 0.0
        or measured.has_step
        or has_gap(peak)
        or has_edge(peak),
        "inconsistent": len(own) == 1 and measured.by_definition > INCONSISTENT and not measured.is_cut,
        "uncertain": is_uncertain(measured),
        "stranger": peak.assignment.holds_stranger,
    }
    return tuple(word for word in FLAGS if said.get(word))


def unlike_neighbours(misfits: Sequence[float | None]) -> list[bool]:
    """Tell which misfits of one marker, in the order of exposure, stand out from the two that are nearest.

    None where the marker has no single curve: beside it nothing is told.
    """
    last, found = len(misfits) - 1, []
    for place, own in enumerate(misfits):
        # At an end both lie on one side.
        middle = min(max(place, 1), last - 1)
        near = [misfits[i] for i in (middle - 1, middle, middle + 1) if i != place] if last > 1 else [None]
        known = [TIMES * one for one in near if one is not None]
        found.append(own is not None and len(known) == len(near) and own > max(UNLIKE, *known))
    return found


def is_baseline_doubtful(peak: Peak, measured: Measured) -> bool:
    """Tell whether the choice of the baseline changes the area by more than its error, or leaves it open."""
    area, error = measured.value["peak_area"], measured.error["peak_area"]
    if not area or error is None:
        return True
    shift, share = peak.local.baseline_shift_percent, 100.0 * error / area
    if measured.is_settled:
        shift = 0.0
    if measured.off_levels_percent > BASELINE_PERCENT:
        return True
    return shift > max(BASELINE_PERCENT, share) or 100.0 * peak.local.baseline_share > UNCERTAIN_PERCENT


def is_uncertain(measured: Measured) -> bool:
    """Tell whether a metric that lives hang on is known less well than limits are set."""
    return any(
        (measured.error[name] or 0.0) > UNCERTAIN * (measured.value[name] or 0.0)
        for name in ("plate_number_half_height", "symmetry_factor", "peak_area")
    )


def spikes_in(peak: Peak) -> int:
    """Return how many spikes were taken out between start and end of the peak."""
    ends = [min(c.start_min for c in peak.own), max(c.end_min for c in peak.own)]
    first, last = peak.survey.spikes.searchsorted(ends).tolist()
    return int(last - first)


def has_gap(peak: Peak) -> bool:
    """Tell whether the trace holds no points for a stretch between start and end of the peak."""
    start, end = min(c.start_min for c in peak.own), max(c.end_min for c in peak.own)
    return any(gap[0] < end and gap[1] > start for gap in peak.survey.trace.gaps_min)


def has_edge(peak: Peak) -> bool:
    """Tell whether the signal jumped, or was on its way back, between start and end of the peak."""
    start, end = min(c.start_min for c in peak.own), max(c.end_min for c in peak.own)
    height = max(c.height for c in peak.own)
    within = [edge for edge in peak.survey.edges if edge.time_min < end]
    return any(
        edge.time_min > start or abs(float(edge.at(np.array([start]))[0]) - edge.stays) > EDGE_SHARE * height
        for edge in within
    )


def is_merged(peak: Peak, height: float) -> bool:
    """Tell whether a neighbour's curve reaches 2 % of the height at the peak's apex or half height."""
    own = max(peak.own, key=lambda c: c.height)
    if not peak.neighbours:
        return False
    places = own.apex_min + own.width_min * np.array([-0.5, 0.0, 0.5])
    return bool(np.any(peak.survey.curve(places, peak.neighbours) > MERGED * height))
