"""A study of five days played in a minute or two while it is watched."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from lyewitness.rehearsal.writing import write_study
from lyewitness.watching import at_rest, keep_watch, listing_of
from tests.lean_study import lean_scenario

ENDS_H = 120
GARBLED, BLANK = 8, 13
"""Places, in the order of time, of the two injections that go wrong."""


def files_of(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder by its path."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def command(*words: str | Path) -> list[str]:
    """Return the command as it is started from a shell."""
    return [sys.executable, "-m", "lyewitness.cli", *map(str, words)]


def slowly(path: Path, data: bytes, mode: str = "wb") -> None:
    """Write a file in two halves, as an instrument does."""
    path.parent.mkdir(exist_ok=True)
    with path.open(mode) as file:
        file.write(data[: len(data) // 2])
        file.flush()
        time.sleep(0.15)
        file.write(data[len(data) // 2 :])


def begun(truth: Path, study: Path) -> list[str]:
    """Lay out a study before its first injection, and return the rows of its injections by time."""
    head, *rows = (truth / "injections.csv").read_text().splitlines()
    hours = head.split(",").index("exposure_h")
    study.mkdir()
    told = (truth / "study.toml").read_text().replace("[test]\n", f"[test]\nends_h = {ENDS_H}\n", 1)
    assert "ends_h" in told
    (study / "study.toml").write_text(told)
    (study / "injections.csv").write_text(f"{head}\n")
    return sorted(rows, key=lambda row: float(row.split(",")[hours]))


def blank_like(export: bytes) -> bytes:
    """Return a text export of the same length without a peak in it."""
    lines = export.decode().splitlines()
    cut = next(i for i, line in enumerate(lines) if line[:1].isdigit())
    flat = [f"{line.split(',')[0]},{0.01 * (number % 3):.4f}" for number, line in enumerate(lines[cut:])]
    return "\n".join([*lines[:cut], *flat, ""]).encode()


@pytest.mark.slow
@pytest.mark.usefixtures("_an_empty_store")
def test_a_study_of_five_days_is_watched(tmp_path: Path) -> None:
    """Files come half written, two injections are bad, the drive goes away, the watch is killed twice.

    The last report equals one built afresh, byte for byte.
    """
    truth, study, report = tmp_path / "truth", tmp_path / "study", tmp_path / "report"
    write_study(lean_scenario(), truth)
    rows = begun(truth, study)
    watch = command("watch", study, "--into", report, "--no-pdf", "--rest", "0.6", "--jobs", "1")
    log = (tmp_path / "log").open("w")
    watching = subprocess.Popen(watch, stdout=log, stderr=log)
    text = [place for place, row in enumerate(rows) if row.split(",")[1].endswith(".csv")]
    blank = min(text, key=lambda place: abs(place - BLANK))
    try:
        for place, row in enumerate(rows):
            name = row.split(",")[1]
            export = (truth / name).read_bytes()
            if place == GARBLED:
                slowly(study / name, b"\0\1 garbled" * 40)
            else:
                slowly(study / name, blank_like(export) if place == blank else export)
            slowly(study / "injections.csv", f"{row}\n".encode(), "ab")
            if place in (9, 17):
                time.sleep(4.0)
                watching.kill()
                watching.wait()
                watching = subprocess.Popen(watch, stdout=log, stderr=log)
            if place == GARBLED + 3:
                broken = study / rows[GARBLED].split(",")[1]
                slowly(broken, (truth / rows[GARBLED].split(",")[1]).read_bytes())
            if place == 14:
                study.rename(tmp_path / "away")
                time.sleep(2.0)
                (tmp_path / "away").rename(study)
        assert watching.wait(timeout=240) == 0, (tmp_path / "log").read_text()
    finally:
        watching.kill()
        log.close()
    fresh = tmp_path / "fresh"
    told = subprocess.run(command("report", study, "--into", fresh, "--no-pdf", "--fresh"), check=False)
    assert told.returncode == 0
    assert files_of(report) == files_of(fresh)
    assert b'src="report/index.html"' in (tmp_path / "report-live.html").read_bytes()


def test_a_folder_is_at_rest_when_nothing_changes(tmp_path: Path) -> None:
    """What lies there is told once nothing has changed for a while; of what has gone nothing is told."""
    (tmp_path / "file").write_text("a")
    assert at_rest(tmp_path, 0.1, lambda: None) == listing_of(tmp_path)
    assert at_rest(tmp_path / "gone", 0.1, lambda: None) is None


def test_work_is_done_once_for_each_change(tmp_path: Path) -> None:
    """The first look and each change give one piece of work; so does a folder that was gone and is back."""
    study, away = tmp_path / "study", tmp_path / "away"
    study.mkdir()
    done: list[int] = []
    said: list[str] = []

    def work() -> bool:
        done.append(len(list(study.iterdir())))
        if len(done) == 1:
            (study / "one").write_text("1")
        elif len(done) == 2:
            study.rename(away)
        return len(done) == 3

    def tell(line: str) -> None:
        said.append(line)
        away.rename(study)
        (study / "two").write_text("2")

    keep_watch(study, work, tell, lambda: None, rest_s=0.05, look_s=0.1)
    assert done == [0, 1, 2]
    assert len(said) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_a_watch_ends_when_it_is_told_to(tmp_path: Path) -> None:
    """A request to end stops the watch within seconds, with the exit code of shells."""
    (tmp_path / "study").mkdir()
    words = command("watch", tmp_path / "study", "--into", tmp_path / "report", "--no-pdf")
    watching = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=os.environ)
    assert watching.stderr is not None
    watching.stderr.readline()
    watching.send_signal(signal.SIGTERM)
    assert watching.wait(timeout=60) == 143
