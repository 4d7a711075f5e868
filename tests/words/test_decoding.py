"""Text is read the same way wherever it stands."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.traces.shaping import as_utf8
from lyewitness.words.decoding import decoded

WORDS = "säule; 25 µL – 60 °C"


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]
)
def test_every_usual_encoding_is_read(encoding: str) -> None:
    """Letters, signs and dashes are those that were written, with a mark or without."""
    assert decoded(WORDS.encode(encoding)) == WORDS


def test_bytes_without_a_letter_in_windows_1252_are_those_of_latin_1() -> None:
    """A table with such a byte is read, the letters beside it as they are."""
    assert decoded(b"a\x81\x8d\x8f\x90\x9d\x80") == "a\x81\x8d\x8f\x90\x9d€"


@given(st.binary(max_size=40))
def test_any_bytes_can_be_read(data: bytes) -> None:
    """No file makes reading fail."""
    assert isinstance(decoded(data), str)


def test_a_table_and_an_export_are_read_alike() -> None:
    """`25 µL – 60 °C` in a study's table is the same text in a chromatogram's head."""
    data = WORDS.encode("cp1252")
    assert as_utf8(data).decode() == decoded(data)
