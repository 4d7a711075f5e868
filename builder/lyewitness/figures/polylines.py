"""A trace as few points as an eye needs, and numbers as short as a picture needs.

In: arrays. Out: simplified arrays, and the `d` of an SVG path.
"""

import numpy as np
from matplotlib.path import Path as Outline

from lyewitness.words.arrays import FloatArray


def simplified(across: FloatArray, up: FloatArray, tolerance: float) -> tuple[FloatArray, FloatArray]:
    """Return the (m,) points of a line through (n,) points that leave it by less than `tolerance`.

    matplotlib's path simplification merges what runs along one vector and keeps the extremes, so a
    peak's apex and the width of the noise survive.
    """
    outline = Outline(np.column_stack([across, up]))
    outline.should_simplify = True
    outline.simplify_threshold = tolerance
    kept = outline.cleaned(simplify=True)
    vertices = np.asarray(kept.vertices)[np.asarray(kept.codes) != Outline.STOP]
    moved = np.ones(vertices.shape[0], dtype=bool)
    moved[1:] = np.any(np.diff(vertices, axis=0) != 0, axis=1)
    return vertices[moved, 0], vertices[moved, 1]


def few_points(across: FloatArray, up: FloatArray, tolerance: float) -> tuple[FloatArray, FloatArray]:
    """Return the line through (n,) pixels simplified, or where it is all noise, its extremes."""
    few = simplified(across, up, tolerance)
    return extremes(across, up) if few[0].size > 2 * (across[-1] - across[0]) + 2 else few


def extremes(across: FloatArray, up: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and the highest point of each pixel column, in the order in which they come.

    `across` (n,) are pixels, not decreasing. A line through these looks like the line through all points,
    at two points a column however noisy it is.
    """
    column = np.floor(across).astype(np.int64)
    starts = np.flatnonzero(np.concatenate([[True], np.diff(column) > 0]))
    by_height = np.lexsort((up, column))
    ends = np.concatenate([starts[1:], [across.size]]) - 1
    kept = np.unique(np.concatenate([by_height[starts], by_height[ends], [0, across.size - 1]]))
    return across[kept], up[kept]


def path_data(across: FloatArray, up: FloatArray, places: int = 1) -> str:
    """Return the `d` of an SVG path through pixels (n,): one absolute start, then relative steps.

    Steps are differences of rounded positions, so rounding does not add up.
    """
    scale = 10**places
    x = np.rint(across * scale).astype(np.int64)
    y = np.rint(up * scale).astype(np.int64)
    steps = [
        f"{_short(dx, scale)} {_short(dy, scale)}" for dx, dy in zip(np.diff(x), np.diff(y), strict=True)
    ]
    return f"M{_short(x[0], scale)} {_short(y[0], scale)}l" + " ".join(steps)


def _short(count: int, scale: int) -> str:
    """Return count ÷ scale with no needless digit: `-.3`, `12`."""
    text = f"{abs(count) / scale:.3f}".rstrip("0").rstrip(".").removeprefix("0")
    return ("-" if count < 0 else "") + (text or "0")
