"""Time stamps of exports are used where the folder gives no time, and held against what it gives."""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from lyewitness.study.folder import read_study
from lyewitness.study.records import Injection, Study
from lyewitness.traces.clocks import _odd_stamps, placed_by_stamps, stamps_of
from lyewitness.traces.collecting import collect_traces
from lyewitness.words.problems import Problem
from tests.study.making import STUDY, lay_out

START = datetime(2026, 3, 2, 8, 0)
HOURS = (0.0, 6.0, 12.0, 36.0)


def exported(
    folder: Path, offset_h: float, columns: str, cells: list[str], start: str, more: str = ""
) -> Study:
    """Return a study of one injected column whose exports bear stamps `offset_h` off the true time."""
    lay_out(folder)
    toml = STUDY.replace('group = "hybrid"', f'group = "hybrid"\nexposure_start = {start}')
    (folder / "study.toml").write_text(toml + more)
    rows = [f"injection,file,column{columns}"]
    for number, (hours, cell) in enumerate(zip(HOURS, cells, strict=True), start=1):
        stamp = START + timedelta(hours=hours + offset_h)
        points = "".join(f"{t / 100},{t % 7}\n" for t in range(200))
        (folder / "chromatograms" / f"s{number}.csv").write_text(f"Acquired: {stamp}\ntime/min,mAU\n{points}")
        rows.append(f"A1-{number},chromatograms/s{number}.csv,A1{cell}")
    (folder / "injections.csv").write_text("\n".join(rows) + "\n")
    (folder / "notes" / "2026-03-02.md").unlink()
    study = read_study(folder).study
    assert study is not None
    return study


def placed(study: Study) -> tuple[Study, tuple[Problem, ...]]:
    """Return the study placed by the stamps of its exports."""
    return placed_by_stamps(study, collect_traces(study, lambda share: None)[0])


def test_the_stamp_places_what_the_folder_does_not(tmp_path: Path) -> None:
    """Without exposure and time, the export's own stamp gives the hours since the start."""
    study, problems = placed(exported(tmp_path, 0.0, "", [""] * 4, "2026-03-02T08:00:00"))
    assert [one.exposure_h for one in study.injections] == pytest.approx(list(HOURS))
    assert problems == () or all("first of every column" not in problem.found for problem in problems)


def test_a_clock_behind_the_start_is_told(tmp_path: Path) -> None:
    """By a clock 6 h behind two injections lie before the start: they count at 0 h, and that is said."""
    study, problems = placed(exported(tmp_path / "behind", -6.5, "", [""] * 4, "2026-03-02T08:00:00"))
    assert [one.exposure_h for one in study.injections] == pytest.approx([0.0, 0.0, 5.5, 29.5])
    (problem,) = (one for one in problems if "before the stress began" in one.found)
    assert (problem.severity, problem.file) == ("caution", "chromatograms")
    assert problem.found == (
        "2 injections dated before the stress began, by up to 6.5 h, and counted at 0 h "
        "(A1-1: 2026-03-02 01:30, and exposure_start 2026-03-02 08:00)"
    )
    assert "[exports] clock" in problem.cure
    _, minutes = placed(exported(tmp_path / "minutes", -0.3, "", [""] * 4, "2026-03-02T08:00:00"))
    assert not any("before the stress began" in one.found for one in minutes)


def test_the_stated_zone_of_the_instrument_is_reckoned_with(tmp_path: Path) -> None:
    """A clock at −05:00 and a start at +01:00 lie six hours apart, and the exposure is right all the same."""
    zone = '[exports]\nclock = "-05:00"\n'
    study, _ = placed(exported(tmp_path, -6.0, "", [""] * 4, "2026-03-02T08:00:00+01:00", zone))
    assert [one.exposure_h for one in study.injections] == pytest.approx(list(HOURS))


def test_stamps_hours_off_the_stated_times_are_told(tmp_path: Path) -> None:
    """Stamps that stand 6 h ahead of every `at` are one caution, and `at` is followed."""
    cells = [f",{(START + timedelta(hours=hours)).isoformat()}" for hours in HOURS]
    study, problems = placed(exported(tmp_path, 6.0, ",at", cells, "2026-03-02T08:00:00"))
    assert [one.exposure_h for one in study.injections] == pytest.approx(list(HOURS))
    assert ["6 h ahead of 'at'" in problem.found for problem in problems] == [True]


def test_a_sequence_under_a_wrong_clock_is_one_caution(tmp_path: Path) -> None:
    """Four of twelve exports two hours ahead of `at` are one thing; a single other one is its own."""
    hours = [float(hour) for hour in range(0, 96, 8)]
    shifts = [2.0 if 4 <= turn < 8 else 5.0 if turn == 10 else 0.0 for turn in range(len(hours))]
    injections = tuple(
        Injection(f"I{turn}", f"s{turn}.csv", "K", at=START + timedelta(hours=hour))
        for turn, hour in enumerate(hours)
    )
    odd = [
        (one, one.at + timedelta(hours=shift), shift)
        for one, shift in zip(injections, shifts, strict=True)
        if shift and one.at
    ]
    found = [problem.found for problem in _odd_stamps(odd)]
    assert len(found) == 2
    assert found[0].startswith("4 exports (I4 to I7) 2 h ahead of 'at'")
    assert "I10" in found[1]


def test_files_that_changed_places_are_one_caution() -> None:
    """Two exports each dated as the other were exchanged, perhaps rightly: that is asked once."""
    first, second, third = (
        Injection(f"I{turn}", f"s{turn}.csv", "K", at=START + timedelta(hours=hour))
        for turn, hour in enumerate((8, 32, 56))
    )
    crossed = [(first, START + timedelta(hours=32.2), 24.2), (second, START + timedelta(hours=8), -24.0)]
    (found,) = _odd_stamps([*crossed])
    assert found.found == "the exports of I0 and I1 each dated as the other"
    assert "exchanged on purpose" in found.cure
    lone = (third, START + timedelta(hours=70), 14.0)
    assert "I2" in [problem.found for problem in _odd_stamps([*crossed, lone])][1]


def test_stamps_hours_off_the_stated_exposures_are_told(tmp_path: Path) -> None:
    """With exposures instead of times the start shows the same."""
    cells = [f",{hours:g}" for hours in HOURS]
    _, problems = placed(exported(tmp_path, 6.0, ",exposure_h", cells, "2026-03-02T08:00:00"))
    assert ["6 h ahead of the stated exposures" in problem.found for problem in problems] == [True]


def test_stamps_of_files_exported_in_a_row_are_none(tmp_path: Path) -> None:
    """Exports of runs of two minutes dated seconds apart tell when they were written, and place nothing."""
    study = exported(tmp_path, 0.0, ",exposure_h", [f",{hours:g}" for hours in HOURS], "2026-03-02T08:00:00")
    traces = collect_traces(study, lambda share: None)[0]
    assert len(stamps_of(study, traces)) == len(HOURS)
    written = {
        name: replace(trace, acquired_at=(START + timedelta(seconds=20 * number)).isoformat())
        for number, (name, trace) in enumerate(traces.items())
    }
    assert stamps_of(study, written) == {}


def test_neither_time_nor_stamp_is_an_error(tmp_path: Path) -> None:
    """An injection that nothing places stops the report and names its row."""
    study = exported(tmp_path, 0.0, "", [""] * 4, "2026-03-02T08:00:00")
    path = tmp_path / "chromatograms" / "s3.csv"
    path.write_text(path.read_text().partition("\n")[2])
    _, problems = placed(study)
    assert [(problem.severity, problem.place) for problem in problems if problem.severity == "error"] == [
        ("error", "row 4")
    ]
