"""Judging the judges: how often what they say of a known truth is true, and how much it says.

Counting, for one series:

* ``reached`` is a hit when low <= true life <= high (the life of the curve continued beyond the test if
  need be); a missing end is open; no interval at all is a miss.
* ``not reached`` is a hit when the true life is beyond ``low`` (beyond the end when there is no ``low``)
  and, if ``high`` is given, before it.
* ``unclear`` without an interval makes no claim; with one the interval is judged like any other.
* An answer that holds everything (low at or before the first injection or absent and high at or beyond the
  end or open; ``not reached`` with a bound at or before the first injection) is *vacuous*: no claim.
* A value outside its own interval is counted under ``value_outside``, besides the hit or miss.
* An error, or an interval that is not one (low above high, not a number), is a miss.

``coverage`` is hits over claims.  ``dead_called_alive``: ``not reached`` although the noise-free curve is
clearly past the limit at the last injection, whatever the bound.  ``alive_called_dead``: ``reached``
although it never passed within the test and is clearly well at the end.  Clear is 1 % or twice the noise.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field
from importlib import import_module
from itertools import product
from pathlib import Path
from typing import Any, Protocol, cast, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from .designs import DESIGNS, SIZES
from .noises import NOISES
from .truths import TrueSeries, TrueStudy, series, study
from .verdicts import FINDINGS, Comparison, Finding, GroupVerdict, Verdict

FloatArray = NDArray[np.float64]
Row = dict[str, str | int | float | None]
Judge = Callable[[FloatArray, FloatArray, float, bool], Verdict]
GroupJudge = Callable[[TrueStudy], GroupVerdict]


@runtime_checkable
class InformedJudge(Protocol):
    """A judge that is shown the truth along with the data (a reference, not a competitor)."""

    def judge_series(self, truth: TrueSeries) -> Verdict:
        """Return the verdict on one series."""


@dataclass(frozen=True)
class Cell:
    """One kind of series; ``life_fraction`` None draws lives from early to beyond the end."""

    law: str
    design: str = "even"
    n: int = 12
    noise: str = "indep_1"
    limit: float = 80.0
    life_fraction: float | None = None


@dataclass(frozen=True)
class GroupCell:
    """One kind of study: the keyword arguments of ``study`` but the seed, under a name."""

    name: str
    arguments: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Score:
    """How one verdict stands against its truth; ``hit`` is None when there is no claim."""

    state: str
    hit: bool | None
    vacuous: bool = False
    too_late: bool = False
    too_early: bool = False
    dead_called_alive: bool = False
    alive_called_dead: bool = False
    width_h: float | None = None
    relative_error: float | None = None
    value_outside: bool = False


def _bad(value: float | None) -> bool:
    """Tell whether a given end is not a number."""
    return value is not None and math.isnan(value)


def score(
    verdict: Verdict, life_full_h: float, first_h: float, end_h: float, dead: bool = False, well: bool = False
) -> Score:
    """Score a verdict against the true life on the continued curve."""
    state, slack = verdict.state, 1e-9 * end_h
    if state not in ("reached", "not reached", "unclear"):
        return Score("error", False)
    dead_called_alive = dead and state == "not reached"
    alive_called_dead = well and state == "reached"
    bare = verdict.low is None and verdict.high is None
    low = -math.inf if verdict.low is None else verdict.low
    high = math.inf if verdict.high is None else verdict.high
    error: float | None = None
    if state == "reached" and verdict.value is not None and life_full_h <= end_h:
        error = (verdict.value - life_full_h) / life_full_h
    if _bad(verdict.low) or _bad(verdict.high) or _bad(verdict.value) or low > high + slack:
        return Score(state, False, False, False, False, dead_called_alive, alive_called_dead)
    if state == "unclear" and bare:
        return Score(state, None)
    if state == "reached" and bare:
        return Score(state, False, False, False, False, False, alive_called_dead, None, error)
    if state == "not reached" and verdict.low is None:
        low = end_h
    early = low <= first_h + slack
    if early and (high >= end_h - slack or state == "not reached"):
        return Score(state, None, True, False, False, dead_called_alive, alive_called_dead, None, error)
    too_late = life_full_h < low - slack
    too_early = life_full_h > high + slack
    width = None if state == "not reached" else high - max(low, 0.0)
    outside = verdict.value is not None and not low - slack <= verdict.value <= high + slack
    return Score(
        state,
        not (too_late or too_early),
        False,
        too_late,
        too_early,
        dead_called_alive,
        alive_called_dead,
        width,
        error,
        outside,
    )


def judge_one(judge: Judge | InformedJudge, truth: TrueSeries) -> Score:
    """Run a judge on one series and score it; an exception counts as an error."""
    try:
        if isinstance(judge, InformedJudge):
            verdict = judge.judge_series(truth)
        else:
            verdict = judge(truth.exposures.copy(), truth.observed.copy(), truth.limit, truth.falling)
    except Exception:
        return Score("error", False)
    return score(
        verdict,
        truth.life_full_h,
        float(truth.exposures[0]),
        truth.end_h,
        truth.clearly_past_at_end,
        truth.clearly_well_at_end,
    )


def wilson(hits: int, total: int) -> tuple[float, float]:
    """Return the 95 % Wilson interval of a proportion, in per cent (0 to 100 when there is nothing)."""
    if total == 0:
        return 0.0, 100.0
    z, p = 1.96, hits / total
    centre = (p + z * z / (2 * total)) / (1 + z * z / total)
    half = z * math.sqrt(p * (1 - p) / total + z * z / (4 * total * total)) / (1 + z * z / total)
    return 100.0 * (centre - half), 100.0 * (centre + half)


def _percent(part: int, total: int) -> float | None:
    """Return a share in per cent, None of nothing."""
    return 100.0 * part / total if total else None


def _median(values: Sequence[float]) -> float | None:
    """Return the median, None of nothing; infinite when most are."""
    if not values:
        return None
    ordered = sorted(values)
    middle = len(ordered) // 2
    if len(ordered) % 2 or math.isinf(ordered[middle]):
        return ordered[middle]
    return 0.5 * (ordered[middle - 1] + ordered[middle])


def summarise(scores: Sequence[Score]) -> Row:
    """Turn the scores of one cell into one row (shares in per cent of all series unless said)."""
    total = len(scores)
    claims = [s for s in scores if s.hit is not None]
    reached = [s for s in claims if s.state == "reached"]
    bounds = [s for s in claims if s.state == "not reached"]
    hits = sum(bool(s.hit) for s in claims)
    low, high = wilson(hits, len(claims))
    errors = [s.relative_error for s in scores if s.relative_error is not None]
    return {
        "studies": total,
        "claims": len(claims),
        "coverage": _percent(hits, len(claims)),
        "coverage_low": low,
        "coverage_high": high,
        "coverage_reached": _percent(sum(bool(s.hit) for s in reached), len(reached)),
        "coverage_not_reached": _percent(sum(bool(s.hit) for s in bounds), len(bounds)),
        "missed_of_all": _percent(len(claims) - hits, total),
        "too_late": _percent(sum(s.too_late for s in scores), total),
        "too_early": _percent(sum(s.too_early for s in scores), total),
        "dead_called_alive": sum(s.dead_called_alive for s in scores),
        "alive_called_dead": sum(s.alive_called_dead for s in scores),
        "reached": _percent(sum(s.state == "reached" for s in scores), total),
        "not_reached": _percent(sum(s.state == "not reached" for s in scores), total),
        "unclear": _percent(sum(s.state == "unclear" for s in scores), total),
        "vacuous": _percent(sum(s.vacuous for s in scores), total),
        "error": sum(s.state == "error" for s in scores),
        "value_outside": sum(s.value_outside for s in scores),
        "median_bias_pc": None if not errors else 100.0 * float(np.median(errors)),
        "mean_abs_error_pc": None if not errors else 100.0 * float(np.mean(np.abs(errors))),
        "median_width_h": _median([s.width_h for s in reached if s.width_h is not None]),
    }


def run_cell(judge: Judge | InformedJudge, cell: Cell, studies: int, first_seed: int = 0) -> Row:
    """Run a judge over the seeds of one cell and return its row."""
    scores = []
    for seed in range(first_seed, first_seed + studies):
        truth = series(cell.law, cell.design, cell.n, cell.noise, seed, cell.limit, cell.life_fraction)
        scores.append(judge_one(judge, truth))
    return {**asdict(cell), **summarise(scores)}


def _compare(verdict: GroupVerdict, a: str, b: str) -> Comparison | None:
    """Return the comparison of a over b, turned round when given as b over a."""
    for c in verdict.comparisons:
        if (c.a, c.b) == (a, b):
            return c
        if (c.a, c.b) == (b, a):
            turned: dict[str, Finding] = {
                "a lasts longer": "b lasts longer",
                "b lasts longer": "a lasts longer",
            }
            ratio, low, high = (
                None if v is None else (math.inf if v == 0.0 else 1.0 / v) for v in (c.ratio, c.high, c.low)
            )
            return Comparison(a, b, ratio, low, high, c.p, turned.get(c.finding, c.finding), c.margin)
    return None


def run_group_cell(
    judge: GroupJudge, cell: GroupCell, studies: int, first_seed: int = 0, margin: float = 1.2
) -> Row:
    """Run a group judge over the seeds of one cell and return its row.

    ``life_…``: all group lives, against the true median life, counted as single series are (a group is
    clearly dead when its median life is before 0.8 of the end, and well beyond 1.25 of it).  ``ratio_…``:
    comparisons with an interval; one with both ends open makes no claim, and so does none.
    ``significant``: p <= 0.05, of all pairs.  ``false_longer``: says that one lasts longer although the
    true ratio is 1, or that the wrong one does.  ``false_equal``: says 'no meaningful difference'
    although the true ratio is at or beyond the margin (the judge's own, else ``margin``; the widest one
    used is in ``margin``).  ``family_false_longer``: studies with at least one false 'longer'.
    """
    lives: list[Score] = []
    pairs = hits = claims = significant = with_p = false_longer = false_equal = no_verdict = 0
    ratio_low = ratio_high = 0
    found = dict.fromkeys(FINDINGS, 0)
    families = 0
    widest = 1.0
    log_errors: list[float] = []
    widths: list[float] = []
    for seed in range(first_seed, first_seed + studies):
        truth = study(seed, **cell.arguments)
        false_before = false_longer
        try:
            verdict = judge(truth)
        except Exception:
            verdict = None
        for group in truth.groups:
            life = truth.median_life_h[group]
            given = None if verdict is None else verdict.lives.get(group)
            if given is None:
                lives.append(Score("error", False))
                continue
            dead, well = life < 0.8 * truth.end_h, life > 1.25 * truth.end_h
            lives.append(score(given, life, 0.0, truth.end_h, dead, well))
        for i, a in enumerate(truth.groups):
            for b in truth.groups[i + 1 :]:
                pairs += 1
                comparison = None if verdict is None else _compare(verdict, a, b)
                if comparison is None:
                    no_verdict += 1
                    continue
                ratio = truth.true_ratio(a, b)
                found[comparison.finding] = found.get(comparison.finding, 0) + 1
                if comparison.p is not None:
                    with_p += 1
                    significant += comparison.p <= 0.05
                wrong = {"a lasts longer": ratio <= 1.0 + 1e-12, "b lasts longer": ratio >= 1.0 - 1e-12}
                false_longer += wrong.get(comparison.finding, False)
                allowed = comparison.margin or margin
                widest = max(widest, allowed)
                outside = max(ratio, 1.0 / ratio) >= allowed * (1.0 - 1e-9)
                false_equal += comparison.finding == "no meaningful difference" and outside
                given_ratio = comparison.ratio
                if given_ratio is not None and 0.0 < given_ratio < math.inf and math.isfinite(ratio):
                    log_errors.append(math.log(given_ratio / ratio))
                low = 0.0 if comparison.low is None else comparison.low
                high = math.inf if comparison.high is None else comparison.high
                if low <= 0.0 and math.isinf(high):
                    continue
                claims += 1
                above, below = ratio < low * (1.0 - 1e-9), ratio > high * (1.0 + 1e-9)
                ratio_low += below
                ratio_high += above
                hits += not (above or below or math.isnan(low) or math.isnan(high))
                widths.append(high / low if low > 0.0 else math.inf)
        families += false_longer > false_before
    summary = summarise(lives)
    wanted = (
        "claims",
        "coverage",
        "coverage_low",
        "coverage_high",
        "dead_called_alive",
        "alive_called_dead",
        "unclear",
        "error",
        "median_bias_pc",
        "median_width_h",
    )
    low, high = wilson(hits, claims)
    return {
        "cell": cell.name,
        "studies": studies,
        **{f"life_{key}": summary[key] for key in wanted},
        "pairs": pairs,
        "ratio_claims": claims,
        "ratio_coverage": _percent(hits, claims),
        "ratio_coverage_low": low,
        "ratio_coverage_high": high,
        "ratio_too_high": _percent(ratio_high, pairs),
        "ratio_too_low": _percent(ratio_low, pairs),
        "ratio_bias_pc": None if not log_errors else 100.0 * math.expm1(float(np.median(log_errors))),
        "ratio_median_width": _median(widths),
        "with_p": with_p,
        "significant": _percent(significant, pairs),
        "a_longer": _percent(found["a lasts longer"], pairs),
        "b_longer": _percent(found["b lasts longer"], pairs),
        "no_difference": _percent(found["no meaningful difference"], pairs),
        "not_settled": _percent(found["not settled"], pairs),
        "false_longer": _percent(false_longer, pairs),
        "family_false_longer": _percent(families, studies),
        "false_equal": _percent(false_equal, pairs),
        "margin": widest,
        "no_verdict": no_verdict,
    }


SMOOTH = (
    "straight",
    "first_order",
    "quadratic",
    "fourth_power",
    "weibull",
    "logistic",
    "fast_slow",
    "square_root",
    "plateau_below",
    "conditioning",
    "monotone",
    "convex",
)
ROUGH = ("delayed", "slow_fast", "collapse", "stairs", "stairs_just_past", "dip", "flat", "plateau")


def _cells(
    laws: Iterable[str],
    designs: Iterable[str] = ("even",),
    sizes: Iterable[int] = (12,),
    noises: Iterable[str] = ("indep_1",),
    limit: float = 80.0,
) -> list[Cell]:
    """Return the cells of a full crossing."""
    return [Cell(law, d, n, noise, limit) for law, d, n, noise in product(laws, designs, sizes, noises)]


def preset(name: str) -> list[Cell]:
    """Return a named list of cells: smooth, laws, noises, designs, sizes, rising, core or full."""
    every = SMOOTH + ROUGH
    some = ("straight", "first_order", "weibull", "logistic", "delayed", "monotone")
    all_noises = tuple(noise for noise in NOISES if noise != "none")
    all_designs = tuple(DESIGNS)
    if name == "smooth":
        return _cells(SMOOTH, noises=("indep_0.3", "indep_1", "indep_3"))
    if name == "laws":
        return _cells(every)
    if name == "noises":
        return _cells(("straight", "weibull"), noises=all_noises)
    if name == "designs":
        return _cells(some, designs=all_designs)
    if name == "sizes":
        return _cells(some, sizes=SIZES)
    if name == "rising":
        return _cells(every, limit=136.0)
    if name == "core":
        kinds = ("laws", "noises", "designs", "sizes", "rising")
        return list(dict.fromkeys(cell for kind in kinds for cell in preset(kind)))
    if name == "full":
        return _cells(every, all_designs, SIZES, all_noises)
    raise ValueError(f"no such preset: {name}")


def group_preset() -> list[GroupCell]:
    """Return the cells for groups: equal groups, true ratios, few and uneven columns, blocks, censoring."""
    cells: dict[str, dict[str, Any]] = {
        "equal 3+3": {"columns": 3},
        "equal 5+5": {"columns": 5},
        "equal 2+5": {"columns": (2, 5)},
        "equal 1+1": {"columns": 1},
        "equal 1+4": {"columns": (1, 4)},
        "equal 4+4, noise 3 %": {"noise": "indep_3"},
        "equal 4+4, heavy tails": {"spread_kind": "t4"},
        "equal 4+4, skew": {"spread_kind": "skew"},
        "equal 4+4, one run": {"noise": "common"},
        "equal 4+4, AR 0.9": {"noise": "ar_0.9"},
        "equal 4+4, 2 blocks": {"blocks": 2, "block_spread": 0.2, "spread": 0.05},
        "equal 4+4, 4 blocks": {"blocks": 4, "block_spread": 0.2, "spread": 0.05},
        "equal 4+4, 2 own blocks": {"blocks": 2, "block_spread": 0.2, "spread": 0.05, "nested_blocks": True},
        "equal 4+4, life 0.95": {"life_fraction": 0.95},
        "equal 4+4, stopped": {"life_fraction": 0.7, "censoring": 0.5},
        "equal 4+4+4": {"groups": 3},
        "equal 6 groups of 3": {"groups": 6, "columns": 3},
        "equal 4+4, start3, n 13": {"design": "start3", "n": 13, "law": "first_order"},
        "equal 4+4, rising": {"limit": 136.0},
        "equal 4+4, walk": {"noise": "walk"},
        "equal 6+3, 3 blocks": {"columns": (6, 3), "blocks": 3, "block_spread": 0.2, "spread": 0.05},
        "equal 4+4, collapse": {"law": "collapse"},
        "equal 4+4, two laws": {"law": ("first_order", "weibull")},
        "ratio 1.2, 5+5": {"columns": 5, "ratio": 1.2},
        "ratio 1.2, 5+5, spread 0.02": {"columns": 5, "ratio": 1.2, "spread": 0.02},
        "ratio 1.25, 5+5, spread 0.05": {"columns": 5, "ratio": 1.25, "spread": 0.05},
        "ratio 1.3, 3+3": {"columns": 3, "ratio": 1.3},
        "ratio 1.5, 4+4": {"ratio": 1.5},
        "ratio 0.5, 4+4": {"ratio": 0.5, "life_fraction": 0.4},
        "ratio 2, a beyond the end": {"ratio": 2.0, "life_fraction": 1.4},
        "equal 5+5, spread 0.02": {"columns": 5, "spread": 0.02},
        "flat, never": {"law": "flat"},
    }
    return [GroupCell(name, {"columns": 4, **arguments}) for name, arguments in cells.items()]


def load(reference: str) -> object:
    """Return the object named as module:name."""
    module, _, name = reference.partition(":")
    found: object = getattr(import_module(module), name)
    return found


def _run_named(task: tuple[str, Cell | GroupCell, int, int]) -> Row:
    """Run one cell with a judge given by name (in a process of its own)."""
    reference, cell, studies, first_seed = task
    judge = load(reference)
    if isinstance(cell, GroupCell):
        return run_group_cell(cast(GroupJudge, judge), cell, studies, first_seed)
    return run_cell(cast(Judge | InformedJudge, judge), cell, studies, first_seed)


def run_table(
    reference: str, cells: Sequence[Cell | GroupCell], studies: int, jobs: int = 1, first_seed: int = 0
) -> list[Row]:
    """Run a judge named module:name over cells; one row a cell."""
    tasks = [(reference, cell, studies, first_seed) for cell in cells]
    if jobs <= 1:
        return [_run_named(task) for task in tasks]
    with ProcessPoolExecutor(jobs) as pool:
        return list(pool.map(_run_named, tasks))


def write_csv(rows: Sequence[Row], path: Path) -> None:
    """Write rows as CSV."""
    with path.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.DictWriter(handle, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def write_json(rows: Sequence[Row], path: Path) -> None:
    """Write rows as JSON; an infinite number becomes null."""
    clean = [
        {k: None if isinstance(v, float) and not math.isfinite(v) else v for k, v in row.items()}
        for row in rows
    ]
    path.write_text(json.dumps(clean, indent=1) + "\n", encoding="utf-8")


def format_table(rows: Sequence[Row], columns: Sequence[str] | None = None) -> str:
    """Return rows as aligned text."""
    names = list(rows[0]) if columns is None else list(columns)

    def text(value: str | int | float | None) -> str:
        """Return one field as text."""
        if value is None:
            return "-"
        return f"{value:.1f}" if isinstance(value, float) else str(value)

    body = [[text(row[name]) for name in names] for row in rows]
    sizes = [max(len(name), *(len(line[k]) for line in body)) for k, name in enumerate(names)]
    lines = ["  ".join(name.rjust(size) for name, size in zip(names, sizes, strict=True))]
    lines += ["  ".join(field.rjust(size) for field, size in zip(line, sizes, strict=True)) for line in body]
    return "\n".join(lines)
