"""No words on other words, none beyond the sheet: every figure of ordinary and of strange studies."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.records import Life
from lyewitness.figures.drawing import draw_figures
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.study.records import Limit
from lyewitness.words.estimates import Estimate
from tests.figures.making import MARKERS, START, drawn_by, made_report
from tests.figures.reading import collisions, keep_words_as_text, strays, words_of

SERIF = {"type": {"font": "STIXGeneral", "fallback": "serif", "label_px": 15.0}}


def three_injections() -> Report:
    """Return a study with three injections a column."""
    return made_report(1, 3)


def one_group() -> Report:
    """Return a study of one column."""
    return made_report(1, 12, ("only",))


def twelve_groups() -> Report:
    """Return a study of twelve groups, which is more than there are colours."""
    return made_report(1, 4, tuple(f"group {letter} bonded" for letter in "ABCDEFGHIJKL"))


def names_of_all_lengths() -> Report:
    """Return a study whose groups have names of one letter, of eight and of forty."""
    names = (
        "µ",
        "hybrid C",
        "a group with a name of forty letters abcd",
        "Name-without-blanks-of-forty-letters-abcd",
    )
    return made_report(1, 4, names)


def five_columns() -> Report:
    """Return a study with five columns a group, which has survival curves."""
    return made_report(5, 3)


def no_void_marker() -> Report:
    """Return a study that cannot know retention factors."""
    report = made_report(1, 4)
    judgement = report.judgement
    return replace(
        report,
        study=replace(report.study, markers=MARKERS[1:]),
        measurements=replace(
            report.measurements,
            rows=tuple(row for row in report.measurements.rows if row.marker != "uracil"),
        ),
        judgement=replace(
            judgement,
            declines=tuple(one for one in judgement.declines if one.series.metric != "retention_factor"),
            group_lives=tuple(one for one in judgement.group_lives if one.metric != "retention_factor"),
        ),
    )


def no_limits() -> Report:
    """Return a study that states no limit: nothing decides, nothing has a life."""
    report = made_report(1, 4)
    declines = tuple(
        replace(one, limit=None, limit_percent=None, life=Life("not measured"))
        for one in report.judgement.declines
    )
    judgement = replace(report.judgement, declines=declines, group_lives=(), deciding=("", ""))
    return replace(report, study=replace(report.study, limits=()), judgement=judgement)


def all_failed_at_once() -> Report:
    """Return a study in which every metric had passed its limit at the first injection after the start."""
    report = made_report(1, 4)
    nothing = np.empty(0)
    life = Life("reached", Estimate(low=0.0, high=40.0))
    declines = tuple(
        replace(
            one, percent=(left := np.array([100.0, 21.0, 20.0, 20.5])), model=None, curve_h=nothing,
            series=replace(one.series, value=left * START[one.series.metric] / 100),
            curve_percent=nothing, curve_low=nothing, curve_high=nothing, residuals=nothing, life=life,
            remaining=Estimate(reason="no model"),
        )
        for one in report.judgement.declines
    )  # fmt: skip
    lives = tuple(replace(one, life=life) for one in report.judgement.group_lives)
    return replace(report, judgement=replace(report.judgement, declines=declines, group_lives=lives))


def two_limits() -> Report:
    """Return a study in which one metric has a limit below and one just above its start."""
    report = made_report(1, 4)
    upper = Limit("retention_factor", at_most_percent=102)
    declines = tuple(
        replace(one, limit=upper, limit_percent=102.0)
        if one.series.metric == "retention_factor" and one.series.column == "A1"
        else one
        for one in report.judgement.declines
    )
    return replace(report, judgement=replace(report.judgement, declines=declines))


STUDIES = (
    one_group, three_injections, twelve_groups, names_of_all_lengths, five_columns, no_void_marker,
    no_limits, all_failed_at_once, two_limits,
)  # fmt: skip


@pytest.mark.parametrize("study", STUDIES)
def test_no_words_lie_on_others_or_leave_the_sheet(
    study: Callable[[], Report], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In each figure, wide and narrow, in sans and (the hardest study) in serif, all words can be read."""
    keep_words_as_text(monkeypatch)
    report = study()
    for look in (look_from({}), look_from(SERIF))[: 2 if study is names_of_all_lengths else 1]:
        for figure in draw_figures(report, look):
            forms = [(figure.data, figure.width_px, figure.height_px)]
            forms += (
                [(figure.narrow, figure.narrow_width_px, figure.narrow_height_px)] if figure.narrow else []
            )
            low = figure.low
            forms += [(low.data, low.width_px, low.height_px)] if low else []
            for data, width, height in forms:
                words = words_of(data, look)
                assert words, figure.id
                assert not collisions(words), figure.id
                assert not strays(words, width, height), figure.id


def test_every_trace_of_a_waterfall_has_its_exposure(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty traces have twenty exposures beside them, in order."""
    keep_words_as_text(monkeypatch)
    (figure,) = drawn_by("waterfall_figure", made_report(1, 20, ("one",)), look_from({}))
    words = [one for one in words_of(figure.data, look_from({})) if one.text.endswith("\u2009h")]
    assert len(words) == 20
    assert (words[0].text, words[-1].text) == ("0\u2009h", "120\u2009h")
    assert [one.low for one in words] == sorted(one.low for one in words)


def test_the_low_form_of_a_waterfall_keeps_both_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """For what is left of a page it is a fifth of it at most, 50 mm, with as many exposures as have room.

    A drawing of the whole width is printed 122 mm wide.
    """
    keep_words_as_text(monkeypatch)
    look = look_from({})
    drawn = drawn_by("waterfall_figure", made_report(2, 20, ("one",)), look)
    heights = [one.low.height_px * 122 / look.width_px for one in drawn if one.low]
    assert len(heights) == 2
    assert heights[0] <= 34
    assert heights[1] <= 51
    for figure in drawn:
        assert figure.low is not None
        words = [one.text for one in words_of(figure.low.data, look) if one.text.endswith("\u2009h")]
        assert (words[0], words[-1]) == ("0\u2009h", "120\u2009h")
        assert "7 of 20" in figure.low.caption or "8 of 20" in figure.low.caption


def test_an_absolute_limit_is_named_at_its_value(monkeypatch: pytest.MonkeyPatch) -> None:
    """The symmetry factor's axis counts from 1.00 to 2.00 and has the rule `limit 2`, not a percentage."""
    keep_words_as_text(monkeypatch)
    report, look = made_report(1, 8), look_from({})
    kinds = ("decline_figure", "marker_figure")
    figures = {one.id: one for kind in kinds for one in drawn_by(kind, report, look)}
    words = {one.text for one in words_of(figures["decline-amitrole-symmetry_factor"].data, look)}
    assert {"limit 2", "symmetry factor of amitrole", "1.00", "2.00"} <= words
    words = {one.text for one in words_of(figures["marker-amitrole"].data, look)}
    assert {"symmetry factor", "limit 2", "retention factor\u00a0/\u00a0%"} <= words
