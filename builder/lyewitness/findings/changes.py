"""What changed on one column between its reference and its end, with the uncertainty of the change.

In: `Evidence`. Out: `Change`s in per cent and logged conditions, as the audit and the failure signs use them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from scipy import stats

from lyewitness.findings.evidence import Evidence
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed, interval, with_unit

LOOSE = 25.0
"""Half width, % of the reference, beyond which the band of a fitted curve is of no use."""


@dataclass(frozen=True, slots=True)
class Change:
    """A change from the first to the last injections, % of the first; interval at 95 %."""

    percent: float
    low: float
    high: float

    def falls_by(self, threshold: float) -> bool:
        """Return whether it surely fell by more than `threshold` per cent."""
        return self.high < -threshold

    def rises_by(self, threshold: float) -> bool:
        """Return whether it surely rose by more than `threshold` per cent."""
        return self.low > threshold

    def holds_within(self, threshold: float) -> bool:
        """Return whether it surely stayed within ± `threshold` per cent."""
        return -threshold <= self.low and self.high <= threshold

    def __str__(self) -> str:
        largest = max(abs(self.percent), abs(self.low), abs(self.high))
        if largest < 1:
            return with_unit("less than 0.5" if largest < 0.5 else "less than 1", "%")
        sign = "+" if self.percent >= 0.5 else ""
        ends = f"({fixed(self.low, 0)} to {fixed(self.high, 0)})"
        return f"{sign}{with_unit(fixed(self.percent, 0), '%')} {ends}"

    @property
    def of_reference(self) -> str:
        """Return what is there at the end, `45 % (43 to 47) of the reference`, as the tables have it."""
        left = Estimate(100 + self.percent, 100 + self.low, 100 + self.high)
        return f"{interval(left, '%')} of the reference"


def change_between(start: Sequence[float], end: Sequence[float]) -> Change | None:
    """Return the change from the mean of `start` to the mean of `end`, % of the first.

    Interval by the delta method with the scatter of both ends and Student's t on n1 + n2 − 2 degrees
    of freedom (common practice); None where there are fewer than three values or a zero start.
    """
    degrees = len(start) + len(end) - 2
    if not start or not end or degrees < 1 or fmean(start) == 0:
        return None
    first, last = fmean(start), fmean(end)
    first_sd, last_sd = _sd(start, end), _sd(end, start)
    ratio = last / first
    error = sqrt((last_sd / first) ** 2 / len(end) + (ratio * first_sd / first) ** 2 / len(start))
    reach = 100 * float(stats.t.ppf(0.975, degrees)) * error
    percent = 100 * (ratio - 1)
    return Change(percent, percent - reach, percent + reach)


def change_of(evidence: Evidence, column: str, marker: str, metric: str) -> Change | None:
    """Return how `metric` of `marker` changed on `column` from its reference to its end.

    By the fitted curve, where the judgement has one, so that one quantity has one number in a report. Else
    from the means of the first and the last injections, as many as the reference, never one of its own. A
    curve through so few points that its band is of no use keeps its number and takes the means' interval.
    """
    fitted = fitted_change(evidence, column, marker, metric)
    if fitted is not None and fitted.high - fitted.low <= 2 * LOOSE:
        return fitted
    values = evidence.values(column, marker, metric)
    first = evidence.study.choices.reference_injections
    means = change_between(values[:first], values[max(first, len(values) - first) :])
    if fitted is None or means is None:
        return fitted or means
    return Change(
        fitted.percent,
        fitted.percent - (means.percent - means.low),
        fitted.percent + (means.high - means.percent),
    )


def fitted_change(evidence: Evidence, column: str, marker: str, metric: str) -> Change | None:
    """Return the change by the fitted curve; None where there is none or its interval is open."""
    decline = evidence.decline(column, marker, metric)
    left = decline.remaining if decline is not None else Estimate()
    if left.value is None or left.low is None or left.high is None:
        return None
    return Change(left.value - 100, left.low - 100, left.high - 100)


def change_over_markers(
    evidence: Evidence, column: str, markers: Iterable[str], metric: str
) -> Change | None:
    """Return the mean change of `metric` over several markers; None where none was measured."""
    found = [change_of(evidence, column, marker, metric) for marker in markers]
    changes = [change for change in found if change is not None]
    if not changes:
        return None
    return Change(
        fmean(change.percent for change in changes),
        fmean(change.low for change in changes),
        fmean(change.high for change in changes),
    )


def logged_change(evidence: Evidence, column: str, quantity: str) -> Change | None:
    """Return how a logged condition changed from the first to the last quarter of the log, %."""
    values = [value for _, value in evidence.logged(column, quantity)]
    part = max(2, len(values) // 4)
    return change_between(values[:part], values[-part:]) if len(values) >= 2 * part else None


def _sd(values: Sequence[float], instead: Sequence[float]) -> float:
    """Return the standard deviation of `values`, or of `instead` where there is but one."""
    for found in (values, instead):
        if len(found) > 1:
            return stdev(found)
    return 0.0
