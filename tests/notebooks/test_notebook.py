"""A report can be worked with from a notebook: tables, figures, sentences, single chromatograms."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import html5lib
import nbformat
import numpy as np
import pytest
from nbclient import NotebookClient

import lyewitness
from lyewitness.notebook import StudyReport
from lyewitness.outputs.datapackage import explained
from lyewitness.outputs.tables import data_files
from lyewitness.shipped import shipped_folder
from lyewitness.words.problems import StudyFolderError

NOTEBOOK = Path(__file__).with_name("example.ipynb")


@pytest.fixture(scope="module")
def study(small_study: Path) -> StudyReport:
    """Return the report of a small study."""
    return lyewitness.read(small_study)


def test_the_name_alone_loads_no_stage() -> None:
    """`import lyewitness` loads neither numpy nor matplotlib nor pandas."""
    asked = "import sys, lyewitness; print({'numpy', 'matplotlib', 'pandas', 'pydantic'} & set(sys.modules))"
    found = subprocess.run([sys.executable, "-c", asked], check=True, capture_output=True, text=True)
    assert found.stdout.strip() == "set()"


def test_tables_hold_what_the_report_files_hold(study: StudyReport) -> None:
    """Each CSV of data/ is a data frame with its columns and rows; numbers are numbers, gaps are missing."""
    tables = study.tables()
    files = explained(study.report, data_files(study.report, ()))
    assert {f"data/{name}.csv" for name in tables} == {name for name in files if name.endswith(".csv")}
    assert {"measurements", "decline", "comparisons", "checks", "group_lives", "signs"} < set(tables)
    for name, table in tables.items():
        lines = files[f"data/{name}.csv"].decode().splitlines()
        assert list(table.columns) == lines[0].split(",")
    rows = study.report.measurements.rows
    measured = tables["measurements"]
    assert len(measured) == len(rows)
    assert measured["used"].dtype == bool
    wanted = [np.nan if row.retention_time_min is None else row.retention_time_min for row in rows]
    assert np.allclose(measured["retention_time_min"], wanted, rtol=1e-9, equal_nan=True)


def test_names_that_look_like_numbers_or_gaps_stay_names(study: StudyReport) -> None:
    """Columns called 007 and NA keep their names."""
    report = study.report
    names = dict(zip((one.id for one in report.study.columns), ("007", "NA"), strict=False))
    rows = tuple(replace(row, column=names.get(row.column, row.column)) for row in report.measurements.rows)
    renamed = StudyReport(replace(report, measurements=replace(report.measurements, rows=rows)))
    assert {"007", "NA"} <= set(renamed.tables()["measurements"]["column"])


def test_a_figure_shows_itself(study: StudyReport) -> None:
    """`lives` is drawn as SVG, with its words below it and its numbers in the alternative text."""
    figure = study.figure("lives")
    ElementTree.fromstring(figure._repr_svg_() or "")
    shown = html5lib.parse(figure._repr_html_(), namespaceHTMLElements=False)
    assert next(shown.iter("img")).get("alt") == figure.alt
    assert figure.caption in "".join(shown.itertext())
    assert repr(figure) == f"<figure lives: {figure.title}>"
    assert study.figure("lives").data is figure.data


def test_a_figure_that_is_not_there_is_named_with_those_that_are(study: StudyReport) -> None:
    """The message lists the ids."""
    with pytest.raises(KeyError, match=r"no figure 'live'; there are lives, "):
        study.figure("live")
    assert "lives" in study.figures()


def test_the_answer_is_sentences_with_strength_and_evidence(study: StudyReport) -> None:
    """Every claim of the report is there, with what it rests on."""
    claims = study.report.findings.answers[0].claims
    assert [(one.text, one.strength, one.evidence) for one in study.answer.sentences] == [
        (one.text, one.strength, one.because) for one in claims
    ]
    assert claims[0].text.split()[0] in study.answer._repr_html_()


def test_whoever_prints_it_gets_a_line(study: StudyReport) -> None:
    """The report, its records and its answer are a line each, never a dump."""
    for one in (study, study.answer, study.report):
        assert "\n" not in repr(one)
        assert len(repr(one)) < 600
    assert study.report.study.title in repr(study)


def test_a_folder_with_mistakes_is_told(tmp_path: Path) -> None:
    """All problems come at once, as with the command."""
    with pytest.raises(StudyFolderError):
        lyewitness.read(tmp_path)


def test_one_trace_is_read_in_minutes(tmp_path: Path) -> None:
    """Seconds become minutes where the caller says so; the arrays are as long as the file."""
    file = tmp_path / "run.csv"
    file.write_text(
        "time,signal\n" + "\n".join(f"{30 * n},{n % 7}" for n in range(200)) + "\n", encoding="utf-8"
    )
    trace = lyewitness.read_trace(file, time_unit="s", signal_unit="mAU")
    assert trace.time_min[:3] == pytest.approx([0.0, 0.5, 1.0])
    assert trace.signal.shape == (200,)
    assert trace.signal_unit == "mAU"
    with pytest.raises(StudyFolderError, match="time"):
        lyewitness.read_trace(file)


@pytest.mark.slow
def test_the_notebook_runs() -> None:
    """Every cell of the example's notebook runs; figures and answer show themselves."""
    kept = NOTEBOOK.read_text(encoding="utf-8")
    notebook = nbformat.reads(kept, as_version=4)  # type: ignore[no-untyped-call]
    assert all(not cell.get("outputs") for cell in notebook.cells)
    beside = shipped_folder("example_study").parent
    NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(beside)}}).execute()
    shown = {
        kind for cell in notebook.cells for one in cell.get("outputs", ()) for kind in one.get("data", {})
    }
    assert {"text/html", "image/svg+xml", "text/plain"} <= shown
