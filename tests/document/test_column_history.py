"""A column's page says why the column was taken out, what took its place, and what it ran at."""

import re
from dataclasses import replace

from lyewitness.decline.records import ModelFit
from lyewitness.document.columns import _model_words
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.ends import end_of
from lyewitness.findings.records import Report
from lyewitness.outputs.letter import render_letter
from lyewitness.outputs.pages import site_pages
from lyewitness.words.estimates import Estimate
from tests.findings.making import check_of, evidence_of, found_in, judged, with_columns


def test_a_column_tells_its_end_its_successor_and_its_oven(daylight: Theme) -> None:
    """What the study says of an end and a replacement, and an oven off its plan, is on the page."""
    evidence = evidence_of({"hybrid": (60.0, 64.0), "silica": (25.0, 27.0)})
    study = with_columns(
        evidence.study, S1={"ended": 100.5, "because": "Bed collapsed: split peaks"}, S2={"replaces": "S1"}
    )
    log = tuple(replace(one, temperature_C=53.0) if one.column == "H1" else one for one in study.conditions)
    evidence = replace(evidence, study=replace(study, conditions=log))
    report = Report(
        evidence.study, evidence.traces, evidence.measurements, evidence.judgement, found_in(evidence), ()
    )
    pages = {one.path: plain(one.text) for one in site_pages(document_of(report, (), daylight))}
    assert (
        "Taken off at 100.5 h: “Bed collapsed: split peaks”. Its place was taken by S2."
        in pages["columns/S1.html"]
    )
    assert "It took the place of S1." in pages["columns/S2.html"]
    assert "H1 ran 3.0 °C above the stated 50 °C throughout (53.0 by the log)." in pages["columns/H1.html"]
    assert "Taken off at 100.5 h" in pages["columns/index.html"]


def test_a_column_that_ran_on_unseen_tells_both_its_ends(daylight: Theme) -> None:
    """Page, figure, audit and letter have one end and one last injection, whatever a curve surely shows."""
    evidence = evidence_of({"hybrid": (400.0, 420.0), "silica": (300.0, 290.0)})
    study = with_columns(evidence.study, S1={"ended": 70.0, "because": "the pump was needed."})
    rows = tuple(row for row in evidence.measurements.rows if row.column != "S1" or row.exposure_h < 62)
    evidence = judged(evidence, study, replace(evidence.measurements, rows=rows))
    column = study.column("S1")
    end = end_of(study, evidence.measurements, column)
    assert end.words == "taken off at 70\u2009h (“the pump was needed”), last injection at 60\u2009h"
    findings = found_in(evidence)
    assert f"stopped before it failed: S1, {end.words}" in check_of(findings, "equal-duration").detail
    report = Report(study, evidence.traces, evidence.measurements, evidence.judgement, findings, ())
    document = document_of(report, (), daylight)
    page = next(plain(one.text) for one in site_pages(document) if one.path == "columns/S1.html")
    assert "Taken off at 70 h: “the pump was needed”. Its last counted injection was at 60 h." in page
    assert "to the last injection at 60 h" in page
    letter = plain(render_letter(document, findings.answers[0])[1])
    assert (
        "S1 (silica) was taken off at 70 h (“the pump was needed”); its last counted injection was at 60 h."
        in letter
    )


def plain(html: str) -> str:
    """Return the words of a page, its tags gone."""
    return " ".join(re.sub(r"<[^>]+>", "", html).replace("\u2009", " ").replace("\u00a0", " ").split())


def test_what_plainly_fell_is_not_called_steady() -> None:
    """A metric whose end lies far from its start bears no name that says that it held; a steady one does."""
    decline = evidence_of({"hybrid": (60.0, 64.0)}).judgement.declines[0]
    steady = ModelFit("steady", {}, 0.0, 1.0)
    fallen = replace(decline, model=steady, remaining=Estimate(8.0, 6.0, 10.0))
    held = replace(decline, model=steady, remaining=Estimate(99.0, 98.0, 100.0))
    assert _model_words(fallen).text == "–"
    assert _model_words(held).text == "steady"
