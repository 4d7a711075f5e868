"""Whole rehearsed studies: every link of every claim leads somewhere, and claims keep their strength."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Judgement
from lyewitness.findings.audit.points import STRENGTHS
from lyewitness.findings.finding import find
from lyewitness.findings.records import Answer, Because, Claim, Findings
from lyewitness.findings.signs.weighing import SKIN, VOID
from lyewitness.peaks.measuring import measure
from lyewitness.rehearsal.records import Scenario
from lyewitness.rehearsal.scenario import small_scenario, three_kinds, with_columns, with_equal_groups
from lyewitness.rehearsal.writing import write_study
from lyewitness.study.folder import read_study
from lyewitness.study.records import Study
from lyewitness.traces.collecting import collect_traces


@dataclass(frozen=True, eq=False)
class Rehearsed:
    """A rehearsed study with what was found in it."""

    name: str
    study: Study
    judgement: Judgement
    findings: Findings


def several_questions() -> Scenario:
    """Return the small study with every question of the example."""
    return replace(small_scenario(), questions=three_kinds().questions)


SCENARIOS = {
    "small": small_scenario(),
    "one column a group": with_columns(small_scenario(), 1),
    "equal groups": with_equal_groups(small_scenario()),
    "several questions": several_questions(),
}


@pytest.fixture(scope="module", params=SCENARIOS, ids=str)
def rehearsed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Rehearsed:
    """Write a study folder, read it and go through the stages."""
    folder: Path = tmp_path_factory.mktemp("rehearsed") / "study"
    write_study(SCENARIOS[request.param], folder)
    reading = read_study(folder)
    assert reading.study is not None
    traces, problems = collect_traces(reading.study, lambda _: None)
    measurements = measure(reading.study, traces)
    judgement = judge(reading.study, measurements)
    found = find(reading.study, traces, measurements, judgement, (*reading.problems, *problems))
    return Rehearsed(request.param, reading.study, judgement, found)


def claims_of(answer: Answer) -> Iterator[Claim]:
    """Yield everything that an answer says as a claim."""
    yield from (*answer.claims, *answer.recommendations, *answer.next_experiments)
    if answer.expectation_verdict is not None:
        yield answer.expectation_verdict


def all_claims(findings: Findings) -> list[Claim]:
    """Return all claims of all answers."""
    return [claim for answer in findings.answers for claim in claims_of(answer)]


def targets(rehearsed: Rehearsed) -> set[tuple[str, str]]:
    """Return (kind, target) of everything that can be linked to."""
    study, judgement, found = rehearsed.study, rehearsed.judgement, rehearsed.findings
    declines = [one.series for one in judgement.declines]
    limited = [one.series for one in judgement.declines if one.limit is not None]
    return {
        ("figure", "lives"),
        *(("column", column.id) for column in study.columns),
        *(("group", group) for group in study.groups),
        *(("injection", injection.id) for injection in study.injections),
        *(("decline", f"{s.column}/{s.marker}/{s.metric}") for s in declines),
        *(("figure", f"decline-{s.marker}-{s.metric}") for s in limited),
        *(("comparison", f"{c.group_a}/{c.group_b}/{c.marker}/{c.metric}") for c in judgement.comparisons),
        *(("check", check.id) for check in found.checks),
        *(("sign", f"{sign.column}/{sign.mechanism}") for sign in found.signs),
        *(("sign", sign.column) for sign in found.signs),
        *(("claim", claim.id) for claim in all_claims(found)),
        *(("caution", caution.id) for caution in found.cautions),
        *(("image", image.id) for image in study.images),
        *(("chemistry", fact.id) for fact in found.chemistry),
    }


def test_every_because_leads_somewhere(rehearsed: Rehearsed) -> None:
    """Every link of every claim has its target in the report, and a label."""
    known = targets(rehearsed)
    links: list[Because] = [link for claim in all_claims(rehearsed.findings) for link in claim.because]
    assert links
    assert [link for link in links if (link.kind, link.target) not in known] == []
    assert all(link.label.strip() for link in links)


def test_every_claim_rests_on_something(rehearsed: Rehearsed) -> None:
    """No claim stands without a link, and ids are unique in the report."""
    claims = all_claims(rehearsed.findings)
    assert [claim.id for claim in claims if not claim.because] == []
    assert len({claim.id for claim in claims}) == len(claims)


def test_recommendations_go_no_further_than_their_claims(rehearsed: Rehearsed) -> None:
    """A recommendation that rests on claims is no stronger than the strongest of them."""
    by_id = {claim.id: claim for claim in all_claims(rehearsed.findings)}
    for answer in rehearsed.findings.answers:
        assert answer.recommendations
        for advice in answer.recommendations:
            behind = [by_id[link.target].strength for link in advice.because if link.kind == "claim"]
            scale = [STRENGTHS.index(strength) for strength in behind]
            assert not scale or STRENGTHS.index(advice.strength) <= max(scale), advice


def test_recommendations_bind_themselves_to_these_conditions(rehearsed: Rehearsed) -> None:
    """The first recommendation on columns names the conditions tested, once for all that follow."""
    for answer in rehearsed.findings.answers:
        said = [advice for advice in answer.recommendations if not advice.id.endswith("-mend")]
        assert 1 <= len(said) <= 3 + len(rehearsed.study.groups)
        assert "at these conditions (pH 11.0, 60" in said[0].text.lower().replace("ph ", "pH ")
        assert sum("at these conditions" in advice.text.lower() for advice in said) == 1


def test_each_question_has_its_answer(rehearsed: Rehearsed) -> None:
    """Answers come in the order of the questions, each about its own groups."""
    answers = rehearsed.findings.answers
    assert [answer.question for answer in answers] == list(rehearsed.study.questions)
    for answer in answers:
        for group in rehearsed.study.groups:
            if answer.question.groups and group not in answer.question.groups:
                assert f"the {group} columns" not in answer.short.lower()


def test_sentences_are_whole(rehearsed: Rehearsed) -> None:
    """Sentences begin large, end with one stop, double no blank or stop, and say 'significant' nowhere."""
    found = rehearsed.findings
    texts = [claim.text for claim in all_claims(found)] + [check.detail for check in found.checks]
    texts += [text for answer in found.answers for text in (answer.short, answer.how_sure)]
    texts += [reason for sign in found.signs for reason in sign.reasons] + list(found.missing)
    for text in texts:
        assert text[:1] == text[:1].upper(), text
        assert text.endswith((".", "!", "?")), text
        assert "  " not in text, text
        assert ".." not in text, text
        assert ": :" not in text, text
        assert "None" not in text.replace("None of", ""), text
        assert "nan" not in text.lower().split(), text
        assert "significant" not in text.lower(), text


def test_what_was_done_to_the_columns_is_what_the_signs_speak_for(rehearsed: Rehearsed) -> None:
    """Coated columns dissolve after a delay in the simulation: the signs name that, with its rival."""
    if rehearsed.name == "equal groups":
        pytest.skip("there every group behaves as the first")
    (claim,) = [
        claim
        for claim in rehearsed.findings.answers[0].claims
        if "-signs-coated" in claim.id and SKIN in claim.text.lower()
    ]
    assert claim.strength == "indicated"
    assert VOID in claim.text.lower()
