"""Steps that the later injections bear out: what they stay at was the column's, however its peaks looked.

In: a series in % of its reference. Out: whether an injection stepped to where the later ones stay.
"""

import numpy as np

from lyewitness.words.arrays import BoolArray, FloatArray

STAYED = 0.75
"""Share of a step that all later injections show at least: what comes back by more than a quarter of it, or
was never as far from where the step began, leaves open whether the injection showed the column or itself."""


def borne_out(percent: FloatArray, used: BoolArray, place: int) -> bool:
    """Return whether that of `percent` (n,) stepped to where all of the `used` (n,) ones after it stay.

    A single bad injection has the next against it, one that dips far deeper than its column fell all of them.
    """
    before, later = np.flatnonzero(used[:place]), np.flatnonzero(used[place + 1 :]) + place + 1
    if not len(before) or not len(later):
        return False
    start = percent[before[-1]]
    step = float(percent[place] - start)
    return step != 0.0 and bool(((percent[later] - start) / step >= STAYED).all())


def without_borne_out(percent: FloatArray, found: BoolArray) -> BoolArray:
    """Return which of the `found` (n,) ones of `percent` (n,) those that were not found do not bear out."""
    left = found.copy()
    for place in np.flatnonzero(found):
        left[place] = not borne_out(percent, ~found, int(place))
    return left
