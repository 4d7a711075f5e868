"""What many tests build once: the example report, and a small study with known truth."""

from pathlib import Path

import pytest

from lyewitness.cli import main
from lyewitness.shipped import shipped_folder


@pytest.fixture(scope="session")
def example_report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the example study's report, built by the command."""
    folder = tmp_path_factory.mktemp("example") / "report"
    assert main(["report", str(shipped_folder("example_study")), "--into", str(folder)]) == 0
    return folder


@pytest.fixture
def no_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make messages plain and wide, so that a test can read them."""
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "400")
