"""The chart that answers: a chromatogram beside each point of a decline, by pointer, touch and keyboard."""

import json
import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from lyewitness.document.following import MOST_BYTES, following_of
from lyewitness.document.parts import document_of
from lyewitness.figures.records import Trail
from lyewitness.pipeline import Rendered, in_one_file
from tests.outputs.test_browser import opened

pytestmark = pytest.mark.browser

MOST_SCRIPT_BYTES = 4096
"""Of what the front page loads for it before anybody asks."""


def points_of(site: Path) -> dict[str, Any]:
    """Return what the front page says of its declines."""
    text = (site / "index.html").read_text(encoding="utf-8")
    found = re.search(r'<script type="application/json">(.*?)</script>', text, re.DOTALL)
    assert found
    told: dict[str, Any] = json.loads(found[1])
    return told


def front(browser: Browser, file: Path, complaints: list[str], **options: Any) -> Page:
    """Return a tab with the front page, wide as on a desk unless it is told otherwise."""
    page = opened(browser, complaints, **{"viewport": {"width": 1366, "height": 900}, **options})
    page.goto(file.as_uri())
    return page


def where(page: Page, column: int, point: int) -> tuple[float, float]:
    """Return where a point lies in the window: what the page is told of the figure, on the figure shown."""
    x, y = page.evaluate(
        """([column, point]) => {
            const image = document.querySelector('.pictures-first img'), box = image.getBoundingClientRect();
            const told = JSON.parse(document.querySelector('.follow script').textContent);
            const f = image.naturalWidth === told.narrow[0] ? told.narrow : told.wide;
            const [, hours, value] = told.columns[column].points[point];
            return [box.left + box.width / f[0] * (f[2] + f[4] * (hours - f[6]) / (f[7] - f[6])),
                    box.top + box.height / f[1] * (f[3] + f[5] * (f[9] - value) / (f[9] - f[8]))];
        }""",
        [column, point],
    )
    return x, y


def test_pointing_at_an_injection_shows_its_chromatogram(chromium: Browser, site: Path) -> None:
    """Beside the figure stands the trace, the column's first behind it, markers named; words say which."""
    complaints: list[str] = []
    page = front(chromium, site / "index.html", complaints)
    assert page.locator(".follow .trace").count() == 0
    page.mouse.move(*where(page, 0, 19))
    expect(page.locator(".follow .trace")).to_have_count(1)
    expect(page.locator(".follow .ghost")).to_have_count(1)
    told = points_of(site)["columns"][0]
    injection, hours, value = told["points"][19]
    status = page.locator(".follow [role=status]").inner_text()
    assert told["id"] in status
    assert f"{round(hours, 1):g} h" in status
    assert f"{value:.1f}" in status
    assert injection in status
    assert page.locator(".follow .peak").count() >= 2
    assert not complaints


def test_no_trace_runs_through_the_name_of_a_marker(chromium: Browser, site: Path) -> None:
    """Names stand above what is drawn of both injections, and upon no other name."""
    complaints: list[str] = []
    page = front(chromium, site / "index.html", complaints, viewport={"width": 380, "height": 800})
    along = page.locator(".follow input")
    for point in (6, 9, 14, 19):
        along.evaluate("(one, at) => { one.value = at; one.dispatchEvent(new Event('input')); }", point)
        expect(page.locator(".follow .peak").first).to_be_attached()
        assert not page.evaluate(
            """() => {
                const names = [...document.querySelectorAll('.follow .peak')].map(one => one.getBBox());
                const lines = [...document.querySelectorAll('.follow :is(.trace, .ghost)')];
                const corners = lines.flatMap(one => one.getAttribute('d').slice(1).split('L'))
                    .map(one => one.split(' ').map(Number));
                const inside = (box, at) => at[0] > box.x + 1 && at[0] < box.x + box.width - 1
                    && at[1] > box.y + 2 && at[1] < box.y + box.height - 3;
                const upon = (one, other) => one !== other && one.x < other.x + other.width - 1
                    && other.x < one.x + one.width - 1 && Math.abs(one.y - other.y) < one.height - 4;
                return names.some(
                    box => corners.some(at => inside(box, at)) || names.some(one => upon(box, one)));
            }"""
        ), point
    assert not complaints


@pytest.mark.parametrize("width", [1366, 380])
def test_the_ring_lies_on_the_mark_that_is_drawn(chromium: Browser, site: Path, width: int) -> None:
    """Within the ring stands a mark in the colour of its group, on the wide drawing and on the narrow one."""
    size = {"width": width, "height": 900}
    page = front(chromium, site / "index.html", [], viewport=size, reduced_motion="reduce")
    told = points_of(site)
    column = told["columns"][told["start"]]
    page.locator(".follow input").focus()
    for _ in range(len(column["points"]) - 1):
        page.keyboard.press("ArrowRight")
    page.locator(".ring").scroll_into_view_if_needed()
    ring = page.locator(".ring").bounding_box()
    assert ring is not None
    middle = [ring["x"] + ring["width"] / 2, ring["y"] + ring["height"] / 2]
    assert np.allclose(middle, where(page, told["start"], len(column["points"]) - 1), atol=1.0)
    colour = page.evaluate(f"getComputedStyle(document.querySelector('.g{column['group']}')).color")
    page.evaluate("document.querySelector('.ring').hidden = true")
    shot = page.screenshot(clip={"x": middle[0] - 1, "y": middle[1] - 1, "width": 2, "height": 2})
    wanted = [int(one) for one in re.findall(r"\d+", colour)[:3]]
    assert np.abs(pixels(shot) - wanted).max(axis=2).min() < 40


def pixels(shot: bytes) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    """Return a screenshot as (rows, columns, 3)."""
    with Image.open(BytesIO(shot)) as image:
        return np.asarray(image.convert("RGB"), dtype=np.int64)


def test_by_keyboard_alone(chromium: Browser, site: Path) -> None:
    """Arrow keys move along a decline, the list changes the column at about the same hours."""
    complaints: list[str] = []
    page = front(chromium, site / "index.html", complaints)
    slider = page.get_by_label("exposure:")
    slider.focus()
    page.keyboard.press("ArrowRight")
    first = page.locator(".follow [role=status]").inner_text()
    page.keyboard.press("End")
    last = page.locator(".follow [role=status]").inner_text()
    assert first != last
    assert slider.get_attribute("aria-valuetext") == "after 96 h, injection S3-20"
    hours = 96.0
    page.get_by_label("column:").select_option(index=8)
    assert page.locator(".follow [role=status]").inner_text() != last
    assert float((slider.get_attribute("aria-valuetext") or "").split()[1]) == pytest.approx(hours, abs=8)
    expect(page.locator(".follow .trace")).to_have_count(1)
    page.get_by_role("link", name="Both in the viewer").click()
    page.wait_for_url(re.compile(r"traces\.html#show="))
    expect(page.locator(".viewer .trace")).to_have_count(2)
    assert not complaints


def test_play_waits_to_be_asked_and_ends_by_itself(chromium: Browser, site: Path) -> None:
    """Nothing moves until it is pressed; then injection follows injection to the last; pressing pauses."""
    page = front(chromium, site / "index.html", [])
    page.wait_for_timeout(700)
    assert not page.locator(".follow .trace").count()
    page.get_by_label("exposure:").fill("17")
    page.get_by_role("button", name="play").click()
    expect(page.get_by_role("button", name="pause")).to_be_visible()
    expect(page.get_by_label("exposure:")).to_have_value("19", timeout=5000)
    expect(page.get_by_role("button", name="play")).to_be_visible()
    page.get_by_role("button", name="play").click()
    page.get_by_role("button", name="pause").click()
    at = page.get_by_label("exposure:").input_value()
    page.wait_for_timeout(700)
    assert page.get_by_label("exposure:").input_value() == at != "19"


def test_who_wants_less_motion_gets_no_play(chromium: Browser, site: Path) -> None:
    """The slider is there, the button is not."""
    page = front(chromium, site / "index.html", [], reduced_motion="reduce")
    assert page.get_by_label("exposure:").is_visible()
    assert page.locator(".follow button").is_hidden()


def test_a_tap_is_enough(chromium: Browser, site: Path) -> None:
    """On a phone a finger near a point shows its chromatogram within the width of the screen."""
    page = front(
        chromium,
        site / "index.html",
        [],
        viewport={"width": 380, "height": 840},
        has_touch=True,
        is_mobile=True,
    )
    page.locator(".pictures-first img").scroll_into_view_if_needed()
    page.touchscreen.tap(*where(page, 0, 12))
    expect(page.locator(".follow .trace")).to_have_count(1)
    assert page.evaluate("document.documentElement.scrollWidth") <= 380


def test_without_a_script_the_figure_stands_alone(chromium: Browser, site: Path) -> None:
    """What needs a script is not shown, and the figure is the picture that it is with one."""
    pictures = []
    for scripts in (True, False):
        page = opened(chromium, [], viewport={"width": 1366, "height": 900}, java_script_enabled=scripts)
        page.goto((site / "index.html").as_uri())
        assert page.locator(".follow").is_visible() is scripts
        pictures.append(page.locator(".pictures-first img").screenshot())
    assert np.array_equal(pixels(pictures[0]), pixels(pictures[1]))


def test_little_is_loaded_before_anybody_asks(chromium: Browser, site: Path) -> None:
    """Points below 14 kB and a script below 4 kB; traces and what draws them come with the first point."""
    asked: list[str] = []
    page = opened(chromium, [], viewport={"width": 1366, "height": 900})
    page.on("request", lambda request: asked.append(request.url.rpartition("/")[2]))
    page.goto((site / "index.html").as_uri())
    assert "follow.js" in asked
    assert "traces.js" not in asked
    assert (site / "theme/follow.js").stat().st_size <= MOST_SCRIPT_BYTES
    assert len(json.dumps(points_of(site), separators=(",", ":"))) <= MOST_BYTES
    before = len(asked)
    page.mouse.move(*where(page, 0, 5))
    expect(page.locator(".follow .trace")).to_have_count(1)
    scripts = [one for one in asked[before:] if one.endswith(".js")]
    assert scripts == ["traces.js", points_of(site)["columns"][0]["script"].rpartition("/")[2]]


def test_very_many_injections_are_thinned(rendered: Rendered) -> None:
    """Of a long test every second, third … injection can be followed, the first and the last among them."""
    edition = document_of(rendered.report, rendered.figures, rendered.document.edition.theme).edition
    view = edition.figure("lives")
    assert view is not None
    told = edition.trails[view.id]
    one = told.trails[0]
    long = Trail(one.column, one.injections * 100, one.hours * 100, one.values * 100)
    many = replace(edition, trails={view.id: replace(told, trails=(long, *told.trails[1:]))})
    following = following_of(many, view)
    assert following is not None
    assert len(following.points) <= MOST_BYTES
    points = json.loads(following.points)["columns"][0]["points"]
    assert 50 < len(points) < 2000
    assert [points[0][0], points[-1][0]] == [one.injections[0], one.injections[-1]]


def test_it_works_in_the_one_file(chromium: Browser, rendered: Rendered, tmp_path: Path) -> None:
    """The same file holds points, scripts and traces; nothing is asked for."""
    file = tmp_path / "report.html"
    file.write_bytes(in_one_file(rendered))
    complaints: list[str] = []
    page = front(chromium, file, complaints)
    page.mouse.move(*where(page, 0, 10))
    expect(page.locator(".follow .trace")).to_have_count(1)
    assert not complaints


@pytest.mark.parametrize("width", [390, 1440])
def test_who_moves_along_by_key_sees_what_changes(chromium: Browser, site: Path, width: int) -> None:
    """The first step brings words, handle and chromatogram into sight, and no later one moves the page."""
    page = opened(chromium, [], viewport={"width": width, "height": 844})
    page.goto((site / "index.html").as_uri())
    slider = page.get_by_label("exposure:")
    assert slider.get_attribute("aria-valuetext") == "after 0 h, injection S3-01"
    slider.evaluate("one => window.scrollTo(0, one.getBoundingClientRect().bottom + scrollY - innerHeight)")
    slider.focus()
    page.keyboard.press("ArrowRight")
    page.locator(".follow .drawing svg").first.wait_for()
    top, bottom = page.locator(".follow").evaluate(
        "one => [one.getBoundingClientRect().top, one.getBoundingClientRect().bottom]"
    )
    assert 0 <= top < bottom <= 844
    before = page.evaluate("scrollY")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("scrollY") == before
    page.context.close()


def test_what_moves_the_figure_stands_behind_it(chromium: Browser, site: Path) -> None:
    """In the order of reading and on the page the control comes next after its figure; by touch one taps."""
    page = front(chromium, site / "index.html", [])
    before = page.locator(".follow").evaluate("one => one.previousElementSibling.className")
    assert before == "pictures-first"
    figure, control = (page.locator(one).bounding_box() for one in (".pictures-first", ".follow"))
    assert figure is not None
    assert control is not None
    assert control["x"] == pytest.approx(figure["x"], abs=2)
    assert 0 <= control["y"] - figure["y"] - figure["height"] < 60
    assert "Point at" in page.locator(".follow [role=status]").inner_text()
    touched = front(chromium, site / "index.html", [], has_touch=True, is_mobile=True)
    assert touched.locator(".follow [role=status]").inner_text().startswith("Tap an injection")
