"""Chromatograms of groups side by side are drawn on one axis of time and at one height of signal."""

from dataclasses import replace

import pytest

from lyewitness.figures.common_scales import Common, common_scales, first_and_last, last_minute, tallest
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from tests.figures.making import drawn_by, made_report
from tests.figures.reading import keep_words_as_text, words_of


@pytest.fixture(scope="module")
def report() -> Report:
    """Two groups of one column each, three injections a column."""
    return made_report(1, 3, groups=("one", "two"))


def longer(report: Report, group: str, factor: float) -> Report:
    """Return the report with the peaks of one group so much higher."""
    columns = {column.id for column in report.study.columns if column.group == group}
    own = {one.id for one in report.study.injections if one.column in columns}
    traces = {
        name: replace(trace, signal=factor * trace.signal) if name in own else trace
        for name, trace in report.traces.items()
    }
    return replace(report, traces=traces)


def test_the_longest_axis_and_the_highest_peak_are_those_of_all(report: Report) -> None:
    """What one group needs the others have, too."""
    higher = longer(report, "two", 2.0)
    pairs = [pair for group in ("one", "two") if (pair := first_and_last(higher, group))]
    assert common_scales(higher, {}) == Common(
        max(last_minute(higher, pair, {}) for pair in pairs),
        max(tallest([higher.traces[one.id] for one in pair]) for pair in pairs),
    )


def test_no_group_is_squeezed_by_another(report: Report) -> None:
    """Peaks ten times as high leave each group its own scale; a unit of its own does, too."""
    assert common_scales(longer(report, "two", 10.0), {}).tallest is None
    names = [one.id for one in report.study.injections if one.column == report.study.columns[0].id]
    traces = {
        name: replace(trace, signal_unit="V") if name in names else trace
        for name, trace in report.traces.items()
    }
    assert common_scales(replace(report, traces=traces), {}).tallest is None


def test_figures_side_by_side_have_one_bar(report: Report, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two groups whose peaks differ twofold the bars stand for one signal."""
    keep_words_as_text(monkeypatch)
    look = look_from({})
    figures = drawn_by("first_last_figure", longer(report, "two", 2.0), look)
    bars = [{one.text for one in words_of(figure.data, look) if one.text.isdigit()} for figure in figures]
    assert len(figures) == 2
    assert bars[0] & bars[1] - {"0", "1", "2", "3", "4", "5", "6", "7", "8"}
