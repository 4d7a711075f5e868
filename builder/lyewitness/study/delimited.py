"""The folder's own small tables (injections, conditions, images) as rows that know their place.

In: the bytes of a table as a spreadsheet program saves it. Out: `TableRow`s.
"""

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from lyewitness.words.decoding import decoded
from lyewitness.words.problems import Gathering, listed, shortened, suggestion

YES = {"yes", "y", "true", "1"}
NO = {"no", "n", "false", "0"}
NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.][0-9]*)?|[.][0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
"""As a spreadsheet writes one: Python would take `1_8.2` for 18.2, and words for infinity."""
LONGEST_ROW = 100_000
"""Letters: more than any reason or caption, fewer than the standard reader takes in one cell."""
MOST_LINES_OF_A_CELL = 50
"""A cell of more lines is a quote that was never closed; bounds the search for its end."""
RANGES: Mapping[str, tuple[float, float]] = {
    "exposure_h": (0, 1e6),
    "exposure_mL": (0, 1e8),
    "exposure_cv": (0, 1e8),
    "pressure_bar": (0, 10_000),
    "temperature_C": (-50, 400),
    "ph": (-2, 16),
    "flow_mL_min": (0, 1000),
    "nm_per_pixel": (1e-6, 1e9),
}
"""Least and greatest believable value of a column: catches slips of unit, and numbers that nothing holds."""
YEARS = (1900, 2200)
"""Of every date in a study: what lies beyond is a slip, and at the calendar's ends no zone holds."""


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

    def number_in(self, name: str, problems: Gathering) -> float | None:
        """Return the cell as a number, None where empty; what is none, or beyond belief, is a problem."""
        text = self.text(name)
        if not text:
            return None
        plain = (text.replace(",", ".") if self.decimal_comma else text).replace("\u2212", "-")
        if not NUMBER.fullmatch(plain):
            problems.note(
                f"{self.place}, {name}",
                f"'{shortened(text)}'",
                "a number",
                "Correct the cell or leave it empty.",
            )
            return None
        value = float(plain)
        low, high = RANGES.get(name, (float("-inf"), float("inf")))
        if not low <= value <= high:
            expected = f"a number from {low:g} to {high:g}"
            problems.note(f"{self.place}, {name}", f"'{shortened(text)}'", expected, "Correct the cell.")
            return None
        return value

    def yes_in(self, name: str, problems: Gathering, otherwise: bool = False) -> bool:
        """Return whether the cell says yes; `otherwise` where empty; any other word becomes a problem."""
        word = self.text(name).lower()
        if word and word not in YES | NO:
            found = f"'{shortened(word)}'"
            problems.note(f"{self.place}, {name}", found, "yes, no, or nothing", "Correct the cell.")
        return word in YES if word in YES | NO else otherwise

    def time_in(self, name: str, problems: Gathering) -> datetime | None:
        """Return the cell as an ISO 8601 time, None where empty; anything else becomes a problem."""
        text = self.text(name)
        if not text:
            return None
        try:
            time = datetime.fromisoformat(text)
        except ValueError:
            time = None
        if time is None or not YEARS[0] <= time.year <= YEARS[1]:
            problems.note(
                f"{self.place}, {name}",
                f"'{shortened(text)}'",
                "an ISO 8601 time such as 2026-03-02T14:05:00",
                "Write the time in this form.",
            )
            return None
        return time


def delimiter_of(header_line: str) -> str:
    """Return the sign between the columns: comma, semicolon or tab, whichever the head has most."""
    return max(",;\t", key=header_line.count)


def read_table(
    data: bytes, problems: Gathering, known: Sequence[str], required: Sequence[str]
) -> tuple[TableRow, ...]:
    """Return the rows of a delimited table with a header line; empty lines are passed over.

    Comma, semicolon and tab are told by the header line. Unknown columns are a caution, missing required
    ones a problem (then no row is returned). A quote that is not closed, or a cell that spans lines and
    holds delimiters, would swallow the rows below: it is a problem, and these rows are read all the same.
    """
    lines = decoded(data).split("\n")
    delimiter = delimiter_of(lines[0])
    records = _records(lines, delimiter, problems)
    spelling = {name.lower(): name for name in known}
    _, first = next(records, (1, []))
    header = [spelling.get(cell.strip().lower(), cell.strip()) for cell in first]
    _check_header(header, problems, known, required)
    if any(name not in header for name in required):
        return ()
    rows = []
    for number, cells in records:
        if not any(cell.strip() for cell in cells):
            continue
        told = bool(problems.problems) and problems.problems[-1].place == f"row {number}"
        if not told and any(cell.strip() for cell in cells[len(header) :]):
            problems.note(
                f"row {number}",
                f"{len(cells)} cells",
                f"{len(header)} cells, as in the header",
                "Put cells that hold the delimiter in double quotes.",
            )
            continue
        named = {
            name: stripped for name, cell in zip(header, cells, strict=False) if (stripped := cell.strip())
        }
        rows.append(TableRow(number, named, delimiter != ","))
    return tuple(rows)


def _records(lines: Sequence[str], delimiter: str, problems: Gathering) -> Iterator[tuple[int, list[str]]]:
    """Yield (line number, cells) of each row; a row with a fault is yielded by its delimiters alone."""
    place = 0
    while place < len(lines):
        row, line, taken = f"row {place + 1}", lines[place], 1
        if len(line) > LONGEST_ROW:
            found = f"a row of {len(line)} letters"
            problems.note(row, found, f"at most {LONGEST_ROW} letters", "Shorten it; a note has room.")
            cells = [shortened(cell) for cell in line.replace('"', "").split(delimiter, 100)]
        elif '"' in line:
            cells, taken = _quoted_record(lines[place : place + MOST_LINES_OF_A_CELL], delimiter)
            if not taken or (taken > 1 and any("\n" in cell and delimiter in cell for cell in cells)):
                found = 'a quote (") that is not closed in this row'
                problems.note(row, found, "quotes in pairs, around a whole cell", "Close it, or take it out.")
                cells, taken = line.replace('"', "").split(delimiter), 1
        else:
            cells = line.split(delimiter)
        yield place + 1, cells
        place += taken


def _quoted_record(lines: Sequence[str], delimiter: str) -> tuple[list[str], int]:
    """Return the cells of the row that begins `lines`, and of how many lines it is; 0 where it never ends."""
    reader = csv.reader((f"{line}\n" for line in lines), delimiter=delimiter, strict=True)
    try:
        return next(reader), reader.line_num
    except csv.Error as error:
        if reader.line_num > 1 or str(error).startswith("unexpected end"):
            return [], 0
        return next(
            csv.reader([lines[0]], delimiter=delimiter)
        ), 1  # letters behind a quote stand as they are


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
                f"the column '{shortened(name)}'",
                f"one of {listed(known)}",
                suggestion(name, known, "The column is not read."),
            )
        if name and header.count(name) > 1:
            problems.note(
                "row 1", f"the column '{shortened(name)}' twice", "each column once", "Rename one of them."
            )
