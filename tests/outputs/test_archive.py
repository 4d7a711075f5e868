"""The archive is a bag that an independent program verifies."""

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from lyewitness.outputs.archive import bag_files, study_files
from lyewitness.outputs.placing import place_folder
from lyewitness.study.folder import read_study
from lyewitness.words.problems import StudyFolderError
from tests.study.making import lay_out


def bag(folder: Path, into: Path) -> Path:
    """Write the bag of the study folder and return it."""
    study = read_study(folder).study
    assert study is not None
    files = bag_files(study, study_files(folder), {"index.html": b"x"}, date(2026, 3, 9), "lyewitness")
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
