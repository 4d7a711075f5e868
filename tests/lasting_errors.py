"""How often lives hold the truth where the errors of injections last: by session, by batch, by a drift.

    python -m tests.lasting_errors            60 studies of each noise, of one column and of four
    python -m tests.lasting_errors 200 5000   as many as wanted, from another seed

In: a seed. Out: a row a noise and number of columns: how many lives that are called reached hold the true
one, how wide their intervals are in shares of the test, in how many studies the life of the group holds that
of its typical column, and how many columns past the limit at the end are told as what.

Laws, schedules and errors are drawn here and nowhere else. A law is a random bend of a random clock, a
schedule even, in batches or on working days only; a session begins at a random time of the day and its error
is two to four times that of an injection, a drift is a sum of slow waves, a wander a walk in time.
"""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf
from statistics import median

import numpy as np

from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.group_lives import group_life
from lyewitness.decline.records import Decline, Series
from lyewitness.study.records import Choices, Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

LIMIT = Limit("plate_number_half_height", at_least_percent=85.0)
LOSS = 0.15
"""Share that is lost at the limit."""
SEED = 770_000
COLUMNS = (1, 4)

Clean = Callable[[FloatArray], FloatArray]
"""Share of the start that is left at exposures in hours."""


@dataclass(frozen=True)
class Column:
    """One column with its truth."""

    series: Series
    life_h: float
    typical_h: float


def law(rng: np.random.Generator) -> Clean:
    """Return a decline that passes the limit at an exposure of one."""
    kind = rng.integers(6)
    bend, floor = float(rng.uniform(0.7, 2.6)), float(rng.uniform(0.3, 0.6))
    if kind == 0:
        return lambda t: 1 - LOSS * t
    if kind == 1:
        return lambda t: np.maximum(1 - LOSS * t**bend, floor)
    if kind == 2:
        return lambda t: np.exp(np.log(1 - LOSS) * t**bend)
    if kind == 3:
        late = float(rng.uniform(0.3, 0.8))
        return lambda t: np.maximum(1 - LOSS * np.maximum(t - late, 0) / (1 - late), floor)
    if kind == 4:
        rate = float(rng.uniform(3.0, 6.0))
        return lambda t: 1 - LOSS * np.expm1(rate * np.minimum(t, 1.4)) / np.expm1(rate)
    knots = np.concatenate([[0], np.cumsum(rng.gamma(4.0, size=12))])
    return lambda t: 1 - LOSS * np.interp(t, np.arange(13) / 4, knots / knots[4])


def schedule(rng: np.random.Generator, n: int, end_h: float) -> FloatArray:
    """Return the exposures of `n` injections: evenly, in batches, or on working days with a weekend."""
    start = np.array([0.0, 0.3, 0.6])
    kind = rng.integers(3)
    if kind == 0:
        return np.concatenate([start, np.linspace(0, end_h, n - 2)[1:]])
    if kind == 1:
        batches = max((n - 3) // 3, 2)
        at = np.linspace(0, end_h, batches + 1)[1:]
        later = np.sort(np.concatenate([at[k % batches] + [0.5 * (k // batches)] for k in range(n - 3)]))
        return np.concatenate([start, later])
    worked = np.linspace(0, end_h - 48.0, n - 2)[1:]
    pause = float(rng.uniform(0.3, 0.6)) * end_h
    return np.concatenate([start, np.where(worked > pause, worked + 48.0, worked)])


def by_session(rng: np.random.Generator, hours: FloatArray) -> FloatArray:
    """Return an error of every session of a day, which begins at a random hour."""
    session = np.floor((hours + rng.uniform(0, 24)) / 24.0).astype(int)
    return np.asarray(rng.uniform(2.0, 4.0) * rng.standard_normal(session.max() + 1)[session])


def by_batch(rng: np.random.Generator, hours: FloatArray) -> FloatArray:
    """Return an error of every batch: injections with no more than two hours between them."""
    batch = np.cumsum(np.diff(hours, prepend=hours[0]) > 2.0)
    return np.asarray(rng.uniform(2.0, 4.0) * rng.standard_normal(batch.max() + 1)[batch])


def drifting(rng: np.random.Generator, hours: FloatArray) -> FloatArray:
    """Return a sum of three waves of half to one and a half turns over the test."""
    share = hours / hours[-1]
    waves = [rng.standard_normal() * np.cos(2 * np.pi * (rng.uniform(0.4, 1.5) * share + rng.random()))
             for _ in range(3)]  # fmt: skip
    return np.asarray(rng.uniform(1.5, 3.0) * np.sum(waves, axis=0))


def wandering(rng: np.random.Generator, hours: FloatArray) -> FloatArray:
    """Return a random walk in time, two to four injection errors from its start at the end."""
    steps = np.sqrt(np.diff(hours, prepend=0.0) / hours[-1])
    return np.asarray(rng.uniform(2.0, 4.0) * np.cumsum(rng.standard_normal(len(hours)) * steps))


def lagging(rng: np.random.Generator, hours: FloatArray) -> FloatArray:
    """Return serial errors, 0.9 from injection to injection."""
    errors = rng.standard_normal(len(hours))
    for k in range(1, len(hours)):
        errors[k] = 0.9 * errors[k - 1] + 0.19**0.5 * errors[k]
    return np.asarray(2.0 * errors)


def nothing(rng: np.random.Generator, hours: FloatArray) -> FloatArray:
    """Return no errors besides those of single injections."""
    return np.zeros(len(hours))


NOISES: dict[str, tuple[Callable[[np.random.Generator, FloatArray], FloatArray], bool]] = {
    "of injections alone": (nothing, False),
    "by session, of one column": (by_session, False),
    "by session, of all columns": (by_session, True),
    "by batch, of one column": (by_batch, False),
    "by batch, of all columns": (by_batch, True),
    "drift of one column": (drifting, False),
    "drift of all columns": (drifting, True),
    "random walk": (wandering, False),
    "serial, 0.9": (lagging, False),
}
"""What lasts, in standard deviations of an injection, and whether all columns share it."""


def study(noise: str, columns: int, seed: int) -> list[Column]:
    """Return the columns of one study, all of one type."""
    rng = np.random.default_rng([seed, columns, list(NOISES).index(noise)])
    lasting, common = NOISES[noise]
    n, end_h = int(rng.integers(9, 37)), float(rng.uniform(90.0, 220.0))
    clean, hours = law(rng), schedule(rng, n, end_h)
    typical = end_h * float(rng.uniform(0.25, 1.2))
    spread, size = (
        float(rng.choice([0.0, 0.05, 0.15])),
        float(np.exp(rng.uniform(np.log(0.002), np.log(0.01)))),
    )
    shared = lasting(rng, hours)
    found = []
    for number in range(columns):
        stretch = typical * float(np.exp(spread * rng.standard_normal()))
        errors = rng.standard_normal(n) + (shared if common else lasting(rng, hours))
        value = 9000.0 * clean(hours / stretch) * np.exp(size * errors)
        names = tuple(f"c{number}-{k}" for k in range(n))
        series = Series(f"c{number}", "g", "m", LIMIT.metric, names, hours, hours * 10.0, value)
        found.append(Column(series, stretch * _life(clean, hours / stretch), typical))
    return found


def _life(clean: Clean, reference: FloatArray) -> float:
    """Return where the decline passes 85 % of its mean over the first three injections."""
    fine = np.linspace(0.0, 3.0, 30_001)
    past = clean(fine) < (1 - LOSS) * clean(reference[:3]).mean()
    return float(fine[np.argmax(past)]) if past.any() else inf


def holds(estimate: Estimate, truth: float) -> bool:
    """Say whether an interval holds the truth; to a hundredth of an hour, as exposures are stated."""
    low, high = estimate.low or 0.0, inf if estimate.high is None else estimate.high
    return low - 0.01 <= truth <= high + 0.01


@dataclass
class Count:
    """What became of the studies of one noise."""

    reached: int = 0
    held: int = 0
    groups: int = 0
    groups_held: int = 0
    dead_reached: int = 0
    dead_unclear: int = 0
    dead_alive: int = 0
    alive_dead: int = 0

    def __post_init__(self) -> None:
        """Begin without widths."""
        self.widths: list[float] = []

    def add(self, columns: Sequence[Column], declines: Sequence[Decline]) -> None:
        """Count the lives of one study."""
        for column, decline in zip(columns, declines, strict=True):
            life, end_h = decline.life, float(column.series.exposure_h[-1])
            reached, dead = life.state == "reached", column.life_h <= end_h
            self.reached += reached
            self.held += reached and holds(life.hours, column.life_h)
            if reached and life.hours.high is not None:
                self.widths.append((life.hours.high - (life.hours.low or 0.0)) / end_h)
            self.dead_reached += dead and reached
            self.dead_unclear += dead and life.state == "unclear"
            self.dead_alive += dead and life.state == "not reached"
            self.alive_dead += reached and not dead
        group = group_life(declines, 0.95).life
        if len(columns) > 1 and group.state == "reached":
            self.groups += 1
            self.groups_held += holds(group.hours, columns[0].typical_h)


def counted(noise: str, columns: int, studies: int, seed: int) -> Count:
    """Return what becomes of `studies` studies of one noise."""
    count = Count()
    for number in range(studies):
        own = study(noise, columns, seed + number)
        count.add(own, judge_declines([Task(one.series, (LIMIT,)) for one in own], Choices()))
    return count


HEAD = ("columns", "held", "%", "width", "groups", "dead: reached", "unclear", "alive", "alive: reached")
"""Of the columns of the table, after the noise."""


def told(columns: int, one: Count) -> Sequence[str]:
    """Return a row of the table."""
    width = f"{median(one.widths):.3f}" if one.widths else ""
    groups, held = f"{one.groups_held}/{one.groups}", f"{one.held}/{one.reached}"
    share = f"{100 * one.held / max(one.reached, 1):.0f}"
    dead = (one.dead_reached, one.dead_unclear, one.dead_alive, one.alive_dead)
    return (str(columns), held, share, width, groups, *(str(number) for number in dead))


def main(studies: int, seed: int) -> None:
    """Print a row a noise and number of columns."""
    print(f"{'':28}", *HEAD, sep="  ")
    for noise in NOISES:
        for columns in COLUMNS:
            cells = told(columns, counted(noise, columns, max(studies // columns, 1), seed))
            print(f"{noise:28}", *(cell.rjust(len(name)) for cell, name in zip(cells, HEAD, strict=True)),
                  sep="  ", flush=True)  # fmt: skip


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(given[0] if given else 60, given[1] if len(given) > 1 else SEED)
