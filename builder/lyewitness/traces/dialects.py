"""How the numbers of a text file are set apart and written, and what they then are.

In: lines and fields of a text file. Out: `Dialect`, and the numbers that it reads in them.
"""

import csv
import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass

MISSING_WORDS = frozenset({
    "", "-", "--", "---", ".", "?", "nan", "n/a", "na", "#n/a", "#na", "null", "none", "missing",
    "inf", "+inf", "-inf", "infinity", "-infinity", "1.#inf", "-1.#inf", "1.#qnan", "-1.#ind",
    "#value!", "#div/0!", "#num!", "overflow", "over", "ovf",
})  # fmt: skip
"""What files write, in small letters, where a point has no value."""

BLANKS = " "
"""The separator of columns set apart by any number of blanks."""

_NUMBER = re.compile(
    r"(?P<sign>[-+]?)"
    r"(?P<digits>\d{1,40}(?:[.,' ’\u00a0\u2009\u202f]\d{3}){0,9}(?:[.,]\d{0,40})?|[.,]\d{1,40})"
    r"(?:[eEdD](?P<exponent>[-+]?\d{1,4}))?"
)
_CLOCK = re.compile(r"(\d+):([0-5]?\d)(?::([0-5]?\d))?(?:[.,](\d+))?")


@dataclass(frozen=True, slots=True)
class Dialect:
    """One way of writing a table of numbers."""

    separator: str
    """`\\t`, `;`, `,`, `|`, `BLANKS`, or empty for one column."""
    decimal: str
    """`.` or `,`; empty where both are used and neither can be told for sure."""
    joined: bool = False
    """Whether the comma is separator and decimal sign at once: two fields make one number."""

    def split(self, line: str) -> list[str]:
        """Return the fields of `line` without trailing empty ones."""
        fields = self._fields(line)
        while fields and not fields[-1].strip():
            fields.pop()
        if self.joined and len(fields) % 2 == 0:
            return [f"{whole},{part}" for whole, part in zip(fields[::2], fields[1::2], strict=True)]
        return fields

    def _fields(self, line: str) -> list[str]:
        if self.separator == BLANKS:
            return line.replace('"', " ").split()
        if not self.separator:
            return [line.strip().strip('"')]
        if '"' in line:
            return next(csv.reader([line], delimiter=self.separator, skipinitialspace=True), [])
        return line.split(self.separator)

    def numbers(self, line: str) -> tuple[float, ...] | None:
        """Return the numbers of a row, NaN where it says that there is none; None where it is no row."""
        fields = self.split(line)
        if self.decimal == "." and "_" not in line:
            try:
                return tuple(map(float, fields))
            except ValueError:
                pass
        values: list[float] = []
        for field in fields:
            value = self.number(field)
            if value is None:
                return None
            values.append(value)
        return tuple(values)

    def number(self, field: str) -> float | None:
        """Return the number in `field`, NaN where it says that there is none; None where it is neither.

        A clock time `h:mm:ss` becomes seconds.
        """
        text = field.strip()
        plain = text if self.decimal == "." else text.replace(".", "_").replace(",", ".")
        try:
            return float(plain) if "_" not in plain else _written_out(text, self.decimal)
        except ValueError:
            if text.casefold() in MISSING_WORDS:
                return float("nan")
            return _written_out(text, self.decimal)


def _written_out(text: str, decimal: str) -> float | None:
    """Return a number with marks between its thousands or a Fortran exponent, or a clock time."""
    match = _NUMBER.fullmatch(text)
    if not match:
        return clock_seconds(text)
    mark = "," if decimal == "." else "."
    whole, sign, rest = match["digits"].partition(decimal)
    groups = re.split(rf"[{re.escape(mark)}' ’\u00a0\u2009\u202f]", whole)
    if rest and not rest.isdecimal():
        return None
    if len(groups) > 1 and (len(groups[0]) > 3 or any(len(group) != 3 for group in groups[1:])):
        return None
    digits = "".join(groups) + ("." if sign else "") + rest
    return float(f"{match['sign']}{digits}e{match['exponent'] or 0}") if re.search(r"\d", digits) else None


def clock_seconds(text: str) -> float | None:
    """Return the seconds of a clock time such as `0:01:30.5`; None where `text` is none."""
    match = _CLOCK.fullmatch(text)
    if not match or match[3] is None:
        return None
    return int(match[1]) * 3600 + int(match[2]) * 60 + float(f"{match[3]}.{match[4] or 0}")


_NUMERIC_LINE = re.compile(r"[-+\d.,;:|\s\"'’eEdD]+")
_MISSING = re.compile(
    r"#?n/?a\b|\b(?:nan|inf(?:inity)?|null|none|missing|overflow|over|ovf)\b|#[a-z0-9/]+[!?]?", re.IGNORECASE
)


def looks_numeric(line: str) -> bool:
    """Whether `line` holds numbers and nothing that is no number, whatever sets them apart."""
    line = line if _NUMERIC_LINE.fullmatch(line) else _MISSING.sub("", line)
    return bool(_NUMERIC_LINE.fullmatch(line)) and any(sign.isdigit() for sign in line)


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
