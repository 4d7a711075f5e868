"""A study with next to nothing still gets every page, which says what is missing."""

from dataclasses import replace

import pytest

from lyewitness.decline.records import Judgement
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.audit.points import lacking
from lyewitness.findings.records import Check, Findings, Report
from lyewitness.outputs.letter import render_letter
from lyewitness.outputs.one_file import one_file
from lyewitness.outputs.pages import site_pages
from lyewitness.outputs.pdf import print_html
from lyewitness.peaks.records import Measurements
from tests.outputs.test_pages import linked


@pytest.fixture(scope="module")
def sparse(example: Report) -> Report:
    """Return a report without peaks, declines, claims, notes, images, people, limits or figures."""
    study = replace(
        example.study, notes=(), images=(), people=(), limits=(), invented="", licence="", keywords=(),
        conditions=(), file_hashes=(),
    )  # fmt: skip
    answer = replace(
        example.findings.answers[0],
        claims=(),
        recommendations=(),
        next_experiments=(),
        expectation_verdict=None,
    )
    return Report(
        study=study,
        traces={},
        measurements=Measurements(rows=()),
        judgement=Judgement(declines=(), group_lives=(), first_failures=(), comparisons=()),
        findings=Findings((answer,), (), (), (), (), missing=("Nothing could be measured.",)),
        problems=(),
    )


def test_every_page_is_made_of_next_to_nothing(sparse: Report, daylight: Theme) -> None:
    """All pages are rendered, without figures, and every link within them leads somewhere."""
    pages = {page.path: page.text for page in site_pages(document_of(sparse, (), daylight))}
    assert "Nothing could be measured." in pages["index.html"]
    assert "The study has no notes." in pages["notes/index.html"]
    assert "The study has no images." in pages["images.html"]
    for path, text in pages.items():
        if path.endswith(".html"):
            anchors, links = linked(text)
            assert {link[1:] for link in links if link.startswith("#")} <= anchors, path
    assert one_file(document_of(sparse, (), daylight), (), ())


def test_letter_and_print_are_made_of_next_to_nothing(sparse: Report, daylight: Theme) -> None:
    """The reply and the printed report are rendered too."""
    html, text = render_letter(document_of(sparse, (), daylight), sparse.findings.answers[0])
    assert " ".join(sparse.findings.answers[0].short.split()) in " ".join(text.split())
    assert "<h1" in html
    assert "Nothing could be measured." in print_html(document_of(sparse, (), daylight))


def test_what_could_not_be_checked_is_told_once_a_page(sparse: Report, daylight: Theme) -> None:
    """Where a check was not possible its words stand once on the first page and once on the audit's."""
    check = Check(
        "ph-logged", "Was the pH logged?", "the study", "not possible", "No pH is logged.",
        "Without a log nobody can see it.", "Log the pH.",
    )  # fmt: skip
    found = replace(sparse.findings, checks=(check,), missing=(lacking(check), "Nothing could be measured."))
    pages = {
        page.path: page.text
        for page in site_pages(document_of(replace(sparse, findings=found), (), daylight))
    }
    audit = next(
        text for path, text in pages.items() if "Was the comparison fair?" in text and "audit" in path
    )
    for text in (pages["index.html"], audit):
        assert text.count("nobody can see it") == 1
        assert "Nothing could be measured." in text
