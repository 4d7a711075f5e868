"""Files are put on disk so that a stop at any moment leaves a whole result, and nobody's file is lost."""

import hashlib
import json
import multiprocessing
import os
import random
import time
from collections.abc import Mapping
from multiprocessing.process import BaseProcess
from multiprocessing.synchronize import Event
from pathlib import Path

import pytest

from lyewitness.outputs import placing
from lyewitness.outputs.marks import REPORT_MARK, Kind, Origin, PlaceTakenError, mark_of, not_ours
from lyewitness.outputs.placing import (
    PLACING,
    place_files,
    place_folder,
    place_html,
    place_reply,
    refuse_folder,
    scratch_beside,
)

PAGES = 60


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below the folder, the mark left out."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.relative_to(folder).as_posix() != REPORT_MARK
    }


@pytest.fixture(params=["exchange", "two renames"])
def _swapping(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Try the system's exchange, and the way of systems that have none."""
    if request.param == "two renames":
        monkeypatch.setattr(placing, "exchanged", lambda *_: False)


@pytest.mark.usefixtures("_swapping")
def test_a_new_folder_replaces_the_old_one_whole(tmp_path: Path) -> None:
    """Files of an older result that the new one does not have are gone, and no scratch is left."""
    target = tmp_path / "report"
    place_folder({"index.html": b"1", "old/page.html": b"old"}, target, "report", "S1")
    place_folder({"index.html": b"2", "new.html": b"new"}, target, "report", "S1")
    assert contents(target) == {"index.html": b"2", "new.html": b"new"}
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


@pytest.mark.usefixtures("_swapping")
def test_what_has_not_changed_is_not_written_again(tmp_path: Path) -> None:
    """A page that holds the same bytes stays the file it was; a link of somebody's is never taken over."""
    target = tmp_path / "report"
    place_folder({"same.html": b"same", "a/page.html": b"old"}, target, "report", "S1")
    stood = {name: (target / name).stat().st_ino for name in ("same.html", "a/page.html")}
    place_folder({"same.html": b"same", "a/page.html": b"new"}, target, "report", "S1")
    assert contents(target) == {"same.html": b"same", "a/page.html": b"new"}
    assert (target / "same.html").stat().st_ino == stood["same.html"]
    assert (target / "same.html").stat().st_nlink == 1
    (tmp_path / "mine").write_bytes(b"same")
    (target / "same.html").unlink()
    (target / "same.html").symlink_to(tmp_path / "mine")
    kept = place_folder({"same.html": b"same", "a/page.html": b"new"}, target, "report", "S1", force=True)
    assert not (target / "same.html").is_symlink()
    assert kept is not None
    assert (kept / "a" / "page.html").stat().st_nlink == 1, "what is kept shares nothing with the new report"


@pytest.mark.usefixtures("_swapping")
@pytest.mark.parametrize("moment", ["write", "swap"])
def test_a_stop_leaves_the_old_folder_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    """An interrupt while writing, or between the two renames, leaves the older result as it was."""
    target = tmp_path / "report"
    place_folder({"page.html": b"old"}, target, "report", "S1")
    true_rename = Path.rename

    def stop(self: Path, *_: object) -> None:
        raise KeyboardInterrupt

    def stop_at_the_second(self: Path, goal: Path) -> Path:
        if self.name == "fresh":
            raise KeyboardInterrupt
        return true_rename(self, goal)

    if moment == "write":
        monkeypatch.setattr(Path, "write_bytes", stop)
    else:
        monkeypatch.setattr(placing, "exchanged", lambda *_: False)
        monkeypatch.setattr(Path, "rename", stop_at_the_second)
    with pytest.raises(KeyboardInterrupt):
        place_folder({"page.html": b"new"}, target, "report", "S1")
    monkeypatch.undo()
    assert contents(target) == {"page.html": b"old"}
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


def place_again_and_again(target: Path, way: str, begun: Event) -> None:
    """Replace the folder by one of the other letter until killed."""
    if way == "two renames":
        setattr(placing, "exchanged", lambda *_: False)  # noqa: B010
    for turn in range(10_000):
        letter = "AB"[turn % 2].encode()
        files = {f"part{n % 7}/page{n}.html": letter * 2000 for n in range(PAGES)}
        place_folder(files, target, "report", "S1")
        begun.set()


def placing_process(target: Path, way: str) -> BaseProcess:
    """Start a process that replaces the folder again and again, and return when it has begun."""
    # A copy of this process begins in milliseconds; a new one would spend its time on loading.
    context = multiprocessing.get_context("fork")
    begun = context.Event()
    process = context.Process(target=place_again_and_again, args=(target, way, begun))
    process.start()
    begun.wait()
    return process


def is_whole(target: Path) -> bool:
    """Return whether the folder holds one result, not a mixture and not a part."""
    return len(contents(target)) == PAGES and len(set(contents(target).values())) == 1


@pytest.mark.parametrize("way", ["exchange", "two renames"])
def test_no_kill_loses_both_results(tmp_path: Path, way: str) -> None:
    """After each of thirty kills the target is whole, at once or (without exchange) after the next run."""
    target = tmp_path / "report"
    chance = random.Random(16)
    for _ in range(30):
        process = placing_process(target, way)
        time.sleep(chance.uniform(0, 0.05))
        process.kill()
        process.join()
        if way == "two renames":
            refuse_folder(target, "report", "S1")
        assert is_whole(target)
        assert not_ours(target, mark_of(target)) == ()
    refuse_folder(target, "report", "S1")
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


def test_two_builds_at_once_leave_one_result(tmp_path: Path) -> None:
    """Two processes that replace one folder never leave a mixture, nor take it from each other."""
    target = tmp_path / "report"
    both = [placing_process(target, "exchange") for _ in range(2)]
    for _ in range(100):
        assert target.is_dir()
        time.sleep(0.01)
    assert all(process.is_alive() for process in both)
    for process in both:
        process.kill()
        process.join()
    assert is_whole(target)


def test_a_foreign_folder_between_is_given_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What came to the target while the new result was written is found there afterwards."""
    target = tmp_path / "report"
    place_folder({"page.html": b"old"}, target, "report", "S1")
    true_swap = placing._swap

    def write_first(*paths: Path) -> None:
        (target / "comment.txt").write_text("mine")
        true_swap(*paths)

    monkeypatch.setattr(placing, "_swap", write_first)
    with pytest.raises(PlaceTakenError, match=r"comment\.txt"):
        place_folder({"page.html": b"new"}, target, "report", "S1")
    assert contents(target) == {"page.html": b"old", "comment.txt": b"mine"}
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


def test_what_a_kill_left_in_scratch_and_is_not_ours_is_kept(tmp_path: Path) -> None:
    """A user's folder that a killed run had moved out of the way gets a name of its own."""
    target = tmp_path / "report"
    place_folder({"page.html": b"new"}, target, "report", "S1")
    with scratch_beside(target, lambda _: None) as scratch:
        left = scratch.with_name(scratch.name + "x")
    (left / "fresh").mkdir(parents=True)
    (left / "fresh" / "thesis.txt").write_text("years of work")
    (left / PLACING).touch()
    refuse_folder(target, "report", "S1")
    assert contents(tmp_path / "report.earlier-1") == {"thesis.txt": b"years of work"}
    assert not left.exists()


def add_comment(report: Path) -> str:
    """Write a note into the report."""
    (report / "comment.txt").write_text("mine")
    return "comment.txt"


def add_repository(report: Path) -> str:
    """Keep the report under version control."""
    (report / ".git").mkdir()
    (report / ".git" / "HEAD").write_text("ref: refs/heads/main")
    return ".git/HEAD"


def edit_page(report: Path) -> str:
    """Write into a page."""
    (report / "page.html").write_bytes(b"old, and my comment")
    return "page.html"


def add_link(report: Path) -> str:
    """Link a folder into the report."""
    (report / "more").symlink_to(report.parent)
    return "more"


def change_mark(report: Path) -> str:
    """Write into the mark itself."""
    (report / REPORT_MARK).write_bytes((report / REPORT_MARK).read_bytes() + b"\n")
    return "page.html"


def add_folder(report: Path) -> str:
    """Make an empty folder in the report, to be filled later."""
    (report / "for the meeting").mkdir()
    return "for the meeting/"


@pytest.mark.parametrize(
    "change", [add_folder, add_comment, add_repository, edit_page, add_link, change_mark]
)
def test_what_was_added_or_changed_in_a_report_is_named_and_stays(tmp_path: Path, change: object) -> None:
    """A report in which somebody worked is refused with the file's name; with force it is kept beside."""
    target = tmp_path / "report"
    place_folder({"page.html": b"old"}, target, "report", "S1")
    name = change(target)  # type: ignore[operator]
    before = sorted(os.walk(target))
    with pytest.raises(PlaceTakenError, match=name.replace(".", r"\.")):
        place_folder({"page.html": b"new"}, target, "report", "S1")
    assert sorted(os.walk(target)) == before
    kept = place_folder({"page.html": b"new"}, target, "report", "S1", force=True)
    assert kept == tmp_path / "report.earlier-1"
    assert os.path.lexists(kept / name)
    assert contents(target) == {"page.html": b"new"}


def test_another_study_and_another_kind_are_refused(tmp_path: Path) -> None:
    """A report never replaces that of another study, nor an archive."""
    place_folder({"page.html": b"old"}, tmp_path / "report", "report", "S1")
    with pytest.raises(PlaceTakenError, match="another study, 'S1'"):
        place_folder({"page.html": b"new"}, tmp_path / "report", "report", "S2")
    with pytest.raises(PlaceTakenError, match="the report of study 'S1'"):
        refuse_folder(tmp_path / "report", "archive")


def stated(title: str, *exports: str) -> dict[str, bytes]:
    """Return what a report of study S1 says of its origin: the hashes of its files are their own names."""
    files = {"study.toml": title, "notes/how.md": "how", **{f"exports/{name}": name for name in exports}}
    return {
        "data/study.json": json.dumps({"id": "S1", "title": title}).encode(),
        "data/provenance.json": json.dumps({"study": "S1", "files": files}).encode(),
    }


@pytest.mark.parametrize(("kind", "below"), [("report", ""), ("archive", "data/report/")])
def test_a_copied_study_that_kept_its_id_replaces_nothing(tmp_path: Path, kind: Kind, below: str) -> None:
    """Another title and no export in common: another study. One of both alike: the same one, corrected."""
    target = tmp_path / "report"

    def place(title: str, *exports: str, force: bool = False) -> Path | None:
        files = {f"{below}{name}": data for name, data in stated(title, *exports).items()}
        if kind == "archive":
            files |= bag_of(files)
        return place_folder(files, target, kind, "S1", force)

    place("Polymer at pH 11", "a", "b")
    place("Polymer at pH 11.2", "a", "b", "c")
    place("Polymer at pH 11.2", "one growing file")
    before = contents(target)
    with pytest.raises(PlaceTakenError, match=r"'Polymer at pH 11\.2', another study of the same id 'S1'"):
        place("Silica at pH 9", "d", "e")
    assert contents(target) == before
    assert place("Silica at pH 9", "d", "e", force=True) == tmp_path / "report.earlier-1"


def test_a_file_of_a_copied_study_is_not_replaced(tmp_path: Path) -> None:
    """One file and reply say of which study they are, beyond its id; the same one, grown, is replaced."""
    first, grown = (
        {f"e{n}.csv": hashlib.sha256(b"%d" % n).hexdigest() for n in range(many)} for many in (9, 60)
    )
    old, more = Origin.of("Polymer at pH 11", first), Origin.of("Polymer at pH 11.2", grown)
    other = Origin.of("Silica at pH 9", {"e.csv": "f" * 64})
    place_html(b"old", tmp_path / "report.html", "S1", origin=old)
    place_reply(b"old", {".txt": b"text"}, tmp_path / "reply.html", "S1", origin=old)
    place_html(b"more", tmp_path / "report.html", "S1", origin=more)
    place_reply(b"more", {".txt": b"longer"}, tmp_path / "reply.html", "S1", origin=more)
    before = contents(tmp_path)
    with pytest.raises(PlaceTakenError, match=r"'Polymer at pH 11\.2', another study of the same id 'S1'"):
        place_html(b"new", tmp_path / "report.html", "S1", origin=other)
    with pytest.raises(PlaceTakenError, match="another study of the same id"):
        place_reply(b"new", {".txt": b"new"}, tmp_path / "reply.html", "S1", origin=other)
    assert contents(tmp_path) == before


def bag_of(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return the tag files by which a bag of study S1 is known for one."""
    manifest = "".join(f"{hashlib.sha512(data).hexdigest()}  {name}\n" for name, data in files.items())
    info = b"Bag-Software-Agent: lyewitness\nExternal-Identifier: S1\n"
    tags = {
        "bagit.txt": b"BagIt-Version: 1.0\n",
        "bag-info.txt": info,
        "manifest-sha512.txt": manifest.encode(),
    }
    listed = "".join(f"{hashlib.sha512(data).hexdigest()}  {name}\n" for name, data in tags.items())
    return {**tags, "tagmanifest-sha512.txt": listed.encode()}


def test_a_file_that_only_holds_a_marks_name_is_no_permission(tmp_path: Path) -> None:
    """`data/provenance.json`, `data/written.json` and `bagit.txt` of others do not open a folder."""
    for name in ("data/provenance.json", "data/written.json", "bagit.txt"):
        folder = tmp_path / name.replace("/", "-")
        (folder / name).parent.mkdir(parents=True)
        (folder / name).write_text("{}")
        (folder / "thesis.txt").write_text("years of work")
        with pytest.raises(PlaceTakenError, match=r"thesis\.txt"):
            place_folder({"page.html": b"new"}, folder, "report", "S1")


def test_a_report_of_the_first_version_is_replaced_unless_somebody_worked_in_it(tmp_path: Path) -> None:
    """Without a list of files, what such a report never holds is somebody's."""
    target = tmp_path / "report"
    old = {
        "index.html": b"",
        "columns/H1.html": b"",
        "data/figures/lives.csv": b"",
        "data/provenance.json": b'{"study": "S1", "builder": {"name": "lyewitness"}}',
    }
    for name, data in old.items():
        (target / name).parent.mkdir(parents=True, exist_ok=True)
        (target / name).write_bytes(data)
    (target / "comments.docx").write_bytes(b"mine")
    with pytest.raises(PlaceTakenError, match=r"comments\.docx"):
        place_folder({"index.html": b"new"}, target, "report", "S1")
    (target / "comments.docx").unlink()
    (target / ".DS_Store").write_bytes(b"left by a file manager")
    place_folder({"index.html": b"new"}, target, "report", "S1")
    assert contents(target) == {"index.html": b"new"}


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root reads everything")
def test_what_cannot_be_read_is_nobodys_to_remove(tmp_path: Path) -> None:
    """A closed folder inside a report stops its replacement."""
    target = tmp_path / "report"
    place_folder({"page.html": b"old"}, target, "report", "S1")
    (target / "closed").mkdir(mode=0)
    with pytest.raises(PlaceTakenError, match="cannot be read"):
        place_folder({"page.html": b"new"}, target, "report", "S1")


def test_a_file_is_replaced_in_one_step(tmp_path: Path) -> None:
    """A file is written beside the old one and renamed over it."""
    target = tmp_path / "deep" / "reply.html"
    place_files({target: b"1"})
    place_files({target: b"2"})
    assert contents(tmp_path) == {"deep/reply.html": b"2"}


def test_the_mask_of_the_user_is_honoured(tmp_path: Path) -> None:
    """Files and folders get the rights that the user's mask leaves them."""
    before = os.umask(0o027)
    try:
        place_files({tmp_path / "one.html": b"1"})
        place_folder({"page.html": b"1"}, tmp_path / "report", "report", "S1")
    finally:
        os.umask(before)
    assert (tmp_path / "one.html").stat().st_mode & 0o777 == 0o640
    assert (tmp_path / "report").stat().st_mode & 0o777 == 0o750
    assert (tmp_path / "report" / "page.html").stat().st_mode & 0o777 == 0o640


def test_a_reply_replaces_its_own_files_only(tmp_path: Path) -> None:
    """HTML, text and PDF of an earlier reply are replaced; a file of somebody is refused."""
    page, text, pdf = (tmp_path / f"reply{ending}" for ending in (".html", ".txt", ".pdf"))

    def said(what: bytes) -> dict[str, bytes]:
        return {".txt": what, ".pdf": b"%PDF " + what}

    place_reply(b"<p>1</p>", said(b"1"), page, "S1")
    place_reply(b"<p>2</p>", said(b"2"), page, "S1")
    assert (text.read_bytes(), pdf.read_bytes()) == (b"2", b"%PDF 2")
    for changed in (text, pdf):
        changed.write_bytes(b"2, and what I think")
        with pytest.raises(PlaceTakenError, match=changed.name):
            place_reply(b"<p>3</p>", said(b"3"), page, "S1")
        assert changed.read_bytes() == b"2, and what I think"
        kept = place_reply(b"<p>3</p>", said(b"3"), page, "S1", force=True)
        assert [path.read_bytes() for path in kept] == [b"2, and what I think"]
    page.write_bytes(page.read_bytes().replace(b"3", b"4"))
    with pytest.raises(PlaceTakenError, match=r"reply\.html"):
        place_reply(b"<p>5</p>", said(b"5"), page, "S1")


def test_a_reply_without_its_pdf_leaves_no_earlier_one(tmp_path: Path) -> None:
    """A PDF that is not written again is removed: it would tell another state than the HTML beside it."""
    page = tmp_path / "reply.html"
    place_reply(b"<p>1</p>", {".txt": b"1", ".pdf": b"%PDF 1"}, page, "S1")
    place_reply(b"<p>2</p>", {".txt": b"2"}, page, "S1")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["reply.html", "reply.txt"]


def test_one_file_replaces_its_own_only(tmp_path: Path) -> None:
    """The one file of the same study is replaced, nothing else."""
    page = tmp_path / "send.html"
    place_html(b"<p>1</p>", page, "S1")
    place_html(b"<p>2</p>", page, "S1")
    with pytest.raises(PlaceTakenError, match="study 'S1'"):
        place_html(b"<p>2</p>", page, "S2")
    page.write_bytes(b"<p>somebody's</p>")
    with pytest.raises(PlaceTakenError, match=r"send\.html"):
        place_html(b"<p>2</p>", page, "S1")
    assert place_html(b"<p>2</p>", page, "S1", force=True) == tmp_path / "send.html.earlier-1"
