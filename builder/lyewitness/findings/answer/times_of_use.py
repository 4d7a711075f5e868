"""Spans of time that a question or an expectation names: `48 h`, `two days`, `500 injections`.

In: free text, and the length of a run. Out: `Span`s.
"""

import re
from dataclasses import dataclass

from lyewitness.words.phrases import SPELLED

# "In two weeks" is a date and no length of use: it is passed over below.
HOURS = {"h": 1.0, "hr": 1.0, "hour": 1.0, "day": 24.0, "week": 168.0}
# Blanks group digits by threes (ISO 80000-1, 7.3.1); any others stand between two numbers.
NUMBER = r"\d{1,3}(?:[\u2009\u202f ]\d{3})+(?!\d)|\d+(?:[.,]\d+)*|" + "|".join(SPELLED[1:])
PH = re.compile(r"\bpH\s*(?:of\s*)?\d+(?:[.,]\d+)?", re.IGNORECASE)
"""A pH is no part of the number that follows it: `at pH 11 480 h` are 480 hours."""
SPAN = re.compile(
    rf"(?<!\bin )\b({NUMBER})[\s\u2009\u202f-]*(h|hr|hour|day|week|injection|run)s?\b", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Span:
    """A length of time as somebody put it."""

    words: str
    hours: float


A_SPAN = re.compile(r"\ba (day|week)\b", re.IGNORECASE)


def read_spans(text: str, run_time_min: float | None = None, with_article: bool = False) -> tuple[Span, ...]:
    """Return the spans that `text` names; injections and runs need the length of a run.

    `with_article` reads `a week` too, which in a question may as well say how often.
    """
    text = PH.sub("pH", text)
    found = [Span(m.group(0), HOURS[m.group(1).lower()]) for m in A_SPAN.finditer(text) if with_article]
    for match in SPAN.finditer(text):
        number, unit = _number(match.group(1)), match.group(2).lower()
        per_unit = HOURS.get(unit, run_time_min / 60 if run_time_min else None)
        if number is not None and per_unit is not None:
            found.append(Span(match.group(0), number * per_unit))
    return tuple(dict.fromkeys(found))


def _number(text: str) -> float | None:
    """Return the number that digits or a word stand for; None where digits are grouped in a doubtful way."""
    word = text.lower()
    if word in SPELLED:
        return float(SPELLED.index(word))
    bare = re.sub(r"[\u2009\u202f ]", "", word)
    if re.fullmatch(r"\d{1,3}(,\d{3})+", bare):
        return float(bare.replace(",", ""))
    return float(bare) if re.fullmatch(r"\d+(\.\d+)?", bare) else None
