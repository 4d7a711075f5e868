"""What is wrong with a study folder, said so that a chemist can mend it in one pass.

In: nothing. Out: `Problem` records, gathered by every stage, and the one exception
that carries them to the command line.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

Severity = Literal["error", "caution", "missing"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing found in the study folder that stops or limits the report."""

    severity: Severity
    """`error` stops the report, `caution` is shown in it, `missing` names what it cannot say."""
    file: str
    """Path below the study folder, with `/`; empty for the folder itself."""
    place: str
    """Line, row or key in the file, such as `line 12` or `column[2].length_mm`; may be empty."""
    found: str
    """What stands there."""
    expected: str
    """What should stand there."""
    cure: str
    """What to do about it."""

    def __str__(self) -> str:
        where = ", ".join(part for part in (self.file, self.place) if part)
        return f"{where}: found {self.found}; expected {self.expected}. {self.cure}"


def merged(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return the problems with those as one that differ in nothing but their place.

    One mistake that stands in twelve rows is one message, and names the first place and how many more.
    """
    alike: dict[tuple[str, ...], list[Problem]] = {}
    for one in problems:
        alike.setdefault(
            (one.severity, one.file, _kind(one.place), _unnamed(one.found), one.expected, one.cure), []
        ).append(one)
    return tuple(_one_of(found) for found in alike.values())


def _unnamed(found: str) -> str:
    """Return what was found without the name that it begins with: 276 missing files are one mistake."""
    return re.sub(r"^'[^']*'", "''", found)


def _kind(place: str) -> str:
    """Return a place without its numbers."""
    return re.sub(r"\d+", "", place)


def _one_of(found: list[Problem]) -> Problem:
    """Return the first of the problems, its place naming the others."""
    if len(found) == 1 or not found[0].place:
        return found[0]
    more = "one more place" if len(found) == 2 else f"{len(found) - 1} more places, to {found[-1].place}"
    return replace(found[0], place=f"{found[0].place} (and {more})")


class StudyFolderError(Exception):
    """The study folder cannot be used as it is; carries every problem that was found."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems
