"""Units, names and settings in the words of a file."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lyewitness.study.records import Exports
from lyewitness.traces.headings import (
    Heading,
    Statements,
    read_heading,
    read_statements,
    split_headings,
)
from lyewitness.traces.shaping import unit_of_time
from lyewitness.traces.stamps import iso_time
from tests.traces.expecting import only, refused


@pytest.mark.parametrize(
    ("word", "unit"),
    [
        ("min", "min"), ("Min.", "min"), ("MINUTES", "min"), ("(min)", "min"), ("s", "s"), ("sec", "s"),
        ("Sekunden", "s"), ("ms", "ms"), ("msec", "ms"), ("h", "h"), ("hrs", "h"), ("Stunden", "h"),
        ("m", ""), ("", ""), ("mm", ""), ("mL", ""), ("CV", ""), ("samples", ""), ("min-1", ""),
        ("1/min", ""),
    ],
)  # fmt: skip
def test_words_for_units_of_time(word: str, unit: str) -> None:
    """Usual words name a unit; what could mean two, or is none, names nothing."""
    assert unit_of_time(word) == unit


@pytest.mark.parametrize(
    ("words", "heading"),
    [
        ("Time (min)", Heading("Time", "min")),
        ("Time(min)", Heading("Time", "min")),
        ("  Time   [ min ] ", Heading("Time", "min")),
        ("t/s", Heading("t", "s")),
        ("Absorbance / mAU", Heading("Absorbance", "mAU")),
        ("Conductivity (mS/cm)", Heading("Conductivity", "mS/cm")),
        ("time_min", Heading("time", "min")),
        ("Time in min", Heading("Time", "min")),
        ("min", Heading("", "min")),
        ("(mAU)", Heading("", "mAU")),
        ("UV 220 nm (mAU)", Heading("UV 220 nm", "mAU")),
        ("UV 220 nm", Heading("UV 220 nm", "")),
        ("Signal", Heading("Signal", "")),
        ("A", Heading("A", "")),
        ("Signal A", Heading("Signal A", "")),
        ("220/254 nm", Heading("220/254 nm", "")),
        ("", Heading("", "")),
    ],
)
def test_headings(words: str, heading: Heading) -> None:
    """Name and unit are told apart in every usual way of writing them."""
    assert read_heading(words) == heading


@pytest.mark.parametrize(
    ("word", "is_time"),
    [
        ("Time", True), ("Retention time", True), ("R.T.", True), ("Zeit", True), ("x", True), ("t", True),
        ("T", False), ("Signal", False), ("Run", False), ("Timing", False), ("Temperature", False),
    ],
)  # fmt: skip
def test_names_of_times(word: str, is_time: bool) -> None:
    """A capital T is a temperature, not a time."""
    assert Heading(word).is_time is is_time


def test_headings_that_are_numbers_are_none() -> None:
    """A setting with its value is not taken for two headings."""
    assert split_headings("Run time (min),12", 2, ",") == ()
    assert split_headings("Start:\tTime", 2, "\t") == ()
    assert split_headings("Date,2026-03-02", 2, ",") == ()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("Time unit: min", Statements(time_unit="min")),
        ("Units of time = seconds", Statements(time_unit="s")),
        ("X Axis Title:\tTime (min)", Statements(time_unit="min")),
        ("xunits;s", Statements(time_unit="s")),
        ("# time axis: minutes", Statements(time_unit="min")),
        ("Y units,mAU", Statements(signal_unit="mAU")),
        ("Signal axis: Absorbance (AU)", Statements(signal_unit="AU")),
        ("Sampling interval (s): 0.1", Statements(interval_s=0.1)),
        ("Sampling Interval;100;ms", Statements(interval_s=0.1)),
        ("Sampling rate: 10 Hz", Statements(interval_s=0.1)),
        ("Data rate (Hz)\t5", Statements(interval_s=0.2)),
        ("Sampling frequency,0,5,Hz", Statements(interval_s=2.0)),
        ("Acquisition rate: 20 points/s", Statements(interval_s=0.05)),
        ("Delta t = 0.01 min", Statements(interval_s=0.6)),
        ("Sampling interval: 0,25 s", Statements(interval_s=0.25)),
        ("Start time (min): 0.5", Statements(delay_s=30)),
        ("Acquired: 2026-03-02T10:11:12", Statements(acquired_at="2026-03-02T10:11:12")),
        ("# 2026-03-02T10:11:12", Statements(acquired_at="2026-03-02T10:11:12")),
        ("Injection date;2026-03-02 10:11", Statements(acquired_at="2026-03-02T10:11:00")),
        ("Trace name: UV 220", Statements(trace_name="UV 220")),
    ],
)
def test_statements(line: str, said: Statements) -> None:
    """Axes, intervals, delays and dates are understood where they are named as such."""
    result = read_statements([line])
    assert result.interval_s == pytest.approx(said.interval_s)
    assert replace(result, interval_s=said.interval_s) == said


@pytest.mark.parametrize(
    "line",
    [
        "Run time (min): 12", "Sampling rate: 10", "Sampling interval: 0.1", "Time: 10:11:12",
        "Flow: 0.4 mL/min",
        "Data points: 6000", "Injection: 3", "Operator: A. Name",
        "Data file: C:\\private\\run.raw", "Start time: 0.5",
        "Sampling rate: 1 kHz", "Gradient time (min): 5", "Date: 02/03/2026",
    ],
)  # fmt: skip
def test_what_says_nothing_of_the_axis(line: str) -> None:
    """Settings of the run, numbers without a unit and days in another order are not taken for statements."""
    assert read_statements([line]) == Statements()


@pytest.mark.parametrize(
    ("lines", "acquired_at"),
    [
        (("Nr.;7", "Erfasst am;2026-03-02 02:06:20"), "2026-03-02T02:06:20"),
        (("Mittattu 2026-03-02T02:06+02:00",), "2026-03-02T02:06:00+02:00"),
        (("Erfasst am;2026-03-02 02:06", "Gedruckt am;2026-04-01 09:00"), ""),
        (("Erfasst am;02.03.2026 02:06", "Gedruckt am;2026-04-01 09:00"), ""),
        (("Von 2026-03-02 02:06 bis 2026-03-02 02:12",), ""),
        (("Exported: 2026-03-02 02:06",), ""),
        (("Erfasst am;2026-03-02",), ""),
        (("Stand 1.2.2026", "Acquired: 2026-03-02 02:06"), "2026-03-02T02:06:00"),
    ],
)
def test_the_only_date_above_the_numbers(lines: Sequence[str], acquired_at: str) -> None:
    """A single date with a time is that of the injection in any language; of two a known word must tell."""
    assert read_statements(lines) == Statements(acquired_at=acquired_at)


def test_days_that_do_not_exist_are_no_dates() -> None:
    """A date that no calendar has is left alone."""
    assert iso_time("2026-02-30T10:00") == ""
    assert iso_time("2026-03-02T10:00:00.5+01:00") == "2026-03-02T10:00:00.500000+01:00"


def test_a_run_time_is_no_unit_of_the_axis() -> None:
    """A run time in minutes above a table without a unit leaves the unit unknown."""
    rows = "".join(f"{i / 10},{i % 7}\n" for i in range(30))
    problem = refused(f"Run time (min),12\n{rows}".encode())
    assert "stated nowhere" in problem.found
    assert only(f"Run time (min),12\n{rows}".encode(), Exports(time_unit="s")).time_unit == "s"


def test_an_unknown_unit_is_not_overruled_in_silence() -> None:
    """A heading in another unit than time is refused, and quoted."""
    rows = "".join(f"{i / 10},{i % 7}\n" for i in range(30))
    assert "'Time (m)'" in refused(f"Time (m),Signal (mAU)\n{rows}".encode()).found


def test_a_unit_that_is_stated_and_not_known_is_quoted() -> None:
    """Times in weeks, by heading or preamble, are told with the word and the cure."""
    rows = "".join(f"{i / 10},{i % 7}\n" for i in range(30))
    for head in ("Time (weeks),Signal (mAU)\n", "Time axis unit: weeks\n"):
        problem = refused(f"{head}{rows}".encode())
        assert "in 'weeks', which is no unit that is known here" in problem.found, problem.found
        assert "stated nowhere" not in problem.found
        assert "`time_unit` of [exports]" in problem.cure


def test_points_without_an_interval_are_refused() -> None:
    """One column needs a sampling interval; the cure names the key."""
    data = b"Signal (mAU)\n" + b"".join(b"%d\n" % (i % 7) for i in range(30))
    assert "sampling_interval_s" in refused(data).cure
    trace = only(data, Exports(sampling_interval_s=0.5, delay_s=30))
    assert trace.time_min[0] == pytest.approx(0.5)
    assert trace.time_min[1] == pytest.approx(0.5 + 0.5 / 60)


def test_both_decimal_signs_are_refused() -> None:
    """Where points and commas could both be the decimal sign, the reader does not choose."""
    data = b"Time (min);Signal (mAU)\n" + b"".join(b"%d.5;%d,25\n" % (i, i) for i in range(30))
    assert "decimal sign" in refused(data).found


def test_words_alone_are_refused() -> None:
    """A file of prose is named as such, with its first line."""
    problem = refused(b"\n\nDear colleague,\nno data came out.\n")
    assert problem.place == "line 3"
    assert "Dear colleague" in problem.found


@pytest.mark.parametrize("row", ["0:{i:02d}.5,1", "{i} min,1 mAU", "{i},0x1F", "{i},ok"])
def test_rows_with_words_in_them_are_quoted(row: str) -> None:
    """Where rows are no rows of numbers the first of them is quoted, not the heading."""
    data = "Time (min),Signal\n" + "".join(row.format(i=i) + "\n" for i in range(40))
    problem = refused(data.encode())
    assert problem.place == "line 2"
    assert row.format(i=0) in problem.found
