"""Studies that contradict each other at conditions that are as good as the same, and what differed.

In: the studies of a shelf. Out: `Clash`es: lives of one type far apart, or two types in opposite orders.
Nothing contradicts where conditions are not stated, or where what is known of the lives lets both be true.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import exp, floor, log
from typing import Any

from lyewitness.shelf.alike import Type, acid_of, alike, conditions_of, heat_of, why_no_model
from lyewitness.shelf.records import ColumnLife, Shelved, ShelvedOrder
from lyewitness.shelf.standing import differing, words_of
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import counted, listed, spelled

# Lives of two studies at conditions that near differ by more than this only where something else does, too:
# columns of one type from several lots spread by about a quarter.
NEAR_C, NEAR_PH, APART = 3.0, 0.2, 2.0


@dataclass(frozen=True, slots=True)
class Clash:
    """Two studies that cannot both be typical of the same columns at the same conditions."""

    about: str
    """Type and metric, or the two types."""
    one: Shelved
    other: Shelved
    told: str
    """What either found, where, and what differed; a clause without its full stop."""
    weighed: str
    """Which is newer, which has more columns, and which count across studies; likewise."""


Groups = Mapping[Type, Sequence[tuple[Shelved, ColumnLife]]]


class _Together:
    """What is taken together across studies, worked out once a type: of many that clash each asks for it."""

    def __init__(self, groups: Groups) -> None:
        self._groups = groups
        self._known: dict[Type, tuple[str, frozenset[str]]] = {}

    def of(self, key: Type) -> tuple[str, frozenset[str]]:
        """Return why there is no life of a type across studies, empty where there is; whose lives reached."""
        if key not in self._known:
            held = self._groups.get(key, ())
            reached = frozenset(study.place for study, life in held if life.life_h is not None)
            self._known[key] = why_no_model(held), reached
        return self._known[key]


@dataclass(frozen=True)
class _Side:
    """The columns of one type in one study at one condition."""

    study: Shelved
    lives: tuple[ColumnLife, ...]

    def of(self, kind: str) -> tuple[ColumnLife, ...]:
        """Return the lives of the columns of one type."""
        return tuple(life for life in self.lives if life.kind == kind)

    @property
    def columns(self) -> set[str]:
        """Return the ids of the columns."""
        return {life.column for life in self.lives}

    @property
    def least(self) -> float | None:
        """Return what every column surely lasted, hours; None where that is not known of one."""
        ends = [one.low_h if one.low_h is not None else one.life_h for one in self.lives]
        return min((end for end in ends if end is not None), default=None) if None not in ends else None

    @property
    def most(self) -> float | None:
        """Return what no column surely lasted, hours; None where one is not known to have failed."""
        ends = [
            None if one.life_h is None else one.high_h if one.high_h is not None else one.life_h
            for one in self.lives
        ]
        return max((end for end in ends if end is not None), default=None) if None not in ends else None

    @cached_property
    def typical(self) -> float:
        """Return the geometric mean of the lives, of those not reached what they lasted at least."""
        known = [one.life_h if one.life_h is not None else one.low_h or 0.0 for one in self.lives]
        return exp(sum(log(max(hours, 1e-3)) for hours in known) / len(known))

    @property
    def told(self) -> str:
        """Return `80 to 95 h (three columns)`, `at least 500 h (two columns)`."""
        known = [one.life_h if one.life_h is not None else one.low_h or 0.0 for one in self.lives]
        low, high = rounded(min(known)), rounded(max(known))
        open_ = any(one.life_h is None for one in self.lives)
        span = f"at least {low}" if open_ else low if low == high else f"{low} to {high}"
        return f"{span} h ({counted(len(self.lives), 'column')})"


def contradictions(counting: Sequence[Shelved]) -> Iterator[Clash]:
    """Yield every clash between studies that count, of lives first.

    Lives clash where typical ones are apart by more than a factor of `APART`, and the intervals of every
    column of one study lie beyond those of all of the other; what was not reached counts as it lasted.
    """
    groups = alike(counting)
    together = _Together(groups)
    for key, held in groups.items():
        for longer, shorter in _far_apart(_sides(held)):
            one, other = sorted((shorter, longer), key=lambda side: (side.study.id, side.study.place))
            yield Clash(
                f"{key[0]}, {metric_of_marker(key[1], key[2])}",
                one.study,
                other.study,
                f"lives of {one.told} against {other.told}, {_where(one, other)}. {_differed(one, other)}",
                _weighed(one, other, together),
            )
    yield from _opposite_orders(counting, together)


def _sides(held: Iterable[tuple[Shelved, ColumnLife]]) -> list[_Side]:
    """Return the columns by study and condition; without stated conditions there is nothing to contradict."""
    by: dict[tuple[object, ...], tuple[Shelved, list[ColumnLife]]] = {}
    for study, life in held:
        if _is_placed(life):
            key = (study.id, study.place, life.temperature_C, life.ph, life.organic, life.buffer_mM)
            by.setdefault(key, (study, []))[1].append(life)
    return [_Side(study, tuple(lives)) for study, lives in by.values()]


def _is_placed(life: ColumnLife) -> bool:
    return bool(life.buffer) and life.temperature_C is not None and acid_of(life) == acid_of(life)


def _far_apart(sides: Sequence[_Side]) -> Iterator[tuple[_Side, _Side]]:
    """Yield (longer, shorter) of two studies near in temperature and pH: each study with the one that it is
    furthest from, for 2,000 studies would make a million pairs, which nobody reads."""
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, side in enumerate(sides):
        life = side.lives[0]
        cells[floor(heat_of(life) / NEAR_C), floor(acid_of(life) / NEAR_PH)].append(number)
    least, most = (
        {number: getattr(side, end) for number, side in enumerate(sides)} for end in ("least", "most")
    )
    failed = {place: sorted((n for n in held if most[n] is not None), key=most.__getitem__)
              for place, held in cells.items()}  # fmt: skip
    lasted = {place: sorted((n for n in held if least[n] is not None), key=least.__getitem__, reverse=True)
              for place, held in cells.items()}  # fmt: skip
    pairs: set[tuple[int, int]] = set()
    for (warm, acid), held in cells.items():
        near = [at for x, y in product((-1, 0, 1), repeat=2) if (at := (warm + x, acid + y)) in cells]
        for own in held:
            shorter = [_first(sides, ((own, n) for n in failed[cell]), least, most) for cell in near]
            longer = [_first(sides, ((n, own) for n in lasted[cell]), least, most) for cell in near]
            pairs.add(min(filter(None, shorter), key=lambda pair: most[pair[1]], default=(own, own)))
            pairs.add(max(filter(None, longer), key=lambda pair: least[pair[0]], default=(own, own)))
    yield from ((sides[one], sides[other]) for one, other in sorted(pairs) if one != other)


Ends = Mapping[int, float | None]


def _first(
    sides: Sequence[_Side], pairs: Iterable[tuple[int, int]], least: Ends, most: Ends
) -> tuple[int, int] | None:
    """Return the first pair, the furthest apart ones first, that cannot both be true."""
    for longer, shorter in pairs:
        low, high = least[longer], most[shorter]
        if low is None or high is None or high >= low:
            return None
        one, other = sides[longer], sides[shorter]
        if (
            one.study.place != other.study.place
            and _is_near(one.lives[0], other.lives[0])
            and one.typical > APART * other.typical
        ):
            return longer, shorter
    return None


def _is_near(one: ColumnLife, other: ColumnLife) -> bool:
    """Return whether two conditions are as good as the same; pH when hot and at the bench are two things."""
    hot = (one.ph_hot is None) == (other.ph_hot is None)
    warm = abs(heat_of(one) - heat_of(other)) <= NEAR_C
    return hot and warm and abs(acid_of(one) - acid_of(other)) <= NEAR_PH + 1e-9


def _where(one: _Side, other: _Side) -> str:
    """Return `both at 50 °C, pH 9.8 when hot`, or the conditions of either."""
    first, second = (conditions_of(side.lives[0]) for side in (one, other))
    return f"both at {first}" if first == second else f"at {first} and {second}"


def _differed(one: _Side, other: _Side) -> str:
    """Return what differed of all that studies state, a sentence without its full stop."""
    found = list(_unlike(one, other))
    years = [side.study.asked_on[:4] for side in (one, other)]
    people = [side.study.people for side in (one, other)]
    if years[0] != years[1]:
        found.append(f"year {years[0] or 'not stated'} against {years[1] or 'not stated'}")
    if people[0] != people[1]:
        found.append(" against ".join(listed(names) or "people not stated" for names in people))
    return f"What differed: {'; '.join(found) or 'nothing of what the two studies state'}"


def _unlike(one: _Side, other: _Side) -> Iterator[str]:
    """Yield in words what two studies state otherwise: what all their types share, then type by type.

    Among all columns together an exact swap of what two types are would vanish.
    """
    told: dict[str, list[str]] = {}
    for kind in dict.fromkeys(life.kind for life in (*one.lives, *other.lives)):
        was, now = (_settings(_Side(side.study, side.of(kind))) for side in (one, other))
        told[kind] = [
            f"{words_of(key)} {old or 'not stated'} against {new or 'not stated'}"
            for key, old, new in differing(was, now)
        ]
    first = next(iter(told.values()))
    shared = [what for what in first if all(what in each for each in told.values())]
    yield from shared
    for kind, each in told.items():
        yield from (f"{kind}: {what}" for what in each if what not in shared)


def _settings(side: _Side) -> dict[str, str]:
    """Return what is stated of the columns of a side and of its study, by key."""
    return dict(side.study.settings) | _of_columns(side)


def _of_columns(side: _Side) -> dict[str, str]:
    """Return what is stated of the columns of a side, by key."""
    own = {life.column for life in side.lives}
    told: dict[str, dict[str, None]] = defaultdict(dict)
    for column in side.study.columns:
        for key, value in column.settings if column.id in own else ():
            told[key][value] = None
    return {key: listed(sorted(values)) for key, values in told.items()}


def _weighed(one: _Side, other: _Side, together: _Together) -> str:
    """Return which study is newer, which has more columns, and which count in a life across studies."""
    days, numbers = ([_day(side) for side in (one, other)], [len(side.columns) for side in (one, other)])
    newer, larger = _greater(one, other, days), _greater(one, other, numbers)
    if newer:
        age = f"{newer} is the newer (asked {max(days)} against {min(days)})"
    else:
        age = f"both were asked on {days[0]}" if days[0] == days[1] != "" else "neither is known to be newer"
    if larger:
        size = f"{larger} has more columns ({spelled(max(numbers))} against {spelled(min(numbers))})"
    else:
        size = f"each has {counted(numbers[0], 'column')}"
    return f"Of the two, {'; '.join((age, size, *_across(one, other, together)))}"


def _day(side: _Side) -> str:
    return side.study.asked_on


def _greater(one: _Side, other: _Side, values: Sequence[Any]) -> str:
    """Return the id of the study whose value is the greater; empty where neither is, or one is not known."""
    if not all(values) or values[0] == values[1]:
        return ""
    return (one if values[0] > values[1] else other).study.id


def _across(one: _Side, other: _Side, together: _Together) -> Iterator[str]:
    """Yield for each type of both whether the studies count in its life across studies, and why not."""
    kinds = {life.kind: life for life in (*one.lives, *other.lives)}
    for kind, life in kinds.items():
        reason, reached = together.of((kind, life.marker, life.metric, life.limit, life.buffer))
        of_kind = f" of {kind}" if len(kinds) > 1 else ""
        if reason:
            yield f"neither counts in a life{of_kind} across studies, for there is none ({reason})"
            continue
        names = [side.study.id for side in (one, other) if side.study.place in reached]
        count = "both count" if len(names) == 2 else f"only {names[0]} counts" if names else "neither counts"
        yield f"{count} in the life{of_kind} across studies"


def _opposite_orders(counting: Sequence[Shelved], together: _Together) -> Iterator[Clash]:
    """Yield studies of which one says that a type outlasts another, and the other one the opposite."""
    by: dict[tuple[str, ...], dict[str, list[_Side]]] = defaultdict(lambda: defaultdict(list))
    for study in counting:
        for order in study.orders:
            longer, shorter = (_of(study, group, order) for group in (order.longer, order.shorter))
            settings = {(one.buffer, heat_of(one), acid_of(one)) for one in (*longer, *shorter)}
            kinds = [{life.kind for life in lives} for lives in (longer, shorter)]
            if len(settings) == 1 and len(kinds[0] ^ kinds[1]) == 2 and _is_placed(longer[0]):
                life = longer[0]
                key = (*sorted(kinds[0] | kinds[1]), order.marker, order.metric, life.limit, life.buffer)
                by[key][life.kind].append(_Side(study, (*longer, *shorter)))
    for (first, second, marker, metric, *_), orders in by.items():
        for one, other in product(orders.get(first, ()), orders.get(second, ())):
            if _is_near(one.lives[0], other.lives[0]):
                yield Clash(
                    f"{first} and {second}, {metric_of_marker(marker, metric)}",
                    one.study,
                    other.study,
                    f"{first} outlasts {second} at {conditions_of(one.lives[0])}, and {second} outlasts "
                    f"{first} at {conditions_of(other.lives[0])}. {_differed(one, other)}",
                    _weighed(one, other, together),
                )


def _of(study: Shelved, group: str, order: ShelvedOrder) -> tuple[ColumnLife, ...]:
    """Return the lives of a group by the marker and metric of an order."""
    wanted = (group, order.marker, order.metric)
    return tuple(life for life in study.lives if (life.group, life.marker, life.metric) == wanted)
