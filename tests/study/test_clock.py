"""Exposure by the clock: pauses do not count, and clocks that are off are told with the study's own dates."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from lyewitness.study.folder import StudyReading, read_study
from lyewitness.words.problems import Problem
from tests.study.making import STUDY, lay_out

START = datetime(2026, 3, 2, 8, 0)
HOURS = (0.0, 6.0, 12.0, 18.0, 30.0, 36.0, 48.0)
POWER_CUT = '[[event]]\nkind = "power cut"\nfrom = 2026-03-03T04:00:00\nto = 2026-03-03T15:00:00\n'


def dated(
    folder: Path,
    times: Sequence[datetime],
    exposures: Sequence[float | None] | None = None,
    more: str = "",
    start: str = "2026-03-02T08:00:00",
) -> StudyReading:
    """Return the reading of a folder whose two columns were injected at these times."""
    lay_out(folder)
    begun = f'group = "{{}}"\nexposure_start = {start}'
    toml = STUDY.replace('group = "hybrid"', begun.format("hybrid")).replace(
        'group = "silica"', begun.format("silica")
    )
    (folder / "study.toml").write_text(toml + more)
    rows = ["injection,file,column,at,exposure_h"]
    for column, file in (("A1", "a"), ("B1", "b")):
        for number, time in enumerate(times, start=1):
            hours = exposures[number - 1] if exposures else None
            stated = "" if hours is None else f"{hours:g}"
            place = f"{column}-{number},chromatograms/{file}.csv,{column}"
            rows.append(f"{place},{time.isoformat()},{stated}")
    (folder / "injections.csv").write_text("\n".join(rows) + "\n")
    return read_study(folder)


def ran(hours: float, lost: float = 11.0, after: float = 20.0) -> datetime:
    """Return when a column had been exposed for so long, `lost` hours of standstill after the first."""
    return START + timedelta(hours=hours + (lost if hours > after else 0.0))


def told(reading: StudyReading) -> list[Problem]:
    """Return the problems that are not about one file for two injections, or too few of them."""
    beside = ("the file of", "reference_injections")
    return [one for one in reading.problems if not any(word in one.found + one.place for word in beside)]


def test_a_power_cut_does_not_count_as_exposure(tmp_path: Path) -> None:
    """The hours of a power cut are taken off what the clock says, for what follows it alone."""
    reading = dated(tmp_path, [ran(hours) for hours in HOURS], more=POWER_CUT)
    assert reading.study is not None
    assert [one.exposure_h for one in reading.study.injections] == pytest.approx([*HOURS, *HOURS])
    assert told(reading) == []


def test_what_is_logged_in_a_power_cut_is_nothing_of_the_stress(tmp_path: Path) -> None:
    """A cold oven and a stopped pump in a stated pause raise no doubt about flow or temperature."""
    cold, warm = "20,0", "50,0.4"
    rows = ["column,at,temperature_C,flow_mL_min"]
    rows += [f"A1,{ran(hour, lost=0).isoformat()},{cold if 20 <= hour <= 31 else warm}" for hour in range(60)]
    (tmp_path / "conditions.csv").write_text("\n".join(rows) + "\n")
    reading = dated(tmp_path, [ran(hours) for hours in HOURS], more=POWER_CUT)
    assert reading.study is not None
    assert {row.flow_mL_min for row in reading.study.conditions} == {0.4}
    assert len(reading.study.logged_in_pauses) == 12
    assert told(reading) == []


def test_overlapping_pauses_count_once_and_only_for_their_columns(tmp_path: Path) -> None:
    """A pause of one column lies within the power cut of all; hours are never taken off twice."""
    more = POWER_CUT + (
        '[[event]]\nkind = "pause"\ncolumns = ["B1"]\nfrom = 2026-03-03T10:00:00\nto = 2026-03-03T16:00:00\n'
    )
    reading = dated(tmp_path, [ran(0), ran(12), ran(30)], more=more)
    assert reading.study is not None
    last = {one.column: one.exposure_h for one in reading.study.injections}
    assert last == pytest.approx({"A1": 30.0, "B1": 29.0})


def test_a_standstill_in_the_stress_counts_where_the_study_says_so(tmp_path: Path) -> None:
    """`still_exposed = true` lets the hours of a power cut count."""
    reading = dated(tmp_path, [ran(hours) for hours in HOURS], more=POWER_CUT + "still_exposed = true\n")
    assert reading.study is not None
    assert reading.study.injections[-1].exposure_h == pytest.approx(59.0)


def test_exposures_are_taken_as_stated_and_a_missing_pause_is_asked_for(tmp_path: Path) -> None:
    """Stated hours stand; where the clock ran 11 h longer, the cure holds the dates between which it did."""
    reading = dated(tmp_path, [ran(hours) for hours in HOURS], HOURS)
    assert reading.study is not None
    assert [one.exposure_h for one in reading.study.injections[:7]] == pytest.approx(list(HOURS))
    cautions = told(reading)
    assert len(cautions) == 2  # one a column
    assert cautions[0].found.startswith("11 h more of time than of exposure")
    assert "2026-03-03T02:00 and 2026-03-04T01:00" in cautions[0].cure
    assert told(dated(tmp_path, [ran(hours) for hours in HOURS], HOURS, POWER_CUT)) == []


def test_more_exposure_than_time_is_an_error(tmp_path: Path) -> None:
    """A column cannot have been exposed for longer than the clock ran."""
    reading = dated(tmp_path, [START + timedelta(hours=hours) for hours in (0, 6, 12)], (0, 6, 40))
    assert reading.study is None
    assert "28 h more of exposure than of time" in reading.problems[-1].found


@pytest.mark.parametrize("offset", [6.0, -5.0, 5.5, 0.5])
def test_a_clock_that_is_hours_off_is_found(tmp_path: Path, offset: float) -> None:
    """Times that stand whole or half hours off the stated exposures are told once a column, with dates."""
    times = [START + timedelta(hours=hours + offset, minutes=3) for hours in HOURS]
    reading = dated(tmp_path, times, HOURS)
    assert reading.study is not None
    found = told(reading)
    assert len(found) == 2
    assert f"{abs(offset):g} h {'ahead of' if offset > 0 else 'behind'}" in found[0].found
    assert "2026-03-02 08:00" in found[0].found


def test_columns_that_were_never_seen_fresh_are_asked_about(tmp_path: Path) -> None:
    """A clock 6 h ahead makes every life 6 h longer where it alone gives the exposure: it is asked about."""
    found = told(dated(tmp_path, [START + timedelta(hours=6 + hours) for hours in HOURS]))
    assert len(found) == 1
    assert "6 h or more after its start" in found[0].found
    assert "clock" in found[0].cure


def test_injections_within_a_pause_are_told(tmp_path: Path) -> None:
    """Nothing is injected during a power cut: the clock or the event is wrong."""
    found = told(
        dated(tmp_path, [START, START + timedelta(hours=22), START + timedelta(hours=50)], more=POWER_CUT)
    )
    assert [problem.place for problem in found] == ["column 'A1'", "column 'B1'"]
    assert "'A1-2'" in found[0].found


def test_log_and_injections_of_two_clocks_are_told(tmp_path: Path) -> None:
    """A log whose both ends lie 5 h before those of the injections was kept by another clock."""
    lay_out(tmp_path)
    rows = ["column,at,temperature_C"]
    rows += [f"A1,{(START + timedelta(hours=h - 5)).isoformat()},50" for h in HOURS]
    (tmp_path / "conditions.csv").write_text("\n".join(rows) + "\n")
    found = told(dated(tmp_path, [START + timedelta(hours=h) for h in HOURS], start="2026-03-01T00:00:00"))
    assert any(problem.file == "conditions.csv" and "5 h apart" in problem.found for problem in found)


def test_times_without_a_zone_are_read_in_that_of_the_start(tmp_path: Path) -> None:
    """With a zone at every start alone, tables, events and ends are of the same clock, said once a table."""
    rows = ["column,at,temperature_C", f"A1,{ran(6).isoformat()},50", f"A1,{ran(30).isoformat()},50"]
    lay_out(tmp_path)
    (tmp_path / "conditions.csv").write_text("\n".join(rows) + "\n")
    times = [ran(hours) for hours in HOURS]
    reading = dated(tmp_path, times, more=POWER_CUT, start="2026-03-02T08:00:00+01:00")
    assert reading.study is not None
    assert [one.exposure_h for one in reading.study.injections] == pytest.approx([*HOURS, *HOURS])
    assert [row.exposure_h for row in reading.study.conditions] == pytest.approx([6, 30])
    said = [problem for problem in told(reading) if "without a zone" in problem.found]
    assert [(problem.file, problem.severity) for problem in said] == [
        ("injections.csv", "caution"),
        ("conditions.csv", "caution"),
    ]
    assert "2026-03-02T08:00:00+01:00" in said[0].found


def test_a_pause_needs_times_that_can_be_compared(tmp_path: Path) -> None:
    """A pause with a zone and a start without one are an error, and so is a pause in hours of exposure."""
    zoned = POWER_CUT.replace(":00:00\n", ":00:00Z\n")
    assert "zone" in told(dated(tmp_path, [START], more=zoned))[-1].cure
    in_hours = '[[event]]\nkind = "pause"\nfrom = 10\nto = 20\n'
    assert dated(tmp_path, [START], more=in_hours).study is None
