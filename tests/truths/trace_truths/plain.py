"""What a decent chemist would measure, told where to look: a fitted EMG, or an integral over a line."""

from __future__ import annotations

import math

import numpy as np
from lmfit import Parameters, minimize
from numpy.typing import NDArray

from trace_truths.peaks import Form, Peak, emg, unit

Array = NDArray[np.float64]


BEFORE, AFTER = 2.5, 4.5
"""How many half widths before and after the apex a fit looks at; an integral looks 1.6 times as far."""


def window(
    time_min: Array, apex: float, width_half: float, neighbours: list[float], wider: float = 1.0
) -> Array:
    """Return which samples to use: those near the expected apex, at most midway to a neighbour."""
    low, high = apex - wider * BEFORE * width_half, apex + wider * AFTER * width_half
    for other in neighbours:
        if other < apex:
            low = max(low, 0.5 * (other + apex))
        elif other > apex:
            high = min(high, 0.5 * (other + apex))
    return np.asarray((time_min >= low) & (time_min <= high), dtype=np.bool_)


def fitted(
    time_min: Array, signal: Array, apex: float, width_half: float, neighbours: list[float]
) -> dict[str, float]:
    """Fit one EMG on a straight baseline by least squares and measure the fitted curve; {} where it fails."""
    use = window(time_min, apex, width_half, neighbours)
    t, y = time_min[use], signal[use]
    if t.size < 7:
        return {}
    design_t = t - apex
    everything = np.ones(t.size, dtype=np.bool_)

    def linear(values: dict[str, float], keep: NDArray[np.bool_]) -> tuple[Array, Array]:
        shape = emg((t - values["centre"]) / values["sigma"], values["tail"])
        design = np.column_stack([shape, np.ones_like(t), design_t])
        coefficient = np.linalg.lstsq(design[keep], y[keep], rcond=None)[0]
        return coefficient, design @ coefficient - y

    def residual(guess: Parameters, keep: NDArray[np.bool_]) -> Array:
        return linear(guess.valuesdict(), keep)[1][keep]

    keep = everything
    best: tuple[float, dict[str, float]] | None = None
    for tail in (0.3, 1.2, None):
        guess = Parameters()
        if tail is None:
            # once more without the samples that no curve could pass through
            if best is None:
                break
            rest = np.abs(linear(best[1], everything)[1])
            keep = rest <= max(8 * 1.4826 * float(np.median(rest)), 0.03 * float(np.ptp(y)))
            if keep.all() or int(keep.sum()) < 7:
                keep = everything
                break
            start, best = best[1], None
        else:
            sigma = width_half / (2.355 * (1 + 0.3 * tail))
            start = {"centre": apex - 0.5 * tail * sigma, "sigma": sigma, "tail": tail}
        guess.add("centre", value=start["centre"], min=float(t[0]), max=float(t[-1]))
        guess.add("sigma", value=start["sigma"], min=0.1 * start["sigma"], max=8 * start["sigma"])
        guess.add("tail", value=max(start["tail"], 0.003), min=0.002, max=12.0)
        result = minimize(residual, guess, args=(keep,), method="leastsq", max_nfev=400)
        if best is None or result.chisqr < best[0]:
            best = (float(result.chisqr), {k: float(v) for k, v in result.params.valuesdict().items()})
    if best is None:
        return {}
    values = best[1]
    area = float(linear(values, keep)[0][0]) * values["sigma"]
    if not math.isfinite(area) or area <= 0:
        return {}
    form = Form("emg", round(values["tail"], 5))
    unit_width = Peak("", form, 0.0, 1.0, 1.0)
    sigma = values["sigma"]
    one = Peak("fit", form, values["centre"] + unit(form).apex * sigma, sigma / unit_width.scale, area)
    return one.truth().as_dict()


def integrated(
    time_min: Array, signal: Array, apex: float, width_half: float, neighbours: list[float]
) -> dict[str, float]:
    """Integrate over a straight line between the valleys (or the window's quiet ends); {} where it fails."""
    use = window(time_min, apex, width_half, neighbours, 1.6)
    t, y = time_min[use], signal[use]
    if t.size < 7:
        return {}
    reach = (apex - 1.6 * BEFORE * width_half, apex + 1.6 * AFTER * width_half)
    crowded = [o for o in neighbours if reach[0] < 0.5 * (o + apex) < reach[1]]
    edge = 1 if crowded else max(1, t.size // 15)
    left, right = float(y[:edge].mean()), float(y[-edge:].mean())
    at = (float(t[:edge].mean()), float(t[-edge:].mean()))
    net = y - (left + (right - left) * (t - at[0]) / (at[1] - at[0]))
    area = float(np.trapezoid(net, t))
    if area <= 0:
        return {}
    mean = float(np.trapezoid(net * t, t)) / area
    variance = float(np.trapezoid(net * (t - mean) ** 2, t)) / area
    top = int(np.argmax(net))
    out = {"retention_time_min": float(t[top]), "peak_area": area, "peak_height": float(net[top])}
    if 0 < top < t.size - 1:
        curve = np.polyfit(t[top - 1 : top + 2] - t[top], net[top - 1 : top + 2], 2)
        if curve[0] < 0:
            out["retention_time_min"] = float(t[top] - curve[1] / (2 * curve[0]))
    if variance > 0:
        out["plate_number_moments"] = mean**2 / variance

    def cross(level: float, step: int) -> float | None:
        i = top
        while 0 < i < t.size - 1:
            if net[i + step] < level:
                part = (net[i] - level) / (net[i] - net[i + step])
                return float(t[i] + part * (t[i + step] - t[i]))
            i += step
        return None

    edges = {f: (cross(f * net[top], -1), cross(f * net[top], 1)) for f in (0.5, 0.1, 0.05)}
    tr = out["retention_time_min"]
    a, b = edges[0.5]
    if a is not None and b is not None:
        out["plate_number_half_height"] = 5.54 * (tr / (b - a)) ** 2
    a, b = edges[0.1]
    if a is not None and b is not None and a < tr < b:
        skewed = (b - tr) / (tr - a)
        out["plate_number_emg"] = 41.7 * (tr / (b - a)) ** 2 / (max(skewed, 1 / skewed) + 1.25)
    a, b = edges[0.05]
    if a is not None and b is not None and tr > a:
        out["symmetry_factor"] = (b - a) / (2 * (tr - a))
    return out
