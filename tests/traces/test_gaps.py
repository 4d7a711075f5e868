"""Rows with gaps are read as a whole with the others, and to the same table as row by row."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.traces.tables import Table, read_plain_table, read_row_tables
from lyewitness.words.problems import StudyFolderError

GAPS = ["", "NaN", "nan", "n/a", "#N/A", "-", "---", "null", "inf", "1.#QNAN", "OVF", "#DIV/0!"]
ODD = [*GAPS, "x", "1e5", "7", "1,5", "a-1", "0:01:30", "1.", ".5"]


def export(
    rows: list[list[str]], separator: str, head: str = "Time (min){0}Signal (mAU)", end: str = "\n"
) -> str:
    """Return rows of fields as text."""
    return "\n".join([head.format(separator), *(separator.join(row) for row in rows)]) + end


def regular(count: int = 60, decimal: str = ".") -> list[list[str]]:
    """Return rows of a time and a signal."""
    return [[f"{place / 100:.2f}".replace(".", decimal), f"{place % 7 + 0.125:.3f}".replace(".", decimal)]
            for place in range(count)]  # fmt: skip


def assert_same(plain: Table, text: str) -> None:
    """Compare with the reader that goes row by row."""
    (table,) = read_row_tables(text, "a.csv")
    np.testing.assert_array_equal(plain.values, table.values)
    assert list(plain.lines) == list(table.lines)
    assert plain.above == table.above
    assert plain.separator == table.separator
    assert plain.cautions == table.cautions
    assert plain.clock_times == table.clock_times


@pytest.mark.parametrize("gap", GAPS)
@pytest.mark.parametrize(
    ("separator", "decimal"), [(",", "."), (";", ","), ("\t", "."), ("|", "."), (" ", ".")]
)
def test_a_gap_is_no_number(gap: str, separator: str, decimal: str) -> None:
    """Whatever word stands for a missing signal, the row keeps its place, with no number there."""
    rows = regular(decimal=decimal)
    rows[20][1] = rows[21][1] = rows[40][1] = gap
    text = export(
        rows, separator, head="Time (min)\tSignal (mAU)" if separator == " " else "Time (min){0}Signal"
    )
    if (separator == " " and not gap) or (decimal == "," and "." in gap):
        return  # a blank at the end of a line sets no field apart; such a word is passed over row by row
    (table,) = read_row_tables(text, "a.csv")
    assert np.flatnonzero(~np.isfinite(table.values[:, 1])).tolist() == [20, 21, 40]


def test_a_row_without_any_number_is_left_to_the_other_reader() -> None:
    """A row of nothing but gaps interrupts a table: the quick reader stands back."""
    rows = regular()
    rows[20] = ["NaN", "NaN"]
    assert read_plain_table(export(rows, ",").encode()) is None


@pytest.mark.parametrize("place", [0, 59])
def test_a_gap_at_either_end_is_left_to_the_other_reader(place: int) -> None:
    """Whether a table begins or breaks off there is for the careful reader to say."""
    rows = regular()
    rows[place][1] = ""
    assert read_plain_table(export(rows, ",").encode()) is None


def test_gaps_above_and_below_the_table_stay_there() -> None:
    """Lines with empty fields in the preamble or behind the rows do not come among the rows."""
    rows = regular()
    rows[30][1] = "NaN"
    for text in (
        export(rows, ",", head="Run,,\n2024,,\nTime (min),Signal"),
        export(rows, ",", end="\nEnd,,\n7,,\n"),
    ):
        plain = read_plain_table(text.encode())
        if plain is not None:
            assert_same(plain, text)


@settings(deadline=None, max_examples=200)
@given(
    st.lists(st.tuples(st.integers(0, 49), st.integers(0, 2), st.sampled_from(ODD)), max_size=6),
    st.sampled_from([",", ";", "\t"]),
    st.booleans(),
)
def test_any_odd_fields_give_the_same_or_nothing(
    odd: list[tuple[int, int, str]], separator: str, whole_end: bool
) -> None:
    """With any fields replaced, the quick reader gives the other's table or none."""
    rows = [[*row, f"{place * 0.5:.1f}"] for place, row in enumerate(regular(50))]
    for row, column, word in odd:
        rows[row][column] = word
    text = export(rows, separator, head="t (min){0}A (mAU){0}B (mAU)", end="\n" if whole_end else "")
    plain = read_plain_table(text.encode())
    if plain is not None:
        try:
            assert_same(plain, text)
        except StudyFolderError:
            pytest.fail("the other reader refuses what the quick one reads")
