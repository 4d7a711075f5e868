"""Every row of corpus.toml ends as it says: in a message with place and cure, or ready; never a traceback."""

import json
import os
import shutil
from pathlib import Path
from time import monotonic

import pytest

from lyewitness.cli import main
from tests.hostile.making import Case, cases, make, sound_study

# What a row leaves as it was is measured once, not by each row.
pytestmark = pytest.mark.usefixtures("_store_of_the_run")

LONGEST_S = 20.0
CASES = tuple(cases())


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the study that is changed, written once."""
    return sound_study(tmp_path_factory.mktemp("sound") / "study")


def snapshot(folder: Path) -> dict[str, bytes]:
    """Return what stands in a folder, by path."""
    found = {}
    for place, _, names in os.walk(folder):
        for name in names:
            path = Path(place, name)
            plain = path.is_file() and not path.is_symlink() and path.stat().st_size < 2**22
            found[os.fsencode(path).decode("latin-1")] = path.read_bytes() if plain else b""
    return found


def test_the_corpus_is_large() -> None:
    """There are at least 300 rows, and no two bear one name."""
    assert len({case.name for case in CASES}) == len(CASES) >= 300


@pytest.mark.parametrize("case", [one for one in CASES if one.way != "command"], ids=lambda one: one.name)
def test_a_bad_input_ends_in_one_message(
    case: Case, sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The message names place, finding and cure; nothing is written, and no time lost."""
    study = tmp_path / "study"
    shutil.copytree(sound, study)
    make(case, study)
    before = snapshot(tmp_path)
    capsys.readouterr()
    began = monotonic()
    code = main(["check", str(study), "--format", "json"])
    assert monotonic() - began < LONGEST_S
    out, err = capsys.readouterr()
    assert code == case.code, out[-2000:] + err
    assert not err.strip()
    problems = json.loads(out)["problems"]
    wanted = [one for one in problems if one["severity"] == case.outcome]
    said = [f"{one['file']} {one['place']} {one['found']} {one['expected']} {one['cure']}" for one in wanted]
    assert any(case.said in one for one in said) or case.outcome == "ready", "\n".join(said)
    assert all(one["found"] and one["expected"] and one["cure"] for one in problems)
    assert all(len(one) < 3000 for one in said)
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("case", [one for one in CASES if one.way == "command"], ids=lambda one: one.name)
def test_a_command_that_cannot_be_done_says_why(
    case: Case,
    sound: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Its exit code is that of the help, its words name what stands in the way, and nobody's file changes."""
    monkeypatch.setenv("COLUMNS", "1000")
    out_folder = tmp_path / "out"
    (out_folder / "mine").mkdir(parents=True)
    for name in ("mine.txt", "mine.html", "mine/note.md"):
        (out_folder / name).write_text("mine")
    study = tmp_path / "home" / "study"
    shutil.copytree(sound, study)
    monkeypatch.chdir(out_folder)
    before = snapshot(tmp_path)
    words = {"STUDY": str(study), "OUT": str(out_folder), "LONG": "x" * 300}
    arguments = [str(part) for part in case.making]
    for word, path in words.items():
        arguments = [part.replace(word, path) for part in arguments]
    began = monotonic()
    try:
        code = main(arguments)
    except SystemExit as stop:
        code = int(stop.code or 0)
    assert monotonic() - began < LONGEST_S
    out, err = capsys.readouterr()
    assert code == case.code, out + err
    assert case.said.lower() in (out + err).lower(), out + err
    assert snapshot(tmp_path) == before
