"""The times that a question asks about are ruled through the figures that answer it."""

import re
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.figures.lives import draw_lives, lives_figures
from lyewitness.figures.sheets import applied
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.outputs.letter import LONGEST_BAR, letter_of, render_letter
from lyewitness.study.records import Question
from tests.figures.reading import collisions, keep_words_as_text, strays, words_of
from tests.figures.test_one_axis import upright_lines
from tests.outputs.test_letter import BASE, reported

LOOK = look_from({})


@pytest.fixture(scope="module")
def two_days() -> Report:
    """Return a report on whether columns last two days, and further on whether they last three."""
    question = Question("q1", "Do the silica columns last two days?")
    report = reported(BASE, question)
    further = replace(report.findings.answers[0], question=Question("q2", "And three days?"))
    spans = tuple(replace(span, words="three days", hours=72.0, groups=()) for span in further.spans)
    answers = (*report.findings.answers, replace(further, spans=spans))
    return replace(report, findings=replace(report.findings, answers=answers))


@pytest.mark.parametrize("narrow", [False, True])
def test_each_asked_time_is_ruled_through_lives_and_declines(
    two_days: Report, narrow: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both stand as dotted rules at their hours, named, from above the bars to the foot of the declines."""
    keep_words_as_text(monkeypatch)
    figure = lives_figures(two_days, LOOK)[0]
    data, look = (figure.narrow, LOOK.narrow()) if narrow else (figure.data, LOOK)
    assert data is not None
    words = words_of(data, look)
    assert {"asked: two days (48\u2009h)", "asked: three days (72\u2009h)"} <= {one.text for one in words}
    assert not collisions(words)
    width, height = (
        (figure.narrow_width_px, figure.narrow_height_px) if narrow else (figure.width_px, figure.height_px)
    )
    assert not strays(words, width, height)
    assert figure.trails is not None
    frame = figure.trails.narrow if narrow else figure.trails.frame
    foot = frame.top + frame.tall
    places = frame.left + frame.wide * np.array([48.0, 72.0]) / frame.to_h
    for place in places:
        pieces = [(top, low) for across, top, low in upright_lines(data) if abs(across - place) < 0.5]
        assert min(top for top, _ in pieces) < 45
        assert abs(max(low for _, low in pieces) - foot) < 1
        for word in words:
            middle = (word.top + word.low) / 2
            if word.left < place < word.right and middle < frame.top:
                assert not [piece for piece in pieces if piece[0] < middle < piece[1]], word.text
    assert "Dotted: the time that is asked about, two days (48\u2009h) and three days (72\u2009h)." in (
        figure.caption
    )


def test_what_was_not_asked_is_not_drawn() -> None:
    """A question without a time leaves the figure as it was."""
    report = reported(BASE, Question("q1", "Which lasts longest?"))
    figure = lives_figures(report, LOOK)[0]
    assert report.findings.answers[0].spans == ()
    assert "Dotted" not in figure.caption


def test_the_time_of_another_question_is_not_drawn(two_days: Report) -> None:
    """What is asked of some groups is ruled through the figure of that question, not through the first."""
    groups = two_days.study.groups
    first, further = two_days.findings.answers
    plain = replace(first, spans=())
    narrower = replace(further, question=replace(further.question, groups=groups[:1]))
    findings = replace(two_days.findings, answers=(plain, narrower))
    of_all, of_one = lives_figures(replace(two_days, findings=findings), LOOK)
    assert "asked" not in of_all.caption
    assert "three days" in of_one.caption


def test_a_time_far_beyond_the_test_keeps_its_words_and_crushes_nothing(
    two_days: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A year after a test of 100 h stands at the end of the axis with an arrow, and has no rule."""
    keep_words_as_text(monkeypatch)
    (first, *_) = two_days.findings.answers
    far = replace(first, spans=tuple(replace(span, words="a year", hours=8766.0) for span in first.spans))
    report = replace(two_days, findings=replace(two_days.findings, answers=(far,)))
    figure, usual = lives_figures(report, LOOK)[0], lives_figures(two_days, LOOK)[0]
    told = [one.text for one in words_of(figure.data, LOOK) if one.text.startswith("asked: a year")]
    assert told
    assert told[0].endswith("→")
    assert figure.trails is not None
    assert usual.trails is not None
    assert figure.trails.frame.to_h == usual.trails.frame.to_h


def test_the_slide_has_the_rule_too(two_days: Report, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lives alone, as the picture for a talk shows them, bear the asked time."""
    keep_words_as_text(monkeypatch)
    lives = [one for one in two_days.judgement.group_lives if one.marker == "caffeine"]
    with applied(LOOK):
        data, _, height = draw_lives(
            lives, (), two_days.study.groups, LOOK, two_days.findings.answers[0].spans
        )
    words = words_of(data, LOOK)
    assert "asked: two days (48\u2009h)" in {one.text for one in words}
    assert not collisions(words)
    assert not strays(words, LOOK.width_px, height)


def test_the_letter_shows_where_the_asked_time_lies(two_days: Report, daylight: Theme) -> None:
    """Its bars are crossed at the asked hours on their own axis, and a row says which these are."""
    document = document_of(two_days, (), daylight)
    answer = two_days.findings.answers[0]
    letter = letter_of(document.edition, answer)
    (rule,) = letter.asked
    assert not rule.beyond
    # By hand: the longest known end is that of the polymer columns, all the axis.
    longest = max(
        end
        for life in two_days.judgement.group_lives
        for end in (life.life.hours.low, life.life.hours.high)
        if end is not None and life.marker == "caffeine"
    )
    assert (rule.begins + rule.ends) / 2 == pytest.approx(LONGEST_BAR * 48 / longest, abs=0.02)
    html, _ = render_letter(document, answer)
    assert re.search(r"asked: two days \(48\sh\)", html)
    drawn = re.findall(r"linear-gradient\(to right,transparent ([\d.]+)%", html)
    assert drawn
    assert {float(one) for one in drawn} == {rule.begins}


def test_a_rule_runs_past_the_words_where_one_side_is_clear(monkeypatch: pytest.MonkeyPatch) -> None:
    """Words stand on the side of their bar that no rule crosses."""
    keep_words_as_text(monkeypatch)
    lives: dict[str, tuple[float, ...]] = {"silica": (34.0, 35.0, 33.0), "hybrid": (70.0, 72.0, 68.0)}
    report = reported(lives, Question("q1", "Do the silica columns last two days?"))
    figure = lives_figures(report, LOOK)[0]
    assert figure.trails is not None
    frame = figure.trails.frame
    place = frame.left + frame.wide * 48.0 / frame.to_h
    words = words_of(figure.data, LOOK)
    names = [word for word in words if re.match(r"(silica|hybrid)  ", word.text)]
    assert len(names) == 2
    assert not [word.text for word in names if word.left < place < word.right]
