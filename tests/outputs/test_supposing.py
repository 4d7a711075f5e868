"""'What if the limit were another?': a slider, an honest name, and no claim."""

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from lyewitness.findings.records import Report
from lyewitness.words.lives import tell
from tests.outputs.test_following import front

pytestmark = pytest.mark.browser


def test_another_limit_moves_the_lives_and_says_what_if(
    chromium: Browser, site: Path, example: Report
) -> None:
    """By arrow keys the limit moves, a dashed line goes with it, the lives change, and 'what if' is said."""
    complaints: list[str] = []
    page = front(chromium, site / "index.html", complaints)
    box, slider = page.locator(".what-if"), page.get_by_label("limit:")
    lives = [
        one for one in example.judgement.group_lives if (one.marker, one.metric) == example.judgement.deciding
    ]
    told = " ".join(box.inner_text().split())
    for one in lives:
        assert f"{one.group}: {' '.join(tell(one.life).split())}" in told
    assert "What if it were" not in told
    assert page.locator(".supposed").count() == 0
    slider.focus()
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    assert slider.get_attribute("aria-valuetext") == "70 %"
    assert re.search(r"What if it were 70 .* No claim rests on this", box.inner_text())
    assert " ".join(box.inner_text().split()) != told
    level = page.locator(".supposed").bounding_box()
    assert level is not None
    height = page.evaluate(
        """() => {
            const image = document.querySelector('.pictures-first img'), box = image.getBoundingClientRect();
            const f = JSON.parse(document.querySelector('.follow script').textContent).wide;
            return box.top + box.height / f[1] * (f[3] + f[5] * (f[9] - 70) / (f[9] - f[8]));
        }"""
    )
    assert level["y"] == pytest.approx(height, abs=1.5)
    reached = sum(one.life.state == "reached" for one in lives)
    assert page.locator(".supposed-life").count() >= reached
    assert not complaints


def test_no_claim_rests_on_a_limit_that_was_not_set(site: Path) -> None:
    """No sentence of the answer and no table to take away holds a word of it; it waits for a script."""
    assert (
        "what if"
        not in json.dumps(json.loads((site / "data/claims.json").read_text(encoding="utf-8"))).lower()
    )
    page = (site / "index.html").read_text(encoding="utf-8")
    before, opened, rest = page.partition('<section class="what-if"')
    head, _, after = rest.partition("</section>")
    assert opened
    assert head.partition(">")[0].endswith("hidden")
    assert "What if" in head
    assert "what if" not in f"{before} {after}".lower()
