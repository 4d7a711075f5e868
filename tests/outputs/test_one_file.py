"""The report as one file: whole, small enough to send, and usable without anything beside it."""

import re
import shutil
import subprocess
from pathlib import Path
from urllib.parse import unquote
from xml.etree.ElementTree import Element, tostring

import html5lib
import pytest
from playwright.sync_api import Browser, expect

from lyewitness.outputs.assets import for_both_grounds
from lyewitness.outputs.one_file import short_path
from lyewitness.pipeline import Rendered, in_one_file
from tests.outputs.test_browser import opened
from tests.pages_on_disk import needs, node_module

MOST_BYTES = 12_000_000
FOR_INJECTIONS = 200


@pytest.fixture(scope="module")
def one(rendered: Rendered) -> str:
    """Return the example as one file."""
    return in_one_file(rendered).decode("utf-8")


@pytest.fixture(scope="module")
def tree(one: str) -> Element:
    """Return its elements: ten megabytes take ten seconds to read."""
    read: Element = html5lib.parse(one, namespaceHTMLElements=False)
    return read


def test_every_link_leads_into_the_file(tree: Element, example_pages: dict[str, str]) -> None:
    """Every page is a sheet of the file, every link a fragment that is there or data to save."""
    anchors = {element.get("id") for element in tree.iter() if element.get("id")}
    sheets = [element for element in tree.iter("div") if element.get("class") == "sheet"]
    assert len(sheets) == len(example_pages)
    for element in tree.iter():
        for name in ("href", "src", "srcset"):
            value = element.get(name)
            if value is not None and not value.startswith("data:"):
                assert value.startswith("#"), (element.tag, value)
                assert unquote(value[1:].partition("?")[0]) in anchors, value


def test_it_is_small_enough_to_send(one: str, tree: Element, rendered: Rendered) -> None:
    """With 200 injections, by what each of the example's takes, the file is no larger than 12 MB."""
    injections = len(rendered.report.study.injections)
    sheets = [one for one in tree.iter("div") if (one.get("id") or "").startswith("injections-")]
    traces = [one for one in tree.iter("script") if one.get("data-traces")]
    taken = sum(len(tostring(one)) for one in (*sheets, *traces)) / injections
    assert 10_000 < taken < 60_000
    assert len(one.encode()) + taken * (FOR_INJECTIONS - injections) <= MOST_BYTES


@pytest.mark.browser
def test_it_works_alone(chromium: Browser, one: str, rendered: Rendered, tmp_path: Path) -> None:
    """Moved elsewhere, it shows one sheet at a time, its viewer and search work, and it asks for nothing."""
    file = tmp_path / "report.html"
    file.write_text(one, encoding="utf-8")
    complaints: list[str] = []
    page = opened(chromium, complaints, viewport={"width": 1366, "height": 900})
    page.goto(file.as_uri())
    assert page.locator(".sheet:visible").count() == 1
    page.locator(".running nav a").nth(1).click()
    assert page.locator(".sheet:visible").get_attribute("id") == "columns-index"
    page.go_back()
    assert page.locator(".sheet:visible").get_attribute("id") == "index"
    first = rendered.report.study.injections[0].id
    page.goto(f"{file.as_uri()}#traces?show={first}")
    expect(page.locator(".trace")).to_have_count(1)
    page.goto(f"{file.as_uri()}#search")
    page.locator("input[type=search]:visible").first.fill("butylbenzene")
    page.locator("[data-part=results] a").first.click()
    assert page.locator(".sheet:visible").get_attribute("id") != "search"
    assert not complaints


@pytest.mark.browser
def test_it_is_whole_without_scripts(chromium: Browser, one: str, tmp_path: Path) -> None:
    """With scripts off every sheet is shown, one below the other."""
    file = tmp_path / "report.html"
    file.write_text(one, encoding="utf-8")
    page = opened(chromium, [], java_script_enabled=False)
    page.goto(file.as_uri())
    assert page.locator(".sheet:visible").count() == page.locator(".sheet").count() > 200


@pytest.mark.parametrize(
    ("path", "short"),
    [
        ("M 46 346.5 \nL 46 -34.2 z", "M46,346.5L46-34.2z"),
        ("M1 2l.5 -.9 .5 -2.7", "M1,2l.5-.9,.5-2.7"),
        ("M 1e-3 2E5 C 0 1, 2 3, 4 5", "M1e-3,2E5C0,1,2,3,4,5"),
        ("M10 10a5 5 0 0 1 3 3", "M10,10a5,5,0,0,1,3,3"),
    ],
)
def test_a_shortened_path_draws_the_same(path: str, short: str) -> None:
    """Blanks go, commands and numbers stay in their order (grammar of path data: SVG 1.1, 8.3.9)."""
    assert short_path(path) == short
    numbers = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?|[A-DF-Za-df-z]")
    assert numbers.findall(path) == numbers.findall(short)


@pytest.mark.browser
def test_it_is_valid(one: str, tmp_path: Path) -> None:
    """The Nu checker finds no error in the one file."""
    java = needs(shutil.which("java"), "java")
    file = tmp_path / "report.html"
    file.write_text(one, encoding="utf-8")
    command = [java, "-Xss8m", "-jar", node_module("vnu-jar/build/dist/vnu.jar"), "--errors-only", str(file)]
    result = subprocess.run(command, capture_output=True, text=True, timeout=240, check=False)
    assert result.returncode == 0, result.stderr[:3000]


def test_one_picture_serves_both_grounds() -> None:
    """Two SVGs that differ in their styles' colours become one; any other difference keeps them two."""
    light = '<svg viewBox="0 0 1 1"><path style="fill: #ffffff; stroke: #000000"/></svg>'
    dark = '<svg viewBox="0 0 1 1"><path style="fill: #000000; stroke: #ffffff"/></svg>'
    both = for_both_grounds(light, dark)
    assert both is not None
    assert 'style="fill: var(--c0); stroke: var(--c1)"' in both
    assert "--c0:#ffffff;--c1:#000000" in both
    assert "--c0:#000000;--c1:#ffffff" in both
    assert for_both_grounds(light, dark.replace("0 0 1 1", "0 0 2 2")) is None
    assert for_both_grounds('<svg fill="#ffffff"/>', '<svg fill="#000000"/>') is None
