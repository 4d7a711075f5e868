"""The tables as a workbook, read by another library than wrote it."""

import csv
import io
import zipfile
from datetime import UTC, datetime
from time import process_time
from typing import Any

import openpyxl
import pytest

from lyewitness import pipeline
from lyewitness.outputs import workbook as writing
from lyewitness.outputs.tables import csv_table, json_text
from lyewitness.outputs.workbook import WORKBOOK, source_of, workbook
from lyewitness.pipeline import Rendered

DATED = datetime(2026, 3, 9, tzinfo=UTC)
LINK = '=HYPERLINK("http://example.org","x")'


def files_of(rows: list[list[str | float | None]]) -> dict[str, bytes]:
    """Return the files of `data/` of a study with one table, `signs.csv`, of a text and a number."""
    fields = [
        {"name": "column", "type": "string", "description": "Id"},
        {"name": "support", "type": "number", "description": "Weight", "unit": "g"},
    ]
    answer = {"question": "Which?", "short": "None.", "how_sure": "Not at all."}
    study = {"id": "S1", "title": "A study", "invented": "", "licence": "MIT", "answers": [answer]}
    because = [{"label": "a row"}, {"label": "a figure"}]
    claim = {
        "id": "c1",
        "question": "q",
        "part": "claim",
        "strength": "shown",
        "text": LINK,
        "because": because,
    }
    package = {"resources": [{"path": "signs.csv", "schema": {"fields": fields}}]}
    return {
        "data/signs.csv": csv_table(("column", "support"), rows),
        "data/study.json": json_text(study),
        "data/claims.json": json_text({"claims": [claim]}),
        "data/provenance.json": json_text({"builder": {"name": "lyewitness", "version": "1"}}),
        "data/datapackage.json": json_text(package),
    }


def read(data: bytes) -> Any:
    """Return the workbook as another library reads it."""
    return openpyxl.load_workbook(io.BytesIO(data))


def test_numbers_are_numbers_and_texts_are_texts() -> None:
    """A formula, an address and a number in a column of texts stay text; an empty cell stays empty."""
    book = read(
        workbook(source_of(files_of([[LINK, 1.5], ["007", None], ["http://example.org", -3e-9]])), DATED)
    )
    sheet = book["signs"]
    assert [[cell.value for cell in row] for row in sheet.iter_rows()] == [
        ["column", "support"],
        [f"'{LINK}", 1.5],
        ["007", None],
        ["http://example.org", -3e-9],
    ]
    assert book["claims"]["E2"].value == LINK
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells if cell.value is not None} == {"s", "n"}
    assert not [cell for cell in cells if cell.hyperlink]
    assert [row[4].value for row in book["columns"].iter_rows(min_row=2)] == ["Id", "Weight"]
    assert ("how sure", "Not at all.") in [
        tuple(c.value for c in row[:2]) for row in book["about"].iter_rows()
    ]


def test_the_same_tables_give_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    """No clock, no name of a person or machine is in the workbook, nor a date but the one given."""
    files = files_of([["H1", 1.0]])
    once = workbook(source_of(files), DATED)
    monkeypatch.setattr("time.time", lambda: 4e9)
    monkeypatch.setenv("TZ", "Pacific/Apia")
    assert workbook(source_of(files), DATED) == once
    with zipfile.ZipFile(io.BytesIO(once)) as parts:
        assert {one.date_time for one in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        core = parts.read("docProps/core.xml").decode()
        assert not [name for name in parts.namelist() if "external" in name.lower()]
    assert core.count("2026-03-09T00:00:00Z") == 2


def test_what_a_sheet_cannot_hold_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table of too many rows is named and left out, a text that is too long is cut and says so."""
    files = files_of([["x" * 40_000 + "\x01\x7f\ufffe", 1.0]])
    text = read(workbook(source_of(files), DATED))["signs"]["A2"].value
    assert len(text) <= 32_767
    assert text.endswith("(the CSV file has it whole)")
    monkeypatch.setattr(writing, "MOST_ROWS", 1)
    book = read(workbook(source_of(files), DATED))
    assert book.sheetnames == ["about", "columns"]
    assert "signs.csv has more rows" in str([cell.value for cell in book["about"]["B"]])


def test_the_example_is_all_there_and_soon(rendered: Rendered) -> None:
    """Every table of the example stands in a sheet cell by cell; it takes a second or two of computing."""
    files = {name: data for name, data in rendered.files.items() if name.startswith("data/")}
    began = process_time()
    data = workbook(source_of(files), DATED)
    # A second here; three on a machine that is busy with other things.
    assert process_time() - began < 3
    assert len(data) < 2_000_000
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True)
    tables = [name for name in files if name.endswith(".csv") and name.count("/") == 1]
    assert len(tables) >= 8
    for name in tables:
        head, *rows = csv.reader(io.StringIO(files[name].decode()))
        found = list(book[name.removeprefix("data/").removesuffix(".csv")].iter_rows(values_only=True))
        assert list(found[0]) == head
        assert len(found) == len(rows) + 1
        for told, row in zip(found[1:], rows, strict=True):
            pairs = zip(told, row, strict=True)
            assert all(told == row if isinstance(told, str) else row == written(told) for told, row in pairs)


def written(value: float | None) -> str:
    """Return a number of the workbook as the tables have it."""
    return "" if value is None else f"{value:.10g}"


def test_the_site_has_it_and_the_one_file_does_not_grow(rendered: Rendered) -> None:
    """The workbook is a file of the site to which the data page leads; what is sent goes without."""
    assert rendered.files[WORKBOOK].startswith(b"PK")
    assert f'href="{WORKBOOK}"' in rendered.files["data.html"].decode()
    sent = pipeline.in_one_file(rendered).decode()
    assert "tables.xlsx" in sent
    assert "openxmlformats" not in sent
    assert 'download="tables.xlsx"' not in sent


def test_signs_of_the_form_itself_are_read_back() -> None:
    """Angle brackets, ampersands, blanks at the ends and line breaks stand in a cell as in the table."""
    texts = ["a < b & c > d", " between blanks ", "two\nlines", "µ-bonded β-Al₂O₃"]
    book = read(workbook(source_of(files_of([[text, 1.0] for text in texts])), DATED))
    assert [cell.value for cell in book["signs"]["A"][1:]] == texts
