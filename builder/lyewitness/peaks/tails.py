"""Tails that go on behind the end of the fitted curve.

In: the components of one trace and their fits. Out: the components, some with a later end, so that neither
the baseline nor the area loses what one exponential does not describe.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lyewitness.peaks.baseline import smooth_baseline, straight_under
from lyewitness.peaks.components import Component
from lyewitness.peaks.fitting import ClusterFit
from lyewitness.traces.records import Trace

LONG_TAIL_MISFIT = 1.5
"""A fit that leaves this many times the noise may have missed the end of a tail."""
LONG_TAIL_HEIGHT = 0.001
"""A tail goes on where the signal stands this share of the height above the baseline."""


def with_longer_tails(
    trace: Trace, noise: float, components: Sequence[Component], fits: Sequence[ClusterFit]
) -> list[Component]:
    """Return the components, with later ends where a tail goes on behind the end of its curve.

    Looked for where a fit leaves more than noise: with nothing taken for baseline until as far behind the end
    as that is behind the apex, the signal there must still stand above the baseline.
    """
    odd = [place for place, fit in enumerate(fits) if fit.residual_sd > LONG_TAIL_MISFIT * fit.noise > 0.0]
    result = list(components)
    for index in odd:
        own = [place for place, c in enumerate(result) if c.span == index]
        if own:
            place = max(own, key=lambda p: result[p].end_min)
            longer = _with_end(result, place, float(trace.time_min[-1]))
            if _goes_on(trace, noise, longer, result[place].end_min, longer[place]):
                result = longer
    return result


def _with_end(components: Sequence[Component], place: int, trace_end: float) -> list[Component]:
    """Return the components with one of them ending twice as far behind its apex, or at the next peak."""
    last = components[place]
    later = [c.start_min for c in components if c.span != last.span and c.start_min > last.end_min]
    end = min([2.0 * last.end_min - last.apex_min, trace_end, *later])
    longer = list(components)
    longer[place] = replace(last, end_min=max(end, last.end_min), free_from_min=max(end, last.end_min))
    return longer


def _goes_on(
    trace: Trace, noise: float, components: Sequence[Component], end_min: float, last: Component
) -> bool:
    """Tell whether the signal stands above baseline and curves between `end_min` and the end of `last`."""
    first, beyond = np.searchsorted(trace.time_min, [end_min, last.end_min])
    if beyond - first < 8:
        return False
    time = trace.time_min[first:beyond]
    smooth = smooth_baseline(trace.time_min, trace.signal, components)
    chord = straight_under(
        smooth, [(min(c.start_min for c in components if c.span == last.span), last.end_min)]
    )
    excess = float(np.mean(trace.signal[first:beyond] - chord.at(time)))
    return excess > max(LONG_TAIL_HEIGHT * last.height, 4.0 * noise / float(np.sqrt(len(time))))
