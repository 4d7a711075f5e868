"""Every metric, each told once: its words, unit, decimals, and what it means.

In: nothing. Out: `METRICS`, from which columns of tables, possible limits, labels, axes and the glossary of
the method derive.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import floor, isfinite, log10
from typing import Literal

from lyewitness.words.numbers import DASH, fixed, with_unit
from lyewitness.words.phrases import listed

Course = Literal["falls", "rises", "either"]
Column = Literal["promised", "beside", "none"]

CHAPTER = (
    "harmonised general chapter on chromatographic separation techniques (USP <621>, Ph. Eur. 2.2.46, 2022)"
)
NOMENCLATURE = "IUPAC, Nomenclature for chromatography, Pure Appl. Chem. 1993, 65, 819 (from memory)"
# Four figures tell apart what a detector can tell apart (it repeats to a few parts in a thousand).
FIGURES_WANTED = 4
# Beyond six decimals a column of numbers cannot be read; no detector's unit asks for more.
MOST_PLACES = 6


@dataclass(frozen=True, slots=True)
class Metric:
    """One quantity that is measured on peaks, or logged of a column."""

    id: str
    """Its name in tables, in study.toml and as a field of records."""
    words: str
    """As a sentence has it."""
    sign: str = ""
    """Its symbol in formulas; empty where none is usual."""
    unit: str = ""
    """Its own; empty for a bare number and for what is in the detector's unit alone."""
    of_signal: bool = False
    """Whether its unit is the detector's (times `unit`, where it has one)."""
    places: int | None = None
    """Decimals in print; None where the size of the values decides."""
    limited: bool = False
    """Whether `[limits]` and questions may name it."""
    dying: Course = "either"
    """Which way it goes while a column dies."""
    watched: bool = False
    """Whether its decline is worth a look where no limit names it."""
    column: Column = "none"
    """Whether measurements.csv has it, and whether the first contract promised it."""
    shown: bool = False
    """Whether the page of an injection shows it."""
    explanation: str = ""
    """What it is, for the page of the method: the formula where there is one."""
    source: str = ""
    """Where the formula stands."""


METRICS: Mapping[str, Metric] = {
    one.id: one
    for one in (
        Metric(
            "retention_time_min", "retention time", "tR", "min", places=3, limited=True, dying="falls",
            column="promised", shown=True,
            explanation="Time from injection to the apex of the peak, from a parabola through the highest "
            "points.",
            source=NOMENCLATURE,
        ),
        Metric(
            "hold_up_time_min", "hold-up time", "t0", "min", places=3, limited=True, column="beside",
            explanation="Retention time of the marker that is not retained, in the same injection.",
            source=NOMENCLATURE,
        ),
        Metric(
            "retention_factor", "retention factor", "k", places=2, limited=True, dying="falls", watched=True,
            column="promised", shown=True,
            explanation="(tR − t0) ÷ t0, with t0 the retention time of the hold-up marker in the same "
            "injection.",
            source=NOMENCLATURE,
        ),
        Metric(
            "plate_number_half_height", "plate number (half height)", "N", places=0, limited=True,
            dying="falls", watched=True, column="promised", shown=True,
            explanation="5.54 (tR ÷ W0.5)², W0.5 the width at half height.",
            source=CHAPTER,
        ),
        Metric(
            "plate_number_tangent", "plate number (tangents)", "N", places=0, limited=True, dying="falls",
            column="promised", shown=True,
            explanation="16 (tR ÷ W)², W the width at the baseline between the tangents at the points of "
            "inflexion.",
            source=CHAPTER,
        ),
        Metric(
            "plate_number_moments", "plate number (moments)", "N", places=0, limited=True, dying="falls",
            column="promised", shown=True,
            explanation="Square of the mean time ÷ variance, from the statistical moments of the peak: it "
            "sees the whole tail.",
        ),
        Metric(
            "plate_number_emg", "plate number (exponentially modified Gaussian)", "N", places=0, limited=True,
            dying="falls", column="promised", shown=True,
            explanation="41.7 (tR ÷ W0.1)² ÷ (B/A + 1.25), after Foley and Dorsey (1983): for peaks with an "
            "exponential tail.",
            source="Foley and Dorsey, Anal. Chem. 1983, 55, 730 (from memory)",
        ),
        Metric(
            "reduced_plate_height", "reduced plate height", "h", places=2, limited=True, dying="rises",
            column="beside", shown=True,
            explanation="Column length ÷ plate number ÷ particle size.",
            source=NOMENCLATURE,
        ),
        Metric(
            "symmetry_factor", "symmetry factor", "As", places=2, limited=True, dying="rises", watched=True,
            column="promised", shown=True,
            explanation="W0.05 ÷ 2d, widths at 5 % of the height, d from the front to the apex. 1 is "
            "symmetric, above 1 tails.",
            source=CHAPTER,
        ),
        Metric(
            "asymmetry_10", "asymmetry at 10 % of the height", "B/A", places=2, limited=True, dying="rises",
            column="promised", shown=True,
            explanation="B ÷ A at 10 % of the height, B behind the apex, A before it.",
        ),
        Metric(
            "resolution", "resolution", "Rs", places=2, limited=True, dying="falls", column="promised",
            shown=True,
            explanation="1.18 (tR,2 − tR,1) ÷ (W0.5,1 + W0.5,2), to the peak before it.",
            source=CHAPTER,
        ),
        Metric(
            "peak_to_valley", "peak-to-valley ratio", "p/v", places=1, dying="falls", column="beside",
            shown=True,
            explanation="Height of the smaller peak ÷ height of the valley above the baseline.",
            source=CHAPTER,
        ),
        Metric(
            "peak_area", "peak area", "A", "min", of_signal=True, limited=True, watched=True,
            column="promised", shown=True,
            explanation="Signal above the baseline × time, in the detector’s unit × minute.",
        ),
        Metric(
            "peak_height", "peak height", "H", of_signal=True, limited=True, dying="falls",
            column="promised", shown=True,
            explanation="Signal at the apex above the baseline.",
        ),
        Metric(
            "signal_to_noise", "signal-to-noise ratio", "S/N", places=0, limited=True, dying="falls",
            column="promised", shown=True,
            explanation="2H ÷ h, H the height of the peak, h the noise from peak to peak in a window "
            "beside it.",
            source=CHAPTER,
        ),
        Metric(
            "width_half_min", "width at half height", "W0.5", "min", places=4, dying="rises", column="beside",
            explanation="Width of the peak half-way from the baseline to its top.",
        ),
        Metric(
            "pressure_bar", "pressure", "p", "bar", places=0, limited=True, dying="rises",
            explanation="As the conditions log has it; it belongs to the column, not to a marker.",
        ),
        Metric("temperature_C", "temperature", "T", "°C", places=1),
        Metric("ph", "pH", "pH", places=2),
        Metric("flow_mL_min", "flow rate", "F", "mL/min", places=3),
        Metric("exposure_h", "exposure", "t", "h", places=1),
        Metric("exposure_cv", "exposure in column volumes", "CV", places=0),
    )
}  # fmt: skip
"""In the order of tables and pages."""
LIMITED = tuple(one.id for one in METRICS.values() if one.limited)
"""What `[limits]` and questions may name. `hold_up_time_min` is the retention time of the void marker."""
WATCHED = tuple(one.id for one in METRICS.values() if one.watched)
"""What is followed without a limit."""
SHOWN = tuple(one.id for one in METRICS.values() if one.shown)
"""What the page of an injection shows."""


def measured(column: Column) -> tuple[str, ...]:
    """Return the metrics that measurements.csv holds as `promised` ones, or `beside` them."""
    return tuple(one.id for one in METRICS.values() if one.column == column)


def metric_of(name: str) -> Metric:
    """Return the metric of that id; a plain one in its own words where there is none."""
    return METRICS.get(name, Metric(name, name.replace("_", " ")))


def metric_name(metric: str) -> str:
    """Return the words a report has for `metric`."""
    return metric_of(metric).words


def metric_of_marker(marker: str, metric: str) -> str:
    """Return `plate number (half height) of toluene`, or `pressure` for a metric of the column itself."""
    return f"{metric_name(metric)} of {marker}" if marker else metric_name(metric)


ANY_LIMIT = "any_limit"
"""Stands for a metric where a column is told by whichever of its limits it passed first."""


def the_metric(marker: str, metric: str) -> str:
    """Return a metric with its article, as a sentence has it; `any limit` where none is singled out."""
    if metric == ANY_LIMIT:
        return metric_name(metric)
    return f"the {metric_of_marker(marker, metric)}"


def any_of(those: Iterable[tuple[str, str]]) -> str:
    """Return `the plate number of toluene or aniline, or the pressure` of markers and their metrics."""
    markers: dict[str, list[str]] = {}
    for marker, metric in those:
        markers.setdefault(metric, []).append(marker)
    return ", or ".join(the_metric(listed(of, "or"), metric) for metric, of in markers.items())


def unit_of(metric: str, signal_unit: str = "") -> str:
    """Return the unit of `metric`; areas and heights are in the detector's own, empty where unknown."""
    one = metric_of(metric)
    if not one.of_signal:
        return one.unit
    return f"{signal_unit} {one.unit}".strip() if signal_unit else ""


def axis_words(metric: str) -> str:
    """Return the label of an axis in the metric's own unit."""
    unit = unit_of(metric, "signal").replace(" ", " × ")
    return f"{metric_name(metric)} / {unit}" if unit else metric_name(metric)


def places_in(metric: str, values: Iterable[float | None]) -> int:
    """Return the decimals for all `values` of one metric in one table."""
    places = metric_of(metric).places
    if places is not None:
        return places
    sizes = [abs(value) for value in values if value is not None and isfinite(value) and value]
    if not sizes:
        return 0
    return min(MOST_PLACES, max(0, FIGURES_WANTED - 1 - floor(log10(max(sizes)))))


def metric_text(metric: str, value: float | None, signal_unit: str = "") -> str:
    """Return one value with its unit; an en dash where it was not measured."""
    if value is None:
        return DASH
    return with_unit(fixed(value, places_in(metric, [value])), unit_of(metric, signal_unit))
