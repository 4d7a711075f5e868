"""Faults in the truths themselves: a curve must start at 100, keep its life and be what its law says."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from .laws import LAWS
from .truths import series, study


def law_faults(law: str, seeds: Iterable[int], limit: float = 80.0) -> list[str]:
    """Return what is wrong with the curves of a law for a limit (an empty list when nothing is)."""
    faults = []
    for seed in seeds:
        truth = series(law, "even", 12, "none", seed, limit)
        curve, life, name = truth.curve, truth.life_full_h, f"{law} {limit:g} seed {seed}"
        sign = 1.0 if curve.falling else -1.0
        if abs(float(curve(0.0)) - 100.0) > 1e-9:
            faults.append(f"{name}: does not start at 100")
        horizon = 20.0 * truth.end_h if math.isinf(life) else 1.3 * life
        found = curve.life_at(limit, horizon)
        if math.isinf(life) != math.isinf(found) or (math.isfinite(life) and abs(found / life - 1.0) > 1e-6):
            faults.append(f"{name}: life {life} but the curve passes at {found}")
        path = sign * curve(np.linspace(0.0, 3.0 * truth.end_h, 1501))
        if not np.all(np.isfinite(path)):
            faults.append(f"{name}: not finite")
        if curve.falling and float(np.min(path)) < -1e-9:
            faults.append(f"{name}: below nothing")
        if LAWS[law].monotone and float(np.max(np.diff(path))) > 1e-9:
            faults.append(f"{name}: not monotone")
        if truth.bracket is not None and not truth.bracket[0] < life <= truth.bracket[1]:
            faults.append(f"{name}: bracket {truth.bracket} without the life {life}")
        if law == "dip" and (truth.life_h is None or np.sum(truth.curve.past(limit, truth.exposures)) < 1):
            faults.append(f"{name}: no injection in the dip")
        if law == "dip" and truth.margin_at_end >= 0.0:
            faults.append(f"{name}: not well again at the end")
    return faults


def median_faults(studies: int = 2000, spread: float = 0.2) -> list[str]:
    """Return the kinds of spread whose column lives do not have the stated median (four binomial errors)."""
    faults = []
    for kind in ("normal", "t4", "skew"):
        below = total = 0
        for seed in range(studies // 20):
            truth = study(seed, columns=10, ratio=1.5, spread=spread, spread_kind=kind, n=6, noise="none")
            for column in truth.columns:
                below += column.series.life_full_h < truth.median_life_h[column.group]
                total += 1
        if abs(below / total - 0.5) > 4.0 * 0.5 / math.sqrt(total):
            faults.append(f"{kind}: {below} of {total} lives before the median")
    return faults
