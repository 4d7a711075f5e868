"""Numbers with units as people type them: points, and ranges with one end or two.

In: words such as 'between 40 and 50 °C, at least three days, pH ≥ 10.5'. Out: a `Range` by key, what was
heard and is held against nothing, and the words that are left.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.settings import SETTINGS

ZERO_CELSIUS = 273.15


@dataclass(frozen=True, slots=True)
class Range:
    """What is asked of one quantity: a point where both ends are the same, open where an end is None."""

    low: float | None = None
    high: float | None = None
    strict: bool = False
    """Whether the ends themselves are left out: `above` 10 is not `at least` 10."""

    @property
    def is_point(self) -> bool:
        """Return whether one value was asked."""
        return self.low is not None and self.low == self.high

    @property
    def furthest(self) -> float:
        """Return the end that asks most: the upper one where there is one."""
        return next(end for end in (self.high, self.low) if end is not None)

    def nearest(self, value: float) -> float:
        """Return the value of the range that lies nearest to a value."""
        if self.low is not None and value < self.low:
            return self.low
        return self.high if self.high is not None and value > self.high else value

    def beyond(self, value: float) -> float:
        """Return how far a value lies outside; 0 within, and at an end."""
        return abs(value - self.nearest(value))

    def holds(self, value: float, tolerance: float = 0.0) -> bool:
        """Return whether a value lies within, as well as it is known."""
        ends = (end for end in (self.low, self.high) if end is not None)
        on_end = self.strict and any(abs(value - end) <= tolerance for end in ends)
        return self.beyond(value) <= tolerance and not on_end

    def through(self, change: Callable[[float], float]) -> "Range":
        """Return the range with both ends changed by a rising function."""
        low, high = (None if end is None else change(end) for end in (self.low, self.high))
        return Range(low, high, self.strict)

    def told(self, key: str) -> str:
        """Return the range in words, by the key of its quantity: `40 to 50 °C`, `above pH 10`."""
        before, unit = ("pH ", "") if key == "ph" else ("", SETTINGS[key].unit)
        low, high = ("" if end is None else stated(end) for end in (self.low, self.high))

        def said(number: str) -> str:
            return f"{before}{with_unit(number, unit)}"

        if low and high:
            joint = " to " if not self.strict else " and below "
            return said(low) if self.is_point else f"{'above ' * self.strict}{said(f'{low}{joint}{high}')}"
        on_a_scale = key in ("ph", "temperature_C")
        strict = ("above", "below") if on_a_scale else ("more than", "less than")
        words = strict if self.strict else ("at least", "at most")
        return f"{words[not low]} {said(low or high)}"


@dataclass(frozen=True, slots=True)
class Heard:
    """What a text asks for as numbers."""

    ranges: dict[str, Range]
    """By key of `words.settings`; `span_h` is a time."""
    unused: tuple[str, ...]
    """What was heard, and is held against nothing."""
    rest: str
    """The text without all of that."""


# Nine digits are more than any condition has; of hundreds a float makes infinity.
_N = r"\d{1,9}(?:[.,]\d{1,9})?"
_MORE = (
    r"above|over|beyond|past|exceed(?:s|ing)?"
    r"|(?:more|higher|hotter|warmer|greater|longer|larger|bigger|stronger)(?:\s+than)?"
)
_LESS = r"below|under|beneath|(?:less|fewer|lower|cooler|colder|shorter|smaller|weaker|milder)(?:\s+than)?"
_AT_LEAST = r"at\s+(?:the\s+)?least|(?:a\s+)?minimum(?:\s+of)?|min\.|starting\s+(?:at|from)|from|>=|=>|≥"
_AT_MOST = r"at\s+(?:the\s+)?most|(?:a\s+)?maximum(?:\s+of)?|max\.?|up\s+to|until|within|<=|=<|≤"
_BEFORE = (
    rf"(?:(?P<not{{0}}>\b(?:no|not|never|nothing)\s+(?:be\s+|go\s+|going\s+)?)?"
    rf"(?:(?P<over{{0}}>\b(?:{_MORE})\b|>(?!=))|(?P<under{{0}}>\b(?:{_LESS})\b|<(?!=))"
    rf"|(?P<least{{0}}>(?<!\w)(?:{_AT_LEAST}))|(?P<most{{0}}>(?<!\w)(?:{_AT_MOST})))\s*)?"
    r"(?:(?:an?\s+|the\s+)?(?:about|around|roughly|approximately|circa|ca\.|near|~|≈)\s*)?"
)
"""What may stand before a number; `{0}` tells two of them in one pattern apart."""
_AFTER = (
    (
        r"(?:\s*(?:(?P<up>\+|plus\b|upwards?\b|at\s+least\b|minimum\b|(?:or|and)\s+(?:up|upwards|plus|{more}))"
        r"|(?P<down>max(?:imum)?\b|at\s+most\b|(?:or|and)\s+(?:down|{less})))"
        r"(?!\s*(?:than\b|a\b|ph\b|\d)))?"
    )
    .replace("{more}", _MORE)
    .replace("{less}", _LESS)
)
_JOINT = r"\s*(?:(?P<spread>±|\+/-|\+-|plus\s+or\s+minus)|-|–|−|—|\.\.\.?|…|\bto\b|\bthrough\b)\s*"
_JOINT_AND = r"\s*(?:-|–|−|—|\bto\b|\band\b|\bor\b)\s*"
_LEAD = r"(?:between|from|within|both)\s+"
_RULED_OUT = re.compile(
    r"\b(?:not|except|excluding|but no|other than|without)\s+(?:at\s+|in\s+)?$", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class _Unit:
    """One unit, and what turns its numbers into those of a key; an empty key for what no study states."""

    key: str
    patterns: tuple[re.Pattern[str], ...]
    change: Callable[[float], float]


# What makes a unit a part of another one: °C/min is no temperature, 40 °C/pH 11 is one.
_PER = r"\s?/\s?(?:min|s|sec|h|hrs?|hours?|d|days?|m?[lL]|mol|k?g|[cm]?m)\b"


def _of_unit(key: str, unit: str, change: Callable[[float], float], number: str = _N) -> _Unit:
    """Return a quantity whose unit stands behind its number, and behind the second of two."""
    unit = rf"(?:{unit})(?!\w|{_PER})"
    sign = rf"(?<![\w.,])(?P<low>[-−]?{number})"
    first, second = rf"{sign}\s*(?:{unit})?", rf"(?P<high>[-−]?{number})\s*{unit}"
    return _Unit(key, tuple(re.compile(one) for one in (
        rf"(?i:\b{_LEAD}){first}(?i:{_JOINT_AND}){second}",
        rf"{first}(?i:{_JOINT}){second}",
        rf"(?i:{_BEFORE.format(1)}){sign}\s*(?P<plus>\+)?\s*{unit}(?i:{_AFTER})",
    )), change)  # fmt: skip


# What would make the second number of 'pH 11 - 50 °C' another quantity.
_OTHER_UNIT = (
    r"(?!\d|[.,]\d|\s*(?:°|%|[CKF]\b|deg|h\b|hours?|d\b|days?|weeks?|months?|m[ML]|[µμu][mLl]|nm|mm))"
)


# What people put between a quantity and its number.
_IS = r"(?:[=:,]|(?:of|is|was|were|be|range|values?|set|adjusted|kept|held|to|at|something|like|say)\b)"


def _of_name(key: str, name: str, number: str) -> _Unit:
    """Return a quantity whose name stands before its number, which then needs no unit."""
    name = rf"\b(?:{name})(?:\s*{_IS})*\s*"
    first, second = rf"(?P<low>{number})", rf"(?:{name})?(?P<high>{number}{_OTHER_UNIT})"
    return _Unit(key, tuple(re.compile(one, re.IGNORECASE) for one in (
        rf"(?:\b{_LEAD}{name}|{name}{_LEAD}){first}{_JOINT_AND}{second}",
        rf"{name}{first}{_JOINT}{second}",
        rf"{_BEFORE.format(1)}(?:an?\s+|the\s+)?{name}{_BEFORE.format(2)}(?P<low>{number}{_OTHER_UNIT}){_AFTER}",
    )), float)  # fmt: skip


def _times(factor: float) -> Callable[[float], float]:
    return lambda value: value * factor


_HOURS = (("h|hrs?|hours?", 1.0), ("d|days?", 24.0), ("weeks?", 168.0), ("months?", 730.0))


# Sixty patterns take a tenth of a second to compile, and only a question needs them.
@cache
def _units() -> tuple[_Unit, ...]:
    """Return every unit in the order of reading: what has the longer name of a unit first."""
    return (
        _Unit("", (re.compile(rf"(?P<low>{_N})\s*(?:mm)?\s*[x×]\s*{_N}\s*mm\b", re.IGNORECASE),), float),
        _of_name("ph", "ph", r"\d{1,2}(?:[.,]\d+)?"),
        _of_unit("flow_mL_min", r"mL\s*/\s*min|mL min[-−]1|mL per min(?:ute)?|ml\s*/\s*min", float),
        _of_unit("flow_mL_min", r"[µμu]L\s*/\s*min", _times(1e-3)),
        _of_unit("buffer_mM", r"mM|mmol\s*/\s*[lL]|mmol [lL][-−]1|millimolar|mmol", float),
        _of_unit("buffer_mM", r"M|mol\s*/\s*[lL]|mol [lL][-−]1|molar", _times(1e3)),
        _of_unit("organic_percent", r"%(?:\s*(?:v/v|\(v/v\)))?|per ?cent|vol-?%", float),
        _of_unit("particle_um", r"[µμu]m", float),
        _of_unit("wavelength_nm", r"nm", float),
        _of_unit("injection_uL", r"[µμu][lL]", float),
        _of_unit("temperature_C", r"(?i:(?:°|deg(?:rees?)?\.?)?\s*(?:F|fahrenheit))",
                 lambda value: round((value - 32) / 1.8, 2), r"\d{2,3}(?:[.,]\d+)?"),
        _of_unit("temperature_C", r"(?i:K|kelvins?)",
                 lambda value: round(value - ZERO_CELSIUS, 2), r"[2-4]\d\d(?:[.,]\d+)?"),
        _of_unit("temperature_C", r"(?i:(?:°|deg(?:rees?)?\.?)?\s*C|(?:degrees?\s+)?celsius|degrees?|grad)|°",
                 float, r"\d{1,3}(?:[.,]\d+)?"),
        # Columns are kept at two digits: one is a number of something else.
        _of_name("temperature_C", r"temp\.?|temperatures?|oven", r"\d{2,3}(?:[.,]\d+)?"),
        *(_of_unit("span_h", f"(?i:{unit})", _times(factor)) for unit, factor in _HOURS),
        _of_unit("", r"mm|cm|bar|MPa|psi|[kK]?Da|Å|min(?:utes?)?|s|mL|ml|injections?|runs?|columns?", float),
    )  # fmt: skip


def heard(text: str) -> Heard:
    """Return the ranges that a text asks for; of one quantity the first, narrowed by what goes on with it."""
    rest, unused = in_digits(text), list[str]()
    ranges: dict[str, Range] = {}
    for unit in _units():
        for pattern in unit.patterns:
            for found in pattern.finditer(rest):
                asked = _range(found, unit.change)
                ruled_out = asked.is_point and _RULED_OUT.search(rest[: found.start()])
                both = None if ruled_out or not unit.key else _narrowed(ranges.get(unit.key), asked)
                if both is None:
                    unused.append(f"{'not ' if ruled_out else ''}{' '.join(found.group(0).split())}")
                else:
                    ranges[unit.key] = both
            rest = pattern.sub(" ", rest)
    typed = re.findall(rf"(?<![\w.,-]){_N}(?![\w.,-]*\w)", text)
    unused += [number for number in typed if re.search(rf"(?<![\w.,]){re.escape(number)}(?![\w.,]*\w)", rest)]
    return Heard(ranges, tuple(unused), rest)


def decimal(text: str) -> float:
    """Return a number with a point or a comma."""
    return float(text.replace(",", ".").replace("−", "-"))


def _range(found: re.Match[str], change: Callable[[float], float]) -> Range:
    """Return the range that a match has."""
    parts = found.groupdict()
    first = decimal(parts["low"])
    if parts.get("spread"):
        width = decimal(parts["high"])
        return Range(change(first - width), change(first + width))
    if parts.get("high"):
        low, high = sorted((change(first), change(decimal(parts["high"]))))
        return Range(low, high)
    return _one_sided(parts, change(first))


def _one_sided(parts: dict[str, str | None], value: float) -> Range:
    """Return a point, or a range by the words before or behind its end; `not` turns them round."""

    def has(word: str) -> bool:
        return any(parts.get(f"{word}{place}") for place in (1, 2))

    over, under, turned = has("over"), has("under"), has("not")
    if (over and not turned) or (under and turned) or has("least") or parts.get("up") or parts.get("plus"):
        return Range(low=value, strict=over)
    if (under and not turned) or (over and turned) or has("most") or parts.get("down"):
        return Range(high=value, strict=under)
    return Range(value, value)


def _narrowed(first: Range | None, further: Range) -> Range | None:
    """Return both together where the second has the end that the first leaves open; None for neither."""
    if first is None or first == further:
        return further
    low, high = (first.low, further.high) if first.high is None else (further.low, first.high)
    one_each = (first.low is None) != (first.high is None) and (further.low is None) != (further.high is None)
    if not one_each or low is None or high is None or low > high:
        return None
    return Range(low, high, first.strict and further.strict)


_ONES, _TENS = (
    re.findall(r"\w+", words)
    for words in (
        """one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen
        seventeen eighteen nineteen""",
        "twenty thirty forty fifty sixty seventy eighty ninety",
    )
)
_COUNTS = {word: number for number, word in enumerate(_ONES, start=1)}
_COUNTS |= {word: 10 * number for number, word in enumerate(_TENS, start=2)}
NUMBER_WORDS = frozenset(_COUNTS)
_COMPOUND = re.compile(rf"\b({'|'.join(_TENS)})[\s-]({'|'.join(_ONES[:9])})\b", re.IGNORECASE)
_WORD = re.compile(rf"\b({'|'.join(sorted(_COUNTS, key=len, reverse=True))})\b", re.IGNORECASE)
_OF_TIME = r"(?=\s+(?:hours?|days?|weeks?|months?)\b)"
# European Pharmacopoeia, 1.2: room temperature is 15 to 25 °C.
_ROOM = re.compile(r"\b(?:(?:room|ambient)\s+temperature|RT)\b")


def in_digits(text: str) -> str:
    """Return a text with its numbers in digits: `fifty-five degrees`, `half a day`, `a week`, `two weeks`."""
    text = _ROOM.sub(" 15 to 25 °C ", text)
    text = re.sub(rf"\bhalf\s+an?{_OF_TIME}", "0.5", text, flags=re.IGNORECASE)
    text = re.sub(rf"\b(?:a\s+)?couple\s+of{_OF_TIME}", "2", text, flags=re.IGNORECASE)
    text = re.sub(rf"\b(?:an?|one){_OF_TIME}", "1", text, flags=re.IGNORECASE)
    text = _COMPOUND.sub(lambda one: str(_COUNTS[one[1].lower()] + _COUNTS[one[2].lower()]), text)
    text = _WORD.sub(lambda one: one[0] if one[0].lower() == "one" else str(_COUNTS[one[0].lower()]), text)
    text = re.sub(r"\b(\d+)\s+and\s+a\s+half\b", r"\1.5", text, flags=re.IGNORECASE)
    hundreds = re.compile(r"\b(an?|one|\d)\s+hundred\b", re.IGNORECASE)
    return hundreds.sub(lambda one: f"{one[1] if one[1].isdigit() else 1}00", text)
