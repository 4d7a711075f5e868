"""The folder of a rehearsed study: complete, repeatable, and the one that is shipped."""

import csv
import re
import tomllib
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from lyewitness.rehearsal.scenario import accelerated_scenario, example_scenario, foresee, small_scenario
from lyewitness.rehearsal.writing import rehearse, write_study
from lyewitness.shipped import shipped_folder


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below `folder` by its path."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def rehearsed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the example study, written anew."""
    folder = tmp_path_factory.mktemp("rehearsed") / "example"
    rehearse(folder)
    return folder


def test_the_shipped_example_is_made_again_byte_for_byte(rehearsed: Path) -> None:
    """`lyewitness rehearse FOLDER` gives the folder that came with the program."""
    shipped, made = contents(shipped_folder("example_study")), contents(rehearsed)
    assert shipped.keys() == made.keys()
    assert [name for name in made if made[name] != shipped[name]] == []


def test_the_example_stays_below_twelve_megabytes(rehearsed: Path) -> None:
    """All files together."""
    assert sum(map(len, contents(rehearsed).values())) < 12e6


def test_the_example_says_that_it_is_invented(rehearsed: Path) -> None:
    """In study.toml, where the report takes it from, and in README.md with the command."""
    study = tomllib.loads((rehearsed / "study.toml").read_text(encoding="utf-8"))["study"]
    readme = (rehearsed / "README.md").read_text(encoding="utf-8")
    assert "invented" in study["invented"]
    assert study["invented"] in readme
    assert "lyewitness rehearse FOLDER" in readme


def test_every_injection_has_its_file_and_every_file_its_injection(rehearsed: Path) -> None:
    """injections.csv and chromatograms/ agree."""
    rows = list(csv.DictReader((rehearsed / "injections.csv").read_text(encoding="utf-8").splitlines()))
    files = [name for name in contents(rehearsed) if name.startswith("chromatograms/")]
    assert sorted(row["file"] for row in rows) == files
    assert all(row["why"] for row in rows if row["use"] == "no")
    assert sum(row["use"] == "no" for row in rows) == sum(bool(one.why) for one in example_scenario().mishaps)


def test_the_log_has_a_row_for_every_injection(rehearsed: Path) -> None:
    """Pressure is that of the truth, to 0.1 bar."""
    rows = list(csv.DictReader((rehearsed / "conditions.csv").read_text(encoding="utf-8").splitlines()))
    truth = foresee(example_scenario())
    assert len(rows) == len(truth.injections)
    for name, pressure in truth.pressure_bar.items():
        logged = [float(row["pressure_bar"]) for row in rows if row["column"] == name]
        assert logged == pytest.approx(pressure.tolist(), abs=0.051)


def test_true_lives_stand_in_the_readme(rehearsed: Path) -> None:
    """The table of README.md has the life of S1's base, as the simulator knows it."""
    column = foresee(example_scenario()).columns["S1"]
    life = column.lives_h["dimethylbenzylamine", "plate_number_half_height"]
    row = next(
        line
        for line in (rehearsed / "README.md").read_text(encoding="utf-8").splitlines()
        if re.match(r"\| dimethylbenzylamine \| plate number", line)
    )
    assert f"{life:.1f} h" in row


def test_the_clock_stands_behind_every_exposure(rehearsed: Path) -> None:
    """`at` less `exposure_start`, less the hours without power, is the exposure, to a minute."""
    study = tomllib.loads((rehearsed / "study.toml").read_text(encoding="utf-8"))
    start = {one["id"]: datetime.fromisoformat(one["exposure_start"]) for one in study["column"]}
    cut = next(event for event in study["event"] if event["kind"] == "power cut")
    began, ended = datetime.fromisoformat(cut["from"]), datetime.fromisoformat(cut["to"])
    for row in csv.DictReader((rehearsed / "injections.csv").read_text(encoding="utf-8").splitlines()):
        at = datetime.fromisoformat(row["at"])
        idle = ended - began if row["column"] in cut["columns"] and at > began else timedelta()
        hours = (at - start[row["column"]] - idle).total_seconds() / 3600
        assert hours == pytest.approx(float(row["exposure_h"]), abs=1 / 59)


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    """Nothing is ever overwritten."""
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(FileExistsError, match="not empty"):
        write_study(small_scenario(), tmp_path)
    assert contents(tmp_path) == {"mine.txt": b"mine"}


def test_two_seeds_give_two_studies(tmp_path: Path) -> None:
    """The seed changes the traces and leaves study.toml alone."""
    write_study(small_scenario(), tmp_path / "a", 1)
    write_study(small_scenario(), tmp_path / "b", 2)
    one, two = contents(tmp_path / "a"), contents(tmp_path / "b")
    assert one.keys() == two.keys()
    assert one["study.toml"] == two["study.toml"]
    assert one["chromatograms/H1-01.csv"] != two["chromatograms/H1-01.csv"]


def test_another_seed_is_named_in_the_readme(tmp_path: Path) -> None:
    """The command in README.md makes the folder that it lies in."""
    rehearse(tmp_path / "a", 77)
    assert "lyewitness rehearse FOLDER --seed 77" in (tmp_path / "a" / "README.md").read_text(
        encoding="utf-8"
    )
    write_study(small_scenario(), tmp_path / "b")
    assert "lyewitness rehearse" not in (tmp_path / "b" / "README.md").read_text(encoding="utf-8")


def test_columns_off_the_common_temperature_say_so(tmp_path: Path) -> None:
    """study.toml names the temperature of a column that is stressed at another one."""
    write_study(accelerated_scenario(), tmp_path / "hot")
    study = tomllib.loads((tmp_path / "hot" / "study.toml").read_text(encoding="utf-8"))
    assert [column.get("temperature_C") for column in study["column"][:3]] == [50, None, 70]
