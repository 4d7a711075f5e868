"""The printed report is a short paper: it can be found through, read in grey and wastes no page."""

import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import html5lib
import pytest
from PIL import Image

from lyewitness import pipeline
from lyewitness.document.edition import paper_files
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme, load_theme
from lyewitness.figures.drawing import draw_figures
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.outputs.datapackage import explained
from lyewitness.outputs.paper import hyphened_names, print_styles
from lyewitness.outputs.pdf import _laid_out, _set_in, pdf_bytes, print_html
from lyewitness.outputs.tables import data_files
from lyewitness.outputs.templates import names_whole
from lyewitness.store import store_of_user
from lyewitness.words.names import slug

THEMES = ("daylight", "journal")
pytestmark = pytest.mark.slow
MOST_PAGES = 35
"""Pages in which the example, nine columns and 180 injections, must be told."""
FOOT_SHARE = 0.93
"""Below this share of a page stands its number only."""
LEAST_FILLED = 0.3
"""Share of a page's height, with its upper margin, that text and figures reach; the last may end earlier."""
FARTHEST_RIGHT = 0.925
"""Share of the width of A4 at which the narrower of the themes' margins begins, with a pixel to spare."""
LEAST_FIGURE = 120.0
"""Height in points from which a drawing fits between two lines."""
XHTML = "{http://www.w3.org/1999/xhtml}"


@dataclass(frozen=True)
class Line:
    """A line of text on a page, in points from the upper left corner."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Printed:
    """A PDF as an outside reader sees it."""

    path: Path
    html: str
    pages: tuple[tuple[Line, ...], ...]
    height: float
    bookmarks: tuple[tuple[str, int], ...]
    """Title and page of each bookmark, in order."""

    def text(self, page: int) -> str:
        """Return the words of a page, the first being 1, with single blanks."""
        return squeezed(" ".join(line.text for line in self.pages[page - 1]))


def squeezed(text: str) -> str:
    """Return `text` with every run of blanks, thin ones among them, as one."""
    return " ".join(text.split())


def unbroken(text: str) -> str:
    """Return `text` without blanks, so that it does not matter where lines break."""
    return "".join(text.split())


def output(*command: str | Path) -> str:
    """Return what a program of poppler prints."""
    return subprocess.run([str(part) for part in command], check=True, capture_output=True).stdout.decode()


@pytest.fixture(scope="module", params=THEMES)
def printed(
    request: pytest.FixtureRequest, example: Report, tmp_path_factory: pytest.TempPathFactory
) -> Printed:
    """Return the example as printed in each theme that ships."""
    theme = load_theme(request.param)
    kept = store_of_user()
    figures = draw_figures(example, look_from(theme.look), kept)
    path = tmp_path_factory.mktemp(request.param) / "report.pdf"
    tables = explained(example, data_files(example, figures))
    path.write_bytes(pipeline.printed(example, figures, tables, theme, store=kept)[0])
    tree = ElementTree.fromstring(output("pdftotext", "-bbox-layout", path, "-"))
    pages = tree.findall(f".//{XHTML}page")
    return Printed(
        path,
        print_html(document_of(example, figures, theme)),
        tuple(tuple(lines_of(page)) for page in pages),
        float(pages[0].get("height", "0")),
        tuple(bookmarks_of(path)),
    )


def lines_of(page: ElementTree.Element) -> Iterator[Line]:
    """Yield the lines of a page."""
    for line in page.iter(f"{XHTML}line"):
        text = squeezed(" ".join(word.text or "" for word in line.iter(f"{XHTML}word")))
        left, top, right, bottom = (float(line.get(side, "0")) for side in ("xMin", "yMin", "xMax", "yMax"))
        yield Line(text, left, top, right, bottom)


def bookmarks_of(path: Path) -> Iterator[tuple[str, int]]:
    """Yield title and page of each bookmark."""
    listed = output("pdftohtml", "-xml", "-i", "-stdout", path)
    outline = listed[listed.index("<outline>") : listed.rindex("</outline>") + len("</outline>")]
    for item in ElementTree.fromstring(outline).iter("item"):
        yield squeezed(item.text or ""), int(item.get("page", "0"))


@cache
def parsed(html: str) -> Any:
    """Return the elements of a page; the printed report takes a fifth of a second."""
    return html5lib.parse(html, namespaceHTMLElements=False)


def contents_of(html: str) -> Iterator[tuple[str, str]]:
    """Yield label and place of each entry of the contents."""
    tree = parsed(html)
    nav = next(element for element in tree.iter("nav"))
    for link in nav.iter("a"):
        yield squeezed("".join(link.itertext())), link.get("href", "").removeprefix("#")


def heading_of(html: str, anchor: str) -> str:
    """Return the words by which the part `anchor` goes among the bookmarks."""
    tree = parsed(html)
    heading = next(element for element in tree.iter() if element.get("id") == anchor)
    return squeezed(heading.get("data-label") or "".join(heading.itertext()))


def test_it_is_short(printed: Printed) -> None:
    """The example fits into a stapled handout."""
    assert len(printed.pages) <= MOST_PAGES


def test_the_first_page_answers(printed: Printed, example: Report) -> None:
    """Question, answer, how sure and the figure of lives above their declines stand on page 1."""
    answer = example.findings.answers[0]
    first = printed.text(1)
    for text in (answer.question.text, answer.short, answer.how_sure, "How long each group lasted"):
        assert squeezed(text) in first.replace("- ", "-") or squeezed(text) in first
    assert figure_above(printed, "How long each group lasted") > LEAST_FIGURE
    assert "drops from each life to the limit" in first


def figure_above(printed: Printed, caption: str) -> float:
    """Return how many points lie between a caption of page 1 and the text above it: room of its figure."""
    lines = printed.pages[0]
    below = next(line for line in lines if line.text.startswith(caption) or caption in line.text)
    return below.top - max(line.bottom for line in lines if line.bottom <= below.top)


def test_the_contents_name_the_right_pages(printed: Printed) -> None:
    """Every entry of the contents ends in the page on which its part begins."""
    pages = dict(printed.bookmarks)
    contents = next(number for number in (1, 2, 3) if "Contents" in printed.text(number))
    shown = unbroken(printed.text(contents))
    entries = list(contents_of(printed.html))
    assert len(entries) > 20
    for label, anchor in entries:
        page = pages[printed_heading(printed, anchor)]
        assert re.search(rf"{re.escape(unbroken(label))}\.*{page}(?!\d)", shown), (label, page)
        assert printed_heading(printed, anchor) in printed.text(page)


@pytest.mark.parametrize("name", THEMES)
def test_every_page_number_is_that_of_its_place_on_letter_paper_too(name: str, example: Report) -> None:
    """Contents, margins and 'see page' name the page on which their place stands, as it was laid out."""
    theme = replace(load_theme(name), paper="letter")
    figures = draw_figures(example, look_from(theme.look), store_of_user())
    html = print_html(document_of(example, figures, theme))
    with _set_in() as fonts:
        pages = _laid_out(html, dict(paper_files(figures)), fonts).pages
    stands: dict[str, int] = {}
    for number, page in enumerate(pages, 1):
        stands = dict.fromkeys(page.anchors, number) | stands
    told = [
        (box.element.get("href", "").removeprefix("#"), int(found[1]))
        for page in pages
        for box in page._page_box.descendants()
        if getattr(box, "element_tag", "") == "a::after"
        and (found := re.search(r"(\d+)\.?$", getattr(box, "text", "")))
    ]
    assert len(told) > 100
    assert [(place, page) for place, page in told if stands[place] != page] == []


def printed_heading(printed: Printed, anchor: str) -> str:
    """Return the bookmark of a part; a theme may number its parts."""
    heading = squeezed(heading_of(printed.html, anchor))
    return next(title for title, _ in printed.bookmarks if title.endswith(heading))


def test_every_page_is_filled_and_no_margin(printed: Printed, tmp_path: Path) -> None:
    """Text or figures reach beyond three tenths of every page but the last, and not into the right margin."""
    output("pdftoppm", "-r", "20", "-gray", printed.path, tmp_path / "page")
    sheets = sorted(tmp_path.glob("page*.pgm"))
    assert len(sheets) == len(printed.pages)
    for number, sheet in enumerate(sheets, start=1):
        with Image.open(sheet) as image:
            body = image.crop((0, 0, image.width, int(FOOT_SHARE * image.height)))
            inked = body.point(lambda grey: 255 if grey < 200 else 0).getbbox()
            assert inked, number
            assert inked[3] >= LEAST_FILLED * image.height or number == len(sheets), number
            assert inked[2] <= FARTHEST_RIGHT * image.width, number


def test_links_lead_to_what_they_name(printed: Printed) -> None:
    """Every link leads to one place within the document; a claim's reasons lead to rows of tables."""
    tree = parsed(printed.html)
    places = [element.get("id") for element in tree.iter() if element.get("id")]
    assert len(places) == len(set(places))
    links = [element.get("href") for element in tree.iter("a") if element.get("href")]
    assert {link.removeprefix("#") for link in links} <= set(places)
    rows = {element.get("id") for element in tree.iter("tr")}
    assert sum(link.removeprefix("#") in rows for link in links) > 50


def test_reasons_name_the_page_they_lead_to(printed: Printed, example: Report) -> None:
    """Beside each name in the margin that leads to a column stands the page on which that column is told."""
    tree = html5lib.parse(printed.html, namespaceHTMLElements=False)
    shown = unbroken(" ".join(printed.text(number) for number in range(1, len(printed.pages) + 1)))
    pages = dict(printed.bookmarks)
    links = [one for one in tree.iter("a") if one.get("class") == "to-page"]
    told = 0
    for column in example.study.columns:
        page = pages[printed_heading(printed, f"at-columns-{column.id}")]
        for link in links:
            if link.get("href", "").startswith(f"#at-columns-{column.id}--"):
                told += 1
                label = re.escape(unbroken("".join(link.itertext())))
                assert re.search(rf"{label}p\.({page}|{page + 1})(?!\d)", shown), (label, page)
    assert told > 20


def test_no_line_parts_a_number_from_its_unit(printed: Printed) -> None:
    """Whoever wrote it, `50 °C`, `95 %` and `pH 11.2` stand on one line."""
    unit = re.compile(r"(?:°C|%|h|min|mL|µL|µm|mm|nm|bar)(?![\w])")
    for page in printed.pages:
        for line in page:
            below = [one for one in page if abs(one.left - line.left) < 1 and 0 < one.top - line.top < 18]
            following = min(below, key=lambda one: one.top, default=None)
            if following is None:
                continue
            by_unit = re.search(r"\d$", line.text) and unit.match(following.text)
            by_ph = re.search(r"\bpH$", line.text) and following.text[:1].isdigit()
            assert not by_unit, (line.text, following.text)
            assert not by_ph, (line.text, following.text)


def test_the_margin_names_no_raw_id(printed: Printed, example: Report) -> None:
    """A picture is named by what it shows and when it was taken, not by its file."""
    tree = html5lib.parse(printed.html, namespaceHTMLElements=False)
    margin = " ".join("".join(one.itertext()) for one in tree.iter("p") if one.get("class") == "rests")
    assert [image.id for image in example.study.images if image.id in margin] == []
    assert "pictures of S1 after" in squeezed(margin)


def test_measured_particles_are_printed_in_the_place_of_their_pictures(
    printed: Printed, example: Report
) -> None:
    """Each picture of the study is printed once: a counted pair as outlined, with sizes and both captions."""
    tree = html5lib.parse(printed.html, namespaceHTMLElements=False)
    drawn = [one.get("src", "") for one in tree.iter("img")]
    said = squeezed(" ".join("".join(one.itertext()) for one in tree.iter("figcaption")))
    for pair, images in example.study.pairs.items():
        counted = all(one.count_particles for one in images)
        for kind in ("particles", "pair"):
            shown = sum(f"/{kind}-{slug(pair)}." in src for src in drawn)
            assert shown == (counted if kind == "particles" else not counted), (kind, pair)
    for image in example.study.images:
        assert squeezed(image.caption).rstrip(".") in said, image.id


def test_each_column_shows_its_chromatograms_below_its_metrics(printed: Printed, example: Report) -> None:
    """What the page of a column has left is filled by its chromatograms over the exposure."""
    pages = dict(printed.bookmarks)
    for column in example.study.columns:
        page = pages[printed_heading(printed, f"at-columns-{column.id}")]
        assert f"Chromatograms of {column.label}." in printed.text(page), column.id


@pytest.mark.parametrize(("above_mm", "shown"), [(150, True), (200, False), (252, False)])
def test_what_only_fills_a_page_is_left_out_where_it_does_not_fit(
    daylight: Theme, tmp_path: Path, above_mm: float, shown: bool
) -> None:
    """It begins no page of its own, so no report becomes longer by it."""
    rest = '<div class="rest"><figure style="height: 60mm">chromatograms</figure></div>'
    body = (
        f'<section class="piece column first"><div style="height: {above_mm}mm">above</div>{rest}</section>'
    )
    html = f"<html lang=en><title>t</title><style>{print_styles(daylight)}</style>{body}<p>below"
    path = tmp_path / "rest.pdf"
    path.write_bytes(pdf_bytes(html, {}, {}, datetime(2026, 3, 2)))
    first, *more = output("pdftotext", path, "-").rstrip("\f").split("\f")
    assert ("chromatograms" in first) == shown
    assert "chromatograms" not in "".join(more)
    assert len(more) == (above_mm > 250)


def test_two_prints_can_be_told_apart(printed: Printed, example: Report) -> None:
    """Each page bears study, day of issue and fingerprint at its foot."""
    for number in range(1, len(printed.pages) + 1):
        assert f"files {example.fingerprint}" in printed.text(number), number


def test_no_heading_stands_at_the_foot(printed: Printed) -> None:
    """Below each heading, in its own column, something follows on the same page."""
    for title, number in printed.bookmarks:
        lines = printed.pages[number - 1]
        heads = [line for line in lines if line.text.endswith(title[-30:])] or list(lines)
        head = max(heads, key=lambda line: line.bottom - line.top)
        below = [
            line
            for line in lines
            if head.bottom <= line.bottom - 1 < FOOT_SHARE * printed.height and line.left < head.right
        ]
        assert below, (title, number)


@pytest.mark.parametrize("name", THEMES)
def test_it_can_be_read_without_a_glass(name: str) -> None:
    """Text is set in 9.5 to 10.5 points, nothing in less than 8 (common practice)."""
    styles = print_styles(load_theme(name))
    sizes = [float(size) for size in re.findall(r"font(?:-size)?:[^;}]*?([\d.]+)pt", styles)]
    text = [float(size) for size in re.findall(r"html\s*{\s*font(?:-size)?:\s*([\d.]+)pt", styles)]
    assert 9.5 <= text[-1] <= 10.5
    assert min(sizes) >= 8


def test_no_line_parts_a_name_at_its_hyphen(printed: Printed, example: Report) -> None:
    """Ids, lots and serials stand on one line each; a name too long for the narrowest cell may break."""
    heads = {name[: name.index("-") + 1] for name in hyphened_names(example.study)}
    parted = [
        (number, line.text)
        for number, page in enumerate(printed.pages, 1)
        for line in page
        if line.text.split() and line.text.split()[-1].lstrip("(‘") in heads
    ]
    assert not parted
    long = f"<body><p>{'lot-' * 9}9 and lot-9</p>"
    assert names_whole(long, {f"{'lot-' * 9}9", "lot-9"}).count("whole") == 1


def test_no_link_begins_with_a_name_kept_whole_in_it() -> None:
    """A line broken there left a link of no words (ISO 14289-1, 7.18.5)."""
    links = ('<a href="#a">S1-08</a>', '<a href="#b">S1-08 and more</a>', '<a class="x">S1-08</a>')
    page = f"<body><p>{', '.join(links)}</p>"
    told = names_whole(page, {"S1-08"})
    assert '<a class="whole" href="#a">S1-08</a>' in told
    assert "<span" not in told
