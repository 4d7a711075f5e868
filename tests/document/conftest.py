"""The example's pages, made once for all tests of this stage, and the browser that opens them."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from lyewitness import pipeline
from lyewitness.document.themes import Theme, load_theme
from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.pipeline import Rendered
from lyewitness.shipped import shipped_folder

CHROMIUM = "/usr/bin/chromium"


def needs(tool: str | Path | None, name: str) -> str:
    """Return the tool's path; where it is missing, skip on a desk and fail in CI."""
    if tool and Path(tool).exists():
        return str(tool)
    if os.environ.get("CI"):
        pytest.fail(f"{name} is not installed")
    pytest.skip(f"{name} is not installed")


def node_module(path: str) -> str:
    """Return a file of the node modules that check pages."""
    folder = Path(os.environ.get("LYEWITNESS_NODE_MODULES", "/opt/lye-node/node_modules"))
    return needs(folder / path, path)


@pytest.fixture(scope="session")
def example() -> Report:
    """Return the example study's report as records."""
    return pipeline.compute(shipped_folder("example_study"))


@pytest.fixture(scope="session")
def daylight() -> Theme:
    """Return the theme that others inherit."""
    return load_theme("daylight")


@pytest.fixture(scope="session")
def rendered(example: Report, daylight: Theme) -> Rendered:
    """Return the example's site as files."""
    return pipeline.render(example, daylight)


@pytest.fixture(scope="session")
def example_figures(rendered: Rendered) -> tuple[Figure, ...]:
    """Return the example's figures."""
    return rendered.figures


@pytest.fixture(scope="session")
def example_pages(rendered: Rendered) -> dict[str, str]:
    """Return the HTML of the example's pages by path."""
    return {path: data.decode() for path, data in rendered.files.items() if path.endswith(".html")}


@pytest.fixture(scope="session")
def site(rendered: Rendered, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the example's site on the disk."""
    return written(rendered, tmp_path_factory.mktemp("daylight"))


@pytest.fixture(scope="session")
def journal_site(example: Report, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the example's site in the other theme that ships, on the disk."""
    return written(pipeline.render(example, load_theme("journal")), tmp_path_factory.mktemp("journal"))


def written(rendered: Rendered, folder: Path) -> Path:
    """Write the files of a site into `folder` and return it."""
    for name, data in rendered.files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(data)
    return folder


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Return Chromium, without a window."""
    path = needs(shutil.which("chromium") or CHROMIUM, "chromium")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()
