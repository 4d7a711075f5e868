"""Lives above the declines that they are read from, and every life at a glance."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.deciding import key_of
from lyewitness.decline.records import Life
from lyewitness.document.answers import lives_by_group
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.document.what_if import what_if
from lyewitness.figures.drawing import draw_figures
from lyewitness.figures.labels import Words, clear_of
from lyewitness.figures.life_bars import failed_elsewhere, gaps
from lyewitness.figures.limits import limits_figure
from lyewitness.figures.lives import draw_lives, lives_drawn, lives_figures
from lyewitness.figures.one_axis import common_end
from lyewitness.figures.records import Figure, Frame
from lyewitness.figures.sheets import applied
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.outputs.letter import letter_of
from lyewitness.study.records import Limit, Question
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import tell
from tests.figures.making import made_report
from tests.figures.reading import keep_words_as_text, words_of
from tests.findings.making import evidence_of, found_in, judged

LOOK = look_from({})


def upright_lines(data: bytes) -> list[tuple[float, float, float]]:
    """Return (across, from, to) of every straight upright line of a drawing, pixels from above."""
    found = []
    for path in re.findall(rb' d="(M[^"]*)"', data):
        numbers = [float(one) for one in re.findall(rb"-?[\d.]+", path)]
        if len(numbers) == 4 and numbers[0] == numbers[2]:
            found.append((numbers[0], min(numbers[1], numbers[3]), max(numbers[1], numbers[3])))
    return found


@pytest.mark.parametrize("narrow", [False, True])
def test_a_line_drops_from_each_life_to_where_the_limit_is_passed(narrow: bool) -> None:
    """For each group with a life a line stands at its hours and ends at the height of the limit."""
    report = made_report(3, 20)
    figure = lives_figures(report, LOOK)[0]
    data = figure.narrow if narrow else figure.data
    lives = [
        one for one in report.judgement.group_lives if (one.marker, one.metric) == report.judgement.deciding
    ]
    reached = [one.life.hours.value for one in lives if one.life.state == "reached" and one.life.hours.value]
    ends: dict[int, list[float]] = {}
    for across, top, low in upright_lines(data):
        if low - top > 60:
            ends.setdefault(round(low), []).append(across)
    at_limit = max(ends.values(), key=len)
    assert len(at_limit) == len(reached) > 1
    hours, places = np.sort(reached), np.sort(at_limit)
    # One scale for lives and declines: places go with hours along a straight line.
    assert np.allclose(np.polyval(np.polyfit(hours, places, 1), hours), places, atol=0.2)


Lines = list[tuple[float, float, float]]


def drawn_lives(narrow: bool) -> tuple[Report, Figure, Frame, Lines, float]:
    """Return a report, its lives as drawn, where their declines lie, upright lines, and the limit."""
    report = made_report(3, 20)
    figure = lives_figures(report, LOOK)[0]
    assert figure.trails is not None
    frame = figure.trails.narrow if narrow else figure.trails.frame
    lines = upright_lines(figure.narrow if narrow else figure.data)
    level = next(one.limit_percent for one in report.judgement.declines if one.limit_percent is not None)
    limit = frame.top + frame.tall * (frame.high - level) / (frame.high - frame.low)
    return report, figure, frame, lines, limit


@pytest.mark.parametrize("narrow", [False, True])
def test_no_line_runs_through_words(narrow: bool) -> None:
    """The line that drops from a life to its limit is open where the title of the declines stands."""
    _, _, frame, lines, limit = drawn_lives(narrow)
    fallen = {across for across, _, low in lines if abs(low - limit) < 1}
    assert fallen
    whole = {across for across, top, low in lines if top < frame.top - 12 < low}
    # A line right of the title's end may run past it; the first life's stands below its first words.
    assert min(fallen) not in whole
    assert any(across == min(fallen) and low < frame.top - 12 for across, _, low in lines), "it begins above"


def test_where_the_test_ended_is_named(example: Report, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader sees that curves end with the test and not with the columns; ends apart are no one end."""
    keep_words_as_text(monkeypatch)
    figure = lives_figures(example, LOOK)[0]
    assert figure.narrow is not None
    for data in (figure.data, figure.narrow):
        words = [" ".join(one.text.split()) for one in words_of(data, LOOK)]
        assert "end of test, 96 h" in words
    assert "the end of the test" in figure.caption
    lives = [
        replace(one, tested_to_h=96.0 - 10 * n) for n, one in enumerate(example.judgement.group_lives[:2])
    ]
    assert common_end(lives) is None
    assert common_end([lives[0]]) == 96.0


def test_a_line_is_open_where_words_stand() -> None:
    """Words that a line would cross leave it in two pieces; words beside or above it leave it whole."""
    words = Words(10, 50, 100, 120)
    assert clear_of([words], 30, 40, 200) == [(40, 100), (120, 200)]
    assert clear_of([words], 60, 40, 200) == [(40, 200)]
    assert clear_of([words], 30, 130, 200) == [(130, 200)]
    assert clear_of([words], 30, 110, 200) == [(120, 200)]
    assert clear_of([words], 30, 40, 110) == [(40, 100)]


@pytest.mark.parametrize("narrow", [False, True])
def test_a_page_is_told_where_the_declines_lie(narrow: bool) -> None:
    """The frame puts each life at the limit where the line that drops from it ends, within a pixel."""
    report, figure, frame, lines, down = drawn_lives(narrow)
    assert figure.trails is not None
    reached = 0
    for one in report.judgement.group_lives:
        hours = one.life.hours.value
        if (one.marker, one.metric) == report.judgement.deciding and one.life.state == "reached" and hours:
            across = frame.left + frame.wide * (hours - frame.from_h) / (frame.to_h - frame.from_h)
            assert any(abs(x - across) < 1 and abs(low - down) < 1 for x, _, low in lines)
            reached += 1
    assert reached > 1
    drawn = {trail.column: trail for trail in figure.trails.trails}
    for decline in report.judgement.declines:
        series = decline.series
        if (series.marker, series.metric) == report.judgement.deciding:
            assert drawn[series.column].injections == series.injections
            assert np.allclose(drawn[series.column].values, decline.percent)


def test_spans_between_injections_that_overlap_are_one() -> None:
    """Columns that passed between the same injections share a span; another stands apart."""
    report = made_report(3, 20)
    some = [one for one in report.judgement.declines if one.life.state == "reached"][:3]
    brackets = [(40.0, 46.0), (44.0, 50.0), (70.0, 76.0)]
    placed = [
        replace(one, life=Life("reached", Estimate(45.0, 44.0, 46.0), bracket_h=bracket))
        for one, bracket in zip(some, brackets, strict=True)
    ]
    assert gaps(placed) == [(40.0, 50.0), (70.0, 76.0)]
    assert gaps([replace(placed[0], life=Life("not reached", Estimate(low=120.0)))]) == []


def test_what_fails_first_stands_on_top(monkeypatch: pytest.MonkeyPatch) -> None:
    """Limits stand in the order in which a group first passed them, those never passed last."""
    keep_words_as_text(monkeypatch)
    report = made_report(3, 20)
    figure = limits_figure(report, LOOK)
    assert figure is not None
    firsts: dict[tuple[str, str], float] = {}
    for one in report.judgement.group_lives:
        hours = one.life.hours
        known = [end for end in (hours.low, hours.value, hours.high) if end is not None]
        end = min(known) if one.life.state == "reached" else np.inf
        firsts[one.marker, one.metric] = min(end, firsts.get((one.marker, one.metric), np.inf))
    assert min(firsts.values()) < np.inf
    marker, _ = min(firsts, key=lambda pair: firsts[pair])
    words = [one for one in words_of(figure.data, LOOK) if "limit" in one.text or "amitrole" in one.text]
    assert marker in min(words, key=lambda one: one.top).text or marker in words[0].text
    assert {row[0] for row in figure.table[1:]} == set(report.study.groups)


def one_limit() -> Report:
    """Return a study in which one metric of one marker is limited."""
    report = made_report(2, 8)
    only = report.judgement.deciding
    lives = tuple(one for one in report.judgement.group_lives if (one.marker, one.metric) == only)
    return replace(report, judgement=replace(report.judgement, group_lives=lives))


def test_a_single_limit_needs_no_figure_of_its_own() -> None:
    """With one limit, the lives stand above their declines and nowhere else."""
    assert limits_figure(one_limit(), LOOK) is None


def test_wide_figures_are_drawn_for_a_phone_too() -> None:
    """Declines, panels and waterfalls have a narrow form with the same finding."""
    for figure in draw_figures(made_report(2, 8), LOOK):
        if figure.id.startswith(("decline-", "column-", "marker-", "waterfall-", "lives", "limits")):
            assert figure.narrow_width_px == LOOK.narrow().width_px, figure.id
            assert b"<svg" in figure.narrow, figure.id


def test_one_column_a_group_is_not_called_typical() -> None:
    """Captions tell of the one column, and of a typical one only where there are others."""
    several = made_report(2, 12)
    lone = [replace(one, columns=one.columns[:1]) for one in several.judgement.group_lives]
    single = replace(several, judgement=replace(several.judgement, group_lives=tuple(lone)))
    for report, typical in ((several, True), (single, False)):
        limits = limits_figure(report, LOOK)
        assert limits is not None
        for figure in (limits, lives_figures(report, LOOK)[0]):
            assert ("typical" in figure.caption) is typical, figure.caption
        assert "the first of all to fail is the " in limits.caption.lower()
        assert "passed" not in limits.caption


def test_columns_that_failed_by_another_limit_are_crossed() -> None:
    """Beside an arrow that says `at least`, a cross says when another limit ended a column, and which."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("aniline",)),
    )
    courses = {("C1", "aniline", "retention_factor"): -0.14}
    stated = Question("q1", "Which lasts longer?", decides="plate_number_half_height of caffeine")
    lives = {"coated": (900.0, 950.0), "silica": (62.0, 55.0)}
    seen = evidence_of(lives, courses=courses, limits=limits, questions=(stated,))
    findings = found_in(seen)
    report = Report(seen.study, seen.traces, seen.measurements, seen.judgement, findings, ())
    figure = lives_figures(report, LOOK)[0]
    told = "Crosses: failed by another limit: C1 72\u2009h (70 to 80) (retention factor of aniline)."
    assert told in figure.caption
    assert told in figure.alt
    unaware = replace(report, judgement=replace(report.judgement, first_failures=()))
    plain = lives_figures(unaware, LOOK)[0]
    assert "Crosses" not in plain.caption
    assert plain.data != figure.data


def test_a_row_without_a_caption_says_what_its_crosses_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a slide stands no caption: beside `at least` the row itself tells of the other limit."""
    keep_words_as_text(monkeypatch)
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("aniline",)),
    )
    courses = {("C1", "aniline", "retention_factor"): -0.14}
    seen = evidence_of({"coated": (900.0, 950.0), "silica": (62.0, 55.0)}, courses=courses, limits=limits)
    judgement = seen.judgement
    declines = [one for one in judgement.declines if key_of(one) == judgement.deciding and one.limit]
    lives = [one for one in judgement.group_lives if (one.marker, one.metric) == judgement.deciding]
    crossed = failed_elsewhere(judgement.first_failures, declines)
    for look in (LOOK, LOOK.narrow()):
        with applied(look):
            data, _, _ = draw_lives(lives, declines, seen.study.groups, look, elsewhere=crossed)
        words = " ".join(word.text for word in words_of(data, look))
        assert words.count("\u00d7 failed by") == 1


@pytest.fixture(scope="module")
def torn() -> Report:
    """Return a study whose types fail by different limits, none of them stated; C2 ran warmer by plan."""
    questions = (
        Question("q1", "Which of the three types lasts longest?"),
        Question("five", "Will the coated type last five days?", groups=("coated",), span_h=120.0),
    )
    seen = evidence_of(
        {"coated": (900.0, 950.0, 1000.0), "oxide": (980.0, 990.0), "silica": (62.0, 55.0, 66.0)},
        courses={(f"C{n}", "aniline", "retention_factor"): -0.13 - 0.01 * n for n in (1, 2, 3)},
        limits=(
            Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
            Limit("retention_factor", at_least_percent=90.0, markers=("aniline",)),
        ),
        questions=questions,
    )
    columns = tuple(replace(one, temperature_C=58.0) if one.id == "C2" else one for one in seen.study.columns)
    seen = judged(seen, replace(seen.study, columns=columns))
    return Report(seen.study, seen.traces, seen.measurements, seen.judgement, found_in(seen), ())


def test_lives_are_drawn_by_what_the_answer_rests_on(torn: Report) -> None:
    """Of an answer by any limit, words, bars and marks are by any; the declines name the one they are of."""
    first, five = lives_figures(torn, LOOK)
    assert first.caption.startswith("Life by whichever limit each column passed first: coated 6")
    assert "coated at least" not in first.caption
    assert "Crosses: ended by another limit than the one drawn below: C1 " in first.caption
    assert (
        "Below: the injections of each column by plate number (half height) of caffeine alone"
        in first.caption
    )
    assert "coated 6" in first.alt
    ended = {row[1]: float(row[3]) for row in first.table if row[0] == "coated" and row[1]}
    assert all(55 < hours < 80 for hours in ended.values())
    # Plates ended no column of the one group that is asked about: its declines are of what did.
    assert torn.findings.answers[1].deciding == ("aniline", "retention_factor")
    assert "Crosses" not in five.caption
    assert "by retention factor of aniline alone" in five.caption


def test_no_arrow_stands_for_a_column_that_another_limit_ended(
    torn: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the row of a group by any limit stand its life and what its crosses are, on a phone as on a page."""
    keep_words_as_text(monkeypatch)
    first = lives_figures(torn, LOOK)[0]
    for data, look in ((first.data, LOOK), (first.narrow, LOOK.narrow())):
        words = " ".join(word.text for word in words_of(data, look))
        assert words.count("\u00d7 by another limit than below") == 1
        assert "coated  6" in words


def test_a_column_that_is_not_compared_stands_in_brackets(
    torn: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    """C2 ran warmer: its mark is set in brackets, and the caption says what these mean."""
    keep_words_as_text(monkeypatch)
    told = "In brackets: left out of the lives and of the comparison: C2."
    for figure in lives_figures(torn, LOOK):
        assert told in figure.caption
        assert [word.text for word in words_of(figure.data, LOOK)].count("(") == 1
    alone = replace(torn, findings=replace(torn.findings, answers=()))
    assert (
        "In brackets: left out of the lives and of the comparison: C2." in lives_figures(alone, LOOK)[0].alt
    )
    plain = lives_figures(made_report(2, 12), LOOK)[0]
    assert "In brackets" not in plain.caption


def test_letter_and_slide_draw_the_same_lives(torn: Report, daylight: Theme) -> None:
    """The bars of a letter are told in the words of the figure; the sheet of a slide holds the same lives."""
    edition = document_of(torn, (), daylight).edition
    for answer in torn.findings.answers:
        told = {bar.group: bar.told for bar in letter_of(edition, answer).bars}
        assert told["coated"].startswith("6")
        lives = lives_drawn(torn, answer.deciding, torn.study.groups, answer).lives
        assert {life.group: tell(life.life) for life in lives} == told


def test_a_bound_below_the_first_failure_names_its_column(torn: Report, daylight: Theme) -> None:
    """`At least 40 h … the first after 55 h` contradicts itself, unless it is said of which column."""
    metric = torn.judgement.deciding
    unsure = Life("unclear", Estimate(None, 40.0, None))
    declines = tuple(
        replace(one, life=unsure) if one.series.column == "S1" and key_of(one) == metric else one
        for one in torn.judgement.declines
    )
    lives = tuple(
        replace(one, life=unsure, states=("unclear", "reached", "reached"))
        if one.group == "silica" and (one.marker, one.metric) == metric
        else one
        for one in torn.judgement.group_lives
    )
    judgement = replace(torn.judgement, declines=declines, group_lives=lives)
    for report, told in ((replace(torn, judgement=judgement), True), (torn, False)):
        edition = document_of(report, (), daylight).edition
        found = str(lives_by_group(edition, report.findings.answers[0]))
        assert ("of S1 no more is known" in found) is told


def test_another_limit_is_tried_by_its_own_name(torn: Report, daylight: Theme) -> None:
    """Lives to one limit moved do not contradict lives by any: they are told as by that limit alone."""
    edition = document_of(torn, lives_figures(torn, LOOK), daylight).edition
    found = what_if(edition, torn.judgement.deciding, (), alone=True)
    assert found is not None
    assert json.loads(found.levels)["by"] == " by the plate number (half height) of caffeine alone"
    plain = what_if(edition, torn.judgement.deciding, ())
    assert plain is not None
    assert "by" not in json.loads(plain.levels)
