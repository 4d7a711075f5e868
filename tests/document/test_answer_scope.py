"""The page of an answer counts the checks of its question, and names those on its own groups alone."""

import re
from dataclasses import replace

import pytest

from lyewitness.document.answers import _advice_row, checks_for
from lyewitness.document.audit import RESULTS, _not_good
from lyewitness.document.edition import Edition
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.records import GroupAdvice, Report
from lyewitness.outputs.pages import site_pages
from lyewitness.study.records import Limit, Question
from lyewitness.words.names import joined
from lyewitness.words.phrases import opening
from tests.findings.making import evidence_of, found_in


@pytest.fixture(scope="module")
def report() -> Report:
    """Return a report with a question about all, and one about one group that another metric decides."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("symmetry_factor", at_most=2.0, markers=("aniline",)),
    )
    questions = (
        Question("q1", "Which lasts longest?"),
        Question(
            "q2", "Do the silica columns last?", groups=("silica",), decides="symmetry_factor of aniline"
        ),
    )
    tail = {(f"S{n}", "aniline", "symmetry_factor"): 1.5 for n in (1, 2, 3)}
    lives = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}
    evidence = evidence_of(lives, courses=tail, limits=limits, questions=questions)
    log = tuple(
        replace(one, temperature_C=53.0) if one.column == "H1" else one for one in evidence.study.conditions
    )
    evidence = replace(evidence, study=replace(evidence.study, conditions=log))
    return Report(evidence.study, {}, evidence.measurements, evidence.judgement, found_in(evidence), ())


def test_a_page_names_no_check_of_other_groups(report: Report, daylight: Theme) -> None:
    """What was found of a hybrid column alone stands on the page about all, not on that about silica."""
    pages = {one.path: one.text for one in site_pages(document_of(report, (), daylight))}
    assert "temperature-steady" in pages["index.html"]
    assert "temperature-steady" not in pages["answers/q2.html"]


def test_each_check_is_counted_once(report: Report, daylight: Theme) -> None:
    """A check that was asked again for one question is counted there, in the place of the first."""
    edition: Edition = document_of(report, (), daylight).edition
    again = {joined(one.id, "q2") for one in report.findings.checks} & {
        one.id for one in report.findings.checks
    }
    assert again
    whole = {one.id for one in checks_for(edition)}
    assert not whole & again
    own = {one.id for one in checks_for(edition, report.study.questions[1])}
    assert again <= own
    assert len(own) == len(whole)


def test_the_audit_says_how_its_count_becomes_that_of_its_tables(report: Report, daylight: Theme) -> None:
    """Checks asked again for one question have lines of their own: the page says how many lines there are."""
    (page,) = (one for one in site_pages(document_of(report, (), daylight)) if one.path == "audit.html")
    every = len(report.findings.checks)
    whole = len(checks_for(document_of(report, (), daylight).edition))
    text = " ".join(re.sub(r"<[^>]+>", " ", page.text).split())
    assert f"Of {whole} checks:" in text
    assert f"the table has {every} lines." in text


def test_the_head_of_the_audit_lists_what_its_count_counts(report: Report, daylight: Theme) -> None:
    """Problems of the count and problems above it are one number; those of one question stand with it."""
    edition: Edition = document_of(report, (), daylight).edition
    counted_once = checks_for(edition)
    *_, last = sections = list(_not_good(edition))
    assert last.heading == "Asked again for ‘" + opening(report.study.questions[1].text) + "’"
    heads = {edition.say(f"audit.heading.{result.replace(' ', '_')}"): result for result in RESULTS}
    for section in sections[:-1]:
        of_result = [check for check in counted_once if check.result == heads[section.heading]]
        assert len(section.blocks) == len(of_result)


def test_the_brackets_of_a_metric_stay_in_its_name(report: Report, daylight: Theme) -> None:
    """`none failed by the plate number (half height) …` is cut at its injections, not within the name."""
    edition = document_of(report, (), daylight).edition
    after = "none failed by the plate number (half height) of caffeine in 149 h"
    for runs, title in ((" (1350 injections of 6.6 min)", "1350 injections of 6.6 min"), ("", "")):
        advice = GroupAdvice("silica", "keep", f"{after}{runs}", "three, none failed", "shown")
        cell = _advice_row(edition, advice).cells[2]
        assert cell.text == after
        assert cell.title == title
