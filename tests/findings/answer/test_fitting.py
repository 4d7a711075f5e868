"""What an answer says fits the question, adds up, and is told once."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from lyewitness.decline.records import GroupLife, Life
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.answer.claims import _unclear_text
from lyewitness.findings.answer.costs import costs
from lyewitness.findings.answer.next_experiments import GAPS, Spread, _spread_words
from lyewitness.findings.answer.question_scope import Scope, scope_of
from lyewitness.findings.answer.ranking import Pairing
from lyewitness.findings.answer.recommending import _told_once
from lyewitness.findings.answer.replacing import NO_TIME, Replacement
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.outputs.letter import render_letter
from lyewitness.outputs.pages import site_pages
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Limit, Question
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import SPELLED
from tests.findings.making import evidence_of, found_in, judged
from tests.outputs.test_letter import report_of

CLOSE = {"hybrid": (55.0, 60.0, 66.0), "polymer": (54.0, 61.0, 65.0), "phenyl": (45.0, 58.0, 80.0)}
UNEQUAL = {"hybrid": (55.0,), "polymer": (54.0, 61.0), "phenyl": (45.0, 58.0, 80.0)}
Groups = Mapping[str, Sequence[float]]


@pytest.fixture(scope="module")
def close() -> Evidence:
    """Return three types that these data do not tell apart."""
    return evidence_of(CLOSE)


@pytest.fixture(scope="module")
def unequal() -> Evidence:
    """Return one column of a type, two of another, three of a third."""
    return evidence_of(UNEQUAL)


def answered(evidence: Evidence, text: str, prices: Mapping[str, float] | None = None, **of: Any) -> Answer:
    """Return the answer to one question, with these prices on the columns."""
    columns = tuple(replace(c, price=(prices or {}).get(c.group)) for c in evidence.study.columns)
    study = replace(evidence.study, columns=columns, questions=(Question("q1", text, **of),))
    return found_in(replace(evidence, study=study)).answers[0]


def plain(text: str) -> str:
    """Return text with ordinary blanks."""
    return text.replace("\u2009", " ")


def test_a_question_about_one_type_hears_of_no_pair(close: Evidence) -> None:
    """Whoever asks whether A lasts two days is not told that B and C cannot be told apart."""
    assert "told apart" not in answered(close, "Do the hybrid columns last two days?").how_sure
    assert "told apart" in answered(close, "Which lasts longest?").how_sure


def test_points_that_weaken_an_answer_are_as_many_as_are_named(unequal: Evidence) -> None:
    """Two checks of one name are one point to whoever counts what stands there."""
    said = answered(unequal, "Which lasts longest?").how_sure
    found = re.match(r"(\w+) points? weakens? .*?; the others?(?:: | concerns? )([^.]*)\.", said)
    assert found is not None, said
    assert SPELLED.index(found[1].lower()) == 1 + len(re.split(r", | and ", found[2])), said


def test_more_columns_from_other_lots_are_asked_for_once(unequal: Evidence) -> None:
    """Where more columns of a type are wanted from other lots, no second advice wants another lot of it."""
    answer = answered(unequal, "Which lasts longest?")
    said = [
        claim.text for claim in (*answer.recommendations, *answer.next_experiments) if "lot" in claim.text
    ]
    assert len(said) == 1, said


def test_what_the_data_say_has_a_subject_and_a_verb(close: Evidence) -> None:
    """An expectation that nobody can read is answered by sentences; pairs are joined by words."""
    verdict = answered(close, "Which lasts longest?", expectation="All will be well.").expectation_verdict
    assert verdict is not None
    assert "the data say: the hybrid columns lasted " in verdict.text
    other = "The hybrid columns last longest."
    verdict = answered(close, "Which lasts longest?", expectation=other).expectation_verdict
    assert verdict is not None
    assert verdict.text.endswith("not settled between hybrid and polymer, nor between hybrid and phenyl.")


def test_a_lacking_price_is_named_and_asked_for(close: Evidence) -> None:
    """A cost that wants a price says of whom, once, and the advice is to state it."""
    answer = answered(close, "Is the hybrid worth its price?", {"hybrid": 300.0})
    assert answer.short.startswith("We cannot tell: no price is stated for the polymer columns or the phenyl")
    assert answer.short.count("no price is stated") == 1
    (advice,) = [claim.text for claim in answer.recommendations if "tate the price" in claim.text]
    assert advice.startswith("State the price of the polymer columns and the phenyl columns: the cost of use")


def test_types_whose_prices_are_known_are_compared(close: Evidence) -> None:
    """`Which is cheapest?` compares those that can be, though the first type of the study has no price."""
    answer = answered(close, "Which is cheapest to run?", {"polymer": 300.0, "phenyl": 320.0})
    assert "a comparison needs" not in answer.short
    assert (
        "We cannot tell whether an hour of column use costs less on the polymer columns than on the phenyl"
        in answer.short
    )
    assert "in the currency of the prices (300 and 320 a column)" in plain(answer.short)
    (choose,) = [claim.text for claim in answer.recommendations if "do not choose" in claim.text]
    assert choose.endswith("costs least to use."), choose


def test_a_cost_rests_on_no_marker_alone() -> None:
    """Where another marker shows a column for much shorter, use may cost as much as that would make it."""
    held = evidence_of(
        {"hybrid": (700.0, 720.0, 710.0)},
        questions=(Question("q1", "Cost?", decides="plate_number_half_height of caffeine"),),
        limits=(Limit("plate_number_half_height", at_least_percent=80.0),),
    )
    rows = tuple(
        replace(row, plate_number_half_height=7000.0)
        if (row.column, row.marker) == ("H3", "aniline") and 15.0 < (row.exposure_h or 0.0) < 35.0
        else row
        for row in held.measurements.rows
    )
    columns = tuple(replace(column, price=100.0) for column in held.study.columns)
    doubted = judged(held, replace(held.study, columns=columns), measurements=Measurements(rows))
    (cost,) = costs(doubted, scope_of(doubted, doubted.study.questions[0])).values()
    assert cost.each.high == pytest.approx(100.0 / 10.0, rel=0.01)


def test_what_holds_of_several_types_is_told_once() -> None:
    """Four types whose lives are not known well enough get one sentence, with their columns."""
    scope = Scope(Question("q1", "Which?"), ("A", "B"), ("caffeine", "plate_number_half_height"), None)
    found = [Replacement(group, (), None, "", (column,)) for group, column in (("A", "K1"), ("B", "K4"))]
    (one,) = _told_once(scope, found)
    assert one.words == (
        "we can give no time for replacing the A columns or the B columns: the lives of K1 and K4 by the "
        "plate number (half height) of caffeine are not known well enough"
    )


def test_nothing_is_told_to_have_fallen_that_is_not_known_to_have() -> None:
    """Of columns none of which surely passed a limit no life is told `before` it was passed."""
    limit = Limit("plate_number_half_height", at_least_percent=80.0)
    life = Life("unclear", Estimate(None, 54.0))
    group = GroupLife("A", "caffeine", limit.metric, limit, ("K1", "K2"), ("unclear", "not reached"), life)
    said = plain(_unclear_text(group, "the plate number fell"))
    assert said.startswith(
        "the A columns lasted at least 54 h without the plate number (half height) of caff"
    )
    assert "surely falling below 80 % of its reference" in said


def test_an_interval_far_beyond_all_that_was_seen_is_explained() -> None:
    """Two lives give a typical one with a wide interval: why it reaches beyond both stands beside it."""
    claims = found_in(evidence_of({"hybrid": (40.0, 60.0)})).answers[0].claims
    (life,) = [claim.text for claim in claims if "-life-" in claim.id]
    assert "both columns tested failed between" in life
    assert "which says little of others" in life
    claims = found_in(evidence_of({"hybrid": (60.0, 61.0, 59.0, 60.5)})).answers[0].claims
    (life,) = [claim.text for claim in claims if "-life-" in claim.id]
    assert "The interval is of the type" not in life


def test_what_weakens_the_word_on_others_weakens_no_answer_on_one() -> None:
    """Whoever asks how long one type lasts is not told that another has but one column."""
    evidence = evidence_of({"hybrid": (60.0, 61.0, 59.0), "silica": (20.0,)})
    answer = answered(evidence, "How long do the hybrid columns last?")
    said = [answer.how_sure, *(c.text for c in (*answer.recommendations, *answer.next_experiments))]
    assert not [text for text in said if "only one silica column" in text or "more silica" in text], said


def test_a_letter_tells_no_sentence_twice(daylight: Theme) -> None:
    """What is the answer itself is not repeated as an advice in the same letter."""
    asked = (Question("q1", "How often must we change the hybrid columns?", run_time_min=6.0),)
    evidence = evidence_of({"hybrid": (900.0, 950.0, 880.0)}, questions=asked)
    report = report_of(evidence)
    _, text = render_letter(document_of(report, (), daylight), report.findings.answers[0])
    said = " ".join(text.split())
    assert said.count("beyond that nothing is known of them") == 1, said


def test_who_asks_after_a_metric_without_limit_is_not_sent_to_run_on() -> None:
    """A question about tailing, which has no limit here, gets no plan to find where plates fall."""
    answer = answered(evidence_of({"hybrid": (300.0, 310.0)}), "How fast does the base tail?")
    assert not [claim.text for claim in answer.next_experiments if "run" in claim.text.lower()]


def test_gaps_that_swell_the_spread_are_named() -> None:
    """Where most lives are known by a gap alone, the number of columns is told to rest on it."""
    pair = [Pairing("A", "B", "open", "not settled", None, (), ())]
    evidence = evidence_of({"hybrid": (60.0, 61.0)})
    assert GAPS not in _spread_words(evidence, pair, Spread(0.3, 4, at_least=False))
    assert "Most of these lives" in _spread_words(
        evidence, pair, Spread(0.3, 4, at_least=False, by_gaps=True)
    )


def test_advice_and_plans_speak_of_the_types_that_are_compared() -> None:
    """Whoever asks of two types is not told to choose among three, nor to run a third one on."""
    steady = {"hybrid": (900.0, 950.0, 880.0), "polymer": (880.0, 900.0, 940.0), "silica": (150.0, 160.0)}
    answer = answered(evidence_of(steady), "Do the hybrid columns outlast the polymer ones?")
    said = [claim.text for claim in (*answer.recommendations, *answer.next_experiments)]
    assert said
    assert not [text for text in said if "silica" in text], said


def test_all_pairs_of_three_types_are_one_word(close: Evidence) -> None:
    """Where no pair of three is settled, the answer says which lasts longest is open, not pair by pair."""
    short = answered(close, "Which lasts longest?").short
    assert short.startswith("We cannot tell which lasts longest of hybrid, polymer and phenyl."), short


def test_one_reason_for_several_types_is_one_sentence() -> None:
    """No time for replacing two types, for the same reason: both are named in one sentence."""
    scope = Scope(Question("q1", "Which?"), ("A", "B", "C"), ("caffeine", "symmetry_factor"), None)
    reason = "the reference reaches into the exposure"
    found = [Replacement(g, (), None, f"{NO_TIME} the {g} columns: {reason}") for g in ("A", "B")]
    (one,) = _told_once(scope, found)
    assert one.words == f"{NO_TIME} the A columns or the B columns: {reason}"


def test_what_is_found_of_a_page_has_the_words_of_its_links(daylight: Theme) -> None:
    """The words by which a page is found leave no hole where a link stood; a life is told after an hour."""
    evidence = evidence_of({"hybrid": (60.0, 64.0), "silica": (20.0, 22.0)})
    edition = document_of(report_of(evidence), (), daylight)
    (index,) = [page.text for page in site_pages(edition) if page.path.startswith("search-index")]
    assert "The column belongs to hybrid." in index
    assert "belongs to ." not in index
    assert ", at between" not in index
    assert re.search(r"First to fail: [^,]*, (after|between) ", index)
