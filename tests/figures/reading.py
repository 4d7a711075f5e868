"""Where words stand in a drawing, for the tests of this stage.

In: the SVG of a figure whose words are text. Out: each word's box in pixels.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

import pytest
from matplotlib.text import Text

from lyewitness.figures import sheets
from lyewitness.figures.style import Look

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True, slots=True)
class Word:
    """Words on one line; pixels from the top left corner."""

    text: str
    left: float
    top: float
    right: float
    low: float


def keep_words_as_text(patch: pytest.MonkeyPatch) -> None:
    """Let figures carry their words as text instead of outlines, without halos."""
    settings: Callable[[Look], dict[str, object]] = sheets._settings
    patch.setattr(sheets, "_settings", lambda look: {**settings(look), "svg.fonttype": "none"})
    patch.setattr(Text, "set_path_effects", lambda words, effects: None)


def words_of(data: bytes, look: Look) -> list[Word]:
    """Return all words of a drawing, boxes from the baseline to the height of a capital letter."""
    return [word for word in _words(ElementTree.fromstring(data), look) if word.text.strip()]


def _words(root: ElementTree.Element, look: Look) -> Iterator[Word]:
    for one in root.iter(f"{SVG}text"):
        text = "".join(one.itertext())
        x, y = float(one.get("x", "0")), float(one.get("y", "0"))
        moved = re.match(r"translate\((\S+) (\S+)\)", one.get("transform", ""))
        if moved:
            x, y = float(moved.group(1)), float(moved.group(2))
        anchor = re.search(r"text-anchor: (\w+)", one.get("style", ""))
        where = anchor.group(1) if anchor else one.get("text-anchor", "start")
        wide = look.words_width(text)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[where]
        yield Word(text, left, y - 0.73 * look.label_px, left + wide, y)


def collisions(words: list[Word]) -> list[tuple[str, str]]:
    """Return pairs of words that lie on each other."""
    return [
        (one.text, other.text)
        for i, one in enumerate(words)
        for other in words[:i]
        if one.left < other.right - 1 and other.left < one.right - 1
        if one.top < other.low - 1 and other.top < one.low - 1
    ]


def strays(words: list[Word], width: float, height: float) -> list[str]:
    """Return words that leave the sheet."""
    return [
        one.text for one in words if one.left < -1 or one.top < 0 or one.right > width + 1 or one.low > height
    ]
