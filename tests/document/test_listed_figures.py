"""Every figure is listed once, by a title that no other one has."""

from dataclasses import replace

from lyewitness.document.evidence import figures_of_study
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.figures.lives import lives_figures
from lyewitness.figures.style import look_from
from lyewitness.study.records import Question
from tests.figures.making import made_report


def test_figures_of_one_title_are_told_apart_by_the_question(daylight: Theme) -> None:
    """The lives stand once for each question: the list says for which, in words and not by its id."""
    report = made_report(2, 4)
    (answer,) = report.findings.answers
    second = Question("two-days", "Which lasts two days?", groups=report.study.groups[:1])
    answers = (answer, replace(answer, question=second))
    study = replace(report.study, questions=(answer.question, second))
    report = replace(report, study=study, findings=replace(report.findings, answers=answers))
    figures = tuple(lives_figures(report, look_from(daylight.look)))
    listed = [title for title, _ in figures_of_study(document_of(report, figures, daylight).edition)]
    assert len(listed) > 1
    assert len(set(listed)) == len(listed)
    assert any(title.endswith("(question 2)") for title in listed)
    assert not any("two-days" in title for title in listed)
