"""How often the crossing that `look` foretells holds the true one, when a part of the injections exists.

`PYTHONPATH=tests/truths python -m tests.foretold [STUDIES] [FIRST SEED]` prints it for each kind of law,
noise and part of the test.
Laws and noises are those of `truths/decline_truths`, which knows nothing of the program; the truth is where
the noise-free curve passes the limit, wherever that lies. Counted are crossings that are foretold: a column
of which nothing is foretold makes no claim.
"""

import sys
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from decline_truths.designs import exposures
from decline_truths.laws import LAWS, draw_curve
from decline_truths.noises import NOISES

from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.records import Series
from lyewitness.study.records import Choices, Limit

KINDS = {
    "a line": ("straight",),
    "accelerating": ("quadratic", "fourth_power", "weibull"),
    "delayed": ("delayed",),
    "two phases": ("fast_slow", "slow_fast"),
    "slowing": ("first_order", "square_root"),
    "S-shaped": ("logistic",),
}
PARTS = (1 / 3, 1 / 2, 2 / 3)
WITH = ("indep_1", "days")
END_H, INJECTIONS, LIMIT = 120.0, 20, 80.0
FURTHEST_H = 400.0
"""So far the truth is looked for."""


@dataclass(frozen=True)
class Held:
    """How many of the foretold crossings hold the truth."""

    foretold: int
    held: int
    sooner: int
    """True crossings before the interval."""
    later: int

    @property
    def share(self) -> float:
        """Return the share that holds it; NaN of none."""
        return self.held / self.foretold if self.foretold else float("nan")


def drawn(kind: str, noise: str, part: float, seeds: Sequence[int]) -> Iterator[tuple[Task, float]]:
    """Yield the first `part` of a test as a task, with the true crossing, where that is still to come."""
    for seed in seeds:
        rng = np.random.default_rng([seed, zlib.crc32((kind + noise).encode())])
        hours = exposures("start3", INJECTIONS, rng)
        hours = hours * END_H / hours[-1]
        law = LAWS[KINDS[kind][seed % len(KINDS[kind])]]
        curve = draw_curve(law, rng, END_H, hours[4] - hours[3], LIMIT, life_fraction=rng.uniform(0.25, 1.1))
        clean = curve(hours)
        values = np.maximum(clean + NOISES[noise].draw(rng, hours, clean[None])[0], 0.1)
        seen = int((hours <= part * END_H).sum())
        truth = curve.life_at(LIMIT * float(curve(hours[:3]).mean()) / 100, FURTHEST_H)
        if truth > hours[seen - 1]:
            names = tuple(f"i{number}" for number in range(seen))
            series = Series(
                f"c{seed}", "g", "m", "plate_number_half_height", names, hours[:seen],
                np.full(seen, np.nan), 100 * values[:seen],
            )  # fmt: skip
            yield Task(series, (Limit("plate_number_half_height", at_least_percent=LIMIT),)), truth


def held(kind: str, noise: str, part: float, seeds: Sequence[int]) -> Held:
    """Return how many of the foretold crossings hold the truth."""
    found = list(drawn(kind, noise, part, seeds))
    ahead = max(END_H, 2 * part * END_H)
    declines = judge_declines([task for task, _ in found], Choices(extrapolate_to_h=ahead))
    count = sooner = later = 0
    for decline, (_, truth) in zip(declines, found, strict=True):
        hours = decline.life.hours
        if decline.life.state == "reached" or hours.value is None:
            continue
        count += 1
        sooner += truth < max(hours.low or 0.0, decline.life.bracket_h[0] or 0.0)
        later += hours.high is not None and truth > hours.high
    return Held(count, count - sooner - later, sooner, later)


def main() -> None:
    """Print how often."""
    studies = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 20_000
    for kind in KINDS:
        for noise in WITH:
            for part in PARTS:
                one = held(kind, noise, part, range(first, first + studies))
                print(
                    f"{kind:13}{noise:9}{part:5.2f}  {one.held} of {one.foretold} ({100 * one.share:.1f} %), "
                    f"sooner {one.sooner}, later {one.later}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
