"""Names and units in the words above a column of numbers.

In: a heading such as `Time [min]`, `t/s`, `UV 220 nm (mAU)` or `µV`. Out: `Heading`.
"""

import csv
import re
from dataclasses import dataclass
from functools import lru_cache

from lyewitness.traces.time_units import time_unit


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands above one column."""

    name: str = ""
    unit: str = ""
    """As it stands there; empty where none does."""

    @property
    def is_time(self) -> bool:
        """Whether the column is called a time, or counted in a unit of time."""
        return bool(_TIME_NAME.fullmatch(self.name)) or (bool(time_unit(self.unit)) and not self.name)

    @property
    def is_of_a_trace(self) -> bool:
        """Whether the words can but mean a column of a trace: a time, a counter, a unit, a kind of signal."""
        return self.is_time or self.is_counter or is_unit(self.unit) or bool(_SIGNAL_NAME.search(self.name))

    @property
    def is_counter(self) -> bool:
        """Whether the column only counts the points."""
        return bool(_COUNTER_NAME.fullmatch(self.name))


_TIME_NAME = re.compile(
    r"(?:raw |elution |elapsed |retention |ret\.? ?|run |acquisition |r\.? ?)?"
    r"(?:times?|zeit|temps|tiempo|tempo)(?: ?(?:axis|stamp|points?))?"
    r"|retention(?:szeit)?|laufzeit|r\.?t\.?|t\.?r|(?-i:t)|x(?:[- ]?(?:axis|values?|data))?|abscissa|axis0",
    re.IGNORECASE,
)
_COUNTER_NAME = re.compile(
    r"#|n|i|no\.?|nr\.?|number|index|idx|point(?: ?(?:no\.?|number|index))?|points"
    r"|scan(?: ?(?:no\.?|number))?|row|sample(?: ?(?:no\.?|number|index))|data ?point|record|line",
    re.IGNORECASE,
)
_SIGNAL_NAME = re.compile(
    r"\b(?:signal|intensity|intensit.t|abs|absorb\w*|absorption|extinktion|response|detector|channel|uv|vis"
    r"|dad|pda|vwd|fld|rid|ri|elsd|counts?|voltage|amplitude|height|trace|y|ch\d+)\b|\d ?nm\b",
    re.IGNORECASE,
)
_SIGNAL_UNIT = re.compile(
    r"(?:[munµμp]|milli|micro|nano|pico)?(?:AU|A|V|volts?|S|RIU|RFU|LU|FU|ELSU)(?:FS)?"
    r"|[µμn]?S/cm|abs|a\.u\.|arb\. units|absorbance units?|counts?|cps|%",
    re.IGNORECASE,
)
_LETTERS_THAT_NAME = frozenset("aAvVsSH") - {"s"}  # channel A rather than ampere
_LONGEST = 200
_BRACKETED = re.compile(r"^(?P<name>.*?)[\s_,:]*[(\[{<]\s*(?P<unit>[^()\[\]{}<>]*?)\s*[)\]}>]\s*$", re.DOTALL)
_SLASHED = re.compile(r"^(?P<name>.*?)\s*/\s*(?P<unit>\S+(?:/cm)?)$", re.DOTALL)
_TRAILING = re.compile(r"^(?P<name>.*?)[\s_,:;]+(?:in\s+)?(?P<unit>\S+)$", re.DOTALL)


def is_unit(words: str) -> bool:
    """Whether `words` are a unit of time or of a detector's signal, in brackets or not."""
    bare = words.strip().strip("()[]{}<>").strip()
    return bool(time_unit(bare)) or bool(_SIGNAL_UNIT.fullmatch(bare))


def read_heading(words: str) -> Heading:
    """Return name and unit of a heading; a bare unit is a unit without a name."""
    words = " ".join(words[:_LONGEST].replace("\0", " ").split()).strip("\"'")
    if is_unit(words) and words not in _LETTERS_THAT_NAME:
        return Heading(unit=words.strip("()[]{}<> "))
    for pattern in (_BRACKETED, _SLASHED, _TRAILING):
        match = pattern.match(words)
        if match and (pattern is _BRACKETED or _is_unit_behind(match["unit"], pattern is _SLASHED)):
            return Heading(match["name"].strip(" _,:;"), match["unit"].strip("()[]"))
    return Heading(words)


def _is_unit_behind(word: str, slash: bool) -> bool:
    return is_unit(word) and (slash or word not in _LETTERS_THAT_NAME)


@lru_cache(maxsize=256)  # the exports of a study share their headings
def split_headings(line: str, columns: int, separator: str) -> tuple[Heading, ...]:
    """Return the headings of a line above `columns` columns of numbers; empty where it has fewer, or none.

    Further headings belong to columns without a number.
    """
    line = line[: columns * _LONGEST].lstrip("#%!/ ")
    is_sure = separator not in ("", " ") and separator in line.strip()
    ways = [_split_quoted(line, separator)] if is_sure else _ways_to_split(line)
    for parts in ways:
        if len(parts) == columns or (is_sure and len(parts) > columns):
            if any(_is_no_heading(part) for part in parts[:columns]):
                return ()
            return tuple(read_heading(part) for part in parts[:columns])
    return ()


_SETTING = re.compile(
    r"[\s\"'\d.,:/+-]*\d[\s\"'\d.,:/+-]*(?:[eE][-+]?\d+)?(?P<rest>[^\d\s].*)?|.*(?:[:=]|\bunits?|\btitle)\s*",
    re.DOTALL | re.I,
)


def _is_no_heading(words: str) -> bool:
    """Whether `words` are a number, a date, a value with its unit, or a setting with its value beside it."""
    match = _SETTING.fullmatch(words[:_LONGEST])
    return match is not None and (not match["rest"] or is_unit(match["rest"]))


def _ways_to_split(line: str) -> list[list[str]]:
    """Return the fields of a heading that lacks the separator of the numbers, surest first."""
    ways = [_split_quoted(line, mark) for mark in ("\t", ";", ",", "|")]
    ways.append(re.split(r"\s{2,}|\t", line.strip()))
    ways.append(re.split(r"\s+(?![(\[{/])(?<!/ )", line.strip()))  # a unit in brackets stays with its name
    ways.append(line.split())
    return ways


def _split_quoted(line: str, mark: str) -> list[str]:
    if '"' not in line:
        return line.split(mark)
    return next(csv.reader([line], delimiter=mark, skipinitialspace=True), [])
