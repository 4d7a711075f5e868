"""The tables of a report as one workbook, for whoever opens them in a spreadsheet.

In: the files of `data/`, a date. Out: an .xlsx (ECMA-376) as bytes, the same for the same tables. Each table
is a sheet; before them stand the question with its answer, and what every column means. The CSV files stay
what others check and reuse. A cell here is what stands there: a number, or else a text, so that nothing is
computed or followed when the workbook is opened.
"""

import csv
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

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
_OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
}
"""Nothing is kept on the disk meanwhile, and a text stays one whatever it begins with."""
Rows = Sequence[Sequence[str | float]]


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
    described = json.loads(files["data/datapackage.json"])["resources"]
    resources = [one for one in described if "/" not in one["path"]]
    return Source(
        study=files["data/study.json"],
        claims=files["data/claims.json"],
        builder=json.loads(files["data/provenance.json"]).get("builder", {}),
        resources=resources,
        tables={one["path"]: files[f"data/{one['path']}"] for one in resources},
    )


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
    tables["claims"] = _claims(source)
    long = [name for name, rows in tables.items() if len(rows) > MOST_ROWS]
    look = book.add_format({"bold": True, "bottom": 1})
    _sheet(book, "about", list(_about(study, source.builder, long)), look, heads=False)
    meanings = _meanings(source.resources)
    _sheet(book, "columns", [("table", "column", "type", "unit", "meaning"), *meanings], look)
    order = sorted(tables, key=lambda name: (FIRST.index(name) if name in FIRST else len(FIRST), name))
    for name in order:
        if name not in long:
            _sheet(book, name, tables[name], look)
    book.close()
    return held.getvalue()


def _table(source: Source, resource: Mapping[str, Any]) -> Rows:
    """Return head and rows of a table, the cells of its columns of numbers as numbers."""
    head, *rows = csv.reader(io.StringIO(source.tables[resource["path"]].decode("utf-8")))
    numeric = [field["type"] == "number" for field in resource["schema"]["fields"]]
    return [
        head,
        *(
            [float(cell) if number and cell else cell for cell, number in zip(row, numeric, strict=True)]
            for row in rows
        ),
    ]


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


def _sheet(book: Any, name: str, rows: Rows, look: Any, heads: bool = True) -> None:
    """Write a sheet; the head, or else the first column, stays in sight, and rows can be filtered by it."""
    sheet = book.add_worksheet(name)
    for place, width in enumerate(_widths(rows)):
        sheet.set_column(place, place, width)
    for row, cells in enumerate(rows):
        for place, cell in enumerate(cells):
            if isinstance(cell, float):
                sheet.write_number(row, place, cell)
            elif cell:
                named = look if (row == 0 if heads else place == 0) else None
                sheet.write_string(row, place, _fitting(cell), named)
    if heads:
        sheet.freeze_panes(1, 1)
        sheet.autofilter(0, 0, max(len(rows) - 1, 1), len(rows[0]) - 1)


def _fitting(text: str) -> str:
    """Return a text that a cell can hold."""
    cut = " … (the CSV file has it whole)"
    return text if len(text) <= MOST_SIGNS else text[: MOST_SIGNS - len(cut)] + cut


def _widths(rows: Rows) -> list[int]:
    """Return the width of each column, in signs."""
    longest = [0] * max(map(len, rows), default=0)
    for cells in rows[:LOOKED_AT]:
        for place, cell in enumerate(cells):
            longest[place] = max(longest[place], len(f"{cell:.6g}" if isinstance(cell, float) else cell))
    return [min(max(length + 2, NARROWEST), WIDEST) for length in longest]
