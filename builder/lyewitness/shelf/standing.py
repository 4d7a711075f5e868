"""Which studies of a shelf count, and which stand there in another shape: superseded, revised, or copied.

In: the studies of a shelf. Out: `Standing`: those that count, each with the columns that count, and beneath
which of them each of the others stands.

A study that a later one supersedes, or an earlier revision of the same id, is no answer of its own. The same
exports under another id are the same columns, however they are told: they count once.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from lyewitness.shelf.records import TEST, Shelved, ShelvedColumn
from lyewitness.words.settings import setting_words

# A column's exports are its own: half of them in common cannot be chance, and a study that went on with a
# column has at least those of before. Fewer may be a blank, or a reference that two studies share.
SAME_SHARE = 0.5
# Tables hold ten figures: of two lives alike in all of them neither is another column's, of one it may be a
# round number that somebody typed.
SAME_LIVES = 2
Why = Literal["superseded", "revised", "copied"]


@dataclass(frozen=True, slots=True)
class Twin:
    """One column that two studies tell of."""

    first: str
    """Its id in the study that counts."""
    other: str
    """In the one that does not."""


@dataclass(frozen=True, slots=True)
class Beneath:
    """A study that is no answer of its own."""

    study: Shelved
    by: Shelved
    """The one that counts in its stead."""
    why: Why
    twins: tuple[Twin, ...] = ()
    """Columns that are the same, where it is a copy."""
    again: tuple[Shelved, ...] = ()
    """Copies of a study that is superseded: it stands on the shelf in several places, and is told once."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What counts on a shelf."""

    counting: tuple[Shelved, ...]
    """Each with those of its columns that count."""
    beneath: tuple[Beneath, ...]
    partly: tuple[Beneath, ...]
    """Studies that count but for the columns which another one has already."""

    def under(self, study: Shelved) -> tuple[Beneath, ...]:
        """Return what stands beneath a study that counts."""
        return tuple(one for one in self.beneath if one.by.place == study.place)

    def shared(self, study: Shelved) -> tuple[Beneath, ...]:
        """Return which columns of a study that counts are counted with another one."""
        return tuple(one for one in self.partly if one.study.place == study.place)


def standing(studies: Sequence[Shelved]) -> Standing:
    """Return what counts of the studies; damaged ones neither count nor take another's place."""
    whole = [study for study in studies if not study.damage]
    gone_by = {one.study.place: one for one in (*_superseded(whole), *_revised(whole))}
    beneath = _told_once(whole, gone_by)
    without = gone_by.keys() | {copy.place for one in beneath.values() for copy in one.again}
    left = [study for study in whole if study.place not in without]
    counting: dict[str, Shelved] = {}
    partly: list[Beneath] = []
    known = _Known()
    for study in sorted(left, key=_says_most):
        twins = known.twins(study)
        gone = {twin.other for found in twins.values() for twin in found}
        own = {life.column for life in study.lives}
        if twins and (own <= gone or not own):
            by = max(twins, key=lambda place: len(twins[place]))
            beneath[study.place] = Beneath(study, counting[by], "copied", twins[by])
            continue
        partly += [Beneath(study, counting[by], "copied", found) for by, found in twins.items()]
        known.add(study)
        lives = tuple(life for life in study.lives if life.column not in gone)
        counting[study.place] = replace(study, lives=lives) if gone else study
    ordered = tuple(counting[study.place] for study in whole if study.place in counting)
    return Standing(ordered, tuple(_settled(beneath, counting)), tuple(partly))


def _told_once(whole: Sequence[Shelved], gone: Mapping[str, Beneath]) -> dict[str, Beneath]:
    """Return by place what is superseded, each with its copies, under whichever id; they are gone with it.

    What takes the place of another one is no copy, though it may be made of the same exports.
    """
    later = {one.by.place for one in gone.values()}
    first: dict[tuple[object, ...], str] = {}
    copies: dict[str, list[Shelved]] = {}
    named = sorted(gone, key=lambda place: (gone[place].study.id != gone[place].by.supersedes, place))
    for study in (*(gone[place].study for place in named), *(one for one in whole if one.place not in gone)):
        measured = study.exports or study.lives
        known = first.get((measured, study.revision)) if measured and study.place not in later else None
        if known is not None:
            copies[known].append(study)
        elif study.place in gone:
            first.setdefault((measured, study.revision), study.place)
            copies[study.place] = []
    return {place: replace(gone[place], again=tuple(held)) for place, held in copies.items()}


def _says_most(study: Shelved) -> tuple[int, bool, str, str]:
    """Return what puts the copy first that counts: most exports, and which are whose column's."""
    return -len(study.exports), not any(one.exports for one in study.columns), study.id, study.place


def _settled(beneath: Mapping[str, Beneath], counting: Mapping[str, Shelved]) -> Iterator[Beneath]:
    """Yield each with the study that counts at the end of its chain."""
    for one in beneath.values():
        by, seen = one.by, {one.study.place}
        while by.place in beneath and by.place not in seen:
            seen.add(by.place)
            by = beneath[by.place].by
        yield replace(one, by=counting.get(by.place, by))


def _superseded(studies: Sequence[Shelved]) -> Iterator[Beneath]:
    """Yield each study whose id another one supersedes; in a ring of them nobody is the later one."""
    later: dict[str, list[Shelved]] = defaultdict(list)
    for study in studies:
        if study.supersedes and study.supersedes != study.id:
            later[study.supersedes].append(study)
    for study in studies:
        if study.id in later and not _in_ring(study.id, later):
            yield Beneath(study, max(later[study.id], key=_edition), "superseded")


def _in_ring(start: str, later: Mapping[str, Sequence[Shelved]]) -> bool:
    """Return whether those that supersede a study are themselves superseded by it."""
    waiting, seen = [start], set[str]()
    while waiting:
        for study in later.get(waiting.pop(), ()):
            if study.id == start:
                return True
            if study.id not in seen:
                seen.add(study.id)
                waiting.append(study.id)
    return False


def _revised(studies: Sequence[Shelved]) -> Iterator[Beneath]:
    """Yield each study of which the shelf has a later revision."""
    by_id: dict[str, list[Shelved]] = defaultdict(list)
    for study in studies:
        by_id[study.id].append(study)
    for held in by_id.values():
        last = max(held, key=_edition)
        yield from (Beneath(one, last, "revised") for one in held if _number(one) < _number(last))


def _edition(study: Shelved) -> tuple[int, str, str]:
    return _number(study), study.asked_on, study.id


def _number(study: Shelved) -> int:
    return int(study.revision) if study.revision.isdecimal() else 0


class _Known:
    """The columns that count so far, found again by their exports and by their lives."""

    def __init__(self) -> None:
        self._marks: dict[str, list[tuple[str, str]]] = defaultdict(list)
        """Place of the study and id of the column by mark; no id where a study is held as a whole."""
        self._sizes: dict[tuple[str, str], int] = {}

    def add(self, study: Shelved) -> None:
        """Take a study among those that count."""
        self._sizes[study.place, ""] = len(study.exports)
        for unit in _units(study):
            self._sizes[study.place, unit.id] = len(unit.exports)
            for mark in (*unit.exports, *_lives_of(study, unit.id)):
                self._marks[mark].append((study.place, unit.id))

    def twins(self, study: Shelved) -> dict[str, tuple[Twin, ...]]:
        """Return, by the place of each study that counts, which of its columns this one tells of again."""
        found: dict[str, list[Twin]] = defaultdict(list)
        for unit in _units(study):
            if (twin := self._twin(study, unit)) is not None:
                found[twin[0]].append(Twin(twin[1], unit.id))
        return {place: tuple(_each(study, twins)) for place, twins in found.items()}

    def _twin(self, study: Shelved, unit: ShelvedColumn) -> tuple[str, str] | None:
        held = [self._marks.get(mark, []) for mark in unit.exports]
        if not unit.id:
            # A study that does not say which exports are whose column's is held against others as a whole.
            held = [list(dict.fromkeys((place, "") for place, _ in one)) for one in held]
        for at, number in Counter(at for one in held for at in one).most_common():
            if number >= SAME_SHARE * min(len(unit.exports), self._sizes[at]):
                return at
        alike = Counter(at for mark in _lives_of(study, unit.id) for at in self._marks.get(mark, ()))
        return next((at for at, number in alike.most_common(1) if number >= SAME_LIVES), None)


def _each(study: Shelved, twins: Iterable[Twin]) -> Iterator[Twin]:
    """Yield one twin for each column where a study is held against another as a whole."""
    for twin in twins:
        if twin.other:
            yield twin
        else:
            yield from (Twin("", name) for name in dict.fromkeys(life.column for life in study.lives))


def _units(study: Shelved) -> tuple[ShelvedColumn, ...]:
    """Return the columns whose exports are known; the whole study where they are not."""
    own = tuple(one for one in study.columns if one.exports)
    return own or (ShelvedColumn("", (), study.exports),)


def _lives_of(study: Shelved, column: str) -> tuple[str, ...]:
    """Return a mark for each life of a column that was reached, to its last figure; of two at least."""
    lives = [life for life in study.lives if life.column == column and life.life_h is not None]
    marks = {f"{life.metric} {life.life_h!r} {life.low_h!r} {life.high_h!r}": life for life in lives}
    return tuple(marks) if len(marks) >= SAME_LIVES else ()


def told_otherwise(one: Beneath) -> tuple[str, ...]:
    """Return what two studies state differently of the same columns: `group: silica against polymer (S1)`."""
    sides = [
        {column.id: dict((*study.settings, *column.settings)) for column in study.columns}
        for study in (one.by, one.study)
    ]
    found: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for twin in one.twins:
        first, other = sides[0].get(twin.first or twin.other), sides[1].get(twin.other)
        if first is not None and other is not None:
            for key, was, now in differing(first, other):
                found[key, was, now].append(twin.other)
    every = len(one.twins)
    return tuple(
        f"{words_of(key)} {was or 'not stated'} against {now or 'not stated'}"
        + (f" ({', '.join(names)})" if len(names) < every else "")
        for (key, was, now), names in found.items()
    )


def differing(first: Mapping[str, str], other: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    """Yield key and both values of what is stated differently; of the test what the stress does not tell."""
    for key in dict.fromkeys((*first, *other)):
        was, now = first.get(key, ""), other.get(key, "")
        of_stress = key.removeprefix(TEST)
        told = of_stress != key and (first.get(of_stress, ""), other.get(of_stress, "")) == (was, now)
        if was != now and not told:
            yield key, was, now


def words_of(key: str) -> str:
    """Return the words of a setting, with those of the test told apart."""
    of_stress = key.removeprefix(TEST)
    return setting_words(key) if of_stress == key else f"{setting_words(of_stress)} of the injections"
