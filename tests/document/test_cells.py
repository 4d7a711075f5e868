"""What stands in a cell, on screen and on paper."""

import re
from dataclasses import replace

from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.outputs.pages import site_pages
from lyewitness.outputs.pdf import print_html


def test_small_words_of_a_cell_are_set_apart_on_paper(example: Report, daylight: Theme) -> None:
    """Where they follow on one line, `33 h (30 to 36) 30 h at the cautious bound` reads as one number."""
    html = print_html(document_of(example, (), daylight))
    cells = re.findall(r"<td[^>]*>(?P<text>[^<]*) <small>at|<td[^>]*>([^<]*) <small>\d", html)
    texts = [one or other for one, other in cells]
    assert any(text.endswith(");") for text in texts)
    assert not [text for text in texts if text.endswith(")")]


def test_what_a_note_explains_is_said_in_its_words(example: Report, daylight: Theme) -> None:
    """The note of a table names the bound as its cells do."""
    pages = {page.path: page.text for page in site_pages(document_of(example, (), daylight))}
    for path in ("columns/S1.html", "markers/dimethylbenzylamine.html"):
        assert re.search(r"\d.h at the cautious bound", pages[path]), path
        assert "t the cautious bound’" in pages[path], path


def test_a_count_of_columns_says_what_they_did(example: Report, daylight: Theme) -> None:
    """`3 of 3` alone below a life is a count of nothing."""
    front = next(page.text for page in site_pages(document_of(example, (), daylight)))
    counts = re.findall(r"<small>(\d of \d[^<]{0,7})", front)
    assert counts
    assert all(one.endswith(" failed") for one in counts)


def test_what_was_met_in_the_folder_is_told_in_sentences(example: Report, daylight: Theme) -> None:
    """A message of the terminal is no limit of the report, and no sentence."""
    pages = {page.path: page.text for page in site_pages(document_of(example, (), daylight))}
    audit = pages["audit.html"]
    assert example.problems
    lacks, met = audit.index('id="missing"'), audit.index('id="met"')
    assert ": found '" not in audit
    assert ": found &#39;" not in audit
    assert lacks < met
    assert example.problems[0].file not in audit[lacks:met]
    assert f"In {example.problems[0].file}, " in audit[met:]
    assert "; expected " not in audit[met : audit.index("table-checks", met)]


def test_a_drawing_that_moves_within_its_place_is_reached_and_shaded(
    example: Report, example_figures: tuple[Figure, ...], daylight: Theme
) -> None:
    """Each without a form for a telephone stands in what is shaded at its edge and stops the tab key."""
    (whole,) = (one for one in example_figures if one.id == "residuals")
    wide = replace(whole, narrow=b"", narrow_dark=b"", narrow_width_px=0, narrow_height_px=0)
    pages = {page.path: page.text for page in site_pages(document_of(example, (wide,), daylight))}
    found = re.findall(r'<figure [^>]*class="figure wide"[^>]*>\s*(<[^>]*>)', pages["method.html"])
    assert found
    assert all('class="scroll"' in one and 'tabindex="0"' in one for one in found)


def test_a_bound_below_what_was_tested_says_that_none_was_seen_to_fail(
    example: Report, daylight: Theme
) -> None:
    """Below `at least 88 h`, `0 of 3 failed` in a test of 96 h would be taken for a mistake."""
    pages = {page.path: page.text for page in site_pages(document_of(example, (), daylight))}
    told = r"at least [\d.]+.h <small>none seen to fail in 96.h, but certain only so far"
    assert len(re.findall(told, pages["index.html"])) == 1
    assert re.search(r"at least 96.h <small>0 of 3 failed", pages["index.html"])
