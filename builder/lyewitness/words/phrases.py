"""The phrases that sentences, captions and pages share, so that one thing has one name.

In: words and counts. Out: pieces of sentences.
"""

import re
from collections.abc import Iterable, Sequence
from math import floor, log10

from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import DASH, fixed, in_step, rounded, stated, with_unit

CANNOT_TELL = "we cannot tell"
SPELLED = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip


def percent(value: float, digits: int = 2) -> str:
    """Return `value` per cent with `digits` significant figures."""
    return with_unit(rounded(value, digits), "%")


def percent_span(low: float, high: float) -> str:
    """Return `6.0 % to 7.1 %`; `6.0 %` where both ends are the same to the figures shown."""
    return " to ".join(dict.fromkeys((percent(low), percent(high))))


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
    name = kind_of(group)
    few = "only " if number < 3 else ""
    return f"{few}{counted(number, f'{name} column')} {'was' if number == 1 else 'were'} tested"


def kind_of(group: str) -> str:
    """Return `coated` of `coated columns`: what may stand before `column`."""
    return re.sub(r"\s*columns?$", "", group.strip(), flags=re.IGNORECASE) or group.strip()


def columns_of(group: str, number: int = 2) -> str:
    """Return `the polymer columns`; `the polymer column` of what was found on the only one."""
    if number == 1:
        return f"the {kind_of(group)} column"
    name = group.strip()
    return f"the {name}" if name.lower().endswith(("column", "columns")) else f"the {name} columns"


def typical_column(group: str) -> str:
    """Return `a typical polymer column`, also of a group that is named `polymer columns`."""
    return f"a typical {kind_of(group)} column"


def sentence(text: str) -> str:
    """Return `text` with its first letter large and one full stop at its end; `pH` stays what it is."""
    whole = text.strip()
    whole = whole[:1].upper() + whole[1:] if not whole.startswith("pH ") else whole
    return whole if whole.endswith((".", "!", "?")) else whole + "."


def share_of(number: int, total: int, noun: str) -> str:
    """Return `none of the three columns`, `two of three columns`, `all three columns`, `the one column`."""
    if total == 1:
        return f"the one {noun}" if number else f"not the one {noun}"
    if number == total:
        return f"{'both' if total == 2 else 'all'} {'' if total == 2 else spelled(total) + ' '}{noun}s"
    if not number and total == 2:
        return f"neither of the two {noun}s"
    return f"{spelled(number) if number else 'none'} of {'' if number else 'the '}{spelled(total)} {noun}s"


_ENDS = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")


def sentences_of(text: str) -> list[str]:
    """Return the sentences of a text, each with its full stop; somebody's own words stay whole."""
    found: list[str] = []
    for part in _ENDS.split(text):
        if found and found[-1].count("“") > found[-1].count("”"):
            found[-1] = f"{found[-1]} {part}"
        else:
            found.append(part)
    return found


def opening(text: str, words: int = 7) -> str:
    """Return the first words of a text, by which its author knows it: `Which of the two should we put…`."""
    every = text.split()
    first = " ".join(every[:words]).rstrip(",;:")
    return first if len(every) <= words else f"{first}…"


def quoted(text: str) -> str:
    """Return somebody's own words between quotation marks."""
    return f"“{text.strip().rstrip('.')}”"


def run_together(parts: Sequence[str]) -> str:
    """Join finished sentences with blanks, leaving out empty ones."""
    return " ".join(sentence(part) for part in parts if part.strip())


def exposure(hours: float | None) -> str:
    """Return the exposure at which something was done or seen: `6.3 h`, to a tenth of an hour.

    Nobody injects or stops a pump to the minute. An en dash where it is not known.
    """
    return DASH if hours is None else with_unit(stated(round(hours, 1)), "h")


def exposure_and_volumes(hours: float | None, volumes: float | None) -> str:
    """Return an exposure in hours, and in column volumes where they are known."""
    return exposure(hours) if volumes is None else f"{exposure(hours)}, {fixed(volumes, 0)} column volumes"


def hours_text(hours: float | None, beside: Estimate | None = None) -> str:
    """Return a time in hours, to three figures, or in step with the estimate beside it."""
    return DASH if hours is None else with_unit(in_step(hours, beside or Estimate()), "h")


def percent_of(share: float) -> str:
    """Return a share as a percentage without idle decimals."""
    return with_unit(rounded(share * 100, 3).removesuffix(".0"), "%")


def share_percent(value: float) -> str:
    """Return a share, given in percent, to whole ones."""
    return with_unit(fixed(value, 0), "%")


_LINKED = re.compile(r"\[\[[a-z]+:([^\[\]|]+)(?:\|([^\[\]]+))?\]\]")


def unlinked(text: str) -> str:
    """Return the text of a note, links to parts of the report as their words: `[[column:S2]]` is S2."""
    return _LINKED.sub(lambda found: found[2] or found[1], text)
