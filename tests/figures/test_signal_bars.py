"""The bar that says how high the peaks of chromatograms are."""

from dataclasses import replace

import pytest

from lyewitness.figures.style import look_from
from tests.figures.making import drawn_by, made_report
from tests.figures.reading import keep_words_as_text, strays, words_of

LOOK = look_from({})


@pytest.mark.parametrize("function", ["first_last_figure", "waterfall_figure"])
def test_the_number_of_a_bar_stays_on_the_sheet(function: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A detector that counts in millionths has signals of five figures, which are wider than their unit."""
    keep_words_as_text(monkeypatch)
    report = made_report(1, 3, groups=("one",))
    traces = {
        name: replace(trace, signal=1000 * trace.signal, signal_unit="µV")
        for name, trace in report.traces.items()
    }
    (figure,) = drawn_by(function, replace(report, traces=traces), LOOK)
    words = words_of(figure.data, LOOK)
    assert "µV" in {one.text for one in words}
    assert not strays(words, figure.width_px, figure.height_px)
