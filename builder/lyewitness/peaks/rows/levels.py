"""What a peak's own baseline takes for background: a slow tail, or the step of a lamp under its front.

In: a peak. Out: its area, symmetry and plate number where the levels ahead of it and far behind it are the
baseline, if they and its own baseline do not agree.

A tail ten times as wide as its peak, and a hundredth as high, is background to every curve that follows it.
But no background begins at a peak: a line through the signal ahead of the peak and behind it has no jump
there, and the tail has one, from which it decays.
"""

from dataclasses import dataclass

import numpy as np

from lyewitness.peaks import formulas
from lyewitness.peaks.rows.outlines import Peak
from lyewitness.peaks.survey.tops import binned
from lyewitness.words.arrays import FloatArray

AHEAD, BEHIND = 8.0, 16.0
"""Widths at half height in which the levels beside a peak are looked for, where no other peak stands."""
LEAST_AHEAD, LEAST_BEHIND = 1.5, 3.0
"""In less than this a line and a tail look alike."""
PER_WIDTH = 4.0
"""Means over a quarter of a width are compared."""
TAILS = (0.7, 0.9, 1.15, 1.5, 1.9, 2.4, 3.1, 4.0, 5.1, 6.5, 8.4, 11.0)
"""Time constants of a tail, in widths: shorter ones are part of a curve, longer ones of the background."""
FOREVER = 1e3
"""The time constant, in widths, of a step."""
EXPLAINED = 0.2
"""A tail or a step leaves no more than this share of the squares that a bent line alone leaves: ripple, humps
and noise at a signal-to-noise ratio of 5 … 20 never came so far."""
LEAST_JUMP = 0.002
"""÷ height of the peak: less falsifies a symmetry factor, read at 0.05, by 1 % at most."""
IN_ERRORS = 6.0
"""A jump is one above so many of its standard errors."""
MOST_LEFT, OTHER_SHAPE = 4.0, 0.05
"""What is left is so much noise at the scale of a peak, or this share of the jump, as no tail is quite an
exponential: a hump leaves more."""
LOOKED_AT = 2.0
"""Squares that a bent line leaves ÷ those of noise, below which there is nothing to be explained."""
STRAIGHTER = 0.5
"""A straight line that leaves less than twice the squares of a bent one is the ruler: it cannot sag below a
peak."""
OVER = 4.0
"""A tail has come to its end after so many of its time constants: 2 % of what stood at the apex are left."""
SLOW = 2.0
"""Time constant, in widths, above which a wave of the baseline passes for part of a tail: of simulated areas
1 % went with it, and 0.15 % with shorter ones."""
FINE = 100.0
"""Points to a width at which a shape is read."""


@dataclass(frozen=True, slots=True)
class Leveled:
    """One peak on the levels beside it, where they and its own baseline do not agree."""

    area: float
    """Signal unit × minute."""
    symmetry: float
    plates: float
    """By the width at half height."""
    is_step: bool = False
    """Whether the level stays: no tail, but a step of the signal, and values are the farthest it may give."""
    is_over: bool = False
    """Whether a tail that is not slow is seen to its end: what the signal comes to is the baseline."""


def leveled(peak: Peak) -> Leveled | None:
    """Return the peak on the levels ahead of it and far behind; None where its own baseline agrees."""
    top = max(peak.own, key=lambda c: c.height)
    wide, survey = top.width_min, peak.survey
    start, end = min(c.start_min for c in peak.own), max(c.end_min for c in peak.own)
    times, values = survey.free_time, survey.free_signal
    step = float(survey.trace.time_min[1] - survey.trace.time_min[0])
    size = max(1, int(wide / PER_WIDTH / step))
    low, high = _room(peak, start, end, wide)
    parts = [times.searchsorted([low, start]).tolist(), times.searchsorted([end, high]).tolist()]
    ahead, behind = ((binned(times[a:b], size), binned(values[a:b], size)) for a, b in parts)
    per_width = wide / (size * step)
    if len(ahead[0]) < LEAST_AHEAD * per_width or len(behind[0]) < LEAST_BEHIND * per_width:
        return None
    found = _jump(ahead, behind, top.apex_min, wide, LEAST_JUMP * top.height, peak.local.noise_sd / size**0.5)
    return None if found is None else _read(peak, *found, (start, end, high))


def _room(peak: Peak, start: float, end: float, wide: float) -> tuple[float, float]:
    """Return from when to when the trace around a peak is nobody else's.

    Which peak is ahead and which behind their tops tell: where tails touch, the next one has begun before
    this one has ended, and the room is over there.
    """
    trace, apex = peak.survey.trace.time_min, peak.own[0].apex_min
    others = [c for c in peak.survey.components if c not in peak.assignment.components]
    low = max([float(trace[0]), start - AHEAD * wide, *(c.end_min for c in others if c.apex_min < apex)])
    high = min([float(trace[-1]), end + BEHIND * wide, *(c.start_min for c in others if c.apex_min > apex)])
    return low, high


def _jump(
    ahead: tuple[FloatArray, FloatArray],
    behind: tuple[FloatArray, FloatArray],
    apex: float,
    wide: float,
    least: float,
    noise: float,
) -> tuple[FloatArray, float, float] | None:
    """Return bent line, jump and time constant (in widths) of what stands behind a peak; None for nothing."""
    time = (np.concatenate([ahead[0], behind[0]]) - apex) / wide
    value = np.concatenate([ahead[1], behind[1]])
    plain = value - _fitted(time, value, 3)[0]
    if float(plain @ plain) < LOOKED_AT * noise**2 * len(time):
        return None
    best = min(
        (
            (
                float(((value - model) ** 2).sum()) * (1.0 if terms == 3 else STRAIGHTER),
                terms,
                tail,
                model,
                parts,
                error,
            )
            for tail in (*TAILS, FOREVER)
            for terms in (2, 3)
            for model, parts, error in [_fitted(time, value, terms, tail)]
        ),
        key=lambda one: one[0],
    )
    _, _, tail, model, parts, by_unit = best
    left = float(((value - model) ** 2).sum())
    rest = left / max(len(time) - 5, 1)
    error = by_unit * float(np.sqrt(max(rest, noise**2)))
    jump, line = float(parts[-1]), np.append(parts[:-1], [0.0])[:3]
    is_one = left < EXPLAINED * float(plain @ plain)
    is_one = is_one and rest < (MOST_LEFT * noise) ** 2 + (OTHER_SHAPE * jump) ** 2
    is_seen = (jump if tail < FOREVER else abs(jump)) > max(least, IN_ERRORS * error)
    return (line, jump, tail) if is_one and is_seen else None


def _fitted(
    time: FloatArray, value: FloatArray, terms: int, tail: float | None = None
) -> tuple[FloatArray, FloatArray, float]:
    """Return a line with what stands behind 0, its parameters, and the error of the last for unit noise."""
    columns = [time**power for power in range(terms)]
    if tail is not None:
        columns.append(np.where(time > 0.0, np.exp(-np.maximum(time, 0.0) / tail), 0.0))
    terms_of = np.stack(columns, axis=1)
    parts: FloatArray = np.asarray(np.linalg.lstsq(terms_of, value, rcond=None)[0], dtype=np.float64)
    model: FloatArray = np.asarray(terms_of @ parts)
    return model, parts, float(np.sqrt(np.linalg.inv(terms_of.T @ terms_of)[-1, -1]))


def _read(
    peak: Peak, line: FloatArray, jump: float, tail: float, ends: tuple[float, float, float]
) -> Leveled:
    """Return a peak with what stands behind it."""
    top = max(peak.own, key=lambda c: c.height)
    start, end, high = ends
    trace, wide = peak.survey.trace, top.width_min
    first, last = trace.time_min.searchsorted([start, end]).tolist()
    inside = trace.time_min[first:last]
    at = (inside - top.apex_min) / wide
    others = peak.survey.curve(inside, peak.neighbours) if peak.neighbours else 0.0
    over = trace.signal[first:last] - others - (line[0] + line[1] * at + line[2] * at**2)
    known = sum(c.area for c in peak.own)
    time = np.arange(start, max(high, end), wide / FINE)
    own = peak.survey.curve(time, peak.own)
    if tail >= FOREVER:
        # Where under the peak the signal rose nobody knows: at once below its top, or bit by bit.
        passed = np.cumsum(own) / max(float(own.sum()), 1e-300)
        shapes = [_shape(time, own + rise) for rise in (jump * (time < top.apex_min), jump * passed)]
        plain = _shape(time, own)
        symmetry, plates = (
            max(of, key=lambda value, own=usual: abs(value - own))  # type: ignore[misc]
            for *of, usual in zip(*shapes, plain, strict=True)
        )
        return Leveled(known + abs(jump) * (end - start) / 2.0, symmetry, plates, is_step=True)
    beyond = jump * np.exp(-np.maximum(time - top.apex_min, 0.0) / wide / tail)
    arm = max(1, int(wide / PER_WIDTH / float(inside[1] - inside[0])) // 2)
    rest = over - peak.survey.curve(inside, peak.own)
    even = np.convolve(np.pad(rest, arm, mode="edge"), np.full(2 * arm + 1, 1.0 / (2 * arm + 1)), "valid")
    whole = np.where(time < end, own + np.interp(time, inside, even), beyond)
    area = float(np.trapezoid(over, inside))
    area += jump * tail * wide * float(np.exp(-(end - top.apex_min) / wide / tail))
    is_over = tail < SLOW and high - top.apex_min > OVER * tail * wide
    return Leveled(area, *_shape(time, whole), is_over=is_over)


def _shape(time: FloatArray, value: FloatArray) -> tuple[float, float]:
    """Return symmetry factor and plate number of a noiseless shape."""
    top = int(value.argmax())
    height, apex = float(value[top]), float(time[top])
    front, back = value[: top + 1], value[top:]
    (left, half_left), (right, half_right) = (
        [_crossing(side[0], side[1], level * height) for level in (0.05, 0.5)]
        for side in ((time[: top + 1][::-1], front[::-1]), (time[top:], back))
    )
    symmetry = formulas.symmetry_factor(right - left, max(apex - left, 1e-12))
    return symmetry, formulas.plate_number_half_height(apex, max(half_right - half_left, 1e-12))


def _crossing(time: FloatArray, value: FloatArray, level: float) -> float:
    """Return where a shape first falls to a level, from its top outward."""
    below = np.flatnonzero(value < level)
    if not len(below):
        return float(time[-1])
    a = max(int(below[0]), 1)
    return float(np.interp(-level, -value[a - 1 : a + 1], time[a - 1 : a + 1]))
