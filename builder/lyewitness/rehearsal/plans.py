"""What is to be simulated: columns, markers, what befalls them, and what people say of it.

In: numbers and words chosen by a scenario. Out: `Scenario`, the plan.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

CourseKind = Literal["steady", "straight line", "first order", "delayed", "sigmoid"]
MishapKind = Literal["absent", "split", "bubble", "short injection", "leak", "left out"]
EventKind = Literal["pause", "power cut", "fresh mobile phase", "flush", "part exchanged", "other"]
Dialect = Literal[
    "comma, minutes",
    "semicolon, decimal comma, seconds",
    "tab, seconds",
    "one column",
    "UTF-16, tab, minutes",
    "ASTM E1947 netCDF",
]


@dataclass(frozen=True, slots=True)
class Course:
    """How one property changes with exposure, as a factor on its fresh value."""

    kind: CourseKind = "steady"
    rate_per_h: float = 0.0
    """Rate constant (first order, delayed, and of the exponential inside the sigmoid), or slope
    of the straight line, 1/h."""
    delay_h: float = 0.0
    """`delayed`: exposure at which the change begins; `sigmoid`: its middle; hours."""
    toward: float = 0.0
    """The factor that is approached after a long time: 0 for a loss, above 1 for a rise."""


@dataclass(frozen=True, slots=True)
class MarkerOnColumn:
    """How one marker behaves on a fresh column of a group, and how that changes."""

    retention_factor: float
    """0 for the void marker."""
    plates: float
    """Plate number by 5.54 (tR/W0.5)²."""
    tailing: float
    """τ ÷ σ of the exponentially modified Gaussian."""
    retention_course: Course = field(default_factory=Course)
    plates_course: Course = field(default_factory=Course)
    tailing_course: Course = field(default_factory=Course)


@dataclass(frozen=True, slots=True)
class MarkerPlan:
    """A compound that is injected."""

    id: str
    role: Literal["void", "neutral", "base", "acid"]
    area: float
    """Peak area, mAU min."""
    pka: float | None = None
    stated: bool = True
    """False for a stranger: injected, but not named in `study.toml`."""


@dataclass(frozen=True, slots=True)
class GroupPlan:
    """Columns of one kind."""

    name: str
    letter: str
    """The column ids are the letter and a number from 1."""
    particle: str
    bonding: str
    particle_um: float
    markers: Mapping[str, MarkerOnColumn]
    """By marker id."""
    hold_up_min: float
    """Hold-up time on a fresh column, minutes."""
    pressure_bar: float
    hold_up_course: Course = field(default_factory=Course)
    pressure_course: Course = field(default_factory=Course)
    columns: int = 3
    core_ratio: float | None = None
    length_mm: float = 50.0
    inner_diameter_mm: float = 2.1
    temperatures_C: tuple[float, ...] = ()
    """Stress temperature of the first, second, … column, repeated where there are more columns; empty
    where all are at that of the scenario's stress."""
    activation_energy_kJ_mol: float = 80.0
    """Of every change, by Arrhenius' law."""
    upstream: str = ""
    """What stands ahead of the column."""
    price: float | None = None
    """Of one column with what stands ahead of it."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Relative standard deviations between the columns of one group, on a log scale."""

    life: float = 0.12
    """Of the speed of every change: the true life of a column is that of its group ÷ its speed."""
    block: float = 0.0
    """Of the speed that the columns of one block share, because their oven is warmer or colder."""
    plates: float = 0.03
    hold_up: float = 0.006
    retention: float = 0.01
    tailing: float = 0.04
    pressure: float = 0.03


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Relative standard deviations from injection to injection; each series is serially correlated."""

    plates: float = 0.008
    retention: float = 0.0012
    hold_up: float = 0.0008
    area: float = 0.006
    tailing: float = 0.01
    pressure: float = 0.008
    serial: float = 0.4
    """Lag-one correlation."""
    growth: float = 2.0
    """The noise of a column that lost the share x of its plates is larger by 1 + growth · x."""


@dataclass(frozen=True, slots=True)
class Detector:
    """What the detector adds to the peaks."""

    interval_s: float = 0.05
    points: int = 4800
    white_noise_mAU: float = 0.02
    """Standard deviation of the white part."""
    flicker_noise_mAU: float = 0.01
    """Standard deviation of the part whose power falls as 1/f."""
    drift_mAU: float = 0.8
    """Typical size of offset, slope and slow waves of the baseline over a run."""
    saturates_at_mAU: float = 1500.0


@dataclass(frozen=True, slots=True)
class Mishap:
    """Something that befell one injection, or one marker in it."""

    kind: MishapKind
    column: str
    turn: int
    """Number of the injection on its column, from 1."""
    marker: str = ""
    """For `absent` and `split`; empty for all markers."""
    size: float = 0.0
    """`split`: distance of the two tops in standard deviations; `short injection`: the share that was
    injected; `bubble`: height of the spike, mAU; `leak`: the factor by which every peak comes later."""
    why: str = ""
    """Reason for `use = no`; empty where the injection is used all the same."""


@dataclass(frozen=True, slots=True)
class EventPlan:
    """Something that happened to one block, or to all, while the test ran."""

    kind: EventKind
    at_h: float
    """Exposure at which it happened, or began."""
    note: str
    lasting_h: float = 0.0
    """How long a pause lasted by the clock, hours; the exposure stands still meanwhile."""
    block: int = 0
    """Number of the block; 0 for all."""


@dataclass(frozen=True, slots=True)
class LimitPlan:
    """A limit as `study.toml` states it; exactly one bound is given."""

    metric: str
    at_least_percent: float | None = None
    at_most_percent: float | None = None
    at_least: float | None = None
    at_most: float | None = None


@dataclass(frozen=True, slots=True)
class Medium:
    """A mobile phase and how it is run, with the keys of `[stress]` and `[test]`."""

    buffer: str
    buffer_mM: float
    ph: float
    ph_temperature_C: float
    organic: str
    organic_percent: float
    temperature_C: float
    flow_mL_min: float
    wavelength_nm: float | None = None
    injection_uL: float | None = None


@dataclass(frozen=True, slots=True)
class QuestionPlan:
    """A question put to the study."""

    id: str
    text: str
    asked_by: str
    asked_on: date
    expectation: str = ""
    groups: tuple[str, ...] = ()
    markers: tuple[str, ...] = ()
    metrics: tuple[str, ...] = ()
    run_time_min: float | None = None
    decides: str = ""
    """`metric of marker` that is to decide; empty where the program may choose."""
    span_h: float | None = None
    """The span that the question asks about, hours."""


@dataclass(frozen=True, slots=True)
class ImagePlan:
    """A drawing that stands in for a picture of a column's packing."""

    file: str
    subject: Literal["particles", "bed", "frit"]
    column: str
    exposure_h: float
    caption: str
    alt: str
    pair: str
    nm_per_pixel: float
    damage: float
    """0 for a fresh particle or bed, 1 for a ruined one."""
    kind: Literal["micrograph", "photograph"] = "micrograph"


@dataclass(frozen=True, slots=True)
class NotePlan:
    """A dated lab note."""

    file: str
    title: str
    dated: date
    author: str
    text: str


@dataclass(frozen=True, slots=True)
class Scenario:
    """A whole study before it is run."""

    id: str
    title: str
    invented: str
    """The sentence that says so."""
    groups: tuple[GroupPlan, ...]
    markers: tuple[MarkerPlan, ...]
    stress: Medium
    test: Medium
    limits: tuple[LimitPlan, ...]
    schedule_h: tuple[float, ...]
    """Exposures at which every column is tested, hours."""
    questions: tuple[QuestionPlan, ...]
    reference_injections: int = 3
    schedule_jitter_h: float = 0.0
    """Largest shift of a single injection after the reference, hours."""
    spread: Spread = field(default_factory=Spread)
    repeatability: Repeatability = field(default_factory=Repeatability)
    detector: Detector = field(default_factory=Detector)
    mishaps: tuple[Mishap, ...] = ()
    events: tuple[EventPlan, ...] = ()
    factors: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    """By factor: by level: the groups that have it."""
    dialects: tuple[Dialect, ...] = ("comma, minutes",)
    """Export of the first, second, … column of each group; repeated where there are more columns."""
    people: tuple[tuple[str, str], ...] = ()
    """(name, role)."""
    notes: tuple[NotePlan, ...] = ()
    images: tuple[ImagePlan, ...] = ()
    keywords: tuple[str, ...] = ()
    licence: str = "CC0-1.0"
    currency: str = ""
    """Of the prices."""
    blocks: bool = False
    """True where the first, second, … columns of the groups ran side by side."""
    command: str = ""
    """What makes the folder again; empty for a scenario that no command makes."""
    started_at: datetime = datetime(2026, 3, 3, 8, 0)
    """When the stress began."""
    seed: int = 20260101
