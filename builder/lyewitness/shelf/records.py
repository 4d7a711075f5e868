"""What a shelf knows of each study that stands on it.

In: the data of reports, whichever form they were kept in. Out: `Shelved` records.
"""

from dataclasses import dataclass, field

TEST = "test "
"""Stands before the key of a setting that is of the injections, not of the stress."""


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
    tested_h: float | None = None
    """Exposure at its last injection that counts; None where its report does not say."""
    upstream: str | None = ""
    """What stood ahead of the column, in the words of its study; None where its report does not say."""

    @property
    def packing(self) -> str:
        """Return particle and bonding, of which 'none' is none."""
        return " ".join(part for part in (self.particle, self.bonding) if part and part != "none")

    @property
    def kind(self) -> str:
        """Return the type that studies share, however each names its groups: what is packed, behind what.

        A guarded column lives longer than the same one without: they are two types.
        """
        return f"{self.packing or self.group}{behind(self.upstream)}"


def behind(upstream: str | None) -> str:
    """Return ` behind ‘a guard column’`; empty where nothing is known to have stood ahead."""
    words = " ".join((upstream or "").split()).rstrip(".")
    return f" behind ‘{words}’" if words else ""


@dataclass(frozen=True, slots=True)
class ShelvedColumn:
    """One column as its study tells of it."""

    id: str
    settings: tuple[tuple[str, str], ...]
    """Key of `words.settings` and what the study states, with its unit: of the column and of its stress."""
    exports: tuple[str, ...] = ()
    """Digest of each export of it, in order; empty where the report does not say which are its own."""


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
    columns: tuple[ShelvedColumn, ...] = field(default=(), repr=False)
    settings: tuple[tuple[str, str], ...] = field(default=(), repr=False)
    """Key and value of what holds for all columns: how it was tested and computed."""
    exports: tuple[str, ...] = field(default=(), repr=False)
    """Digest of every export, in order."""
    words: str = field(default="", repr=False)
    """Everything else that is said, for the search."""

    @property
    def lots(self) -> tuple[str, ...]:
        """Return the lots of its columns as they are asked for: `lot L8`."""
        return tuple(f"lot {lot}" for lot in sorted({life.lot for life in self.lives if life.lot}))

    @property
    def deciding_lives(self) -> tuple[ColumnLife, ...]:
        """Return the lives by which the first question was decided, all where that is not known."""
        first = self.answers[0] if self.answers else None
        if first is None or not first.metric:
            return self.lives
        return tuple(one for one in self.lives if (one.marker, one.metric) == (first.marker, first.metric))
