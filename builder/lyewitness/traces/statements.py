"""What the lines above the numbers say of the time axis, the signal and the sampling.

In: the lines of a preamble, such as `Sampling rate: 10 Hz` or `X axis title;Time (min)`. Out: `Statements`.
Only what is named as a unit, an axis or an interval counts: `Run time (min): 12` says nothing of the axis.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from lyewitness.traces.headings import is_unit, read_heading
from lyewitness.traces.time_units import MINUTES_IN, time_unit


@dataclass(frozen=True, slots=True)
class Statements:
    """What a preamble states; empty or None where it does not."""

    time_unit: str = ""
    """A key of `MINUTES_IN`."""
    signal_unit: str = ""
    interval_s: float | None = None
    """Time from point to point, s."""
    delay_s: float | None = None
    """Time of the first point, s."""
    acquired_at: str = ""
    """ISO 8601."""
    trace_name: str = ""


_LONGEST_LINE = 400
_PAIR = re.compile(r"^\W*(?P<key>[^=:;\t,]{1,80}?)\s*(?:[=:;\t,]\s*)+(?P<value>.+)$")
_AXIS = r"(?:units?|einheit|axis|achse|titles?|labels?|scale)"
_TIME = r"(?:time|retention|elution|x|abscissa|zeit|rt)"
_SIGNAL = r"(?:signal|y|ordinate|intensity|response|absorbance|absorption|detector|data|amplitude)"
_TIME_AXIS = re.compile(rf"\b{_TIME}\b.*\b{_AXIS}\b|\b{_AXIS}\b.*\b{_TIME}\b|^{_TIME}{_AXIS}$", re.I)
_SIGNAL_AXIS = re.compile(rf"\b{_SIGNAL}\b.*\b{_AXIS}\b|\b{_AXIS}\b.*\b{_SIGNAL}\b|^{_SIGNAL}{_AXIS}$", re.I)
_OF_ANOTHER_TIME = re.compile(
    r"\d|gradient|run|dead|delay|inject|equilib|wash|cycle|stop|constant|width", re.I
)
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
_ACQUIRED = re.compile(r"acqui|inject|\brun\b|\bdate\b|started|recorded|datum", re.I)
_TRACE = re.compile(r"^(?:trace|channel|signal|detector|chromatogram|curve|data ?set)(?: name| ?id)?$", re.I)
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?")
_RATE = re.compile(
    r"(?<![a-z])(?:hz|hertz)\b|(?:points?|pts?|samples?|sps|1) ?(?:/|per) ?(?P<per>\w+)"
    r"|(?P<inv>s|min)(?:\^?-1|⁻¹)",
    re.I,
)
_ISO = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:[.,]\d+)?)? ?(?:Z|[+-]\d\d:?\d\d)?")


def read_statements(lines: Sequence[str], before: Statements = Statements()) -> Statements:
    """Return what `lines` state beyond `before`; of two statements of one thing the lower one counts."""
    said = before
    for line in lines:
        match = _PAIR.match(line[:_LONGEST_LINE].replace('"', " "))
        if match:
            said = _add(said, match["key"].strip(), match["value"].strip(" \t;,|"))
    return said


def _add(said: Statements, key: str, value: str) -> Statements:
    if _INTERVAL.search(key):
        return _add_interval(said, key, value)
    if _TIME_AXIS.search(key) and _named_time_unit(value) and not _OF_ANOTHER_TIME.search(key + value):
        return replace(said, time_unit=_named_time_unit(value))
    if _SIGNAL_AXIS.search(key) and _named_signal_unit(value):
        return replace(said, signal_unit=_named_signal_unit(value))
    if _DELAY.search(key):
        seconds = _seconds(key, value)
        return said if seconds is None else replace(said, delay_s=seconds)
    if _TRACE.match(key) and len(value) <= 60:
        return replace(said, trace_name=value)
    if _ACQUIRED.search(key) and not said.acquired_at:
        return replace(said, acquired_at=iso_time(value))
    return said


def iso_time(text: str) -> str:
    """Return the first ISO 8601 date and time in `text`, or nothing: other orders of day and month differ."""
    match = _ISO.search(text)
    try:
        return (
            datetime.fromisoformat(match[0].replace(",", ".").replace(" ", "T", 1)).isoformat()
            if match
            else ""
        )
    except ValueError:
        return ""


def _add_interval(said: Statements, key: str, value: str) -> Statements:
    number = _number(value)
    if not number or number <= 0:
        return said
    rate = _RATE.search(value) or _RATE.search(key)
    if rate:
        per = time_unit(rate["per"] or rate["inv"] or "s")
        return replace(said, interval_s=MINUTES_IN[per] * 60 / number) if per else said
    if re.search("rate|frequency", key, re.I):
        return said  # a rate without a unit could be points a second or a minute
    seconds = _seconds(key, value)
    return said if seconds is None else replace(said, interval_s=seconds)


def _seconds(key: str, value: str) -> float | None:
    """Return a duration with its unit behind the number or in the key, in seconds."""
    number = _number(value)
    words = [*re.findall(r"[^\W\d_]+", _NUMBER.sub(" ", value)), read_heading(key).unit]
    unit = next((time_unit(word) for word in words if time_unit(word)), "")
    return number * MINUTES_IN[unit] * 60 if unit and number is not None else None


def _number(value: str) -> float | None:
    match = _NUMBER.search(value)
    return float(match[0].replace(",", ".")) if match else None


def _named_time_unit(value: str) -> str:
    return time_unit(value) or time_unit(read_heading(value).unit)


def _named_signal_unit(value: str) -> str:
    unit = value if is_unit(value) else read_heading(value).unit
    return unit if len(unit) <= 20 and not time_unit(unit) else ""
