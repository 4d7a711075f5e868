"""A new study folder is laid out to be filled in, and nothing is overwritten."""

import re
import tomllib
from pathlib import Path

import pytest

from lyewitness.chemistry.protolytes import BUFFERS
from lyewitness.study import beginning
from lyewitness.study.beginning import begin, layout_of
from lyewitness.study.folder import read_study
from lyewitness.words.problems import StudyFolderError, merged


def filled(path: Path) -> str:
    """Return the text of a study.toml, its dots filled in."""
    text = path.read_text(encoding="utf-8")
    return text.replace('particle = "…"', 'particle = "porous hybrid"').replace('"…"', '"x"')


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
    path.write_text(filled(path), encoding="utf-8")
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
    keys, _, notes = path.read_text(encoding="utf-8").partition("# Notes are Markdown files")
    assert notes
    text = re.sub(r"^# (?=\[|\w+ = )", "", keys, flags=re.MULTILINE).replace('"…"', '"x"')
    path.write_text(text, encoding="utf-8")
    tomllib.loads(text)
    unread = [problem for problem in read_study(folder).problems if "key" in problem.found]
    assert unread == []


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    """Nothing is written where something stands already."""
    (tmp_path / "study.toml").write_text("mine")
    with pytest.raises(StudyFolderError, match="another folder"):
        begin(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["study.toml"]
    assert (tmp_path / "study.toml").read_text() == "mine"


def test_a_planned_study_is_laid_out_ready_to_fill_in(tmp_path: Path) -> None:
    """Columns in blocks, injections, log and note stand in it; with dots and files filled in it builds."""
    folder = tmp_path / "new"
    begin(folder, layout_of(12, "hybrid, silica,polymer", "6h", "5d"))
    problems = [problem for problem in read_study(folder).problems if problem.severity == "error"]
    assert len(merged(problems)) < 12
    missing = [problem for problem in merged(problems) if problem.file == "injections.csv"]
    assert len(missing) == 1
    assert "275 more places" in missing[0].place
    path = folder / "study.toml"
    path.write_text(filled(path), encoding="utf-8")
    for row in (folder / "injections.csv").read_text().splitlines()[1:]:
        (folder / row.split(",")[1]).write_text("0,1\n")
    reading = read_study(folder)
    assert reading.study is not None, reading.problems
    study = reading.study
    assert [column.id for column in study.replicates("silica")] == ["B1", "B2", "B3", "B4"]
    blocks = {
        column.block: [c.group for c in study.columns if c.block == column.block] for column in study.columns
    }
    assert blocks == {f"block {number}": ["hybrid", "silica", "polymer"] for number in (1, 2, 3, 4)}
    assert len(study.injections) == 12 * 23
    assert (study.plan.ends_h, study.plan.looks_h) == (120.0, (0.0, 60.0, 120.0))
    assert study.notes[0].references[0] == ("column", "A1")


@pytest.mark.parametrize(
    ("group", "particle"),
    [
        ("polymer", "polymer"),
        ("porous hybrid lot B", "porous hybrid"),
        ("Core-shell silica C18", "core-shell silica"),
        ("silica", "…"),
        ("polymer-coated silica", "…"),
        ("other", "…"),
        ("A", "…"),
    ],
)
def test_a_particle_is_named_where_the_group_says_it_beyond_doubt(
    tmp_path: Path, group: str, particle: str
) -> None:
    """No kind of particle is stated that may be false: what the name leaves open is dots to fill in."""
    begin(tmp_path / "new", layout_of(1, group, "", ""))
    text = (tmp_path / "new" / "study.toml").read_text(encoding="utf-8")
    assert f'particle = "{particle}"' in text
    assert "core-shell hybrid surface," in text


def test_a_short_study_is_looked_at_before_and_after() -> None:
    """Looks are planned before, halfway where it is long, and after, and not at every injection."""
    short, long = layout_of(2, "A,B", "4h", "48h"), layout_of(2, "A,B", "7h", "100h")
    assert short is not None
    assert long is not None
    assert short.looks_h == (0.0, 48.0)
    assert long.looks_h == (0.0, 49.0, 100.0)
    assert len(short.injected_h) == 15


@pytest.mark.parametrize(
    ("words", "option"),
    [
        ((None, "A", "", ""), "--columns"),
        ((2, "A,B,C", "", ""), "--groups"),
        ((3, "", "6h", "120h"), "--groups"),
        ((3, "A", "six", "120h"), "--every"),
        ((3, "A", "6h", ""), "--every, --for"),
        ((3, "A", "6h", "1h"), "--for"),
        ((3, "A", "1min", "9000d"), "--for"),
        ((3, 'A"', "6h", "12h"), "--groups"),
    ],
)
def test_a_plan_that_cannot_be_is_told(words: tuple[int | None, str, str, str], option: str) -> None:
    """What the words of the command do not say or contradict is one problem with the option's name."""
    with pytest.raises(StudyFolderError) as told:
        layout_of(*words)
    assert [problem.place for problem in told.value.problems] == [option]


def test_the_blank_names_every_buffer_that_is_known() -> None:
    """The list beside `buffer` is that of the chemistry."""
    blank = (Path(beginning.__file__).parent / "blank_study.toml").read_text(encoding="utf-8")
    listed = blank[blank.index("buffer =") : blank.index("# buffer_mM")]
    assert all(buffer.name in listed for buffer in BUFFERS)
