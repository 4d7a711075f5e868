"""The conservative life of a group of columns.

In: the `Decline`s of the group's columns, which bear the same limit. Out: hours, and how they were had.
"""

from collections.abc import Sequence
from math import log

import numpy as np

from lyewitness.decline.records import Decline
from lyewitness.decline.shelf_life import POOLING_LEVEL, Batch, shelf_life

STRAIGHT = ("steady", "straight line")
LEAST_POINTS = 3


def conservative_life(declines: Sequence[Decline], confidence: float) -> tuple[float | None, str]:
    """Return the exposure at which the one-sided bound meets the limit on the first column, and how.

    After ICH Q1E where the columns fall along lines, or along lines of the logarithm (first order); for
    shapes that are no lines the earliest of the columns' own bounds is taken. Nothing beyond the test.
    """
    measured = [decline for decline in declines if decline.model is not None and decline.end_h is not None]
    if not measured:
        return None, "no curve could be fitted"
    end_h = max(decline.end_h or 0.0 for decline in measured)
    kind = _kind(measured)
    if kind == "no line":
        bounds = [decline.life.conservative_h for decline in measured]
        life, how = (
            min((bound for bound in bounds if bound is not None), default=None),
            (
                "the earliest of the columns' own one-sided bounds: the shapes are no lines, so none were "
                "pooled"
            ),
        )
    else:
        life, how = _by_lines(measured, kind == "line of the logarithm", confidence)
    if life is None or life > end_h:
        return None, f"{how}; the bound does not meet the limit within the test"
    return life, how


def _kind(declines: Sequence[Decline]) -> str:
    """Return along what the columns fall: the shapes of all of them must agree."""
    shapes = [decline.model for decline in declines if decline.model is not None]
    if all(shape.name in STRAIGHT for shape in shapes):
        return "line"
    to_nothing = [shape.name == "first order" and "rest_percent" not in shape.parameters for shape in shapes]
    positive = all((decline.percent > 0).all() for decline in declines)
    return "line of the logarithm" if all(to_nothing) and positive else "no line"


def _by_lines(declines: Sequence[Decline], logarithmic: bool, confidence: float) -> tuple[float | None, str]:
    """Return the bound by lines through % of the reference or its logarithm."""
    limit = float(
        np.mean([decline.limit_percent for decline in declines if decline.limit_percent is not None])
    )
    limits = [decline.limit for decline in declines if decline.limit is not None]
    falling = limits[0].at_least is not None or limits[0].at_least_percent is not None
    batches: list[Batch] = [
        (decline.series.exposure_h, np.log(decline.percent) if logarithmic else decline.percent)
        for decline in declines
        if len(decline.percent) >= LEAST_POINTS
    ]
    found = shelf_life(batches, log(limit) if logarithmic else limit, falling, confidence=confidence)
    of = "lines of the logarithm" if logarithmic else "lines"
    if found.slopes_p is None or found.intercepts_p is None:
        return found.life, f"{of}, a single column"
    pooled = {
        "one line": "pooled to one line",
        "separate intercepts": "pooled to one slope with an intercept each",
        "separate lines": "not pooled",
    }[found.pooling]
    return found.life, (
        f"{of}, {pooled} (slopes p = {found.slopes_p:.2g}, intercepts p = {found.intercepts_p:.2g}, pooling "
        f"at {POOLING_LEVEL:g})"
    )
