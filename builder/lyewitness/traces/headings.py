"""What the words above the numbers say of the time axis, the signal and the sampling.

In: headings such as `Time [min]`, `t/s` or `UV 220 nm (mAU)`, and the lines above them. Out: `Heading` for a
column, `Statements` for the whole preamble.
"""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from lyewitness.traces.shaping import MINUTES_IN, unit_of_time
from lyewitness.traces.stamps import MOST_CHARACTERS, stamp_of


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands above one column."""

    name: str = ""
    unit: str = ""
    """As it stands there; empty where none does."""

    @property
    def is_time(self) -> bool:
        """Whether the column is called a time, or counted in a unit of time."""
        return bool(_TIME_NAME.fullmatch(self.name)) or (bool(unit_of_time(self.unit)) and not self.name)

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
# Names and units are short; patterns are not let loose on what a binary file holds instead.
_LONGEST = 200
_BRACKETED = re.compile(r"^(?P<name>.*?)[\s_,:]*[(\[{<]\s*(?P<unit>[^()\[\]{}<>]*?)\s*[)\]}>]\s*$", re.DOTALL)
_SLASHED = re.compile(r"^(?P<name>.*?)\s*/\s*(?P<unit>\S+(?:/cm)?)$", re.DOTALL)
_TRAILING = re.compile(r"^(?P<name>.*?)[\s_,:;]+(?:in\s+)?(?P<unit>\S+)$", re.DOTALL)


def is_unit(words: str) -> bool:
    """Whether `words` are a unit of time or of a detector's signal, in brackets or not."""
    bare = words.strip().strip("()[]{}<>").strip()
    return bool(unit_of_time(bare)) or bool(_SIGNAL_UNIT.fullmatch(bare))


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


@dataclass(frozen=True, slots=True)
class Statements:
    """What a preamble states; empty or None where it does not."""

    time_unit: str = ""
    """A key of `MINUTES_IN`."""
    strange_time_unit: str = ""
    """What stands where the unit of time should, and names none that is known."""
    signal_unit: str = ""
    interval_s: float | None = None
    """Time from point to point, s."""
    delay_s: float | None = None
    """Time of the first point, s."""
    acquired_at: str = ""
    """ISO 8601."""
    trace_name: str = ""


# A key has a letter or digit, so nothing of what stands before the first one is ever taken for it: trying
# that cost 0.1 s a line of blanks.
_PAIR = re.compile(r"^\W*+(?P<key>[^=:;\t,]{1,80}?)\s*(?:[=:;\t,]\s*)+(?P<value>.+)$")
_AXIS = r"(?:units?|einheit|axis|achse|titles?|labels?|scale)"
_TIME = r"(?:time|retention|elution|x|abscissa|zeit|rt)"
_SIGNAL = r"(?:signal|y|ordinate|intensity|response|absorbance|absorption|detector|data|amplitude)"
_TIME_AXIS = re.compile(rf"\b{_TIME}\b.*\b{_AXIS}\b|\b{_AXIS}\b.*\b{_TIME}\b|^{_TIME}{_AXIS}$", re.I)
_SIGNAL_AXIS = re.compile(rf"\b{_SIGNAL}\b.*\b{_AXIS}\b|\b{_AXIS}\b.*\b{_SIGNAL}\b|^{_SIGNAL}{_AXIS}$", re.I)
_OF_ANOTHER_TIME = re.compile(
    r"\d|gradient|run|dead|delay|inject|equilib|wash|cycle|stop|constant|width", re.I
)
_ONE_WORD = re.compile(r"[^\W\d_]{2,20}")
_INTERVAL = re.compile(
    r"(?:sampl\w*|data|acqui\w*|digiti\w*|record\w*|points?|detector)[ _-]*(?:point)?[ _-]*"
    r"(?:intervals?|periods?|rate|frequency|time step|step|spacing)"
    r"|^(?:interval|delta[ _-]?[tx]|dt|dx|Δt|time step|step|time increment|x increment)\b",
    re.I,
)
_DELAY = re.compile(
    r"^(?:start time|time of (?:the )?first point|first point|(?:time |acquisition )?delay(?: time)?"
    r"|time offset|time zero|t0|x0|first x)\b",
    re.I,
)
_TRACE = re.compile(r"^(?:trace|channel|signal|detector|chromatogram|curve|data ?set)(?: name| ?id)?$", re.I)
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?")
_RATE = re.compile(
    r"(?<![a-z])(?:hz|hertz)\b|(?:points?|pts?|samples?|sps|1) ?(?:/|per) ?(?P<per>\w+)"
    r"|(?P<inv>s|min)(?:\^?-1|⁻¹)",
    re.I,
)


def read_statements(lines: Sequence[str], before: Statements = Statements()) -> Statements:
    """Return what `lines` state beyond `before`; of two statements of one thing the lower one counts."""
    said = before
    for line in lines:
        match = _PAIR.match(line[:MOST_CHARACTERS].replace('"', " "))
        if match:
            said = _add(said, match["key"].strip(), match["value"].strip(" \t;,|"))
    return said if said.acquired_at else replace(said, acquired_at=stamp_of(lines))


def _add(said: Statements, key: str, value: str) -> Statements:
    if _INTERVAL.search(key):
        return _add_interval(said, key, value)
    if _TIME_AXIS.search(key) and not _OF_ANOTHER_TIME.search(key + value):
        if _named_time_unit(value):
            return replace(said, time_unit=_named_time_unit(value))
        if _ONE_WORD.fullmatch(value):
            said = replace(said, strange_time_unit=value)
    if _SIGNAL_AXIS.search(key) and _named_signal_unit(value):
        return replace(said, signal_unit=_named_signal_unit(value))
    if _DELAY.search(key):
        seconds = _seconds(key, value)
        return said if seconds is None else replace(said, delay_s=seconds)
    if _TRACE.match(key) and len(value) <= 60:
        return replace(said, trace_name=value)
    return said


def _add_interval(said: Statements, key: str, value: str) -> Statements:
    number = _number(value)
    if not number or number <= 0:
        return said
    rate = _RATE.search(value) or _RATE.search(key)
    if rate:
        per = unit_of_time(rate["per"] or rate["inv"] or "s")
        return replace(said, interval_s=MINUTES_IN[per] * 60 / number) if per else said
    if re.search("rate|frequency", key, re.I):
        return said  # a rate without a unit could be points a second or a minute
    seconds = _seconds(key, value)
    return said if seconds is None else replace(said, interval_s=seconds)


def _seconds(key: str, value: str) -> float | None:
    """Return a duration with its unit behind the number or in the key, in seconds."""
    number = _number(value)
    words = [*re.findall(r"[^\W\d_]+", _NUMBER.sub(" ", value)), read_heading(key).unit]
    unit = next((unit_of_time(word) for word in words if unit_of_time(word)), "")
    return number * MINUTES_IN[unit] * 60 if unit and number is not None else None


def _number(value: str) -> float | None:
    match = _NUMBER.search(value)
    return float(match[0].replace(",", ".")) if match else None


def _named_time_unit(value: str) -> str:
    return unit_of_time(value) or unit_of_time(read_heading(value).unit)


def _named_signal_unit(value: str) -> str:
    unit = value if is_unit(value) else read_heading(value).unit
    return unit if len(unit) <= 20 and not unit_of_time(unit) else ""
