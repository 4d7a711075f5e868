"""How often lives hold the truth, law by law, on declines that were made without knowing this program.

In: the truths of `tests/truths/decline_truths`: laws that are not fitted here, designs and noises. Out: a
row a law, number of injections and noise. Called by `tests.calibration`.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import product

import numpy as np
from decline_truths.judging import Score, score, summarise
from decline_truths.truths import TrueSeries, series
from decline_truths.verdicts import Verdict

from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.method_notes import LawHeld
from lyewitness.decline.records import Life, Series
from lyewitness.study.records import Choices, Limit

METRIC = "plate_number_half_height"
LAWS = (
    "straight", "first_order", "delayed", "quadratic", "fourth_power", "weibull", "logistic", "fast_slow",
    "slow_fast", "square_root", "collapse", "stairs", "stairs_just_past", "dip", "plateau",
)  # fmt: skip
NUMBERS = (6, 8, 12, 24, 48)
NOISES = ("indep_0.3", "indep_1", "ar_0.6", "days", "outliers", "walk")
DESIGNS = ("even", "start3")
COLUMNS = (1, 6)
"""Columns of each study: alone, and as many as tell each other what the noise is like."""


def law_rows(
    each: int,
    seed: int,
    laws: Iterable[str] = LAWS,
    numbers: Iterable[int] = NUMBERS,
    noises: Iterable[str] = NOISES,
    columns: Iterable[int] = COLUMNS,
) -> Iterator[LawHeld]:
    """Yield a row for each law, number, noise and columns of a study, of `each` series; designs in turn."""
    for law, n, noise, together in product(laws, numbers, noises, columns):
        truths = [
            series(law, DESIGNS[number // together % len(DESIGNS)], n, noise, seed + number)
            for number in range(each)
        ]
        scores = _scores(truths, together)
        found = summarise(scores)
        claims = [one for one in scores if one.hit is not None]
        yield LawHeld(
            law,
            n,
            noise,
            together,
            each,
            len(claims),
            sum(bool(one.hit) for one in claims),
            _number(found["median_width_h"]),
            _number(found["median_bias_pc"]),
            sum(one.dead_called_alive for one in scores),
        )


def _number(value: str | int | float | None) -> float | None:
    return None if value is None or not np.isfinite(float(value)) else round(float(value), 3)


def _scores(truths: Sequence[TrueSeries], together: int) -> list[Score]:
    """Return how the lives stand that are told of `truths`, judged as studies of `together` columns."""
    studies = (truths[start : start + together] for start in range(0, len(truths), together))
    lives = [life for study in studies for life in judged_lives(study)]
    return [
        score(
            _verdict(life),
            truth.life_full_h,
            float(truth.exposures[0]),
            truth.end_h,
            truth.clearly_past_at_end,
            truth.clearly_well_at_end,
        )
        for truth, life in zip(truths, lives, strict=True)
    ]


def judged_lives(study: Sequence[TrueSeries]) -> list[Life]:
    """Return the lives that the stage tells of the columns of one study."""
    return [decline.life for decline in judge_declines([_task(*one) for one in enumerate(study)], Choices())]


def _task(column: int, truth: TrueSeries) -> Task:
    """Return one series with its limit, which is in the unit of the values."""
    bound = truth.limit
    limit = Limit(METRIC, at_least=bound) if truth.falling else Limit(METRIC, at_most=bound)
    names = tuple(f"i{number}" for number in range(len(truth.exposures)))
    hours = truth.exposures
    own = Series(f"c{column}", "g", "m", METRIC, names, hours, hours * 10.0, truth.observed)
    return Task(own, (limit,))


def _verdict(life: Life) -> Verdict:
    """Return a life as those who made the truths take it."""
    hours = life.hours
    if life.state == "not measured":
        return Verdict("unclear")
    if life.state == "not reached":
        return Verdict("not reached", None, hours.low)
    return Verdict(life.state, hours.value, hours.low, hours.high)
