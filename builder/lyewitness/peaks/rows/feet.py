"""What a neighbour's foot leaves open of the shape of a peak that it touches.

In: a peak with neighbours in its window, and its outline. Out: by which share symmetry factor and asymmetry
may be off, where the curves do not have the shape of the peaks.

Both are read near the foot of a peak, where the foot of the next one may stand as high. How high it is there
its curve tells, and no column makes exactly such curves: it may be nothing, or twice as much.
"""

from collections.abc import Mapping
from math import log

import numpy as np

from lyewitness.peaks.emg import LEVELS
from lyewitness.peaks.formulas import Outlines
from lyewitness.peaks.rows.outlines import Peak


def moved_by_feet(peak: Peak, outlines: Outlines) -> Mapping[str, float]:
    """Return the relative error of each metric that is read at a foot; none that cannot be told.

    A foot that stands higher than the level itself leaves no more open: there the peak is its curve.
    """
    i, found = peak.place, {}
    front, back = outlines.apex[i] - outlines.left[i], outlines.right[i] - outlines.apex[i]
    # From one of these levels to half of it a flank falls about as an exponential does.
    fall = np.array([front[0] - front[1], back[0] - back[1]]) / log(2.0)
    for level, name in enumerate(("symmetry_factor", "asymmetry_10")):
        crossings = np.array([outlines.left[i, level], outlines.right[i, level]])
        foot = peak.survey.curve(crossings, peak.local.beside) / outlines.height[i]
        moved = np.clip(foot / LEVELS[level], 0.0, 1.0) * fall
        wide = front[level] + back[level]
        # Of (front + back) ÷ 2 front, and of back ÷ front.
        slopes = [1.0 / front[0] - 1.0 / wide, 1.0 / wide] if level == 0 else [1.0 / front[1], 1.0 / back[1]]
        off = float(np.hypot(*(moved * slopes)))
        if np.isfinite(off):
            found[name] = off
    return found
