"""How true the measured values proved on simulated studies, as shipped with the program.

In: `accuracy.json` beside this module, written by `python -m tests.accuracy`. Out: `Accuracy`, for the
method page.
"""

import json
from dataclasses import dataclass
from importlib import resources


@dataclass(frozen=True, slots=True)
class MetricAccuracy:
    """Errors of one metric against the simulator's truth, in % of the true value."""

    metric: str
    """Field name of `PeakRow`."""
    words: str
    peaks: int
    """Peaks compared."""
    median_error_percent: float
    """Median of the absolute error."""
    bias_percent: float
    """Median of the error with its sign."""
    worst_in_twenty_percent: float
    """Nineteen of twenty absolute errors are below this."""
    limit_percent: float
    """What the median error must not exceed; the bias must not exceed a third of it."""

    @property
    def is_within(self) -> bool:
        """Return whether median error and bias keep to the limit."""
        within_bias = abs(self.bias_percent) <= self.limit_percent / 3.0
        return self.median_error_percent <= self.limit_percent and within_bias


@dataclass(frozen=True, slots=True)
class Accuracy:
    """The whole table."""

    metrics: tuple[MetricAccuracy, ...]
    """Over all peaks that meet the conditions."""
    noisiest: tuple[MetricAccuracy, ...]
    """The same over those with a signal-to-noise ratio of 50 to 100 alone."""
    conditions: str
    """Which peaks were compared."""
    studies: str
    """Which studies were simulated."""
    peaks_present: int
    peaks_lost: int
    """Present, and not found."""
    peaks_misnamed: int
    """Present, and given the place of another peak."""
    markers_absent: int
    """Markers that were not in the sample, over all injections."""
    peaks_invented: int
    """Absent, and found all the same."""

    @property
    def named_percent(self) -> float:
        """Return the share of present peaks that were found and rightly named, %."""
        return 100.0 * (1.0 - (self.peaks_lost + self.peaks_misnamed) / self.peaks_present)


def shipped_accuracy() -> Accuracy:
    """Return the table shipped with the program."""
    text = resources.files("lyewitness.peaks").joinpath("accuracy.json").read_text(encoding="utf-8")
    return accuracy_from(json.loads(text))


def accuracy_from(data: dict[str, object]) -> Accuracy:
    """Return the table from what `accuracy.json` holds; TypeError for a key too many or too few."""
    tables = {name: _metrics(data[name]) for name in ("metrics", "noisiest")}
    return Accuracy(**{**data, **tables})  # type: ignore[arg-type]


def _metrics(rows: object) -> tuple[MetricAccuracy, ...]:
    """Return the rows of one table."""
    if not isinstance(rows, list):
        raise TypeError(f"a table is a list of rows, not {type(rows).__name__}")
    return tuple(MetricAccuracy(**row) for row in rows)
