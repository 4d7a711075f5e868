"""A study's words reach every document whole, but for what no document can hold."""

from hypothesis import given
from hypothesis import strategies as st

from lyewitness.words.decoding import printable


@given(st.text())
def test_what_is_left_can_stand_in_xml(text: str) -> None:
    """Every character left is a Char of XML 1.0 (production 2), none of C1, and none turns its neighbours."""
    for sign in printable(text):
        code = ord(sign)
        assert code in (9, 10, 13) or 0x20 <= code < 0x7F or 0xA0 <= code <= 0xD7FF or code >= 0xE000
        assert code not in (0xFFFE, 0xFFFF)
        assert not 0x202A <= code <= 0x202E
        assert not 0x2066 <= code <= 0x2069


@given(st.text(st.characters(exclude_categories=("Cc", "Cs", "Cf", "Cn"))))
def test_words_stay_as_they_are(text: str) -> None:
    """Letters, marks, digits and signs of every script are kept, in their order."""
    assert printable(text) == text
