"""What is wrong with a line that is no TOML, in words for somebody who does not know TOML.

In: the text of study.toml and the reader's complaint. Out: one problem with line and cure.
"""

import re
from tomllib import TOMLDecodeError

from lyewitness.study.gathering import Gathering

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


def explain_broken_toml(text: str, error: TOMLDecodeError, problems: Gathering) -> None:
    """Add the problem of a study.toml that cannot be read, with the mistake that its line most looks like."""
    message, _, place = str(error).rpartition(" (at ")
    number = re.match(r"line (\d+)", place)
    lines = text.splitlines()
    line = lines[int(number[1]) - 1] if number and int(number[1]) <= len(lines) else ""
    for pattern, expected, cure in USUAL:
        if re.search(pattern, line):
            problems.note(place.rstrip(")"), f"'{line.strip()}'", expected, cure)
            return
    problems.note(
        place.rstrip(")") or "its end",
        f"'{line.strip()}' ({message or error})",
        "TOML that can be read",
        "Look at this line and the one before it: quotes, brackets and commas.",
    )
