"""What was in the vial, and how much of it, by the areas of one injection beside its neighbours'.

In: ratios of areas and plate numbers to what the neighbours lead to expect. Out: a `Doubt`, or None.
"""

from collections.abc import Mapping, Sequence
from math import exp, log
from statistics import median

from lyewitness.findings.displaced import Doubt
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import listed

OVERLOADED = 2.0
"""Ratio of areas: a flow that fell to half would double them, and no leak leaves as little."""
BROADER = 0.8
"""Ratio of plate numbers: a pharmacopoeia allows neighbouring injections a tenth; no column loses twice as
much for one injection alone."""
ONE_FACTOR = 0.2
"""Spread of the markers' ln ratios, as a share of their median, within which they are one factor."""


def of_one_factor(ratios: Mapping[str, float], least: float) -> float | None:
    """Return the median of the markers' ratios where all are one factor beyond `least`, either way."""
    logs = [log(ratio) for ratio in ratios.values()]
    if len(logs) < 2:
        return None
    middle = median(logs)
    alike = max(logs) - min(logs) < ONE_FACTOR * abs(middle)
    return exp(middle) if alike and abs(middle) > log(least) else None


def overload(areas: Mapping[str, float], plates: Mapping[str, float]) -> Doubt | None:
    """Find more sample than the column takes up: all areas up by one factor, and the peaks broadened by it.

    Such peaks come earlier as well, or later, so that it is asked before a flow that is off.
    """
    times = of_one_factor(areas, OVERLOADED)
    if times is None or times < 1 or len(plates) < 2 or max(plates.values()) > BROADER:
        return None
    broadened = " to ".join(dict.fromkeys(rounded(f(plates.values()), 2) for f in (min, max)))
    return "overload", (
        f"all areas are {rounded(times, 2)} times those of the neighbours, and the plate numbers {broadened} "
        "times: more sample than the column takes up without broadening, as of a stock solution or a wrong "
        "volume"
    )


def without(lost: Sequence[str], others: Sequence[str]) -> Doubt:
    """Return the doubt about an injection that lacks `lost` while `others` are as usual."""
    verb, it = ("is", "it") if len(lost) == 1 else ("are", "them")
    rest = "is" if len(others) == 1 else "are"
    return "missing marker", (
        f"{listed(lost)} {verb} missing, which the injections before and after show, and {listed(others)} "
        f"{rest} as usual: a vial without {it}"
    )
