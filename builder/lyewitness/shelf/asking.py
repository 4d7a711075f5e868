"""Which studies bear on a question in plain words, nearest first, and why.

In: words such as 'pyrrolidine pH 11, 50 °C, polymer, three days', the studies. Out: `Hit`s in order. Words
are
ranked by full text (SQLite FTS5, bm25); conditions are quantities: a pH at temperature is held against a
pH at
temperature, so that pH 11 of an amine at 60 °C is no pH 11 of a phosphate.
"""

import re
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp

from lyewitness.chemistry.medium import stress_medium
from lyewitness.chemistry.records import NotComputableError
from lyewitness.shelf.alike import foreseen
from lyewitness.shelf.records import ColumnLife, Shelved
from lyewitness.words.lives import limit_read
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import interval, with_unit
from lyewitness.words.phrases import counted

# A rate doubles or triples over 10 °C, and over about half a pH unit: that far is another experiment.
NEAR_C = 10.0
NEAR_PH = 0.5
# Where a question states a pH without a temperature, it was measured at the bench.
BENCH_C = 25.0
# Lives of a study that another one takes the place of are still worth a look, but never first.
SUPERSEDED = 0.4
_NUMBERS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "ten": 10, "a": 1,
}  # fmt: skip
_PH = re.compile(r"\bph\s*(?:of|=|about)?\s*(\d{1,2}(?:[.,]\d+)?)", re.IGNORECASE)
_HEAT = re.compile(
    r"(?P<kelvin>[2-4]\d\d(?:[.,]\d+)?)\s*(?:K|kelvins?)\b"
    r"|(?P<fahrenheit>\d{2,3}(?:[.,]\d+)?)\s*(?:°|degrees?)?\s*(?:F|fahrenheit)\b"
    r"|(?P<celsius>-?\d{1,3}(?:[.,]\d+)?)\s*(?:(?:°\s*C|degrees?(?:\s+celsius)?|grad|C)\b|°)",
    re.IGNORECASE,
)
_SPAN = re.compile(
    rf"\b(\d+(?:[.,]\d+)?|{'|'.join(_NUMBERS)})\s*(h|hours?|d|days?|weeks?|months?)\b", re.IGNORECASE
)
_HOURS = {"h": 1.0, "d": 24.0, "w": 168.0, "m": 730.0}
_EMPTY = frozenset((
    "a", "an", "and", "are", "as", "at", "be", "by", "can", "column", "columns", "did", "do", "does", "for",
    "from", "had", "has", "have", "how", "i", "if", "in", "is", "it", "last", "lasts", "long", "longer",
    "longest", "of", "on", "or", "our", "study", "than", "that", "the", "them", "then", "they", "this",
    "to", "was", "we", "were", "what", "when", "which", "with", "will", "would", "hold", "holds", "survive",
    "ever", "already", "anybody", "anyone", "tested", "test",
))  # fmt: skip
"""Words that every question has."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a question in plain words asks for."""

    words: tuple[str, ...]
    ph: float | None = None
    """As at the bench."""
    temperature_C: float | None = None
    span_h: float | None = None


@dataclass(frozen=True, slots=True)
class Hit:
    """One study that bears on a question."""

    study: Shelved
    score: float
    why: tuple[str, ...]
    """Reasons, each a clause with its numbers."""
    answer: str
    """The study's answer in a line, with what it says of the span asked for."""


def understood(question: str) -> Asked:
    """Return conditions and words of a question."""
    ph, heat, span = _PH.search(question), _HEAT.search(question), _SPAN.search(question)
    rest = question
    for found in (ph, heat, span):
        rest = rest.replace(found.group(0), " ") if found else rest
    words = [word for word in re.findall(r"[\w-]+", rest.lower()) if word not in _EMPTY and len(word) > 1]
    return Asked(
        tuple(dict.fromkeys(words)),
        _decimal(ph.group(1)) if ph else None,
        _celsius(heat) if heat else None,
        _hours(span) if span else None,
    )


def _celsius(heat: re.Match[str]) -> float:
    """Return a temperature in °C, whatever scale it was asked in."""
    if heat["kelvin"]:
        return round(_decimal(heat["kelvin"]) - 273.15, 2)
    if heat["fahrenheit"]:
        return round((_decimal(heat["fahrenheit"]) - 32) / 1.8, 2)
    return _decimal(heat["celsius"])


def _decimal(text: str) -> float:
    return float(text.replace(",", "."))


def _hours(span: re.Match[str]) -> float:
    count = span.group(1).lower()
    return (_NUMBERS.get(count) or _decimal(count)) * _HOURS[span.group(2)[0].lower()]


def ask(question: str, studies: Sequence[Shelved], most: int = 10) -> tuple[Hit, ...]:
    """Return the studies that bear on a question, nearest first; damaged ones never do."""
    asked = understood(question)
    whole = [study for study in studies if not study.damage]
    replaced = {study.supersedes for study in whole if study.supersedes}
    ranks = _ranked(asked.words, whole)
    hits = [_hit(asked, study, ranks.get(place, 0.0), replaced) for place, study in enumerate(whole)]
    bearing = [hit for hit in hits if hit.why]
    return tuple(sorted(bearing, key=lambda hit: (-hit.score, hit.study.id))[:most])


def _ranked(words: Sequence[str], studies: Sequence[Shelved]) -> dict[int, float]:
    """Return the share of the best full-text score by place in `studies`; any of the words will do."""
    if not words:
        return {}
    with sqlite3.connect(":memory:") as base:
        base.execute(
            "create virtual table shelf using fts5(title, kinds, conditions, said, tokenize='porter "
            "unicode61')"
        )
        base.executemany(
            "insert into shelf(rowid, title, kinds, conditions, said) values (?, ?, ?, ?, ?)",
            ((place, *_told(study)) for place, study in enumerate(studies)),
        )
        sought = " OR ".join(f'"{word}"' for word in words)
        # Title, question and types say what a study is about; sentences mention much else.
        found = base.execute(
            "select rowid, -bm25(shelf, 4.0, 4.0, 4.0, 1.0) from shelf where shelf match ?", (sought,)
        ).fetchall()
    best = max((score for _, score in found), default=0.0)
    # bm25 is near 0, or below, for a word that most studies have: it still tells that the word is there.
    return {place: max(score, 1e-6) / max(best, 1e-6) for place, score in found}


def _told(study: Shelved) -> tuple[str, str, str, str]:
    questions = " ".join(one.question for one in study.answers)
    kinds = {f"{one.kind} {one.group} {one.marker} {one.role}" for one in study.lives}
    conditions = {f"{one.buffer} {one.organic}" for one in study.lives}
    said = " ".join((*(one.short for one in study.answers), study.words, *study.keywords, study.id))
    return f"{study.title} {questions}", " ".join(sorted(kinds)), " ".join(sorted(conditions)), said


def _hit(asked: Asked, study: Shelved, rank: float, replaced: set[str]) -> Hit:
    """Return one study with its score and reasons."""
    why: list[str] = []
    score = rank
    text = " ".join(_told(study)).lower()
    words = [word for word in asked.words if word in text]
    if asked.words:
        score += len(words) / len(asked.words)
    if words:
        why.append(f"has the words {', '.join(words)}")
    lives = study.lives
    near = max(lives, key=lambda one: _nearness(asked, one, words), default=None)
    if near is not None and (asked.ph is not None or asked.temperature_C is not None):
        score += _nearness(asked, near, words)
        why += _conditions(asked, near)
        why += _far(asked, near) if why else []
    if study.id in replaced:
        score *= SUPERSEDED
        why = [*why, "has been replaced by a later study"] if why else []
    return Hit(study, score, tuple(why), _answer(asked, study, near, words))


def _nearness(asked: Asked, life: ColumnLife, words: Sequence[str]) -> float:
    """Return 0 … about 2.2: a share for each condition asked for, and a little for the type that is named."""
    near = 0.1 * sum(
        word in f"{life.kind} {life.group} {life.buffer} {life.marker}".lower() for word in words
    )
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


def _answer(asked: Asked, study: Shelved, near: ColumnLife | None, words: Sequence[str]) -> str:
    """Return the first answer, and what the nearest columns say of the span that was asked for."""
    short = study.answers[0].short if study.answers else ""
    if asked.span_h is None or near is None:
        return short
    own = [one for one in study.deciding_lives if one.kind == near.kind]
    # By the ends of the intervals: what holds the span within it is not known to have lasted it, or not.
    ended = sum(one.high_h is not None and one.high_h < asked.span_h for one in own)
    held = sum((one.low_h or 0.0) >= asked.span_h for one in own)
    if not own:
        return short
    open_ = len(own) - ended - held
    rest = f"; of {open_} that is not known" if open_ else ""
    return (
        f"{short} By the {metric_of_marker(own[0].marker, own[0].metric)} alone, of "
        f"{counted(len(own), f'{near.kind} column')} {held} lasted {asked.span_h:g} h and {ended} did not"
        f"{rest}."
    )


def foreseen_words(question: str, studies: Sequence[Shelved]) -> str:
    """Return the life foreseen for the type and conditions of a question, or why none is; empty for neither.

    It is for a further column in a further laboratory, indicated at best, and says by how far the conditions
    lie outside what was tested.
    """
    asked = understood(question)
    if asked.temperature_C is None or asked.ph is None:
        return ""
    told = foreseen(studies, asked.words, asked.temperature_C, lambda life: asked_hot(asked, life))
    if told is None:
        return (
            "No life is foreseen: name the type of a column as the shelf has it, and a buffer whose pH at "
            f"{asked.temperature_C:g} °C can be computed."
        )
    where = f"{told.kind} in {told.buffer or 'a buffer that is not stated'} at {asked.temperature_C:g} °C"
    life = told.prediction.life_h
    if life.value is None:
        return f"No life is foreseen for {where}: {life.reason}."
    outside = f" Mind: {told.prediction.outside}." if told.prediction.outside else ""
    return (
        f"Indicated, not shown, by {told.studies} studies of {told.columns} columns: a further column of "
        f"{where} and pH {told.ph_hot:.1f} when hot, in a further laboratory, lasts {interval(life, 'h')} "
        f"until its {metric_of_marker(told.marker, told.metric)} passes its limit "
        f"({limit_read(told.limit, told.metric)}).{outside}"
    )
