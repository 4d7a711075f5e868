"""Whatever stands in a study folder, reading it ends in records or in problems, never in a traceback."""

import os
from pathlib import Path
from time import monotonic

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lyewitness.study.folder import read_study
from lyewitness.study.inside import extended_by, refuse_house_file_beyond
from lyewitness.words.problems import StudyFolderError
from tests.study.making import INJECTIONS, NOTE, STUDY, lay_out

FILES = {"study.toml": STUDY, "injections.csv": INJECTIONS, "notes/2026-03-02.md": NOTE}


@st.composite
def damaged(draw: st.DrawFn) -> tuple[str, bytes]:
    """Give one file of the folder with a piece of it replaced by something else."""
    name = draw(st.sampled_from(sorted(FILES)))
    data = FILES[name].encode()
    start = draw(st.integers(0, len(data)))
    end = draw(st.integers(start, min(len(data), start + 60)))
    words = st.sampled_from(
        [
            b"",
            b"[[",
            b"]]",
            b'"',
            b"=",
            b"{}",
            b"[]",
            b"-1",
            b"1e999",
            b"nan",
            b"\x00",
            b"\xff\xfe",
            b"../../etc",
            b"\n",
        ]
    )
    return name, data[:start] + draw(st.one_of(words, st.binary(max_size=20))) + data[end:]


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(damage=damaged())
def test_damage_ends_in_records_or_problems(tmp_path: Path, damage: tuple[str, bytes]) -> None:
    """A damaged file gives a study, or problems that each say where, what and what to do."""
    lay_out(tmp_path)
    (tmp_path / damage[0]).write_bytes(damage[1])
    reading = read_study(tmp_path)
    assert (reading.study is None) == any(problem.severity == "error" for problem in reading.problems)
    for problem in reading.problems:
        assert problem.found
        assert problem.expected
        assert problem.cure


@pytest.mark.parametrize(
    "text",
    [
        "study = 3",
        "column = 3\nmarker = true\nlimits = []\nquestion = 1.5",
        "[[study]]\nid = 1",
        "[study]\nid = 'a'\ntitle = 3\nquestion = []\nkeywords = 'x'\n[column]\nid = 4",
        "[[column]]\nid = []\n[[marker]]\nid = {}\nretention_min = {a = 'x'}\n[injections]\npattern = 7",
        "[limits]\nretention_factor = 3\nplate_number_half_height = [1, {at_least = -1}]",
        "[choices]\nreference_injections = 1.5\nconfidence = 95",
    ],
)
def test_wrong_kinds_of_values_are_told(tmp_path: Path, text: str) -> None:
    """A table where a number belongs, or the other way round, is a problem and no traceback."""
    lay_out(tmp_path)
    (tmp_path / "study.toml").write_text(text)
    assert read_study(tmp_path).study is None


MORE = "".join(f"A1-{n},chromatograms/a.csv,A1,{n},,\n" for n in range(3, 9))


@pytest.mark.parametrize(
    ("stray", "rows_at_fault"),
    [
        ('A1-2,chromatograms/a2.csv,A1,1.5,,"air in the loop', ["row 3"]),
        ('A1-2,"chromatograms/a2.csv,A1,1.5,,', ["row 3"]),
        ('A1-2,chromatograms/a2.csv,A1,1.5,no,"air"" in the loop', ["row 3"]),
        ('A1-2,chromatograms/a2.csv,A1,1.5,no,air","loop', ["row 3"]),
    ],
)
def test_an_unclosed_quote_makes_no_row_vanish(tmp_path: Path, stray: str, rows_at_fault: list[str]) -> None:
    """A quote without its partner is an error of its own row; the rows below are read all the same."""
    lay_out(tmp_path)
    table = INJECTIONS.replace("A1-2,chromatograms/a2.csv,A1,1.5,,", stray) + MORE
    (tmp_path / "injections.csv").write_text(table)
    (tmp_path / "notes" / "2026-03-02.md").write_text("".join(f"[[injection:A1-{n}]]\n" for n in range(3, 9)))
    problems = [p for p in read_study(tmp_path).problems if p.severity == "error"]
    assert [problem.place for problem in problems if problem.file == "injections.csv"] == rows_at_fault
    assert not [problem for problem in problems if problem.file.startswith("notes/")]


def test_a_pair_of_stray_quotes_across_rows_is_an_error(tmp_path: Path) -> None:
    """Two quotes that close over rows between them would swallow these: told at the first, nothing lost."""
    lay_out(tmp_path)
    rows = INJECTIONS.replace("A1-2,chromatograms/a2.csv,A1,1.5,,", 'A1-2,chromatograms/a2.csv,A1,1.5,,"')
    (tmp_path / "injections.csv").write_text(rows.replace("air in the loop", 'air in the loop"'))
    problems = [p for p in read_study(tmp_path).problems if p.severity == "error"]
    assert {problem.file for problem in problems} == {"injections.csv"}
    assert problems[0].place == "row 3"


def test_a_cell_of_two_lines_is_no_fault(tmp_path: Path) -> None:
    """A reason that a spreadsheet broke over two lines is read as one cell, and rows keep their numbers."""
    lay_out(tmp_path)
    rows = (
        INJECTIONS.replace("air in the loop", '"air in the\nloop"') + "A1-9,chromatograms/gone.csv,A1,3,,\n"
    )
    (tmp_path / "injections.csv").write_text(rows)
    assert [p.place for p in read_study(tmp_path).problems if p.severity == "error"] == ["row 6, file"]


def test_a_number_is_read_as_written_or_not_at_all(tmp_path: Path) -> None:
    """A slip with an underscore, an exposure of a million years and an endless number are errors by row."""
    lay_out(tmp_path)
    for wrong in ("1_8.2", "1e12", "1e999", "inf", "0x10"):
        (tmp_path / "injections.csv").write_text(INJECTIONS.replace(",1.5,", f",{wrong},"))
        problems = [p for p in read_study(tmp_path).problems if p.severity == "error"]
        assert [problem.place for problem in problems] == ["row 3, exposure_h"]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("injections.csv", INJECTIONS + "A1-3,chromatograms/a.csv,A1,2,no," + "x" * 200_000 + "\n"),
        ("injections.csv", INJECTIONS + 'A1-3,chromatograms/a.csv,A1,2,no,"' + "x" * 200_000 + '"\n'),
        ("injections.csv", INJECTIONS + '"' + "\n" * 200_000),
        ("injections.csv", INJECTIONS.replace("exposure_h", " " * 300_000)),
        ("study.toml", STUDY + "[choices]\nseed = " + "[" * 500 + "]" * 500),
        ("study.toml", STUDY + "[choices]\nseed." + ".".join(["a"] * 3000) + " = 1"),
        ("study.toml", STUDY + "[choices]\nseed = " + "9" * 400),
        ("study.toml", STUDY + "[choices]\nseed = " + "9" * 5000),
        ("study.toml", STUDY + "[choices]\nseed = 0x" + "f" * 5000),
        ("study.toml", STUDY.replace("at_least_percent = 80", "at_most = inf")),
        ("study.toml", STUDY.replace("at_least_percent = 80", "at_most = 1e308")),
        ("study.toml", STUDY + '[injections]\npattern = "/etc/{column}_{exposure_h}.csv"'),
        ("study.toml", STUDY + '[injections]\npattern = "../{column}_{exposure_h}.csv"'),
        ("study.toml", STUDY.replace('group = "hybrid"', 'group = "hybrid"\nasked_on = 0001-01-01')),
        ("notes/2026-03-02.md", "+++\ntitle = " + "[" * 500 + "\n+++\n"),
        ("notes/2026-03-02.md", "+++\ntitle = " + "9" * 5000 + "\n+++\n"),
        ("notes/2026-03-02.md", "+++\n" + ".".join(["a"] * 3000) + " = 1\n+++\n"),
    ],
    ids=lambda value: value if len(value) < 30 else value[-20:].strip()[:10],
)  # fmt: skip
def test_what_nothing_can_be_done_with_is_told_quickly(tmp_path: Path, name: str, text: str) -> None:
    """Texts too long, too deep, too large or beyond the calendar end in a message, within two seconds."""
    lay_out(tmp_path)
    if "pattern" in text:
        (tmp_path / "injections.csv").unlink()
    (tmp_path / name).write_text(text)
    began = monotonic()
    problems = [p for p in read_study(tmp_path).problems if p.severity == "error"]
    assert monotonic() - began < 2
    assert problems
    assert all(len(str(problem)) < 2000 for problem in problems)


@pytest.mark.parametrize("text", ["+++\ntitle = 'a'\n+++\n# " + " " * 200_000 + "x", "#" + "\t" * 200_000])
def test_a_head_with_very_many_blanks_is_read_quickly(tmp_path: Path, text: str) -> None:
    """A heading of blanks costs no more than its length."""
    lay_out(tmp_path)
    (tmp_path / "notes" / "2026-03-02.md").write_text(text)
    began = monotonic()
    assert read_study(tmp_path).study is not None
    assert monotonic() - began < 2


def test_a_note_with_old_line_ends_has_a_head(tmp_path: Path) -> None:
    """Carriage returns alone end lines too."""
    lay_out(tmp_path)
    (tmp_path / "notes" / "2026-03-02.md").write_bytes(NOTE.replace("\n", "\r").encode())
    study = read_study(tmp_path).study
    assert study is not None
    assert study.notes[0].title == "Start"


def test_links_and_names_are_held_at_one_gate(tmp_path: Path) -> None:
    """Links out of the folder, links to themselves and names that are no UTF-8 are each told once."""
    folder = lay_out(tmp_path / "study")
    (tmp_path / "key.png").write_bytes(b"\x89PNG secret")
    (folder / "images").mkdir()
    (folder / "images" / "pretty.png").symlink_to(tmp_path / "key.png")
    (folder / "conditions.csv").symlink_to("conditions.csv")
    (folder / "notes" / "more.md").symlink_to(tmp_path / "key.png")
    (Path(os.fsdecode(bytes(folder / "images") + b"/\xff.png"))).write_bytes(b"")
    reading = read_study(folder)
    assert reading.study is None
    assert {problem.file for problem in reading.problems} == {
        "images/pretty.png", "conditions.csv", "notes/more.md", "images/\\udcff.png",
    }  # fmt: skip


def test_a_study_toml_that_leads_to_itself_is_told(tmp_path: Path) -> None:
    """A link to itself is a message and no traceback."""
    (tmp_path / "study.toml").symlink_to("study.toml")
    assert [problem.file for problem in read_study(tmp_path).problems] == ["study.toml"]


def test_a_hundred_thousand_missing_files_are_told_in_seconds(tmp_path: Path) -> None:
    """A table that names files which are not there is read in seconds, each row told."""
    lay_out(tmp_path)
    rows = "".join(f"A1-x{n},chromatograms/gone{n}.csv,A1,{n % 1000},,\n" for n in range(100_000))
    (tmp_path / "injections.csv").write_text(INJECTIONS + rows)
    began = monotonic()
    assert len(read_study(tmp_path).problems) == 100_000
    assert monotonic() - began < 20


def test_a_log_at_one_reading_a_second_is_read_as_medians(tmp_path: Path) -> None:
    """A log of 100,000 rows is read in seconds, and its medians follow its course."""
    lay_out(tmp_path)
    rows = (f"A1,{n / 3600},{10.5 - n / 500_000:.4f}" for n in range(100_000))
    (tmp_path / "conditions.csv").write_text("column,exposure_h,ph\n" + "\n".join(rows) + "\n")
    (tmp_path / "injections.csv").write_text(INJECTIONS.replace(",1.5,", ",27,"))
    began = monotonic()
    reading = read_study(tmp_path)
    assert monotonic() - began < 20
    assert reading.study is not None
    assert len(reading.study.conditions) == 1000
    assert all(
        row.ph == pytest.approx(10.5 - (row.exposure_h or 0) * 3600 / 500_000, abs=1e-3)
        for row in reading.study.conditions
    )
    assert dict(reading.study.rows_read)["conditions.csv"] == 100_000
    assert any("medians of 100" in problem.found for problem in reading.problems)


def test_the_study_of_a_stranger_extends_nothing_beyond_where_it_lies(tmp_path: Path) -> None:
    """Of studies that others made, a file of the house is read among them alone; nothing else is opened."""
    shelf = tmp_path / "shelf"
    study = lay_out(shelf / "one")
    text = (study / "study.toml").read_text()
    for named, refused in (
        ("../laboratory.toml", False),
        ("own.toml", False),
        ("../../secret/lab.toml", True),
        ("/etc/lab.toml", True),
    ):
        (study / "study.toml").write_text(f'extends = "{named}"\n{text}')
        assert extended_by(study) == named
        if not refused:
            refuse_house_file_beyond(study, shelf)
            continue
        with pytest.raises(StudyFolderError) as told:
            refuse_house_file_beyond(study, shelf)
        (problem,) = told.value.problems
        assert problem.place == "extends"
        assert named in problem.found
        assert "was not read" in problem.found
    link = shelf / "laboratory.toml"
    link.symlink_to(tmp_path / "elsewhere.toml")
    (study / "study.toml").write_text(f'extends = "../laboratory.toml"\n{text}')
    with pytest.raises(StudyFolderError):
        refuse_house_file_beyond(study, shelf)


def test_a_table_of_injections_that_is_refused_is_told_once(tmp_path: Path) -> None:
    """A file that is there and not read is not called missing, and no note is blamed for what it names."""
    study = lay_out(tmp_path / "study")
    with (study / "injections.csv").open("r+b") as table:
        table.truncate(20_000_000_000)
    problems = [problem for problem in read_study(study).problems if problem.severity == "error"]
    assert [(problem.file, problem.found) for problem in problems] == [
        ("injections.csv", "a file of more than 256 MiB")
    ]
