"""Types that fail by different limits are ranked by whichever a column passes first."""

import re
from collections.abc import Mapping
from dataclasses import replace

import pytest

from lyewitness.findings.answer.question_scope import by_first_limits, scope_of
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer, Claim
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Limit, Question
from lyewitness.words.metrics import ANY_LIMIT
from tests.findings.making import column, evidence_of, found_in, judged

K = "retention_factor"
PLATES = "plate_number_half_height"
LIMITS = (
    Limit(PLATES, at_least_percent=80.0, markers=("caffeine",)),
    Limit(K, at_least_percent=90.0, markers=("aniline",)),
)
GROUPS: Mapping[str, tuple[float, ...]] = {
    "coated": (900.0, 950.0, 1000.0),
    "oxide": (980.0, 990.0, 930.0),
    "silica": (62.0, 55.0, 66.0, 59.0),
}
# Retention of these falls past 90 % after 63 to 72 h; their plates hold.
COURSES = {("C1", "aniline", K): -0.14, ("C2", "aniline", K): -0.16, ("C3", "aniline", K): -0.15}
LONGEST = Question("q1", "Which of the three types lasts longest?", expectation="Oxide lasts longest.")
FIVE = Question("five", "Will the coated type last five days?", groups=("coated",), span_h=120.0)


def texts_of(claims: tuple[Claim, ...]) -> str:
    """Return the texts of claims with ordinary blanks."""
    return " ".join(claim.text for claim in claims).replace("\u2009", " ")


@pytest.fixture(scope="module")
def torn() -> Evidence:
    """Return oxide that passes no limit, coated columns that lose retention, silica that loses plates."""
    return evidence_of(GROUPS, courses=COURSES, limits=LIMITS, questions=(LONGEST, FIVE))


@pytest.fixture(scope="module")
def answers(torn: Evidence) -> tuple[Answer, ...]:
    """Return the answers to both questions."""
    return found_in(torn).answers


def test_the_type_that_passed_no_limit_lasts_longest(answers: tuple[Answer, ...]) -> None:
    """By plates alone coated columns seemed to last as long; by whichever limit comes first they do not."""
    short = answers[0].short.replace("\u2009", " ")
    assert short.startswith("The oxide columns last longest at these conditions; we cannot tell whether ")
    assert "No oxide column passed a limit in 100 h; all three coated columns did (63, 67 and 72 h" in short
    assert "all four silica columns did (56, 59, 62 and 66 h by the plate number" in short
    verdict = answers[0].expectation_verdict
    assert verdict is not None
    assert verdict.text.startswith("The data bear the expectation out")


def test_what_was_recorded_for_less_than_the_test_is_named_with_its_hours(torn: Evidence) -> None:
    """Hours without a passed limit that end before the test say which record ended there."""
    rows = tuple(
        replace(row, retention_factor=None)
        if row.column.startswith("O") and row.marker == "aniline" and (row.exposure_h or 0.0) > 85.0
        else row
        for row in torn.measurements.rows
    )
    (answer, *_) = found_in(judged(torn, measurements=Measurements(rows))).answers
    short = answer.short.replace("\u2009", " ")
    told = "passed a limit in 80 h (the retention factor of aniline was recorded no longer)"
    assert f"No oxide column {told}" in short


def test_what_a_single_metric_tells_is_told_as_such(answers: tuple[Answer, ...]) -> None:
    """The order by plates stays among the reasons, under its own name, and is no order of the pair."""
    told = texts_of(answers[0].claims)
    assert (
        "By the plate number (half height) of caffeine alone, the coated columns seem to last longer" in told
    )
    pair = next(claim for claim in answers[0].claims if claim.id == "q1-pair-coated-silica")
    assert pair.strength == "not settled"


def test_the_correction_counts_each_pair_once(torn: Evidence) -> None:
    """By whichever limit comes first three groups make three comparisons, however many limits there are."""
    evidence, scope = by_first_limits(torn, scope_of(torn, LONGEST))
    found = [one for one in evidence.judgement.comparisons if one.metric == ANY_LIMIT]
    assert scope.by_any
    assert [one.corrected_over for one in found] == [3, 3, 3]
    assert evidence.judgement.comparisons[: len(torn.judgement.comparisons)] == torn.judgement.comparisons


def test_a_column_by_any_limit_is_bounded_by_all(torn: Evidence) -> None:
    """Its life lies between the least that any limit was kept for and the earliest that one was passed."""
    evidence, _ = by_first_limits(torn, scope_of(torn, LONGEST))
    for number in (1, 2, 3):
        first = evidence.decline(f"C{number}", "", ANY_LIMIT)
        assert first is not None
        own = [d for d in torn.judgement.declines if d.series.column == f"C{number}" and d.limit is not None]
        assert first.life.state == "reached"
        assert first.life.hours.low == min(d.life.hours.low or 0.0 for d in own)
        assert first.life.hours.high == min(d.life.hours.high for d in own if d.life.hours.high)


def test_failed_columns_are_not_run_on(answers: tuple[Answer, ...]) -> None:
    """Where all failed before the span that is asked about, the table says when to replace them."""
    (coated,) = answers[1].advice
    assert answers[1].short.startswith("No: all three coated columns failed before 120")
    assert coated.do == "replace in time"
    assert coated.replace_after[:2] == "53"
    assert coated.tested == "three, all failed"
    assert "replace the coated columns after 53 h at the latest" in texts_of(answers[1].recommendations)


def test_no_advice_says_that_none_failed_by_one_metric(answers: tuple[Answer, ...]) -> None:
    """In the table each group stands by all limits that the question is about."""
    advice = {one.group: one for one in answers[0].advice}
    assert advice["coated"].replace_after[:2] == "53"
    assert advice["oxide"].do == "take"
    assert advice["coated"].do == "prefer oxide"


def test_what_is_to_be_watched_differs_by_type(answers: tuple[Answer, ...]) -> None:
    """Each type is watched by what ended its columns."""
    told = texts_of(answers[0].recommendations)
    assert (
        "on the coated columns, the retention factor of aniline; on the silica columns, the plate number"
        in told
    )


def test_one_metric_that_ends_all_columns_decides_as_before() -> None:
    """Nothing is told of any limit where no column failed by another first."""
    plain = evidence_of({"hybrid": (60.0, 64.0, 57.0), "silica": (30.0, 33.0, 31.0)}, limits=LIMITS)
    scope = scope_of(plain, plain.study.questions[0])
    assert by_first_limits(plain, scope) == (plain, scope)


def test_what_a_study_says_decides_goes_before(torn: Evidence) -> None:
    """A stated metric decides, whatever ended the columns."""
    stated = replace(LONGEST, decides=f"{PLATES} of caffeine")
    study = replace(torn.study, questions=(stated,))
    evidence = replace(torn, study=study)
    assert not by_first_limits(evidence, scope_of(evidence, stated))[1].by_any


def test_dead_columns_are_preferred_by_the_stated_limit_alone() -> None:
    """Where the limit that a study states would choose a type whose columns another ended, it says so."""
    stated = replace(LONGEST, decides=f"{PLATES} of caffeine")
    groups = {"coated": (900.0, 950.0, 1000.0), "silica": (62.0, 55.0, 66.0, 59.0)}
    (answer,) = found_in(evidence_of(groups, courses=COURSES, limits=LIMITS, questions=(stated,))).answers
    (coated,) = (one for one in answer.advice if one.group == "coated")
    assert coated.do.startswith("by this limit alone, ")
    assert "by the plate number (half height) of caffeine alone, " in texts_of(answer.recommendations)


def test_every_type_is_watched_by_what_ended_it_though_one_limit_is_stated(torn: Evidence) -> None:
    """Silica fails by the plates that decide, coated columns by retention: each is told with its own."""
    stated = replace(LONGEST, decides=f"{PLATES} of caffeine")
    study = replace(torn.study, questions=(stated,))
    told = texts_of(found_in(replace(torn, study=study)).answers[0].recommendations)
    assert (
        "on the coated columns, the retention factor of aniline; on the silica columns, the plate number"
        in told
    )


def test_no_stated_limit_lets_a_column_be_used_beyond_what_ended_another(torn: Evidence) -> None:
    """Plates of coated columns held to the end, retention ended them: they are replaced before that."""
    stated = replace(LONGEST, decides=f"{PLATES} of caffeine")
    study = replace(torn.study, questions=(stated,))
    advice = {one.group: one for one in found_in(replace(torn, study=study)).answers[0].advice}
    assert advice["coated"].replace_after[:2] == "53"
    assert advice["coated"].tested == "three, all failed by another limit"


def test_a_column_that_is_not_compared_counts_among_those_tested(torn: Evidence) -> None:
    """One that ran warmer by plan is left out of the lives, and its failure is told all the same."""
    columns = tuple(replace(one, temperature_C=58.0) if one.id == "C2" else one for one in torn.study.columns)
    (answer, *_) = found_in(judged(torn, replace(torn.study, columns=columns))).answers
    (coated,) = (one for one in answer.advice if one.group == "coated")
    assert coated.tested == "three, two compared; all failed"


def test_a_lone_group_that_failed_by_another_limit_is_not_run_on(torn: Evidence) -> None:
    """Where a stated limit decides, the table does not say that none has failed."""
    stated = Question(
        "q1", "How long does the coated type last?", groups=("coated",), decides=f"{PLATES} of caffeine"
    )
    study = replace(torn.study, questions=(stated,))
    (answer,) = found_in(replace(torn, study=study)).answers
    assert "none has failed" not in answer.advice[0].do


def test_an_open_price_is_no_reason_to_prefer_what_lasts_longer() -> None:
    """Beside `we cannot tell which costs less` the longer life is told as what it is."""
    question = Question(
        "q1", "Is the oxide type worth four times the price of silica?", decides=f"{PLATES} of caffeine"
    )
    groups = {"oxide": (980.0, 990.0, 930.0), "silica": (62.0, 55.0, 66.0, 59.0)}
    columns = tuple(
        column(f"{group[0].upper()}{number}", group, price=1200.0 if group == "oxide" else 300.0)
        for group, lives in groups.items()
        for number in range(1, len(lives) + 1)
    )
    (answer,) = found_in(evidence_of(groups, limits=LIMITS, questions=(question,), columns=columns)).answers
    told = answer.recommendations[0].text
    assert (
        "cannot tell which of oxide and silica costs less to use; the oxide columns outlast the silica"
        in told
    )
    assert "but whether that is worth their price these data do not tell" in told
    assert [one.do for one in answer.advice] == ["by life alone, take", "by life alone, avoid"]


@pytest.mark.parametrize("oxide", [0.02, 0.9])
def test_whether_a_type_slows_the_tailing_gets_yes_or_no(oxide: float) -> None:
    """Two rates alone leave the reader to judge; where they tell, yes or no goes before them."""
    symmetry = "symmetry_factor"
    limits = (*LIMITS, Limit(symmetry, at_most=4.0, markers=("aniline",)))
    courses = {(f"O{n}", "aniline", symmetry): oxide * (1 + 0.05 * n) for n in (1, 2, 3)}
    courses |= {(f"S{n}", "aniline", symmetry): 0.3 * (1 + 0.05 * n) for n in (1, 2, 3)}
    groups = {"oxide": (980.0, 990.0, 930.0), "silica": (960.0, 970.0, 990.0)}
    question = Question("q1", "Does the oxide type slow the tailing of our base against silica?")
    (answer,) = found_in(evidence_of(groups, courses=courses, limits=limits, questions=(question,))).answers
    short = answer.short.replace("\u2009", " ")
    assert short.startswith("Yes" if oxide < 0.3 else "No")
    assert "the symmetry factor of aniline rises by" in short


def test_lives_by_one_limit_are_told_with_its_name(torn: Evidence) -> None:
    """What the data say of an expectation that cannot be read is no life where another limit ended it."""
    stated = replace(LONGEST, expectation="All will be well.", decides=f"{PLATES} of caffeine")
    study = replace(torn.study, questions=(stated,))
    (answer,) = found_in(replace(torn, study=study)).answers
    verdict = answer.expectation_verdict
    assert verdict is not None
    told = verdict.text.replace("\u2009", " ")
    assert "by the plate number (half height) of caffeine alone, the coated columns lasted at least" in told
    assert "all three coated columns failed by another limit (63, 67 and 72 h by the retention" in told


def test_no_treatment_is_told_to_have_been_outlasted_by_dead_columns(torn: Evidence) -> None:
    """Coated columns that were stressed harder have not outlasted silica by the plates that they kept."""
    hotter = tuple(
        replace(one, temperature_C=51.5) if one.column.startswith("C") else one
        for one in torn.study.conditions
    )
    study = replace(torn.study, conditions=hotter)
    checks = found_in(replace(torn, study=study)).checks
    assert not [one for one in checks if "coated was treated harder and outlasted silica" in one.detail]


@pytest.fixture(scope="module")
def kept(torn: Evidence) -> Answer:
    """Return the answer where retention, which silica keeps until its plates end it, is to decide."""
    stated = replace(LONGEST, decides=f"{K} of aniline")
    return found_in(replace(torn, study=replace(torn.study, questions=(stated,)))).answers[0]


def test_what_the_stated_metric_leaves_open_is_told_by_whichever_limit_comes_first(kept: Answer) -> None:
    """The metric that decides answers first; what the lives of use tell stands in the next breath."""
    short = kept.short.replace("\u2009", " ")
    first = short.partition(". ")[0]
    assert first.startswith("By the retention factor of aniline alone, the coated columns seem to fail")
    assert "we cannot tell whether oxide or silica lasts longer" in first
    assert first.endswith(
        "; by whichever limit is passed first, the oxide columns seem to outlast the silica columns"
    )
    assert "all four silica columns did (56, 59, 62 and 66 h by the plate number" in short
    assert "failed by another limit" not in short


def test_advice_follows_what_columns_were_of_use_for(kept: Answer) -> None:
    """Nobody is told not to choose between what was told apart, and the word is never more than indicated."""
    assert "for now prefer the oxide columns" in texts_of(kept.recommendations)
    assert kept.recommendations[0].strength == "indicated"
    told = {one.id: one.strength for one in kept.claims}
    assert told["q1-pair-oxide-silica"] == "not settled"
    assert told["q1-any-oxide-silica"] == "indicated"
    assert next(one for one in kept.advice if one.group == "oxide").do == "for now prefer"


def test_an_expectation_of_an_order_is_held_against_lives_of_use(kept: Answer) -> None:
    """What is told of a pair in the answer is not open in the verdict on what was expected."""
    verdict = kept.expectation_verdict
    assert verdict is not None
    assert verdict.strength == "indicated"
    assert (
        "the oxide columns outlast the coated columns; by whichever limit is passed first, " in verdict.text
    )
    assert verdict.text.endswith("the oxide columns outlast the silica columns.")


@pytest.mark.parametrize("decides", ["", f"{K} of aniline", f"{PLATES} of caffeine"])
def test_no_metric_that_is_to_decide_turns_the_advice_round(torn: Evidence, decides: str) -> None:
    """Letters from the same data advise the same, whatever they are asked to go by."""
    study = replace(torn.study, questions=(replace(LONGEST, decides=decides),))
    (answer,) = found_in(replace(torn, study=study)).answers
    told = texts_of(answer.recommendations)
    assert "do not choose" not in told
    assert re.search(r"(for now prefer|take) the oxide columns", told)
    assert {one.group: one.do for one in answer.advice}["silica"] != "these data do not choose"


def test_a_price_is_not_shared_out_over_the_hours_until_a_base_tails() -> None:
    """Whoever also asks whether a type slows the tailing pays for columns that other limits end."""
    text = "Is the oxide type worth four times the price of silica, and does it slow the tailing of our base?"
    question = Question("q1", text, markers=("aniline",))
    symmetry = "symmetry_factor"
    limits = (*LIMITS, Limit(symmetry, at_most=4.0, markers=("aniline",)))
    courses = {(f"S{n}", "aniline", K): -0.13 - 0.01 * n for n in (1, 2, 3, 4)}
    groups = {"oxide": (980.0, 990.0, 930.0), "silica": (900.0, 950.0, 890.0, 910.0)}
    columns = tuple(
        column(f"{group[0].upper()}{number}", group, price=1200.0 if group == "oxide" else 300.0)
        for group, lives in groups.items()
        for number in range(1, len(lives) + 1)
    )
    evidence = evidence_of(groups, courses=courses, limits=limits, questions=(question,), columns=columns)
    scope = scope_of(evidence, question)
    assert not scope.named
    assert scope.deciding == ("aniline", K)
    (answer,) = found_in(evidence).answers
    assert "whether that is worth their price these data do not tell" in answer.recommendations[0].text
    assert "do not choose" not in texts_of(answer.recommendations)


def test_ids_of_questions_may_hold_hyphens(torn: Evidence) -> None:
    """Claims by any limit and by the one that would decide keep ids of their own."""
    named = replace(LONGEST, id="which-one")
    for answer in found_in(replace(torn, study=replace(torn.study, questions=(named,)))).answers:
        ids = [claim.id for claim in answer.all_claims]
        assert len(ids) == len({*ids})
