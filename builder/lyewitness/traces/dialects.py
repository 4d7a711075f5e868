"""How the numbers of a text file are set apart and written.

In: lines that hold numbers. Out: `Dialect`: the separator and the decimal sign, with the text tools that
follow from them.
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
_MISSING = re.compile(r"#?n/?a\b|\bnan\b|\binf(?:inity)?\b|\bnull\b|#[a-z0-9/]+[!?]?", re.IGNORECASE)


def looks_numeric(line: str) -> bool:
    """Whether `line` holds numbers and nothing that is no number, whatever sets them apart."""
    line = line if _NUMERIC_LINE.fullmatch(line) else _MISSING.sub("", line)
    return bool(_NUMERIC_LINE.fullmatch(line)) and any(sign.isdigit() for sign in line)


def find_dialect(lines: Sequence[str], above: Sequence[str] = ()) -> Dialect:
    """Return how `lines`, a sample of rows of numbers, are written; `above` are the lines before them."""
    separator = _separator(lines, above)
    if separator == ",":
        return _with_commas(lines, above)
    fields = [field for line in lines for field in Dialect(separator, ".").split(line)]
    return Dialect(separator, _decimal(fields))


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
        fields = [field for line in lines for field in Dialect(",", ".").split(line)]
        return Dialect(",", _decimal(fields))
    widths = {line.rstrip(" ,").count(",") + 1 for line in lines}
    width = widths.pop() if len(widths) == 1 else 0
    if "." in "".join(lines) or width < 4 or width % 2:
        return Dialect(",", ".")
    headed = any(line.count(",") + 1 == width // 2 for line in above[-2:])
    rises = _rises([line.split(",")[0] for line in lines])
    return Dialect(",", ",", joined=True) if headed or not rises else Dialect(",", ".")


def _decimal(fields: Sequence[str]) -> str:
    """Return the decimal sign of `fields`: the last of the two where one field holds both."""
    both = [field for field in fields if "," in field and "." in field]
    if both:
        return max(".,", key=both[0].rfind)
    comma = [field.strip() for field in fields if "," in field]
    point = [field.strip() for field in fields if "." in field]
    if comma and point:
        points_group = all(_thousands(field, ".") for field in point)
        commas_group = all(_thousands(field, ",") for field in comma)
        return "." if commas_group and not points_group else "," if points_group and not commas_group else ""
    if point and not comma:
        return "," if any(field.count(".") > 1 for field in point) else "."
    return "." if not comma or any(field.count(",") > 1 for field in comma) else ","


def _thousands(field: str, mark: str) -> bool:
    return bool(re.fullmatch(rf"[-+]?[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+", field))


def _rises(words: Sequence[str]) -> bool:
    try:
        values = [float(word) for word in words]
    except ValueError:
        return False
    return all(before < after for before, after in itertools.pairwise(values))
