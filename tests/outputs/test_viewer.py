"""What a reader does on the pages in a real browser: viewer, search, tables, terms, what is folded."""

import csv
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, expect

from lyewitness.document.themes import Theme
from lyewitness.figures.style import look_from
from tests.outputs.test_browser import opened, shown
from tests.pages_on_disk import needs

pytestmark = pytest.mark.browser


def test_a_link_into_what_is_folded_opens_it(chromium: Browser, site: Path) -> None:
    """An address within a folded part leads to where it can be read, on loading and later."""
    page = opened(chromium, [])
    page.goto((site / "signs.html").as_uri())
    anchors = page.evaluate("[...document.querySelectorAll('details.against .line')].map(one => one.id)")
    page.goto(f"{(site / 'signs.html').as_uri()}#{anchors[0]}")
    expect(page.locator(f"#{anchors[0]}")).to_be_visible()
    page.evaluate(f"location.hash = '{anchors[-1]}'")
    expect(page.locator(f"#{anchors[-1]}")).to_be_visible()


def test_a_telephone_shows_the_signs_of_all_columns_at_once(chromium: Browser, site: Path) -> None:
    """The table of verdicts is no wider than the screen: a sign stands for each word, which is still read."""
    page = opened(chromium, [], viewport={"width": 380, "height": 800})
    page.goto((site / "signs.html").as_uri())
    place = page.locator(".of-verdicts .scroll")
    assert place.evaluate("one => one.scrollWidth <= one.clientWidth")
    first = page.locator(".of-verdicts td a").first
    assert first.inner_text() == "for"
    assert first.evaluate("one => getComputedStyle(one, '::before').content") == '"+"'


@pytest.mark.parametrize("width", [380, 190])
def test_a_telephone_shows_why_an_injection_was_left_out(chromium: Browser, site: Path, width: int) -> None:
    """Numbers stand on one line within the screen, reasons and flags below them, also in large letters.

    Of letters twice as large 380 pixels hold as few as 190 do of usual ones.
    """
    page = opened(chromium, [], viewport={"width": width, "height": 800})
    page.goto((site / "injections/index.html").as_uri())
    for row, words in (("S2-08", "left out: air bubble"), ("G3-11", "suspected leak")):
        told = page.locator(f"#row-{row} :is(td, small)", has_text=words).last
        box = told.bounding_box()
        assert box is not None
        assert 0 <= box["x"] <= box["x"] + box["width"] <= width
    rights = page.locator(".of-injections tr:not([hidden]) > :nth-child(5)").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect().right)"
    )
    assert max(rights) <= width
    assert page.locator("#row-S1-02 td", has_text="yes").is_hidden()


@pytest.mark.parametrize("name", ["index.html", "answers/two-days.html"])
def test_a_telephone_with_large_text_shows_all_of_what_to_do(
    chromium: Browser, site: Path, name: str
) -> None:
    """With letters twice as large each line of the advice stands stacked, whole, each cell with its own head.

    Of letters twice as large 380 pixels hold as few as 190 do of usual ones: widths of windows are held
    against the reader's own letters.
    """
    page = opened(chromium, [], viewport={"width": 380, "height": 800})
    page.goto((site / name).as_uri())
    assert page.locator(".advice thead").first.is_visible()
    page.set_viewport_size({"width": 290, "height": 800})
    assert not page.locator(".advice thead").first.is_visible()
    cells = page.locator(".advice tbody :is(th, td)")
    assert cells.count() > 5
    right = "one => one.getBoundingClientRect().right"
    assert all(cells.nth(place).evaluate(right) <= 290 for place in range(cells.count()))
    heads = page.locator(".advice thead th").all_text_contents()
    told = [
        page.locator(".advice tr").nth(1).locator("td").nth(n).get_attribute("data-head") for n in range(4)
    ]
    assert told == heads[1:]


def test_a_telephone_shows_traces_before_what_there_is_to_choose(chromium: Browser, site: Path) -> None:
    """The plot begins on the first screen, its controls stand below it, the list of injections is folded."""
    page = opened(chromium, [], viewport={"width": 380, "height": 800})
    page.goto(f"{site.as_uri()}/traces.html#show={shown(site)}&apart=")
    expect(page.locator(".trace").first).to_be_visible()
    top = "one => one.getBoundingClientRect().top"
    tops = [page.locator(one).evaluate(top) for one in (".plot", ".viewer .controls")]
    assert tops[0] < 400 < tops[1]
    expect(page.locator("[data-injection]").first).not_to_be_visible()
    page.get_by_text("Choose injections").click()
    expect(page.locator("[data-injection] input").first).to_be_visible()


def test_the_viewer_saves_the_points_that_it_shows(chromium: Browser, site: Path) -> None:
    """The saved table has time and signal of each point of the injection's trace, as it was measured."""
    page = opened(chromium, [])
    page.goto(f"{(site / 'traces.html').as_uri()}#show=S3-11&scale=highest")
    expect(page.locator(".trace")).to_have_count(1)
    with page.expect_download() as saved:
        page.get_by_role("button", name="save the points").click()
    with saved.value.path().open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert saved.value.suggested_filename == "points-S3-11.csv"
    assert {(row["injection"], row["unit"]) for row in rows} == {("S3-11", "mAU")}
    assert len(rows) > 1000
    highest = max(rows, key=lambda row: float(row["signal"]))
    # The highest point of butylbenzene, as measurements.csv has it.
    assert float(highest["time_min"]) == pytest.approx(2.256, abs=0.003)
    assert float(highest["signal"]) == pytest.approx(44.9, abs=1.0)


def test_the_viewer_by_mouse(chromium: Browser, site: Path) -> None:
    """Ticking draws injections, dragging zooms, a double click shows all; the address holds the state."""
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": 1366, "height": 900})
    page.goto((site / "traces.html").as_uri())
    expect(page.locator(".trace")).to_have_count(4)
    expect(page).to_have_url((site / "traces.html").as_uri())
    page.get_by_role("button", name="clear").click()
    expect(page.locator(".trace")).to_have_count(0)
    ticks = page.locator("[data-injection] input")
    ticks.nth(0).check()
    ticks.nth(25).check()
    expect(page.locator(".trace")).to_have_count(2)
    before = page.locator(".trace").nth(0).get_attribute("d")
    page.evaluate("window.scrollTo({ top: 0, behavior: 'instant' })")
    box = page.locator(".plot").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 300, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 500, box["y"] + 120)
    page.mouse.up()
    expect(page).to_have_url(re.compile("from="))
    assert page.locator(".trace").nth(0).get_attribute("d") != before
    address = page.url
    page.mouse.dblclick(box["x"] + 300, box["y"] + 100)
    expect(page).not_to_have_url(re.compile("from="))
    again = opened(chromium, complaints, viewport={"width": 1366, "height": 900})
    again.goto(address)
    expect(again.locator(".trace")).to_have_count(2)
    expect(again).to_have_url(address)
    assert not complaints


def test_the_viewer_can_be_read_in_large_letters_on_a_phone(chromium: Browser, site: Path) -> None:
    """At twice the text the time axis has two numbers at least, and no id or exposure is broken."""
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": 380, "height": 900})
    page.goto((site / "traces.html").as_uri())
    page.evaluate("() => { document.documentElement.style.fontSize = '200%'; }")
    page.get_by_role("button", name="whole run").click()
    numbers = page.locator("[data-part=viewer] svg text[text-anchor=middle]:not(.peak)")
    assert numbers.count() >= 2
    parts = page.locator("[data-part=viewer] .readings :is(th a, td:not(.number))")
    assert parts.count() >= 4
    lines = parts.evaluate_all(
        "all => all.map(one => { const all = document.createRange(); all.selectNodeContents(one);"
        " return all.getClientRects().length; })"
    )
    assert set(lines) == {1}
    assert not complaints


@pytest.mark.parametrize("text", ["100%", "200%"])
@pytest.mark.parametrize(("width", "window"), [(900, ""), (380, ""), (900, "&from=0.1&to=20")])
def test_words_of_the_viewer_stand_apart(
    chromium: Browser, site: Path, text: str, width: int, window: str
) -> None:
    """Numbers, names of all peaks and of axes have room at any size of text, however near peaks stand."""
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": width, "height": 900})
    page.goto((site / "traces.html").as_uri() + f"#show=S3-01,S3-20{window}")
    page.evaluate("size => { document.documentElement.style.fontSize = size; }", text)
    page.evaluate("() => window.dispatchEvent(new Event('resize'))")
    names = page.locator("[data-part=viewer] svg text.peak").all_text_contents()
    assert sorted(names) == ["butylbenzene", "dimethylbenzylamine", "uracil"]
    boxes = page.locator("[data-part=viewer] svg text").evaluate_all(
        "all => all.map(one => { const b = one.getBoundingClientRect();"
        " return [one.textContent, b.left, b.top + b.height / 6, b.right, b.bottom - b.height / 6]; })"
    )
    assert len(boxes) > 10
    over = [
        (one[0], other[0])
        for place, one in enumerate(boxes)
        for other in boxes[:place]
        if one[1] < other[3] and other[1] < one[3] and one[2] < other[4] and other[2] < one[4]
    ]
    assert not over
    assert not complaints


def test_the_viewer_opens_on_how_the_first_column_failed(chromium: Browser, site: Path) -> None:
    """First, last good, first bad and last injection of one column, each named, with names at the peaks."""
    page = opened(chromium, [], viewport={"width": 1366, "height": 900})
    page.goto((site / "traces.html").as_uri())
    expect(page.locator(".trace")).to_have_count(4)
    names = page.locator(".readings th a").all_inner_texts()
    assert len({name.rpartition("-")[0] for name in names}) == 1
    told = page.locator(".readings td:nth-child(2)").all_inner_texts()
    hours = [float(one.split()[0]) for one in told]
    assert hours == sorted(hours)
    assert page.locator(".viewer .peak").count() >= 2
    page.locator(".readings th a").nth(1).click()
    page.wait_for_url(lambda url: url.endswith(f"injections/{names[1]}.html"))


def test_two_clicks_lead_from_a_sentence_to_the_two_traces_it_tells(chromium: Browser, site: Path) -> None:
    """A column's life beside a sentence, then the two hours in its row: the viewer shows those two traces."""
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": 1366, "height": 900})
    page.goto((site / "index.html").as_uri())
    page.locator(".line .rests a[href*='columns/']").first.click()
    row = page.locator(":target")
    way = row.get_by_role("link", name=re.compile("within the limit at .* h, beyond it at .* h"))
    hours = re.findall(r"[\d.]+\sh", way.inner_text())
    assert len(hours) == 2
    way.click()
    expect(page.locator(".trace")).to_have_count(2)
    assert page.locator(".readings td:nth-child(2)").all_inner_texts() == hours
    assert not complaints


def test_the_viewer_by_keyboard(chromium: Browser, site: Path) -> None:
    """Arrow keys move the reading line and its values are told; plus zooms, 0 shows the whole run."""
    page = opened(chromium, [], viewport={"width": 1366, "height": 900})
    page.goto((site / "traces.html").as_uri() + f"#show={shown(site)}")
    expect(page.locator(".trace")).to_have_count(2)
    plot = page.locator(".plot")
    plot.focus()
    start = float(plot.get_attribute("aria-valuenow") or "nan")
    page.keyboard.press("Shift+ArrowRight")
    assert float(plot.get_attribute("aria-valuenow") or "nan") > start
    assert shown(site).split(",")[0] in (plot.get_attribute("aria-valuetext") or "")
    page.keyboard.press("+")
    expect(page).to_have_url(re.compile("from="))
    page.keyboard.press("0")
    expect(page).not_to_have_url(re.compile("from="))


def test_passing_over_the_menu_keeps_the_traces_that_are_shown(chromium: Browser, site: Path) -> None:
    """The way past the menu is a place on the page, no other view: address and traces stay as they were."""
    page = opened(chromium, [], viewport={"width": 1366, "height": 900})
    page.goto((site / "traces.html").as_uri() + f"#show={shown(site)}")
    expect(page.locator(".trace")).to_have_count(2)
    told = page.locator(".trace").evaluate_all("all => all.map(one => one.outerHTML.length)")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_timeout(300)
    expect(page).to_have_url(re.compile("show="))
    assert page.locator(".trace").evaluate_all("all => all.map(one => one.outerHTML.length)") == told


def test_the_viewer_aligns_on_a_marker(chromium: Browser, site: Path) -> None:
    """Set to zero on a marker, both traces have their peak there: the reading at 0 is each one's apex."""
    page = opened(chromium, [], viewport={"width": 1366, "height": 900})
    page.goto((site / "traces.html").as_uri() + f"#show={shown(site)}&scale=highest")
    expect(page.locator(".trace")).to_have_count(2)
    select = page.locator(".controls select").nth(0)
    select.select_option(index=1)
    page.locator(".plot").focus()
    page.keyboard.press("Home")
    assert float(page.locator(".plot").get_attribute("aria-valuenow") or "nan") < 0
    expect(page).to_have_url(re.compile("align="))


def test_search_by_keyboard(chromium: Browser, site: Path) -> None:
    """Typing finds pages at once; Tab and Enter open the first."""
    complaints: list[str] = []
    page = opened(chromium, complaints)
    page.goto((site / "search.html").as_uri())
    page.locator("input[type=search]").focus()
    page.keyboard.type("plate butylbenzene")
    assert page.locator("[data-part=results] li").count() > 3
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: "search.html" not in url)
    page.goto((site / "search.html").as_uri() + "#q=zzzznothing")
    page.reload()
    assert page.locator("[data-part=results] li").count() == 0
    assert page.locator("[data-part=found]").inner_text() != ""
    assert not complaints


@pytest.mark.parametrize("said", ["first column failed", "first to fail", "first column to fail"])
def test_the_first_failure_is_found_first(chromium: Browser, site: Path, said: str) -> None:
    """Who looks for it gets the one of the whole study, not the first of some group."""
    page = opened(chromium, [])
    page.goto((site / "search.html").as_uri() + f"#q={said}")
    first = page.locator("[data-part=results] li").first.inner_text()
    assert "First column that failed: S3, after 33" in first.replace("\u2009", " "), first


def test_a_search_shows_no_markup(chromium: Browser, site: Path) -> None:
    """Links in a note are found as their words."""
    page = opened(chromium, [])
    page.goto((site / "search.html").as_uri() + "#q=power cut")
    told = page.locator("[data-part=results]").inner_text()
    assert told
    assert "[[" not in told


@pytest.mark.parametrize(
    ("said", "meant"),
    [("tailing", "symmetry factor"), ("efficiency", "plate number"), ("dead time", "hold-up")],
)
def test_search_knows_the_other_names_of_the_trade(
    chromium: Browser, site: Path, said: str, meant: str
) -> None:
    """Who looks for a thing by another name than the report's finds it, and the word explained."""
    page = opened(chromium, [])
    page.goto((site / "search.html").as_uri() + f"#q={said}")
    results = page.locator("[data-part=results] li")
    assert any(meant in text.lower() for text in results.all_inner_texts())
    assert "Nothing" not in page.locator("[data-part=found]").inner_text()
    assert f"‘{said}’ was looked for as ‘{meant}" in page.locator("[data-part=found]").inner_text()


def test_excerpts_of_a_search_are_made_of_whole_words(chromium: Browser, site: Path) -> None:
    """What stands below a result begins and ends between words of the text that it is from."""
    page = opened(chromium, [])
    page.goto((site / "search.html").as_uri() + "#q=limit")
    whole = set(" ".join(page.evaluate("window.lyewitnessIndex.map(one => one[3])")).split())
    excerpts = page.locator("[data-part=results] li p").all_inner_texts()
    assert any(one.endswith("…") for one in excerpts)
    assert {word for one in excerpts for word in one.split() if word != "…"} <= whole


def test_the_search_is_two_keys_away(chromium: Browser, site: Path) -> None:
    """The second thing that a keyboard reaches on a page leads to the search, and is then in sight."""
    page = opened(chromium, [])
    page.goto((site / "audit.html").as_uri())
    for _ in range(2):
        page.keyboard.press("Tab")
    focused = page.locator(":focus")
    assert focused.get_attribute("href") == "search.html"
    box = focused.bounding_box()
    assert box is not None
    assert box["x"] >= 0


def test_traces_of_one_group_differ_by_their_strokes(chromium: Browser, site: Path) -> None:
    """The four traces that the viewer opens on are of one colour, and no two are drawn with one stroke."""
    page = opened(chromium, [])
    page.goto((site / "traces.html").as_uri())
    page.wait_for_selector(".viewer path.trace")
    strokes = page.locator(".viewer path.trace").evaluate_all(
        "all => all.map(one => one.getAttribute('stroke-dasharray'))"
    )
    assert len(set(strokes)) == len(strokes) == 4


def test_tables_sort_and_filter(chromium: Browser, site: Path) -> None:
    """A click on a head sorts by number, a second turns it round; the filter hides rows without the words."""
    page = opened(chromium, [], viewport={"width": 1366, "height": 900})
    page.goto((site / "injections/index.html").as_uri())
    values = "[...document.querySelectorAll('tbody tr')].map(row => Number(row.cells[2].dataset.key))"
    page.locator("thead th button").nth(2).click()
    rising = page.evaluate(values)
    assert rising == sorted(rising)
    page.locator("thead th button").nth(2).click()
    assert page.evaluate(values) == sorted(rising, reverse=True)
    everything = page.locator("tbody tr:visible").count()
    page.locator(".filter input").fill("left out")
    assert 0 < page.locator("tbody tr:visible").count() < everything


def test_a_term_is_explained_where_it_stands(chromium: Browser, site: Path) -> None:
    """A click or the space bar on a term shows its meaning beside it, Escape takes it away."""
    page = opened(chromium, [])
    page.goto((site / "index.html").as_uri())
    term = page.locator("a.term").first
    term.focus()
    page.keyboard.press("Space")
    assert page.locator(".here").count() == 1
    assert term.get_attribute("aria-expanded") == "true"
    page.keyboard.press("Escape")
    assert page.locator(".here").count() == 0


def test_firefox_draws_traces_from_the_disk(site: Path, daylight: Theme, tmp_path: Path) -> None:
    """Firefox, which is stricter with files, loads styles, scripts and a column's traces from the disk."""
    firefox = needs(shutil.which("firefox-esr") or shutil.which("firefox"), "Firefox")
    colour = [int(look_from(daylight.look).light.groups[0][place : place + 2], 16) for place in (1, 3, 5)]
    widths = []
    for place, address in enumerate(("traces.html#apart=no", f"traces.html#show={shown(site)}&apart=")):
        picture = tmp_path / f"{place}.png"
        profile = tmp_path / f"profile{place}"
        profile.mkdir()
        subprocess.run(
            [
                firefox, "--headless", "--no-remote", "--profile", str(profile),
                "--window-size", "1200,1000", "--screenshot", str(picture), f"{site.as_uri()}/{address}",
            ],
            check=True,
            timeout=120,
            capture_output=True,
            env={"HOME": str(tmp_path), "PATH": "/usr/bin:/bin", "MOZ_HEADLESS": "1"},
        )  # fmt: skip
        with Image.open(picture) as image:
            pixels = np.asarray(image.convert("RGB"), dtype=int)
        near = (np.abs(pixels - colour) < 50).all(axis=2)
        widths.append(int(near.any(axis=0).sum()))
    assert widths[0] < 300, "the colour of the group stands in the bare list already"
    assert widths[1] > 600, "no trace is drawn across the plot"


def test_traces_of_several_columns_stand_in_a_panel_each(chromium: Browser, site: Path) -> None:
    """Of one group they have one colour: an address that does not ask for them overlaid parts them."""
    page = opened(chromium, [], viewport={"width": 1440, "height": 900})
    page.goto(f"{site.as_uri()}/traces.html#show=S1-01,S1-20,S2-01,S2-20")
    expect(page.locator(".viewer .column")).to_have_count(2)
    page.locator(".viewer select").nth(2).select_option("")
    expect(page.locator(".viewer .column")).to_have_count(0)
    page.reload()
    expect(page.locator(".viewer .trace").first).to_be_visible()
    expect(page.locator(".viewer .column")).to_have_count(0)


@pytest.mark.parametrize("width", [1440, 380])
def test_the_way_to_both_sides_of_lives_shows_what_changed(chromium: Browser, site: Path, width: int) -> None:
    """A panel a column, both peaks equally high on one apex, solid within, dashed beyond, with values."""
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": width, "height": 900})
    page.goto((site / "index.html").as_uri())
    ways = page.get_by_role("link", name="just before and after").evaluate_all(
        "all => all.map(one => one.href)"
    )
    page.goto(max(ways, key=len))
    expect(page.locator(".viewer .column").first).to_be_visible()
    columns = page.locator(".viewer .column").all_text_contents()
    assert len(set(columns)) == len(columns) > 3
    assert page.locator(".viewer h2").inner_text().startswith("Just before and just after each column")
    told = page.locator(".viewer text").all_text_contents()
    assert sum(one.startswith("last, within: ") for one in told) == len(columns)
    assert sum(one.startswith("first, beyond: ") for one in told) == len(columns)
    strokes = page.locator(".viewer g > g > .trace").evaluate_all(
        "all => all.map(one => one.getAttribute('stroke-dasharray'))"
    )
    assert strokes == ["none", "7 3"] * len(columns)
    assert float(page.locator(".plot").get_attribute("aria-valuenow") or "nan") == 0
    read = [float(one) for one in page.locator(".readings td.number").all_inner_texts()]
    assert read == pytest.approx([1] * len(read), abs=0.02)
    shares = page.locator(".viewer g > g > .trace").evaluate_all(
        "all => all.map(one => { const half = one.getBBox().height / 2, all = one.getTotalLength(), xs = [];"
        " for (let at = 0; at < all; at += 1) { const p = one.getPointAtLength(at);"
        " if (p.y < one.getBBox().y + half) { xs.push(p.x); } }"
        " return (Math.max(...xs) - Math.min(...xs)) / one.getBBox().width; })"
    )
    # At half of its height the widest peak fills a fifth of what is shown.
    assert max(shares) > 0.15
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert not complaints
