"""Pages in real browsers, opened from the disk: complete, quiet, usable by everyone."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, Request, expect

from tests.pages_on_disk import needs, node_module

pytestmark = pytest.mark.browser

KINDS = (
    "index.html", "answers", "columns/index.html", "columns", "markers/index.html", "markers",
    "injections/index.html", "injections", "traces.html", "images.html", "notes/index.html", "notes",
    "audit.html", "signs.html", "chemistry.html", "method.html", "cautions.html", "data.html", "search.html",
    "figures.html",
)  # fmt: skip
"""One page of each kind: a page by name, or the first of a folder."""


def one_of_each(site: Path) -> Iterator[Path]:
    """Yield one page of each kind."""
    for kind in KINDS:
        if kind.endswith(".html"):
            yield site / kind
        else:
            yield from [page for page in sorted((site / kind).glob("*.html")) if page.stem != "index"][:1]


def opened(browser: Browser, complaints: list[str], **options: Any) -> Page:
    """Return a tab that notes every complaint and every request that leaves the disk."""
    page = browser.new_context(**options).new_page()
    page.on("console", lambda message: complaints.append(f"{page.url}: {message.text}"))
    page.on("pageerror", lambda error: complaints.append(f"{page.url}: {error}"))
    page.on("requestfailed", lambda request: complaints.extend(failed(request)))
    page.on(
        "request",
        lambda request: (
            None if request.url.startswith(("file:", "data:")) else complaints.append(f"left: {request.url}")
        ),
    )
    return page


def failed(request: Request) -> list[str]:
    """Return what failed to load; what a tab had not finished when it was sent elsewhere does not count."""
    return [] if request.failure == "net::ERR_ABORTED" else [f"failed: {request.url} ({request.failure})"]


def test_every_page_opens_from_the_disk_without_a_complaint(chromium: Browser, site: Path) -> None:
    """No page says anything in the console, fails to load anything, or asks for anything elsewhere."""
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": 1280, "height": 800})
    pages = sorted(site.rglob("*.html"))
    assert len(pages) > 200
    for file in pages:
        page.goto(file.as_uri())
        assert page.evaluate("[...document.images].every(i => !i.complete || i.naturalWidth > 0)"), file
    assert not complaints


@pytest.mark.parametrize(("scheme", "width"), [("light", 1366), ("dark", 1366), ("light", 360)])
def test_axe_finds_nothing(chromium: Browser, site: Path, scheme: str, width: int) -> None:
    """axe-core finds no fault on any kind of page, light, dark and narrow; no page scrolls sideways."""
    check_with_axe(chromium, site, scheme, width)


@pytest.mark.parametrize(("scheme", "width"), [("light", 1366), ("dark", 360)])
def test_axe_finds_nothing_in_the_other_theme(
    chromium: Browser, journal_site: Path, scheme: str, width: int
) -> None:
    """The same for the second theme that ships."""
    check_with_axe(chromium, journal_site, scheme, width)


def check_with_axe(chromium: Browser, site: Path, scheme: str, width: int) -> None:
    """Assert that axe-core finds nothing on one page of each kind, and that each fits its window."""
    axe = Path(node_module("axe-core/axe.min.js")).read_text(encoding="utf-8")
    complaints: list[str] = []
    page = opened(
        chromium, complaints, viewport={"width": width, "height": 800}, color_scheme=scheme, bypass_csp=False
    )
    found = []
    for file in one_of_each(site):
        address = file.as_uri() + (f"#show={shown(site)}" if file.name == "traces.html" else "")
        page.goto(address)
        page.evaluate(axe)
        told = page.evaluate("axe.run(document, {preload: false, resultTypes: ['violations']})")
        found += [(file.name, one["id"], one["nodes"][0]["html"]) for one in told["violations"]]
        assert page.evaluate("document.documentElement.scrollWidth") <= width, file
    assert not found
    assert not complaints


def test_lettering_in_figures_grows_with_the_text(chromium: Browser, site: Path) -> None:
    """Letters of twice the size are larger in figures where there is room; a phone shows figures whole."""
    for width, least in ((380, 0.99), (900, 1.7), (1440, 1.7), (1920, 1.5)):
        page = opened(chromium, [], viewport={"width": width, "height": 840})
        page.goto((site / "index.html").as_uri())
        before = _lettering(page)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        page.wait_for_timeout(300)
        after = _lettering(page)
        assert len(before) == len(after) > 3
        assert all(then >= least * now for now, then in zip(before, after, strict=True)), width
        assert page.evaluate(
            "[...document.querySelectorAll('picture')].every(one => one.scrollWidth <= one.clientWidth)"
        )


def _lettering(page: Page) -> list[float]:
    """Return how large the drawings of a page are shown, as multiples of what they were drawn at."""
    told: list[float] = page.evaluate(
        """() => [...document.querySelectorAll("main picture img[src$=svg], .strip")].map(one => {
             const phone = innerWidth < 608 && one.parentElement.querySelector("source[width]");
             const narrow = phone || one.closest(".slim");
             return one.getBoundingClientRect().width / (narrow ? 344 : Number(one.getAttribute("width")));
           })"""
    )
    return told


@pytest.mark.parametrize(("width", "text"), [(380, "100%"), (900, "200%"), (320, "200%")])
def test_no_page_is_wider_than_its_window(chromium: Browser, site: Path, width: int, text: str) -> None:
    """On a phone, and with text twice as large, no kind of page has to be moved sideways."""
    page = opened(chromium, [], viewport={"width": width, "height": 800})
    wider = []
    for file in one_of_each(site):
        page.goto(file.as_uri())
        page.evaluate("size => { document.documentElement.style.fontSize = size; }", text)
        if page.evaluate("document.documentElement.scrollWidth") > width:
            wider.append(file.name)
    assert not wider


def test_a_phone_shows_the_answer_its_figure_and_what_to_do_within_two_screens(
    chromium: Browser, site: Path
) -> None:
    """At 380 pixels the answer, the figure drawn for a phone and what to do end within two screens."""
    page = opened(chromium, [], viewport={"width": 380, "height": 840})
    page.goto((site / "index.html").as_uri())
    for what in (".answer", ".pictures-first img", ".advice"):
        box = page.locator(what).bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= 2 * 840, what
    shown_file = page.locator(".pictures-first img").evaluate("image => image.currentSrc")
    assert shown_file.endswith("-narrow.svg")


def test_a_phone_shows_the_lives_of_a_column_without_moving_its_table(chromium: Browser, site: Path) -> None:
    """At 380 pixels each life lies within the screen, below its marker and metric, with its own name."""
    page = opened(chromium, [], viewport={"width": 380, "height": 840})
    page.goto((site / "columns/S1.html").as_uri())
    rows = page.locator(".of-declines tbody tr").all()
    assert len(rows) > 5
    for row in rows:
        marker, life = (row.locator(part).bounding_box() for part in ("th", "td:last-child"))
        assert marker is not None
        assert life is not None
        assert life["x"] + life["width"] <= 380
        assert marker["y"] < life["y"] < marker["y"] + 60
        assert row.locator("td:last-child").get_attribute("data-head") == "life"
    region = page.locator(".of-declines .scroll")
    assert region.evaluate("one => one.scrollWidth <= one.clientWidth")


@pytest.mark.parametrize("where", ["columns", "markers"])
def test_wide_figures_have_a_form_for_a_phone(chromium: Browser, site: Path, where: str) -> None:
    """On a phone declines, panels and waterfalls are whole within their place."""
    page = opened(chromium, [], viewport={"width": 380, "height": 840})
    first = next(file for file in sorted((site / where).glob("*.html")) if file.stem != "index")
    page.goto(first.as_uri())
    cut = page.evaluate(
        """[...document.querySelectorAll('.figure picture')]
            .filter(one => one.scrollWidth > one.clientWidth + 1)
            .map(one => one.closest('figure').id)"""
    )
    assert page.locator(".figure picture").count() > 0
    assert not cut


def shown(site: Path) -> str:
    """Return two injections for the viewer, as its address names them."""
    names = sorted(page.stem for page in (site / "injections").glob("*.html") if page.stem != "index")
    return f"{names[0]},{names[-1]}"


def test_pages_fit_a_very_wide_window(chromium: Browser, site: Path) -> None:
    """At 2,560 pixels a line of the argument keeps to 60–75 characters."""
    page = opened(chromium, [], viewport={"width": 2560, "height": 1300})
    page.goto((site / "index.html").as_uri())
    sentence = page.locator(".sentence").nth(3)
    characters = page.evaluate(
        """element => {
            const range = document.createRange();
            range.selectNodeContents(element);
            const lines = new Set([...range.getClientRects()].map(box => Math.round(box.bottom)));
            return element.textContent.length / lines.size;
        }""",
        sentence.element_handle(),
    )
    assert 35 < characters <= 78


def ground_of_figure(chromium: Browser, site: Path, scheme: Literal["dark", "light"]) -> float:
    """Return how bright most of the first figure is on the screen, 0 to 255."""
    page = opened(chromium, [], color_scheme=scheme)
    page.goto((site / "index.html").as_uri())
    picture = page.locator(".pictures-first .figure picture").first.screenshot()
    with Image.open(BytesIO(picture)) as image:
        return float(np.median(np.asarray(image.convert("L"))))


def test_dark_readers_get_dark_figures(chromium: Browser, site: Path) -> None:
    """Who prefers dark gets figures drawn for a dark ground, on a dark ground."""
    assert ground_of_figure(chromium, site, "dark") < 60
    assert ground_of_figure(chromium, site, "light") > 230


def test_who_prefers_dark_still_prints_on_white(chromium: Browser, site: Path, tmp_path: Path) -> None:
    """The printed first page, figures included, is the same whatever the screen prefers, and white."""
    tool = needs(shutil.which("pdftoppm"), "pdftoppm")
    sheets = []
    for scheme in ("light", "dark"):
        page = opened(chromium, [], color_scheme=scheme)
        page.goto((site / "index.html").as_uri())
        page.wait_for_timeout(200)
        file = tmp_path / f"{scheme}.pdf"
        file.write_bytes(page.pdf())
        subprocess.run([tool, "-r", "50", "-gray", "-singlefile", file, file.with_suffix("")], check=True)
        with Image.open(file.with_suffix(".pgm")) as image:
            sheets.append(np.asarray(image))
    assert np.median(sheets[1]) == 255
    assert np.array_equal(sheets[0], sheets[1])


@pytest.mark.parametrize(
    ("where", "column"), [("injections/index.html", 2), ("injections", 1), ("columns", 3), ("columns", 7)]
)
def test_decimal_points_stand_below_each_other(
    chromium: Browser, site: Path, where: str, column: int
) -> None:
    """In a column of numbers, or of intervals, all decimal points have one place across, within a pixel."""
    file = site / where if where.endswith(".html") else sorted((site / where).glob("S*.html"))[0]
    page = opened(chromium, [], viewport={"width": 1600, "height": 900})
    page.goto(file.as_uri())
    places = page.evaluate(
        """column => [...document.querySelector('table').tBodies[0].rows].flatMap(row => {
            const cell = row.cells[column];
            const number = /^[−0-9]+/.exec(cell.textContent);
            if (!number) return [];
            const text = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT).nextNode();
            const range = document.createRange();
            range.setStart(text, number[0].length - 1);
            range.setEnd(text, number[0].length);
            return [range.getBoundingClientRect().right];
        })""",
        column,
    )
    assert len(places) > 2
    assert max(places) - min(places) < 1.0


def test_the_first_screen_holds_question_answer_and_figures(chromium: Browser, site: Path) -> None:
    """On a laptop the question, the answer, how sure, and its figure stand on the first screen."""
    page = opened(chromium, [], viewport={"width": 1440, "height": 800})
    page.goto((site / "index.html").as_uri())
    for what in (".question", ".answer", ".pictures-first .figure img"):
        box = page.locator(what).bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= 800, what


def test_skipping_to_the_text_tints_no_page(chromium: Browser, site: Path) -> None:
    """What a link led to within a page is tinted, a whole page or the answer is not."""
    page = opened(chromium, [])
    for name, place in (("audit.html", "content"), ("index.html", "answer")):
        page.goto((site / name).as_uri() + f"#{place}")
        ground = page.locator(f"#{place}").evaluate("one => getComputedStyle(one).backgroundColor")
        assert ground == "rgba(0, 0, 0, 0)"


@pytest.mark.parametrize("name", ["index.html", "columns/index.html", "images.html", "traces.html"])
def test_links_and_buttons_tell_themselves_apart_by_their_names(
    chromium: Browser, site: Path, name: str
) -> None:
    """Read by themselves, as a list of all links is, none is called by a bare word or number."""
    page = opened(chromium, [])
    page.goto((site / name).as_uri())
    found = page.evaluate(
        """Array.from(document.querySelectorAll('main a[href], main button')).map(one =>
           [one.getAttribute('aria-label') || one.innerText.trim(), one.href || ''])"""
    )
    short = {said for said, _ in found if said.lower() in ("link", "data", "all", "cite") or said.isdigit()}
    assert not short


def test_a_trace_is_seen_whole_on_a_telephone(chromium: Browser, site: Path) -> None:
    """No part of an injection's trace lies beyond the edge, and its letters are no smaller than 10 pixels."""
    page = opened(chromium, [], viewport={"width": 390, "height": 844})
    page.goto((site / "injections/S3-11.html").as_uri())
    picture = page.locator("figure picture").first
    within, whole, zoom = picture.evaluate(
        "one => [one.clientWidth, one.scrollWidth, one.querySelector('img').width / 640]"
    )
    assert whole <= within <= 390
    drawn = (site / "figures/traces/S3-11.svg").read_text(encoding="utf-8")
    letters = re.search(r"max-width:480px\){text{font-size:([\d.]+)px", drawn)
    assert letters is not None
    assert float(letters[1]) * zoom >= 10


def test_everything_is_there_without_scripts(chromium: Browser, site: Path) -> None:
    """With scripts off all rows, words and links are there, and nothing that would need a script is shown."""
    bare = opened(chromium, [], java_script_enabled=False)
    full = opened(chromium, [])
    for file in one_of_each(site):
        if file.name in ("traces.html", "search.html"):
            continue
        texts = []
        for page in (bare, full):
            page.goto(file.as_uri())
            # The chart that answers is a script's alone; the figure beside it is not.
            page.evaluate(
                "document.querySelectorAll('.follow, .what-if').forEach(one => { one.hidden = true; })"
            )
            texts.append(set(page.locator("main").inner_text().split()))
        assert texts[0] >= texts[1] - {"Show", "only", "rows", "with"}, file
    bare.goto((site / "traces.html").as_uri())
    assert bare.locator(".viewer").is_hidden()
    assert bare.locator("[data-injection] a").count() == len(list((site / "injections").glob("*.html"))) - 1
    bare.goto((site / "search.html").as_uri())
    assert bare.locator("main a").count() >= len(list(site.rglob("*.html"))) - 2


def test_html_css_and_svg_are_valid(site: Path) -> None:
    """The Nu checker finds no error in one page of each kind, in any style sheet, and in the figures."""
    java = needs(shutil.which("java"), "java")
    checker = node_module("vnu-jar/build/dist/vnu.jar")
    figures = sorted(site.glob("figures/*.svg"))
    traces = sorted(site.glob("figures/traces/*.svg"))[:3]
    files = [*one_of_each(site), *sorted(site.glob("theme/*.css")), *figures, *traces]
    command = [java, "-Xss4m", "-jar", checker, "--errors-only", "--also-check-css", "--also-check-svg"]
    result = subprocess.run(
        [*command, *(str(file) for file in files)], capture_output=True, text=True, timeout=240, check=False
    )
    assert result.returncode == 0, result.stderr[:3000]


def test_the_search_waits_for_what_is_typed(chromium: Browser, site: Path) -> None:
    """The field has the focus as the page opens; a sentence said to two questions is found once, named."""
    page = opened(chromium, [])
    page.goto((site / "search.html").as_uri())
    expect(page.locator("input[type=search]")).to_be_focused()
    claims = page.evaluate("window.lyewitnessIndex.filter(one => one[0] === 'claim')")
    texts = [one[1] for one in claims]
    assert len(set(texts)) == len(texts) > 5
    assert all(re.search(r"\?: (shown|indicated|not settled|contradicted)$", one[3]) for one in claims)


def test_a_page_that_is_printed_shows_no_controls(chromium: Browser, site: Path) -> None:
    """On paper buttons and tick boxes are away, and the figure leaves room for the answer above it."""
    page = opened(chromium, [], viewport={"width": 720, "height": 1000})
    page.goto((site / "traces.html").as_uri())
    expect(page.locator(".viewer .trace")).to_have_count(4)
    page.emulate_media(media="print")
    assert page.locator("button:visible, input:visible, select:visible").count() == 0
    page.emulate_media(media="screen")
    page.goto((site / "index.html").as_uri())
    page.emulate_media(media="print")
    box = page.locator(".pictures-first img").bounding_box()
    assert box is not None
    # 92 mm at 96 dpi: the question and the answer stand above on the same sheet.
    assert box["height"] <= 348


def test_on_a_large_screen_letters_are_larger(chromium: Browser, site: Path) -> None:
    """From 1,700 pixels on, the text is set at 18 pixels for 16."""
    for width, size in ((1440, "16px"), (1920, "18px")):
        page = opened(chromium, [], viewport={"width": width, "height": 900})
        page.goto((site / "index.html").as_uri())
        assert page.evaluate("getComputedStyle(document.documentElement).fontSize") == size


def test_the_answer_is_a_heading_and_a_figure_bears_its_title(chromium: Browser, site: Path) -> None:
    """Read aloud, the answer is found among the headings, a figure by its title alone."""
    page = opened(chromium, [])
    page.goto((site / "index.html").as_uri())
    expect(page.get_by_role("heading", level=2).first).to_contain_text(
        page.locator(".answer > span").first.inner_text()
    )
    figure = page.locator("figure").first
    title = figure.locator("figcaption b").first.inner_text()
    assert figure.get_attribute("aria-label") == title.removesuffix(".")
    page.goto((site / "traces.html").as_uri())
    assert page.locator("h2 button").count() == 0


def test_a_phone_shows_injections_without_saying_their_column_twice(chromium: Browser, site: Path) -> None:
    """An injection's name bears its column: on a phone the table leaves the column out."""
    page = opened(chromium, [], viewport={"width": 380, "height": 840})
    page.goto((site / "injections/index.html").as_uri())
    assert page.locator("thead th:visible").all_inner_texts()[0] == "injection"
    assert "column" not in page.locator("thead th:visible").all_inner_texts()
