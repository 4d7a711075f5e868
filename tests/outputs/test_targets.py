"""Where one may write is told before the work."""

import os
from pathlib import Path

import pytest

from lyewitness.outputs import marks
from lyewitness.outputs.marks import (
    PlaceTakenError,
    file_target,
    folder_target,
    new_study_target,
    stem_of,
)


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """Return a study folder in a folder of its own."""
    folder = tmp_path / "work" / "study"
    folder.mkdir(parents=True)
    (folder / "study.toml").touch()
    return folder


def test_target_and_study_never_contain_each_other(study: Path) -> None:
    """The study itself, a folder in it, one around it: by name, by '..', and through links."""
    link = study.parent / "link"
    link.symlink_to(study)
    for inside in (study, study / "report", study / "a" / "b", link / "report", study / "x" / ".." / "y"):
        with pytest.raises(PlaceTakenError, match=r"study folder|is a link"):
            folder_target(inside, study)
        with pytest.raises(PlaceTakenError, match=r"study folder|is a link"):
            file_target(inside / "reply.html", ".html", study)
    for around in (study.parent, study.parent.parent, study / ".."):
        with pytest.raises(PlaceTakenError, match="contains the study folder"):
            folder_target(around, study)


def test_the_ground_one_stands_on_is_refused(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """'.', '..', '/' and the home folder are no targets."""
    here = tmp_path / "here" / "deep"
    here.mkdir(parents=True)
    monkeypatch.chdir(here)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    for typed in (".", "..", "/", "../..", str(tmp_path / "home"), str(here)):
        with pytest.raises(PlaceTakenError, match="name a"):
            folder_target(Path(typed), study)


def test_a_link_is_no_target(study: Path, tmp_path: Path) -> None:
    """Neither a link to a folder, nor one to nowhere, nor one that names itself."""
    (tmp_path / "real").mkdir()
    for name, goal in (("one", "real"), ("two", "nowhere"), ("three", "three")):
        (tmp_path / name).symlink_to(goal)
        with pytest.raises(PlaceTakenError, match="is a link"):
            folder_target(tmp_path / name, study)
    assert folder_target(tmp_path / "one" / "report", study) == tmp_path / "real" / "report"


@pytest.mark.parametrize(
    ("typed", "ending", "target"),
    [
        ("Study-v1.2", ".html", "Study-v1.2.html"),
        ("reply_2026.03.15", ".html", "reply_2026.03.15.html"),
        ("reply.html", ".html", "reply.html"),
        ("REPLY.HTML", ".html", "REPLY.HTML"),
        ("notes.md", ".html", "notes.md.html"),
    ],
)
def test_an_ending_is_added_never_replaced(
    study: Path, tmp_path: Path, typed: str, ending: str, target: str
) -> None:
    """A point in a name is part of the name."""
    assert file_target(tmp_path / typed, ending, study).name == target


def test_the_stem_of_a_reply_loses_only_its_own_endings() -> None:
    """'reply.txt' and 'reply.html' mean one reply, 'notes.md' is a name."""
    typed = ["reply.txt", "reply.html", "notes.md", "reply_2026.03.15"]
    stems = [stem_of(Path(one), (".html", ".txt")).name for one in typed]
    assert stems == ["reply", "reply", "notes.md", "reply_2026.03.15"]


def test_a_place_below_a_file_and_a_full_disk_are_told(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What cannot be written is told with what is in the way."""
    (tmp_path / "file").touch()
    with pytest.raises(PlaceTakenError, match="is no folder"):
        folder_target(tmp_path / "file", study)
    with pytest.raises(PlaceTakenError, match="is no folder"):
        folder_target(tmp_path / "file" / "report", study)
    (tmp_path / "a.html").mkdir()
    with pytest.raises(PlaceTakenError, match="is a folder"):
        file_target(tmp_path / "a.html", ".html", study)
    with pytest.raises(PlaceTakenError, match=r"too long|followed"):
        folder_target(tmp_path / ("x" * 300), study)
    monkeypatch.setattr(marks, "LEAST_FREE_BYTES", 1 << 62)
    with pytest.raises(PlaceTakenError, match="MB are free"):
        folder_target(tmp_path / "report", study)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root writes everywhere")
def test_a_place_without_permission_is_told(study: Path, tmp_path: Path) -> None:
    """A folder that may only be read is no ground for a report."""
    (tmp_path / "closed").mkdir(mode=0o555)
    with pytest.raises(PlaceTakenError, match="cannot be written"):
        folder_target(tmp_path / "closed" / "report", study)


def test_no_study_is_laid_out_inside_another(study: Path) -> None:
    """`begin` and `rehearse` refuse a place inside a study."""
    with pytest.raises(PlaceTakenError, match="inside the study"):
        new_study_target(study / "notes" / "new")
    new_study_target(study.parent / "new")
