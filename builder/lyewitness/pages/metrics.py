"""The words, units and decimals in which pages print a metric.

In: a metric's name and numbers. Out: text, by way of `quantities`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import floor, isfinite, log10

from lyewitness.decline.records import Life
from lyewitness.estimates import Estimate
from lyewitness.quantities import fixed, in_step, interval, rounded, with_unit
from lyewitness.study.records import LIMITED_METRICS, Limit

MEASURED = (
    "retention_time_min", "retention_factor", "plate_number_half_height", "plate_number_tangent",
    "plate_number_moments", "plate_number_emg", "reduced_plate_height", "symmetry_factor", "asymmetry_10",
    "resolution", "peak_to_valley", "peak_area", "peak_height", "signal_to_noise",
)  # fmt: skip
"""What the table of one injection shows, in this order."""


@dataclass(frozen=True, slots=True)
class Form:
    """How one metric is printed."""

    unit: str = ""
    places: int | None = None
    """Decimals; None where the size of the values decides."""


FORMS: Mapping[str, Form] = {
    "retention_time_min": Form("min", 3),
    "hold_up_time_min": Form("min", 3),
    "retention_factor": Form("", 2),
    "plate_number_half_height": Form("", 0),
    "plate_number_tangent": Form("", 0),
    "plate_number_moments": Form("", 0),
    "plate_number_emg": Form("", 0),
    "reduced_plate_height": Form("", 2),
    "symmetry_factor": Form("", 2),
    "asymmetry_10": Form("", 2),
    "resolution": Form("", 2),
    "peak_to_valley": Form("", 1),
    "signal_to_noise": Form("", 0),
    "pressure_bar": Form("bar", 0),
    "exposure_h": Form("h", 1),
    "exposure_cv": Form("", 0),
}
FIGURES_WANTED = 4
"""Significant figures of a column of numbers whose unit is the detector's own."""


def words_for(metric: str) -> str:
    """Return the words a report uses for `metric`."""
    return LIMITED_METRICS.get(metric, metric.replace("_", " "))


def places_in(metric: str, values: Iterable[float | None]) -> int:
    """Return the decimals for all `values` of one metric in one table."""
    form = FORMS.get(metric, Form())
    if form.places is not None:
        return form.places
    sizes = [abs(value) for value in values if value is not None and isfinite(value) and value]
    return min(6, max(0, FIGURES_WANTED - 1 - floor(log10(max(sizes))))) if sizes else 0


def metric_text(metric: str, value: float | None, signal_unit: str = "") -> str:
    """Return one value with its unit; an en dash where it was not measured."""
    if value is None:
        return "–"
    return with_unit(fixed(value, places_in(metric, [value])), unit_of(metric, signal_unit))


def unit_of(metric: str, signal_unit: str = "") -> str:
    """Return the unit of `metric`; areas and heights are in the detector's own."""
    if metric == "peak_height":
        return signal_unit
    if metric == "peak_area":
        return f"{signal_unit} min" if signal_unit else ""
    return FORMS.get(metric, Form()).unit


def life_text(life: Life) -> str:
    """Return a life as a report prints it: `62 h (55 to 71)`, `at least 120 h`, or why there is none."""
    if life.state in ("reached", "not reached"):
        return interval(life.hours, "h")
    return life.hours.reason or life.state


def percent_text(estimate: Estimate) -> str:
    """Return an estimate in percent with its interval."""
    return interval(estimate, "%")


def limit_text(limit: Limit | None) -> str:
    """Return a limit in words: `at least 80 % of its reference`, `at most 2.0`."""
    if limit is None:
        return ""
    for side, percent, plain in (
        ("at least", limit.at_least_percent, limit.at_least),
        ("at most", limit.at_most_percent, limit.at_most),
    ):
        if percent is not None:
            return f"{side} {with_unit(_bare(percent), '%')} of its reference"
        if plain is not None:
            return f"{side} {with_unit(_bare(plain), FORMS.get(limit.metric, Form()).unit)}"
    return ""


def hours_text(hours: float | None, beside: Estimate | None = None) -> str:
    """Return an exposure in hours, to three figures, or in step with the estimate beside it."""
    return with_unit(in_step(hours, beside or Estimate()), "h") if hours is not None else "–"


def exposure_text(hours: float | None) -> str:
    """Return the exposure at which something was done, as it was stated: `6.3 h`, not `6.30 h`."""
    if hours is None:
        return "–"
    text = rounded(hours)
    return with_unit(text.rstrip("0").rstrip(".") if "." in text else text, "h")


def _bare(value: float) -> str:
    """Return `value` with no more decimals than it has, three at most."""
    text = fixed(value, 3)
    return text.rstrip("0").rstrip(".") if "." in text else text
