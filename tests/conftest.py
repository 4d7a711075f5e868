"""What many tests build once: the example report, as records, as files and by the command, and a browser."""

import fcntl
import os
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from lyewitness import pipeline
from lyewitness.cli import main
from lyewitness.document.edition import Theme, load_theme
from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.pipeline import Rendered
from lyewitness.shipped import shipped_folder
from tests.pages_on_disk import CHROMIUM, needs, written


@pytest.fixture(scope="session", autouse=True)
def _no_store_of_the_user(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Keep what builds keep away from the user's own store."""
    os.environ["XDG_CACHE_HOME"] = str(tmp_path_factory.getbasetemp() / "kept")


@pytest.fixture(autouse=True)
def _a_store_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Give each test an empty store: none may rest on what another one built."""
    place = tmp_path_factory.getbasetemp() / f"kept-{secrets.token_hex(8)}"
    monkeypatch.setenv("XDG_CACHE_HOME", str(place))


@pytest.fixture(scope="session")
def example_report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the example study's report, built by the command once for all test processes."""
    own = tmp_path_factory.getbasetemp()
    shared = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
    folder = shared / "example" / "report"
    folder.parent.mkdir(exist_ok=True)
    with (shared / "example.lock").open("w") as lock:
        # The first process builds, the others wait for it.
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            assert main(["report", str(shipped_folder("example_study")), "--into", str(folder)]) == 0
    return folder


@pytest.fixture
def no_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make messages plain and wide, so that a test can read them."""
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "400")


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


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Return Chromium, without a window."""
    path = needs(shutil.which("chromium") or CHROMIUM, "chromium")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()
