"""What a question in plain words asks for: conditions as quantities, buffers by name, the rest as words.

In: words such as 'pyrrolidine 20 mM, pH 11, 50 °C, polymer, three days'. Out: `Asked`.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from lyewitness.chemistry.protolytes import buffer_named
from lyewitness.shelf.ranges import NUMBER_WORDS, Range, heard

_WITHOUT = re.compile(
    r"\b(?:not|neither|without|except|excluding|(?:any|every)thing but|all but|other than|but no|no)\s+"
    r"(?:in\s+|on\s+|at\s+|an?\s+|the\s+|any\s+)?([\w-]+(?:\s+n?or\s+(?:in\s+|on\s+)?[\w-]+)*)",
    re.IGNORECASE,
)
Order = Literal["", "longest", "shortest"]
_ORDERS: tuple[tuple[Order, re.Pattern[str]], ...] = (
    ("shortest", re.compile(
        r"\b(?:short(?:est|er|-lived)|least (?:stable|durable)|(?:fails?|dies?|died|failed|gives? up) "
        r"(?:first|soonest|fastest)|fastest|worst|weakest|first to (?:fail|die))\b", re.IGNORECASE)),
    ("longest", re.compile(
        r"\b(?:long(?:est|er|-lived)|most (?:stable|durable|robust)|best|toughest|last to (?:fail|die)"
        r"|(?:fails?|dies?) last)\b", re.IGNORECASE)),
)  # fmt: skip
_EMPTY = frozenset(re.findall(r"\w+", """
    a about above after again against ago all already also although always am among an and another
    any anybody anyone anything are around as asked at away be became because become been before
    being below best better between both bottle buffer buffers but by can cannot case cases celsius
    column columns condition conditions could data day days degree degrees did die died dies do does
    doing done down during each either else enough even ever every everything experience experiences
    fail failed fails far fast fastest few find first for found from further gave get gets give
    gives go goes going gone got had happen happened happens has have having he hello help her here
    hers him his hold holds hour hours how however i if in instead into is it its itself just keep
    kept kind kinds know known last lasted lasting lasts later least less let life lifetime
    lifetimes like likely live lived lives long longer longest look looking made make many may maybe
    me mean method methods might mine mobile month months more most much must my near need needs
    never next no none nor not nothing now of off often ok okay on once one ones only onto or other
    others our ours out over own per perhaps ph phase please put really run running runs said same
    saw say says see seen shall she short shorter shortest should show shows since so some somebody
    someone something sometimes soonest sorry stability stable stand stands still studies study such survive
    survived survives take takes tell temperature test tested testing tests than thanks that the
    their theirs them then there these they thing things this those though through till to together
    told too tried try type types under until up upon us use used uses using versus very via vs want
    wanted wants was way we weakest week weeks well went were what whatever when where whether which
    while who whom whose why will with within without work works worst would yet you your yours
"""))  # fmt: skip
"""Words that every question may have, and that tell no study from another."""
_VAGUE = {
    word: about
    for about, words in (
        ("a temperature", "hot warm heated cold cool elevated hotter warmer colder cooler"),
        ("a pH", "alkaline caustic"),
        ("a time", "overnight weekend soon quickly forever briefly"),
        ("a number", "high low higher lower several"),
    )
    for word in words.split()
}
"""Words that mean a number which everybody takes to be another, and what to name in their stead."""
_SYNONYMS = tuple((re.compile(rf"\b(?:{names})\b", re.IGNORECASE), meant) for names, meant in (
    (r"(?:core|solid[- ]core)[- ]shell|superficially[- ]porous|solid[- ]core", "core-shell"),
    (r"octadecyl(?:silyl)?|ODS", "C18"),
    (r"octyl", "C8"),
))  # fmt: skip
"""Names of one kind of particle or bonding (IUPAC: superficially porous), and that of the tables."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a question in plain words asks for."""

    words: tuple[str, ...]
    ph: Range | None = None
    """As at the bench."""
    temperature_C: Range | None = None
    span_h: Range | None = None
    quantities: tuple[tuple[str, Range], ...] = ()
    """Key of `words.settings` and range in its unit, of what else is asked as a number."""
    buffers: tuple[str, ...] = ()
    """Names from the chemistry tables."""
    without: tuple[str, ...] = ()
    """Words that the question rules out."""
    order: Order = ""
    """Which lives are asked for first."""
    vague: tuple[tuple[str, str], ...] = ()
    """Words that stand for a number without telling it, each with what to name: they decide nothing."""
    unused: tuple[str, ...] = ()
    """Numbers that are held against nothing: without a unit, or of what no study states."""

    @property
    def anything(self) -> bool:
        """Return whether it names anything by which studies can be told apart."""
        asked = (self.words, self.quantities, self.order, self.without)
        return any(asked) or any(one is not None for one in (self.ph, self.temperature_C, self.span_h))

    @property
    def ranges(self) -> tuple[tuple[str, Range], ...]:
        """Return every range that is asked for, by key."""
        own = (("temperature_C", self.temperature_C), ("ph", self.ph), ("span_h", self.span_h))
        return (*((key, one) for key, one in own if one is not None), *self.quantities)


def understood(question: str) -> Asked:
    """Return conditions and words of a question."""
    numbers = heard(question)
    ranges, rest = dict(numbers.ranges), numbers.rest
    order: Order = next((name for name, pattern in _ORDERS if pattern.search(rest)), "")
    for names, meant in _SYNONYMS:
        rest = names.sub(meant, rest)
    without = tuple(
        word for one in _WITHOUT.finditer(rest) for word in words_of(one[1]) if word not in _EMPTY
    )
    rest = _WITHOUT.sub(lambda one: " " if set(words_of(one[1])) & set(without) else one[0], rest)
    spoken = tuple(dict.fromkeys(words_of(rest)))
    return Asked(
        words=tuple(word for word in spoken if _tells(word)),
        ph=ranges.pop("ph", None),
        temperature_C=ranges.pop("temperature_C", None),
        span_h=ranges.pop("span_h", None),
        quantities=tuple(ranges.items()),
        buffers=buffers_in(words_of(rest)),
        without=without,
        order=order,
        vague=tuple((word, _VAGUE[word]) for word in spoken if word in _VAGUE),
        unused=numbers.unused,
    )


def words_of(text: str) -> list[str]:
    """Return the words of a text, small; `core shell` is one word, as the tables have it."""
    return re.findall(r"\w[\w-]*", re.sub(r"\bcore shell\b", "core-shell", text.lower()))


def stem(word: str) -> str:
    """Return a word without the end of its plural: `hybrids` are `hybrid`."""
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _tells(word: str) -> bool:
    empty = word in _EMPTY or word in NUMBER_WORDS or word in _VAGUE
    return not empty and len(word) > 1 and not re.fullmatch(r"[\d_-]+", word)


def buffers_in(words: Sequence[str]) -> tuple[str, ...]:
    """Return the names in the chemistry tables of the buffers that words name."""
    return tuple(dict.fromkeys(_buffers(words)))


def _buffers(words: Sequence[str]) -> Iterator[str]:
    """Yield the buffers that words name, of longer names first: ammonium bicarbonate is no ammonium."""
    at = 0
    while at < len(words):
        for length in (3, 2, 1):
            known = buffer_named(" ".join(words[at : at + length]))
            if known is not None and at + length <= len(words):
                yield known.name
                at += length
                break
        else:
            at += 1
