"""A disk that does not take what is written, two runs at once, a study that changes while it is read.

Whatever the disk refuses, and at whichever moment: one message that names the target and what to do, exit
code 1, what stood there before whole, and no scratch left.
"""

import errno
import hashlib
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from lyewitness import pipeline
from lyewitness.cli import main
from lyewitness.document.themes import load_theme
from lyewitness.outputs.archive import file_hashes
from lyewitness.outputs.marks import mark_of, not_ours
from lyewitness.study.inside import StudyFiles
from lyewitness.words.problems import StudyFolderError
from tests.hostile.making import sound_study
from tests.hostile.test_corpus import snapshot

COMMANDS = {
    "report": ["report", "STUDY", "--into", "OUT/report", "--no-pdf"],
    "one file": ["report", "STUDY", "--one-file", "--into", "OUT/send.html"],
    "reply": ["answer", "STUDY", "--into", "OUT/reply.html"],
    "bag": ["archive", "STUDY", "--into", "OUT/bag", "--no-pdf"],
    "packed bag": ["archive", "STUDY", "--into", "OUT/bag.zip", "--no-pdf"],
    "shelf": ["shelf", "HOME", "--into", "OUT/shelf"],
    "guide": ["guide", "--into", "OUT/guide"],
}
NEW = {"begin": ["begin", "OUT/new"], "rehearse": ["rehearse", "OUT/new"]}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a study, written once."""
    return sound_study(tmp_path_factory.mktemp("sound") / "study")


@pytest.fixture
def home(sound: Path, tmp_path: Path) -> Path:
    """Return a folder with a study of its own."""
    shutil.copytree(sound, tmp_path / "home" / "study")
    return tmp_path / "home"


def typed(command: list[str], home: Path, out: Path) -> list[str]:
    """Return the arguments of a command for these folders."""
    words = {"STUDY": home / "study", "HOME": home, "OUT": out}
    for word, path in words.items():
        command = [part.replace(word, str(path)) for part in command]
    return command


def changes(folder: Path, before: dict[str, bytes]) -> list[str]:
    """Return the paths that are not as they were."""
    after = snapshot(folder)
    return sorted(name for name in before.keys() | after.keys() if before.get(name) != after.get(name))


class FullDisk:
    """Lets `room` changes below a folder pass, refuses the next, and all after it that need room."""

    def __init__(self, folder: Path, room: int, code: int = errno.ENOSPC) -> None:
        self.folder, self.room, self.code, self.asked = str(folder), room, code, 0

    def guarded(self, change: Callable[..., Any]) -> Callable[..., Any]:
        """Return a change to the disk that is refused once there is no room."""

        def tried(path: Any, *more: Any, **named: Any) -> Any:
            writes = change is not open_file or any(sign in str(more[:1] or named) for sign in "wxa")
            if writes and str(path).startswith(self.folder):
                self.asked += 1
                if self.asked == self.room + 1 or (self.asked > self.room and change not in RENAMES):
                    # What the system says of a write names no file.
                    raise OSError(self.code, os.strerror(self.code))
            return change(path, *more, **named)

        return tried

    def fill(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Put the guard before every way in which the program changes a disk."""
        for name in ("mkdir", "rename", "replace", "symlink"):
            monkeypatch.setattr(os, name, self.guarded(getattr(os, name)))
        monkeypatch.setattr(Path, "write_bytes", self.guarded(write_bytes))
        monkeypatch.setattr(Path, "open", self.guarded(open_file))


RENAMES = (os.rename, os.replace)
"""These need no room: one may be refused for another reason, a second one passes."""
write_bytes, open_file = Path.write_bytes, Path.open


@pytest.fixture
def _computed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Compute and render each state of a study once: these tests are about what comes after."""
    for name in ("compute", "render"):
        monkeypatch.setattr(pipeline, name, _kept(getattr(pipeline, name)))


def _kept(make: Callable[..., Any], made: dict[object, Any] = {}) -> Callable[..., Any]:  # noqa: B006
    def once(given: Any, *more: Any, **named: Any) -> Any:
        key = (make, (given / "study.toml").read_bytes() if isinstance(given, Path) else id(given))
        if key not in made:
            made[key] = make(given, *more, **named)
        return made[key]

    return once


def moments(command: list[str], out: Path) -> list[int]:
    """Return after how many changes the disk is to be full: the first, second, middle and last one."""
    disk = FullDisk(out, 10**9)
    with pytest.MonkeyPatch.context() as patched:
        # What is kept of this run must not shorten the next ones.
        patched.setenv("XDG_CACHE_HOME", str(out.with_name("elsewhere")))
        disk.fill(patched)
        assert main(command) == 0
    count = disk.asked
    return sorted({0, 1, count // 2, count - 2, count - 1} & set(range(count)))


@pytest.mark.usefixtures("_computed_once")
@pytest.mark.parametrize("name", COMMANDS)
def test_a_full_disk_leaves_what_stood_there(
    name: str, home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """At whichever change the disk is full, an earlier result stays whole; the message names the target."""
    out = tmp_path / "out"
    out.mkdir()
    command = typed(COMMANDS[name], home, out)
    assert main(command) == 0
    study = home / "study" / "study.toml"
    study.write_text(study.read_text().replace("[study]", "[study] # changed", 1))
    before = snapshot(out)
    shutil.copytree(out, tmp_path / "kept")
    for room in moments(command, out):
        shutil.rmtree(out)
        shutil.copytree(tmp_path / "kept", out)
        capsys.readouterr()
        with pytest.MonkeyPatch.context() as patched:
            FullDisk(out, room).fill(patched)
            ended = main(command)
        told = " ".join(capsys.readouterr().err.split())
        assert (ended, changes(out, before)) == (1, []), (room, told)
        assert os.strerror(errno.ENOSPC) in told
        assert "free some room" in told
        assert str(out) in told
        assert ".lyewitness-" not in told
    assert main(command) == 0


@pytest.mark.parametrize("name", NEW)
def test_a_full_disk_leaves_no_part_of_a_new_study(
    name: str, home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A study that could not be laid out whole is not there, so that the same command works later."""
    out = tmp_path / "out"
    out.mkdir()
    command = typed(NEW[name], home, out)
    for room in (0, 5):
        with pytest.MonkeyPatch.context() as patched:
            FullDisk(out, room).fill(patched)
            assert main(command) == 1
        assert not snapshot(out)
    assert main(command) == 0
    assert (out / "new" / "study.toml").is_file()


def run(*arguments: str, largest: int = -1) -> "subprocess.Popen[bytes]":
    """Start the command as a process of its own that may write no file above `largest` bytes."""

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        if largest >= 0:
            resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))

    command = [sys.executable, "-m", "lyewitness", *arguments]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, preexec_fn=limit)


@pytest.mark.slow
@pytest.mark.usefixtures("_an_empty_store")
def test_a_limit_of_the_system_is_told(home: Path, tmp_path: Path) -> None:
    """A real refusal in the midst of a file ends like any other; the cache that is cut, too, does no harm."""
    out = tmp_path / "out"
    out.mkdir()
    process = run(*typed(COMMANDS["packed bag"], home, out), largest=60_000)
    _, told = process.communicate(timeout=120)
    assert process.returncode == 1, told
    assert b"nothing was written" in told
    assert b"Traceback" not in told
    assert not snapshot(out)


@pytest.mark.slow
@pytest.mark.usefixtures("_an_empty_store")
@pytest.mark.parametrize("name", ["report", "reply"])
def test_two_builds_at_once_both_end_well(name: str, home: Path, tmp_path: Path) -> None:
    """Two runs of one command into one target leave one whole result, and both say that they are done."""
    out = tmp_path / "out"
    out.mkdir()
    command = typed(COMMANDS[name], home, out)
    both = [run(*command, *(["--fresh"] if name == "report" else [])) for _ in range(2)]
    for process in both:
        _, told = process.communicate(timeout=240)
        assert process.returncode == 0, told
    assert not [path for path in out.iterdir() if path.name.startswith(".")]
    if name == "report":
        assert not_ours(out / "report", mark_of(out / "report")) == ()
    assert main(command) == 0


def changed_at(step: str, change: Callable[[], None]) -> pipeline.Progress:
    """Return what makes `change` as soon as a step of the pipeline begins."""
    done: list[str] = []

    def told(task: str, _share: float) -> None:
        if task == step and not done:
            done.append(task)
            change()

    return told


def test_what_was_read_is_what_is_computed(home: Path) -> None:
    """A study that is changed behind the reader gives the report of what was read, hashes included."""
    study = home / "study"
    sound = pipeline.compute(study)
    table = (study / "injections.csv").read_bytes()
    export = study / sound.study.injections[0].file

    def change() -> None:
        (study / "injections.csv").write_bytes(table.replace(b"H1", b"H9"))
        export.write_bytes(b"0,0\n1,1\n")
        (study / "notes" / "2026-03-02.md").write_text("Something else.")

    changed = pipeline.compute(study, changed_at("measuring peaks", change))
    assert file_hashes(changed.provenance) == file_hashes(sound.provenance)
    assert changed.measurements.rows == sound.measurements.rows
    files, wanted = (pipeline.render(one, load_theme("daylight")).files for one in (changed, sound))
    assert [name for name in wanted if files.get(name) != wanted[name]] == []


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_picture_that_changes_before_it_is_drawn_is_told(home: Path, jobs: int) -> None:
    """A report never shows another picture than the one whose hash it states."""
    study = home / "study"
    report = pipeline.compute(study)
    picture = study / "images" / "a.png"
    picture.write_bytes(picture.read_bytes() + b"more")
    with pytest.raises(StudyFolderError, match=r"images/a\.png.*changed during the work"):
        pipeline.render(report, load_theme("daylight"), jobs=jobs)


def test_a_file_read_again_must_be_the_same(tmp_path: Path) -> None:
    """The gate gives the bytes it gave before, or says that they are others now."""
    (tmp_path / "a.csv").write_bytes(b"1")
    stated = {"a.csv": hashlib.sha256(b"1").hexdigest()}
    assert StudyFiles(tmp_path, stated=stated).read("a.csv") == b"1"
    for change in (lambda: (tmp_path / "a.csv").write_bytes(b"2"), (tmp_path / "a.csv").unlink):
        change()
        with pytest.raises(StudyFolderError, match="changed during the work"):
            StudyFiles(tmp_path, stated=stated).read("a.csv")


@pytest.mark.usefixtures("_measured_before")
def test_an_archive_holds_what_was_computed(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every file of the bag has the hash that its report states; a study changed meanwhile is not packed."""
    bag = tmp_path / "bag"
    command = ["archive", str(home / "study"), "--into", str(bag), "--no-pdf"]
    assert main(command) == 0
    stated = json.loads((bag / "data/report/data/provenance.json").read_bytes())["files"]
    assert {"study.toml", "injections.csv", "images/a.png"} < set(stated)
    for name, digest in stated.items():
        assert hashlib.sha256((bag / "data/study" / name).read_bytes()).hexdigest() == digest
    assert main(["verify", str(bag)]) == 0
    true_render = pipeline.render

    def render(*given: Any) -> pipeline.Rendered:
        rendered = true_render(*given)
        with (home / "study" / "injections.csv").open("ab") as table:
            table.write(b"\n")
        return rendered

    monkeypatch.setattr(pipeline, "render", render)
    before = snapshot(bag)
    assert main(command) == 1
    assert "changed during the work" in " ".join(capsys.readouterr().err.split())
    assert not changes(bag, before)
