"""Which studies bear on a question in plain words, nearest first, and why.

In: words such as 'pyrrolidine pH 11, 50 °C, polymer, three days', the studies. Out: `Hit`s in order. Words
are ranked by full text (SQLite FTS5, bm25); conditions are quantities: a pH at temperature is held against a
pH at temperature, so that pH 11 of an amine at 60 °C is no pH 11 of a phosphate. What was asked and is
another in a study is said with it.
"""

import re
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp, log

from lyewitness.chemistry.medium import stress_medium
from lyewitness.chemistry.protolytes import buffer_named
from lyewitness.chemistry.records import NotComputableError
from lyewitness.shelf.alike import AHEAD, foreseen
from lyewitness.shelf.records import ColumnLife, Shelved, behind
from lyewitness.shelf.standing import Beneath, Standing, standing, told_otherwise
from lyewitness.shelf.understanding import Asked, decimal, stem, understood, words_of
from lyewitness.words.lives import limit_read
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import interval, with_unit
from lyewitness.words.phrases import counted, hours, listed, sentence, spelled
from lyewitness.words.settings import setting_text, setting_words

# A rate doubles or triples over 10 °C, and over about half a pH unit: that far is another experiment.
NEAR_C = 10.0
NEAR_PH = 0.5
# Where a question states a pH without a temperature, it was measured at the bench.
BENCH_C = 25.0
# Another type, buffer or marker is further off than another oven: e to the minus 0.7 is a half.
OTHER = 0.5
# Buffers are made up to a per cent or two, and flows are truer: nearer than this is as asked.
AS_ASKED = 0.02


@dataclass(frozen=True, slots=True)
class Hit:
    """One study that bears on a question."""

    study: Shelved
    score: float
    why: tuple[str, ...]
    """Reasons, each a clause with its numbers."""
    answer: str
    """The study's answer in a line, with what it says of the span asked for."""
    but: tuple[str, ...] = ()
    """What was asked and is another here, each a clause: they stand among the reasons, too."""
    beneath: tuple[str, ...] = ()
    """What stands on the shelf in its stead no more, or again, a sentence each."""
    life_h: float = 0.0
    """Typical life of the nearest type by which its question was decided, hours; 0 where none is known."""


def ask(question: str, studies: Sequence[Shelved], most: int | None = None) -> tuple[Hit, ...]:
    """Return the studies that bear on a question, nearest first; the longest or shortest lives where asked.

    Damaged, superseded and copied ones are no answers of their own.
    """
    asked, stands = understood(question), standing(studies)
    texts = [_told(study, stands.under(study)) for study in stands.counting]
    ranks = _ranked(asked.words, texts)
    known = _Vocabulary(stands.counting, asked)
    hits = (
        _hit(asked, study, texts[place], ranks.get(place, 0.0), known, stands)
        for place, study in enumerate(stands.counting)
    )
    bearing = sorted((hit for hit in hits if hit.why), key=lambda hit: (-hit.score, hit.study.id))
    if asked.order:
        sign = 1 if asked.order == "shortest" else -1
        # What is another thing than was asked comes last, however long it lasts; so does what has no life.
        bearing.sort(key=lambda hit: (bool(hit.but), not hit.life_h, sign * hit.life_h))
    return tuple(bearing[:most])


def nothing_found(question: str, studies: Sequence[Shelved]) -> str:
    """Return what was looked for in vain, and what the shelf has instead."""
    asked, counting = understood(question), standing(studies).counting
    if not asked.anything:
        return (
            "Nothing in that question tells one study from another: name a type of column, a buffer, a "
            "marker, a temperature, a pH, or a word of a study."
        )
    sought = [*asked.words, *(f"not {word}" for word in asked.without)]
    sought += [f"pH {asked.ph:g}"] if asked.ph is not None else []
    sought += [with_unit(f"{asked.temperature_C:g}", "°C")] if asked.temperature_C is not None else []
    sought += [setting_text(key, value) for key, value in asked.quantities]
    lives = [life for study in counting for life in study.lives]
    heats = sorted({one.temperature_C for one in lives if one.temperature_C is not None})
    span = f"{heats[0]:g}" if heats[:1] == heats[-1:] else f"{heats[0]:g} to {heats[-1]:g}" if heats else ""
    here = "; ".join(filter(None, (
        listed(sorted({one.kind for one in lives})),
        f"in {listed(sorted({one.buffer for one in lives if one.buffer}))}" if lives else "",
        f"at {with_unit(span, '°C')}" if span else "",
    )))  # fmt: skip
    return (
        f"No study on this shelf bears on that question (looked for: {', '.join(sought) or asked.order}). "
        f"Here {'is' if len(counting) == 1 else 'are'} {counted(len(counting), 'study', 'studies')}"
        f"{f' of {here}' if here else ''}."
    )


Text = tuple[str, str, str, str]


def _ranked(words: Sequence[str], texts: Sequence[Text]) -> dict[int, float]:
    """Return the share of the best full-text score by place in `texts`; any of the words will do."""
    if not words:
        return {}
    with sqlite3.connect(":memory:") as base:
        base.execute(
            "create virtual table shelf using fts5(title, kinds, conditions, said, tokenize='porter "
            "unicode61')"
        )
        base.executemany(
            "insert into shelf(rowid, title, kinds, conditions, said) values (?, ?, ?, ?, ?)",
            ((place, *text) for place, text in enumerate(texts)),
        )
        sought = " OR ".join(f'"{word}"' for word in words)
        # Title, question and types say what a study is about; sentences mention much else.
        found = base.execute(
            "select rowid, -bm25(shelf, 4.0, 4.0, 4.0, 1.0) from shelf where shelf match ?", (sought,)
        ).fetchall()
    best = max((score for _, score in found), default=0.0)
    # bm25 is near 0, or below, for a word that most studies have: it still tells that the word is there.
    return {place: max(score, 1e-6) / max(best, 1e-6) for place, score in found}


def _told(study: Shelved, beneath: Sequence[Beneath]) -> Text:
    """Return title and questions (those of copies, too), types, conditions, and all else that is said."""
    copies = [one.study for one in beneath if one.why == "copied"]
    titles = " ".join(
        " ".join((one.title, *(answer.question for answer in one.answers))) for one in (study, *copies)
    )
    kinds = {f"{one.kind} {one.group} {one.marker} {one.role}" for one in study.lives}
    conditions = {f"{one.buffer} {one.organic}" for one in study.lives}
    ids = (study.id, *(one.study.id for one in beneath))
    said = " ".join((*(one.short for one in study.answers), study.words, *study.keywords, *ids))
    return titles, " ".join(sorted(kinds)), " ".join(sorted(conditions)), said


class _Vocabulary:
    """Which words of a question name types and markers that some study of the shelf has."""

    def __init__(self, studies: Sequence[Shelved], asked: Asked) -> None:
        lives = [life for study in studies for life in study.lives]
        spoken = {stem(word) for word in asked.words}
        types = _stems(" ".join({one.packing for one in lives})) | _PARTICLES
        # A marker of several words is meant where all of them are spoken.
        markers = {one.marker for one in lives}
        self.types = tuple(word for word in asked.words if stem(word) in types)
        self.markers = tuple(sorted(one for one in markers if one and _stems(one) <= spoken))
        self.ahead = bool(AHEAD & set(asked.words))


_PARTICLES = frozenset(
    ("silica", "hybrid", "core-shell", "coated", "polymer", "graphitic", "carbon", "porous")
)
"""Words of the particles that a study may name."""


def _stems(text: str) -> set[str]:
    """Return the words of a text without plurals, compound ones also in their parts."""
    words = {stem(word) for word in words_of(text)}
    return words | {stem(part) for word in words for part in word.split("-") if part}


def _hit(asked: Asked, study: Shelved, text: Text, rank: float, known: _Vocabulary, stands: Standing) -> Hit:
    """Return one study with its score and reasons."""
    why: list[str] = []
    score = rank
    held = _stems(" ".join(text))
    words = [word for word in asked.words if stem(word) in held]
    if asked.words:
        score += len(words) / len(asked.words)
    if words:
        lacks = [word for word in asked.words if word not in (*words, *known.types, *AHEAD)]
        rest = f", but not {listed(lacks)}" if lacks else ""
        why.append(f"has the {'word' if len(words) == 1 else 'words'} {listed(words)}{rest}")
    near = max(study.lives, key=lambda one: _nearness(asked, one, words, known.ahead), default=None)
    but: list[str] = []
    if near is not None:
        score += _nearness(asked, near, words, known.ahead)
        why += _conditions(asked, near)
        why += _quantities(asked, study, near)
        but = [*_otherwise(asked, study, known), *_far(asked, near)]
        score -= OTHER * len(but)
    life = _typical(study, near) if near is not None and asked.order else 0.0
    if why and life and near is not None:
        why.append(_lasted(study, near, life))
    under, shared = stands.under(study), stands.shared(study)
    beneath = (*_later_than(under), *_copies_told(under), *map(_shared_told, shared))
    return Hit(
        study, score, (*why, *but) if why else (), _answer(asked, study, near), tuple(but), beneath, life
    )


def _named(study: Shelved) -> str:
    return f"‘{study.title}’ (study {study.id}, {study.place})"


def _later_than(under: Sequence[Beneath]) -> Iterator[str]:
    """Yield which studies one supersedes, and of which it is a later revision."""
    for one in under:
        if one.why == "superseded":
            yield f"It supersedes {_named(one.study)}, which is no answer any more."
        elif one.why == "revised":
            edition = (
                f"revision {one.study.revision}" if one.study.revision else "the edition without a number"
            )
            yield f"It is a later edition than {edition}, {_named(one.study)}, which is no answer any more."


# Beyond three the list is longer than the answer; the page of contradictions has them all.
_MOST_COPIES = 3


def _copies_told(under: Sequence[Beneath]) -> Iterator[str]:
    """Yield under which other names the same measurements stand, and what is stated otherwise there."""
    copies = [one for one in under if one.why == "copied"]
    if len(copies) <= _MOST_COPIES:
        for one in copies:
            other = told_otherwise(one)
            differs = f" That one states otherwise: {'; '.join(other)}." if other else ""
            yield f"The same measurements stand here as {_named(one.study)}, and count once.{differs}"
        return
    names = ", ".join(f"{one.study.id}" for one in copies)
    odd = sum(bool(told_otherwise(one)) for one in copies)
    differs = f" {sentence(spelled(odd))[:-1]} of these state otherwise what was done." if odd else ""
    yield (
        f"The same measurements stand here under {spelled(len(copies))} other ids ({names}), and count once."
        f"{differs}"
    )


def _shared_told(one: Beneath) -> str:
    """Return which columns of a study count with another one, a sentence."""
    names = listed(twin.other for twin in one.twins)
    return f"Its measurements of {names} are those of study {one.by.id} ({one.by.place}), and count there."


def _deciding(study: Shelved, near: ColumnLife) -> list[ColumnLife]:
    """Return the lives of a type that decided, one a column; by the nearest metric where none is known to."""
    own = [one for one in study.deciding_lives if one.kind == near.kind]
    pairs = {(one.marker, one.metric) for one in own}
    pair = (
        (near.marker, near.metric) if (near.marker, near.metric) in pairs else next(iter(sorted(pairs)), ())
    )
    return [one for one in own if (one.marker, one.metric) == pair]


def _typical(study: Shelved, near: ColumnLife) -> float:
    """Return the geometric mean of the deciding lives of a type, what was not reached as it lasted."""
    lives = _deciding(study, near)
    known = [lasted for one in lives if (lasted := one.life_h if one.life_h is not None else one.low_h)]
    return exp(sum(map(log, known)) / len(known)) if known else 0.0


def _lasted(study: Shelved, near: ColumnLife, life_h: float) -> str:
    """Return how long the columns of a type lasted, a clause."""
    open_ = any(one.life_h is None for one in _deciding(study, near))
    return f"its columns of {near.kind} lasted {'at least' if open_ else 'about'} {hours(life_h)}"


def _nearness(asked: Asked, life: ColumnLife, words: Sequence[str], ahead: bool) -> float:
    """Return 0 … about 2.3: a share for each condition asked for, and a little for the type that is named.

    `ahead` says whether columns behind something were asked for.
    """
    named = _stems(f"{life.kind} {life.group} {life.buffer} {life.marker}")
    near = 0.1 * (sum(stem(word) in named for word in words) + (bool(life.upstream) is ahead))
    near -= sum(stem(word) in named for word in asked.without)
    if asked.temperature_C is not None and life.temperature_C is not None:
        near += exp(-abs(asked.temperature_C - life.temperature_C) / NEAR_C)
    gap = _ph_gap(asked, life)
    return near + (exp(-gap / NEAR_PH) if gap is not None else 0.0)


def _ph_gap(asked: Asked, life: ColumnLife) -> float | None:
    """Return how far the pH asked for lies from the study's, both hot where that can be computed."""
    if asked.ph is None or life.ph is None:
        return None
    hot = asked_hot(asked, life)
    if hot is None or life.ph_hot is None:
        return abs(asked.ph - life.ph)
    return abs(hot - life.ph_hot)


def asked_hot(asked: Asked, life: ColumnLife) -> float | None:
    """Return the pH asked for at the temperature asked for, in the study's own buffer; None where unknown."""
    if asked.ph is None or asked.temperature_C is None:
        return None
    return _hot(life.buffer, life.buffer_mM, asked.ph, asked.temperature_C)


# Bounds of one medium take 50 ms, and most studies of a shelf share a few.
@lru_cache(maxsize=512)
def _hot(buffer: str, buffer_mM: float | None, ph: float, temperature_C: float) -> float | None:
    """Return a bench pH at temperature."""
    try:
        return stress_medium(buffer, buffer_mM, ph, BENCH_C, temperature_C).ph.value
    except NotComputableError:
        return None


def _conditions(asked: Asked, life: ColumnLife) -> list[str]:
    """Return what is near and how near, where it is near enough to bear on the question."""
    told = []
    if asked.temperature_C is not None and life.temperature_C is not None:
        gap = abs(asked.temperature_C - life.temperature_C)
        if gap <= 3 * NEAR_C:
            told.append(
                f"was run at {with_unit(f'{life.temperature_C:g}', '°C')}, "
                + ("as asked" if gap < 0.5 else f"{gap:g} °C from what was asked")
            )
    gap_ph = _ph_gap(asked, life)
    if gap_ph is not None and gap_ph <= 3 * NEAR_PH and life.ph is not None:
        hot = f" ({life.ph_hot:.1f} when hot)" if life.ph_hot is not None else ""
        both = ", both when hot" if asked_hot(asked, life) is not None and life.ph_hot is not None else ""
        far = "as asked" if gap_ph < 0.05 else f"{gap_ph:.1f} from what was asked{both}"
        told.append(f"was run at pH {life.ph:g}{hot}, {far}")
    return told


def _quantities(asked: Asked, study: Shelved, life: ColumnLife) -> Iterator[str]:
    """Yield what else was asked as a number, beside what the study states of it."""
    stated = dict(study.settings)
    stated.update(*(column.settings for column in study.columns if column.id == life.column))
    for key, value in asked.quantities:
        if not key or not (told := stated.get(key)):
            continue
        number = re.match(r"[\d.,]+", told)
        same = number is not None and abs(decimal(number.group(0)) - value) <= AS_ASKED * abs(value)
        wanted = "as asked" if same else f"where {setting_text(key, value)} was asked"
        yield f"had {_article(setting_words(key))} of {told}, {wanted}"


def _article(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def _otherwise(asked: Asked, study: Shelved, known: _Vocabulary) -> Iterator[str]:
    """Yield type, buffer, marker and guard that were asked for and that the study has not."""
    lives = study.lives
    kinds = sorted({one.kind for one in lives})
    held = _stems(" ".join((*(one.packing for one in lives), *(one.group for one in lives))))
    if missed := [word for word in known.types if stem(word) not in held]:
        yield f"{' '.join(missed)} was asked, this is {listed(kinds)}"
    here = {buffer.name if (buffer := buffer_named(one.buffer)) else one.buffer for one in lives}
    if asked.buffers and not here & set(asked.buffers):
        told = listed(sorted(here - {""})) or "a buffer that is not stated"
        yield f"{listed(asked.buffers, 'or')} was asked, this is in {told}"
    markers = {one.marker for one in lives if one.marker}
    if missed := [one for one in known.markers if one not in markers]:
        yield f"{listed(missed)} was asked, this follows {listed(sorted(markers)) or 'no marker'}"
    ahead = {behind(one.upstream).strip() for one in lives}
    if known.ahead and ahead == {""}:
        yield "something ahead of the column was asked, here nothing is told to have stood there"
    elif not known.ahead and "" not in ahead:
        yield f"all its columns stood {listed(sorted(ahead))}"
    for texts, this in ((kinds, f"is {listed(kinds)}"), (sorted(here), f"is in {listed(sorted(here))}")):
        held_by_all = [
            word for word in asked.without if texts and all(stem(word) in _stems(one) for one in texts)
        ]
        if held_by_all:
            yield f"{listed(held_by_all)} was ruled out, this {this}"


def _far(asked: Asked, life: ColumnLife) -> Iterator[str]:
    """Yield each condition that was asked for and is far from what was tested, or not known of the study."""
    heat, acid = life.temperature_C, life.ph
    if asked.temperature_C is not None and (heat is None or abs(asked.temperature_C - heat) > 3 * NEAR_C):
        tested = with_unit(f"{heat:g}", "°C") if heat is not None else "a temperature that is not told"
        yield f"was run at {tested}, though, where {with_unit(f'{asked.temperature_C:g}', '°C')} was asked"
    gap = _ph_gap(asked, life)
    if asked.ph is not None and (gap is None or gap > 3 * NEAR_PH):
        tested = f"pH {acid:g}" if acid is not None else "a pH that is not told"
        yield f"was run at {tested}, though, where pH {asked.ph:g} was asked"


def _answer(asked: Asked, study: Shelved, near: ColumnLife | None) -> str:
    """Return the first answer, and what the nearest columns say of the span that was asked for."""
    short = study.answers[0].short if study.answers else ""
    if asked.span_h is None or near is None:
        return short
    own = _deciding(study, near)
    # By the ends of the intervals: what holds the span within it is not known to have lasted it, or not.
    ended = sum(one.high_h is not None and one.high_h < asked.span_h for one in own)
    held = sum((one.low_h or 0.0) >= asked.span_h for one in own)
    if not own:
        return short
    parts = (
        (held, "lasted"),
        (ended, "did not last"),
        (len(own) - ended - held, "may or may not have lasted"),
    )
    told = listed(f"{spelled(number)} {what}" for number, what in parts if number)
    return (
        f"{short} By the {metric_of_marker(own[0].marker, own[0].metric)} alone, of "
        f"{counted(len(own), 'column')} of {near.kind} {told} {hours(asked.span_h)}."
    )


def foreseen_words(question: str, studies: Sequence[Shelved]) -> str:
    """Return the life foreseen for the type and conditions of a question, or why none is; empty for neither.

    It is for a further column in a further laboratory, indicated at best, and says by how far the conditions
    lie outside what was tested.
    """
    asked = understood(question)
    if asked.temperature_C is None or asked.ph is None:
        return ""
    counting = standing(studies).counting
    told = foreseen(
        counting, asked.words, asked.buffers, asked.temperature_C, lambda life: asked_hot(asked, life)
    )
    if told is None:
        kinds = sorted({life.packing for study in counting for life in study.lives if life.packing})
        here = f" ({listed(kinds, 'or')})" if kinds else ""
        return (
            f"No life is foreseen: name the type of a column as the shelf has it{here}, and a buffer whose "
            f"pH at {asked.temperature_C:g} °C can be computed."
        )
    where = f"{told.kind} in {told.buffer or 'a buffer that is not stated'} at {asked.temperature_C:g} °C"
    life = told.prediction.life_h
    if life.value is None:
        return f"No life is foreseen for {where}: {life.reason}."
    warnings = [told.prediction.outside] if told.prediction.outside else []
    if asked.buffers and not told.as_asked:
        warnings.append(f"{listed(asked.buffers, 'or')} was asked, and no study of that type is in it")
    outside = f" Mind: {'; '.join(warnings)}." if warnings else ""
    return (
        f"Indicated, not shown, by {told.studies} studies of {told.columns} columns: a further column of "
        f"{where} and pH {told.ph_hot:.1f} when hot, in a further laboratory, lasts {interval(life, 'h')} "
        f"until its {metric_of_marker(told.marker, told.metric)} passes its limit "
        f"({limit_read(told.limit, told.metric)}).{outside}"
    )
