"""When a run was made is read off common preambles, and said where it cannot be."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from lyewitness.study.folder import read_study
from lyewitness.traces.clocks import placed_by_stamps
from lyewitness.traces.collecting import collect_traces
from lyewitness.traces.stamps import stamp_of, stamp_words, tells_order
from lyewitness.words.problems import Problem
from tests.study.making import STUDY, lay_out


@pytest.mark.parametrize(
    ("lines", "at"),
    [
        (("Datum;02.03.2026 10:11:12",), "2026-03-02T10:11:12"),
        (("Datum\t02.03.2026\t10:11",), "2026-03-02T10:11:00"),
        (("Date,2026/03/02 10:11:12",), "2026-03-02T10:11:12"),
        (("Uhrzeit: 2.3.26 10:11:12",), "2026-03-02T10:11:12"),
        (("Acquired on = 2-Mar-2026, 10:11:12 PM",), "2026-03-02T22:11:12"),
        (("Injection time: March 2, 2026 12:11 AM",), "2026-03-02T00:11:00"),
        (("Datum;2. März 2026, 10:11 Uhr",), "2026-03-02T10:11:00"),
        (("Date d'acquisition;2 févr. 2026 10:11:12",), "2026-02-02T10:11:12"),
        (("Date: 23/03/2026 10:11:12Z",), "2026-03-23T10:11:12+00:00"),
        (("Date: 03/23/2026 10:11:12 AM +0100",), "2026-03-23T10:11:12+01:00"),
        (("Datum;02.03.2026", "Zeit;10:11:12"), "2026-03-02T10:11:12"),
        (("Date: 2026-03-02", "Start time: 10:11"), "2026-03-02T10:11:00"),
        (("Print date;05.06.2026 09:00", "Datum;02.03.2026 10:11:12"), "2026-03-02T10:11:12"),
        (("Datum;02.03.2026", "Run time;00:12:00"), ""),
        (("Date: 02/03/2026 10:11:12",), ""),
        (("Datum;31.02.2026 10:11",), ""),
        (("Version 2.14.26",), ""),
    ],
)
def test_common_forms_are_read(lines: Sequence[str], at: str) -> None:
    """A label in another language, any separator and every order of days with one reading are understood."""
    assert stamp_of(lines) == at


def test_what_has_two_readings_is_kept_in_words() -> None:
    """Nobody knows which number of 02/03/2026 is the month, and of 23/03/2026 everybody does."""
    assert stamp_words(["Sample;7", "Date: 02/03/2026 10:11:12"]) == "Date: 02/03/2026 10:11:12"
    assert tells_order("Date: 02/03/2026 10:11:12") is None
    assert tells_order("Date: 23/03/2026 10:11:12") is True
    assert tells_order("Date: 03/23/2026 10:11:12") is False
    assert stamp_words(["Sample;7", "Flow: 0.4"]) == ""


def told(folder: Path, heads: Sequence[str]) -> tuple[list[str], tuple[Problem, ...]]:
    """Return the stamps of exports with these heads and what is said of them."""
    lay_out(folder)
    toml = STUDY.replace('group = "hybrid"', 'group = "hybrid"\nexposure_start = 2026-03-02T08:00:00')
    (folder / "study.toml").write_text(toml)
    rows = ["injection,file,column,exposure_h"]
    for number, head in enumerate(heads):
        points = "".join(f"{t / 100},{t % 7}\n" for t in range(200))
        (folder / "chromatograms" / f"s{number}.csv").write_text(f"{head}\ntime/min,mAU\n{points}")
        rows.append(f"A1-{number},chromatograms/s{number}.csv,A1,{24 * number}")
    (folder / "injections.csv").write_text("\n".join(rows) + "\n")
    (folder / "notes" / "2026-03-02.md").unlink()
    study = read_study(folder).study
    assert study is not None
    traces, _ = collect_traces(study, lambda share: None)
    return [trace.acquired_at for trace in traces.values()], placed_by_stamps(study, traces)[1]


def test_a_stamp_that_cannot_be_read_is_told_with_its_place(tmp_path: Path) -> None:
    """Stamps of which day and month could be either are one caution, with file, words and cure."""
    stamps, problems = told(tmp_path, [f"Date: 0{2 + n}/03/2026 08:00" for n in (0, 2, 3)])
    assert stamps == ["", "", ""]
    (problem,) = problems
    assert (problem.file, problem.place) == ("chromatograms/s0.csv", "and two further files")
    assert "'Date: 02/03/2026 08:00'" in problem.found
    assert "`at`" in problem.cure


def test_one_stamp_shows_the_order_of_the_others(tmp_path: Path) -> None:
    """Where one export of a study is of the 13th, day and month of all are known."""
    stamps, problems = told(tmp_path, [f"Date: {day}/03/2026 08:00" for day in ("11", "12", "13")])
    assert stamps == [f"2026-03-{day}T08:00:00" for day in (11, 12, 13)]
    assert not any("cannot be read" in problem.found for problem in problems)


def test_exports_that_lack_what_others_have_are_told(tmp_path: Path) -> None:
    """Stamps in a part of the exports only are said, with the columns that no clock is held against."""
    stamps, problems = told(tmp_path, ["Datum;02.03.2026 08:00", "Datum;03.03.2026 08:00", "Sample;Mix"])
    assert stamps[2] == ""
    (problem,) = problems
    assert problem.found == "no time stamp, beside two exports with one (as A1-0): injections of A1"
    assert problem.place == ""
    assert problem.file == "chromatograms/s2.csv"
