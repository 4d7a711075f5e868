"""Groups whose names differ in signs alone stay apart, in every part of a report."""

import re
from dataclasses import replace

import pytest

from lyewitness import pipeline
from lyewitness.decline.judging import judge
from lyewitness.document.themes import load_theme
from lyewitness.figures.drawing import draw_figures
from lyewitness.figures.style import look_from
from lyewitness.findings.finding import find
from lyewitness.findings.records import Report
from lyewitness.store import store_of_user
from lyewitness.words.names import repeated
from tests.findings.making import lives_by_column, measured, study_of, traces_of

NAMES = {"P": "Type α", "Q": "Type β", "R": "C18 (A)", "S": "C18-A"}
LIVES = {"P": (30.0, 32.0), "Q": (60.0, 63.0), "R": (30.0, 31.0), "S": (61.0, 64.0)}


@pytest.fixture(scope="module")
def report() -> Report:
    """Return the report of a study with such groups."""
    plain = study_of(LIVES)
    study = replace(plain, columns=tuple(replace(one, group=NAMES[one.group]) for one in plain.columns))
    measurements, traces = measured(study, lives_by_column(LIVES)), traces_of(study)
    judgement = judge(study, measurements)
    return Report(
        study, traces, measurements, judgement, find(study, traces, measurements, judgement, ()), ()
    )


def test_every_claim_has_an_id_of_its_own(report: Report) -> None:
    """One group's life never stands under the id of another's, and every link to a claim finds one."""
    (answer,) = report.findings.answers
    ids = [claim.id for claim in answer.all_claims]
    assert len(set(ids)) == len(ids)
    assert sum(one.startswith("q1-life-") for one in ids) == len(NAMES)
    linked = {link.target for claim in answer.all_claims for link in claim.because if link.kind == "claim"}
    assert linked <= set(ids)


def test_every_id_on_a_page_is_its_own(report: Report) -> None:
    """No page has one id twice, and every link within the report finds its place."""
    rendered = pipeline.render(report, load_theme("daylight"), store=store_of_user())
    for path, content in rendered.files.items():
        if path.endswith(".html"):
            ids = re.findall(r'\sid="([^"]+)"', content.decode())
            assert repeated(ids) == (), path
    assert len({figure.id for figure in rendered.figures}) == len(rendered.figures)


@pytest.mark.usefixtures("_store_of_the_run")
def test_a_report_with_one_id_for_two_things_is_a_bug(
    report: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pipeline stops where two figures bear one id."""
    drawn = draw_figures(report, look_from(load_theme("daylight").look), store_of_user())
    monkeypatch.setattr(pipeline, "draw_figures", lambda *_: (*drawn, drawn[0]))
    with pytest.raises(ValueError, match="figures with one id"):
        pipeline.render(report, load_theme("daylight"))
