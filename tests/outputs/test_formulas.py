"""No table of a report makes a spreadsheet compute what a name says."""

import csv
import io

import pytest

from lyewitness.outputs.tables import csv_table, defused


@pytest.mark.parametrize(
    "text", ['=HYPERLINK("http://x","y")', "+1+cmd|' /C calc'!A0", "@SUM(A1)", "-2+3", "\t=1", "-80 °C"]
)
def test_what_a_spreadsheet_would_compute_bears_an_apostrophe(text: str) -> None:
    """The cell begins with an apostrophe, and holds the whole text behind it."""
    written = csv_table([text], [[text, 1.5]]).decode()
    assert list(csv.reader(io.StringIO(written))) == [["'" + text], ["'" + text, "1.5"]]


@pytest.mark.parametrize("text", ["-3.2", "+4", "-1e-9", "-", "", "H1", "a=b", "1-2"])
def test_numbers_and_plain_texts_stay(text: str) -> None:
    """A negative number is a number, and a sign within a text is none."""
    assert defused(text) == text
