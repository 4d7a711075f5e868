"""Everything a study folder says, as frozen records that the later stages read.

In: values that the readers of this stage have checked. Out: `Study`.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, timezone, tzinfo
from pathlib import Path
from typing import Literal

Moment = datetime | float
"""When something happened: a time, or an exposure in hours."""
Particle = Literal[
    "porous silica",
    "porous hybrid",
    "core-shell silica",
    "core-shell hybrid surface",
    "coated silica",
    "polymer",
    "porous graphitic carbon",
    "other",
]
CLOCK = re.compile(r"(?:Z|UTC|(?P<sign>[+-])(?P<hours>0\d|1[0-4]):?(?P<minutes>00|15|30|45))")
"""The zone of a clock as its distance from UTC; zones reach 14 hours."""
MarkerRole = Literal["void", "neutral", "base", "acid"]
EventKind = Literal[
    "pause",
    "power cut",
    "flush",
    "storage",
    "fresh mobile phase",
    "part exchanged",
    "column replaced",
    "leak",
    "other",
]
ImageKind = Literal["micrograph", "photograph", "spectrum", "other"]


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who took part in the study."""

    name: str
    """As it is to stand in the report."""
    role: str = ""
    """What that person did."""
    orcid: str = ""
    """Sixteen signs in groups of four; its last is checked."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """Mobile phase, temperature and flow: of the stress, or of the injections."""

    buffer: str = ""
    """Name from the chemistry tables, or free text."""
    buffer_mM: float | None = None
    """Total buffer concentration, mmol/L of the aqueous part."""
    ph: float | None = None
    """pH as measured in the aqueous part before mixing."""
    ph_temperature_C: float | None = None
    """Temperature at which `ph` was measured, °C."""
    organic: str = ""
    """Organic solvent, such as `acetonitrile`; empty for none."""
    organic_percent: float | None = None
    """Organic part, % by volume."""
    temperature_C: float | None = None
    """Column temperature, °C."""
    flow_mL_min: float | None = None
    """Flow rate, mL/min."""
    wavelength_nm: float | None = None
    """Detection wavelength, nm."""
    injection_uL: float | None = None
    """Injected volume, µL."""


@dataclass(frozen=True, slots=True)
class Column:
    """One physical column; columns of one group are replicates of each other."""

    id: str
    """Names the column in tables, links and notes; unique."""
    label: str
    """Name in figures and sentences; its id where none is stated."""
    group: str
    """Columns of one group are replicates of each other."""
    particle: Particle
    """What its particles are made of."""
    bonding: str = ""
    """What is bonded to them, such as `C18`."""
    length_mm: float | None = None
    """Of the bed, mm."""
    inner_diameter_mm: float | None = None
    """Of the bed, mm."""
    particle_um: float | None = None
    """Diameter of the particles, µm."""
    core_ratio: float | None = None
    """Core diameter ÷ particle diameter, core-shell particles only."""
    lot: str = ""
    """Lot of the packing, as printed."""
    serial: str = ""
    """Serial number, as printed."""
    exposure_start: datetime | None = None
    """When the stress of this column began; needed where injections are placed by `at`."""
    block: str = ""
    """Columns that bear the same word ran side by side (a paired block); empty for none."""
    temperature_C: float | None = None
    """Stress temperature of this column where it differs from `[stress]`, °C."""
    ph: float | None = None
    """Stress pH of this column where it differs from `[stress]`."""
    ended: Moment | None = None
    """When the stress of this column was ended on purpose: a time, or its exposure in hours."""
    because: str = ""
    """Why it was ended then."""
    replaces: str = ""
    """Id of the column whose place it took; its own exposure began at 0."""
    upstream: str = ""
    """What stands ahead of it in the stream: a guard, a sacrificial column; free text."""
    price: float | None = None
    """Price of the column with its parts, in the study's `currency`."""


@dataclass(frozen=True, slots=True)
class Marker:
    """A compound injected again and again to see the column's state."""

    id: str
    """Names the marker in tables, limits and links; unique."""
    role: MarkerRole
    """The hold-up marker is `void`; the others by their charge."""
    retention_min: float | Mapping[str, float]
    """Where it elutes on a fresh column, minutes: one number, or by column id or group."""
    pka: float | None = None
    """pKa of the (conjugate) acid in water at 25 °C."""

    def expected_retention(self, column: Column) -> float | None:
        """Return the retention time expected on a fresh `column`, minutes; None where not stated."""
        if isinstance(self.retention_min, Mapping):
            return self.retention_min.get(column.id, self.retention_min.get(column.group))
        return self.retention_min


@dataclass(frozen=True, slots=True)
class Limit:
    """A column has failed when a marker passes this; exactly one bound is given."""

    metric: str
    """One of `words.metrics.LIMITED`."""
    at_least_percent: float | None = None
    """Lower bound, % of the column's own reference value."""
    at_most_percent: float | None = None
    """Upper bound, % of the column's own reference value."""
    at_least: float | None = None
    """Lower bound in the metric's own unit."""
    at_most: float | None = None
    """Upper bound in the metric's own unit."""
    markers: tuple[str, ...] = ()
    """Marker ids it is about; empty for every marker that has the metric."""


@dataclass(frozen=True, slots=True)
class Choices:
    """How to compute; every default is stated in the report."""

    reference_injections: int = 3
    """The first n used injections of each column are its reference."""
    confidence: float = 0.95
    """Two-sided confidence of every interval."""
    noise_window_half_widths: float = 5.0
    """Width of the window for signal-to-noise, in half-height widths of the peak."""
    equivalence_margin_percent: float = 25.0
    """Lives are 'not meaningfully different' when their ratio lies surely within this margin."""
    paired_blocks: bool = False
    """Compare columns within the blocks named in `[[column]] block`."""
    control: str = ""
    """Group that the others are compared with by Dunnett's procedure; empty for every pair alike."""
    extrapolate_to_h: float | None = None
    """Lives beyond the exposure that was run are estimated up to this; None for never."""
    seed: int = 20260101
    """Seed of every resampling."""

    @property
    def alpha(self) -> float:
        """Return the share of errors allowed, 0.05 at 0.95: 1 − 0.95 itself is a hair above it."""
        return round(1.0 - self.confidence, 12)


@dataclass(frozen=True, slots=True)
class Exports:
    """What the chromatogram files do not say of themselves."""

    time_unit: Literal["", "min", "s", "h", "ms"] = ""
    """Of files that do not state it themselves."""
    signal_unit: str = ""
    """Of files that do not state it themselves."""
    sampling_interval_s: float | None = None
    """Between two points, for files of one column of numbers, s."""
    delay_s: float = 0.0
    """Time of the first point where only an interval is given, s."""
    clock: str = ""
    """Zone of the instrument's clock, such as `-05:00`, for time stamps that bear none; empty for unknown."""
    trace: str = ""
    """Which trace of files that hold several, where injections.csv does not say."""

    @property
    def zone(self) -> tzinfo | None:
        """Return the zone that `clock` names, None where it names none."""
        found = CLOCK.fullmatch(self.clock)
        if not found:
            return None
        offset = timedelta(hours=int(found["hours"] or 0), minutes=int(found["minutes"] or 0))
        return timezone(-offset if found["sign"] == "-" else offset)


@dataclass(frozen=True, slots=True)
class Injection:
    """One injection of the markers, placed on the exposure by at least one of four ways."""

    id: str
    """Its name; unique. Headed `injection` in the table."""
    file: str
    """Path below the study folder, with `/`."""
    column: str
    """Id of the column."""
    exposure_h: float | None = None
    """Hours of stress before it."""
    exposure_mL: float | None = None
    """Volume of stress before it, mL."""
    exposure_cv: float | None = None
    """The same in column volumes: mL passed ÷ void volume."""
    at: datetime | None = None
    """When it was made, ISO 8601."""
    trace: str = ""
    """Which trace, where the file holds several."""
    used: bool = True
    """Headed `use` in the table: no leaves it out of every computation."""
    why: str = ""
    """Why it is left out; never empty where `used` is false."""
    place: str = ""
    """Where it stands in the folder, such as `injections.csv, row 14`."""
    clocked: bool = False
    """Whether `exposure_h` was reckoned from a clock: the time since the start, less the pauses."""


@dataclass(frozen=True, slots=True)
class LoggedCondition:
    """One row of the conditions log."""

    column: str
    """Id of the column."""
    exposure_h: float | None = None
    """Hours of stress before the reading."""
    exposure_mL: float | None = None
    """Volume of stress before it, mL."""
    exposure_cv: float | None = None
    """The same in column volumes."""
    at: datetime | None = None
    """When it was read, ISO 8601; without a zone, in that of the start of the exposure."""
    pressure_bar: float | None = None
    """bar"""
    temperature_C: float | None = None
    """°C"""
    ph: float | None = None
    """As measured in the aqueous part."""
    flow_mL_min: float | None = None
    """mL/min"""
    place: str = ""
    """Where it stands in the folder, such as `conditions.csv, row 14`."""


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened while the study ran, beside the injections."""

    kind: EventKind
    """What it was."""
    begin: Moment
    """When it happened, or began."""
    end: Moment | None = None
    """When it ended; None for what took no time."""
    columns: tuple[str, ...] = ()
    """Column ids; empty for all."""
    still_exposed: bool | None = None
    """Whether the stress went on meanwhile; None where the study does not say."""
    note: str = ""
    """What else there is to say of it."""

    @property
    def exposes(self) -> bool:
        """Return whether the time of this event counts as exposure: not that of a pause or a power cut."""
        if self.still_exposed is not None:
            return self.still_exposed
        return self.kind not in ("pause", "power cut")

    def touches(self, column_id: str) -> bool:
        """Return whether it happened to that column."""
        return not self.columns or column_id in self.columns


@dataclass(frozen=True, slots=True)
class Factor:
    """What was varied on purpose between columns, such as a sacrificial column ahead."""

    name: str
    """As sentences are to have it."""
    levels: Mapping[str, tuple[str, ...]]
    """Column or group ids by level."""

    def level_of(self, column: Column) -> str:
        """Return the level of a column, its own id before its group; nothing where it has none."""
        own = [level for level, members in self.levels.items() if column.id in members]
        ofgroup = [level for level, members in self.levels.items() if column.group in members]
        return next(iter([*own, *ofgroup]), "")


@dataclass(frozen=True, slots=True)
class Revision:
    """One edition of the study, as its authors number them."""

    number: int
    """1 for the first edition."""
    date: date
    """Of that edition."""
    by: str = ""
    """Who made it."""
    why: str = ""
    """What was changed, and why."""
    report: str = ""
    """Folder of the study where its report is kept: the report, its unpacked bag, or a copy of its `data`."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What was laid down before the study ran."""

    ends_h: float | None = None
    """Exposure at which the stress was to end, hours."""
    looks_h: tuple[float, ...] = ()
    """Exposures at which the columns were to be looked at, hours."""


@dataclass(frozen=True, slots=True)
class StudyImage:
    """A picture that belongs to the study; evidence only by what its caption says."""

    id: str
    """The file name without its ending, unique in the study."""
    file: str
    """Path below the study folder, with `/`."""
    caption: str
    """What it shows."""
    column: str = ""
    """Id of the column it shows."""
    exposure_h: float | None = None
    """Hours of stress before it was taken."""
    kind: ImageKind = "other"
    """What sort of picture it is."""
    nm_per_pixel: float | None = None
    """Scale, nm for each pixel."""
    pair: str = ""
    """Images that bear the same word are shown side by side; two that show one place, under one slider."""
    alt: str = ""
    """What it shows, for those who cannot see it."""
    count_particles: bool = False
    """Whether the particles in it are to be outlined, counted and measured; needs `nm_per_pixel`."""
    registered: bool | None = None
    """Whether it shows the very same place as the other of its pair; where not stated, this is found out."""


@dataclass(frozen=True, slots=True)
class Note:
    """A dated note in Markdown; its references have been checked."""

    id: str
    """The file name without its ending."""
    file: str
    """Path below the study folder, with `/`."""
    title: str
    """Of the note; its file name where none is stated."""
    text: str
    """Markdown, without the header."""
    dated: date | None = None
    """Headed `date` in the note."""
    author: str = ""
    """Who wrote it."""
    letter: str = ""
    """Id of the question in whose letter it stands as the author's own words; empty for none."""
    references: tuple[tuple[str, str], ...] = ()
    """(kind, id) of everything it points at, in order."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question put to the study; the first is that of `[study]`."""

    id: str
    """Names the question in links and for `answer --question`."""
    text: str
    """As it was asked."""
    asked_by: str = ""
    """Who wants to know."""
    asked_on: date | None = None
    """When it was asked."""
    expectation: str = ""
    """What was believed before the data."""
    groups: tuple[str, ...] = ()
    """Groups it is about; empty for all."""
    markers: tuple[str, ...] = ()
    """Markers it is about; empty for all."""
    metrics: tuple[str, ...] = ()
    """Limited metrics it is about; empty for all."""
    run_time_min: float | None = None
    """Length of one run in the asker's method, minutes: turns hours of life into injections."""
    decides: str = ""
    """What decides it by the asker's own word, `METRIC of MARKER`; empty where the study may choose."""
    span_h: float | None = None
    """How long the asker wants a column to last, hours."""

    @property
    def deciding(self) -> tuple[str, str]:
        """Return (marker, metric) of `decides`, two empty words where it says nothing."""
        metric, _, marker = self.decides.partition(" of ")
        return marker.strip(), metric.strip()


@dataclass(frozen=True, slots=True)
class Study:
    """One study: one question at least, some columns, one stress."""

    folder: Path
    id: str
    """Names the study in links and marks: letters, digits, `-` and `_`."""
    title: str
    """In one line."""
    questions: tuple[Question, ...]
    stress: Conditions
    test: Conditions
    columns: tuple[Column, ...]
    markers: tuple[Marker, ...]
    limits: tuple[Limit, ...]
    injections: tuple[Injection, ...]
    """In the order of the folder; `used` false is kept, and left out of every computation."""
    people: tuple[Person, ...] = ()
    licence: str = ""
    """Under which the study may be used: an SPDX identifier or expression."""
    keywords: tuple[str, ...] = ()
    """For those who search."""
    currency: str = ""
    """Of every price, such as `EUR`; empty where none is named."""
    invented: str = ""
    """A sentence that says the study is invented, shown on every page; empty for a real one."""
    choices: Choices = field(default_factory=Choices)
    exports: Exports = field(default_factory=Exports)
    conditions: tuple[LoggedCondition, ...] = ()
    """What was logged under stress."""
    logged_in_pauses: tuple[LoggedCondition, ...] = ()
    """What was logged while a column was not under stress: in a stated pause, or after its end."""
    images: tuple[StudyImage, ...] = ()
    notes: tuple[Note, ...] = ()
    events: tuple[Event, ...] = ()
    """In the order of the folder."""
    factors: tuple[Factor, ...] = ()
    plan: Plan = field(default_factory=Plan)
    running: bool = False
    """Whether the study is still running: lives may yet be reached."""
    revisions: tuple[Revision, ...] = ()
    supersedes: str = ""
    """Id of the study that this one takes the place of."""
    extends: str = ""
    """Path of the file whose keys hold where study.toml is silent, as the study states it."""
    rows_read: tuple[tuple[str, int], ...] = ()
    """(table, number of rows read) of every table of the folder."""
    file_hashes: tuple[tuple[str, str], ...] = ()
    """(path below the folder, SHA-256) of every file read by this stage, sorted by path."""

    @property
    def groups(self) -> tuple[str, ...]:
        """Names of the groups, in the order in which their first column stands in the folder."""
        return tuple(dict.fromkeys(column.group for column in self.columns))

    def column(self, column_id: str) -> Column:
        """Return the column of that id; KeyError where there is none."""
        for column in self.columns:
            if column.id == column_id:
                return column
        raise KeyError(column_id)

    def marker(self, marker_id: str) -> Marker:
        """Return the marker of that id; KeyError where there is none."""
        for marker in self.markers:
            if marker.id == marker_id:
                return marker
        raise KeyError(marker_id)

    @property
    def void_marker(self) -> Marker | None:
        """Return the hold-up marker, or None where the study has none."""
        return next((marker for marker in self.markers if marker.role == "void"), None)

    @property
    def pairs(self) -> Mapping[str, tuple[StudyImage, ...]]:
        """Return by their word the images that belong together, two or more, the least exposed first."""
        together: dict[str, list[StudyImage]] = {image.pair: [] for image in self.images if image.pair}
        for image in sorted(self.images, key=lambda one: one.exposure_h or 0.0):
            if image.pair:
                together[image.pair].append(image)
        return {word: tuple(images) for word, images in together.items() if len(images) > 1}

    def replicates(self, group: str) -> tuple[Column, ...]:
        """Return the columns of `group`, in the folder's order."""
        return tuple(column for column in self.columns if column.group == group)
