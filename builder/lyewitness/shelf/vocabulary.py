"""What a question means on one shelf: its words as the shelf has them, and which of them nobody understood.

In: a question in plain words, what the studies that count say. Out: `Index` of the words, `Hearing` of the
question, and sentences of it.
"""

import re
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import lru_cache

from lyewitness.shelf.alike import AHEAD
from lyewitness.shelf.records import Shelved
from lyewitness.shelf.understanding import Asked, buffers_in, stem, understood, words_of

# More numbers than these were pasted, not asked.
MOST_TOLD = 6
PARTICLES = frozenset(
    ("silica", "hybrid", "core-shell", "coated", "polymer", "graphitic", "carbon", "porous")
)
"""Words of the particles that a study may name."""
# Share of letters in common: one letter of five may be another, two of ten. Below it other words come near.
LIKE = 0.8
# Of shorter words another letter makes another word.
SHORTEST = 5
_ROOTS = re.compile(r"meth|eth|prop|but|pent|hex|hept|oct|non|dec|mono|di|tri|tetra|iso|cyclo|benz|phen")
_CLASSES = re.compile(r"(?:yl|ol|al|ene|ane|ine|one|ate|ite|ide|ium|ic|ia)$")
"""Parts of names (IUPAC) by which one substance is another: methylamine is no slip for ethylamine."""


Text = tuple[str, str, str, str]
"""Of one study: title and questions, types, conditions, and all else that is said."""


class Index:
    """The words of studies in full text (SQLite FTS5), without the ends of their forms."""

    def __init__(self, texts: Sequence[Text]) -> None:
        self._base = sqlite3.connect(":memory:")
        self._base.execute(
            "create virtual table shelf using fts5(title, kinds, conditions, said, tokenize='porter "
            "unicode61')"
        )
        self._base.executemany(
            "insert into shelf(rowid, title, kinds, conditions, said) values (?, ?, ?, ?, ?)",
            ((place, *text) for place, text in enumerate(texts)),
        )
        self.words = {word for text in texts for word in stems(" ".join(text))}

    def ranks(self, words: Sequence[str]) -> dict[int, float]:
        """Return the share of the best score (bm25) by place of a text; any of the words will do."""
        if not words:
            return {}
        sought = " OR ".join(f'"{word}"' for word in words)
        # Title, question and types say what a study is about; sentences mention much else.
        found = self._base.execute(
            "select rowid, -bm25(shelf, 4.0, 4.0, 4.0, 1.0) from shelf where shelf match ?", (sought,)
        ).fetchall()
        best = max((score for _, score in found), default=0.0)
        # bm25 is near 0, or below, for a word that most studies have: it still tells that the word is there.
        return {place: max(score, 1e-6) / max(best, 1e-6) for place, score in found}


@dataclass(frozen=True, slots=True)
class Hearing:
    """What of a question means something on this shelf."""

    question: str
    """As it was typed."""
    asked: Asked
    """With its words as the shelf has them."""
    types: tuple[str, ...]
    """Words that name a type of column."""
    markers: tuple[str, ...]
    """Markers of the shelf that are named."""
    ahead: bool
    """Whether columns behind something are asked for."""
    respelled: tuple[tuple[str, str], ...] = ()
    """Words as typed, each with the word of the shelf that was taken for it."""
    unknown: tuple[tuple[str, str], ...] = ()
    """Words that no study has, each with the nearest that one has; empty where none comes near."""

    def told(self) -> Iterator[str]:
        """Yield what was heard, and what was not and why, a sentence each."""
        asked = self.asked
        words = [self.as_typed(word) for word in asked.words if word not in dict(self.unknown)]
        words += [one.told(key) for key, one in asked.ranges]
        words += [f"not {self.as_typed(word)}" for word in asked.without]
        words += [f"the {asked.order} life first"] if asked.order else []
        if words:
            yield f"Heard: {'; '.join(words)}."
        if missed := list(self._missed()):
            yield f"Not understood, and left out: {'; '.join(missed)}."

    def as_typed(self, word: str) -> str:
        """Return a word in the letters that were typed, or with what was typed for it."""
        typed = {meant: one for one, meant in self.respelled}
        if word in typed:
            return f"{word} (for \u2018{typed[word]}\u2019)"
        found = re.search(rf"\b{re.escape(word)}\b", self.question, re.IGNORECASE)
        return found[0] if found else word

    def _missed(self) -> Iterator[str]:
        for word, about in self.asked.vague:
            yield f"\u2018{word}\u2019 (say how much: name {about})"
        for number in self.asked.unused[:MOST_TOLD]:
            yield f"\u2018{number}\u2019 (held against nothing)"
        for word, near in self.unknown:
            meant = f"; did you mean \u2018{near}\u2019?" if near else ""
            yield f"\u2018{word}\u2019 (no study here has that word{meant})"


def hear(question: str, studies: Sequence[Shelved], index: Index) -> Hearing:
    """Return what a question means among studies whose words are in `index`."""
    asked = understood(question)
    respelled: dict[str, str] = {}
    unknown: dict[str, str] = {}
    for word in (*asked.words, *asked.without):
        if stem(word) in AHEAD | PARTICLES or buffers_in((word,)) or index.ranks((word,)):
            continue
        close = get_close_matches(stem(word), index.words, n=1, cutoff=LIKE) if len(word) >= SHORTEST else ()
        near = next(iter(close), "")
        if near and not _is_other_substance(stem(word), near):
            respelled[word] = near
        else:
            unknown[word] = near
    return _meaning(question, _respelled(asked, respelled), studies, respelled, unknown)


def _respelled(asked: Asked, meant: dict[str, str]) -> Asked:
    words, without = (
        tuple(dict.fromkeys(meant.get(word, word) for word in one)) for one in (asked.words, asked.without)
    )
    buffers = (*asked.buffers, *buffers_in(tuple(meant[word] for word in asked.words if word in meant)))
    return replace(asked, words=words, without=without, buffers=tuple(dict.fromkeys(buffers)))


def _meaning(
    question: str,
    asked: Asked,
    studies: Sequence[Shelved],
    respelled: dict[str, str],
    unknown: dict[str, str],
) -> Hearing:
    lives = [life for study in studies for life in study.lives]
    spoken = {stem(word) for word in asked.words}
    types = stems(" ".join({one.packing for one in lives})) | PARTICLES
    # A marker of several words is meant where all of them are spoken.
    markers = {one.marker for one in lives}
    return Hearing(
        question,
        asked,
        tuple(word for word in asked.words if stem(word) in types),
        tuple(sorted(one for one in markers if one and stems(one) <= spoken)),
        bool(AHEAD & set(asked.words)),
        tuple(respelled.items()),
        tuple(unknown.items()),
    )


def _is_other_substance(typed: str, meant: str) -> bool:
    """Return whether two words name two substances.

    One wrong letter may spoil one part of a name; all that is typed rightly must be in the other one, too.
    """
    one, other = (_ROOTS.findall(word) + _CLASSES.findall(word) for word in (typed, meant))
    spoilt = abs(len(typed) - len(meant)) <= 1 and len(one) + 1 == len(other)
    return one != other and not (spoilt and set(one) <= set(other))


# Of the thousands of lives on a shelf most are of a few types: their words are taken apart once.
@lru_cache(maxsize=4096)
def stems(text: str) -> frozenset[str]:
    """Return the words of a text without plurals, compound ones also in their parts."""
    words = {stem(word) for word in words_of(text)}
    return frozenset(words | {stem(part) for word in words for part in word.split("-") if part})
