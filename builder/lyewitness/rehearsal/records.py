"""What is true of a scenario that was run.

In: values computed by this stage. Out: `Truth`, every injection, peak and column as it is; `Rehearsal`,
the traces with it. Every array is read-only.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from lyewitness.rehearsal.plans import Dialect, Scenario
from lyewitness.words.arrays import FloatArray

__all__ = [
    "DrawnTrace",
    "Rehearsal",
    "Scenario",
    "TrueColumn",
    "TrueInjection",
    "TruePeak",
    "Truth",
]


@dataclass(frozen=True, eq=False, slots=True)
class DrawnTrace:
    """One simulated detector trace; arrays of the same length."""

    time_min: FloatArray
    signal: FloatArray
    """mAU."""


@dataclass(frozen=True, slots=True)
class TruePeak:
    """One marker in one injection as it is, noise of the detector aside.

    Widths, plate numbers and symmetry are those of the exact curve. An absent peak has area 0.
    """

    injection: str
    column: str
    group: str
    marker: str
    exposure_h: float
    present: bool
    retention_time_min: float
    """Of the apex."""
    hold_up_time_min: float
    retention_factor: float
    area: float
    """mAU min."""
    height: float
    """mAU above the baseline, before any saturation."""
    center_min: float
    """Mean of the Gaussian inside the exponentially modified Gaussian."""
    sigma_min: float
    tau_min: float
    width_half_min: float
    plate_number_half_height: float
    """5.54 (tR/W0.5)²."""
    plate_number_tangent: float
    """16 (tR/W)², W between the tangents at the inflections."""
    plate_number_moments: float
    """Square of the mean ÷ variance."""
    plate_number_emg: float
    """41.7 (tR/W0.1)² ÷ (B/A + 1.25)."""
    symmetry_factor: float
    asymmetry_10: float
    split: bool = False
    """True where the peak has two tops; center, sigma and tau are then those of either half, and all
    other values those of the sum."""
    split_by_min: float = 0.0
    """How much later the second half comes, minutes."""
    split_share: float = 1.0
    """Area of the first half ÷ whole area."""
    saturated: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class TrueColumn:
    """One column as it is: its curves without any noise, and its lives."""

    id: str
    group: str
    speed: float
    """Its changes run faster than its group's by this factor, at the temperature it was held at."""
    temperature_C: float
    """At which it was held."""
    exposure_h: FloatArray
    """(n,) of its injections."""
    curves: Mapping[tuple[str, str], FloatArray]
    """By (marker, metric): (n,) values at `exposure_h`; the marker is empty for `pressure_bar`."""
    lives_h: Mapping[tuple[str, str], float]
    """By (marker, metric) with a limit: exposure at which the curve passes it, hours, also where that
    lies beyond the test; infinite where it never does. Percentages are of the mean of the curve at
    the reference injections."""
    tested_to_h: float

    def reached(self, marker: str, metric: str) -> bool:
        """Return whether that limit was passed within the test."""
        return self.lives_h[marker, metric] <= self.tested_to_h


@dataclass(frozen=True, slots=True)
class TrueInjection:
    """One injection as it was placed and used."""

    id: str
    column: str
    group: str
    turn: int
    exposure_h: float
    dialect: Dialect
    used: bool = True
    why: str = ""


@dataclass(frozen=True, eq=False, slots=True)
class Truth:
    """All that is known beforehand."""

    injections: tuple[TrueInjection, ...]
    peaks: Mapping[tuple[str, str], TruePeak]
    """By (injection, marker)."""
    columns: Mapping[str, TrueColumn]
    pressure_bar: Mapping[str, FloatArray]
    """By column: (n,) as logged at each injection."""


@dataclass(frozen=True, eq=False, slots=True)
class Rehearsal:
    """A scenario that was run."""

    scenario: Scenario
    truth: Truth
    traces: Mapping[str, DrawnTrace]
    """By injection."""
