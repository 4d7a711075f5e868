"""The scale below the bars of a letter."""

import re

import pytest

from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.outputs.letter import render_letter
from lyewitness.outputs.letter_scale import CELL, scale_of
from tests.outputs.test_letter import LETTERS, reported


@pytest.mark.parametrize("axis_h", [0.7, 9.0, 20.1, 96.0, 100.0, 201.0, 1000.0, 12_345.0])
def test_the_numbers_stand_at_their_hours_within_the_cell(axis_h: float) -> None:
    """From zero, at most five round numbers; each block has its tick in the middle; none leaves the cell."""
    ticks = scale_of(axis_h, 85)
    assert ticks[0].told == "0"
    assert 3 <= len(ticks) <= 5
    assert sum(one.length for one in ticks) == pytest.approx(85, abs=0.1), "the line is as long as the axis"
    filled, places = 0.0, []
    for one in ticks:
        filled += one.gap
        places.append(filled + one.wide / 2)
        filled += one.wide
    assert filled <= CELL + 0.1
    for tick, place in zip(ticks[1:], places[1:], strict=True):
        told = float(re.sub(r"[^\d.]", "", tick.told))
        assert place == pytest.approx(85 * told / axis_h, abs=0.1)


def test_the_bars_of_a_letter_have_hours_below_them(daylight: Theme) -> None:
    """Bars without a scale say which is longer, not how long."""
    report = reported(*LETTERS["all failed"])
    html, _ = render_letter(document_of(report, (), daylight), report.findings.answers[0])
    bars, scale = html.find("height:12px"), html.find(">hours</th>")
    assert 0 < bars < scale
    assert re.search(r">0</span>.*>\d+</span>.*>\d+</span>", html[scale:], re.S)
