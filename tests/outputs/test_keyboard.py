"""A reader without a mouse, who never saw a report, finds where the first column failed."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from lyewitness.findings.records import Report
from tests.outputs.test_browser import opened

pytestmark = pytest.mark.browser

MOST_KEYS = 8
"""Presses from the opened page to that of the injection: at seven seconds each, a minute."""
MOST_WITHOUT_SKIP = 24
"""The same for who does not take the short way: every link of the head lies before the text."""


def focused(page: Page) -> str:
    """Return the words of what has the focus."""
    found: str = page.evaluate("document.activeElement.textContent.trim()")
    return found


def first_past(example: Report) -> tuple[str, str]:
    """Return the last injection within the limit and the first past it, of the first column to fail.

    From the measured values alone: the first that lies below 80 % of the column's reference.
    """
    first = min(
        (one for one in example.judgement.first_failures if one.metric),
        key=lambda one: one.life.hours.value or float("inf"),
    )
    values = {
        row.injection: row.plate_number_half_height
        for row in example.measurements.rows
        if (row.column, row.marker) == (first.column, first.marker)
    }
    names = list(values)
    own = [value for value in values.values() if value is not None]
    reference = sum(own[:3]) / 3
    past = next(place for place, value in enumerate(own) if value < 0.8 * reference)
    return names[past - 1], names[past]


def keys_to(page: Page, wanted: str, most: int) -> int:
    """Press Tab until what is `wanted` has the focus, then Enter; return how many keys were pressed."""
    for pressed in range(1, most):
        page.keyboard.press("Tab")
        if focused(page) == wanted:
            page.keyboard.press("Enter")
            return pressed + 1
    pytest.fail(f"{wanted} was not reached with {most} keys")


@pytest.mark.parametrize("width", [1280, 380])
def test_the_injection_after_which_the_first_column_failed_is_found_by_keyboard(
    chromium: Browser, site: Path, example: Report, width: int
) -> None:
    """Past the head, the first two injections that are led to are the last good one and the first bad one."""
    good, bad = first_past(example)
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": width, "height": 800})
    page.goto((site / "index.html").as_uri())
    keys = keys_to(page, "Skip to the answer", 2)
    reached = []
    while bad not in reached and keys < MOST_KEYS:
        page.keyboard.press("Tab")
        keys += 1
        reached.append(focused(page))
    assert reached[-2:] == [good, bad]
    line = page.evaluate("document.activeElement.closest('p').textContent")
    assert f"first beyond it: {bad}" in line
    box = page.locator(":focus").bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 800
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/injections/{bad}.html")
    assert keys + 1 <= MOST_KEYS
    assert not complaints


def test_it_is_found_without_the_short_way(chromium: Browser, site: Path, example: Report) -> None:
    """Whoever walks through the whole head comes there, too; the page at hand is no stop on the way."""
    _, bad = first_past(example)
    page = opened(chromium, [], viewport={"width": 1280, "height": 800})
    page.goto((site / "index.html").as_uri())
    stops: list[str] = []
    while bad not in stops and len(stops) < MOST_WITHOUT_SKIP:
        page.keyboard.press("Tab")
        stops.append(focused(page))
    assert stops[-1] == bad
    assert "Answer" not in stops
    assert example.study.title not in stops


def test_the_page_at_hand_is_no_stop_on_any_page(chromium: Browser, site: Path) -> None:
    """What is current in the head has no address; what only lies above the page keeps its own."""
    page = opened(chromium, [], viewport={"width": 1280, "height": 800})
    for path, label, leads in (("audit.html", "audit", False), ("columns/S3.html", "columns", True)):
        page.goto((site / path).as_uri())
        current = page.locator("nav [aria-current]").first
        assert current.inner_text() == label
        assert (current.get_attribute("href") is not None) == leads


def test_the_table_of_a_column_marks_the_first_injection_past_the_limit(
    chromium: Browser, site: Path, example: Report
) -> None:
    """The first injection past the limit is ruled off, and its share of the reference stands beside it."""
    _, bad = first_past(example)
    page = opened(chromium, [], viewport={"width": 1280, "height": 800})
    page.goto((site / f"columns/{bad.partition('-')[0]}.html").as_uri())
    heads = page.locator("#table-injections thead th").all_inner_texts()
    place = heads.index("% of reference")
    row = page.locator("#table-injections tr.turning")
    assert row.count() == 1
    assert row.locator("th").inner_text() == bad
    told = row.locator("th, td").nth(place).inner_text()
    assert "first beyond the limit" in told
    assert float(told.split()[0]) < 80
    before = row.locator("xpath=preceding-sibling::tr[1]").locator("th, td").nth(place).inner_text()
    assert float(before) >= 80
