"""What studies say of one type of column: its lives side by side, or taken together.

In: the studies of a shelf. Out: lives by `Type`, a model of each, and what is foreseen for conditions that
somebody asks about.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date

from lyewitness.chemistry.protolytes import buffer_named
from lyewitness.shelf.across import Model, Point, Prediction, drift, fit, predict, why_none
from lyewitness.shelf.records import ColumnLife, Shelved
from lyewitness.words.estimates import Estimate

Type = tuple[str, str, str, str, str]
"""Kind of column with what stood ahead of it, marker, metric, limit, buffer."""
Held = Sequence[tuple[Shelved, ColumnLife]]
AHEAD = frozenset(("guard", "guarded", "precolumn", "pre-column", "sacrificial", "saturator", "upstream"))
"""Words by which a question asks for columns behind something."""


def alike(counting: Sequence[Shelved]) -> dict[Type, list[tuple[Shelved, ColumnLife]]]:
    """Return the lives of the studies that count by type, marker, metric, limit and buffer.

    What a study sets a limit for and did not measure is no life: a pressure that nobody logged.
    """
    found: dict[Type, list[tuple[Shelved, ColumnLife]]] = defaultdict(list)
    for study in counting:
        for life in study.lives:
            if life.state == "not measured":
                continue
            found[life.kind, life.marker, life.metric, life.limit, life.buffer].append((study, life))
    return dict(sorted(found.items()))


def heat_of(life: ColumnLife) -> float:
    """Return the temperature of the stress, °C; NaN where it is not stated."""
    return life.temperature_C if life.temperature_C is not None else float("nan")


def acid_of(life: ColumnLife) -> float:
    """Return the pH when hot, that of the bench where it cannot be computed; NaN where none is stated."""
    value = life.ph_hot if life.ph_hot is not None else life.ph
    return value if value is not None else float("nan")


def conditions_of(life: ColumnLife) -> str:
    """Return temperature and pH in words: `50 °C, pH 10.3 when hot`, `50 °C, pH 11 at the bench`."""
    heat = f"{life.temperature_C:g} °C" if life.temperature_C is not None else "temperature not stated"
    if life.ph_hot is not None:
        return f"{heat}, pH {life.ph_hot:.1f} when hot"
    return f"{heat}, pH {life.ph:g} at the bench" if life.ph is not None else f"{heat}, pH not stated"


def model_of(held: Held) -> Model:
    """Return what the studies of one type say together."""
    return fit(_points(held), _censored(held))


def why_no_model(held: Held) -> str:
    """Return why there is no model of one type; empty where there is one."""
    return why_none(_points(held), _censored(held))


def _censored(held: Held) -> int:
    return sum(life.state == "not reached" for _, life in held)


def drift_of(held: Held) -> Estimate:
    """Return the change of ln life of one type from one year to the next, by the days of the questions."""
    years = {
        study.id: day.year + (day.timetuple().tm_yday - 1) / 365.25
        for study, _ in held
        if (day := _day(study.asked_on)) is not None
    }
    return drift(_points(held), years)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _points(held: Held) -> list[Point]:
    """Return the lives that were reached at stated conditions."""
    placed = ((study, life, acid_of(life)) for study, life in held if life.life_h is not None)
    return [
        Point(study.id, life.life_h, life.temperature_C, acid)
        for study, life, acid in placed
        if life.life_h is not None and life.temperature_C is not None and acid == acid
    ]


@dataclass(frozen=True, slots=True)
class Foreseen:
    """A life for conditions that somebody asked about, or why there is none."""

    kind: str
    """Type of column."""
    buffer: str
    marker: str
    metric: str
    limit: str
    temperature_C: float
    ph_hot: float
    """At that temperature, in that buffer."""
    prediction: Prediction
    studies: int
    columns: int
    as_asked: bool
    """Whether the buffer is one that was named."""


def foreseen(
    counting: Sequence[Shelved],
    words: Sequence[str],
    buffers: Sequence[str],
    temperature_C: float | None,
    hot: Callable[[ColumnLife], float | None],
) -> Foreseen | None:
    """Return a life of the type that the words of a question name; None for no type or no conditions.

    `buffers` are names from the tables; `hot` gives the pH asked for at the temperature asked for, in the
    buffer of a life.
    """
    groups = alike(counting)
    spoken = {word.lower() for word in words}
    bondings = {held[0][1].bonding.lower() for held in groups.values()} & spoken
    named = [(key, held) for key, held in groups.items() if _is_named(held[0][1], spoken, bondings)]
    named = named or _only_one(groups, spoken, bondings)
    if temperature_C is None or not named:
        return None
    key, held = max(named, key=lambda one: _weight(one[0], one[1], spoken, buffers))
    ph = hot(held[0][1])
    if ph is None:
        return None
    model = model_of(held)
    prediction = predict(model, temperature_C, ph)
    return Foreseen(
        key[0], key[4], *key[1:4], temperature_C, ph, prediction, model.studies, model.columns,
        _is_in(key[4], spoken, buffers),
    )  # fmt: skip


def _only_one(
    groups: Mapping[Type, list[tuple[Shelved, ColumnLife]]],
    spoken: AbstractSet[str],
    bondings: AbstractSet[str],
) -> list[tuple[Type, list[tuple[Shelved, ColumnLife]]]]:
    """Return the types of which a question names a part of the particle, where that fits one particle."""
    partly = [
        (key, held)
        for key, held in groups.items()
        if spoken & set(held[0][1].particle.lower().split())
        and (not bondings or held[0][1].bonding.lower() in bondings)
    ]
    return partly if len({held[0][1].particle for _, held in partly}) == 1 else []


def _is_named(life: ColumnLife, spoken: AbstractSet[str], bondings: AbstractSet[str]) -> bool:
    """Return whether a question names the particle of a type, and its bonding where it names one."""
    particle = set(life.particle.lower().split())
    return bool(particle) and particle <= spoken and (not bondings or life.bonding.lower() in bondings)


def _is_in(buffer: str, spoken: AbstractSet[str], buffers: Sequence[str]) -> bool:
    """Return whether a question names a buffer, by its own words or by one of its names in the tables."""
    words, known = set(buffer.lower().split()), buffer_named(buffer)
    return (bool(words) and words <= spoken) or (known is not None and known.name in buffers)


def _weight(
    key: Type, held: Held, spoken: AbstractSet[str], buffers: Sequence[str]
) -> tuple[bool, bool, bool, int, int]:
    """Return what makes a type the one that is meant: its buffer and marker named, and most decided by it.

    Behind a guard only where the question names one, or something that stands ahead.
    """
    ahead = set(re.findall(r"[\w-]+", (held[0][1].upstream or "").lower()))
    guarded = bool((ahead | AHEAD) & spoken)
    decided = sum((one.marker, one.metric) == key[1:3] for study, _ in held for one in study.answers[:1])
    in_buffer = _is_in(key[4], spoken, buffers)
    as_asked = guarded is bool(ahead)
    return in_buffer, key[1].lower() in spoken, as_asked, len(held[0][1].particle.split()), decided
