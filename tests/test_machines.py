"""The program as others install it: the lowest versions it states, the newest, and each Python it names."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from lyewitness.cli import main
from lyewitness.rehearsal.writing import write_study
from tests.lean_study import lean_scenario

ROOT = Path(__file__).resolve().parent.parent
TABLES = ("measurements.csv", "group_lives.csv", "comparisons.csv")
"""The measured numbers, the lives and what is concluded of them."""
NEAR = 1e-6
"""By so much two numeric libraries may differ in a measured number: far below any figure that is shown."""


def pythons() -> dict[str, str]:
    """Return the Pythons that the project names, with a program for each that is found on this machine."""
    named = re.findall(r"Programming Language :: Python :: (3\.\d+)", (ROOT / "pyproject.toml").read_text())
    found: dict[str, str] = {}
    for version in named:
        managed = Path.home().glob(f".pyenv/versions/{version}.*/bin/python3")
        places = [shutil.which(f"python{version}"), *managed]
        sound = [str(place) for place in places if place and is_of(str(place), version)]
        found |= {version: sound[0]} if sound else {}
    return found


def is_of(program: str, version: str) -> bool:
    """Whether a program runs and is the Python of this version."""
    told = subprocess.run([program, "-V"], capture_output=True, text=True, check=False)
    return told.returncode == 0 and told.stdout.startswith(f"Python {version}.")


def uv(*words: str | Path) -> None:
    """Run the installer of the checks' own environment."""
    told = [sys.executable, "-m", "uv", "--quiet", *(str(word) for word in words)]
    subprocess.run(told, check=True)


def cells(table: Path) -> list[list[str]]:
    """Return the cells of a table, row by row."""
    return [line.split(",") for line in table.read_text(encoding="utf-8").splitlines()]


def is_near(one: str, other: str) -> bool:
    """Whether two cells hold the same word, or numbers that no reader could tell apart."""
    try:
        return float(one) == pytest.approx(float(other), rel=NEAR, abs=NEAR)
    except ValueError:
        return one == other


OTHERS = [("lowest-direct", ".".join(map(str, sys.version_info[:2])))] + [
    ("highest", version) for version in pythons() if not sys.version.startswith(f"{version}.")
]


def test_the_python_that_runs_the_tests_is_one_that_the_project_names() -> None:
    """So each Python that is found here is tried: one by these tests, the others below."""
    assert ".".join(map(str, sys.version_info[:2])) in pythons()


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the program's wheel."""
    folder = tmp_path_factory.mktemp("wheel")
    uv("build", "--wheel", "--out-dir", folder, ROOT)
    return next(folder.glob("*.whl"))


@pytest.fixture(scope="module")
def lean_study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a study, written once."""
    folder = tmp_path_factory.mktemp("lean") / "study"
    write_study(lean_scenario(), folder)
    return folder


@pytest.fixture(scope="module")
def lean_report(lean_study: Path) -> Path:
    """Return the folder of its report as it is built here, without a PDF."""
    folder = lean_study.with_name("report")
    assert main(["report", str(lean_study), "--into", str(folder), "--no-pdf"]) == 0
    return folder


@pytest.mark.slow
@pytest.mark.usefixtures("_an_empty_store")
@pytest.mark.parametrize(("versions", "python"), OTHERS)
def test_a_report_is_built_whole_and_says_the_same(
    wheel: Path, lean_study: Path, lean_report: Path, versions: str, python: str, tmp_path: Path
) -> None:
    """From the wheel in a fresh environment: site, PDF and the measured numbers of this environment."""
    uv("venv", "--python", pythons()[python], tmp_path / "machine")
    program = tmp_path / "machine" / "bin" / "python"
    uv("pip", "install", "--python", program, "--resolution", versions, wheel)
    # Isolated, the other machine's Python sees what was installed there and nothing of this checkout.
    command = [program, "-I", "-m", "lyewitness", "report", lean_study, "--into", tmp_path / "there"]
    subprocess.run([str(word) for word in command], check=True, cwd=tmp_path)
    assert (tmp_path / "there" / "report.pdf").stat().st_size > 100_000
    for name in TABLES:
        here, there = cells(lean_report / "data" / name), cells(tmp_path / "there" / "data" / name)
        assert len(here) == len(there) > 1
        others = [(a, b) for x, y in zip(here, there, strict=True) for a, b in zip(x, y, strict=True)]
        assert [pair for pair in others if not is_near(*pair)] == []
