"""How wide the intervals of lives are beside those of an estimator that is told the law, series by series.

    python -m tests.widths            24 series of each law, number of injections and noise
    python -m tests.widths 100        as many as wanted; about 0.2 s a series

In: the truths of `tests/truths/decline_truths` and their `oracle` (told the law and its constants; least
squares, profile interval). Out: a row a law, each with the median ratio of the two widths over the series in
which both call the life reached: with the start known to the oracle, and with the start fitted as here.
"""

import sys
from collections.abc import Iterator
from itertools import product
from statistics import median

from decline_truths.judges import Oracle
from decline_truths.truths import TrueSeries, series

from tests.law_calibration import DESIGNS, judged_lives

SMOOTH = (
    "straight", "first_order", "quadratic", "fourth_power", "weibull", "logistic", "fast_slow", "square_root",
    "plateau_below", "conditioning", "monotone", "convex",
)  # fmt: skip
"""Laws whose life the data bear; of a collapse or a stair nobody knows more than the gap."""
NUMBERS = (8, 12, 24, 48)
NOISES = ("indep_0.3", "indep_1", "indep_3")
SEED = 51000


def width(truth: TrueSeries, low: float | None, high: float | None) -> float | None:
    """Return the width of an interval in h that ends within the test, else None."""
    if low is None or high is None or high > truth.end_h:
        return None
    return high - max(low, 0.0)


def ratios(law: str, n: int, noise: str, each: int) -> Iterator[tuple[float, float]]:
    """Yield the widths of the stage's intervals over the oracle's: its start known, its start fitted."""
    for number in range(each):
        truth = series(law, DESIGNS[number % len(DESIGNS)], n, noise, SEED + number)
        life = judged_lives([truth])[0]
        own = width(truth, life.hours.low, life.hours.high) if life.state == "reached" else None
        told = [Oracle(start_known=known).judge_series(truth) for known in (True, False)]
        theirs = [width(truth, one.low, one.high) if one.state == "reached" else None for one in told]
        known, fitted = theirs
        if own and known and fitted:
            yield own / known, own / fitted


def main(each: int) -> None:
    """Print the medians law by law, number by number, and of all."""
    found = {
        (law, n, noise): list(ratios(law, n, noise, each))
        for law, n, noise in product(SMOOTH, NUMBERS, NOISES)
    }
    print(f"{'':16}{'series':>8}{'start known':>14}{'start fitted':>14}")
    for place, names in enumerate((SMOOTH, NUMBERS, NOISES)):
        for name in names:
            tell(str(name), [pair for key, pairs in found.items() if key[place] == name for pair in pairs])
    tell("all", [pair for pairs in found.values() for pair in pairs])


def tell(name: str, pairs: list[tuple[float, float]]) -> None:
    """Print one row."""
    if pairs:
        print(f"{name:16}{len(pairs):>8}", *(f"{median(side):13.2f}" for side in zip(*pairs, strict=True)))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
