"""What was measured on the peaks of a study.

In: values computed by this stage. Out: `Measurements`, the record behind `data/measurements.csv`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

FLAGS: Mapping[str, str] = {
    "saturated": "the detector was at its end: height, widths and area are lower bounds",
    "split": "the peak has two tops or a shoulder and was measured as one",
    "merged": "the peak overlaps a neighbour and was separated by a fit",
    "edge": "the peak touches the start or the end of the trace",
    "low-signal": "the signal-to-noise ratio is below 10",
    "few-points": "fewer than eight points stand above half height: widths are uncertain",
    "doubtful": "another peak could be this marker",
    "overlap": "the valley to a neighbour is higher than a tenth of the peak",
    "baseline": "the baseline under the peak is in doubt: what it may do to the area stands beside",
    "spikes": "spikes of one to three samples were taken out of the peak before it was measured",
    "disturbed": "what no column makes is on the peak: a bubble, a step, a dip beside it, a gap in the trace",
    "inconsistent": "plate numbers of different definitions disagree by more than the peak's shape explains",
    "uncertain": "plate number, symmetry factor or area has a standard error above 3 %",
    "stranger": "the peak holds more than was injected of the marker, or shows a second top: something else "
    "grows in or beside it",
    "not-recorded": "the run ended before the marker could have eluted",
}
"""The closed list of flags, with the words the method page uses."""


TOLERANCE = 0.05
"""Relative error beyond which a row counts as wrong: half of what a limit on the plate number usually
allows."""
LEAST_TRUST = 0.5
"""A name alone is worth this much confidence, however uncertain the numbers are."""


@dataclass(frozen=True, slots=True)
class PeakOutline:
    """Where a peak was measured, so that it can be drawn on its trace. Times in minutes."""

    start_min: float
    end_min: float
    baseline_start: float
    """Baseline under `start_min`, signal unit; the baseline is straight to `baseline_end`, or gently bent."""
    baseline_end: float
    apex_min: float
    apex_signal: float
    """Signal at the apex, baseline included."""
    half_left_min: float
    half_right_min: float
    half_signal: float
    """Signal at half height, baseline included."""


@dataclass(frozen=True, slots=True)
class PeakRow:
    """One marker in one injection. None is 'not measured', never zero."""

    injection: str
    column: str
    group: str
    marker: str
    exposure_h: float
    exposure_cv: float | None
    used: bool
    found: bool
    absent_because: str = ""
    """Why the peak was not found; empty where it was."""
    confidence: float | None = None
    """How sure the assignment of peak to marker is, 0 … 1."""
    retention_time_min: float | None = None
    hold_up_time_min: float | None = None
    """Retention time of the void marker in the same injection."""
    retention_factor: float | None = None
    plate_number_half_height: float | None = None
    plate_number_tangent: float | None = None
    plate_number_moments: float | None = None
    plate_number_emg: float | None = None
    reduced_plate_height: float | None = None
    """Plate height from the half-height plate number ÷ particle size."""
    symmetry_factor: float | None = None
    asymmetry_10: float | None = None
    resolution: float | None = None
    peak_to_valley: float | None = None
    peak_area: float | None = None
    """Signal unit × minute."""
    peak_height: float | None = None
    signal_to_noise: float | None = None
    width_half_min: float | None = None
    emg: Mapping[str, Estimate] = field(default_factory=dict)
    """Parameters of an exponentially modified Gaussian beside the measured ones: `center_min`,
    `sigma_min`, `tau_min` (negative for a fronting peak), `area`, low and high one standard error away;
    empty where not fitted."""
    flags: tuple[str, ...] = ()
    """Words of `FLAGS`."""
    outline: PeakOutline | None = None
    retention_time_min_se: float | None = None
    """Standard errors of the metrics, in their units: noise, baseline and neighbours as the fit sees
    them. None where the metric is None."""
    retention_factor_se: float | None = None
    plate_number_half_height_se: float | None = None
    plate_number_tangent_se: float | None = None
    plate_number_moments_se: float | None = None
    plate_number_emg_se: float | None = None
    reduced_plate_height_se: float | None = None
    symmetry_factor_se: float | None = None
    asymmetry_10_se: float | None = None
    resolution_se: float | None = None
    peak_area_se: float | None = None
    peak_height_se: float | None = None
    width_half_min_se: float | None = None
    baseline_doubt_percent: float | None = None
    """By how much the area differs between baselines, % of it: that of the peak, that of the whole trace,
    and the levels ahead of the peak and far behind it."""
    spikes_removed: int = 0
    """Spikes that were taken out of the signal between start and end of the peak."""
    resolution_because: str = ""
    """Why there is no resolution; empty where there is one, and for the first marker."""


@dataclass(frozen=True, slots=True)
class VoidVolume:
    """Volume of mobile phase in a column, by which column volumes are counted."""

    volume_mL: float
    origin: str
    """Where it comes from, in words."""


@dataclass(frozen=True, eq=False, slots=True)
class Measurements:
    """Every marker of every injection, in the order of the study's injections and markers."""

    rows: tuple[PeakRow, ...]
    baselines: Mapping[str, tuple[FloatArray, FloatArray]] = field(default_factory=dict)
    """By injection: (time in minutes, baseline in signal unit), a few support points each."""
    unassigned: Mapping[str, tuple[PeakOutline, ...]] = field(default_factory=dict)
    """By injection: peaks that were found and belong to no marker."""
    void_volumes: Mapping[str, VoidVolume] = field(default_factory=dict)
    """By column; a column of which nothing is known has none."""
    method_notes: tuple[tuple[str, str], ...] = ()
    """(heading, text) for the method page: what was done and how true it proved in simulation."""

    def of(self, injection: str, marker: str) -> PeakRow:
        """Return the row of that injection and marker; KeyError where there is none."""
        for row in self.rows:
            if row.injection == injection and row.marker == marker:
                return row
        raise KeyError((injection, marker))
