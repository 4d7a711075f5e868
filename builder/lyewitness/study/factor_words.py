"""How the levels of a factor read in a sentence: `with the guard`, `on C18`, `on both bondings`.

In: the name of a factor, its levels. Out: text.
"""

import re
from collections.abc import Sequence

from lyewitness.study.questions import words_of
from lyewitness.words.phrases import spelled

PRESENT = ("with", "yes", "on", "present")
ABSENT = ("without", "no", "off", "none", "absent")
"""First words of levels that say that the factor is there, and that it is not."""


def level_words(factor: str, level: str, levels: Sequence[str]) -> str:
    """Return `with the guard`, `C18`: a level of a factor by itself."""
    return re.sub(r"^(?:on|at|from) ", "", at_level(factor, level, levels))


def is_presence(factor: str, levels: Sequence[str]) -> bool:
    """Return whether two levels say that a factor is there, and that it is not.

    `none` and `guard` do of the `guard column`; of an `additive` `none` and `amine` do not.
    """
    there = [level for level in levels if not is_absent(level)]
    if len(levels) != 2 or len(there) != 1:
        return False
    return _first_word(there[0]) in PRESENT or set(words_of(there[0])) <= set(words_of(factor))


def is_absent(level: str) -> bool:
    """Return whether a level says that its factor is not there."""
    return _first_word(level) in ABSENT


def _first_word(level: str) -> str:
    """Return what a level begins with, which tells `with guard` from `without guard`."""
    return level.lower().partition(" ")[0]


def at_all(factor: str, levels: Sequence[str]) -> str:
    """Return `with and without the guard`, `on both bondings`, `on all three lots`."""
    if is_presence(factor, levels):
        return f"with and without the {factor}"
    plural = factor if factor.endswith("s") else f"{factor}s"
    place = "at" if _is_setting(factor) else "from" if is_sampled(factor) else "on"
    every = "both" if len(levels) == 2 else f"all {spelled(len(levels))}"
    if _is_setting(factor) and factor.lower() == "ph":
        return f"{place} {every} values of pH"
    return f"{place} {every} {plural}"


def at_level(factor: str, level: str, levels: Sequence[str]) -> str:
    """Return `without the guard`, `on C18`, `at pH 10.8`, `from lot 2431`."""
    if is_presence(factor, levels):
        return f"{'without' if is_absent(level) else 'with'} the {factor}"
    named = level if set(words_of(factor)) <= set(words_of(level)) else f"{factor} {level}"
    if factor.lower() == "ph" and NUMBER.fullmatch(level):
        return f"at {named}"
    if _is_setting(factor):
        return f"at {level}"
    if is_sampled(factor):
        return f"from {named}"
    return f"on {level}"


NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
SETTING = re.compile(r"\b(?:pH|temperatures?|flow(?: rate)?|pressure|concentration)\b", re.IGNORECASE)
"""Factors that are set, not made: `at 45 °C`, not `on 45 °C`."""
SAMPLED = re.compile(r"\b(?:lots?|batch(?:es)?|charges?)\b", re.IGNORECASE)
"""Factors of which nobody chooses a level: whoever orders a column gets the one or the other."""


def _is_setting(factor: str) -> bool:
    return SETTING.search(factor) is not None


def is_sampled(factor: str) -> bool:
    """Return whether the levels of a factor are what a next column may be any of, as lots are.

    That columns of a type are of several is how a type is to be tested, and no mixture of treatments.
    """
    return SAMPLED.search(factor) is not None
