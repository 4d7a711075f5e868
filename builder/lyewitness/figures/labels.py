"""Words that run into nothing: at the ends of lines, on rules, above peaks.

In: wanted positions, sizes and what is drawn, in pixels or along one axis. Out: positions with room, lines.
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import scipy
from matplotlib.axes import Axes

from lyewitness.figures.slimming import HALOED
from lyewitness.figures.style import INK, MUTED, GroupInk, Look
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
    level = scipy.optimize.isotonic_regression(positions[order] - room).x
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


DASHES = (6.0, 3.0)
"""px drawn and left free of a broken line."""
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


MARK_PX = 12.0
"""From the axes to the middle of a mark."""
NAME_PX = 20.0
"""From the axes to the first letter of a name."""
LEADING = 1.15
"""Height of a line of words, in label sizes."""


def name_lines(name: str, look: Look) -> tuple[str, ...]:
    """Return a name on one line, or on more where it would take too much of the figure's width."""
    return fitted(name, max(104.0, 0.215 * look.width_px), look.words_width)


def room_for(names: Sequence[str], look: Look) -> float:
    """Return how much room the names take at the right of the axes, pixels."""
    return NAME_PX + 6 + max(look.words_width(line) for name in names for line in name_lines(name, look))


def height_for(names: Sequence[str], look: Look) -> float:
    """Return how tall axes must be for the names to stand below each other, pixels."""
    return sum(_height(name, look) for name in names)


def _height(name: str, look: Look) -> float:
    return LEADING * look.label_px * len(name_lines(name, look)) + 3.0


def name_ends(
    axes: Axes, look: Look, names: Sequence[str], ends: Sequence[float], inks: Sequence[GroupInk | None]
) -> None:
    """Write each name near its line's end (data), apart from the others; a leader where it was moved.

    What has no ink, such as a limit, has no mark.
    """
    box = axes.get_window_extent()
    start = axes.get_xlim()[0]
    wanted = [float(axes.transData.transform((start, end))[1]) - box.y0 for end in ends]
    sizes = [_height(name, look) for name in names]
    low, high = sizes[0] / 2 - 6, box.height - sizes[0] / 2 + 10
    for name, end, place, ink in zip(names, wanted, spread(wanted, sizes, low, high), inks, strict=True):
        across, up = [1 + MARK_PX / box.width], [float(place) / box.height]
        if ink is not None:
            axes.plot(across, up, ink.mark, color=ink.colour, transform=axes.transAxes, clip_on=False)
        axes.annotate(
            "\n".join(name_lines(name, look)), (1, float(place) / box.height), (NAME_PX, 0), color=INK,
            xycoords="axes fraction", textcoords="offset points", va="center", linespacing=LEADING,
        )  # fmt: skip
        if abs(end - place) > look.label_px / 2 and 0 <= end <= box.height:
            axes.plot(
                [1 + 1 / box.width, 1 + (MARK_PX - 4.5) / box.width], [end / box.height, place / box.height],
                color=MUTED, linewidth=0.8, transform=axes.transAxes, clip_on=False,
            )  # fmt: skip


CLEAR_PX = 2.0
"""Left and right of words, what lines keep off."""


@dataclass(frozen=True, slots=True)
class Words:
    """Where words stand, pixels from the left and from above; lines end before them."""

    left: float
    right: float
    top: float
    bottom: float


def standing(axes: Axes) -> list[Words]:
    """Return where the words stand that were written on `axes`, on the sheet."""
    sheet = axes.get_figure(root=True)
    high = sheet.get_size_inches()[1] * 72 if sheet is not None else 0.0
    boxes = [one.get_window_extent() for one in axes.texts if one.get_text()]
    return [Words(one.x0 - CLEAR_PX, one.x1 + CLEAR_PX, high - one.y1, high - one.y0) for one in boxes]


def clear_of(written: Sequence[Words], across: float, start: float, end: float) -> list[tuple[float, float]]:
    """Return the pieces of an upright line that cross no words, from `start` down to `end`, in pixels."""
    pieces = []
    for words in sorted(written, key=lambda one: one.top):
        if words.left < across < words.right and start < words.bottom and words.top < end:
            if start < words.top:
                pieces.append((start, words.top))
            start = words.bottom
    return [*pieces, (start, end)] if start < end else pieces
