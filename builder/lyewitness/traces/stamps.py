"""When a run was made, by the words above its numbers.

In: the lines of a preamble. Out: an ISO 8601 time, or what looks like one and cannot be read surely.

Days are written in many orders. A year first, a point between the numbers and the name of a month leave one
reading alone; of `05/04/2026` nobody knows which is the month, so that such a stamp waits for others of the
study that tell (`clocks.py`).
"""

import re
from collections.abc import Iterator, Sequence
from datetime import datetime

MOST_CHARACTERS = 400
"""A key of 80 signs and its value; a longer line is no setting."""

_ISO = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:[.,]\d+)?)? ?(?:Z|[+-]\d\d:?\d\d)?")
_LABELS = re.compile(
    r"acqui|inject|injekt|\brun\b|\bdate\b|started|recorded|datum|uhrzeit|\bfecha\b|^dat[ao]$|aufgenommen|gemessen",
    re.I,
)
_TIME_LABEL = re.compile(
    r"(?:(?:start|acqui\w*|injec?k?t\w*)[ _-]*)?(?:time|(?:uhr)?zeit|heure|hora|ora|tijd|tid|aika)",
    re.I,
)
_OF_THE_FILE = re.compile(r"export|print|report|process|creat|sav|modif|chang", re.I)
_PAIR = re.compile(r"^\W*+(?P<key>[^=:;\t,]{1,80}?)\s*(?:[=:;\t,]\s*)+(?P<value>.+)$")
_DATE = (
    r"(?<![\d.])(?:(?P<y>\d{4})(?P<s>[-/.])(?P<m>\d\d?)(?P=s)(?P<d>\d\d?)"
    r"|(?P<a>\d\d?)(?P<t>[-/.])(?P<b>\d\d?)(?P=t)(?P<c>\d{4}|\d\d(?=\D{1,6}\d\d?:\d\d))"
    r"|(?P<e>\d\d?)(?:st|nd|rd|th)?[-. ]{1,2}(?P<n>[^\W\d_]{3,10})[-. ]{1,2}(?P<f>\d{4})"
    r"|(?P<o>[^\W\d_]{3,10})\.? (?P<g>\d\d?),? (?P<h>\d{4}))(?!\d)"
)
_DAY = re.compile(_DATE)
_CLOCK = re.compile(
    r"(?<![\d:])(?P<H>\d\d?):(?P<M>\d\d)(?::(?P<S>\d\d)(?:[.,](?P<F>\d{1,6})\d*)?)? ?(?P<P>[AaPp]\.?[Mm]\b)?"
    r" ?(?P<Z>Z\b|UTC\b|GMT\b|[+-]\d\d:?\d\d\b)?(?![:\d])"
)
_MONTHS = (
    ("jan", "ene", "gen"), ("feb", "fev", "fév"), ("mar", "mär", "maa", "mrt", "mrz"), ("apr", "avr", "abr"),
    ("may", "mai", "maj", "mei", "mag"), ("jun", "juin", "giu"), ("jul", "juil", "lug"),
    ("aug", "aoû", "aou", "ago"), ("sep", "set"), ("oct", "okt", "ott", "out"), ("nov",),
    ("dec", "dez", "déc", "dic"),
)  # fmt: skip
"""How the months begin in common languages."""


def iso_time(text: str) -> str:
    """Return the first ISO 8601 date and time in `text`, or nothing."""
    match = _ISO.search(text)
    try:
        return (
            datetime.fromisoformat(match[0].replace(",", ".").replace(" ", "T", 1)).isoformat()
            if match
            else ""
        )
    except ValueError:
        return ""


def time_in(text: str, day_first: bool | None = None) -> str:
    """Return the first date with a time of day in `text` as ISO 8601; nothing where it cannot be read surely.

    `day_first` tells the order of day and month where the study's other stamps show it.
    """
    if iso := iso_time(text):
        return iso
    text = text[:MOST_CHARACTERS]
    day, clock = _DAY.search(text), _CLOCK.search(text)
    date = _date_of(day, day_first) if day is not None else None
    if date is None or clock is None:
        return ""
    half = (clock["P"] or "").casefold()[:1]
    hour = int(clock["H"])
    if half and not 1 <= hour <= 12:
        return ""
    hour = hour % 12 + (12 if half == "p" else 0) if half else hour
    zone = clock["Z"] or ""
    zone = "+00:00" if zone[:1].isalpha() else zone
    seconds = f"{clock['S'] or '00'}" + (f".{clock['F']}" if clock["F"] else "")
    try:
        year, month, in_month = date
        stamp = f"{year:04}-{month:02}-{in_month:02}T{hour:02}:{clock['M']}:{seconds}{zone}"
        return datetime.fromisoformat(stamp).isoformat()
    except ValueError:
        return ""


def _date_of(day: re.Match[str], day_first: bool | None) -> tuple[int, int, int] | None:
    """Return (year, month, day) where a date has one reading."""
    if day["y"]:
        return int(day["y"]), int(day["m"]), int(day["d"])
    if name := day["n"] or day["o"]:
        month = _month(name)
        return (int(day["f"] or day["h"]), month, int(day["e"] or day["g"])) if month else None
    first, second, year = int(day["a"]), int(day["b"]), int(day["c"])
    year += 2000 if year < 100 else 0
    # Whoever puts points between the numbers begins with the day.
    order = True if day["t"] == "." else _order(first, second)
    order = day_first if order is None else order
    if order is None:
        return None
    return (year, second, first) if order else (year, first, second)


def _order(first: int, second: int) -> bool | None:
    """Return whether the day stands first, None where either could be the month."""
    if first == second:
        return True
    return None if max(first, second) <= 12 else first > 12


def _month(name: str) -> int:
    """Return the number of the month that a word names; 0 for none."""
    word = name.casefold()
    return next((n for n, heads in enumerate(_MONTHS, start=1) if word.startswith(heads)), 0)


def stamp_of(lines: Sequence[str]) -> str:
    """Return when the run was made (ISO 8601), or nothing where the lines do not tell surely.

    By a line of its own, by a known word, by a date and a time of day in two lines, or by the only date there
    is, whatever the word before it says: of two nobody knows which is which.
    """
    lines = [line[:MOST_CHARACTERS] for line in lines]
    of_the_file = []
    for line in lines:
        bare = line.strip(' \t#%;/"')
        if _ISO.fullmatch(bare):
            return iso_time(bare)
        if (found := _labelled(line)) and (at := time_in(found)):
            if not _OF_THE_FILE.search(line):
                return at
            of_the_file.append(at)
    if of_the_file:
        return of_the_file[0]
    if at := next((at for words in _in_two_lines(lines) if (at := time_in(words))), ""):
        return at
    dated = _only_dated(lines)
    return time_in(dated) if dated else ""


def stamp_words(lines: Sequence[str]) -> str:
    """Return the words that look like the time of the run, read surely or not; empty where none do."""
    lines = [line[:MOST_CHARACTERS] for line in lines]
    named = [line for line in lines if _labelled(line)]
    with_time = [line for line in (*named, _only_dated(lines)) if _DAY.search(line) and _CLOCK.search(line)]
    return (
        " ".join(with_time[0].split()).strip("#%/; ") if with_time else next(iter(_in_two_lines(lines)), "")
    )


def tells_order(words: str) -> bool | None:
    """Return whether the numbers of a stamp show that the day stands first, None where they do not."""
    day = _DAY.search(words)
    if day is None or not day["a"] or day["t"] == "." or day["a"] == day["b"]:
        return None
    return _order(int(day["a"]), int(day["b"]))


def _labelled(line: str) -> str:
    """Return the value behind a word that names the time of a run; empty where none does."""
    pair = _PAIR.match(line.replace('"', " "))
    return pair["value"] if pair and _LABELS.search(pair["key"]) else ""


def _in_two_lines(lines: Sequence[str]) -> Iterator[str]:
    """Yield `Date: 02.03.2026 10:11:12` where date and time of day stand in lines of their own."""
    pairs = [pair for line in lines if (pair := _PAIR.match(line.replace('"', " ")))]
    days = [
        pair
        for pair in pairs
        if _LABELS.search(pair["key"]) and not _OF_THE_FILE.search(pair["key"]) and _DAY.search(pair["value"])
    ]
    times = [
        pair["value"].strip()
        for pair in pairs
        if _TIME_LABEL.fullmatch(pair["key"].strip()) and _CLOCK.match(pair["value"].strip())
    ]
    if len(days) == len(times) == 1 and not _CLOCK.search(days[0]["value"]):
        yield f"{days[0]['key'].strip()}: {days[0]['value'].strip(' ;,')} {times[0]}"


def _only_dated(lines: Sequence[str]) -> str:
    """Return the only line with a date, where it has but one and does not tell when the file was made."""
    dated = [line for line in lines if _DAY.search(line)]
    if len(dated) != 1 or len(_DAY.findall(dated[0])) > 1 or _OF_THE_FILE.search(dated[0]):
        return ""
    return dated[0]
