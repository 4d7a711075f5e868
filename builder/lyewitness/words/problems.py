"""What is wrong with a study folder, said so that a chemist can mend it in one pass.

In: nothing. Out: `Problem` records, gathered file by file in every stage, and the one exception that carries
them to the command line.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from typing import Literal

Severity = Literal["error", "caution", "missing"]
LONGEST_WORD = 60
"""Letters of one word that a message quotes: a heading of a table may be a page long."""
LONGEST_QUOTE = 200
"""Letters of a quotation of what was found that no message goes beyond: more than a usual path has."""
_QUOTE = re.compile(rf"'([^']{{{LONGEST_QUOTE}}})[^']+'")


_FAULTS = (
    (r"convert string to float: (.*)|literal for int\(\) with base 10: (.*)", "{} where a number belongs"),
    (r"int too large|out of range|[Oo]verflow", "a number beyond all bounds"),
    (r"Only base64|[Pp]adding|base64", "signs that are no base64"),
    (r"Bad CRC-32 for file '(.*)'", "'{}' is not what was packed"),
    (
        r"opened successfully|not a (?:zip|gzip|tar) file|[Bb]ad magic number",
        "its head is that of no archive",
    ),
    (r"is encrypted|password required", "it is locked by a password"),
    (r"Truncated file header", "it breaks off"),
    (r"Error -?\d+ while|not a gzipped|[Ii]ncorrect (?:header|data) check", "packed data that are damaged"),
    (r"reshape|unpack requires|truncated", "fewer numbers than it announces"),
    (r"overwrite|declare|Duplicate|[Tt]wice|immutable|mutate", "a key that stands twice"),
    (r"no element found|unclosed|end of|[Uu]nterminated|ended before", "it breaks off"),
    (r"not well-formed", "a sign where none may stand"),
    (r"Expecting (.*?): line (\d+).*", "no {} in line {}"),
    (r"Illegal character", "a sign that may not stand there, or a quote that is not closed"),
    (
        r"unhashable|not (?:iterable|subscriptable)|NoneType|object",
        "another kind of value than belongs there",
    ),
)
"""What libraries say of damaged data, by parts of it, and how a chemist would say it."""


def told_plainly(error: BaseException | str) -> str:
    """Return what a library says of damaged data without its own vocabulary, where that is known."""
    said = str(error)
    for pattern, plainly in _FAULTS:
        if met := re.search(pattern, said):
            return shortened(plainly.format(*(part for part in met.groups() if part)), 90)
    return shortened(said, 90)


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
    drawing: tuple[str, ...] = ()
    """Lines that show it where only text can be shown; may be empty."""

    def __post_init__(self) -> None:
        """Cut what is quoted of the folder, wherever a message forgot to: a cell may be a page long."""
        for name in ("place", "found"):
            if len(getattr(self, name)) > LONGEST_QUOTE:
                object.__setattr__(self, name, _QUOTE.sub(r"'\1…'", getattr(self, name)))

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

    def __reduce__(self) -> tuple[type["StudyFolderError"], tuple[tuple[Problem, ...]]]:
        """Let a worker hand the problems over as they are."""
        return StudyFolderError, (self.problems,)


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
    words = list(known)
    same = [one for one in words if one.casefold() == word.casefold()]
    close = same or get_close_matches(word, words, n=1, cutoff=0.5)
    return f"Did you mean '{close[0]}'? {otherwise}" if close else otherwise


def shortened(text: str, most: int = LONGEST_WORD) -> str:
    """Return `text` fit to be quoted in a message: one line, printable, `most` letters and a mark at most."""
    # No more of a page-long text is looked at than can be shown.
    line = " ".join(text[: 20 * most].split())
    plain = "".join(sign if sign.isprintable() else "·" for sign in line)
    return plain if len(plain) <= most else f"{plain[:most]}…"


def listed(words: Iterable[str], most: int = 12) -> str:
    """Return the words in quotes, joined by commas, cut after `most`."""
    all_words = list(words)
    shown = ", ".join(f"'{shortened(word)}'" for word in all_words[:most])
    return f"{shown} and {len(all_words) - most} more" if len(all_words) > most else shown or "none"


def with_article(word: str) -> str:
    """Return the word with `a` or `an` before it."""
    return f"{'an' if word[:1].lower() in 'aeiou' else 'a'} {word}"
