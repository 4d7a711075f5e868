"""The text of a TOML file: parsed within bounds, with the mistakes of its lines and the places of its keys.

In: the text of study.toml, of a file it extends, or of the head of a note. Out: the document, or a problem
with line and cure in words for somebody who does not know TOML; line numbers of tables and keys.
"""

import re
import tomllib
from collections import Counter
from collections.abc import Mapping
from datetime import date
from typing import Any

from lyewitness.study.delimited import YEARS, shortened
from lyewitness.study.gathering import Gathering

DEEPEST = 12
"""Tables in tables: nothing that is read lies deeper than four."""
LARGEST_NUMBER = 1e15
"""Whole numbers above it stand for nothing in a study, and not all of them can be written as a double."""
LONGEST_LINE = 2000
"""Letters of a line in which a key or a usual mistake is looked for."""
USUAL: tuple[tuple[str, str, str], ...] = (
    (
        r"=\s*[-+]?\d+,\d+\s*(#.*)?$",
        "a number with a decimal point",
        "Write a decimal point: 10.5, not 10,5.",
    ),
    (
        r"=\s*\d{1,2}[./]\d{1,2}[./]\d{2,4}",
        "a date such as 2026-03-01",
        "Write year-month-day, without quotes.",
    ),
    (
        r"=\s*[-+]?[\d.]+\s*[A-Za-z%°µ]",
        "a number without its unit",
        "The key names the unit: write the number alone.",
    ),
    (r"=\s*(?!true|false|inf|nan)[A-Za-z…][^\"=]*$", "text in double quotes", 'Write key = "text".'),
    (r"=\s*(#.*)?$", "a value after the '='", "Write the value, or put '#' before the line."),
    (r"^\s*\[+[^\]]*$", "a heading such as [stress] or [[column]]", "Close the bracket."),
)
"""(what the line looks like, what should stand there, what to do), the first that fits is told."""


_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_-]+|\"[^\"]+\")\s*(?:\.[^=]*)?=")


def parsed(text: str, problems: Gathering, first_line: int = 1) -> dict[str, Any] | None:
    """Return the document, or None after a problem; `first_line` is where `text` begins in its file.

    Values that nothing can be done with (too deep, too large, a date beyond the calendar) are a problem too.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        _explain(text, error, problems, first_line)
        return None
    except RecursionError:
        _too_deep(problems)
        return None
    except ValueError as error:  # whole numbers of more digits than Python converts
        problems.note("", shortened(str(error)), "numbers of at most 15 digits", "Correct the number.")
        return None
    return document if _within_bounds(document, problems) else None


def _within_bounds(document: dict[str, Any], problems: Gathering) -> bool:
    """Note what lies too deep, and numbers and dates that stand for nothing; walks without recursion."""
    before = len(problems.problems)
    waiting: list[tuple[str, Any, int]] = [("", document, 0)]
    while waiting:
        path, value, depth = waiting.pop()
        if depth > DEEPEST:
            _too_deep(problems)
            return False
        if isinstance(value, dict | list):
            pairs = value.items() if isinstance(value, dict) else enumerate(value, start=1)
            waiting += [
                (f"{path}.{key}"[:LONGEST_LINE].lstrip("."), inner, depth + 1) for key, inner in pairs
            ]
        elif isinstance(value, int) and abs(value) > LARGEST_NUMBER:
            found = f"a whole number of about {1 + int(value.bit_length() * 0.30103)} digits"
            problems.note(shortened(path), found, "at most 15 digits", "Correct the number.")
        elif isinstance(value, date) and not YEARS[0] <= value.year <= YEARS[1]:
            expected = f"a year from {YEARS[0]} to {YEARS[1]}"
            problems.note(shortened(path), f"{value}", expected, "Correct the date.")
    return len(problems.problems) == before


def _too_deep(problems: Gathering) -> None:
    problems.note("", "tables within tables within tables", f"at most {DEEPEST} levels", "Take brackets out.")


def _explain(text: str, error: tomllib.TOMLDecodeError, problems: Gathering, first_line: int) -> None:
    """Add the problem of a text that cannot be read, with the mistake that its line most looks like."""
    message, _, place = str(error).rpartition(" (at ")
    number = re.match(r"line (\d+)", place)
    lines = text.split("\n")
    line = lines[int(number[1]) - 1][:LONGEST_LINE].strip() if number and int(number[1]) <= len(lines) else ""
    where = f"line {int(number[1]) + first_line - 1}" if number else "its end"
    for pattern, expected, cure in USUAL:
        if re.search(pattern, line):
            problems.note(where, f"'{shortened(line)}'", expected, cure)
            return
    problems.note(
        where,
        f"'{shortened(line)}' ({shortened(message or str(error), 120)})",
        "TOML that can be read",
        "Look at this line and the one before it: quotes, brackets and commas.",
    )


def key_lines(text: str) -> Mapping[str, int]:
    """Return line numbers (from 1) by path: `study.id`, `column[2].length_mm`, `column[2]`.

    Arrays of tables count from 1. Keys inside multi-line strings may be counted by mistake, which can
    only send a reader to a line near the right one.
    """
    lines: dict[str, int] = {}
    seen: Counter[str] = Counter()
    table = ""
    for number, line in enumerate(text.split("\n"), start=1):
        line = re.sub(r"\s+", " ", line[:LONGEST_LINE])  # many blanks would make the patterns slow
        if header := _HEADER.match(line):
            table = header[2].replace('"', "").replace(" ", "")
            if header[1] == "[[":
                seen[table] += 1
                table = f"{table}[{seen[table]}]"
            lines.setdefault(table, number)
        elif key := _KEY.match(line):
            name = key[1].strip('"')
            lines.setdefault(f"{table}.{name}" if table else name, number)
    return lines


def place_of(path: str, lines: Mapping[str, int]) -> str:
    """Return `line 34, column[2].length_mm`, with the line of the nearest table where the key is absent."""
    probe = path
    while probe and probe not in lines:
        probe = probe.rpartition(".")[0]
    return f"line {lines[probe]}, {path}" if probe else path
