"""One sign for one thing: the apostrophe of print in whatever a report says."""

import re
from html import unescape

from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.records import Report
from lyewitness.outputs.pages import site_pages

STRAIGHT = re.compile(r"[^<>\n]{0,40}\w's\b[^<>\n]{0,20}")
TAGS = re.compile(r"<(script|style)\b.*?</\1>|<[^>]*>", re.S)
SAID = ("audit", "cautions", "columns/", "data", "index", "signs", "traces")
"""Pages whose sentences come from the strings of the theme and from the stages that find."""


def test_a_report_writes_one_apostrophe(example: Report, daylight: Theme) -> None:
    """No page mixes the typewriter's apostrophe with the printed one within a word."""
    pages = site_pages(document_of(example, (), daylight))
    found = {
        (page.path, said.group())
        for page in pages
        if page.path.startswith(SAID)
        for said in STRAIGHT.finditer(unescape(TAGS.sub("\n", page.text)))
    }
    assert not found
