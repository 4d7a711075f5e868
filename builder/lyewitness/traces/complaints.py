"""How a reader says that it cannot read a file.

In: where, what stands there, what should, and the cure. Out: the exception that carries it.
"""

from lyewitness.words.problems import Problem, StudyFolderError


def unreadable(file: str, place: str, found: str, expected: str, cure: str) -> StudyFolderError:
    """Return the error for a file that cannot be read; `place` is a line, a variable or an element."""
    return StudyFolderError((Problem("error", file, place, found, expected, cure),))


def shortened(text: str, length: int = 40) -> str:
    """Return `text` fit to be quoted in a message: one line, printable, at most `length` characters."""
    plain = "".join(sign if sign.isprintable() else "·" for sign in " ".join(text.split()))
    return plain if len(plain) <= length else plain[: length - 1] + "…"
