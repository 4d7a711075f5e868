"""The tables of a report as one workbook, for whoever opens them in a spreadsheet.

In: the files of `data/`, a date. Out: an .xlsx (ECMA-376) as bytes, the same for the same tables. Each table
is a sheet; before them stand the question with its answer, and what every column means. The CSV files stay
what others check and reuse. A cell here is what stands there: a number, or else a text, so that nothing is
computed or followed when the workbook is opened.
"""

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any
from xml.sax.saxutils import escape

WORKBOOK = "data/tables.xlsx"
FIRST = ("claims", "group_lives", "decline", "comparisons", "factors", "checks")
"""What is looked at first stands first; the others follow by name."""
MOST_ROWS = 1_048_576
"""Rows of a sheet, head included; Excel specifications and limits."""
MOST_SIGNS = 32_767
"""Signs of a cell; Excel specifications and limits."""
WIDEST = 60
"""Widths in signs: a wider column pushes its neighbours off the screen."""
NARROWEST = 8
"""A head of one letter can still be taken hold of."""
LOOKED_AT = 200
"""Rows by which the width of a column is chosen: to measure all took as long as to write them."""
TOGETHER = 500
"""Rows that are written in one go: few enough to take no memory."""
_OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
}
"""Nothing is kept on the disk meanwhile, and a text stays one whatever it begins with."""
Rows = Sequence[Sequence[str]]
"""Of cells as the tables have them."""
NO_NUMBERS: frozenset[int] = frozenset()


@dataclass(frozen=True, eq=False, slots=True)
class Sheet:
    """A table, and which of its columns hold numbers."""

    rows: Callable[[], Iterable[Sequence[str]]]
    """Gives its rows, its head first: held as cells, those of 10,000 injections take 200 MB."""
    count: int
    """Of the rows."""
    numeric: frozenset[int] = NO_NUMBERS

    def first(self, count: int) -> list[Sequence[str]]:
        """Return so many of the rows, the head among them."""
        return list(islice(self.rows(), count))


def _sheet_of(rows: Rows) -> Sheet:
    """Return a short table."""
    return Sheet(lambda: rows, len(rows))


@dataclass(frozen=True, eq=False, slots=True)
class Source:
    """All of the files of `data/` that goes into a workbook."""

    study: bytes
    claims: bytes
    builder: Mapping[str, Any]
    """The program that made the tables."""
    resources: Sequence[Mapping[str, Any]]
    """The tables right below `data/`, as the data package describes them."""
    tables: Mapping[str, bytes]
    """These tables by path."""


def source_of(files: Mapping[str, bytes]) -> Source:
    """Return what a workbook is made from; what else the files hold does not show in it."""
    # Of thousands of tables of figures none stays in memory: all described at once take 100 MB.
    told = json.loads(files["data/datapackage.json"], object_hook=_right_below)["resources"]
    resources = [one for one in told if one is not None]
    return Source(
        study=files["data/study.json"],
        claims=files["data/claims.json"],
        builder=json.loads(files["data/provenance.json"]).get("builder", {}),
        resources=resources,
        tables={one["path"]: files[f"data/{one['path']}"] for one in resources},
    )


def _right_below(told: dict[str, Any]) -> dict[str, Any] | None:
    """Return what was told, but nothing of what lies in a folder."""
    return None if "/" in told.get("path", "") else told


def workbook(source: Source, dated: datetime) -> bytes:
    """Return the workbook of the tables right below `data/`; `dated` is the date that it bears."""
    # Only where no workbook of the same tables is kept.
    import xlsxwriter

    held = io.BytesIO()
    book = xlsxwriter.Workbook(held, _OPTIONS)
    study = json.loads(source.study)
    book.set_properties(
        {"title": study["title"], "author": "", "subject": study["id"], "created": dated.replace(tzinfo=None)}
    )
    tables = {one["path"].removesuffix(".csv"): _table(source, one) for one in source.resources}
    tables["claims"] = _sheet_of(_claims(source))
    long = [name for name, table in tables.items() if table.count > MOST_ROWS]
    look = book.add_format({"bold": True, "bottom": 1})
    about = _sheet_of(list(_about(study, source.builder, long)))
    _sheet(book, "about", about, look, heads=False)
    meanings = _sheet_of([("table", "column", "type", "unit", "meaning"), *_meanings(source.resources)])
    order = sorted(tables, key=lambda name: (FIRST.index(name) if name in FIRST else len(FIRST), name))
    sheets = {"columns": meanings} | {name: tables[name] for name in order if name not in long}
    for name, table in sheets.items():
        _sheet(book, name, table, look)
    book.close()
    return _filled(held, list(sheets.values()))


def _filled(held: io.BytesIO, sheets: Sequence[Sheet]) -> bytes:
    """Return a workbook of heads, its first sheet apart, with the rows below them.

    What writes the workbook takes each cell as a call; these are hundreds of thousands, of two simple kinds.
    """
    filled = io.BytesIO()
    with zipfile.ZipFile(held) as heads, zipfile.ZipFile(filled, "w", zipfile.ZIP_DEFLATED) as book:
        for one in heads.infolist():
            data = heads.read(one)
            found = _SHEET_PART.fullmatch(one.filename)
            parts: Iterable[bytes] = (data,)
            if found and int(found[1]) > 1:
                parts = _with_rows(data, sheets[int(found[1]) - 2])
            with book.open(one, "w") as part:
                part.writelines(parts)
    return filled.getvalue()


_SHEET_PART = re.compile(r"xl/worksheets/sheet(\d+)\.xml")
_DIMENSION = re.compile(rb'<dimension ref="[A-Z0-9:]*"/>')


def _with_rows(part: bytes, sheet: Sheet) -> Iterator[bytes]:
    """Yield the part of a sheet that has its head alone with all rows (ECMA-376, part 1, 18.3.1)."""
    (head,) = sheet.first(1)
    letters = [_letters(place) for place in range(len(head))]
    told = f'<dimension ref="A1:{letters[-1]}{sheet.count}"/>'
    before, end, behind = _DIMENSION.sub(told.encode(), part, count=1).partition(b"</sheetData>")
    yield before
    rows = enumerate(islice(sheet.rows(), 1, None), start=2)
    while some := list(islice(rows, TOGETHER)):
        yield "".join(
            f'<row r="{number}">{_cells(cells, number, letters, sheet.numeric)}</row>'
            for number, cells in some
        ).encode()
    yield end + behind


def _cells(cells: Sequence[str], row: int, letters: Sequence[str], numeric: frozenset[int]) -> str:
    """Return the cells of a row; an empty one stands nowhere."""
    return "".join(
        f'<c r="{letters[place]}{row}"><v>{cell}</v></c>'
        if place in numeric
        else f'<c r="{letters[place]}{row}" t="inlineStr"><is>{_text(_fitting(cell))}</is></c>'
        for place, cell in enumerate(cells)
        if cell
    )


def _text(text: str) -> str:
    """Return a text as an element; what no document can hold in the form that spreadsheets know."""
    if not _TO_ESCAPE.search(text):
        return f"<t>{text}</t>"
    escaped = escape(_NO_SIGN.sub(lambda sign: f"_x{ord(sign[0]):04X}_", text))
    return f'<t xml:space="preserve">{escaped}</t>'


_NO_SIGN = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
_TO_ESCAPE = re.compile(f"[&<>]|^\\s|\\s$|\n|{_NO_SIGN.pattern}")


def _letters(place: int) -> str:
    """Return by which letters the column at a place is known: A to Z, then AA."""
    before, last = divmod(place, 26)
    return (_letters(before - 1) if before else "") + chr(ord("A") + last)


def _table(source: Source, resource: Mapping[str, Any]) -> Sheet:
    """Return a table, and which of its columns hold numbers."""

    def rows() -> Iterable[Sequence[str]]:
        return csv.reader(io.TextIOWrapper(io.BytesIO(source.tables[resource["path"]]), "utf-8", newline=""))

    fields = enumerate(resource["schema"]["fields"])
    numeric = frozenset(place for place, field in fields if field["type"] == "number")
    return Sheet(rows, sum(1 for _ in rows()), numeric)


def _claims(source: Source) -> Rows:
    """Return the sentences of the report, with what each rests on."""
    head = ("id", "question", "part", "strength", "text", "because")
    claims = json.loads(source.claims)["claims"]
    return [
        head,
        *(
            [*(claim[name] for name in head[:-1]), "; ".join(one["label"] for one in claim["because"])]
            for claim in claims
        ),
    ]


def _about(
    study: Mapping[str, Any], builder: Mapping[str, Any], left_out: Sequence[str]
) -> Iterator[tuple[str, str]]:
    """Yield what stands on the first sheet: the study, its questions and answers, how to read the tables."""
    yield "study", study["id"]
    yield "title", study["title"]
    if study["invented"]:
        yield "invented", study["invented"]
    for answer in study["answers"]:
        yield "question", answer["question"]
        yield "answer", answer["short"]
        yield "how sure", answer["how_sure"]
    if study["licence"]:
        yield "licence", study["licence"]
    yield "made by", " ".join(str(builder.get(name, "")) for name in ("name", "version"))
    yield "empty cell", "not measured, never zero"
    yield "to be cited", "the CSV files beside this workbook; the sheet 'columns' explains both"
    for name in left_out:
        yield "not here", f"{name}.csv has more rows than a sheet holds"


def _meanings(resources: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, ...]]:
    """Yield a row for each column of each table."""
    for resource in resources:
        for field in resource["schema"]["fields"]:
            told = (field["type"], field.get("unit", ""), field["description"])
            yield (resource["path"].removesuffix(".csv"), field["name"], *told)


def _sheet(book: Any, name: str, table: Sheet, look: Any, heads: bool = True) -> None:
    """Write a sheet; rows can be filtered by their head, which stays in sight and stands there alone as yet.

    One without a head is written whole.
    """
    sheet, rows = book.add_worksheet(name), table.first(1) if heads else table.rows()
    for place, width in enumerate(_widths(table)):
        sheet.set_column(place, place, width)
    for row, cells in enumerate(rows):
        for place, cell in enumerate(cells):
            if cell:
                sheet.write_string(row, place, _fitting(cell), look if heads or place == 0 else None)
    if heads:
        sheet.freeze_panes(1, 1)
        sheet.autofilter(0, 0, max(table.count - 1, 1), len(table.first(1)[0]) - 1)


def _fitting(text: str) -> str:
    """Return a text that a cell can hold."""
    cut = " … (the CSV file has it whole)"
    return text if len(text) <= MOST_SIGNS else text[: MOST_SIGNS - len(cut)] + cut


def _widths(table: Sheet) -> list[int]:
    """Return the width of each column, in signs; numbers are shown to as many figures as fit."""
    looked_at = table.first(LOOKED_AT)
    longest = [0] * max(map(len, looked_at), default=0)
    for row, cells in enumerate(looked_at):
        for place, cell in enumerate(cells):
            shown = f"{float(cell):.6g}" if row and cell and place in table.numeric else cell
            longest[place] = max(longest[place], len(shown))
    return [min(max(length + 2, NARROWEST), WIDEST) for length in longest]
