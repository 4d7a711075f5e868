"""Every page of a report is there, and its links lead somewhere."""

from posixpath import dirname, join, normpath
from urllib.parse import unquote, urlsplit

import html5lib
import pytest

from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.pages.assets import assets
from lyewitness.pages.records import Page
from lyewitness.pages.site import dark_file, figure_csv
from lyewitness.pages.themes import Theme

DATA = {
    f"data/{name}"
    for name in (
        "measurements.csv", "decline.csv", "comparisons.csv", "claims.json", "checks.csv", "provenance.json"
    )
}  # fmt: skip


def linked(text: str) -> tuple[set[str], set[str]]:
    """Return (anchors of a page, everything it links to or loads)."""
    tree = html5lib.parse(text, namespaceHTMLElements=False)
    elements = list(tree.iter())
    ids = [element.get("id") for element in elements if element.get("id")]
    assert len(ids) == len(set(ids)), "an anchor stands twice on the page"
    wanted = {
        value
        for element in elements
        for name in ("href", "src", "srcset", "data-script")
        if (value := element.get(name))
    }
    return set(ids), wanted


def test_no_link_is_dead(
    example_pages: dict[str, Page], example_figures: tuple[Figure, ...], daylight: Theme
) -> None:
    """Every link, picture, script and fragment of every page leads to a file or an anchor of the report."""
    anchors = {path: linked(page.text)[0] for path, page in example_pages.items() if path.endswith(".html")}
    files = set(example_pages) | {name for name, _ in assets(daylight)} | DATA
    for figure in example_figures:
        files |= {figure.file, dark_file(figure), figure_csv(figure)}
    dead = []
    for path in anchors:
        for link in linked(example_pages[path].text)[1]:
            parts = urlsplit(link)
            assert not parts.scheme, f"{path} leads out of the report: {link}"
            target = normpath(join(dirname(path), unquote(parts.path))) if parts.path else path
            if target not in files or (
                parts.fragment and "=" not in parts.fragment and parts.fragment not in anchors[target]
            ):
                dead.append((path, link))
    assert not dead


def test_everything_a_claim_rests_on_has_an_address(example: Report, example_pages: dict[str, Page]) -> None:
    """Each because-link of each claim stands on the answer's page as a link with its words."""
    for answer, path in zip(example.findings.answers, answer_paths(example_pages), strict=True):
        tree = html5lib.parse(example_pages[path].text, namespaceHTMLElements=False)
        links = {"".join(link.itertext()) for link in tree.iter("a")}
        for claim in answer.claims:
            for because in claim.because:
                assert because.label in links, (claim.id, because)


def answer_paths(pages: dict[str, Page]) -> list[str]:
    """Return the pages of the answers, the front page first."""
    return ["index.html", *(path for path in pages if path.startswith("answers/"))]


@pytest.mark.parametrize("kind", ["columns", "markers", "injections", "notes"])
def test_everything_in_the_study_has_its_page(
    example: Report, example_pages: dict[str, Page], kind: str
) -> None:
    """Columns, markers, injections and notes have a page each, and an index."""
    things = getattr(example.study, kind)
    assert len([path for path in example_pages if path.startswith(f"{kind}/")]) == len(things) + 1
