"""Before and after under one slider: by keyboard, without a script, on paper, and never changed."""

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

from lyewitness.document.parts import document_of
from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from tests.outputs.test_following import front

pytestmark = pytest.mark.browser
FRIT = "figure.pair[data-part=pair]"


def boxes(page: Page) -> list[dict[str, float]]:
    """Return where the two pictures of the first pair of one place are seen."""
    places = "all => all.map((one) => one.getBoundingClientRect().toJSON())"
    found: list[dict[str, float]] = page.locator(FRIT).first.locator(".view").evaluate_all(places)
    return found


def grey(page: Page) -> np.ndarray:
    """Return the first pair of one place as it is seen."""
    shot = page.locator(FRIT).first.locator(".pictures").screenshot()
    return np.asarray(Image.open(BytesIO(shot)).convert("L"), dtype=float)


def test_by_keyboard_the_later_picture_comes_and_goes(chromium: Browser, site: Path) -> None:
    """At one end of the slider the earlier picture is seen whole, at the other the later one."""
    complaints: list[str] = []
    page = front(chromium, site / "images.html", complaints)
    page.locator(FRIT).first.scroll_into_view_if_needed()
    slider = page.locator(f"{FRIT} input[type=range]").first
    first, second = boxes(page)
    assert (first["x"], first["y"]) == (second["x"], second["y"])
    slider.focus()
    page.keyboard.press("Home")
    later = grey(page)
    page.keyboard.press("End")
    earlier = grey(page)
    assert np.abs(later - earlier).mean() > 2
    page.keyboard.press("ArrowLeft")
    assert (
        slider.get_attribute("aria-valuetext") == "earlier picture up to 99 % of the width, later one beyond"
    )
    for _ in range(49):
        page.keyboard.press("ArrowLeft")
    both, middle = grey(page), earlier.shape[1] // 2
    assert np.abs(both - earlier)[:, 4 : middle - 4].mean() < 1
    assert np.abs(both - later)[:, middle + 4 : -4].mean() < 1
    assert not complaints


def test_other_particles_stand_side_by_side(chromium: Browser, site: Path) -> None:
    """Pairs of pictures that do not show one place have no slider."""
    page = front(chromium, site / "images.html", [])
    assert page.locator("figure.pair").count() == 5
    assert page.locator(FRIT).count() == 2
    first, second = (one.bounding_box() for one in page.locator("figure.pair").first.locator(".view").all())
    assert first
    assert second
    assert first["y"] == second["y"]
    assert first["x"] + first["width"] <= second["x"]


@pytest.mark.parametrize("way", ["no script", "paper"])
def test_without_a_script_and_on_paper_both_are_seen(chromium: Browser, site: Path, way: str) -> None:
    """Side by side, whole, without the slider: what needs a script is not there, what was moved is back."""
    context = chromium.new_context(
        java_script_enabled=way == "paper", viewport={"width": 1200, "height": 900}
    )
    page = context.new_page()
    page.goto((site / "images.html").as_uri())
    if way == "paper":
        slider = page.locator(f"{FRIT} input[type=range]").first
        slider.focus()
        page.keyboard.press("Home")
        page.emulate_media(media="print")
    first, second = boxes(page)
    assert first["y"] == second["y"]
    assert first["x"] + first["width"] <= second["x"]
    assert not page.locator(".uncover").first.is_visible()
    if way == "paper":
        clips = page.evaluate(
            "[...document.querySelectorAll('.view')].map((one) => getComputedStyle(one).clipPath)"
        )
        assert set(clips) == {"none"}
    context.close()


def test_each_picture_is_on_the_page_once_and_as_it_was(site: Path, example: Report) -> None:
    """Every image of the study is shown by one file, whose pixels are those of the study's own."""
    page = (site / "images.html").read_text(encoding="utf-8")
    for image in example.study.images:
        assert page.count(f'src="figures/images/image-{image.id}.png"') == 1
        with (
            Image.open(site / f"figures/images/image-{image.id}.png") as shown,
            Image.open(example.study.folder / image.file) as own,
        ):
            assert np.array_equal(np.asarray(shown.convert("L")), np.asarray(own.convert("L")))


def test_every_picture_keeps_its_address(
    example: Report, example_figures: tuple[Figure, ...], example_pages: dict[str, str], daylight: object
) -> None:
    """What leads to a picture, to its figure or to the pair finds them on the page."""
    edition = document_of(example, example_figures, daylight).edition  # type: ignore[arg-type]
    for image in example.study.images:
        anchor = edition.addresses.of("image", image.id).partition("#")[2]
        assert f'id="{anchor}"' in example_pages["images.html"]
    for figure in example_figures:
        page, _, anchor = edition.figures[figure.id].home.partition("#")
        if page == "images.html":
            assert f'id="{anchor}"' in example_pages[page]
