"""Words laid out from memory."""

import io

import matplotlib.style
import pytest
from matplotlib.figure import Figure as Sheet
from matplotlib.font_manager import FontProperties, fontManager

from lyewitness.figures.lettering import laid_out, measured, remembered_words

SETTINGS = {"svg.fonttype": "path", "svg.hashsalt": "words", "text.parse_math": False}


def drawing() -> bytes:
    """Return a sheet with words in two sizes, one of them with a sign of another font, twice the same."""
    sheet = Sheet(figsize=(4, 3), dpi=72)
    for place, (words, size) in enumerate((("120", 10), ("t\u2080 \u2192 AV", 14), ("120", 10), ("", 10))):
        sheet.text(0.1, 0.2 * place, words, fontsize=size, rotation=30 * place)
    buffer = io.BytesIO()
    sheet.savefig(buffer, format="svg", metadata={"Date": None})
    return buffer.getvalue()


def test_words_from_memory_are_the_librarys_own() -> None:
    """The first drawing and a later one are, to the byte, what the library draws by itself."""
    with matplotlib.style.context(["default", SETTINGS]):
        own = drawing()
        with remembered_words():
            assert [drawing(), drawing()] == [own, own]
        assert drawing() == own


def test_words_of_a_later_drawing_are_not_laid_out_again() -> None:
    """What one drawing measured and laid out, the next one has; else words are now taken from elsewhere."""
    with matplotlib.style.context(["default", SETTINGS]), remembered_words():
        drawing()
        before = [one.cache_info() for one in (measured, laid_out)]
        drawing()
        after = [one.cache_info() for one in (measured, laid_out)]
    assert [one.misses for one in after] == [one.misses for one in before]
    assert all(later.hits > sooner.hits for later, sooner in zip(after, before, strict=True))


def test_fonts_of_a_drawing_are_looked_up_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Words in one size ask for their fonts once, however many they are."""
    find = fontManager._find_fonts_by_props
    asked: list[int] = []

    def counted(properties: FontProperties) -> object:
        asked.append(hash(properties))
        return find(properties)

    monkeypatch.setattr(fontManager, "_find_fonts_by_props", counted)
    with matplotlib.style.context(["default", SETTINGS]), remembered_words():
        drawing()
    assert asked
    assert len(asked) == len(set(asked))
