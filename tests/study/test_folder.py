"""A study folder is read whole, and every mistake in it is told with its place."""

import csv
from pathlib import Path

import pytest

from lyewitness.study.folder import read_study
from lyewitness.study.injections import head_to_add, line_without
from lyewitness.words.problems import Problem
from tests.study.making import change, lay_out


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder without mistakes."""
    return lay_out(tmp_path)


def errors(folder: Path) -> list[Problem]:
    """Return the errors found in the folder, and make sure that they stop it."""
    reading = read_study(folder)
    found = [problem for problem in reading.problems if problem.severity == "error"]
    assert (reading.study is None) == bool(found)
    return found


def test_a_good_folder_has_no_problem(folder: Path) -> None:
    """A folder that follows the contract is read without a word."""
    reading = read_study(folder)
    assert reading.problems == ()
    study = reading.study
    assert study is not None
    assert [injection.used for injection in study.injections] == [True, True, False]
    assert study.injections[2].why == "air in the loop"
    assert study.test == study.stress
    assert study.groups == ("hybrid", "silica")
    assert study.marker("toluene").expected_retention(study.column("B1")) == 1.4
    assert study.notes[0].references == (("column", "A1"), ("injection", "A1-1"))
    assert {name for name, _ in study.file_hashes} == {"study.toml", "injections.csv", "notes/2026-03-02.md"}


@pytest.mark.parametrize(
    ("name", "old", "new", "place", "cure"),
    [
        ("study.toml", "length_mm = 50", 'length_mm = "fifty"', "line 25, column[1].length_mm", "10.5"),
        ("study.toml", "length_mm = 50", "length_mm = -50", "line 25, column[1].length_mm", "unit"),
        ("study.toml", 'title = "Two', 'title "Two', "line 3", "quotes"),
        ("study.toml", 'role = "neutral"', 'role = "neutrall"', "line 42, marker[2].role", "Correct"),
        (
            "study.toml",
            "plate_number_half",
            "plate_nummer_half",
            "line 46, limits.plate_nummer_half_height",
            "mean",
        ),
        (
            "study.toml",
            "at_least_percent = 80",
            "at_least = 8, at_most = 9",
            "limits.plate_number",
            "at_least",
        ),
        ("study.toml", "hybrid = 1.2, ", "", "line 43, marker[2].retention_min", "groups"),
        (
            "study.toml",
            "[[marker]]",
            '[[column]]\nid = "A1"\ngroup = "x"\n\n[[marker]]',
            "column[3].id",
            "Rename",
        ),
        ("injections.csv", "A1-2,", "A1-1,", "row 3, injection", "own name"),
        ("injections.csv", "a2.csv,A1,1.5", "a2.csv,A7,1.5", "row 3, column", "Did you mean 'A1'?"),
        ("injections.csv", "a2.csv,A1,1.5", "c.csv,A1,1.5", "row 3, file", "path"),
        ("injections.csv", "a2.csv,A1,1.5", "../a.csv,A1,1.5", "row 3, file", "path"),
        ("injections.csv", "A1,1.5", "A1,1.5.0", "row 3, exposure_h", "Correct"),
        ("injections.csv", "A1,1.5", "A1,", "row 3", "Fill in"),
        ("injections.csv", "air in the loop", "", "row 4, why", "why"),
        ("study.toml", "ph = 11.0", "ph = 11,0", "line 14", "decimal point"),
        ("study.toml", "ph = 11.0", "ph = 11.0 pH", "line 14", "number alone"),
        (
            "study.toml",
            "temperature_C = 50",
            'temperature_C = "50,5"',
            "line 18, stress.temperature_C",
            "10.5",
        ),
        ("study.toml", "[[person]]", "asked_on = 01.03.2026\n[[person]]", "line 7", "year-month-day"),
        ("study.toml", "[[person]]", 'asked_on = "1.3.2026"\n[[person]]', "line 7", "year-month-day"),
        ("study.toml", "{ at_least_percent = 80 }", "80", "line 46, limits.plate_number", "at_most = 80"),
        ("study.toml", "at_least_percent = 80", "at_least_percent = 0.8", "limits.plate_number", "= 80"),
        ("study.toml", "hybrid = 1.2", "Hybrid = 1.2", "marker[2].retention_min", "Did you mean 'Hybrid'?"),
        ("study.toml", 'buffer = "diethylamine"', 'buffer = "…"', "line 12, stress.buffer", "Fill it in"),
        (
            "study.toml",
            "[limits]",
            '[choices]\ncontrol = "hybird"\n\n[limits]',
            "choices.control",
            "'hybrid'",
        ),
        ("injections.csv", "A1,0,,", "A1,-1,,", "row 2, exposure_h", "Correct"),
        ("notes/2026-03-02.md", "column:A1", "column:A9", "line 6", "A1"),
        ("notes/2026-03-02.md", "column:A1", "colum:A1", "line 6", "column"),
        ("notes/2026-03-02.md", "date = 2026-03-02", "date = ", "line 3", "Write the value"),
    ],
)
def test_one_mistake_gives_one_message_with_its_place(
    folder: Path, name: str, old: str, new: str, place: str, cure: str
) -> None:
    """Each mistake is told once, with the file, the place in it, and what to do."""
    change(folder, name, old, new)
    found = errors(folder)
    assert len(found) == 1, found
    assert found[0].file == name
    assert place in found[0].place
    assert cure in found[0].cure


def test_many_mistakes_are_told_together(folder: Path) -> None:
    """Ten mistakes need one run to hear of them, whichever files they are in."""
    change(folder, "study.toml", "buffer_mM = 20", 'buffer_mM = "x"')
    change(folder, "study.toml", "temperature_C = 50", "temperature_C = 5000")
    change(folder, "injections.csv", "A1,1.5", "A1,x")
    change(folder, "notes/2026-03-02.md", "column:A1", "column:A9")
    assert len(errors(folder)) == 4


def test_an_unknown_key_is_a_caution_with_a_suggestion(folder: Path) -> None:
    """A slip in a key's name does not stop the report and is not passed over in silence."""
    change(folder, "study.toml", "length_mm = 50", "lenght_mm = 50")
    reading = read_study(folder)
    assert reading.study is not None
    assert [(problem.severity, "length_mm" in problem.cure) for problem in reading.problems] == [
        ("caution", True)
    ]


def test_a_table_from_a_spreadsheet_with_decimal_comma_is_read(folder: Path) -> None:
    """Semicolons, decimal commas, UTF-16 and CRLF say the same as commas and points."""
    text = (
        (folder / "injections.csv").read_text().replace(",", ";").replace("1.5", "1,5").replace("\n", "\r\n")
    )
    (folder / "injections.csv").write_bytes(text.encode("utf-16"))
    study = read_study(folder).study
    assert study is not None
    assert study.injections[1].exposure_h == 1.5


def test_file_names_may_stand_in_for_the_table(folder: Path) -> None:
    """A pattern over file names gives column, exposure and name; a file that does not fit is a caution."""
    (folder / "injections.csv").unlink()
    (folder / "notes" / "2026-03-02.md").unlink()
    for name in ("A1_0h_1.csv", "A1_2.5h_2.csv", "B1_0h_3.csv.gz", "stray.csv"):
        (folder / "chromatograms" / name).write_text("0 1\n")
    for name in ("a.csv", "a2.csv", "b.csv"):
        (folder / "chromatograms" / name).unlink()
    with (folder / "study.toml").open("a") as toml:
        toml.write('\n[injections]\npattern = "chromatograms/{column}_{exposure_h}h_{injection}.csv"\n')
    reading = read_study(folder)
    assert reading.study is not None
    assert [(one.id, one.column, one.exposure_h) for one in reading.study.injections] == [
        ("1", "A1", 0.0), ("2", "A1", 2.5), ("3", "B1", 0.0),
    ]  # fmt: skip
    assert ["stray" in problem.found for problem in reading.problems] == [True]


def by_pattern(folder: Path, more: str = "") -> None:
    """Let a pattern stand for the table of `folder`, with `more` below it."""
    (folder / "injections.csv").unlink()
    (folder / "notes" / "2026-03-02.md").unlink()
    for name in ("a.csv", "a2.csv", "b.csv"):
        (folder / "chromatograms" / name).unlink()
    for name in ("A1_0h_1.csv", "A1_2.5h_2.csv", "B1_0h_3.csv"):
        (folder / "chromatograms" / name).write_text("0 1\n")
    with (folder / "study.toml").open("a") as toml:
        toml.write(
            '\n[injections]\npattern = "chromatograms/{column}_{exposure_h}h_{injection}.csv"\n' + more
        )


def test_the_line_that_is_proposed_leaves_one_injection_of_a_pattern_out(folder: Path) -> None:
    """Put below [injections] it leaves that one out, with its reason, and all others are read as before."""
    by_pattern(folder)
    study = read_study(folder).study
    assert study is not None
    line = line_without(study, study.injections[1], 'disturbed: a "bubble" at 2.1 min')
    with (folder / "study.toml").open("a") as toml:
        toml.write(f"{line}\n")
    study = read_study(folder).study
    assert study is not None
    assert [(one.id, one.used) for one in study.injections] == [("1", True), ("2", False), ("3", True)]
    assert study.injections[1].why == 'disturbed: a "bubble" at 2.1 min'


@pytest.mark.parametrize("lacking", [(), ("why",), ("use", "why")])
def test_the_row_that_is_proposed_leaves_one_injection_of_a_table_out(
    folder: Path, lacking: tuple[str, ...]
) -> None:
    """Put in its place, below a first line with what it lacked, it leaves that one out; it is one line."""
    table = folder / "injections.csv"
    rows = list(csv.DictReader(table.read_text().splitlines()))
    kept = [name for name in rows[0] if name not in lacking]
    with table.open("w", newline="") as file:
        writer = csv.DictWriter(file, kept, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        writer.writerows({**row, "use": "", "why": ""} for row in rows)
    study = read_study(folder).study
    assert study is not None
    assert head_to_add(study) == "".join(f",{word}" for word in lacking)
    lines = table.read_text().splitlines()
    lines[2] = line_without(study, study.injections[1], 'disturbed: a "bubble", late')
    lines[0] += head_to_add(study)
    table.write_text("\n".join(lines) + "\n")
    study = read_study(folder).study
    assert study is not None
    assert [one.used for one in study.injections] == [True, False, True]
    assert study.injections[1].why == 'disturbed: a "bubble", late'


@pytest.mark.parametrize("more", ['leave_out."9" = "lost"\n', 'leave_out."1" = ""\n', 'leave_out = ["1"]\n'])
def test_what_is_left_out_of_a_pattern_is_one_of_it_and_has_a_reason(folder: Path, more: str) -> None:
    """A name that no file has, and an injection without a reason, are errors that name the key."""
    by_pattern(folder, more)
    (error,) = errors(folder)
    assert error.file == "study.toml"
    assert "leave_out" in error.place


def test_a_row_beside_a_pattern_that_would_hide_all_other_files_is_an_error(folder: Path) -> None:
    """A table stands for the pattern; one that leaves most of its files unread was meant to add to it."""
    by_pattern(folder)
    (folder / "injections.csv").write_text(
        "injection,file,column,exposure_h,use,why\n2,chromatograms/A1_2.5h_2.csv,A1,2.5,no,a bubble\n"
    )
    (error,) = errors(folder)
    assert "hides 2 of 3 files" in error.found
    assert "leave_out" in error.cure


def test_an_injection_by_time_needs_the_start_of_the_exposure(folder: Path) -> None:
    """`at` alone cannot be placed: the message says which key to add."""
    (folder / "injections.csv").write_text(
        "injection,file,column,at\nA1-1,chromatograms/a.csv,A1,2026-03-02T10:00:00\n"
    )
    (folder / "notes" / "2026-03-02.md").unlink()
    found = errors(folder)
    assert len(found) == 1
    assert "exposure_start" in found[0].cure


def test_a_link_that_leaves_the_folder_is_refused(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A file outside the study folder is not read, whichever way it is reached."""
    outside = tmp_path_factory.mktemp("outside") / "secret.csv"
    outside.write_text("0,1\n1,1\n")
    (folder / "chromatograms" / "b.csv").unlink()
    (folder / "chromatograms" / "b.csv").symlink_to(outside)
    assert [problem.place for problem in errors(folder)] == [""]
    assert errors(folder)[0].file == "chromatograms/b.csv"
    assert "leaves the study folder" in errors(folder)[0].found


def test_a_further_question_names_what_exists(folder: Path) -> None:
    """A question about an unknown group is an error; a good one stands beside the first."""
    with (folder / "study.toml").open("a") as toml:
        toml.write(
            '\n[[question]]\nid = "late"\ntext = "For two weeks?"\ngroups = ["hybrid"]\nrun_time_min = 6\n'
        )
    study = read_study(folder).study
    assert study is not None
    assert [question.id for question in study.questions] == ["q1", "late"]
    change(folder, "study.toml", 'groups = ["hybrid"]', 'groups = ["hybird"]')
    assert "Did you mean 'hybrid'?" in errors(folder)[0].cure


def test_an_image_may_ask_for_its_particles_to_be_counted(folder: Path) -> None:
    """`particles` is yes, no or nothing; an image without a row is read with a caution."""
    (folder / "images").mkdir()
    for name in ("a.png", "b.png"):
        (folder / "images" / name).write_bytes(b"\x89PNG")
    (folder / "images.csv").write_text("file,caption,particles\nimages/a.png,fresh bed,yes\n")
    reading = read_study(folder)
    assert reading.study is not None
    assert [image.count_particles for image in reading.study.images] == [True, False]
    assert ["b.png" in problem.found for problem in reading.problems] == [True]
    change(folder, "images.csv", ",yes", ",often")
    assert errors(folder)[0].place == "row 2, particles"


def cautions(folder: Path) -> list[str]:
    """Return the cures of the cautions of a folder that has no error."""
    reading = read_study(folder)
    assert reading.study is not None, reading.problems
    return [problem.cure for problem in reading.problems]


@pytest.mark.parametrize(
    ("name", "old", "new", "cure"),
    [
        ("study.toml", "buffer_mM = 20", "buffer_mM = 0.02", "buffer_mM = 20"),
        ("study.toml", "organic_percent = 30", "organic_percent = 0.3", "organic_percent = 30"),
        ("study.toml", "inner_diameter_mm = 2.1", "inner_diameter_mm = 0.21", "decimal point"),
        ("injections.csv", "a2.csv", "a.csv", "Correct one of the two"),
        ("notes/2026-03-02.md", "+++", "---", "Write +++"),
    ],
)
def test_a_slip_that_can_be_meant_is_a_caution(
    folder: Path, name: str, old: str, new: str, cure: str
) -> None:
    """Slips of unit do not stop the report, and the caution says what was probably meant."""
    change(folder, name, old, new)
    assert any(cure in found for found in cautions(folder)), cautions(folder)


def test_exposures_by_volume_need_a_flow(folder: Path) -> None:
    """Millilitres without a flow are an error that names the key to add."""
    change(folder, "injections.csv", "exposure_h", "exposure_mL")
    assert cautions(folder) == []
    change(folder, "study.toml", "flow_mL_min = 0.4", "")
    assert {problem.cure for problem in errors(folder)} == {"Add 'flow_mL_min = …' below [stress]."}


def test_two_exposures_of_one_row_must_agree(folder: Path) -> None:
    """Hours and millilitres that contradict each other at the stated flow are an error."""
    text = (folder / "injections.csv").read_text().replace("exposure_h", "exposure_h,exposure_mL")
    agreeing = text.replace("A1,0,", "A1,0,0,").replace("A1,1.5,", "A1,1.5,36,").replace("B1,0,", "B1,0,0,")
    (folder / "injections.csv").write_text(agreeing)
    assert cautions(folder) == []
    change(folder, "injections.csv", "1.5,36", "1.5,96")
    assert [problem.place for problem in errors(folder)] == ["row 3"]


def test_a_log_of_another_length_is_a_caution(folder: Path) -> None:
    """A log that runs ten times as long as the injections is questioned."""
    (folder / "conditions.csv").write_text("column,exposure_h,pressure_bar\nA1,0,200\nA1,15,210\n")
    assert any("heading of this column" in found for found in cautions(folder))


def test_an_oven_off_its_plan_throughout_is_told_with_the_line_to_put(folder: Path) -> None:
    """A steady oven three degrees off is a caution that quotes what to write; a draught is none."""
    log = "column,exposure_h,temperature_C\n" + "".join(f"B1,{h},50.0\nA1,{h},{{}}\n" for h in (0, 0.7, 1.5))
    (folder / "conditions.csv").write_text(log.format(52.7, 53.0, 53.1))
    (said,) = [one for one in read_study(folder).problems if one.place == "temperature_C"]
    assert said.severity == "caution"
    assert "A1 ran 2.9" in said.found
    assert "throughout (52.7 to 53.1" in said.found
    assert said.cure.startswith("If the log is right, put ‘temperature_C = 53’ into the [[column]] of 'A1':")
    (folder / "conditions.csv").write_text(log.format(49.9, 53.0, 53.1))
    assert cautions(folder) == []


def test_two_bounds_in_one_limit_are_refused_with_the_list_to_write(folder: Path) -> None:
    """Whoever writes two bounds in one table is told the form that holds two."""
    change(
        folder, "study.toml", "{ at_least_percent = 80 }", "{ at_least_percent = 90, at_most_percent = 110 }"
    )
    (found,) = errors(folder)
    assert "plate_number_half_height = [{ at_least_percent = 90 }, { at_most_percent = 110 }]" in found.cure


def test_capitals_in_a_heading_are_no_mistake(folder: Path) -> None:
    """A heading is known whichever letters are capitals."""
    change(folder, "injections.csv", "injection,file,column", "Injection,File,Column")
    assert cautions(folder) == []


@pytest.mark.parametrize(("more", "severity"), [(2, "caution"), (40, "error")])
def test_an_export_that_several_injections_name_is_told_once(folder: Path, more: int, severity: str) -> None:
    """All are named in one message; a table in which very many name one file is another table."""
    with (folder / "injections.csv").open("a", encoding="utf-8") as table:
        first = (folder / "injections.csv").read_text(encoding="utf-8").splitlines()[1].split(",")
        for number in range(more):
            table.write(",".join([f"X{number}", *first[1:]]) + "\n")
    told = [one for one in read_study(folder).problems if "a file for each injection" in one.expected]
    assert [one.severity for one in told] == [severity]
    assert "'X0', 'X1'" in told[0].found
