"""Texts that a spreadsheet would compute instead of showing, made harmless, and told.

In: a cell as text, a study. Out: the cell with an apostrophe before it, which spreadsheets take for 'this is
text'; a caution for each such name.
"""

from collections.abc import Iterator

from lyewitness.study.records import Study
from lyewitness.words.problems import Problem

STARTS = "=+-@\t\r"
"""With these a cell begins that is taken for a formula (or, behind a tab or line break, may be)."""


def defused(text: str) -> str:
    """Return a cell that no spreadsheet computes; numbers stay numbers."""
    return f"'{text}" if is_formula(text) else text


def is_formula(text: str) -> bool:
    """Return whether a spreadsheet would compute a text; a number, or a sign alone, is none."""
    if len(text) < 2 or text[0] not in STARTS:
        return False
    try:
        float(text)
    except ValueError:
        return True
    return False


def formula_cautions(study: Study) -> tuple[Problem, ...]:
    """Return a caution for each name of the study that stands with an apostrophe in the tables."""
    return tuple(
        Problem(
            "caution",
            file,
            place,
            f"'{text}', which a spreadsheet takes for a formula",
            f"a name that begins with none of {' '.join(STARTS[:4])}",
            "In the report's tables an apostrophe stands before it, so that it is shown and not computed.",
        )
        for file, place, text in dict.fromkeys(_names_of(study))
        if is_formula(text)
    )


def _names_of(study: Study) -> Iterator[tuple[str, str, str]]:
    """Yield file, place and text of every name that gets into a table."""
    for number, column in enumerate(study.columns, start=1):
        yield "study.toml", f"column[{number}].label", column.label
        yield "study.toml", f"column[{number}].group", column.group
        yield "study.toml", f"column[{number}].lot", column.lot
    for injection in study.injections:
        yield "injections.csv", "why", injection.why
        yield "injections.csv", "file", injection.file
    for image in study.images:
        yield "images.csv", "caption", image.caption
