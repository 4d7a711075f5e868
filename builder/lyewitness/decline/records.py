"""How the columns declined, how long they lasted and how the groups differ.

In: values computed by this stage. Out: `Judgement`, the record behind `data/decline.csv` and
`data/comparisons.csv`. Every array is read-only.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from lyewitness.study.records import Limit
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

ModelName = Literal["steady", "straight line", "first order", "delayed", "sigmoid"]
LifeState = Literal["reached", "not reached", "unclear", "not measured"]
Finding = Literal[
    "a lasts longer", "b lasts longer", "no meaningful difference", "not settled", "these columns only"
]
SameEffect = Literal["alike", "differs", "cannot tell"]


@dataclass(frozen=True, eq=False, slots=True)
class Series:
    """One metric of one marker on one column against exposure; used injections only."""

    column: str
    group: str
    marker: str
    """Marker id; empty for a metric of the column itself (pressure)."""
    metric: str
    injections: tuple[str, ...]
    """(n,) ids; for a logged condition the words of its row."""
    exposure_h: FloatArray
    """(n,) hours, not decreasing."""
    exposure_cv: FloatArray
    """(n,) column volumes; NaN where they cannot be known."""
    value: FloatArray
    """(n,) in the metric's own unit, finite."""
    clock_h: FloatArray | None = None
    """(n,) when they were made, hours after the midnight before the study's first; None where not stated."""
    confidence: FloatArray | None = None
    """(n,) how sure each value is, 0 … 1; None where nothing is known of it."""


@dataclass(frozen=True, slots=True)
class ModelFit:
    """One model fitted to one series in percent of the reference."""

    name: ModelName
    parameters: Mapping[str, float]
    """By name, units in the name (`rate_per_h`, `delay_h`, …)."""
    aicc: float
    """Akaike's criterion, corrected for small samples."""
    residual_sd: float
    """Residual standard deviation, % of the reference."""


@dataclass(frozen=True, slots=True)
class Watched:
    """How the columns of a group were watched, where the bound of its life would be that of the shortest."""

    number: int
    """Columns of which the life is."""
    failed: int
    """Those that passed the limit."""
    shortest_h: float
    """How long the one of the others was watched that was watched the shortest, hours …"""
    longest_h: float
    """… and the longest."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the columns did of which a typical life is told."""

    number: int
    """Columns of which the life is."""
    low_h: float
    """What every one of them surely held, hours."""
    high_h: float | None
    """By when all of them had surely failed, hours; None where not all did."""


@dataclass(frozen=True, slots=True)
class Life:
    """Exposure at which a metric passes its limit."""

    state: LifeState
    hours: Estimate = field(default_factory=Estimate)
    """`reached`: value and interval, or both ends where only the injections speak. `not reached`: only `low`,
    which the data do show. `unclear`: `low`, and where the curve passes, if it does."""
    column_volumes: Estimate = field(default_factory=Estimate)
    bracket_h: tuple[float | None, float | None] = (None, None)
    """Last injection seen within the limit before any was past it, first from which all were, hours."""
    conservative_h: float | None = None
    """Where the one-sided bound of the mean line meets the limit (ICH Q1E), hours."""
    extrapolated: bool = False
    """True where `hours` lies beyond what was run; only on demand."""
    from_bracket: bool = False
    """True where most of the change came between two injections: where it lies between them nobody saw, and
    columns that were looked at after the same exposures share that."""
    recovered_h: tuple[float | None, float | None] = (None, None)
    """Where the limit was passed and the metric came back: last injection seen past it, first seen within it
    again, hours."""
    watched: Watched | None = None
    """Of a group whose columns held and were not watched alike; else None."""
    tested: Outcome | None = None
    """Of a group with a typical life: beside an interval that tells nothing of it stands what was seen."""

    @property
    def is_bracketed(self) -> bool:
        """Return whether nobody saw where in its bracket a `reached` life lies."""
        return self.state == "reached" and (self.from_bracket or self.hours.value is None)


@dataclass(frozen=True, eq=False, slots=True)
class Decline:
    """One column, marker and metric: reference, model, rate, what remained, life."""

    series: Series
    reference_value: float | None
    reference_sd: float | None
    reference_n: int
    percent: FloatArray
    """(n,) % of the reference value."""
    outlying: tuple[str, ...] = ()
    """Injections outside the band of the others: shown, and left out of curve and life."""
    doubted: tuple[str, ...] = ()
    """Those of them whose peak was doubtful, and whose value the sound injections do not bear out."""
    with_doubted: Life | None = None
    """What the life would be were these counted; None where there are none, or no limit."""
    model: ModelFit | None = None
    rivals: tuple[ModelFit, ...] = ()
    """The models not chosen, best first."""
    curve_h: FloatArray = field(default_factory=lambda: np.empty(0))
    """(m,) exposures at which the fitted curve is given."""
    curve_percent: FloatArray = field(default_factory=lambda: np.empty(0))
    curve_low: FloatArray = field(default_factory=lambda: np.empty(0))
    curve_high: FloatArray = field(default_factory=lambda: np.empty(0))
    residuals: FloatArray = field(default_factory=lambda: np.empty(0))
    """(n,) measured − fitted, % of the reference."""
    serial_correlation: float | None = None
    """Lag-one correlation of the residuals."""
    serial_p: float | None = None
    """p value of 'the noise is not serial' (restricted likelihood ratio)."""
    noise_growth: float | None = None
    """Standard deviation of the noise where the metric has changed most ÷ at the start."""
    noise_growth_p: float | None = None
    """p value of 'the noise stays the same as the metric changes'."""
    errors_last: float | None = None
    """Chance that the errors of an injection and the next are much the same, as by days or in a wander."""
    band_carries_reference: bool = True
    """Whether the band holds the reference's uncertainty: not where the limit is in the metric's own unit."""
    began: Estimate = field(default_factory=Estimate)
    """With what the curve began, % of the reference, where the metric surely moved while the reference was
    taken; else empty. The interval of a life to a limit in % holds the life by that value, too."""
    end_h: float | None = None
    """Exposure of the last injection that counts, hours: used, and not left out as doubtful."""
    remaining: Estimate = field(default_factory=Estimate)
    """% of the reference at `end_h`, from the fitted curve."""
    rate_per_h: Estimate = field(default_factory=Estimate)
    """Mean relative loss per hour over the test (1/h), −ln(remaining ÷ 100 %) ÷ hours, from the same curve as
    what remains: the rate constant where the decline is of first order. Positive where the metric falls."""
    limit: Limit | None = None
    limit_percent: float | None = None
    """The limit as % of this column's reference."""
    life: Life = field(default_factory=lambda: Life("not measured"))
    if_drifting: Estimate = field(default_factory=Estimate)
    """What the life would be had the instrument drifted as far as the injections allow, hours: of a column
    that has no others beside it, whose drift nobody can tell from its decline. Else empty."""
    as_measured: Life | None = None
    """The life with what a step of all columns, or a logged condition, did to the metric; None where it is
    the same."""
    reason: str = ""
    """Why something above is missing, a sentence."""


@dataclass(frozen=True, slots=True)
class GroupLife:
    """The lives of a group's columns for one marker and metric, and what they say together."""

    group: str
    marker: str
    metric: str
    limit: Limit
    columns: tuple[str, ...]
    states: tuple[LifeState, ...]
    life: Life
    """Of the group: the typical (median, on a log scale) column. Has a value exactly where it is `reached`:
    where half of the measured columns and two at least are `reached`, or the only one measured is."""
    shortest_h: float | None = None
    """Life of the first `reached` column, hours; where nobody saw which it was the low end of `first`,
    the lowest lower end of their lives."""
    longest_h: float | None = None
    """Life of the last, or the high end of `last`, the highest upper end of all; None where not every
    measured one is `reached`."""
    first: Estimate = field(default_factory=Estimate)
    """When the first `reached` column failed: a value where one is known to be it, else between which hours,
    by the intervals of all."""
    last: Estimate = field(default_factory=Estimate)
    """When the last failed; nothing where not every measured column is `reached`."""
    rate_per_h: Estimate = field(default_factory=Estimate)
    remaining: Estimate = field(default_factory=Estimate)
    """% of the reference at the end of the test, mean over columns."""
    tested_to_h: float | None = None
    survival_h: tuple[float, ...] = ()
    """Kaplan–Meier steps: hours …"""
    survival: tuple[float, ...] = ()
    """… and the share of columns within the limit from there on."""
    conservative_how: str = ""
    """How `life.conservative_h` was had: which lines, pooled how; or why there is none."""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class FirstFailure:
    """What failed first on a column."""

    column: str
    group: str
    marker: str
    """Empty where nothing failed or the metric is the column's own."""
    metric: str
    """Empty where nothing failed: where no life is `reached`."""
    life: Life
    tied_with: tuple[tuple[str, str], ...] = ()
    """(marker, metric) whose lives cannot be told from this one's."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two groups for one marker and metric; the columns are the replicates."""

    marker: str
    metric: str
    group_a: str
    group_b: str
    columns_a: int
    columns_b: int
    life_ratio: Estimate
    """Life of a ÷ life of b; open ends where one side did not fail."""
    rate_ratio: Estimate
    """Rate of a ÷ rate of b."""
    p_value: float | None
    p_adjusted: float | None
    """After Holm, over the comparisons that `of_question` asks for, else over all of the study."""
    method: str
    """The method in words."""
    finding: Finding
    reason: str = ""
    """Why it is not settled or says nothing of the type; what would settle it."""
    exact_p: float | None = None
    """p value by exchanging the columns among the groups in all ways: takes no distribution for granted, and
    can never be small where the columns are few (0.1 for three against three). Support, not adjusted."""
    equivalence_p: float | None = None
    """p value of 'the ratio of lives lies beyond the stated margin' (two one-sided tests)."""
    rate_p: float | None = None
    """p value of 'the rates do not differ', not adjusted: support where lives were not reached."""
    control: str = ""
    """The control group where lives were compared with it by Dunnett's procedure: `p_value` and the interval
    of `life_ratio` then hold for all groups compared with it at once."""
    columns_needed: int | None = None
    """Columns on each side that would show the ratio seen here with a chance of 80 %."""
    corrected_over: int = 0
    """How many tested comparisons `p_adjusted` is corrected for, this one among them."""
    of_question: str | None = None
    """Id of the question that asks for these comparisons, empty for the first; None: all of the study."""


@dataclass(frozen=True, slots=True)
class FactorEffect:
    """What one level of a factor does to the life of a column, against the level it is held against."""

    factor: str
    level: str
    against: str
    other: str
    """Empty for the mean over all other factors; else the factor at one level of which it stands."""
    at: str
    """That level."""
    marker: str
    metric: str
    columns: tuple[str, ...]
    """Column ids at `level`."""
    columns_against: tuple[str, ...]
    """Column ids at `against`."""
    ratio: Estimate
    """Life at `level` ÷ life at `against`; open ends where the lives are bounds."""
    rate_ratio: Estimate
    """Rate of decline at `level` ÷ that at `against`."""
    p_value: float | None
    """Of 'the level makes no difference'; None for an effect at one level of another factor."""
    p_adjusted: float | None = None
    """After Holm, over what a question asks for by one metric, else over all others together."""
    rate_p: float | None = None
    rate_p_adjusted: float | None = None
    """After Holm, over the rates of all effects, markers and metrics."""
    method: str = ""
    additive: bool = False
    """True where single columns a cell made it necessary to take the factors to act independently."""
    corrected_over: int = 0
    """How many tests its p value is corrected for, its own among them."""
    asked: bool = False
    """Whether a question asks for these tests: main effects by the one metric that it names."""
    asked_by: str = ""
    """Id of the question that asks for it; empty where none does."""


@dataclass(frozen=True, slots=True)
class Interaction:
    """By how much the effect of a factor differs between two levels of another."""

    factor: str
    level: str
    against: str
    other: str
    at: str
    than: str
    """The effect of `level` at the level `at` of `other` is held against that at `than`."""
    marker: str
    metric: str
    ratio: Estimate
    """Ratio of lives at `at` ÷ ratio of lives at `than`."""
    p_value: float | None
    p_adjusted: float | None = None
    finding: SameEffect = "cannot tell"
    rate_ratio: Estimate = field(default_factory=Estimate)
    """Ratio of rates of decline at `at` ÷ ratio of rates at `than`."""
    rate_p: float | None = None
    rate_p_adjusted: float | None = None
    """Corrected among the interactions of rates."""
    rate_finding: SameEffect = "cannot tell"
    """Whether what a factor does to rates of decline is the same at both levels of the other."""


@dataclass(frozen=True, slots=True)
class AcceleratedFit:
    """Rate against temperature (Arrhenius) or pH for one group, marker and metric."""

    group: str
    marker: str
    metric: str
    variable: Literal["temperature", "pH"]
    settings: tuple[float, ...]
    """The temperatures (°C) or pH values."""
    rates_per_h: tuple[float, ...]
    activation_energy_kJ_mol: Estimate = field(default_factory=Estimate)
    """Arrhenius only."""
    slope_per_ph: Estimate = field(default_factory=Estimate)
    """log10 of the rate per pH unit; pH only."""
    predictions: tuple[tuple[float, Estimate], ...] = ()
    """(setting, life in hours) inside and just outside the tested range."""
    reason: str = ""


@dataclass(frozen=True, eq=False, slots=True)
class Judgement:
    """All that this stage says about a study."""

    declines: tuple[Decline, ...]
    """Every column × marker × metric: all limited metrics, and the metrics worth a look."""
    group_lives: tuple[GroupLife, ...]
    first_failures: tuple[FirstFailure, ...]
    """One a column."""
    comparisons: tuple[Comparison, ...]
    """Every pair of groups by every marker and metric, each by the question that asks for the fewest."""
    accelerated: tuple[AcceleratedFit, ...] = ()
    accelerated_reason: str = ""
    """Why nothing can be said of milder conditions, where that is so."""
    deciding: tuple[str, str] = ("", "")
    """(marker, metric) that tells the groups apart best: the one that fails first most often."""
    factor_effects: tuple[FactorEffect, ...] = ()
    """Of every factor, for every marker and metric with a limit."""
    interactions: tuple[Interaction, ...] = ()
    method_notes: tuple[tuple[str, str], ...] = ()
    """(heading, text) for the method page: what was done and how true it proved in simulation."""
