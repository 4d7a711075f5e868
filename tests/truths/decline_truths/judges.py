"""Reference judges: an oracle that is told the law, and a plain analyst who interpolates."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from .noises import NOISES
from .truths import TrueSeries, TrueStudy
from .verdicts import Comparison, Finding, GroupVerdict, Verdict

FloatArray = NDArray[np.float64]

LIVES = 121
SHAPES = 49
PASSES = 10
GUARD = 8
"""The grid closes in on the accepted region with a margin of 1 / GUARD of the last grid on either side."""


@dataclass(frozen=True)
class Oracle:
    """A judge that is told the form of the law with its constants, and fits life and shape.

    Least squares with a profile interval (F quantile, unknown error variance) over a grid of lives and
    shapes that closes in on the accepted region.  ``told_noise``: generalised least squares with the true
    covariance of the noise up to its scale.  ``start_known`` false: the start is fitted as well and the
    limit is taken in per cent of the fitted start.
    """

    told_noise: bool = False
    start_known: bool = True

    def judge_series(self, truth: TrueSeries) -> Verdict:
        """Return the verdict on one series."""
        curve = truth.curve
        law = curve.law
        times = truth.exposures * curve.stretch
        end = truth.end_h * curve.stretch
        y = truth.observed - 100.0
        y = -y if curve.gain is None else y / curve.gain
        whiten = self._whitening(truth)
        parameters = 1 + (law.shape_range is not None and not law.lifeless) + (not self.start_known)
        freedom = truth.exposures.size - parameters
        quantile = float(stats.t.ppf(0.975, freedom)) ** 2
        low_life, high_life = 0.004 * end, 60.0 * end
        edge_low, edge_high = low_life, high_life
        shape_low, shape_high = law.shape_range if law.shape_range is not None else (0.0, 0.0)
        least, most = shape_low, shape_high
        lives = np.geomspace(low_life, high_life, 2 * LIVES)
        best_life, low, high = math.nan, 0.0, math.inf
        shapes = np.zeros(1)
        for _ in range(PASSES):
            shapes = np.linspace(shape_low, shape_high, SHAPES) if most > least else np.zeros(1)
            if law.lifeless:
                lives = np.asarray([end])
            with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
                loss = law.loss(
                    times[None, None, :], lives[:, None, None], shapes[None, :, None], curve.constants
                )
            rss = self._rss(loss, y, whiten)
            profile = np.min(rss, axis=1)
            threshold = float(np.min(profile)) * (1.0 + quantile / freedom) + 1e-9
            if law.lifeless:
                accepted_shapes = shapes[(rss <= threshold).any(axis=0)]
                step = float(shapes[1] - shapes[0])
                shape_low = max(least, float(accepted_shapes[0]) - SHAPES / GUARD * step)
                shape_high = min(most, float(accepted_shapes[-1]) + SHAPES / GUARD * step)
                continue
            accepted = np.flatnonzero(profile <= threshold)
            first, last = int(accepted[0]), int(accepted[-1])
            best_life = float(lives[int(np.argmin(profile))])
            low = float(lives[first]) if lives[first] > edge_low else 0.0
            high = float(lives[last]) if lives[last] < edge_high else math.inf
            if shapes.size > 1:
                chosen = shapes[np.argmin(rss[max(first - 2, 0) : last + 3], axis=1)]
                step = float(shapes[1] - shapes[0])
                shape_low = max(least, float(np.min(chosen)) - SHAPES / GUARD * step)
                shape_high = min(most, float(np.max(chosen)) + SHAPES / GUARD * step)
            margin = float(lives[1] / lives[0]) ** (lives.size / GUARD)
            below, above = max(lives[first] / margin, edge_low), min(lives[last] * margin, edge_high)
            lives = np.geomspace(below, above, LIVES)
        if law.lifeless:
            return self._lifeless(truth, float(shapes[0]), float(shapes[-1]))
        return _stated(best_life / curve.stretch, low / curve.stretch, high / curve.stretch, truth.end_h)

    def _whitening(self, truth: TrueSeries) -> FloatArray | None:
        """Return the matrix that makes the noise white, None when it is not told or is nothing."""
        noise = NOISES[truth.noise]
        if not self.told_noise or noise.typical_sd == 0.0:
            return None
        cov = noise.covariance(truth.exposures, truth.noise_free)
        return np.asarray(np.linalg.inv(np.linalg.cholesky(cov)))

    def _rss(self, loss: FloatArray, y: FloatArray, whiten: FloatArray | None) -> FloatArray:
        """Return the residual sum of squares for every pair of life and shape."""
        loss = np.broadcast_to(loss, (*loss.shape[:2], y.size))
        if self.start_known:
            residual = loss - y
            if whiten is not None:
                residual = residual @ whiten.T
            rss = np.sum(residual * residual, axis=-1)
        else:
            model, seen = 100.0 - loss, 100.0 - y
            if whiten is not None:
                model, seen = model @ whiten.T, whiten @ seen
            rss = np.sum(seen * seen) - (model @ seen) ** 2 / np.sum(model * model, axis=-1)
        return np.asarray(np.where(np.isfinite(rss), rss, 1e30))

    def _lifeless(self, truth: TrueSeries, shape_low: float, shape_high: float) -> Verdict:
        """Return the verdict for a law that never passes: is the whole accepted range short of the limit?"""
        curve = truth.curve
        ends = curve.law.loss(
            np.asarray(truth.end_h), np.asarray(1.0), np.asarray([shape_low, shape_high]), curve.constants
        )
        if float(np.max(ends)) < float(curve.constants["drop"]):
            return Verdict("not reached", None, truth.end_h, None)
        return Verdict("unclear")


def _stated(value: float, low: float, high: float, end: float) -> Verdict:
    """Give an interval the state that follows from it."""
    top = high if math.isfinite(high) else None
    if high <= end:
        return Verdict("reached", value, low, high)
    if low >= end:
        return Verdict("not reached", None, low, top)
    return Verdict("unclear", value, low, top)


oracle = Oracle()
oracle_told_noise = Oracle(told_noise=True)
oracle_free_start = Oracle(start_known=False)


def plain(exposures: FloatArray, values: FloatArray, limit: float, falling: bool) -> Verdict:
    """Interpolate between the first injection past the limit and the one before; interval = these two."""
    loss, drop = (100.0 - values, 100.0 - limit) if falling else (values - 100.0, limit - 100.0)
    past = np.flatnonzero(loss >= drop)
    if past.size == 0:
        return Verdict("not reached", None, float(exposures[-1]), None)
    k = int(past[0])
    if k == 0:
        return Verdict("reached", float(exposures[0]), float(exposures[0]), float(exposures[0]))
    t0, t1 = float(exposures[k - 1]), float(exposures[k])
    share = float((drop - loss[k - 1]) / (loss[k] - loss[k - 1]))
    return Verdict("reached", t0 + share * (t1 - t0), t0, t1)


def _settle(low: float, high: float, margin: float) -> Finding:
    """Say what an interval of a ratio means."""
    if low >= 1.0 / margin and high <= margin:
        return "no meaningful difference"
    if low > 1.0:
        return "a lasts longer"
    if high < 1.0:
        return "b lasts longer"
    return "not settled"


def oracle_groups(study: TrueStudy, margin: float = 1.2) -> GroupVerdict:
    """Judge with the true life of every column, the true block effects and the true spread.

    What is left is the luck of drawing the columns, so no honest judge has narrower intervals: mean log
    life less its block effect, plus or minus 1.96 spread / sqrt(columns).  With a skew spread the mean log
    life is 0.16 spread before the median, so there it is a little too early.
    """
    if not all(math.isfinite(column.series.life_full_h) for column in study.columns):
        return GroupVerdict({group: Verdict("not reached", None, study.end_h) for group in study.groups})
    mean: dict[str, float] = {}
    error: dict[str, float] = {}
    for group in study.groups:
        columns = study.of_group(group)
        logs = [
            math.log(column.series.life_full_h) - study.block_effects.get(column.block or "", 0.0)
            for column in columns
        ]
        mean[group] = float(np.mean(logs))
        error[group] = study.spread / math.sqrt(len(columns))
    lives = {
        group: _stated(
            math.exp(mean[group]),
            math.exp(mean[group] - 1.96 * error[group]),
            math.exp(mean[group] + 1.96 * error[group]),
            study.end_h,
        )
        for group in study.groups
    }
    comparisons = []
    for k, a in enumerate(study.groups):
        for b in study.groups[k + 1 :]:
            difference, se = mean[a] - mean[b], math.hypot(error[a], error[b])
            p = 2.0 * float(stats.norm.sf(abs(difference) / se)) if se > 0.0 else None
            low, high = math.exp(difference - 1.96 * se), math.exp(difference + 1.96 * se)
            comparisons.append(
                Comparison(a, b, math.exp(difference), low, high, p, _settle(low, high, margin), margin)
            )
    return GroupVerdict(lives, tuple(comparisons))


def welch(study: TrueStudy, margin: float = 1.2) -> GroupVerdict:
    """Judge with a Welch t test on the log lives read by ``plain``; blocks are ignored.

    A group with a column that is not reached, or with fewer than two columns, has no verdict.
    """
    logs: dict[str, FloatArray] = {}
    lives: dict[str, Verdict] = {}
    for group in study.groups:
        read = [plain(c.exposures, c.observed, study.limit, study.falling) for c in study.of_group(group)]
        values = np.asarray([v.value for v in read if v.value is not None and v.value > 0.0])
        if values.size < len(read) or values.size < 2:
            lives[group] = Verdict("unclear")
            continue
        logs[group] = np.log(values)
        centre = float(np.mean(logs[group]))
        se = float(np.std(logs[group], ddof=1)) / math.sqrt(values.size)
        half = float(stats.t.ppf(0.975, values.size - 1)) * se
        lives[group] = Verdict("reached", math.exp(centre), math.exp(centre - half), math.exp(centre + half))
    comparisons = []
    for k, a in enumerate(study.groups):
        for b in study.groups[k + 1 :]:
            if a not in logs or b not in logs:
                comparisons.append(Comparison(a, b))
                continue
            va = float(np.var(logs[a], ddof=1)) / logs[a].size
            vb = float(np.var(logs[b], ddof=1)) / logs[b].size
            difference = float(np.mean(logs[a]) - np.mean(logs[b]))
            se = math.sqrt(va + vb)
            if se == 0.0:
                comparisons.append(Comparison(a, b, math.exp(difference)))
                continue
            freedom = (va + vb) ** 2 / (va**2 / (logs[a].size - 1) + vb**2 / (logs[b].size - 1))
            half = float(stats.t.ppf(0.975, freedom)) * se
            p = 2.0 * float(stats.t.sf(abs(difference) / se, freedom))
            with np.errstate(over="ignore"):
                low, high = float(np.exp(difference - half)), float(np.exp(difference + half))
            comparisons.append(
                Comparison(a, b, math.exp(difference), low, high, p, _settle(low, high, margin), margin)
            )
    return GroupVerdict(lives, tuple(comparisons))
