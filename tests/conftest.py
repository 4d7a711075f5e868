"""What many tests build once: the example report, as records, as files and by the command, and a browser."""

import fcntl
import os
import secrets
import shutil
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from lyewitness import commands, pipeline
from lyewitness.cli import main
from lyewitness.document.themes import Theme, load_theme
from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.keeping.contents import bagged_again
from lyewitness.pipeline import Rendered
from lyewitness.rehearsal.scenario import small_scenario
from lyewitness.rehearsal.writing import write_study
from lyewitness.shipped import shipped_folder
from lyewitness.store import Store, store_of_user
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
def _store(
    request: pytest.FixtureRequest, of_the_run: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[None]:
    """Let a test take what others of the run made of the same; who changes the program begins with nothing.

    What a changed program makes would be kept as the program's own, and what is kept would not be made by it.
    """
    asked = set(request.fixturenames)
    place = of_the_run / "kept"
    if asked & {"monkeypatch", "_an_empty_store"} and "_store_of_the_run" not in asked:
        place = tmp_path_factory.getbasetemp() / f"kept-{secrets.token_hex(8)}"
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_CACHE_HOME", str(place))
        yield


@pytest.fixture
def _an_empty_store() -> None:
    """Give a test that is about building, or about the store, one that holds nothing."""


@pytest.fixture
def _store_of_the_run() -> None:
    """Let a test that changes nothing of the program but its surroundings take what others made, too."""


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
def kept_without_print(of_the_run: Path, small_study: Path) -> Path:
    """Return a store that holds the small study's report and bag, and nothing of what is printed."""
    folder = of_the_run / "kept_without_print"
    with one_at_a_time(of_the_run, "without_print"), pytest.MonkeyPatch.context() as patched:
        if not folder.exists():
            patched.setenv("XDG_CACHE_HOME", str(folder))
            for command in ("report", "archive"):
                into = of_the_run / f"{command}_without_print"
                assert main([command, str(small_study), "--into", str(into), "--no-pdf"]) == 0
            # Whoever builds the small study again finds all of this.
            shutil.copytree(folder, of_the_run / "kept", dirs_exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def small_report(of_the_run: Path, kept_without_print: Path) -> Path:
    """Return the folder of the small study's report without a PDF; a test that changes it takes a copy."""
    assert kept_without_print.exists()
    return of_the_run / "report_without_print"


@pytest.fixture
def _measured_before(_store_of_the_run: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let `verify`, which takes nothing from any store, take what the run has made of the same study.

    What it holds against a forged bag is the same, and need not be made for each of them.
    """
    compute, store = pipeline.compute, store_of_user()

    def taken(
        folder: Path, progress: pipeline.Progress = pipeline.silent, _: Store = store, jobs: int = 1
    ) -> Report:
        return compute(folder, progress, store, jobs)

    monkeypatch.setattr(pipeline, "compute", taken)
    monkeypatch.setattr(commands, "bagged_again", partial(bagged_again, store=store))


@pytest.fixture
def _all_but_the_print(
    kept_without_print: Path, monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Give a test of the print a store of its own, in which all of the small study is but what is printed."""
    place = tmp_path_factory.mktemp("kept") / "own"
    monkeypatch.setenv("XDG_CACHE_HOME", str(shutil.copytree(kept_without_print, place)))


@pytest.fixture
def no_colour() -> Iterator[None]:
    """Make messages plain and wide, so that a test can read them."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("NO_COLOR", "1")
        patched.setenv("COLUMNS", "400")
        yield


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
