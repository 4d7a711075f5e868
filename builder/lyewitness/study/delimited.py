"""The folder's own small tables (injections, conditions, images) as rows that know their place.

In: the bytes of a table as a spreadsheet program saves it. Out: `TableRow`s.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import isfinite

from lyewitness.study.gathering import Gathering, listed, suggestion

YES = {"yes", "y", "true", "1"}
NO = {"no", "n", "false", "0"}


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of a table: cells by column name, stripped of blanks."""

    number: int
    """Line in the file, from 1, the header being line 1."""
    cells: dict[str, str]
    decimal_comma: bool

    @property
    def place(self) -> str:
        """Return the words for where this row stands."""
        return f"row {self.number}"

    def text(self, name: str) -> str:
        """Return the cell, or an empty text where the table has no such column."""
        return self.cells.get(name, "")

    def number_in(self, name: str, problems: Gathering, least: float | None = None) -> float | None:
        """Return the cell as a number, None where empty; what is no number becomes a problem."""
        text = self.text(name)
        if not text:
            return None
        plain = text.replace(",", ".") if self.decimal_comma else text
        try:
            value = float(plain.replace("\u2212", "-"))
        except ValueError:
            value = float("nan")
        if not isfinite(value):
            problems.note(
                f"{self.place}, {name}", f"'{text}'", "a number", "Correct the cell or leave it empty."
            )
            return None
        if least is not None and value < least:
            problems.note(
                f"{self.place}, {name}", f"'{text}'", f"a number not below {least:g}", "Correct the cell."
            )
            return None
        return value

    def yes_in(self, name: str, problems: Gathering, otherwise: bool = False) -> bool:
        """Return whether the cell says yes; `otherwise` where empty; any other word becomes a problem."""
        word = self.text(name).lower()
        if word and word not in YES | NO:
            problems.note(f"{self.place}, {name}", f"'{word}'", "yes, no, or nothing", "Correct the cell.")
        return word in YES if word in YES | NO else otherwise

    def time_in(self, name: str, problems: Gathering) -> datetime | None:
        """Return the cell as an ISO 8601 time, None where empty; anything else becomes a problem."""
        text = self.text(name)
        if not text:
            return None
        try:
            return datetime.fromisoformat(text)
        except ValueError:
            problems.note(
                f"{self.place}, {name}",
                f"'{text}'",
                "an ISO 8601 time such as 2026-03-02T14:05:00",
                "Write the time in this form.",
            )
            return None


def decoded(data: bytes) -> str:
    """Return the text of `data`: UTF-8 (with or without mark), UTF-16 with mark, else Latin-1."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def read_table(
    data: bytes, problems: Gathering, known: Sequence[str], required: Sequence[str]
) -> tuple[TableRow, ...]:
    """Return the rows of a delimited table with a header line; empty lines are passed over.

    Comma, semicolon and tab are told by the header line. Unknown columns are a caution, missing required
    ones a problem (then no row is returned).
    """
    text = decoded(data)
    header_line = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=header_line.count)
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    spelling = {name.lower(): name for name in known}
    header = [spelling.get(cell.strip().lower(), cell.strip()) for cell in next(lines, [])]
    _check_header(header, problems, known, required)
    if any(name not in header for name in required):
        return ()
    rows = []
    for cells in lines:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
            problems.note(
                f"row {lines.line_num}",
                f"{len(cells)} cells",
                f"{len(header)} cells, as in the header",
                "Put cells that hold the delimiter in double quotes.",
            )
            continue
        named = {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
        rows.append(TableRow(lines.line_num, named, delimiter != ","))
    return tuple(rows)


def _check_header(
    header: Sequence[str], problems: Gathering, known: Sequence[str], required: Sequence[str]
) -> None:
    """Note required columns that are missing, unknown ones, and names that stand twice."""
    for name in required:
        if name not in header:
            problems.note(
                "row 1", f"the columns {listed(header)}", f"a column '{name}'", f"Add the column '{name}'."
            )
    for name in dict.fromkeys(header):
        if name and name not in known:
            problems.caution(
                "row 1",
                f"the column '{name}'",
                f"one of {listed(known)}",
                suggestion(name, known, "The column is not read."),
            )
        if name and header.count(name) > 1:
            problems.note("row 1", f"the column '{name}' twice", "each column once", "Rename one of them.")
