"""The fitted curves of a study as things with an apex, a width and two ends.

In: `ClusterFit`s. Out: `Component`s, all measured together on fine grids of their own curves.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lyewitness.peaks.emg import emg
from lyewitness.peaks.survey.fitting import ClusterFit
from lyewitness.words.arrays import FloatArray

EDGE_LEVEL = 0.001
"""A peak starts and ends where its fitted curve falls below this share of its height …"""
FREE_LEVEL = 0.003
"""… and the baseline is looked for where every curve is below this share of its own height."""
GRID = np.linspace(0.0, 1.0, 180) ** 1.5
"""Places on a fitted curve, from its centre outwards, where its apex and ends are looked for."""


@dataclass(frozen=True, slots=True)
class Component:
    """One fitted curve on a trace. Times in minutes."""

    span: int
    """Index of its span in the survey."""
    top: int
    """Index within the fit of that span."""
    apex_min: float
    height: float
    area: float
    center_min: float
    sigma_min: float
    tau_min: float
    width_min: float
    """At half height."""
    start_min: float
    """Where the curve leaves the baseline …"""
    end_min: float
    """… and where it is back."""
    free_until_min: float
    """Where it first reaches `FREE_LEVEL` of its height …"""
    free_from_min: float
    """… and where it is below it again."""


def components_of(
    places: Sequence[int], fits: Sequence[ClusterFit], most: int = 512
) -> list[tuple[Component, ...]]:
    """Return the components of each fit, all curves measured together; `places` are their spans' indices."""
    keys = [(place, top) for place, fit in zip(places, fits, strict=True) for top in range(len(fit.area))]
    if not keys:
        return [() for _ in fits]
    names = ("area", "center", "sigma", "tau")
    shape = [np.concatenate([getattr(fit, name) for fit in fits]) for name in names]
    found: list[Component] = []
    for first in range(0, len(keys), most):
        found += _measured(keys[first : first + most], *(part[first : first + most] for part in shape))
    ends = np.cumsum([0] + [len(fit.area) for fit in fits])
    return [tuple(found[a:b]) for a, b in pairwise(ends.tolist())]


def _measured(
    keys: Sequence[tuple[int, int]], area: FloatArray, center: FloatArray, sigma: FloatArray, tau: FloatArray
) -> list[Component]:
    """Return components measured on a fine grid of their own curves."""
    ahead, behind = 4.0 * sigma + 9.0 * np.maximum(tau, 0.0), 4.0 * sigma + 9.0 * np.maximum(-tau, 0.0)
    sides = [-behind[:, None] * GRID[None, :0:-1], ahead[:, None] * GRID[None, :]]
    time = center[:, None] + np.concatenate(sides, axis=1)
    curve = emg(time, center[:, None], sigma[:, None], tau[:, None])
    rows = np.arange(len(time))
    top = curve.argmax(axis=1)
    height = curve[rows, top]
    columns = [time[rows, top], area * height, area, center, sigma, tau]
    left, right = _ends(time, curve, 0.5 * height)
    columns.append(right - left)
    for level in (EDGE_LEVEL, FREE_LEVEL):
        columns += _ends(time, curve, level * height)
    return [Component(*key, *values) for key, values in zip(keys, np.stack(columns, 1).tolist(), strict=True)]


def _ends(time: FloatArray, curve: FloatArray, level: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the first and the last time of each row at which its curve is above its level."""
    above = curve > level[:, None]
    rows = np.arange(len(time))
    return time[rows, above.argmax(axis=1)], time[rows, above.shape[1] - 1 - above[:, ::-1].argmax(axis=1)]
