"""The decline of every column, marker and metric.

In: `Series` with their limits, and the study's choices. Out: `Decline`s, in the order of the series.

Series of a column that share their exposures are fitted together, which is what makes many of them quick.
What their noise is like the columns say together, so one call takes the series of one study.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lyewitness.decline.bands import Asked, Band, Edges, Known, Sight, bands, sights
from lyewitness.decline.choosing import Choice, bearable, choose
from lyewitness.decline.doubted import doubted_in, held_back, left_out_words, not_borne_out, prior_odds
from lyewitness.decline.fresh import AT_THE_START, beginning, beginning_held, holding, line_of_beginning
from lyewitness.decline.lives import (
    LifeEdges,
    LimitLine,
    Seen,
    bracket,
    in_column_volumes,
    life_from_bracket,
    life_of,
    limit_line,
    run_at_end,
)
from lyewitness.decline.noise import POINTS_FOR_NOISE
from lyewitness.decline.records import Decline, Life, ModelFit, Series
from lyewitness.decline.series import read_only
from lyewitness.decline.shapes import named_parameters
from lyewitness.decline.shared_noise import ALONE, DRIFTING, HOURS_OF_A_DAY, Witness, beliefs, heard
from lyewitness.store import NO_STORE, Store, remembered
from lyewitness.study.records import Choices, Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

CURVE_POINTS = 161
"""Exposures at which curves and bands are given."""
LEAST_REFERENCE = 1e-9
"""A reference value below this share of the largest value is nothing that could be divided by."""
NEVER_OUTLYING = 3
"""Injections past the limit at the end that are never outlying: so many show that it was passed."""
JUMPED_OFF = 4.0
"""A step of so many times any other between injections is a jump; noise alone makes few such steps."""


@dataclass(frozen=True, eq=False, slots=True)
class Task:
    """One series to be judged."""

    series: Series
    limits: tuple[Limit, ...] = ()
    """Where there are several, the life is to the one that is passed first."""


def judge_declines(tasks: Sequence[Task], choices: Choices, store: Store = NO_STORE) -> tuple[Decline, ...]:
    """Return the decline of every task, in order; all are of one study.

    A column is fitted by itself, and taken from `store` where it was fitted before and the others still say
    the same of the noise: one more injection on one leaves the others as they were to the last bit, unless it
    is the last of a batch (`heard`).
    """
    places: dict[str, list[int]] = {}
    for place, task in enumerate(tasks):
        places.setdefault(task.series.column, []).append(place)
    columns = {name: _Column([tasks[place] for place in own], choices) for name, own in places.items()}
    said = {name: _evidence(column, store) for name, column in columns.items()}
    believed = _believed(columns, said)
    found: dict[int, Decline] = {}
    for name, column in columns.items():
        make = partial(_with_doubted, column, believed[name])
        declines = store.made("declines", (*column.source, *believed[name]), make)
        found.update(zip(places[name], declines, strict=True))
    return tuple(found[place] for place in range(len(tasks)))


Told = Sequence[FloatArray | None]
"""(tasks,) of (noises,): what each series says of the noise, or is told of it; none where it has no curve."""


def _believed(columns: Mapping[str, "_Column"], said: Mapping[str, Told]) -> dict[str, Told]:
    """Return by column what each of its series is to believe of the noise, from what all of them `said`."""
    witnesses = {
        (name, index): Witness(task.series.metric, name, evidence)
        for name, column in columns.items()
        for index, (task, evidence) in enumerate(zip(column.tasks, said[name], strict=True))
        if evidence is not None
    }
    belief = dict(zip(witnesses, beliefs(list(witnesses.values())), strict=True))
    return {
        name: tuple(belief.get((name, index)) for index in range(len(column.tasks)))
        for name, column in columns.items()
    }


def _with_doubted(column: "_Column", believed: Told) -> tuple[Decline, ...]:
    """Return the declines of a column, each with what the life were if its doubted values counted."""
    found = list(column.declines(believed))
    asked = [index for index, one in enumerate(found) if one.doubted and one.limit is not None]
    if asked:
        tasks = [Task(replace(found[i].series, confidence=None), column.tasks[i].limits) for i in asked]
        others = _Column(tasks, column.choices).declines([believed[index] for index in asked])
        for index, other in zip(asked, others, strict=True):
            found[index] = replace(found[index], with_doubted=other.life)
    return tuple(found)


def _evidence(column: "_Column", store: Store) -> Told:
    """Return what each series of a column says of the noise."""
    series = [_as_heard(task.series) for task in column.tasks]
    if any(one is not task.series for one, task in zip(series, column.tasks, strict=True)):
        tasks = [replace(task, series=one) for one, task in zip(series, column.tasks, strict=True)]
        column = _Column(tasks, column.choices)
    return store.made("evidence of the noise", column.source, column.evidence)


def _as_heard(series: Series) -> Series:
    """Return the part of a series that is heard of the noise."""
    n = heard(len(series.value))
    if n == len(series.value):
        return series
    return replace(
        series,
        injections=series.injections[:n],
        exposure_h=read_only(series.exposure_h[:n]),
        exposure_cv=read_only(series.exposure_cv[:n]),
        value=read_only(series.value[:n]),
        confidence=None if series.confidence is None else read_only(series.confidence[:n]),
        clock_h=None if series.clock_h is None else read_only(series.clock_h[:n]),
    )


class _Column:
    """The tasks of one column, fitted when first asked for."""

    def __init__(self, tasks: Sequence[Task], choices: Choices) -> None:
        self.tasks, self.choices = tasks, choices
        self.source = (tuple(tasks), choices)

    @cached_property
    def _batches(self) -> list[tuple[list[int], "_Batch"]]:
        """Series that share their exposures, with their places among the tasks."""
        shared: dict[tuple[int, tuple[bytes, bytes | None]], list[int]] = {}
        for index, task in enumerate(self.tasks):
            if not _unfit(task.series):
                asked = references_of(task.series.exposure_h, self.choices.reference_injections)
                reference_n = before_a_jump(task.series.value, asked)
                shared.setdefault((reference_n, _placed(task.series)), []).append(index)
        return [
            (members, _batch([self.tasks[index] for index in members], reference_n, self.choices))
            for (reference_n, _), members in shared.items()
        ]

    def evidence(self) -> Told:
        """Return what each series says of the noise."""
        found: list[FloatArray | None] = [None] * len(self.tasks)
        for members, batch in self._batches:
            for index, evidence in zip(members, batch.evidence(), strict=False):
                found[index] = evidence
        return tuple(found)

    def declines(self, believed: Told) -> tuple[Decline, ...]:
        """Return the decline of each task."""
        found: dict[int, Decline] = {}
        for members, batch in self._batches:
            own = [told for index in members if (told := believed[index]) is not None]
            found.update(zip(members, _judge_batch(batch, own, self.choices), strict=True))
        for index, task in enumerate(self.tasks):
            if index not in found:
                found[index] = _nothing(task, _unfit(task.series))
        return tuple(found[index] for index in range(len(self.tasks)))


def _placed(series: Series) -> tuple[bytes, bytes | None]:
    """Return what series fitted together share: where injections stand, by exposure and by the clock."""
    return series.exposure_h.tobytes(), None if series.clock_h is None else series.clock_h.tobytes()


def _unfit(series: Series) -> str:
    """Return why nothing can be computed from `series`; empty where something can."""
    if len(series.value) == 0:
        return "not measured in any used injection" if series.marker else "not in the conditions log"
    if series.exposure_h[-1] <= 0:
        return "no used injection after the start of the stress"
    return ""


def references_of(exposure_h: FloatArray, asked: int) -> int:
    """Return how many of the injections at `exposure_h` (n,), in hours, are the reference: those asked for.

    Where they would be all there are, nothing would be left to hold against them, and a column that died over
    them would never pass a limit: then only those at the start are, the first at least.
    """
    if asked < len(exposure_h):
        return asked
    fresh = exposure_h <= exposure_h[0] + AT_THE_START * (exposure_h[-1] - exposure_h[0])
    return min(max(int(np.count_nonzero(fresh)), 1), asked)


def before_a_jump(value: FloatArray, reference_n: int) -> int:
    """Return how many of the first `reference_n` of `value` (n,) are a reference: two at least agree.

    Where the metric jumped among them and stayed there, those after the jump are what the reference is to
    judge, and no part of it: a mean over both would lower the limit to where the column died.
    """
    for first in range(2, min(reference_n, len(value) - 1)):
        before, after = value[:first], value[first:]
        gap = max(before.min() - after.max(), after.min() - before.max())
        others = np.abs(np.diff(value))[np.arange(len(value) - 1) != first - 1]
        if gap > JUMPED_OFF * others.max():
            return first
    return min(reference_n, len(value))


def _nothing(task: Task, reason: str) -> Decline:
    """Return a decline of which nothing is known but why."""
    limit = task.limits[0] if task.limits else None
    life = Life("not measured", Estimate(reason=reason), Estimate(reason=reason))
    empty = Estimate(reason=reason)
    return Decline(
        task.series, None, None, 0, read_only([]), remaining=empty, rate_per_h=empty, limit=limit,
        life=life, reason=reason,
    )  # fmt: skip


@dataclass(frozen=True, eq=False, slots=True)
class _Batch:
    """Series that share their exposures, fitted before it is known what the study's noise is like."""

    tasks: Sequence[Task]
    percent: FloatArray
    usable: NDArray[np.bool_]
    kept: NDArray[np.bool_]
    reference_n: int
    counted: NDArray[np.bool_]
    """(series, reference_n): which of the first injections the reference is the mean of."""
    grid: FloatArray
    confidence: FloatArray
    """(series, n) how sure each value is, 0 … 1."""
    asked: Asked
    seen: Sequence[Sight]
    """Empty where the injections are too few for curves."""

    def evidence(self) -> list[FloatArray]:
        """Return (noises,) of each series; flat where there is no reference to take % of."""
        return [
            one.weighed.log_evidence * usable for one, usable in zip(self.seen, self.usable, strict=False)
        ]


# As in `choose`.
@remembered(256)
def _batch(
    tasks: Sequence[Task], reference_n: int, choices: Choices, counted: NDArray[np.bool_] | None = None
) -> _Batch:
    """Return series that share their exposures; `counted` as in `_Batch`, all where it is not given."""
    hours = tasks[0].series.exposure_h
    end_h = float(hours[-1])
    values = np.stack([task.series.value for task in tasks])
    first = values[:, :reference_n]
    counted = np.ones(first.shape, dtype=bool) if counted is None else counted
    reference = first.mean(axis=1, where=counted)
    usable = reference > LEAST_REFERENCE * values.max(axis=1)
    percent = 100.0 * values / np.where(usable, reference, 1.0)[:, None]
    u = hours / end_h
    everywhere = np.ones(len(hours), dtype=bool)
    kept = np.stack(
        [
            _never_outlying(task, scale, own, everywhere)
            for task, scale, own in zip(tasks, np.where(usable, reference, 1.0), percent, strict=True)
        ]
    )
    sure = np.ones(len(hours))
    confidence = np.stack([sure if (own := task.series.confidence) is None else own for task in tasks])
    grid = np.linspace(float(hours[0]), max(end_h, choices.extrapolate_to_h or 0.0), CURVE_POINTS)
    asked = Asked(u, reference_n, grid / end_h, choices.confidence, end_h, tasks[0].series.clock_h)
    seen = sights(asked, percent, kept) if bearable(u) else []
    return _Batch(tasks, percent, usable, kept, reference_n, counted, grid, confidence, asked, seen)


def _judge_batch(batch: _Batch, believed: Sequence[FloatArray], choices: Choices) -> list[Decline]:
    """Return the declines of a batch; `believed` (series, noises) as `shared_noise.beliefs` has it."""
    reference_n = batch.reference_n
    if not batch.seen:
        return [
            _bare(task, percent, counted, choices)
            for task, percent, counted in zip(batch.tasks, batch.percent, batch.counted, strict=True)
        ]
    absolute = [any(limit.at_least or limit.at_most for limit in task.limits) for task in batch.tasks]
    left_out = not_borne_out(batch.asked, batch.percent, batch.confidence, believed)
    found = bands(batch.asked, batch.seen, believed, _known(batch, left_out), absolute)
    counted = np.stack([~band.outlying[:reference_n] for band in found])
    if not counted.all():
        # What is outlying is no part of the reference either: else life and bracket would be to two of them.
        batch = _batch(batch.tasks, reference_n, choices, counted)
        found = bands(batch.asked, batch.seen, believed, _known(batch, left_out), absolute)
    end_h = float(batch.tasks[0].series.exposure_h[-1])
    choice = choose(batch.asked.u, batch.percent, reference_n)
    alone = [
        np.array_equal(one, ALONE) and bool(task.limits)
        for one, task in zip(believed, batch.tasks, strict=True)
    ]
    drifting = (
        bands(batch.asked, batch.seen, [DRIFTING] * len(alone), _known(batch, left_out), absolute)
        if any(alone)
        else found
    )
    view = _View(choice, found, drifting, left_out, batch.grid, end_h, choices)
    return [
        _decline(task, batch.percent[row], batch.counted[row], view, row)
        if batch.usable[row]
        else _nothing(task, "the reference value is not above zero")
        for row, task in enumerate(batch.tasks)
    ]


def _known(batch: _Batch, left_out: NDArray[np.bool_]) -> Known:
    """Return what is known of a batch: what never is outlying is found among what is not `left_out`."""
    kept = batch.kept.copy()
    for row in np.flatnonzero(left_out.any(axis=1)):
        task, percent = batch.tasks[int(row)], batch.percent[row]
        most = int(np.argmax(percent))
        reference = float(task.series.value[most] / percent[most] * 100.0)
        kept[row] = _never_outlying(task, reference, percent, ~left_out[row])
    return Known(kept, left_out, prior_odds(batch.confidence))


def _never_outlying(
    task: Task, reference: float, percent: FloatArray, used: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Return which injections (n,) are never outlying: the ends, and all of a run past a limit at the end.

    Of those that are `used` (n,).

    Nothing comes after the last one that could speak against it, and a curve that left it out would go on to
    where it stands without a measurement. So with the first: a column may lose much in its first hours.
    """
    runs = [run_at_end(limit_line(limit, float(reference)).past(percent[used])) for limit in task.limits]
    places, kept = np.flatnonzero(used), np.zeros(len(percent), dtype=bool)
    kept[places[len(places) - min(max(runs, default=0), NEVER_OUTLYING) :]] = True
    kept[[places[0], places[-1]]] = True
    return kept


@dataclass(frozen=True, eq=False, slots=True)
class _View:
    """What a batch shares."""

    choice: Choice
    bands: Sequence[Band]
    drifting: Sequence[Band]
    """Of columns that have no others beside them, as a drift would have it."""
    left_out: NDArray[np.bool_]
    """(series, n) values that are doubtful and that the sound ones do not bear out."""
    hours: FloatArray
    end_h: float
    choices: Choices


def _reference(task: Task, counted: NDArray[np.bool_]) -> tuple[float, float | None]:
    """Return the mean and the standard deviation of the counted ones of the first injections."""
    first = task.series.value[: len(counted)][counted]
    return float(first.mean()), float(first.std(ddof=1)) if len(first) > 1 else None


def _bare(task: Task, percent: FloatArray, counted: NDArray[np.bool_], choices: Choices) -> Decline:
    """Return a decline with so few points that no curve is fitted: the injections alone speak."""
    why = f"{len(percent)} used injections are too few for a curve"
    series, sure = task.series, task.series.confidence
    out = np.zeros(len(percent), dtype=bool) if sure is None else doubted_in(sure, len(counted))
    value, spread = _reference(task, counted & ~out[: len(counted)])
    if value <= LEAST_REFERENCE * task.series.value.max():
        return _nothing(task, "the reference value is not above zero")
    hours, percent = series.exposure_h, 100.0 * series.value / value if out.any() else percent
    lives: list[tuple[Life, Limit, LimitLine]] = []
    for limit in task.limits:
        line = limit_line(limit, value)
        seen = bracket(hours[~out], percent[~out], line)
        life = life_from_bracket(seen, float(hours[~out][-1]), why)
        lives.append((held_back(life, hours, percent, out, line), limit, line))
    names = tuple(name for name, left in zip(series.injections, out, strict=True) if left)
    bare = Decline(
        series, value, spread, len(counted), read_only(percent), names, names, end_h=float(hours[~out][-1]),
        remaining=Estimate(reason=why), rate_per_h=Estimate(reason=why), reason=why,
    )  # fmt: skip
    bare = replace(bare, reason="; ".join(part for part in (why, left_out_words(bare)) if part))
    return _with_life(bare, lives)


def _decline(task: Task, percent: FloatArray, counted: NDArray[np.bool_], view: _View, row: int) -> Decline:
    """Return the decline of one row of a batch."""
    value, spread = _reference(task, counted)
    choice, series = view.choice, task.series
    lines = [(limit, limit_line(limit, value)) for limit in task.limits]
    band = view.bands[row]
    outlying = band.outlying
    left_out = view.left_out[row]
    lives = [
        (_life(view, band, line, series, percent, left_out, len(counted)), limit, line)
        for limit, line in lines
    ]
    models = _models(view, row)
    fit = choice.fits[choice.names[choice.best[row]]]
    residual = percent - band.fitted
    noise, judged = fit.noise, len(residual) >= POINTS_FOR_NOISE
    decline = Decline(
        series,
        value,
        spread,
        len(counted),
        read_only(percent),
        outlying=tuple(name for name, out in zip(series.injections, outlying, strict=True) if out),
        doubted=tuple(name for name, out in zip(series.injections, left_out, strict=True) if out),
        model=models[0],
        rivals=tuple(models[1:]),
        residuals=read_only(residual),
        serial_correlation=_lag_one(residual),
        serial_p=float(noise.correlation_p[row]) if judged else None,
        noise_growth=float(np.exp(noise.growth[row])) if judged else None,
        noise_growth_p=float(noise.growth_p[row]) if judged else None,
        errors_last=band.lasting,
        began=beginning(band.relative),
        end_h=float(series.exposure_h[~left_out][-1]),
    )
    if view.drifting is not view.bands:
        drifted = [
            _life(view, view.drifting[row], line, series, percent, left_out, len(counted)).hours
            for _, line in lines
        ]
        decline = replace(decline, if_drifting=_first(drifted))
    decline = replace(decline, reason=left_out_words(decline))
    return _with_band(_with_life(decline, lives), view, band)


def _life(
    view: _View,
    band: Band,
    line: LimitLine,
    series: Series,
    percent: FloatArray,
    left_out: NDArray[np.bool_],
    reference_n: int,
) -> Life:
    """Return the life of one series to one limit; outlying injections say nothing of it.

    Where the last are `left_out` (n,) as doubtful, the test ends for it with the last that counts: the curve
    would go on to where the column stands without a measurement.
    """
    used = ~band.outlying
    kept = np.flatnonzero(used)
    jump = [band.jump[a:b].max() for a, b in pairwise(kept)]
    hours = series.exposure_h
    made_h = hours if series.clock_h is None else series.clock_h
    seen = Seen(
        hours[used], percent[used], line, band.noise_sd, band.last_odds, np.array(jump), band.lasting,
        made_h[used] // HOURS_OF_A_DAY,
    )  # fmt: skip
    curves, end_h = LifeEdges(view.hours, _edges(band, line.relative)), view.end_h
    if left_out[-1]:
        end_h = float(hours[~left_out][-1])
        curves = curves.until(max(end_h, view.choices.extrapolate_to_h or 0.0))
    life = life_of(curves, seen, end_h)
    began = beginning_held(band.relative, hours, reference_n)
    if (other := line_of_beginning(line, began)) is not None:
        life = holding(life, life_of(curves, replace(seen, line=other), end_h), end_h)
    return held_back(life, hours, percent, left_out, line) if left_out[-1] else life


def _edges(band: Band, relative: bool) -> Edges:
    """Return the edges that a limit in % of the reference takes, or one in the metric's own unit."""
    return band.relative if relative or band.absolute is None else band.absolute


def _first(lives: Sequence[Estimate]) -> Estimate:
    """Return the life that ends first, as far as it is known."""
    return min(lives, key=lambda one: np.inf if one.low is None else one.low, default=Estimate())


def _with_life(decline: Decline, lives: Sequence[tuple[Life, Limit, LimitLine]]) -> Decline:
    """Return `decline` with the life to the limit that is passed first."""
    if not lives:
        return replace(decline, life=Life("not measured", Estimate(reason="no limit is set on this metric")))

    def when(life: Life) -> tuple[bool, float, float]:
        value = life.hours.value if life.hours.value is not None else life.hours.high
        return (life.state != "reached", np.inf if value is None else value, life.hours.low or 0.0)

    life, limit, line = min(lives, key=lambda entry: when(entry[0]))
    life = in_column_volumes(life, decline.series.exposure_h, decline.series.exposure_cv)
    return replace(
        decline, life=life, limit=limit, limit_percent=line.percent, band_carries_reference=line.relative
    )


def _with_band(decline: Decline, view: _View, band: Band) -> Decline:
    """Return `decline` with its curve, its band, what remained at the end of the test and its mean rate.

    No metric is below zero. That it rises to twice all that was measured and comes back between two
    injections is no more than what few injections cannot exclude: curve and band end there.
    """
    out = np.isin(decline.series.injections, decline.doubted)
    most = 2.0 * max(float(decline.percent[~out].max()), decline.limit_percent or 0.0)
    end_h = view.end_h if decline.end_h is None else decline.end_h
    run = view.hours <= end_h
    drawn = run | (view.hours <= (view.choices.extrapolate_to_h or 0.0)) | (end_h >= view.end_h)

    def at_end(curve: FloatArray) -> float:
        return float(np.interp(end_h, view.hours, curve))

    def held(edge: FloatArray) -> FloatArray:
        return np.maximum(np.where(run, np.minimum(edge, most), edge), 0.0)

    edges = _edges(band, decline.band_carries_reference)
    value = at_end(held(edges.curve))
    shift = value - at_end(band.relative.curve)
    ends = np.clip([at_end(end) + shift for end in (band.relative.low, band.relative.high)], 0.0, most)
    remaining = Estimate(value, min(float(ends[0]), value), max(float(ends[1]), value))
    began = float(decline.series.exposure_h[: decline.reference_n].mean())
    return replace(
        decline,
        curve_h=read_only(view.hours[drawn]),
        curve_percent=read_only(held(edges.curve)[drawn]),
        curve_low=read_only(held(edges.low)[drawn]),
        curve_high=read_only(held(edges.high)[drawn]),
        remaining=remaining,
        rate_per_h=mean_rate(remaining, end_h - began),
    )


def mean_rate(remaining: Estimate, hours: float) -> Estimate:
    """Return the mean relative loss per hour (1/h) that leaves `remaining` % after `hours`."""
    if remaining.value is None or remaining.value <= 0 or hours <= 0:
        return Estimate(
            reason="nothing remained that a rate could be had from" if hours > 0 else "no time passed"
        )

    def rate(percent: float | None) -> float | None:
        return None if percent is None or percent <= 0 else -float(np.log(percent / 100.0)) / hours

    return Estimate(rate(remaining.value), rate(remaining.high), rate(remaining.low))


def _models(view: _View, row: int) -> list[ModelFit]:
    """Return every shape's fit of one row, best first; shapes the points cannot bear are left out."""
    choice = view.choice
    order = np.argsort(choice.aicc[row], kind="stable")
    names = [choice.names[index] for index in order if np.isfinite(choice.aicc[row, index])]
    best_of_name: dict[str, ModelFit] = {}
    for name in names or [choice.names[choice.best[row]]]:
        fit = choice.fits[name]
        left = fit.residual[row]
        spread = float(np.sqrt((left**2).sum() / (len(left) - fit.shape.parameters)))
        parameters = named_parameters(fit.shape, fit.theta[row], view.end_h)
        aicc = float(choice.aicc[row, choice.names.index(name)])
        best_of_name.setdefault(fit.shape.name, ModelFit(fit.shape.name, parameters, aicc, spread))
    return list(best_of_name.values())


def _lag_one(residual: FloatArray) -> float | None:
    """Return the lag-one correlation of the residuals; None where there is nothing to correlate."""
    power = float((residual**2).sum())
    return float((residual[1:] * residual[:-1]).sum() / power) if power > 0 and len(residual) > 2 else None
