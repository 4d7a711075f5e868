"""The archive is a bag that an independent program verifies."""

import hashlib
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from lyewitness.outputs.archive import (
    bag_files,
    payload_of,
    refuse_changes,
    remarks_on,
    study_files,
    with_house_files,
)
from lyewitness.outputs.placing import place_folder
from lyewitness.study.folder import read_study
from lyewitness.words.problems import StudyFolderError
from tests.study.making import lay_out


def bag(folder: Path, into: Path) -> Path:
    """Write the bag of the study folder and return it."""
    study = read_study(folder).study
    assert study is not None
    payload = payload_of(study_files(folder), {"index.html": b"x"})
    files = bag_files(study, payload, date(2026, 3, 9), "lyewitness")
    place_folder(files, into, "archive", study.id)
    return into


def verified(bag_folder: Path) -> bool:
    """Return whether the `bagit` package finds the bag valid (RFC 8493)."""
    command = [sys.executable, "-m", "bagit", "--validate", "--quiet", str(bag_folder)]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


def test_the_bag_is_valid_and_a_changed_byte_is_found(tmp_path: Path) -> None:
    """The bag validates; after one byte of its payload changed it does not."""
    made = bag(lay_out(tmp_path / "study"), tmp_path / "bag")
    assert verified(made)
    assert "Bagging-Date: 2026-03-09" in (made / "bag-info.txt").read_text()
    assert (made / "data/study/study.toml").read_bytes() == (tmp_path / "study/study.toml").read_bytes()
    (made / "data/report/index.html").write_bytes(b"y")
    assert not verified(made)


def test_hidden_files_stay_out(tmp_path: Path) -> None:
    """What begins with a dot is not the study's."""
    folder = lay_out(tmp_path / "study")
    (folder / ".secret").write_text("x")
    assert ".secret" not in study_files(folder)


def test_a_name_that_manifests_disagree_on_is_refused(tmp_path: Path) -> None:
    """A percent sign in a file name is told with its file and cure."""
    folder = lay_out(tmp_path / "study")
    (folder / "notes" / "50%.txt").write_text("x")
    with pytest.raises(StudyFolderError, match=r"notes/50%\.txt.*Rename"):
        bag(folder, tmp_path / "bag")


def test_what_leads_out_of_the_study_is_refused_and_named(tmp_path: Path) -> None:
    """A link to a file or folder elsewhere is never packed; every one is told."""
    folder = lay_out(tmp_path / "study")
    (tmp_path / "key.pem").write_text("secret")
    (folder / "notes" / "key.txt").symlink_to(tmp_path / "key.pem")
    (folder / "images").mkdir(exist_ok=True)
    (folder / "images" / "all").symlink_to(tmp_path)
    with pytest.raises(StudyFolderError) as refused:
        study_files(folder)
    told = {problem.file: problem.found for problem in refused.value.problems}
    assert set(told) == {"notes/key.txt", "images/all"}
    assert all("leaves the study folder" in found for found in told.values())


def test_links_within_the_study_are_packed_as_what_they_lead_to(tmp_path: Path) -> None:
    """A link to a file or folder of the study is followed; one that leads to itself is told."""
    folder = lay_out(tmp_path / "study")
    (folder / "more").mkdir()
    (folder / "more" / "page.txt").write_text("x")
    (folder / "again").symlink_to("more")
    assert study_files(folder)["again/page.txt"] == b"x"
    (folder / "more" / "round").symlink_to("..")
    with pytest.raises(StudyFolderError, match=r"more/round.*leads to itself"):
        study_files(folder)


def test_a_pipe_in_the_study_is_told(tmp_path: Path) -> None:
    """What is no plain file would be waited for without end."""
    folder = lay_out(tmp_path / "study")
    os.mkfifo(folder / "notes" / "pipe")
    with pytest.raises(StudyFolderError, match=r"notes/pipe.*no plain file"):
        study_files(folder)


def test_a_subfolder_that_cannot_be_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An archive that lacks a part of the study is none."""
    folder = lay_out(tmp_path / "study")
    scan = os.scandir

    def closed(path: Path) -> object:
        if Path(path).name == "notes":
            raise PermissionError(13, "Permission denied", str(path))
        return scan(path)

    monkeypatch.setattr(os, "scandir", closed)
    with pytest.raises(StudyFolderError, match=r"notes.*cannot be read \(Permission denied\)"):
        study_files(folder)


def test_what_changed_during_the_work_is_not_packed(tmp_path: Path) -> None:
    """A file with other bytes than were computed from, one that came, and one that went are named."""
    before = {"study.toml": b"1", "images/a.png": b"a", "notes/gone.md": b"g"}
    after = {"study.toml": b"1", "images/a.png": b"b", "notes/new.md": b"n"}
    stated = {"study.toml": hashlib.sha256(b"other").hexdigest()}
    refuse_changes(before, before, {"study.toml": hashlib.sha256(b"1").hexdigest()})
    with pytest.raises(StudyFolderError) as refused:
        refuse_changes(before, after, stated)
    assert [problem.file for problem in refused.value.problems] == sorted({*before, *after})


def test_a_house_file_keeps_its_place_beside_the_study(tmp_path: Path) -> None:
    """`extends = "../laboratory.toml"` works in the bag, too; from farther away it is refused."""
    folder = lay_out(tmp_path / "study")
    (tmp_path / "laboratory.toml").write_text("[limits]")
    study = read_study(folder).study
    assert study is not None
    files = with_house_files(folder, study_files(folder), {"../laboratory.toml": "", "study.toml": ""})
    made = bag_files(study, payload_of(files, {}), date(2026, 3, 9), "lyewitness")
    assert made["data/laboratory.toml"] == b"[limits]"
    with pytest.raises(StudyFolderError, match="beside the study folder"):
        payload_of({"../../house.toml": b""}, {})


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("notes/a:b.txt", b"", "Windows"),
        ("notes/nul.txt", b"", "Windows"),
        ("notes/end. ", b"", "Windows"),
        ("n" * 240, b"", "Windows"),
        ("notes/A.txt", b"", "capitals"),
        ("chromatograms/1.csv", b"Operator: Ada Lovelace\ntime,signal\n", "'Ada Lovelace'"),
        ("chromatograms/1.csv", b"Method;x\r\nAnalyst;A. Lovelace\r\n", "'A. Lovelace'"),
        ("chromatograms/1.jdx", b"##TITLE=x\n##OWNER=Ada Lovelace\n", "'Ada Lovelace'"),
        ("chromatograms/1.csv", "Acquired by\tAda L.\n".encode("utf-16-le"), "'Ada L.'"),
    ],
)
def test_what_is_to_be_known_before_a_bag_is_given_away(name: str, data: bytes, told: str) -> None:
    """Names that other systems do not take, and persons whom exports name, are told."""
    remarks = remarks_on({"notes/a.txt": b"", name: data})
    assert [told in problem.found for problem in remarks] == [True]


def test_exports_without_a_person_call_for_no_remark() -> None:
    """Words such as 'user' in a method's name, or a public owner, name nobody."""
    assert remarks_on({"c/1.jdx": b"##OWNER=public domain\n", "c/2.csv": b"User method 3\n1,2\n"}) == ()
