"""How the levels of a factor read in a sentence: `with the guard`, `on C18`, `on both bondings`.

In: the name of a factor, its levels. Out: text.
"""

from collections.abc import Sequence

from lyewitness.study.questions import words_of
from lyewitness.words.phrases import spelled

PRESENT = ("with", "yes", "on", "present")
ABSENT = ("without", "no", "off", "none", "absent")
"""First words of levels that say that the factor is there, and that it is not."""


def level_words(factor: str, level: str, levels: Sequence[str]) -> str:
    """Return `with the guard`, `C18`: a level of a factor by itself."""
    return at_level(factor, level, levels).removeprefix("on ")


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
    return f"on {'both' if len(levels) == 2 else 'all ' + spelled(len(levels))} {plural}"


def at_level(factor: str, level: str, levels: Sequence[str]) -> str:
    """Return `without the guard`, `on C18`."""
    if is_presence(factor, levels):
        return f"{'without' if is_absent(level) else 'with'} the {factor}"
    return f"on {level}"
