"""Why a marker has no peak, in words that are true of its trace.

In: an assignment without a peak, and the survey of its trace. Out: the same with a reason: nothing stands
there, the run did not reach so far, or what stands there was not taken for a peak.
"""

from collections.abc import Iterable
from dataclasses import replace

from lyewitness.peaks.naming.histories import Assignment
from lyewitness.peaks.survey.surveys import Survey
from lyewitness.peaks.survey.tops import (
    LEAST_HEIGHT_IN_NOISE,
    LEAST_PLATES,
    SPIKES_FROM,
    Top,
    plates_of_top,
    rises_of,
    sharpest_of,
)
from lyewitness.traces.records import Trace

WEAK = 2.0
"""A fitted curve is lower than its top by up to the range of the noise: below so many least heights it may be
too low."""


def with_reason(assignment: Assignment, survey: Survey, narrowest_sigma_min: float) -> Assignment:
    """Return an assignment whose reason for being absent is true of what was recorded."""
    if assignment.components:
        return assignment
    gap = _not_recorded(assignment.expected_min, survey.trace)
    if gap:
        return replace(assignment, absent_because=gap, not_recorded=True)
    if assignment.bare_min is None:
        return assignment
    seen = _dismissed(assignment.bare_min, survey, narrowest_sigma_min)
    return replace(assignment, absent_because=seen) if seen else assignment


def _not_recorded(place: float | None, trace: Trace) -> str:
    """Return the reason where the trace holds nothing of when the marker should elute; else none."""
    if place is None:
        return ""
    gap = next((gap for gap in trace.gaps_min if gap[0] <= place <= gap[1]), None)
    if place < trace.end_min and gap is None:
        return ""
    what = (
        f"the run ends at {trace.end_min:.2f} min"
        if gap is None
        else f"the trace holds no points from {gap[0]:.2f} to {gap[1]:.2f} min"
    )
    return f"not recorded: {what}, and the marker was expected at {place:.2f} min"


def _dismissed(between: tuple[float, float], survey: Survey, narrowest_sigma_min: float) -> str:
    """Return what stands between two times and was not taken for a peak; nothing where nothing does."""
    low, high = between
    rises = rises_of(survey.trace.time_min, survey.trace.signal, survey.noise_sd, narrowest_sigma_min)
    known = [(c.apex_min - 0.5 * c.width_min, c.apex_min + 0.5 * c.width_min) for c in survey.components]
    inside = [
        top
        for top in rises
        if low <= top.apex_min <= high and not any(a <= top.apex_min <= b for a, b in known)
    ]
    if not inside:
        return ""
    tallest = max(inside, key=lambda top: top.height)
    stands = f"what stands at {tallest.apex_min:.2f} min, {_width_of(tallest):.2g} min wide at half height, "
    return stands + _why_no_peak(tallest, rises, survey.noise_sd)


def _width_of(top: Top) -> float:
    """Return the width of a top at half of its prominence, minutes."""
    return top.right_min - top.left_min


def _why_no_peak(top: Top, rises: Iterable[Top], noise_sd: float) -> str:
    """Return why a top was not taken for a peak."""
    plates, others = plates_of_top(top), [one for one in rises if one is not top]
    sharpest = sharpest_of(
        [plates_of_top(one) for one in others], [one.height for one in others], list(map(_width_of, others))
    )
    if top.height < WEAK * LEAST_HEIGHT_IN_NOISE * noise_sd:
        return f"rises too little out of the noise (standard deviation {noise_sd:.2g})"
    if plates < LEAST_PLATES:
        return "is too wide for its retention time to be told from drift"
    if plates > SPIKES_FROM:
        return f"is sharper than a column makes a peak (more than {SPIKES_FROM:,.0f} plates)"
    if not sharpest.is_like(plates, _width_of(top)):
        return (
            f"is too wide beside the sharpest peak of the trace ({sharpest.width_min:.2g} min) to be told "
            "from background"
        )
    return "could not be described as a peak"
