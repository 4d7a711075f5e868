"""What is wrong with a study folder, said so that a chemist can mend it in one pass.

In: nothing. Out: `Problem` records, gathered by every stage, and the one exception
that carries them to the command line.
"""

from dataclasses import dataclass
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


class StudyFolderError(Exception):
    """The study folder cannot be used as it is; carries every problem that was found."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems
