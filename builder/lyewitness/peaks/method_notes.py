"""What the method page says of this stage: how peaks were found, named and measured.

In: the study's choices, the constants of this stage, its accuracy in simulation. Out: headings and texts.

How true the values proved on simulated studies is read from `accuracy.json`, written by `python -m
tests.accuracy`.
"""

import json
from dataclasses import dataclass
from importlib import resources

from lyewitness.peaks.rows.flags import DOUBTFUL, FEW_POINTS, LOW_SIGNAL
from lyewitness.peaks.rows.grounds import GAIN
from lyewitness.peaks.rows.outlines import FOOT, MOMENT_LEVEL
from lyewitness.peaks.survey.tops import AS_WIDE, LEAST_HEIGHT_IN_NOISE, PROMINENCE_IN_NOISE, WORST_SHARE
from lyewitness.study.records import Choices
from lyewitness.words.numbers import rounded, stated


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


ACCURACY = "How true the measured values are"
"""Heading of the note that tells in words what the table of accuracy holds."""


def method_notes(choices: Choices) -> tuple[tuple[str, str], ...]:
    """Return (heading, text) of how the traces became numbers."""
    return (
        ("Finding peaks", _finding()),
        ("Baseline", _baseline()),
        ("Naming peaks", _naming()),
        ("Measuring peaks", _measuring()),
        ("Peaks that overlap", _overlapping()),
        ("Noise", _noise(choices)),
        (ACCURACY, _accuracy()),
    )


def _finding() -> str:
    return (
        "Spikes of one to three samples that no smooth curve explains are taken out and counted. "
        f"A peak rises at least {PROMINENCE_IN_NOISE:g} standard deviations of the (binned) noise above "
        f"the passes beside it and is at least {LEAST_HEIGHT_IN_NOISE:g} standard deviations of the "
        "unbinned noise high. What is sharper than any column could make it is a spike; what is wider than "
        f"half of its retention time, or has less than 1/{WORST_SHARE:g} of the plates of the sharpest tall "
        f"peak on its trace and is more than {AS_WIDE:g} times as wide, is background. A dip that the "
        "sample's solvent leaves among the first peaks has a curve of its own, which goes down; so has the "
        "lobe that mirrors it, which is no marker's."
    )


def _baseline() -> str:
    return (
        "An exponentially modified Gaussian on a straight line is fitted to each peak or cluster of peaks "
        "and taken off; a smooth curve through what is left where no peak stands is the baseline. Under "
        "each cluster it is straight. Because the tails are taken off first, the baseline does not climb "
        "into them. Each named peak is then fitted once more, on a baseline of its own whose level, slope "
        "and bend may leave that of the trace as far as the free signal beside the peak, the bend under it "
        "and the trace's roughness put it in doubt. By how much that changes the area stands beside the row. "
        "Where fits leave more than noise, one smooth baseline for all of the trace and, behind each peak, a "
        "sum of exponentials with no negative term are found together (restricted likelihood tells how "
        f"smooth); where these tails gain {GAIN:g} in log likelihood over those of the curves, they are the "
        "peaks' own, and that baseline is the ground. "
        "Where the signal behind a peak starts from another level than the one ahead of it and decays to it, "
        "that is the peak's tail: area and symmetry factor are stated with it, and the row is flagged. Where "
        "it stays at another level, the signal has jumped, and the errors hold what that may do."
    )


def _naming() -> str:
    return (
        "The peaks of a column are followed over all of its injections, forwards and then from both sides: "
        "by retention on its trend, area, width and order, for all markers together. A shift or a short "
        "injection that all peaks share is allowed for. A peak that stands beside the markers of the fresh "
        "column, and keeps its time and area, is no marker later either. "
        "The confidence of a name is the share of all "
        f"likely ways to name the injection's peaks that agree on it; below {DOUBTFUL:g} the peak is "
        "flagged as doubtful. The confidence of a row is that of its name times the chance that plate number "
        "and area are within 5 % of the truth."
    )


def _measuring() -> str:
    return (
        "Where the fitted curve describes the signal as well as the noise allows, the metrics are those of "
        "the curve. Where it does not, apex, crossings at 50, 10 and 5 % of the height and inflection "
        "tangents are read off polynomials of fifth degree through the measured points around them; the area "
        "is summed from start to end of the peak, the moments where it stands above "
        f"{100 * MOMENT_LEVEL:g} % of its height. Tops that the detector cuts or rounds are left out, and "
        "the curve goes through what lies below. Standard errors come from the covariance of the fit, from "
        "noise as it scatters at the scale of the peak, and from the doubt about the baseline. With "
        f"fewer than {FEW_POINTS} samples above half height widths are flagged."
    )


def _overlapping() -> str:
    return (
        "A neighbour's fitted curve is taken off before a peak is measured, and the peak is flagged as "
        f"merged. Where the neighbour stands higher than the foot of a peak, below {100 * FOOT:g} % of its "
        "height, the foot is that of its own curve; and where peaks have another shape than curves, the "
        "errors hold what the neighbour's foot leaves open. "
        "Markers that stand in each other are fitted together with what their other injections "
        "show of area, width, tail and time. Where even that cannot part them, both have the retention "
        "time of the common top and nothing else. Two tops or a shoulder of one marker are measured as one "
        "peak, unless they hold more than was injected of it: then a stranger is parted from the marker. "
        "Every later peak of a marker is compared with the shape of its first three: wear delays molecules "
        "by times of one most frequent value, a stranger adds a second one, and where that shows in two "
        "injections in turn the marker is flagged."
    )


def _noise(choices: Choices) -> str:
    return (
        "The signal-to-noise ratio is 2H/h, with h the range of the signal around its baseline in the "
        f"samples nearest to the peak that no peak touches, over {choices.noise_window_half_widths:g} "
        f"widths at half height. Below {LOW_SIGNAL:g} the peak is flagged."
    )


def _accuracy() -> str:
    table = shipped_accuracy()
    errors = ", ".join(f"{row.words} {rounded(row.median_error_percent, 2)} %" for row in table.metrics)
    noisiest = ", ".join(f"{row.words} {rounded(row.median_error_percent, 2)} %" for row in table.noisiest)
    return (
        f"In {table.studies}, median errors over {table.conditions} were: {errors}. Of those with a "
        f"signal-to-noise ratio below 100 alone: {noisiest}. Of {stated(table.peaks_present)} peaks "
        f"{rounded(table.named_percent, 5)} % were found and rightly named; of {table.markers_absent} "
        f"markers that were not injected {table.peaks_invented} were found."
    )
