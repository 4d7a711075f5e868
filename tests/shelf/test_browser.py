"""The shelf in real browsers, opened from the disk: narrow and wide, searched and filtered by keyboard."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from lyewitness.shelf.gathering import gather
from lyewitness.shelf.site import site
from tests.firefox import firefox_window
from tests.outputs.test_browser import opened
from tests.pages_on_disk import node_module
from tests.shelf.making import sixty
from tests.shelf.test_shelf import refuse

pytestmark = pytest.mark.browser

STUDIES = 56
"""57, of which one is superseded and stands beneath its successor."""


@pytest.fixture(scope="module")
def shelf_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the site of a shelf of 57 studies beside the folder that holds them."""
    folder = tmp_path_factory.mktemp("shelf")
    sixty(folder / "studies")
    files = site(gather(folder / "studies", {}, refuse), "../studies/")  # type: ignore[arg-type]
    for name, data in files.items():
        path = folder / "site" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder / "site"


def pages_of(shelf_site: Path) -> list[Path]:
    """Return one page of each kind."""
    types = sorted((shelf_site / "types").glob("*.html"))
    return [shelf_site / name for name in ("index.html", "across.html", "contradictions.html")] + types[:2]


@pytest.mark.parametrize(
    ("scheme", "width"), [("light", 1440), ("dark", 1440), ("light", 380), ("dark", 380)]
)
def test_axe_finds_nothing_and_no_page_scrolls_sideways(
    chromium: Browser, shelf_site: Path, scheme: str, width: int
) -> None:
    """Every kind of page fits its window and says nothing in the console; axe-core finds no fault."""
    axe = Path(node_module("axe-core/axe.min.js")).read_text(encoding="utf-8")
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": width, "height": 800}, color_scheme=scheme)
    found = []
    for file in pages_of(shelf_site):
        page.goto(file.as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") <= width, file
        page.evaluate(axe)
        told = page.evaluate("axe.run(document, {preload: false, resultTypes: ['violations']})")
        found += [(file.name, one["id"], one["nodes"][0]["html"]) for one in told["violations"]]
    assert not found
    assert not complaints


def focused(page: Page, name: str) -> None:
    """Go on with the tabulator until the field `name` has the focus."""
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.name") == name:
            return
    raise AssertionError(f"the keyboard does not reach '{name}'")


def test_the_shelf_is_searched_by_keyboard(chromium: Browser, shelf_site: Path) -> None:
    """Words, a temperature and a pH narrow the list; Enter on the first study opens its report."""
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": 1440, "height": 900})
    page.goto((shelf_site / "index.html").as_uri())
    told, shown = page.locator("#told"), page.locator("#studies > li:visible")
    expect(told).to_have_text(f"{STUDIES} of {STUDIES} studies")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    focused(page, "words")
    page.keyboard.type("POLYMER pyrrolidine")
    expect(told).to_have_text(f"{shown.count()} of {STUDIES} studies")
    assert 0 < shown.count() < STUDIES
    assert all("polymer" in text.lower() and "pyrrolidine" in text for text in shown.all_inner_texts())
    focused(page, "heat-low")
    page.keyboard.type("55")
    held = shown.count()
    assert 0 < held < 12
    assert all("60 °C" in text for text in shown.all_inner_texts())
    focused(page, "ph-high")
    page.keyboard.type("2")
    assert shown.count() == 0
    page.keyboard.press("Backspace")
    assert shown.count() == held
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('#studies > li') !== null")
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none"
    page.keyboard.press("Enter")
    page.wait_for_url("**/studies/*/index.html")
    assert not complaints


TITLES = "[...document.querySelectorAll('#studies > li')].filter(one => one.checkVisibility())"


def searched(page: Page, shelf_site: Path, words: str) -> tuple[str, list[str]]:
    """Return what the page says of a search, and the texts that it shows in their order."""
    page.goto((shelf_site / "index.html").as_uri())
    focused(page, "words")
    page.keyboard.type(words)
    told = page.locator("#told").inner_text()
    return told, page.evaluate(f"{TITLES}.map(one => one.innerText)")


def test_a_slip_is_searched_as_the_word_that_the_shelf_has(chromium: Browser, shelf_site: Path) -> None:
    """A letter left out or two turned round still find the buffer, and the page says so."""
    page = opened(chromium, [], viewport={"width": 1440, "height": 900})
    right = searched(page, shelf_site, "pyrrolidine")
    for typed in ("pyrolidine", "pyrroildine"):
        told, texts = searched(page, shelf_site, typed)
        assert texts == right[1]
        assert told == f"{right[0]}; ‘{typed}’ is in none, searched as ‘pyrrolidine’"
    assert searched(page, shelf_site, "zirconia") == (f"0 of {STUDIES} studies; ‘zirconia’ is in none", [])


@pytest.mark.parametrize(
    "words", ["dimethylamine", "ethylamine", "diethanolamine", "methylpyrrolidine", "dipropylamine"]
)
def test_another_substance_is_no_slip(chromium: Browser, shelf_site: Path, words: str) -> None:
    """A name within a letter of one that is here, or a part of it, finds nothing; part of a name does."""
    page = opened(chromium, [], viewport={"width": 1440, "height": 900})
    assert searched(page, shelf_site, words) == (f"0 of {STUDIES} studies; ‘{words}’ is in none", [])
    _, right = searched(page, shelf_site, "diethylamine")
    assert right
    assert searched(page, shelf_site, "amine")[1] == right
    for slip in ("dietylamine", "diethylamin", "diehtylamine"):
        assert searched(page, shelf_site, slip)[1] == right


@pytest.mark.parametrize(
    "words", ["polymer -pyrrolidine", "polymer not pyrrolidine", "not in pyrrolidine, polymer"]
)
def test_a_word_that_is_ruled_out_leaves_studies_out(chromium: Browser, shelf_site: Path, words: str) -> None:
    """By a minus or by `not`; what is of that type or buffer goes, and no other study."""
    page = opened(chromium, [], viewport={"width": 1440, "height": 900})
    _, every = searched(page, shelf_site, "polymer")
    _, texts = searched(page, shelf_site, words)
    assert 0 < len(texts) < len(every)
    assert texts == [text for text in every if "pyrrolidine" not in text]


def test_whole_words_stand_above_parts_of_words(chromium: Browser, shelf_site: Path) -> None:
    """`mend` is a word of the last study, and a part of one before it; without words the order is as ever."""
    page = opened(chromium, [], viewport={"width": 1440, "height": 900})
    index = shelf_site / "index.html"
    head, last = index.read_text(encoding="utf-8").rsplit('data-words="', 1)
    other = shelf_site / "mend.html"
    other.write_text(f'{head}data-words="mend {last}', encoding="utf-8")
    page.goto(other.as_uri())
    before = page.evaluate(f"{TITLES}.map(one => one.innerText)")
    focused(page, "words")
    page.keyboard.type("mend")
    titles = page.evaluate(f"{TITLES}.map(one => one.querySelector('h2').innerText)")
    assert titles == ["Polymer that failed early", "Mended study of the hybrid"]
    for _ in "mend":
        page.keyboard.press("Backspace")
    assert page.evaluate(f"{TITLES}.map(one => one.innerText)") == before


def test_a_filter_of_types_and_outcomes_keeps_what_fits(chromium: Browser, shelf_site: Path) -> None:
    """Each choice of each list leaves the studies that have it, and 'any' brings all back."""
    page = opened(chromium, [], viewport={"width": 380, "height": 800})
    page.goto((shelf_site / "index.html").as_uri())
    shown = page.locator("#studies > li:visible")
    for choice in page.locator("#filters select").all():
        values = [
            value for value in choice.locator("option").evaluate_all("all => all.map(o => o.value)") if value
        ]
        assert values
        counts = []
        for value in values:
            choice.select_option(value)
            counts.append(shown.count())
        assert min(counts) > 0
        assert sum(counts) >= STUDIES
        choice.select_option("")
        expect(page.locator("#told")).to_have_text(f"{STUDIES} of {STUDIES} studies")


def test_a_reader_without_scripts_has_the_whole_list(chromium: Browser, shelf_site: Path) -> None:
    """The form that would do nothing is hidden, every study is there."""
    page = opened(chromium, [], java_script_enabled=False)
    page.goto((shelf_site / "index.html").as_uri())
    assert page.locator("#studies > li:visible").count() == STUDIES
    assert not page.locator("#filters").is_visible()


def test_firefox_searches_the_shelf_by_keyboard(shelf_site: Path, tmp_path: Path) -> None:
    """The same in Firefox: words narrow the list, and Enter on the first study opens its report."""
    with firefox_window(tmp_path) as window:
        window.go_to((shelf_site / "index.html").as_uri())
        assert window.ask("document.querySelector('#told').textContent") == f"{STUDIES} of {STUDIES} studies"
        for _ in range(30):
            window.press("Tab")
            if window.ask("document.activeElement.name") == "words":
                break
        window.type("polymer pyrrolidine")
        shown = "[...document.querySelectorAll('#studies > li')].filter(one => one.checkVisibility())"
        texts = window.ask(f"{shown}.map(one => one.innerText)")
        assert 0 < len(texts) < STUDIES
        assert all("polymer" in text.lower() and "pyrrolidine" in text for text in texts)
        # Two letters turned round, and a buffer that is ruled out: the same here as there.
        window.type(" pyrroildine -diethylamine")
        assert window.ask(f"{shown}.map(one => one.innerText)") == texts
        assert "searched as ‘pyrrolidine’" in window.ask("document.querySelector('#told').textContent")
        window.type(" dimethylamine")
        assert window.ask(f"{shown}.length") == 0
        told = window.ask("document.querySelector('#told').textContent")
        assert told.endswith("‘dimethylamine’ is in none")
        for _ in " dimethylamine":
            window.press("Backspace")
        for _ in range(30):
            window.press("Tab")
            if window.ask("document.activeElement.closest('#studies > li') !== null"):
                break
        there = window.ask("document.activeElement.href")
        window.press("Enter")
        assert window.comes_to(there)
