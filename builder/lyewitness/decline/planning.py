"""How many columns a comparison needs.

In: a ratio of lives, the spread of log lives between columns. Out: power and numbers of columns.
"""

from math import ceil, isfinite, log, sqrt

from scipy import stats

# Nobody wears out more columns of one type for one question; beyond, the number only says "do not".
MOST_COLUMNS = 50
# Four studies of five find what is there: the power that plans commonly ask for.
WANTED_POWER = 0.8


def power(ratio: float, sd_log: float, columns: int, alpha: float) -> float:
    """Return the power of a two-sided t test on log lives, `columns` a side.

    Noncentral t with 2n − 2 degrees of freedom and noncentrality |ln ratio| ÷ (s √(2/n))
    (Cohen, Statistical Power Analysis; common practice). ValueError for fewer than two columns.
    """
    if columns < 2:
        raise ValueError("a comparison needs two columns a side at least")
    degrees = 2 * columns - 2
    shift = abs(log(ratio)) / (sd_log * sqrt(2 / columns))
    edge = float(stats.t.ppf(1 - alpha / 2, degrees))
    # The tail on the wrong side is below 1e-6 where the other is above a half; far out it comes as NaN.
    right, wrong = (float(stats.nct.cdf(end, degrees, shift)) for end in (edge, -edge))
    return 1 - right + (wrong if isfinite(wrong) else 0.0)


def columns_needed(
    ratio: float, sd_log: float, alpha: float, wanted_power: float = WANTED_POWER
) -> int | None:
    """Return the fewest columns a side that tell `ratio` from 1 with that power.

    None where that takes more than `MOST_COLUMNS`.
    """
    if ratio <= 0 or ratio == 1 or sd_log <= 0:
        return None
    for columns in range(2, MOST_COLUMNS + 1):
        if power(ratio, sd_log, columns, alpha) >= wanted_power:
            return columns
    return None


def pooled_sd(groups: list[list[float]]) -> tuple[float, int] | None:
    """Return the pooled standard deviation within `groups` and its degrees of freedom; None without any."""
    squares, degrees = 0.0, 0
    for values in groups:
        if len(values) > 1:
            mean = sum(values) / len(values)
            squares += sum((value - mean) ** 2 for value in values)
            degrees += len(values) - 1
    return (sqrt(squares / degrees), degrees) if degrees and squares > 0 else None


def upper_sd(sd: float, degrees: int, confidence: float = 0.8) -> float:
    """Return the one-sided upper bound of a standard deviation, from χ² (common practice for planning)."""
    return sd * sqrt(degrees / float(stats.chi2.ppf(1 - confidence, degrees)))


def success_run(share: float, confidence: float) -> int:
    """Return how many columns must last without a failure to show that `share` of them do.

    n = ln(1 − C) ÷ ln(share), rounded up (success-run theorem; common practice).
    """
    return ceil(log(1 - confidence) / log(share))
