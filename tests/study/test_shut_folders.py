"""A folder that may not be opened is told by its name; nothing in it passes for absent, or for nothing."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import mkdtemp

import pytest

from lyewitness.outputs.archive import study_files
from lyewitness.study.folder import read_study
from lyewitness.study.inside import SHUT
from lyewitness.words.problems import StudyFolderError
from tests.hostile.making import sound_study

NOBODY = 65534
"""User without rights: the one who may do anything opens any folder."""


@pytest.fixture
def study() -> Iterator[Path]:
    """Return a sound study where anybody may look."""
    place = Path(mkdtemp())
    place.chmod(0o755)
    yield sound_study(place / "study")
    shutil.rmtree(place)


@contextmanager
def as_anybody() -> Iterator[None]:
    """Do without the rights of the one who may do anything."""
    if os.geteuid():
        yield
        return
    os.setresuid(NOBODY, NOBODY, 0)
    try:
        yield
    finally:
        os.setresuid(0, 0, 0)


@contextmanager
def shut(folder: Path, mode: int) -> Iterator[None]:
    """Take the right to list or to enter a folder."""
    folder.chmod(mode)
    try:
        with as_anybody():
            yield
    finally:
        folder.chmod(0o755)


@pytest.mark.parametrize(
    ("name", "mode"),
    [(name, mode) for name in ("notes", "chromatograms", "images") for mode in (0o000, 0o444)]
    # The exports are named by a table: they can be read without listing their folder.
    + [("notes", 0o111), ("images", 0o111)],
)
def test_a_folder_that_may_not_be_opened_is_told_once(study: Path, name: str, mode: int) -> None:
    """One error names it; its files are not told as missing, and no report goes without them."""
    with shut(study / name, mode):
        reading = read_study(study)
    assert reading.study is None
    assert [(one.file, one.found) for one in reading.problems if one.severity == "error"] == [(name, SHUT)]


@pytest.mark.parametrize("mode", [0o000, 0o444, 0o111], ids=["neither", "list only", "enter only"])
def test_no_bag_goes_without_a_folder(study: Path, mode: int) -> None:
    """What is archived is refused in one message, too."""
    with shut(study / "notes", mode), pytest.raises(StudyFolderError) as caught:
        study_files(study)
    assert [one.file for one in caught.value.problems] == ["notes"]


def test_a_folder_on_the_way_is_told(study: Path) -> None:
    """Of a folder within a shut one the shut one is named."""
    deep = study / "chromatograms" / "first" / "second"
    deep.mkdir(parents=True)
    table = study / "injections.csv"
    table.write_text(table.read_text().replace("chromatograms/H1-02.csv", "chromatograms/first/second/a.csv"))
    with shut(study / "chromatograms" / "first", 0o000):
        problems = read_study(study).problems
    assert [one.file for one in problems if one.severity == "error"] == ["chromatograms/first"]
