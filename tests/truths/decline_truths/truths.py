"""Series and studies whose truth is known: observed values together with the curve they came from."""

from __future__ import annotations

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .designs import exposures as draw_exposures
from .laws import LAWS, Curve, draw_curve
from .noises import NOISES

FloatArray = NDArray[np.float64]

LOWEST_OBSERVED = 0.1
"""No metric is observed below this per cent of its start."""


@dataclass(frozen=True)
class TrueSeries:
    """One observed series with its truth.

    ``life_h`` is the exposure at which the curve first passes the limit, None when that is not within the
    test; ``life_full_h`` is the same on the curve continued beyond the test (inf when it never passes).
    ``bracket`` holds the injections before and at or after the life, None when not within the test.
    """

    law: str
    design: str
    noise: str
    seed: int
    limit: float
    exposures: FloatArray
    observed: FloatArray
    noise_free: FloatArray
    curve: Curve
    life_h: float | None
    life_full_h: float
    bracket: tuple[float, float] | None
    end_h: float

    @property
    def falling(self) -> bool:
        """Tell whether the metric falls."""
        return self.curve.falling

    @property
    def margin_at_end(self) -> float:
        """Return how far the noise-free metric is past the limit at the end (negative: still well)."""
        last = float(self.noise_free[-1])
        return self.limit - last if self.falling else last - self.limit

    @property
    def clear_margin(self) -> float:
        """Return the distance from the limit that counts as clear: 1 %, or twice the noise if greater."""
        return max(1.0, 2.0 * NOISES[self.noise].typical_sd)

    @property
    def clearly_past_at_end(self) -> bool:
        """Tell whether the noise-free metric is clearly past the limit at the last injection."""
        return self.margin_at_end > self.clear_margin

    @property
    def clearly_well_at_end(self) -> bool:
        """Tell whether the noise-free metric never passed and is clearly on the good side at the end."""
        return self.life_h is None and self.margin_at_end < -self.clear_margin


def stream(*parts: str | int) -> np.random.Generator:
    """Return a generator of its own for any combination of names and numbers."""
    keys = [zlib.crc32(part.encode()) if isinstance(part, str) else part for part in parts]
    return np.random.default_rng(np.random.SeedSequence(keys))


def _observe(
    curve: Curve, times: FloatArray, errors: FloatArray, limit: float, names: tuple[str, str, str], seed: int
) -> TrueSeries:
    """Put together one series."""
    noise_free = curve(times)
    life = curve.life_h / curve.stretch
    end = float(times[-1])
    within = life <= end
    bracket: tuple[float, float] | None = None
    if within:
        after = int(np.searchsorted(times, life, side="left"))
        bracket = (float(times[max(after - 1, 0)]), float(times[after]))
    observed = np.maximum(noise_free + errors, LOWEST_OBSERVED)
    return TrueSeries(
        names[0],
        names[1],
        names[2],
        seed,
        limit,
        times,
        observed,
        noise_free,
        curve,
        life if within else None,
        life,
        bracket,
        end,
    )


def series(
    law: str,
    design: str,
    n: int,
    noise: str,
    seed: int,
    limit: float = 80.0,
    life_fraction: float | None = None,
) -> TrueSeries:
    """Return one series; a limit above 100 makes a rising metric.

    The same seed gives the same exposures for a design and n, and the same curve relative to the end of
    the test for a law, whatever the noise.  ``life_fraction`` fixes life / end of test (lawful lives only).
    """
    times = draw_exposures(design, n, stream("design", design, n, seed))
    curve = draw_curve(
        LAWS[law],
        stream("law", law, seed),
        float(times[-1]),
        float(np.median(np.diff(times))),
        limit,
        life_fraction,
    )
    rng = stream("noise", noise, law, design, n, seed)
    errors = NOISES[noise].draw(rng, times, curve(times)[None, :])[0]
    return _observe(curve, times, errors, limit, (law, design, noise), seed)


@dataclass(frozen=True)
class TrueColumn:
    """One column of a study."""

    name: str
    group: str
    block: str | None
    series: TrueSeries

    @property
    def exposures(self) -> FloatArray:
        """Return the exposures of the injections."""
        return self.series.exposures

    @property
    def observed(self) -> FloatArray:
        """Return the observed values."""
        return self.series.observed


@dataclass(frozen=True)
class TrueStudy:
    """Groups of columns with the true median life of each group.

    The log lives of the columns of a group scatter about the log of the group's median life (block effect
    and column effect both have the median 0), so the median life is that of the typical column in a
    typical block, whichever columns were drawn.
    """

    seed: int
    limit: float
    groups: tuple[str, ...]
    columns: tuple[TrueColumn, ...]
    median_life_h: dict[str, float]
    spread: float
    block_spread: float
    nested_blocks: bool
    block_effects: dict[str, float]
    end_h: float

    @property
    def falling(self) -> bool:
        """Tell whether the metric falls."""
        return self.limit < 100.0

    def true_ratio(self, a: str, b: str) -> float:
        """Return the ratio of the median lives of two groups."""
        return self.median_life_h[a] / self.median_life_h[b]

    def of_group(self, group: str) -> tuple[TrueColumn, ...]:
        """Return the columns of one group."""
        return tuple(column for column in self.columns if column.group == group)


def _column_effects(rng: np.random.Generator, count: int, spread: float, kind: str) -> FloatArray:
    """Draw the effects of columns on the log life: median 0, standard deviation ``spread``."""
    if kind == "normal":
        drawn = rng.standard_normal(count)
    elif kind == "t4":
        drawn = rng.standard_t(4.0, count) / math.sqrt(2.0)
    elif kind == "skew":
        drawn = (np.log(rng.exponential(1.0, count)) - math.log(math.log(2.0))) * math.sqrt(6.0) / math.pi
    else:
        raise ValueError(f"no such kind of spread: {kind}")
    return np.asarray(spread * drawn)


def study(
    seed: int,
    groups: int = 2,
    columns: int | Sequence[int] = 4,
    law: str | Sequence[str] = "weibull",
    ratio: float | Sequence[float] = 1.0,
    spread: float = 0.1,
    spread_kind: str = "normal",
    blocks: int = 0,
    block_spread: float = 0.0,
    nested_blocks: bool = False,
    noise: str = "indep_1",
    design: str = "even",
    n: int = 12,
    limit: float = 80.0,
    life_fraction: float | None = 0.5,
    censoring: float = 0.0,
) -> TrueStudy:
    """Return one study of groups named a, b, c, …

    ``columns``: columns of each group.  ``law``: one for all (then all columns share the form), or one for
    each group.  ``ratio``: median life of group a over that of each other group.  ``spread``: standard
    deviation of the log lives of columns of one group; ``spread_kind`` normal, t4 (heavy tails) or skew
    (Weibull lives).  ``blocks``: number of blocks (0: none); column k of a group is in block k modulo
    blocks, so a block holds several columns of one group when there are more columns than blocks; the
    block effect (standard deviation ``block_spread`` of log life) is shared by all groups, or, with
    ``nested_blocks``, each group has blocks of its own.  ``noise``: common parts are shared by all columns
    (one run).  ``life_fraction``: median life of group a over the end of the test (None: drawn), near or
    above 1 for censoring by the end.  ``censoring``: probability of a column to be taken out before the
    end, at a random exposure between 40 and 100 % of the test (never with fewer than five injections).
    """
    names = tuple("abcdefghijkl"[:groups])
    counts = [columns] * groups if isinstance(columns, int) else list(columns)
    laws = [law] * groups if isinstance(law, str) else list(law)
    ratios = [ratio] * (groups - 1) if isinstance(ratio, int | float) else list(ratio)
    if not len(counts) == len(laws) == len(ratios) + 1 == groups:
        raise ValueError("columns, laws or ratios do not fit the number of groups")
    times = draw_exposures(design, n, stream("design", design, n, seed))
    end, gap = float(times[-1]), float(np.median(np.diff(times)))
    rng = stream("study", seed, *laws, *counts)
    base = {}
    for name in dict.fromkeys(laws):
        base[name] = draw_curve(LAWS[name], stream("law", name, seed), end, gap, limit, life_fraction)
    first = base[laws[0]].life_h
    medians = {names[0]: first, **{name: first / r for name, r in zip(names[1:], ratios, strict=True)}}
    effects: dict[str, float] = {}
    plan: list[tuple[str, str, str | None, Curve, str]] = []
    for group, count, law_name in zip(names, counts, laws, strict=True):
        own = _column_effects(rng, count, spread, spread_kind)
        for k in range(count):
            block: str | None = None
            shift = float(own[k])
            if blocks > 0:
                block = f"{group if nested_blocks else ''}B{k % blocks + 1}"
                if block not in effects:
                    effects[block] = float(block_spread * rng.standard_normal())
                shift += effects[block]
            curve = base[law_name]
            if math.isfinite(curve.life_h):
                curve = curve.stretched(medians[group] / curve.life_h * math.exp(shift))
            plan.append((f"{group}{k + 1}", group, block, curve, law_name))
    noise_free = np.vstack([curve(times) for _, _, _, curve, _ in plan])
    errors = NOISES[noise].draw(stream("errors", noise, seed, n, *counts), times, noise_free)
    made = []
    for row, (name, group, block, curve, law_name) in enumerate(plan):
        kept = n
        if rng.random() < censoring:
            stop = end * float(rng.uniform(0.4, 1.0))
            kept = max(int(np.searchsorted(times, stop, side="right")), 5)
        truth = _observe(curve, times[:kept], errors[row, :kept], limit, (law_name, design, noise), seed)
        made.append(TrueColumn(name, group, block, truth))
    return TrueStudy(
        seed, limit, names, tuple(made), medians, spread, block_spread, nested_blocks, effects, end
    )
