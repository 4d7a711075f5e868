"""A new study folder is laid out to be filled in, and nothing is overwritten."""

from pathlib import Path

import pytest

from lyewitness.study.beginning import begin
from lyewitness.study.folder import read_study
from lyewitness.words.problems import StudyFolderError


def test_the_blank_is_read_and_asks_to_be_filled_in(tmp_path: Path) -> None:
    """The blank study.toml has no broken line: what is wrong with it is only what is not filled in."""
    begin(tmp_path / "new")
    problems = [problem for problem in read_study(tmp_path / "new").problems if problem.severity == "error"]
    assert {problem.file for problem in problems} == {"study.toml", "injections.csv"}
    blanks = [problem for problem in problems if problem.file == "study.toml"]
    assert {"study.title", "study.question", "stress.buffer"} <= {
        one.place.rpartition(" ")[2] for one in blanks
    }
    assert all("…" in problem.found for problem in blanks), blanks


def test_a_filled_in_blank_is_good(tmp_path: Path) -> None:
    """With its dots replaced and one injection added, the blank builds."""
    folder = tmp_path / "new"
    begin(folder)
    path = folder / "study.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('"…"', '"x"'), encoding="utf-8")
    (folder / "chromatograms" / "1.csv").write_text("0,1\n")
    with (folder / "injections.csv").open("a") as table:
        table.write("1,chromatograms/1.csv,A1,0,,\n")
    reading = read_study(folder)
    assert reading.study is not None
    assert reading.problems == ()


def test_an_optional_line_of_the_blank_is_read_when_its_sign_is_removed(tmp_path: Path) -> None:
    """Every commented key is one that the reader knows."""
    folder = tmp_path / "new"
    begin(folder)
    path = folder / "study.toml"
    lines = [
        line.removeprefix("# ") if line.startswith("# ") and " = " in line.split("#")[1] else line
        for line in path.read_text(encoding="utf-8").splitlines()
    ]
    text = "\n".join(lines).replace("# [test]", "[test]").replace("# [choices]", "[choices]")
    path.write_text(text.replace("# [exports]", "[exports]").replace('"…"', '"x"'), encoding="utf-8")
    unread = [problem for problem in read_study(folder).problems if "key" in problem.found]
    assert unread == []


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    """Nothing is written where something stands already."""
    (tmp_path / "study.toml").write_text("mine")
    with pytest.raises(StudyFolderError, match="another folder"):
        begin(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["study.toml"]
    assert (tmp_path / "study.toml").read_text() == "mine"
