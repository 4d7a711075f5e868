"""Text files that hold several traces, side by side or one below another."""

import numpy as np
import pytest

from lyewitness.study.records import Exports
from lyewitness.traces.reading import choose_trace, read_traces
from lyewitness.traces.records import Trace
from lyewitness.words.problems import StudyFolderError
from tests.traces.expecting import only, refused

POINTS = 30


def side_by_side(head: str, form: str, separator: str = "\t") -> bytes:
    """Return rows over `t` (hundredths of a minute), `a`, `b`."""
    lines = (
        form.format(t=f"{i / 100:.2f}", a=i % 7, b=i % 5 - 9).replace(";", separator) for i in range(POINTS)
    )
    return (head.replace(";", separator) + "\n" + "\n".join(lines) + "\n").encode()


def read(data: bytes, exports: Exports | None = None) -> tuple[Trace, ...]:
    """Return the traces of `data`."""
    return read_traces(data, "a.txt", exports or Exports())


@pytest.mark.parametrize(
    ("head", "form", "names"),
    [
        ("Time (min);UV 220 nm (mAU);UV 254 nm (mAU)", "{t};{a};{b}", ["UV 220 nm", "UV 254 nm"]),
        ("min;220 nm/mAU;254 nm/mAU", "{t};{a};{b}", ["220 nm", "254 nm"]),
        ("Time;Channel A;Channel B\nmin;mAU;mAU", "{t};{a};{b}", ["Channel A", "Channel B"]),
        ("Time (min);A (mAU);Time (min);B (mAU)", "{t};{a};{t};{b}", ["A", "B"]),
        ("No.;Time (min);A (mAU);B (mAU)", "7;{t};{a};{b}", ["A", "B"]),
        ("A (mAU);B (mAU);Time (min)", "{a};{b};{t}", ["A", "B"]),
    ],
)
def test_columns_side_by_side(head: str, form: str, names: list[str]) -> None:
    """Each column of signals is a trace with its name and the times to its left."""
    traces = read(side_by_side(head, form))
    assert [trace.name for trace in traces] == names
    for trace, signal in zip(traces, (np.arange(POINTS) % 7, np.arange(POINTS) % 5 - 9), strict=True):
        np.testing.assert_array_equal(trace.signal, signal)
        np.testing.assert_allclose(trace.time_min, np.arange(POINTS) / 100)
        assert trace.signal_unit == "mAU"


def test_columns_without_headings_are_numbered() -> None:
    """Without names the traces are called by their columns."""
    data = side_by_side("", "{t};{a};{b}")
    assert [trace.name for trace in read(data, Exports(time_unit="min"))] == ["column 2", "column 3"]


def test_pairs_without_headings_are_told_by_their_course() -> None:
    """Where every second column rises they are pairs of times and signals."""
    traces = read(side_by_side("", "{t};{a};{t};{b}"), Exports(time_unit="min"))
    assert [trace.name for trace in traces] == ["column 2", "column 4"]


def test_a_shorter_pair_ends_sooner_without_a_caution() -> None:
    """Rows that only the longer trace has are no gaps of the shorter one."""
    lines = ["Time (min),A (mAU),Time (min),B (mAU)"]
    lines += [
        f"{i / 100},{i % 7},{i / 50},{i % 3}" if i < 20 else f"{i / 100},{i % 7},," for i in range(POINTS)
    ]
    first, second = read("\n".join(lines).encode())
    assert (first.signal.size, second.signal.size) == (POINTS, 20)
    assert first.cautions == second.cautions == ()
    np.testing.assert_allclose(second.time_min, np.arange(20) / 50)


def test_a_shorter_pair_may_lack_its_separators() -> None:
    """Rows of the longer trace alone may be narrower."""
    lines = ["Time (min),A (mAU),Time (min),B (mAU)"]
    lines += [
        f"{i / 100},{i % 7},{i / 50},{i % 3}" if i < 20 else f"{i / 100},{i % 7}" for i in range(POINTS)
    ]
    first, second = read(("\n".join(lines) + "\n").encode())
    assert (first.signal.size, second.signal.size) == (POINTS, 20)
    assert first.cautions == second.cautions == ()


def test_one_below_another() -> None:
    """Tables below each other are traces, each with the name and unit above it."""
    blocks = [
        f"Trace: {name}\nTime ({unit})\tSignal (mAU)\n" + "".join(f"{i / 10}\t{i % k}\n" for i in range(25))
        for name, unit, k in (("first", "s", 3), ("second", "min", 4))
    ]
    one, two = read("\n".join(["Operator: PRIVATE", *blocks]).encode())
    assert (one.time_unit, two.time_unit) == ("s", "min")
    np.testing.assert_array_equal(two.signal, np.arange(25) % 4)
    assert [one.name, two.name] == ["Signal", "Signal (2)"]


def test_one_below_another_named_by_what_stands_above() -> None:
    """Where the headings name no signal, a line `Trace: …` does."""
    blocks = [
        f"Trace: {name}\nTime unit: min\n\n" + "".join(f"{i / 10}\t{i % 7}\n" for i in range(25))
        for name in ("UV 220", "UV 254")
    ]
    traces = read("".join(blocks).encode())
    assert [trace.name for trace in traces] == ["UV 220", "UV 254"]
    assert choose_trace(traces, "uv 254") is traces[1]


def test_time_that_starts_anew_after_a_blank_line_is_another_trace() -> None:
    """Blank lines separate traces where time goes back."""
    rows = "".join(f"{i / 10}\t{i % 7}\n" for i in range(25))
    traces = read(f"Time (s)\tA (mAU)\n{rows}\n\nTime (s)\tB (mAU)\n{rows}".encode())
    assert [trace.name for trace in traces] == ["A", "B"]


def test_words_between_rows_are_passed_over() -> None:
    """An event or a repeated page heading inside the table does not end it; a caution names the line."""
    rows = [f"{i / 10:.1f},{i % 7}" for i in range(60)]
    lines = ["Time (s),Signal (mAU)", *rows[:30], "# valve switched", "Time (s),Signal (mAU)", *rows[30:]]
    trace = only("\n".join(lines).encode())
    assert trace.signal.size == 60
    assert trace.cautions == (
        "2 lines without numbers stand between the rows (first: line 32) and were passed over.",
    )


def test_a_gap_in_the_middle_is_left_out() -> None:
    """A point without a value, in a long file as well, is left out and named by its line."""
    rows = [f"{i / 10:.1f},{i % 7}" for i in range(100)]
    rows[40] = "4.0,NaN"
    rows[70] = "7.0,"
    trace = only("\n".join(["Time (s),Signal (mAU)", *rows, ""]).encode())
    assert trace.signal.size == 98
    np.testing.assert_allclose(trace.time_min[40] * 60, 4.1)
    assert trace.cautions == ("2 points have no value (first: line 42): left out of the trace.",)


def test_a_row_with_too_many_numbers_is_refused() -> None:
    """A number too many is no guess of the reader's: the line is named."""
    rows = [f"{i / 10:.1f};{i % 7}" for i in range(100)]
    rows[50] = "5.0;1;7"
    problem = refused("\n".join(["Time (s);Signal (mAU)", *rows]).encode())
    assert problem.place == "line 52"
    assert "3 numbers" in problem.found


def test_the_two_ways_of_reading_agree() -> None:
    """A file with a footer, read row by row, gives what the file without it gives when read as a whole."""
    data = side_by_side("Time (min);UV 220 nm (mAU);UV 254 nm (mAU)", "{t};{a};{b}")
    for whole, by_row in zip(read(data), read(data + b"End\n"), strict=True):
        np.testing.assert_array_equal(whole.time_min, by_row.time_min)
        np.testing.assert_array_equal(whole.signal, by_row.signal)
        assert (whole.name, whole.signal_unit) == (by_row.name, by_row.signal_unit)


def test_persons_in_the_preamble_stay_there() -> None:
    """A line on the operator right above the numbers gives no name to a trace."""
    rows = "".join(f"{i / 10},{i % 7}\n" for i in range(30))
    for line in ("Operator,A. Private", "A. Private,Lab 3", "Operator: A. Private", "Private"):
        assert "rivate" not in repr(only(f"Time unit: s\n{line}\n{rows}".encode()))
    one_column = "".join(f"{i % 7}\n" for i in range(30))
    assert "rivate" not in repr(only(f"A. Private\n{one_column}".encode(), Exports(sampling_interval_s=1)))


def test_an_empty_column_spoils_no_other() -> None:
    """A channel without values is left out with a caution; its neighbour is read."""
    rows = "".join(f"{i / 10},{i % 7},{i if i < 3 else ''}\n" for i in range(30))
    trace = only(f"Time (s),A (mAU),B (mAU)\n{rows}".encode())
    assert (trace.name, trace.signal.size) == ("A", 30)
    assert "'B' beside it was left out" in trace.cautions[0]
    with pytest.raises(StudyFolderError, match="was left out"):
        choose_trace((trace, trace), "B")


def test_a_column_that_is_empty_throughout_is_passed_over() -> None:
    """A heading without a single value under it changes nothing for the others."""
    rows = "".join(f"{i / 10},{i % 7},\n" for i in range(30))
    for data in (f"Time (s),A (mAU),B (mAU)\n{rows}", f"Time (s),A (mAU),B (mAU)\n{rows}End\n"):
        trace = only(data.encode())
        assert (trace.name, trace.signal.size, trace.cautions) == ("A", 30, ())


def test_rows_that_lack_numbers_among_several_columns_are_refused() -> None:
    """Which of three columns a lone pair belongs to is no guess of the reader's."""
    rows = [f"{i / 10} {i % 7} {i % 5}" for i in range(60)]
    rows[30] = "3.0 4"
    problem = refused("\n".join(["Time (s)  A (mAU)  B (mAU)", *rows]).encode())
    assert problem.place == "line 32"
    assert "2 numbers (3.0 4)" in problem.found


def test_thousands_marks_between_commas_are_refused() -> None:
    """Unquoted marks between thousands in a file of commas shift the columns: the line is named."""
    rows = [f"{i / 10:.1f},{1000 * (i % 5):,.1f}" for i in range(60)]
    assert "numbers (" in refused("\n".join(["Time (s),Signal (mAU)", *rows]).encode()).found


@pytest.mark.parametrize(("sign", "values"), [(",", [5, 998, 1000, 12345]), (",", [7, 0, 1234567, 3])])
def test_whole_numbers_with_thousands(sign: str, values: list[int]) -> None:
    """Marks between the thousands of whole numbers are told from decimal signs by numbers without them."""
    signal = values * 10
    rows = "".join(f"{i * 500}\t{value:,}\n".replace(",", sign) for i, value in enumerate(signal))
    np.testing.assert_array_equal(only(f"Time (ms)\tcounts\n{rows}".encode()).signal, signal)


def test_three_decimals_throughout_are_decimals() -> None:
    """A comma that every number of a column has before three digits is a decimal sign."""
    rows = "".join(f"{i * 500}\t{12 + (i % 7) / 8:.3f}\n".replace(".", ",") for i in range(40))
    np.testing.assert_allclose(only(f"Time (ms)\tmV\n{rows}".encode()).signal, 12 + np.arange(40) % 7 / 8)
