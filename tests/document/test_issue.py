"""A report tells on its first screen which revision it is, of what day, and what it takes the place of."""

from dataclasses import replace
from datetime import date

import pytest

from lyewitness.document.answers import issued_words, opening
from lyewitness.document.edition import Edition
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.records import Report, fingerprint_of
from lyewitness.outputs.pages import site_pages
from lyewitness.outputs.paper import latest_moment
from lyewitness.outputs.pdf import print_html
from lyewitness.study.records import Revision

FIRST = Revision(1, date(2026, 3, 20), "Analyst A", "First issue.")
SECOND = Revision(2, date(2027, 1, 9), "Analyst B", "two injections of H2 had been interchanged")


@pytest.fixture(scope="module")
def revised(example: Report) -> Report:
    """Return the example as the second revision of a study that takes the place of another."""
    return replace(
        example, study=replace(example.study, revisions=(FIRST, SECOND), supersedes="2025-009", notes=())
    )


def edition(report: Report, theme: Theme) -> Edition:
    """Return a report in a theme, without figures."""
    return document_of(report, (), theme).edition


def test_the_first_screen_tells_the_last_revision(revised: Report, daylight: Theme) -> None:
    """Number, day, by whom and why of the last revision stand there, with the study that it replaces."""
    told = opening(edition(revised, daylight), revised.findings.answers[0]).issued
    assert told == (
        "Revision 2, issued 2027-01-09 by Analyst B. Two injections of H2 had been interchanged. "
        "It takes the place of study 2025-009; whether there is one of that id is not checked here."
    )
    pages = {page.path: page.text for page in site_pages(document_of(revised, (), daylight))}
    assert told in pages["index.html"]
    assert told in print_html(document_of(revised, (), daylight))


def test_every_page_bears_the_revision_and_the_data_page_all_of_them(
    revised: Report, daylight: Theme
) -> None:
    """The foot of each page has number and day; the data page has every revision, the last one first."""
    pages = {page.path: page.text for page in site_pages(document_of(revised, (), daylight))}
    feet = [text.partition('class="colophon"')[2] for path, text in pages.items() if path.endswith(".html")]
    assert all("Revision 2 of 2027-01-09." in foot for foot in feet)
    data = pages["data.html"]
    assert 0 < data.index("issued 2027-01-09 by Analyst B") < data.index("issued 2026-03-20 by Analyst A")


def test_a_study_without_revisions_tells_none(example: Report, daylight: Theme) -> None:
    """Nothing is said of a revision that nobody numbered."""
    bare = replace(example, study=replace(example.study, revisions=(), supersedes=""))
    assert issued_words(edition(bare, daylight)) == ""
    assert edition(bare, daylight).issue == ""
    assert "Revision" not in site_pages(document_of(bare, (), daylight))[0].text


def test_the_day_of_issue_is_the_day_of_the_report(revised: Report) -> None:
    """What bears a date, such as the PDF, bears the day of the last revision where that is the latest."""
    assert latest_moment(revised.study).date() == SECOND.date


def test_the_fingerprint_is_that_of_sha256sum(example: Report) -> None:
    """It is the head of the hash of the listing that sha256sum writes: `printf 'aa  x\\n' | sha256sum`."""
    assert fingerprint_of({"x": "aa"}) == "edd7bccf6826431e"
    assert fingerprint_of({}) == ""
    files = example.provenance["files"]
    assert isinstance(files, dict)
    assert example.fingerprint == fingerprint_of(files)
    first = min(files)
    assert fingerprint_of(files | {first: "0" * 64}) != example.fingerprint
