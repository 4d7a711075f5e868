"""What studies say of one type of column: its lives side by side, taken together, or against each other.

In: the studies of a shelf. Out: lives by `Type`, contradictions, a model of each, and what is foreseen for
conditions that somebody asks about.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import combinations
from math import exp, log

from lyewitness.shelf.across import Model, Point, Prediction, fit, predict
from lyewitness.shelf.records import ColumnLife, Shelved
from lyewitness.words.metrics import metric_of_marker

# Lives of two studies at conditions that near differ by more than this only where something else does, too:
# columns of one type from several lots spread by about a quarter.
NEAR_C, NEAR_PH, APART = 3.0, 0.2, 2.0
Type = tuple[str, str, str, str, str]
"""Kind of column, marker, metric, limit, buffer."""
Held = Sequence[tuple[Shelved, ColumnLife]]


def alike(studies: Sequence[Shelved]) -> dict[Type, list[tuple[Shelved, ColumnLife]]]:
    """Return lives by type, marker, metric, limit and buffer.

    Damaged and superseded studies do not count, and of several copies of a study one does.
    """
    replaced = {study.supersedes for study in studies if study.supersedes and not study.damage}
    found: dict[Type, list[tuple[Shelved, ColumnLife]]] = defaultdict(list)
    counted: set[tuple[str, tuple[ColumnLife, ...]]] = set()
    for study in studies:
        if study.damage or study.id in replaced or (study.id, study.lives) in counted:
            continue
        counted.add((study.id, study.lives))
        for life in study.lives:
            found[life.kind or life.group, life.marker, life.metric, life.limit, life.buffer].append(
                (study, life)
            )
    return dict(sorted(found.items()))


def contradictions(studies: Sequence[Shelved]) -> Iterator[tuple[str, Shelved, Shelved, str]]:
    """Yield type, two studies, and how their lives clash at conditions that are as good as the same.

    Typical lives apart by more than a factor of `APART`, and every column of one outlives all of the other.
    """
    for key, held in alike(studies).items():
        by: dict[str, list[tuple[Shelved, ColumnLife]]] = defaultdict(list)
        for study, life in held:
            if life.life_h is not None and life.temperature_C is not None:
                by[study.id].append((study, life))
        for first, second in combinations(by.values(), 2):
            one, other = first[0][1], second[0][1]
            if abs(heat_of(one) - heat_of(other)) > NEAR_C or abs(acid_of(one) - acid_of(other)) > NEAR_PH:
                continue
            lives, others = ([life.life_h or 0.0 for _, life in held] for held in (first, second))
            ratio = exp(_mean(lives) - _mean(others))
            if max(ratio, 1 / ratio) > APART and (max(lives) < min(others) or max(others) < min(lives)):
                yield (
                    f"{key[0]}, {metric_of_marker(key[1], key[2])}",
                    first[0][0],
                    second[0][0],
                    f"lives {_span(lives)} against {_span(others)} "
                    f"at {conditions_of(one)} and {conditions_of(other)}. "
                    "What differed: "
                    + (_differed(first[0][1], second[0][1]) or "nothing that the studies tell"),
                )


def _differed(one: ColumnLife, other: ColumnLife) -> str:
    names = ("lot", "organic", "buffer_mM", "ph", "temperature_C", "group")
    held = ((name.replace("_", " "), getattr(one, name), getattr(other, name)) for name in names)
    return "; ".join(
        f"{name} {first or 'not stated'} against {second or 'not stated'}"
        for name, first, second in held
        if first != second
    )


def _mean(lives: Sequence[float]) -> float:
    return sum(map(log, lives)) / len(lives)


def heat_of(life: ColumnLife) -> float:
    """Return the temperature of the stress, °C; NaN where it is not stated."""
    return life.temperature_C if life.temperature_C is not None else float("nan")


def acid_of(life: ColumnLife) -> float:
    """Return the pH when hot, that of the bench where it cannot be computed; NaN where none is stated."""
    value = life.ph_hot if life.ph_hot is not None else life.ph
    return value if value is not None else float("nan")


def _span(lives: Sequence[float]) -> str:
    low, high = f"{min(lives):.3g}", f"{max(lives):.3g}"
    return f"{low} h" if low == high else f"{low} to {high} h"


def conditions_of(life: ColumnLife) -> str:
    """Return temperature and pH in words."""
    return f"{heat_of(life):g} °C, pH {acid_of(life):.1f} when hot"


def model_of(held: Held) -> Model:
    """Return what the studies of one type say together."""
    usable = [
        Point(study.id, life.life_h, life.temperature_C, acid_of(life))
        for study, life in held
        if life.life_h is not None and life.temperature_C is not None and acid_of(life) == acid_of(life)
    ]
    return fit(usable, censored=sum(life.state == "not reached" for _, life in held))


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


def foreseen(
    studies: Sequence[Shelved],
    words: Sequence[str],
    temperature_C: float | None,
    hot: Callable[[ColumnLife], float | None],
) -> Foreseen | None:
    """Return a life of the type that the words of a question name; None for no type or no conditions.

    `hot` gives the pH asked for at the temperature asked for, in the buffer of a life.
    """
    groups = alike(studies)
    spoken = {word.lower() for word in words}
    bondings = {held[0][1].bonding.lower() for held in groups.values()} & spoken
    named = [(key, held) for key, held in groups.items() if _is_named(held[0][1], spoken, bondings)]
    if temperature_C is None or not named:
        return None
    key, held = max(named, key=lambda one: _weight(one[0], one[1], spoken))
    ph = hot(held[0][1])
    if ph is None:
        return None
    model = model_of(held)
    prediction = predict(model, temperature_C, ph)
    return Foreseen(key[0], key[4], *key[1:4], temperature_C, ph, prediction, model.studies, model.columns)


def _is_named(life: ColumnLife, spoken: AbstractSet[str], bondings: AbstractSet[str]) -> bool:
    """Return whether a question names the particle of a type, and its bonding where it names one."""
    particle = set(life.particle.lower().split())
    return bool(particle) and particle <= spoken and (not bondings or life.bonding.lower() in bondings)


def _weight(key: Type, held: Held, spoken: AbstractSet[str]) -> tuple[bool, bool, int, int]:
    """Return what makes a type the one that is meant: its buffer and marker named, and most decided by it."""
    decided = sum((study.answers[0].marker, study.answers[0].metric) == key[1:3] for study, _ in held)
    buffer = set(key[4].lower().split())
    in_buffer = bool(buffer) and buffer <= spoken
    return in_buffer, key[1].lower() in spoken, len(held[0][1].particle.split()), decided
