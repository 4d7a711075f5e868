"""How often intervals held the life: the figure of the method page."""

import re

import pytest

from lyewitness.decline.method_notes import shipped_calibration
from lyewitness.figures.held_lives import held_by_law_and_number, held_lives_figure
from lyewitness.figures.style import look_from, shipped_look
from lyewitness.findings.records import Report
from tests.figures.reading import keep_words_as_text, strays, words_of


def test_every_field_and_the_worst_are_told(example: Report) -> None:
    """Caption, table and drawing come from the shipped counts of studies of several columns."""
    rows = [one for one in shipped_calibration().laws if one.columns > 1]
    shares = held_by_law_and_number(rows)
    figure = held_lives_figure(example, look_from(shipped_look()))
    assert figure is not None
    assert len(figure.table) == 1 + len(shares)
    assert f"{min(shares.values()):.0f} %" in figure.caption
    held = 100 * sum(one.held for one in rows) / sum(one.claims for one in rows)
    assert f"{held:.1f} %" in re.sub(r"\s", " ", figure.caption)


def test_the_title_stays_on_a_narrow_sheet(example: Report, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a telephone no word of the figure lies beyond its edge."""
    keep_words_as_text(monkeypatch)
    look = look_from(shipped_look()).narrow()
    figure = held_lives_figure(example, look)
    assert figure is not None
    assert not strays(words_of(figure.data, look), figure.width_px, figure.height_px)
