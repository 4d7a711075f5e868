"""Words that run into nothing: at the ends of lines, on rules, above peaks.

In: wanted positions, sizes and what is drawn, in pixels or along one axis. Out: positions with room, lines.
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence

import numpy as np
from scipy.optimize import isotonic_regression

from lyewitness.words.arrays import FloatArray


def spread(wanted: Sequence[float], sizes: float | Sequence[float], low: float, high: float) -> FloatArray:
    """Return positions nearest to `wanted` (n,) in low … high, in the same order, that do not touch.

    `sizes` is what each word takes along the axis, one for all or (n,); neighbours keep half of both apart.
    Subtracting the room needed up to each one turns 'apart' into 'not decreasing', so the least-squares
    answer is an isotonic regression; clipping it keeps it the best within bounds. Where the bounds leave too
    little room, the words shrink together.
    """
    positions = np.asarray(wanted, dtype=np.float64)
    if positions.size < 2:
        return np.clip(positions, low, high)
    order = np.argsort(positions, kind="stable")
    taken = np.broadcast_to(np.asarray(sizes, dtype=np.float64), positions.shape)[order]
    room = np.concatenate([[0.0], np.cumsum((taken[1:] + taken[:-1]) / 2)])
    room *= min(1.0, (high - low) / room[-1]) if room[-1] > 0 else 1.0
    level = isotonic_regression(positions[order] - room).x
    placed = np.empty_like(positions)
    placed[order] = np.clip(level, low, high - room[-1]) + room
    return placed


def emptiest(boxes: FloatArray, ink: FloatArray) -> int | None:
    """Return the first of `boxes` (m, 4: left, low, right, high) without a point of `ink` (n, 2) in it.

    None where every box has some.
    """
    x, y = ink[None, :, 0], ink[None, :, 1]
    left, low, right, high = (boxes[:, i : i + 1] for i in range(4))
    taken = ((x >= left) & (x <= right) & (y >= low) & (y <= high)).any(axis=1)
    return None if taken.all() else int(np.argmin(taken))


def above(
    apexes: FloatArray, sizes: FloatArray, outline: FloatArray, bounds: tuple[float, float]
) -> FloatArray:
    """Return (n, 2) centres across and lower edges of words above peaks, clear of the trace and each other.

    `apexes` (n, 2) are the peaks, `sizes` (n, 2) the words' widths and heights, `outline` (m, 2) the trace,
    all in pixels with y upwards; words stay between the `bounds` across. A word stands over its peak, above
    all that the trace does below it, and above every word that it would touch; lower peaks are served first.
    """
    placed = np.empty_like(apexes)
    centres = np.clip(apexes[:, 0], bounds[0] + sizes[:, 0] / 2, bounds[1] - sizes[:, 0] / 2)
    floors = [
        _highest(outline, x - wide / 2, x + wide / 2) for x, wide in zip(centres, sizes[:, 0], strict=True)
    ]
    floors = [max(floor, apex) for floor, apex in zip(floors, apexes[:, 1], strict=True)]
    done: list[int] = []
    for i in np.argsort(floors, kind="stable"):
        low = floors[i]
        for j in sorted(done, key=lambda one: placed[one, 1]):
            beside = abs(centres[i] - placed[j, 0]) >= (sizes[i, 0] + sizes[j, 0]) / 2
            if not beside and low < placed[j, 1] + sizes[j, 1] and placed[j, 1] < low + sizes[i, 1]:
                low = placed[j, 1] + sizes[j, 1]
        placed[i] = centres[i], low
        done.append(int(i))
    return placed


def _highest(outline: FloatArray, left: float, right: float) -> float:
    """Return the highest point of `outline` between two places; −∞ where there is none."""
    inside = (outline[:, 0] >= left) & (outline[:, 0] <= right) & np.isfinite(outline[:, 1])
    return float(outline[inside, 1].max()) if inside.any() else -np.inf


def fitted(words: str, wide: float, width_of: Callable[[str], float]) -> tuple[str, ...]:
    """Return `words` on as few lines of at most `wide` as will do, and these as even as they can be."""
    lines = _filled(words, wide, width_of)
    for narrower in np.linspace(0.3, 0.95, 14) * wide:
        even = _filled(words, float(narrower), width_of)
        if len(even) == len(lines):
            return even
    return lines


def _filled(words: str, wide: float, width_of: Callable[[str], float]) -> tuple[str, ...]:
    """Fill line after line; a word wider than a line is broken, behind a hyphen if it can be."""
    lines: list[str] = []
    line = ""
    for word in words.split(" "):
        joined = f"{line} {word}" if line else word
        if width_of(joined) <= wide:
            line = joined
            continue
        lines += [line] if line else []
        line = word
        while len(line) > 1 and width_of(line) > wide:
            # The first letter stays, however narrow the line.
            cut = bisect_right(range(2, len(line)), wide, key=lambda n: width_of(line[:n])) + 1
            cut = line.rfind("-", cut // 3, cut) + 1 or cut
            lines.append(line[:cut])
            line = line[cut:]
    return (*lines, line) if line or not lines else tuple(lines)
