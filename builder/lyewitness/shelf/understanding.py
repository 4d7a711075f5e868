"""What a question in plain words asks for: conditions as quantities, buffers by name, the rest as words.

In: words such as 'pyrrolidine 20 mM, pH 11, 50 °C, polymer, three days'. Out: `Asked`.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from lyewitness.chemistry.protolytes import buffer_named

_COUNTS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
    "ten": 10, "twelve": 12, "fourteen": 14, "a": 1, "an": 1, "half a": 0.5,
}  # fmt: skip
_NUMBER = r"\d+(?:[.,]\d+)?"
_PH = re.compile(r"\bph\s*(?:of|=|about|around|is|near|≈|~)?\s*(\d{1,2}(?:[.,]\d+)?)", re.IGNORECASE)
_HEAT = re.compile(
    r"(?P<kelvin>[2-4]\d\d(?:[.,]\d+)?)\s*(?:K|kelvins?)\b"
    r"|(?P<fahrenheit>\d{2,3}(?:[.,]\d+)?)\s*(?:°|degrees?)?\s*(?:F|fahrenheit)\b"
    r"|(?P<celsius>-?\d{1,3}(?:[.,]\d+)?)\s*(?:(?:°\s*C|degrees?(?:\s+celsius)?|grad|C)\b|°)",
    re.IGNORECASE,
)
_SPAN = re.compile(
    rf"\b({_NUMBER}|{'|'.join(sorted(_COUNTS, key=len, reverse=True))})\s*"
    r"(h|hrs?|hours?|d|days?|weeks?|months?)\b",
    re.IGNORECASE,
)
_HOURS = {"h": 1.0, "d": 24.0, "w": 168.0, "m": 730.0}
_QUANTITIES: tuple[tuple[str, re.Pattern[str], float], ...] = tuple(
    (key, re.compile(rf"({_NUMBER})\s*(?:{unit})(?![\w/])"), factor)
    for key, unit, factor in (
        ("flow_mL_min", r"mL\s*/\s*min|mL min[-−]1|mL per min(?:ute)?|ml\s*/\s*min", 1.0),
        ("flow_mL_min", r"[µμu]L\s*/\s*min", 1e-3),
        ("buffer_mM", r"mM|mmol\s*/\s*[lL]|mmol [lL][-−]1|millimolar|mmol", 1.0),
        ("buffer_mM", r"M|mol\s*/\s*[lL]|mol [lL][-−]1|molar", 1e3),
        ("organic_percent", r"%(?:\s*(?:v/v|\(v/v\)))?|per ?cent|vol-?%", 1.0),
        ("particle_um", r"[µμu]m", 1.0),
        ("wavelength_nm", r"nm", 1.0),
        ("injection_uL", r"[µμu][lL]", 1.0),
        ("", r"mm|cm|bar|MPa|psi|[kK]?Da|Å|min(?:utes?)?|s|mL|ml|injections?|runs?|columns?", 1.0),
    )
)
"""Key of the setting, unit, and what turns it into that of the setting; no key for what no setting has."""
_SIZES = re.compile(rf"{_NUMBER}\s*(?:mm)?\s*[x×]\s*{_NUMBER}\s*mm\b", re.IGNORECASE)
_WITHOUT = re.compile(
    r"\b(?:not|without|except|excluding|(?:any|every)thing but|all but|other than|but no|no)\s+"
    r"(?:in\s+|on\s+|at\s+|an?\s+|the\s+|any\s+)?([\w-]+)",
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
    someone something sometimes sorry stability stable stand stands still studies study such survive
    survived survives take takes tell temperature test tested testing tests than thanks that the
    their theirs them then there these they thing things this those though through till to together
    told too tried try type types under until up upon us use used uses using versus very via vs want
    wanted wants was way we weakest week weeks well went were what whatever when where whether which
    while who whom whose why will with within without work works worst would yet you your yours
"""))  # fmt: skip
"""Words that every question may have, and that tell no study from another."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a question in plain words asks for."""

    words: tuple[str, ...]
    ph: float | None = None
    """As at the bench."""
    temperature_C: float | None = None
    span_h: float | None = None
    quantities: tuple[tuple[str, float], ...] = ()
    """Key of `words.settings` and value in its unit, of what else is asked as a number."""
    buffers: tuple[str, ...] = ()
    """Names from the chemistry tables."""
    without: tuple[str, ...] = ()
    """Words that the question rules out."""
    order: Order = ""
    """Which lives are asked for first."""

    @property
    def anything(self) -> bool:
        """Return whether it names anything by which studies can be told apart."""
        asked = (self.words, self.quantities, self.order)
        return any(asked) or any(one is not None for one in (self.ph, self.temperature_C))


def understood(question: str) -> Asked:
    """Return conditions and words of a question."""
    rest = _SIZES.sub(" ", question)
    ph, rest = _taken(_PH, rest)
    quantities: dict[str, float] = {}
    for key, pattern, factor in _QUANTITIES[:-1]:
        for one in pattern.finditer(rest):
            quantities.setdefault(key, decimal(one.group(1)) * factor)
        rest = pattern.sub(" ", rest)
    heat, rest = _taken(_HEAT, rest)
    span, rest = _taken(_SPAN, rest)
    rest = _QUANTITIES[-1][1].sub(" ", rest)
    order: Order = next((name for name, pattern in _ORDERS if pattern.search(rest)), "")
    without = tuple(one.lower() for one in _WITHOUT.findall(rest) if one.lower() not in _EMPTY)
    rest = _WITHOUT.sub(lambda one: " " if one.group(1).lower() in without else one.group(0), rest)
    words = tuple(dict.fromkeys(word for word in words_of(rest) if _tells(word)))
    return Asked(
        words,
        decimal(ph.group(1)) if ph else None,
        _celsius(heat) if heat else None,
        _hours(span) if span else None,
        tuple(quantities.items()),
        tuple(dict.fromkeys(_buffers(words_of(rest)))),
        without,
        order,
    )


def words_of(text: str) -> list[str]:
    """Return the words of a text, small; `core shell` is one word, as the tables have it."""
    return re.findall(r"\w[\w-]*", re.sub(r"\bcore shell\b", "core-shell", text.lower()))


def stem(word: str) -> str:
    """Return a word without the end of its plural: `hybrids` are `hybrid`."""
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _tells(word: str) -> bool:
    return word not in _EMPTY and word not in _COUNTS and len(word) > 1 and not re.fullmatch(r"[\d_-]+", word)


def _taken(pattern: re.Pattern[str], text: str) -> tuple[re.Match[str] | None, str]:
    """Return what a pattern finds, and the text without it."""
    found = pattern.search(text)
    return found, text.replace(found.group(0), " ") if found else text


def _buffers(words: list[str]) -> Iterator[str]:
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


def _celsius(heat: re.Match[str]) -> float:
    """Return a temperature in °C, whatever scale it was asked in."""
    if heat["kelvin"]:
        return round(decimal(heat["kelvin"]) - 273.15, 2)
    if heat["fahrenheit"]:
        return round((decimal(heat["fahrenheit"]) - 32) / 1.8, 2)
    return decimal(heat["celsius"])


def decimal(text: str) -> float:
    """Return a number with a point or a comma."""
    return float(text.replace(",", "."))


def _hours(span: re.Match[str]) -> float:
    count = span.group(1).lower()
    return (_COUNTS.get(count) or decimal(count)) * _HOURS[span.group(2)[0].lower()]
