"""The PDF conforms to its standards, is the same each time, and shows nothing but the report."""

import os
import re
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import page
import pytest
import weasyprint

from lyewitness.outputs.paper import words_in_one
from lyewitness.outputs.pdf import NotShownError, pdf_bytes
from lyewitness.outputs.pdf_hooks import path_operators

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


WORKER = """
import os, sys
from datetime import datetime
from lyewitness.document.themes import load_theme
from lyewitness.outputs.pdf import one_page_pdf, pdf_bytes
from lyewitness.outputs.typefaces import typeface_styles
faces = typeface_styles(load_theme("daylight"), on_paper=True)
own = "font-family: 'Lyewitness Sans'"
style = f"{faces} h1 {{ {own} }} @page {{ @bottom-left {{ content: counter(page); {own} }} }}"
html = f"<html lang='en'><head><title>T</title><style>{style}</style></head><h1>Answer</h1></html>"
for pdf in (pdf_bytes(html, {}, {}, datetime(2026, 3, 2)), one_page_pdf([html], {}, datetime(2026, 3, 2))):
    os.write(1, pdf)
os._exit(0)
"""


def test_nothing_stays_in_the_temporary_folder(tmp_path: Path) -> None:
    """The faces that are laid there for the library are gone, although a worker ends without collecting."""
    surroundings = {**os.environ, "TMPDIR": str(tmp_path)}
    run = subprocess.run([sys.executable, "-c", WORKER], env=surroundings, capture_output=True, check=True)
    assert run.stdout.count(b"%PDF-") == 2
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "address", ["/etc/hostname", "../secret.png", "https://example.org/x.png", "other.svg"]
)
def test_it_shows_nothing_but_the_given_files(address: str) -> None:
    """A picture that is not among the report's files stops the PDF."""
    with pytest.raises(NotShownError, match="no file of the report"):
        pdf_bytes(HTML.replace("figures/lives.svg", address), {}, {}, DATED)


def test_a_contents_names_pages_that_its_own_length_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    """Numbers are right where they make the contents longer, and no page is laid out more than twice."""
    names = range(30)
    entries = "".join(f'<a href="#n{one}">entry</a> ' for one in names)
    style = (
        "@page { size: 100pt 60pt; margin: 5pt } body { font: 8pt/10pt sans-serif; margin: 0; width: 90pt }"
        "a { white-space: nowrap } a::after { content: '\\a0 on page ' target-counter(attr(href), page) }"
        "h2 { break-before: page; margin: 0 }"
    )
    titles = "".join(f'<h2 id="n{one}">T</h2>' for one in names)
    html = f"<html lang='en'><title>T</title><style>{style}</style><p>{entries}</p>{titles}</html>"
    rounds: list[int] = []
    make = weasyprint.layout.page.remake_page

    def counted(index: int, *more: object) -> object:
        rounds.append(index)
        return make(index, *more)

    monkeypatch.setattr(weasyprint.layout.page, "remake_page", counted)
    text = subprocess.run(
        ("pdftotext", "-", "-"), input=pdf_bytes(html, {}, {}, DATED), capture_output=True, check=True
    ).stdout.decode()
    pages = text.split("\f")
    told = [int(number) for number in re.findall(r"on page\s+(\d+)", text)]
    assert told == [number for number, one in enumerate(pages, 1) if one.split() == ["T"]]
    assert max(map(rounds.count, rounds)) <= 2


def painted(drawing: bytes) -> bytes:
    """Return what a drawing looks like on paper, as pixels that poppler makes of it."""
    html = '<html lang="en"><title>x</title><body><img src="a.svg" alt="x"></body></html>'
    pdf = pdf_bytes(html, {"a.svg": drawing}, {}, DATED)
    return subprocess.run(("pdftoppm", "-r", "144"), input=pdf, capture_output=True, check=True).stdout


def test_paths_of_plain_steps_are_drawn_as_the_library_draws_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines, curves of both kinds, closed and open pieces look the same, whoever writes them."""
    drawing = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="200" height="120"><path style="fill: none; '
        b'stroke: #222222" d="M 5 5 60 5 60.5 40 Q 80 70 100 40 C 110 10 120 90 150 60 z M 20 80 L 90 110"/>'
        b'<path d="M160 10Q190 10 190 40 190 70 160 70z"/><path d="M10-3L20 3-5 9"/></svg>'
    )
    quick = painted(drawing)
    monkeypatch.setattr("lyewitness.outputs.pdf_hooks.path_operators", lambda data: None)
    assert quick == painted(drawing)


@pytest.mark.parametrize(
    "data",
    ["", "M5 5l3 3", "M 1 2 3", "M 1 2 z 3 4", "M 1 2 A 3 3 0 0 1 5 5", "L 1 2", "M 1e-3 2", "M 1 2 Q 3 4"],
)
def test_other_paths_are_left_to_the_library(data: str) -> None:
    """Relative steps, arcs, exponents and steps that lack a number are no plain ones."""
    assert path_operators(data) is None


def test_letters_of_a_word_become_one_path() -> None:
    """Letters stand where they were named; a space draws nothing; what is no letter stays."""
    scaled = b'transform="scale(0.015625)"/>'
    letters = b'<defs><path id="l0" d="M 0 0 64 0 64 64 z" %s<path id="l1" %s</defs>' % (scaled, scaled)
    word = b'<use xlink:href="#l0"/><use xlink:href="#l1" x="2"/>'
    word += b'<use xlink:href="#l0" x="3.5" y="-1"/>'
    mark = b'<use xlink:href="#m1" x="3" y="4"/>'
    joined = b'<path d="M 0 0 64 0 64 64 z M 224 -64 288 -64 288 0 z" %s' % scaled
    assert words_in_one(letters + word + mark) == letters + joined + mark
