"""Problems of one file, gathered while it is read.

In: what a reader finds. Out: a list of `Problem`s that all name the same file.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches

from lyewitness.words.problems import Problem, Severity


@dataclass(slots=True)
class Gathering:
    """Collects the problems of one file, so that all are shown together."""

    file: str
    """Path below the study folder; empty for the folder itself."""
    problems: list[Problem] = field(default_factory=list)

    def note(self, place: str, found: str, expected: str, cure: str, severity: Severity = "error") -> None:
        """Add one problem of this file."""
        self.problems.append(Problem(severity, self.file, place, found, expected, cure))

    def caution(self, place: str, found: str, expected: str, cure: str) -> None:
        """Add what does not stop the report but is shown in it."""
        self.note(place, found, expected, cure, "caution")


def suggestion(word: str, known: Iterable[str], otherwise: str) -> str:
    """Return `Did you mean 'x'?` where a known word is close to `word`, else `otherwise`."""
    close = get_close_matches(word, list(known), n=1, cutoff=0.5)
    return f"Did you mean '{close[0]}'? {otherwise}" if close else otherwise


def listed(words: Iterable[str], most: int = 12) -> str:
    """Return the words in quotes, joined by commas, cut after `most`."""
    all_words = list(words)
    shown = ", ".join(f"'{word}'" for word in all_words[:most])
    return f"{shown} and {len(all_words) - most} more" if len(all_words) > most else shown or "none"


def with_article(word: str) -> str:
    """Return the word with `a` or `an` before it."""
    return f"{'an' if word[:1].lower() in 'aeiou' else 'a'} {word}"
