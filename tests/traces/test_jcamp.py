"""JCAMP-DX chromatograms; the jcamp package reads the same bytes as a check from outside."""

import gzip
import io
import itertools
from collections.abc import Callable, Iterable, Sequence
from time import process_time
from typing import Any

import jcamp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.study.records import Exports
from lyewitness.traces.jcamp import CodedDataError, decode_ordinates
from lyewitness.traces.reading import choose_trace, read_traces
from tests.traces.expecting import only, read_or_refused, refused

COUNTS = [round(3000 * np.exp(-(((i - 60) / 11.0) ** 2)) + 7 * np.cos(i)) for i in range(150)]


def squeezed(number: int, positive: str = "@ABCDEFGHI", negative: str = "@abcdefghi") -> str:
    """Return a number with its first digit and sign as one letter."""
    digits = str(abs(number))
    return (negative if number < 0 else positive)[int(digits[0])] + digits[1:]


def difference(number: int) -> str:
    """Return a difference with its first digit and sign as one letter."""
    return squeezed(number, "%JKLMNOPQR", "%jklmnopqr")


def repeat(count: int) -> str:
    """Return the repeat of a form that stands `count` times."""
    return squeezed(count, " STUVWXYZs")


def rows(values: Sequence[int], width: int = 10) -> Iterable[tuple[int, list[int]]]:
    """Yield (index of the first, values) of each line."""
    for start in range(0, len(values), width):
        yield start, list(values[start : start + width])


def affn(values: Sequence[int]) -> str:
    """Return lines of plain numbers."""
    return "\n".join(f"{start} " + " ".join(map(str, row)) for start, row in rows(values))


def pac(values: Sequence[int]) -> str:
    """Return lines of numbers set apart by their signs."""
    return "\n".join(f"{start}" + "".join(f"{value:+d}" for value in row) for start, row in rows(values))


def sqz(values: Sequence[int]) -> str:
    """Return lines of squeezed numbers."""
    return "\n".join(f"{start}" + "".join(map(squeezed, row)) for start, row in rows(values))


def dif(values: Sequence[int], with_repeats: bool = False) -> str:
    """Return lines of differences; each line but the last ends with the ordinate the next begins with."""
    lines: list[str] = []
    for start in range(0, max(len(values) - 1, 1), 10):
        row = values[start : start + 11]
        steps = [difference(after - before) for before, after in itertools.pairwise(row)]
        lines.append(f"{start}{squeezed(row[0])}" + "".join(run_lengths(steps) if with_repeats else steps))
    lines.append(f"{len(values) - 1}{squeezed(values[-1])}")
    return "\n".join(lines)


def run_lengths(forms: Sequence[str]) -> list[str]:
    """Return equal neighbours as one form and its repeat."""
    packed: list[str] = []
    start = 0
    for end in range(1, len(forms) + 1):
        if end == len(forms) or forms[end] != forms[start]:
            packed += [forms[start]] + ([repeat(end - start)] if end - start > 1 else [])
            start = end
    return packed


def document(
    body: str, points: int = 150, form: str = "(X++(Y..Y))", label: str = "XYDATA", **records: str
) -> bytes:
    """Return a JCAMP-DX file; `records` replace those of the head, empty ones are left out."""
    head = {
        "TITLE": "UV 220 nm", "JCAMP-DX": "4.24 $$ a comment",
        "DATA TYPE": "CHROMATOGRAM", "ORIGIN": "PRIVATE place",
        "OWNER": "PRIVATE person", "LONG DATE": "2026/03/02 10:11:12", "XUNITS": "SECONDS", "YUNITS": "mAU",
        "XFACTOR": "0.5", "YFACTOR": "0.01", "FIRSTX": "0", "LASTX": f"{(points - 1) / 2}",
        "NPOINTS": f"{points}",
        "FIRSTY": "0.07",
    }  # fmt: skip
    head |= {name.replace("_", " "): value for name, value in records.items()}
    lines = [f"##{name}={value}" for name, value in head.items() if value]
    return "\n".join([*lines, f"##{label}={form}", body, "##END=", ""]).encode()


def difdup(values: Sequence[int]) -> str:
    """Return lines of differences with repeats."""
    return dif(values, with_repeats=True)


FORMS: dict[str, Callable[[Sequence[int]], str]] = {
    "AFFN": affn,
    "PAC": pac,
    "SQZ": sqz,
    "DIF": dif,
    "DIFDUP": difdup,
}


def by_jcamp(data: bytes) -> dict[str, Any]:
    """Return what the jcamp package reads."""
    read: Callable[..., dict[str, Any]] = jcamp.read
    return read(io.BytesIO(data))


def test_a_wrong_sign_behind_many_numbers_is_told_at_once() -> None:
    """No line has so many numbers that reading it in every possible way would take hours."""
    rows = "1.150" + ",550" * 400 + "î5"
    data = f"##TITLE=a\n##JCAMP-DX=4.24\n##XUNITS=MIN\n##XYPOINTS=(XY..XY)\n{rows}\n##END=\n".encode()
    began = process_time()
    assert "plain numbers" in refused(data).found
    assert process_time() - began < 1


@pytest.mark.parametrize("form", FORMS)
def test_every_form_agrees_with_the_jcamp_package(form: str) -> None:
    """Times and signal are those that the jcamp package reads from the same file (run here)."""
    data = document(FORMS[form](COUNTS))
    theirs = by_jcamp(data)
    for wrapped in (data, gzip.compress(data), data.replace(b"\n", b"\r\n")):
        trace = only(wrapped)
        np.testing.assert_allclose(trace.time_min * 60, theirs["x"], rtol=1e-12)
        np.testing.assert_allclose(trace.signal, np.asarray(theirs["y"], float), rtol=1e-12)
        np.testing.assert_allclose(trace.signal, np.array(COUNTS) * 0.01, rtol=1e-12)
        assert (trace.name, trace.time_unit, trace.signal_unit) == ("UV 220 nm", "s", "mAU")
        assert (trace.format, trace.acquired_at, trace.cautions) == ("JCAMP-DX", "2026-03-02T10:11:12", ())


@pytest.mark.parametrize(
    "line",
    [
        "1  0  1  2  3  3  2  1  0 -1 -2 -3",
        "1+0+1+2+3+3+2+1+0-1-2-3",
        "1@ABCCBA@abc",
        "1@JJJ%jjjjjj",
        "1@JU%jX",
    ],
)
def test_one_line_in_five_forms(line: str) -> None:
    """One row of numbers in AFFN, PAC, SQZ, DIF and DIFDUP (the forms as in the standard, from memory)."""
    signal, starts = decode_ordinates([(1, line)])
    np.testing.assert_array_equal(signal, [0, 1, 2, 3, 3, 2, 1, 0, -1, -2, -3])
    assert starts[0].x == 1


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(-99999, 99999), min_size=2, max_size=60), st.sampled_from(sorted(FORMS)))
def test_any_numbers_survive_every_form(values: list[int], form: str) -> None:
    """What an encoder packs, the reader unpacks."""
    signal, _ = decode_ordinates(enumerate(FORMS[form](values).split("\n"), start=1))
    np.testing.assert_array_equal(signal, values)


def test_a_repeat_reaches_over_the_line_end() -> None:
    """The check ordinate after a line that ended in a repeated difference is not counted."""
    signal, _ = decode_ordinates([(1, "0A0JU"), (2, "3A3J")])
    np.testing.assert_array_equal(signal, [10, 11, 12, 13, 14])


def test_free_numbers_with_exponents() -> None:
    """In plain lines an exponent is an exponent."""
    signal, _ = decode_ordinates([(1, "0 1.5E+02 -2e1 .5"), (2, "3 4.")])
    np.testing.assert_array_equal(signal, [150, -20, 0.5, 4])


def test_a_question_mark_is_a_gap() -> None:
    """The standard's sign for a missing ordinate is left out with a caution."""
    body = affn(COUNTS).replace(f" {COUNTS[3]} ", " ? ", 1)
    trace = only(document(body))
    assert trace.signal.size == 149
    assert "left out" in trace.cautions[0]


@pytest.mark.parametrize(
    "body",
    [
        "0, 1\n1.5, 4\n2, 9\n4.5, 16\n",
        "0,1; 1.5,4; 2,9; 4.5,16",
        "0 1\n1.5 4\n2 9\n4.5 16",
        "0 1  1.5 4\n2 9  4.5 16",
    ],
)
def test_points_of_their_own_times(body: str) -> None:
    """XYPOINTS keep their uneven times, however the pairs are set apart."""
    data = document(body, 4, "(XY..XY)", "XYPOINTS", XFACTOR="1", YFACTOR="1")
    theirs = by_jcamp(data)
    trace = only(data)
    np.testing.assert_allclose(trace.time_min * 60, [0, 1.5, 2, 4.5])
    np.testing.assert_allclose(trace.signal, [1, 4, 9, 16])
    np.testing.assert_allclose(trace.signal, np.asarray(theirs["y"], float))


@pytest.mark.parametrize(
    ("word", "unit"),
    [
        ("SECONDS", "s"),
        ("minutes", "min"),
        ("TIME/S", "s"),
        ("RETENTION TIME (MIN)", "min"),
        ("Time [h]", "h"),
    ],
)
def test_spellings_of_the_time_unit(word: str, unit: str) -> None:
    """XUNITS is understood with and without the word for time."""
    assert only(document(affn(COUNTS), XUNITS=word)).time_unit == unit


@pytest.mark.parametrize("word", ["", "TIME", "ARBITRARY UNITS"])
def test_a_missing_unit_is_asked_of_the_study(word: str) -> None:
    """An axis of time without a unit is refused until [exports] states it."""
    data = document(affn(COUNTS), XUNITS=word)
    assert "time_unit" in refused(data).cure
    assert only(data, Exports(time_unit="min")).time_unit == "min"


def test_another_axis_is_refused() -> None:
    """A spectrum is no chromatogram, whatever [exports] says."""
    problem = refused(document(affn(COUNTS), XUNITS="1/CM"), Exports(time_unit="s"))
    assert "1/CM" in problem.found
    assert problem.place == "line 7"


def test_private_records_stay_in_the_file() -> None:
    """Owner and origin never reach a trace."""
    assert "PRIVATE" not in repr(only(document(affn(COUNTS))))


def test_blocks_are_traces() -> None:
    """A compound file gives one trace for each block with points."""
    first = document(affn(COUNTS)).decode()
    second = document(dif(COUNTS), TITLE="UV 254 nm", YFACTOR="0.02", FIRSTY="").decode()
    link = f"##TITLE=both\n##JCAMP-DX=4.24\n##DATA TYPE=LINK\n##BLOCKS=2\n{first}{second}##END=\n"
    traces = read_traces(link.encode(), "a.jdx", Exports())
    assert [trace.name for trace in traces] == ["UV 220 nm", "UV 254 nm"]
    np.testing.assert_allclose(choose_trace(traces, "UV 254 nm").signal, np.array(COUNTS) * 0.02)


def test_a_falling_axis_is_turned_round() -> None:
    """Points from the end to the start are put in the order of time."""
    body = "\n".join(f"{149 - start} " + " ".join(map(str, row)) for start, row in rows(COUNTS))
    trace = only(document(body, FIRSTX="74.5", LASTX="0"))
    np.testing.assert_allclose(trace.signal, np.array(COUNTS[::-1]) * 0.01)
    assert "backwards" in trace.cautions[0]


def test_the_step_serves_where_the_end_is_not_stated() -> None:
    """Without LASTX the axis comes from DELTAX."""
    trace = only(document(affn(COUNTS), LASTX="", DELTAX="0.5"))
    np.testing.assert_allclose(trace.time_min * 60, np.arange(150) / 2)


def test_a_first_ordinate_that_differs_is_a_caution() -> None:
    """FIRSTY that is not the first point is said."""
    assert "FIRSTY" in only(document(affn(COUNTS), FIRSTY="55")).cautions[0]


LINES = affn(COUNTS).split("\n")
START_40 = f"40{squeezed(COUNTS[40])}"


@pytest.mark.parametrize(
    ("data", "place", "found"),
    [
        (document("\n".join(LINES[:-1])), "line 29", "140 points"),
        (
            document("\n".join(LINES[:5] + LINES[6:]), NPOINTS="", LASTX="", DELTAX="0.5"),
            "line 20",
            "begins at 30",
        ),
        (
            document(dif(COUNTS).replace(START_40, f"40{squeezed(COUNTS[40] + 1)}")),
            "line 20",
            "repeated ordinate",
        ),
        (document("0 1 2\nx 3 4", 4), "line 17", "'x'"),
        (document("0!1", 4), "line 16", "the sign '!'"),
        (document("0JJ", 4), "line 16", "difference or repeat without a number"),
        (document("0AT.5", 4), "line 16", "a repeat of 2.5"),
        (document("0As9999999", 4), "line 16", "a repeat of 99999999"),
        (document(affn(COUNTS), LASTX=""), "line 14", "neither LASTX nor DELTAX"),
        (document(affn(COUNTS), YFACTOR="much"), "line 10", "YFACTOR 'much'"),
        (document(affn(COUNTS), YFACTOR="0"), "line 10", "YFACTOR 0"),
        (document(affn(COUNTS), LASTX=f"{len(COUNTS) - 1}"), "line 1", "a line that begins at"),
        (document(affn(COUNTS), form="(R++(A..A))"), "line 15", "the form '(R++(A..A))'"),
        (document("1,2,3", 2, "(XY..XY)", "XYPOINTS"), "line 16", "3 numbers"),
        (document("1 2", 1, "(XY..XY)", "PEAK TABLE"), "line 15", "a table of peaks"),
        (document("1 2", 1, "NTUPLES", "NTUPLES"), "line 15", "NTUPLES"),
        (document("", 0), "line 15", "0 points"),
        (b"##TITLE=x\n##JCAMP-DX=4.24\n##END=\n", "", "no points"),
    ],
)
def test_what_cannot_be_read_is_placed(data: bytes, place: str, found: str) -> None:
    """The message names the line and what is wrong there."""
    problem = refused(data)
    assert problem.place.startswith(place)
    assert found in problem.found


def test_strange_lines_raise_their_place() -> None:
    """The decoder itself says which line it could not take."""
    with pytest.raises(CodedDataError) as error:
        decode_ordinates([(7, "0A1"), (8, "§")])
    assert error.value.line == 8


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_damaged_files_never_crash(data: st.DataObject) -> None:
    """Whatever bytes are changed or lost, the file is read or refused."""
    form = data.draw(st.sampled_from(sorted(FORMS)))
    whole = bytearray(document(FORMS[form](COUNTS[:30]), 30))
    for _ in range(data.draw(st.integers(1, 5))):
        place = data.draw(st.integers(0, len(whole) - 2))
        if data.draw(st.booleans()):
            whole[place] = data.draw(st.integers(0, 255))
        else:
            del whole[place : place + data.draw(st.integers(1, 30))]
    read_or_refused(bytes(whole))
