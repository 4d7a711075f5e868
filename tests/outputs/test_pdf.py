"""The PDF conforms to its standards, is the same each time, and shows nothing but the report."""

from datetime import UTC, datetime
from pathlib import Path

import page
import pytest
from weasyprint.urls import FatalURLFetchingError

from lyewitness.outputs.pdf import pdf_bytes

DATED = datetime(2026, 3, 2, tzinfo=UTC)
HTML = """<!doctype html><html lang="en"><head><title>Three types</title>
<style>img { image-rendering: crisp-edges }</style></head><body><h1>Answer</h1>
<p>See <a href="columns/A1.html">A1</a> and <a href="#why">why</a>.</p>
<img src="figures/lives.svg" alt="Lives: A 62 h, B at least 120 h"><h2 id="why">Why</h2></body></html>"""
SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="90" height="40"><title>Lives</title>
<path d="M5 5H80" stroke="#222"/></svg>"""
TABLES = {"measurements.csv": b"a,b\n1,2\n", "decline.csv": b"c\n3\n"}


def made() -> bytes:
    """Return the PDF of a small print page."""
    return pdf_bytes(HTML, {"figures/lives.svg": SVG}, TABLES, DATED)


@pytest.mark.parametrize("profile", ["3a", "ua1"])
@pytest.mark.parametrize("word", ["Answer", "Answer and more", "Ä", "One line of text", "7", "The end"])
def test_it_conforms(tmp_path: Path, profile: str, word: str) -> None:
    """It is PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1) by an outside checker, whatever the text."""
    path = tmp_path / "report.pdf"
    path.write_bytes(pdf_bytes(HTML.replace("Answer", word), {"figures/lives.svg": SVG}, TABLES, DATED))
    result = page.validate_pdf(str(path), profile=profile)
    assert result.is_compliant, result.failures


def test_it_is_the_same_from_run_to_run() -> None:
    """The same input gives the same bytes."""
    assert made() == made()


def test_no_path_of_this_machine_is_in_it() -> None:
    """A link to another page of the site does not become a file address."""
    assert b"file:" not in made()


@pytest.mark.parametrize(
    "address", ["/etc/hostname", "../secret.png", "https://example.org/x.png", "other.svg"]
)
def test_it_shows_nothing_but_the_given_files(address: str) -> None:
    """A picture that is not among the report's files stops the PDF."""
    with pytest.raises(FatalURLFetchingError, match="no file of the report"):
        pdf_bytes(HTML.replace("figures/lives.svg", address), {}, {}, DATED)
