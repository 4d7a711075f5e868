"""Keys beside the first contract are read, checked against the study, and told where they are wrong."""

from datetime import date, datetime
from pathlib import Path

import pytest

from lyewitness.study.folder import read_study
from lyewitness.study.records import Study
from tests.study.making import STUDY, change, lay_out

MORE = """
[[event]]
kind = "fresh mobile phase"
at = 36
columns = ["A1"]
note = "new bottle"

[[factor]]
name = "sacrificial column"
levels = { with = ["hybrid"], without = ["B1"] }

[[revision]]
number = 1
date = 2026-03-09
by = "Analyst A"
why = "first edition"

[[question]]
id = "span"
text = "Will it last three days?"
decides = "plate_number_half_height of toluene"
span_h = 72

[exports]
clock = "-05:00"
trace = "UV 220"

[test]
ends_h = 96
looks_h = [48, 0, 24]
"""
OF_A1 = '''group = "hybrid"
ended = 48
because = "leak"
upstream = "silica column"
price = 300.0
replaces = "B1"'''


def read(folder: Path, more: str = MORE) -> Study:
    """Return the study with all keys in it."""
    lay_out(folder)
    toml = STUDY.replace("[study]", '[study]\nrunning = true\nsupersedes = "2025-009"\ncurrency = "CHF"')
    (folder / "study.toml").write_text(toml.replace('group = "hybrid"', OF_A1) + more)
    reading = read_study(folder)
    assert reading.study is not None, reading.problems
    return reading.study


def test_every_key_of_the_second_round_is_read(tmp_path: Path) -> None:
    """Events, factors, revisions, plans, ends and prices reach the records as they stand."""
    study = read(tmp_path)
    assert (study.running, study.supersedes, study.currency) == (True, "2025-009", "CHF")
    assert study.events[0].begin == 36
    assert study.events[0].exposes
    assert [study.factors[0].level_of(column) for column in study.columns] == ["with", "without"]
    assert (study.revisions[0].number, study.revisions[0].date) == (1, date(2026, 3, 9))
    assert study.questions[1].deciding == ("toluene", "plate_number_half_height")
    assert study.questions[1].span_h == 72
    assert (study.exports.clock, study.exports.trace) == ("-05:00", "UV 220")
    assert (study.plan.ends_h, study.plan.looks_h) == (96, (0, 24, 48))
    column = study.columns[0]
    assert (column.ended, column.because, column.price) == (48, "leak", 300)
    assert (column.upstream, column.replaces) == ("silica column", "B1")
    assert study.rows_read == (("injections.csv", 3),)


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ('columns = ["A1"]', 'columns = ["A9"]', "event[1].columns"),
        ('kind = "fresh mobile phase"', 'kind = "coffee"', "event[1].kind"),
        ("at = 36", "", "event[1]"),
        ("at = 36", "from = 36\nto = 12", "event[1]"),
        ("at = 36", "at = 36\nfrom = 3", "event[1]"),
        ('without = ["B1"]', 'without = ["C1"]', "factor[1].levels"),
        (', without = ["B1"]', "", "factor[1].levels"),
        ("number = 1", 'number = "one"', "revision[1].number"),
        ("of toluene", "of xylene", "question[1].decides"),
        ("plate_number_half_height of toluene", "plates of toluene", "question[1].decides"),
        ('clock = "-05:00"', 'clock = "lab time"', "exports.clock"),
        ("ends_h = 96", 'ends_h = "soon"', "test.ends_h"),
        ('replaces = "B1"', 'replaces = "Z1"', "column[1].replaces"),
        ("price = 300.0", "price = -1", "column[1].price"),
        ("running = true", 'running = "yes"', "study.running"),
        ('supersedes = "2025-009"', 'supersedes = "2026-001"', "study.supersedes"),
    ],
)
def test_a_wrong_value_is_one_error_at_its_key(tmp_path: Path, old: str, new: str, place: str) -> None:
    """Each key is checked against the study, and its mistake told with its place."""
    read(tmp_path)
    change(tmp_path, "study.toml", old, new)
    problems = [problem for problem in read_study(tmp_path).problems if problem.severity == "error"]
    assert len(problems) == 1, problems
    assert problems[0].place.endswith(place)


def test_times_of_events_may_be_dates_or_texts(tmp_path: Path) -> None:
    """An ISO 8601 time counts with or without quotes."""
    times = ('"2026-03-03T10:00"', "2026-03-03T10:00:00")
    events = "".join(f'[[event]]\nkind = "leak"\nat = {time}\n' for time in times)
    assert {one.begin for one in read(tmp_path, events).events} == {datetime(2026, 3, 3, 10)}


def test_a_house_file_holds_where_the_study_is_silent(tmp_path: Path) -> None:
    """Limits and people of the laboratory are taken over, what the study says itself is not."""
    (tmp_path / "laboratory.toml").write_text(
        '[[person]]\nname = "Nobody"\n[limits]\nplate_number_half_height = { at_least_percent = 70 }\n'
        "symmetry_factor = { at_most = 2.5 }\n[choices]\nconfidence = 0.9\n"
    )
    folder = lay_out(tmp_path / "study")
    (folder / "study.toml").write_text('extends = "../laboratory.toml"\n' + STUDY)
    study = read_study(folder).study
    assert study is not None
    assert {limit.metric: limit.at_least_percent or limit.at_most for limit in study.limits} == {
        "plate_number_half_height": 80,
        "symmetry_factor": 2.5,
    }
    assert [person.name for person in study.people] == ["Analyst A"]
    assert study.choices.confidence == 0.9
    assert "../laboratory.toml" in dict(study.file_hashes)
    assert study.extends == "../laboratory.toml"


@pytest.mark.parametrize("name", ["/etc/passwd", "../../missing.toml", "notes.md", "", "../key.toml"])
def test_a_house_file_is_a_toml_file_and_nothing_else(tmp_path: Path, name: str) -> None:
    """No other file outside the study is opened, links to other files included."""
    folder = lay_out(tmp_path / "study")
    (tmp_path / "secret").write_text("a = 1\n")
    (tmp_path / "key.toml").symlink_to(tmp_path / "secret")
    (folder / "study.toml").write_text(f'extends = "{name}"\n' + STUDY)
    problems = [problem for problem in read_study(folder).problems if problem.severity == "error"]
    assert len(problems) == (1 if name else 0)


def test_a_replacement_begins_anew(tmp_path: Path) -> None:
    """Exposures that go on counting from the column before are an error, with what to take off."""
    read(tmp_path)
    change(tmp_path, "study.toml", 'replaces = "B1"', "")
    change(tmp_path, "study.toml", 'group = "silica"', 'group = "silica"\nreplaces = "A1"')
    change(tmp_path, "injections.csv", "A1,1.5,,", "A1,48,,")
    change(tmp_path, "injections.csv", "B1,0,no,air in the loop", "B1,54,,")
    problems = [problem for problem in read_study(tmp_path).problems if problem.severity == "error"]
    assert len(problems) == 1
    assert "from 54 h on" in problems[0].found


def test_injections_after_the_end_are_told(tmp_path: Path) -> None:
    """A column that was ended at 48 h cannot have been injected at 60 h."""
    read(tmp_path)
    change(tmp_path, "injections.csv", "A1,1.5,,", "A1,60,,")
    assert any("injections after it" in problem.found for problem in read_study(tmp_path).problems)


def test_revisions_are_ordered_by_number_and_doubtful_dates_are_told(tmp_path: Path) -> None:
    """The last revision is the one with the highest number; one dated before its forerunner is a caution."""
    more = "[[revision]]\nnumber = 3\ndate = 2026-01-01\n[[revision]]\nnumber = 2\ndate = 2026-04-01\n"
    study = read(tmp_path, MORE + more)
    assert [one.number for one in study.revisions] == [1, 2, 3]
    told = [one for one in read_study(tmp_path).problems if one.place.endswith("revision")]
    assert [one.severity for one in told] == ["caution"]
    assert "revision 3 of 2026-01-01, before revision 2 of 2026-04-01" in told[0].found


def test_a_time_without_seconds_is_told_as_that(tmp_path: Path) -> None:
    """TOML wants the seconds of a time: it is named, and not quotes or brackets."""
    read(tmp_path)
    change(tmp_path, "study.toml", "at = 36", "at = 2026-03-03T10:00+01:00")
    (problem,) = read_study(tmp_path).problems
    assert "seconds" in problem.expected
    assert problem.cure == "Add the seconds: T08:00:00, not T08:00."


def test_a_factor_is_asked_for_where_columns_have_its_levels(tmp_path: Path) -> None:
    """A column without a level is told, unless a question on the factor leaves its group out."""
    lay_out(tmp_path)
    third = '\n[[column]]\nid = "C1"\ngroup = "coated"\nlength_mm = 50\ninner_diameter_mm = 2.1\n'
    factor = '\n[[factor]]\nname = "guard"\nlevels = { with = ["A1"], without = ["B1"] }\n'
    toml = STUDY + third + factor

    def told(question: str) -> list[str]:
        (tmp_path / "study.toml").write_text(toml + question)
        return [one.found for one in read_study(tmp_path).problems if one.place.endswith("factor[1].levels")]

    asked = '\n[[question]]\nid = "g"\ntext = "{}"\ngroups = ["hybrid", "silica"]\n'
    assert told("") == ["the factor ‘guard’ is not stated for 'C1'"]
    assert told(asked.format("Does a guard help?")) == []
    assert told(asked.format("Which lasts longer?")) == ["the factor ‘guard’ is not stated for 'C1'"]
