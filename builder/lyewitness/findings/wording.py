"""The words that every sentence of the findings shares, so that one thing has one name.

In: groups, markers, limits, lives. Out: pieces of sentences; every number through `quantities`.
"""

import re
from collections.abc import Iterable, Sequence
from math import floor, log10

from lyewitness.decline.records import Life
from lyewitness.estimates import Estimate
from lyewitness.quantities import fixed, interval, places_for, rounded, with_unit
from lyewitness.study.records import LIMITED_METRICS, Limit, Study

CANNOT_TELL = "we cannot tell"
VAGUE = 5.0
"""An interval that reaches further than this factor from its value is told in words."""
SPELLED = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip


def slug(text: str) -> str:
    """Return `text` as the part of an id: small letters, digits and single hyphens."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-") or "x"


def as_stated(value: float) -> str:
    """Return a number that the study states with the decimals it was stated with: 80, 2.05."""
    _, _, decimals = f"{value:.6f}".rstrip("0").partition(".")
    return fixed(value, len(decimals))


def percent(value: float, digits: int = 2) -> str:
    """Return `value` per cent with `digits` significant figures."""
    return with_unit(rounded(value, digits), "%")


def hours(value: float) -> str:
    """Return a single number of hours, without more figures than a life deserves."""
    return with_unit(rounded(value, 3 if abs(value) >= 100 else 2), "h")


def down(value: float) -> float:
    """Return `value` rounded down to two significant figures: a promise must not be rounded up."""
    if value <= 0:
        return 0.0
    step: float = 10.0 ** (floor(log10(value)) - 1)
    return floor(value / step + 1e-9) * step


def listed(words: Iterable[str], joint: str = "and") -> str:
    """Return `a, b and c`."""
    parts = list(words)
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {joint} {parts[-1]}"


def counted(number: int, singular: str, plural: str = "") -> str:
    """Return `one column`, `three columns`, `14 columns`."""
    return f"{spelled(number)} {singular if number == 1 else plural or singular + 's'}"


def spelled(number: int) -> str:
    """Return a count in letters up to twelve, in digits beyond."""
    return SPELLED[number] if number < len(SPELLED) else str(number)


def mid_sentence(text: str) -> str:
    """Return `text` as it stands within a sentence: its first letter small where it begins a plain word."""
    first = text.split(maxsplit=1)[0] if text.split() else ""
    plain = first[1:].islower() or first in ("A", "I") or (first[1:].replace("-", "").islower())
    return text[:1].lower() + text[1:] if plain and first != "I" else text


def tested_columns(group: str, number: int) -> str:
    """Return `only two porous hybrid columns were tested` or `three polymer columns were tested`."""
    name = re.sub(r"\s*columns?$", "", group.strip(), flags=re.IGNORECASE)
    few = "only " if number < 3 else ""
    return f"{few}{counted(number, f'{name} column')} {'was' if number == 1 else 'were'} tested"


def ratio_of(estimate: Estimate) -> str:
    """Return a ratio with two figures at least in each of its numbers: `4.3 (3.1 to 5.9)`, `at least 1.5`."""
    value, low, high = (None if end is None else rounded(end, 2) for end in _ends(estimate))
    if value is None:
        if low is not None and high is not None:
            return f"{low} to {high}"
        return f"at least {low}" if low is not None else f"at most {high}" if high is not None else ""
    if low is not None and high is not None:
        places = places_for(estimate)
        if places >= 1:
            return interval(estimate)
        return f"{value} ({low} to {high})"
    return f"{value} (at least {low})" if low is not None else f"{value} (at most {high})" if high else value


def _ends(estimate: Estimate) -> tuple[float | None, float | None, float | None]:
    return estimate.value, estimate.low, estimate.high


def conditions_words(study: Study) -> str:
    """Return `at pH 11.0, 60 °C, 25 % acetonitrile`: the stress, as far as it is stated and one for all."""
    stress = study.stress
    ph = {stress.ph if column.ph is None else column.ph for column in study.columns} or {stress.ph}
    warm = {
        stress.temperature_C if column.temperature_C is None else column.temperature_C
        for column in study.columns
    } or {stress.temperature_C}
    parts = []
    for values, write in ((ph, _ph_words), (warm, _warm_words)):
        (value, *more) = values
        if value is not None and not more:
            parts.append(write(value))
    if stress.organic and stress.organic_percent:
        parts.append(f"{with_unit(as_stated(stress.organic_percent), '%')} {stress.organic}")
    return f"at {', '.join(parts)}" if parts else ""


def _ph_words(ph: float) -> str:
    return f"pH {fixed(ph, max(1, len(as_stated(ph).partition('.')[2])))}"


def _warm_words(temperature_C: float) -> str:
    return with_unit(as_stated(temperature_C), "°C")


def columns_of(group: str) -> str:
    """Return `the polymer columns`."""
    name = group.strip()
    return f"the {name}" if name.lower().endswith(("column", "columns")) else f"the {name} columns"


def sentence(text: str) -> str:
    """Return `text` with its first letter large and one full stop at its end."""
    whole = text.strip()
    whole = whole[:1].upper() + whole[1:]
    return whole if whole.endswith((".", "!", "?")) else whole + "."


def metric_of(marker: str, metric: str) -> str:
    """Return `plate number (half height) of metoprolol`, or the metric alone for a column's own."""
    words = LIMITED_METRICS.get(metric, metric.replace("_", " "))
    return f"{words} of {marker}" if marker else words


def the_metric(marker: str, metric: str) -> str:
    """Return a metric with its article, as a sentence has it."""
    return f"the {metric_of(marker, metric)}"


def share_of(number: int, total: int, noun: str) -> str:
    """Return `none of the three columns`, `two of three columns`, `all three columns`, `the one column`."""
    if total == 1:
        return f"the one {noun}" if number else f"not the one {noun}"
    if number == total:
        return f"{'both' if total == 2 else 'all'} {'' if total == 2 else spelled(total) + ' '}{noun}s"
    return f"{spelled(number) if number else 'none'} of {'' if number else 'the '}{spelled(total)} {noun}s"


def bound_of(limit: Limit) -> str:
    """Return the limit itself: `80 % of its reference`, `2`."""
    relative = limit.at_least_percent if limit.at_least_percent is not None else limit.at_most_percent
    if relative is not None:
        return f"{with_unit(as_stated(relative), '%')} of its reference"
    absolute = limit.at_least if limit.at_least is not None else limit.at_most
    return as_stated(absolute) if absolute is not None else "its limit"


def falls_past(limit: Limit) -> str:
    """Return how a metric passes the limit: `falls below 80 % of its reference`."""
    lower = limit.at_least_percent is not None or limit.at_least is not None
    return f"{'falls below' if lower else 'rises above'} {bound_of(limit)}"


def is_vague(estimate: Estimate) -> bool:
    """Return whether an end of the interval lies further than a factor of `VAGUE` from the value."""
    if estimate.value is None or estimate.value <= 0:
        return False
    low, high = estimate.low, estimate.high
    return (low is not None and low * VAGUE < estimate.value) or (
        high is not None and high > VAGUE * estimate.value
    )


def life_words(life: Life) -> str:
    """Return a life as a sentence has it: `62 h (55 to 71)`, `at least 120 h`, or that we cannot tell."""
    if life.state == "not reached" and life.hours.low is not None:
        return interval(Estimate(None, life.hours.low, None), "h")
    if life.state == "reached" and life.hours.value is not None:
        if is_vague(life.hours):
            return (
                f"roughly {hours(life.hours.value)} (known to no better than a factor of {as_stated(VAGUE)})"
            )
        return interval(life.hours, "h")
    if life.state == "not measured":
        return "not measured"
    if life.extrapolated and life.hours.value is not None and life.hours.low is not None:
        shown = interval(Estimate(None, life.hours.low, None), "h")
        return f"{shown} (extrapolated beyond the test: roughly {hours(life.hours.value)})"
    if life.hours.low is not None:
        return interval(Estimate(None, life.hours.low, life.hours.high), "h")
    return f"{CANNOT_TELL} ({life.hours.reason})" if life.hours.reason else CANNOT_TELL


def quoted(text: str) -> str:
    """Return somebody's own words between quotation marks."""
    return f"“{text.strip().rstrip('.')}”"


def run_together(parts: Sequence[str]) -> str:
    """Join finished sentences with blanks, leaving out empty ones."""
    return " ".join(sentence(part) for part in parts if part.strip())
