"""Names and texts that look like code stay text, on every page, in the letter, in scripts and in one file."""

import json
from dataclasses import replace
from itertools import islice
from xml.etree import ElementTree

import html5lib
import pytest

from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.figures.drawing import figures_in_turn
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.outputs.assets import assets
from lyewitness.outputs.letter import render_letter
from lyewitness.outputs.links import SiteWays, note_html
from lyewitness.outputs.one_file import SCRIPTS, one_file
from lyewitness.outputs.pages import site_pages
from lyewitness.outputs.pdf import print_html
from lyewitness.words.names import slug, slugs
from tests.document.test_parts import with_groups

NOTE_WAYS = SiteWays("notes/one.html")
DATA_BLOCKS = ("application/json", "application/ld+json")
"""Kinds of `script` that no browser runs."""
UNSEEN = "\x00\x01\x1b\x85\u202e\u2067\ufffe"
"""Characters that no document can hold, or that turn the words beside them."""
EVIL = (
    """<script>alert(1)</script><img src=x onerror=alert(2)>"' onload=alert(3) {{ 7 * 7 }} </title>"""
    + UNSEEN
)


@pytest.fixture(scope="module")
def hostile(example: Report) -> Report:
    """Return the example with a title, labels, captions, reasons, notes and claims that look like code."""
    study = example.study
    answers = tuple(
        replace(
            answer,
            question=replace(answer.question, text=EVIL, expectation=EVIL),
            short=EVIL,
            how_sure=EVIL,
            claims=tuple(
                replace(one, text=EVIL, because=tuple(replace(why, label=EVIL) for why in one.because))
                for one in answer.claims
            ),
        )
        for answer in example.findings.answers
    )
    return replace(
        example,
        study=replace(
            study,
            title=EVIL,
            invented=EVIL,
            columns=tuple(replace(one, label=EVIL, lot=EVIL) for one in study.columns),
            injections=tuple(replace(one, used=False, why=EVIL) for one in study.injections),
            notes=tuple(replace(one, title=EVIL, author=EVIL, text=EVIL) for one in study.notes),
            images=tuple(replace(one, caption=EVIL, alt=EVIL) for one in study.images),
            people=tuple(replace(one, name=EVIL) for one in study.people),
        ),
        findings=replace(example.findings, answers=answers),
    )


def check_inert(html: str) -> None:
    """Assert that nothing of `EVIL` became an element or an attribute, and that nothing unseen is left."""
    assert not [sign for sign in UNSEEN if sign in html]
    tree = html5lib.parse(html, namespaceHTMLElements=False)
    for element in tree.iter():
        assert not [name for name in element.attrib if name.startswith("on")]
        assert element.get("src") != "x"
        if element.tag == "script":
            assert "alert(" not in (element.text or "") or element.get("type") in DATA_BLOCKS
            assert element.get("src") or element.get("type") or "window.lyewitness" in (element.text or "")


def test_hostile_text_stays_text_on_pages(hostile: Report, daylight: Theme) -> None:
    """No page gains an element, an attribute or a computed value from what a study says."""
    pages = site_pages(document_of(hostile, (), daylight))
    for page in pages:
        if page.path.endswith(".html"):
            check_inert(page.text)
            assert "49" not in page.text or "{{ 7 * 7 }}" in page.text
        elif page.path.endswith(".js"):
            assert "<" not in page.text


def test_hostile_text_stays_text_in_letter_and_print(hostile: Report, daylight: Theme) -> None:
    """The same for the reply and for the printed report; plain text keeps the words as they are."""
    html, text = render_letter(document_of(hostile, (), daylight), hostile.findings.answers[0])
    check_inert(html)
    assert "<script>alert(1)</script>" in text
    check_inert(print_html(document_of(hostile, (), daylight)))


def test_hostile_text_stays_text_in_one_file(hostile: Report, daylight: Theme) -> None:
    """In the one file, no data block ends early and no script is added: all that runs is allowed by hash."""
    html = one_file(document_of(hostile, (), daylight), assets(daylight), ())
    tree = html5lib.parse(html, namespaceHTMLElements=False)
    running = [element for element in tree.iter("script") if element.get("type") != "application/json"]
    assert len(running) == 1 + len(SCRIPTS), "the index of the search and the theme's scripts"
    assert not [sign for sign in UNSEEN if sign in html]
    for block in tree.iter("script"):
        if block.get("type") in DATA_BLOCKS:
            json.loads(block.text or "")
    assert not [element for element in tree.iter("img") if element.get("src") == "x"]


@pytest.mark.parametrize(
    "text",
    [
        "<b>bold</b>",
        "[x](javascript:alert(1))",
        "[x](data:text/html,evil)",
        "<script>alert(1)</script>",
        "[x](file:///etc/passwd)",
    ],
)
def test_a_note_runs_nothing_and_fetches_nothing(example: Report, daylight: Theme, text: str) -> None:
    """Raw HTML in a note stays text; links that run or open files are words; pictures are not fetched."""
    html = note_html(text, document_of(example, (), daylight).edition.addresses, NOTE_WAYS.to)
    tree = html5lib.parse(html, namespaceHTMLElements=False)
    assert not [element for element in tree.iter() if element.tag in ("b", "script", "img", "a")]


def test_a_picture_in_a_note_is_not_fetched(example: Report, daylight: Theme) -> None:
    """A picture in a note's Markdown becomes a link: looking at the report tells nobody of it."""
    picture = "![x](https://example.org/spy.png)"
    html = note_html(picture, document_of(example, (), daylight).edition.addresses, NOTE_WAYS.to)
    assert "<img" not in html
    assert '<a href="https://example.org/spy.png" rel="noreferrer">x</a>' in html


def test_a_reference_in_a_note_becomes_a_link(example: Report, daylight: Theme) -> None:
    """`[[kind:id]]` leads to the thing it names, `[[kind:id|words]]` bears other words, code stays code."""
    site = document_of(example, (), daylight).edition
    column = example.study.columns[0].id
    html = note_html(
        f"See [[column:{column}|the first]] and `[[column:{column}]]`.",
        site.addresses,
        NOTE_WAYS.to,
    )
    assert f'<a href="../{site.addresses.of("column", column)}">the first</a>' in html
    assert f"<code>[[column:{column}]]</code>" in html


@pytest.mark.parametrize("text", ["../../etc/passwd", "CON", "index", "a b", "µ-column", "x" * 300, ".", "é"])
def test_a_slug_is_safe_on_every_disk(text: str) -> None:
    """A slug holds letters, digits, hyphens and underlines, is short, and is no name a system keeps."""
    name = slug(text)
    assert name.replace("-", "").replace("_", "").isalnum()
    assert name.isascii()
    assert len(name) <= 80
    assert name.lower() not in ("con", "index")


def test_slugs_differ_where_ids_differ() -> None:
    """Ids that differ in case alone, or in what a slug leaves out, get different names."""
    ids = ["H1", "h1", "h 1", "h/1", "h-1"]
    assert len({name.lower() for name in slugs(ids).values()}) == len(ids)


def test_unseen_characters_leave_figures_whole(hostile: Report, daylight: Theme) -> None:
    """A drawing with such names is well-formed XML, and its words can be read aloud."""
    named = with_groups(hostile, tuple(group + UNSEEN for group in hostile.study.groups))
    for figure in islice(figures_in_turn(named, look_from(daylight.look)), 12):
        assert not [sign for sign in UNSEEN if sign in figure.title + figure.caption + figure.alt]
        for drawing in (figure.data, figure.dark, figure.narrow, figure.narrow_dark):
            if b"<svg" in drawing[:1000]:
                ElementTree.fromstring(drawing)
