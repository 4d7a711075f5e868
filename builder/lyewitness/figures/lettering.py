"""Words that are measured and laid out once, however many drawings they stand in.

In: words and a font. Out: what matplotlib makes of them. It forgets both with each drawing, and most words of
a report are the same few numbers and names: a tenth of the time of its figures.

`matplotlib.text.TextToPath` is where a drawing takes its words from, and `fontManager` beside it their fonts;
`tests/figures/test_lettering.py` tells when another version takes them from elsewhere.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import Any

import matplotlib.text
import matplotlib.textpath
from matplotlib.font_manager import fontManager
from matplotlib.textpath import TextToPath, text_to_path

MOST_WORDS = 1 << 11
"""A word with its outlines takes 5 kB."""

# A copy of the properties of the font is handed in, which nobody changes.
measured = lru_cache(maxsize=MOST_WORDS)(text_to_path.get_text_width_height_descent)
laid_out = lru_cache(maxsize=MOST_WORDS)(text_to_path.get_glyphs_with_font)


class Lettering(TextToPath):
    """Words as paths, from memory."""

    def get_text_width_height_descent(self, *words: Any) -> Any:
        """Return the size of words."""
        return measured(*words)

    def get_glyphs_with_font(
        self, font: Any, s: str, glyph_map: Any = None, return_new_glyphs_only: bool = False, **asked: Any
    ) -> Any:
        """Return the letters of words, the outlines of new ones, and rules."""
        if not return_new_glyphs_only:
            return super().get_glyphs_with_font(font, s, glyph_map, **asked)
        letters, outlines, rules = laid_out(font, s, **asked)
        known = glyph_map or {}
        return letters, {name: own for name, own in outlines.items() if name not in known}, rules


class _Faces:
    """The files of the fonts of a drawing, which are looked up once and not for each of its words."""

    def __init__(self) -> None:
        finder: Any = fontManager
        self._find_fonts_by_props = lru_cache(maxsize=MOST_WORDS)(finder._find_fonts_by_props)


@contextmanager
def remembered_words() -> Iterator[None]:
    """Have words of drawings that are begun and finished meanwhile laid out from memory."""
    words: Any = matplotlib.text
    paths: Any = matplotlib.textpath
    before = words.TextToPath, words.fontManager, paths._fontManager
    faces = _Faces()
    words.TextToPath, words.fontManager, paths._fontManager = Lettering, faces, faces
    try:
        yield
    finally:
        words.TextToPath, words.fontManager, paths._fontManager = before
