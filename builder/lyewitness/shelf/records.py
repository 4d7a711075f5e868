"""What a shelf knows of each study that stands on it.

In: the data of reports, whichever form they were kept in. Out: `Shelved` records.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class ColumnLife:
    """The life of one column by one marker and metric, with the conditions it was stressed under."""

    column: str
    group: str
    particle: str
    bonding: str
    lot: str
    buffer: str
    buffer_mM: float | None
    organic: str
    temperature_C: float | None
    ph: float | None
    """As measured at the bench."""
    ph_hot: float | None
    """At the temperature of the stress; None where it cannot be computed."""
    marker: str
    role: str
    metric: str
    limit: str
    """Limit as study.toml has it; lives to different limits are never taken together."""
    life_h: float | None
    """None unless reached."""
    low_h: float | None
    high_h: float | None
    state: str

    @property
    def kind(self) -> str:
        """Return particle and bonding: the type that studies share, however each names its groups."""
        return " ".join(part for part in (self.particle, self.bonding) if part)


@dataclass(frozen=True, slots=True)
class ShelvedAnswer:
    """One question with its answer in a line."""

    question: str
    short: str
    asked_on: str = ""
    marker: str = ""
    metric: str = ""


@dataclass(frozen=True, slots=True)
class ShelvedOrder:
    """Two groups of one study of which one is known to last longer."""

    longer: str
    shorter: str
    marker: str
    metric: str


@dataclass(frozen=True, slots=True)
class Shelved:
    """One study on the shelf."""

    id: str
    title: str
    place: str
    """Path below the folder that is shelved."""
    page: str
    """Path of its report's first page below that folder; of the packed file where it is one."""
    damage: str = ""
    """What is wrong with it, a sentence; a damaged study is listed, and counts nowhere."""
    invented: str = ""
    supersedes: str = ""
    revision: str = ""
    asked_on: str = ""
    keywords: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    answers: tuple[ShelvedAnswer, ...] = ()
    lives: tuple[ColumnLife, ...] = field(default=(), repr=False)
    """Every column, marker and metric with a limit."""
    orders: tuple[ShelvedOrder, ...] = field(default=(), repr=False)
    """Which group outlasts which, by each marker and metric."""
    words: str = field(default="", repr=False)
    """Everything else that is said, for the search."""

    @property
    def deciding_lives(self) -> tuple[ColumnLife, ...]:
        """Return the lives by which the first question was decided, all where that is not known."""
        first = self.answers[0] if self.answers else None
        if first is None or not first.metric:
            return self.lives
        return tuple(one for one in self.lives if (one.marker, one.metric) == (first.marker, first.metric))
