"""What is said of a design of two factors, one of which does less at one level of the other."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from lyewitness.findings.answer.reading_questions import parts_of
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.study.records import Factor, Limit, Question
from tests.findings.making import evidence_of, found_in, judged

LIVES: Mapping[str, Sequence[float]] = {
    "Alpha bare": (38.0, 40.0, 39.0), "Beta bare": (21.0, 22.0, 20.5),
    "With alpha": (77.0, 80.0, 74.5), "Xtra beta": (27.0, 28.0, 26.0),
}  # fmt: skip
"""The guard multiplies life by 1.97 on alpha and by 1.28 on beta; alpha lasts 1.8 and 2.9 times as long."""
FACTORS = (
    Factor("bonding", {"alpha": ("Alpha bare", "With alpha"), "beta": ("Beta bare", "Xtra beta")}),
    Factor("guard column", {"without": ("Alpha bare", "Beta bare"), "with": ("With alpha", "Xtra beta")}),
)


def answered(evidence: Evidence, text: str, **changes: Any) -> Answer:
    """Return the answer to that question alone."""
    asked = replace(evidence.study.questions[0], text=text, **changes)
    study = replace(evidence.study, questions=(asked,))
    return found_in(judged(evidence, study)).answers[0]


def plain(text: str) -> str:
    """Return text with ordinary blanks."""
    return text.replace("\u2009", " ")


@pytest.fixture(scope="module")
def crossed() -> Evidence:
    """Return two bondings, each with and without a guard that does more on one of them."""
    evidence = evidence_of(LIVES)
    return judged(evidence, replace(evidence.study, factors=FACTORS))


@pytest.fixture(scope="module")
def weakened(crossed: Evidence) -> Evidence:
    """Return the same with the columns of each group from one lot, which weakens what is said of types."""
    columns = tuple(replace(c, lot=c.group) for c in crossed.study.columns)
    return judged(crossed, replace(crossed.study, columns=columns))


def test_a_reason_that_weakens_several_factors_is_told_once(weakened: Evidence) -> None:
    """Why it says ‘seems’ stands in full with the first factor; with the others it is referred to."""
    claims = answered(weakened, "What do the bonding and the guard column do?").claims
    told = [plain(one.text) for one in claims if "-factor-" in one.id]
    assert len(told) == 2
    assert "We say ‘seems’ for this reason: " in told[0], told
    assert told[1].endswith("We say ‘seems’ for the same reason as of the bonding."), told


WHOLE = "Which of our two bondings should the method use, and does a guard silica column lengthen its life?"


def test_each_part_of_a_question_is_answered_in_its_own_way(crossed: Evidence) -> None:
    """`Which bonding` gets the one that lasts longer, `does a guard` yes; neither is told a second time."""
    short = plain(answered(crossed, WHOLE).short)
    assert short.startswith("Alpha: life on alpha is 2.3 ("), short
    assert "Yes: the guard column multiplies life by 1.58 (" in short
    assert short.lower().count("the guard column multiplies") == 1
    assert short.lower().count("life on alpha is") == 1


def test_what_two_factors_do_together_is_told_with_each(crossed: Evidence) -> None:
    """That a guard does less on one bonding is as much a fact of the guard as of the bonding."""
    short = plain(answered(crossed, WHOLE).short)
    assert ", but not alike with and without the guard column: 1.85 (" in short
    assert ", but not alike on both bondings: by 2.0 (1.8 to 2.2) on alpha and 1.27 (1.18 to 1.37)" in short


def test_a_rate_that_is_asked_of_a_factor_is_answered_by_its_effect_on_the_rate(crossed: Evidence) -> None:
    """`Does it slow the loss?` hears of the rate first, and `halves the rate` is held against that."""
    answer = answered(
        crossed, "Does the guard column slow the loss of plates?", expectation="It halves the rate."
    )
    short = plain(answer.short)
    assert short.startswith("Yes: the guard column multiplies the pace at which the plate number"), short
    assert "by 0.51 (0.48 to 0.55) on alpha and 0.79 (" in short
    assert "falls by 0.6 % (" in short
    assert "Typical times" not in short
    verdict = answer.expectation_verdict
    assert verdict is not None
    assert verdict.strength == "indicated"
    assert plain(verdict.text).startswith("The data bear the expectation out in part: the guard column")
    assert "declines by 0.51 (0.48 to 0.55) on alpha, but by 0.79 (" in plain(verdict.text)
    assert "where 0.5 was expected" in verdict.text
    assert "-pace-" in verdict.because[0].target


@pytest.mark.parametrize(
    ("text", "start", "expectation", "strength"),
    [
        (
            "Do the plates fall earlier on the beta bonding than on the alpha?",
            "Yes: the plate number (half height) of caffeine falls below 80 % of its reference earlier on "
            "beta than on alpha, after 0.43 (0.41 to 0.46) times as long, but not alike with and without",
            "Beta goes earlier.",
            "shown",
        ),
        (
            "Do the plates fall later on beta than on alpha?",
            "No: the plate number (half height) of caffeine falls below 80 % of its reference earlier on",
            "The alpha goes earlier.",
            "contradicted",
        ),
        (
            "Is the beta bonding more stable than the alpha?",
            "No: life on alpha is 2.3 (",
            "Alpha outlasts beta.",
            "shown",
        ),
    ],
)
def test_levels_of_a_factor_are_compared_where_a_question_compares_them(
    crossed: Evidence, text: str, start: str, expectation: str, strength: str
) -> None:
    """`Earlier on A than on B`, of two levels, gets yes or no; so does what was expected of them."""
    answer = answered(crossed, text, expectation=expectation)
    assert plain(answer.short).startswith(start), answer.short
    verdict = answer.expectation_verdict
    assert verdict is not None
    assert verdict.strength == strength, verdict.text
    assert "-factor-bonding" in verdict.because[0].target


def test_an_expectation_that_holds_at_one_level_alone_is_borne_out_in_part(
    crossed: Evidence, weakened: Evidence
) -> None:
    """Twice the life is true on alpha and not on beta: both are told, and the word is no weaker than that."""
    for evidence, does in ((crossed, "multiplies"), (weakened, "seems to multiply")):
        answer = answered(evidence, "Does the guard column help?", expectation="It doubles the life.")
        verdict = answer.expectation_verdict
        assert verdict is not None
        assert verdict.strength == "indicated"
        assert plain(verdict.text) == (
            f"The data bear the expectation out in part: the guard column {does} life by 2.0 (1.8 to 2.2) "
            "on alpha, but by 1.27 (1.18 to 1.37) on beta, where 2 was expected; 1.58 (1.50 to 1.66) "
            "on the whole."
        )


def test_what_the_data_lean_against_is_indicated(weakened: Evidence) -> None:
    """An expectation against which indicated effects speak is not called open beside them."""
    answer = answered(weakened, "Does the guard column help?", expectation="It triples the life.")
    verdict = answer.expectation_verdict
    assert verdict is not None
    assert verdict.text.startswith("The data lean against the expectation: the guard column seems to")
    assert verdict.strength == "indicated"


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (WHOLE, 2),
        ("Does a guard help, and does it pay?", 2),
        ("Which lasts longest?", 1),
    ],
)
def test_what_is_asked_one_after_the_other_is_read_apart(text: str, parts: int) -> None:
    """Each verb that asks begins a part of its own."""
    assert len(parts_of(text)) == parts


def test_two_answers_by_the_same_lives_order_the_groups_alike() -> None:
    """A pair has one corrected p value: a wide question beside a narrow one does not unsay its order."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine", "aniline")),
        Limit("retention_factor", at_least_percent=70.0, markers=("caffeine", "aniline")),
        Limit("symmetry_factor", at_most=3.0, markers=("caffeine", "aniline")),
    )
    groups = {
        "Alpha": (60.0, 64.0), "Beta": (44.0, 47.0), "Gamma": (33.0, 31.0), "Delta": (25.0, 23.5),
    }  # fmt: skip
    narrow = Question("two", "Which lasts longest?", markers=("caffeine",), metrics=(limits[0].metric,))
    questions = (Question("one", "Which lasts longest?"), narrow)
    evidence = evidence_of(groups, limits=limits, questions=questions)
    one, two = found_in(evidence).answers
    assert one.deciding == two.deciding
    assert [(line.group, line.do) for line in one.advice] == [(line.group, line.do) for line in two.advice]
    assert one.advice[0].do != "these data do not choose"


def test_stated_prices_are_told_beside_an_answer_that_does_not_ask_for_them() -> None:
    """One line says what an hour costs on each group; no word of it is advice, nor in the answer itself."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)})
    prices = {"hybrid": 600.0, "silica": 200.0}
    columns = tuple(replace(c, price=prices[c.group]) for c in evidence.study.columns)
    priced = replace(evidence, study=replace(evidence.study, columns=columns, currency="EUR"))
    (answer,) = found_in(priced).answers
    (claim,) = [one for one in answer.claims if "-cost-" in one.id]
    # By hand: 600 ÷ 60.3 h and 200 ÷ 25.3 h.
    assert plain(claim.text).startswith("An hour of column use costs 9.9 EUR ("), claim.text
    assert " on hybrid and 7.9" in plain(claim.text), claim.text
    assert "cost" not in " ".join((answer.short, *(one.text for one in answer.recommendations)))
    assert not [one for one in found_in(evidence).answers[0].claims if "-cost-" in one.id]
