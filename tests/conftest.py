"""What many tests build once: the example report, as records, as files and by the command, and a browser."""

import fcntl
import os
import secrets
import shutil
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from lyewitness import pipeline
from lyewitness.cli import main
from lyewitness.document.themes import Theme, load_theme
from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.pipeline import Rendered
from lyewitness.rehearsal.scenario import small_scenario
from lyewitness.rehearsal.writing import write_study
from lyewitness.shipped import shipped_folder
from lyewitness.store import store_of_user
from tests.pages_on_disk import CHROMIUM, needs, written

LONGEST_FILES = 40
"""Listed after a run."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the files that hold a long test, so that no core waits for one of them at the end."""
    long = {
        item.path for item in items if item.get_closest_marker("slow") or item.get_closest_marker("browser")
    }
    items.sort(key=lambda item: item.path not in long)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the files whose tests took longest, setting up and tearing down included."""
    spent: defaultdict[str, float] = defaultdict(float)
    for reports in terminalreporter.stats.values():
        for one in reports:
            if isinstance(one, pytest.TestReport):
                spent[one.nodeid.partition("::")[0]] += one.duration
    terminalreporter.section(f"longest files, of {sum(spent.values()):.0f} s")
    for file, seconds in sorted(spent.items(), key=lambda one: -one[1])[:LONGEST_FILES]:
        terminalreporter.write_line(f"{seconds:7.1f}s {file}")


@pytest.fixture(scope="session")
def of_the_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder that all test processes of one run share."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@pytest.fixture(scope="session", autouse=True)
def _no_store_of_the_user(of_the_run: Path) -> None:
    """Keep what builds keep away from the user's own store; what the run shares is made by one process."""
    os.environ["XDG_CACHE_HOME"] = str(of_the_run / "kept")


@contextmanager
def one_at_a_time(of_the_run: Path, what: str) -> Iterator[None]:
    """Let one process after the other do `what`: the first makes it, the others find it."""
    with (of_the_run / f"{what}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


@pytest.fixture(autouse=True)
def _a_store_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Give each test an empty store: none may rest on what another one built."""
    place = tmp_path_factory.getbasetemp() / f"kept-{secrets.token_hex(8)}"
    monkeypatch.setenv("XDG_CACHE_HOME", str(place))


@pytest.fixture(scope="session")
def example_report(of_the_run: Path) -> Path:
    """Return the folder of the example study's report, built by the command once for all test processes."""
    folder = of_the_run / "example_report"
    with one_at_a_time(of_the_run, "example"):
        if not folder.exists():
            assert main(["report", str(shipped_folder("example_study")), "--into", str(folder)]) == 0
    return folder


@pytest.fixture(scope="session")
def small_study(of_the_run: Path) -> Path:
    """Return the folder of a small study; a test that changes it takes a copy."""
    folder = of_the_run / "small_study"
    with one_at_a_time(of_the_run, "small"):
        if not folder.exists():
            write_study(small_scenario(), folder)
    return folder


@pytest.fixture(scope="session")
def small_report(of_the_run: Path, small_study: Path) -> Path:
    """Return the folder of the small study's report without a PDF; a test that changes it takes a copy."""
    folder = of_the_run / "small_report"
    with one_at_a_time(of_the_run, "small"):
        if not folder.exists():
            assert main(["report", str(small_study), "--into", str(folder), "--no-pdf"]) == 0
    return folder


@pytest.fixture
def _store_of_the_run(of_the_run: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a test that is not about building take from the store what others built of the same."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(of_the_run / "kept"))


@pytest.fixture
def _kept_by_the_run(small_report: Path, _store_of_the_run: None) -> None:
    """Let a test that is not about building take from the store what the small report was built of."""


@pytest.fixture
def no_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make messages plain and wide, so that a test can read them."""
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "400")


@pytest.fixture(scope="session")
def example(of_the_run: Path) -> Report:
    """Return the example study's report as records."""
    with one_at_a_time(of_the_run, "example"):
        return pipeline.compute(shipped_folder("example_study"), store=store_of_user())


@pytest.fixture(scope="session")
def daylight() -> Theme:
    """Return the theme that others inherit."""
    return load_theme("daylight")


@pytest.fixture(scope="session")
def rendered(example: Report, daylight: Theme, of_the_run: Path) -> Rendered:
    """Return the example's site as files."""
    with one_at_a_time(of_the_run, "example"):
        return pipeline.render(example, daylight, store=store_of_user())


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
def journal_site(example: Report, of_the_run: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the example's site in the other theme that ships, on the disk."""
    with one_at_a_time(of_the_run, "journal"):
        rendered = pipeline.render(example, load_theme("journal"), store=store_of_user())
    return written(rendered, tmp_path_factory.mktemp("journal"))


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Return Chromium, without a window."""
    path = needs(shutil.which("chromium") or CHROMIUM, "chromium")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()
