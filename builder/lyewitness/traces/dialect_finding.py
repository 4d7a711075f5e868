"""Finds out how the numbers of a text file are set apart and which sign is the decimal one.

In: rows of numbers as text, and the lines above them. Out: `Dialect`. A comma can be a separator, a decimal
sign or a mark between thousands; what else stands in the rows tells which, and where nothing does the decimal
sign stays empty.
"""

import itertools
import re
from collections.abc import Sequence

from lyewitness.traces.dialects import BLANKS, Dialect


def find_dialect(lines: Sequence[str], above: Sequence[str] = ()) -> Dialect:
    """Return how `lines`, a sample of rows of numbers, are written; `above` are the lines before them."""
    separator = _separator(lines, above)
    if separator == ",":
        return _with_commas(lines, above)
    return Dialect(separator, _decimal(_fields(lines, separator)))


def _fields(lines: Sequence[str], separator: str) -> list[list[str]]:
    return [Dialect(separator, ".").split(line) for line in lines]


def _separator(lines: Sequence[str], above: Sequence[str]) -> str:
    most = len(lines) / 2
    for mark in ("\t", ";", "|"):
        if sum(mark in line.strip() for line in lines) > most:
            return mark
    commas = sum("," in line for line in lines) > most
    blanks = sum(len(line.split()) > 1 for line in lines) > most
    if commas and (not blanks or sum(bool(re.search(r",\s|\s,", line)) for line in lines) > most):
        return "," if _comma_separates(lines, above) else ""
    return BLANKS if blanks else ""


def _comma_separates(lines: Sequence[str], above: Sequence[str]) -> bool:
    """Whether a comma stands between two numbers rather than in one, where there is but one to a line."""
    if any("." in line or '"' in line or line.count(",") > 1 or ", " in line for line in lines):
        return True
    if above and any("," in line for line in above[-2:]):
        return True
    return _rises([line.split(",")[0] for line in lines])


def _with_commas(lines: Sequence[str], above: Sequence[str]) -> Dialect:
    """Return the dialect of lines with commas as separators, and perhaps as decimal signs as well."""
    if any('"' in line for line in lines):
        return Dialect(",", _decimal(_fields(lines, ",")))
    widths = {line.rstrip(" ,").count(",") + 1 for line in lines}
    width = widths.pop() if len(widths) == 1 else 0
    if "." in "".join(lines) or width < 4 or width % 2:
        return Dialect(",", ".")
    headed = any(line.count(",") + 1 == width // 2 for line in above[-2:])
    rises = _rises([line.split(",")[0] for line in lines])
    return Dialect(",", ",", joined=True) if headed or not rises else Dialect(",", ".")


def _decimal(rows: Sequence[Sequence[str]]) -> str:
    """Return the decimal sign of rows of fields; empty where it cannot be told."""
    fields = [field.strip() for row in rows for field in row]
    both = [field for field in fields if "," in field and "." in field]
    if both:
        return max(".,", key=both[0].rfind)  # 1,234.5 or 1.234,5: the last sign is the decimal one
    comma = [field for field in fields if "," in field]
    point = [field for field in fields if "." in field]
    if comma and point:
        points_group, commas_group = _all_group(point, "."), _all_group(comma, ",")
        return "." if commas_group and not points_group else "," if points_group and not commas_group else ""
    if comma:
        return "." if _groups_thousands(comma, rows, ",") else ","
    return "," if point and _groups_thousands(point, rows, ".") else "."


def _groups_thousands(marked: Sequence[str], rows: Sequence[Sequence[str]], mark: str) -> bool:
    """Whether `mark`, the only one in these fields, stands between thousands.

    It does where a field has two of them, or where all could be such marks and numbers below a thousand
    stand in the same column without one.
    """
    if any(field.count(mark) > 1 for field in marked):
        return True
    return _all_group(marked, mark) and any(
        any(mark in field for field in column) and any(field.strip().isdecimal() for field in column)
        for column in itertools.zip_longest(*rows, fillvalue="")
    )


def _all_group(fields: Sequence[str], mark: str) -> bool:
    grouped = re.compile(rf"[-+]?[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+")
    return all(grouped.fullmatch(field) for field in fields)


def _rises(words: Sequence[str]) -> bool:
    try:
        values = [float(word) for word in words]
    except ValueError:
        return False
    return all(before < after for before, after in itertools.pairwise(values))
