"""Limits as rules across a picture, each with its words where there is room for them.

In: axes with their limits set and their lines drawn. Out: the same axes with rules.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from lyewitness.figures.labels import emptiest
from lyewitness.figures.slimming import HALOED
from lyewitness.figures.style import INK, Look
from lyewitness.words.arrays import FloatArray

DASHES = (6.0, 3.0)
STEP_PX = 3.0
"""How closely lines are felt for."""


def rules(axes: Axes, look: Look, limits: Sequence[tuple[float, str]]) -> list[tuple[float, str]]:
    """Draw each (height, words) across; the words stand above or below their rule where nothing else is.

    Returns those for whose words there is no such place: they belong beside the axes.
    """
    box = axes.get_window_extent()
    ink, left_over = inked(axes), []
    heights = [float(axes.transData.transform((0.0, height))[1]) for height, _ in limits]
    across = np.arange(box.x0, box.x1, STEP_PX)
    ink = np.vstack([ink, *(np.column_stack([across, np.full(across.size, height)]) for height in heights)])
    for (height, words), up in zip(limits, heights, strict=True):
        axes.axhline(height, color=INK, linewidth=1.0, dashes=DASHES, zorder=2.5)
        if not words:
            continue
        boxes = _candidates((box.x0, box.y0, box.x1, box.y1), up, look.words_width(words), look.label_px)
        free = emptiest(boxes, ink)
        if free is None:
            left_over.append((height, words))
            continue
        left, low, right, high = boxes[free]
        axes.annotate(
            words, (left + 4, (low + high) / 2), xycoords="figure pixels", color=INK, va="center_baseline",
            zorder=6, gid=HALOED,
        )  # fmt: skip
        grid = np.meshgrid(np.arange(left, right, STEP_PX), np.arange(low, high, STEP_PX))
        ink = np.vstack([ink, np.column_stack([part.ravel() for part in grid])])
    return left_over


def _candidates(axes: tuple[float, float, float, float], up: float, wide: float, tall: float) -> FloatArray:
    """Return boxes (m, 4) for words on a rule at `up`: from the left, above before below."""
    left, bottom, right, top = axes
    starts = np.arange(left + 1, max(right - wide - 8, left + 1) + 1, STEP_PX)
    lows = [low for low in (up + 2, up - 2 - 1.25 * tall) if low >= bottom and low + 1.25 * tall <= top + 2]
    return np.array([(x, low, x + wide + 8, low + 1.25 * tall) for x in starts for low in lows or [up + 2]])


def inked(axes: Axes) -> FloatArray:
    """Return (n, 2) places in pixels, close together, along all lines drawn in data coordinates."""
    lines = [line for line in axes.lines if line.get_transform() == axes.transData]
    parts = [np.empty((0, 2))]
    for line in lines:
        parts.append(_felt(axes.transData.transform(np.asarray(line.get_xydata(), dtype=np.float64))))
    return np.vstack(parts)


def _felt(corners: FloatArray) -> FloatArray:
    """Return points along a line through `corners` (n, 2), none further than `STEP_PX` from the next."""
    steps = np.diff(corners, axis=0)
    long = np.hypot(*steps.T)
    counts = np.where(np.isfinite(long), np.ceil(np.nan_to_num(long) / STEP_PX), 0).astype(int)
    which = np.repeat(np.arange(counts.size), counts)
    part = np.arange(which.size) - np.repeat(np.cumsum(counts) - counts, counts)
    between = corners[which] + (part / np.maximum(counts, 1)[which])[:, None] * steps[which]
    return np.vstack([between, corners[np.all(np.isfinite(corners), axis=1)]])
