"""What is said where the columns tested are not of what was asked, and of an expectation in few words."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from lyewitness.findings.answer.order_words import which
from lyewitness.findings.answer.question_scope import Scope, by_first_limits, scope_of
from lyewitness.findings.answer.reading_questions import in_full, read_clauses
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.study.factor_words import is_presence
from lyewitness.study.records import Factor, Limit, Question
from lyewitness.words.phrases import sentences_of
from tests.findings.making import column, evidence_of, found_in, judged

LIVES: Mapping[str, Sequence[float]] = {
    "hybrid": (52.0, 54.0, 79.0, 81.0), "core": (30.0, 31.0, 29.5, 46.0, 47.0), "polymer": (60.0, 62.0, 58.0),
}  # fmt: skip
"""The saturator, ahead of the last two columns of hybrid and core, multiplies life by 1.5."""
SATURATOR = Factor(
    "saturator column", {"none": ("H1", "H2", "C1", "C2", "C3"), "saturator": ("H3", "H4", "C4", "C5")}
)


def answered(evidence: Evidence, text: str, expectation: str = "", **changes: Any) -> Answer:
    """Return the answer to that question alone."""
    asked = replace(evidence.study.questions[0], text=text, expectation=expectation, **changes)
    return found_in(judged(evidence, replace(evidence.study, questions=(asked,)))).answers[0]


@pytest.fixture(scope="module")
def within() -> Evidence:
    """Return three types, on two of which a part ahead was varied between the columns."""
    evidence = evidence_of(LIVES)
    return judged(evidence, replace(evidence.study, factors=(SATURATOR,)))


def test_what_a_part_does_within_types_is_answered_first(within: Evidence) -> None:
    """Who asks what it does and what it is worth hears of it, and of no comparison of the types alone."""
    slowed = answered(
        within, "Does a saturator column ahead slow the loss, and is it worth its 140 EUR?"
    ).short
    assert "the saturator column" in slowed.partition(".")[0], slowed
    prolonged = answered(within, "Does a saturator column prolong life, and is it worth its 140 EUR?").short
    assert prolonged.startswith("Yes"), prolonged
    assert "the saturator column multiplies life by 1.5" in prolonged
    assert "on both types alike" in prolonged
    for text in (slowed, prolonged):
        assert "saturator against none" not in text
    sure = answered(within, "Does a saturator column prolong life?").how_sure
    assert "with and without" not in sure


def test_what_does_nothing_is_contradicted_by_what_the_answer_says_it_does(within: Evidence) -> None:
    """The deciding metric leaves its effect on the rate open, another one does not."""
    courses = {
        (column, "aniline", "retention_factor"): -0.10 if column in ("H3", "H4", "C4", "C5") else -0.15
        for column in ("H1", "H2", "H3", "H4", "C1", "C2", "C3", "C4", "C5")
    }
    limits = (*within.study.limits, Limit("retention_factor", at_least_percent=60.0, markers=("aniline",)))
    lives = {"hybrid": (50.0, 80.0, 55.0, 76.0), "core": (30.0, 45.0, 33.0, 28.0, 44.0)}
    evidence = evidence_of(lives, courses=courses, factors=(SATURATOR,), limits=limits)
    answer = answered(evidence, "Does a saturator column slow the loss?", "It does nothing.")
    verdict = answer.expectation_verdict
    assert answer.short.startswith("Yes"), answer.short
    assert verdict is not None
    assert verdict.text.startswith("The data contradict the expectation: the saturator column slows"), verdict


def test_lives_of_mixed_levels_are_told_as_that(within: Evidence) -> None:
    """A span is told level by level, no typical life stands beside it, and no time for replacing follows."""
    answer = answered(within, "Does the core type last 40 h?", groups=("core",))
    assert "three of three without the saturator column and none of two with" in answer.short.replace(
        "all three", "three of three"
    ), answer.short
    assert "typical core column" not in answer.short
    told = " ".join(claim.text for claim in answer.recommendations)
    assert "with and without the saturator column" in told
    assert "replace the core columns after" not in told


def test_a_column_watched_for_less_is_not_counted_with_those_that_held(within: Evidence) -> None:
    """C6 ran for 20 h of the 40 h asked about: it is named, and none of the levels is told with it."""
    lives = {**LIVES, "core": (30.0, 31.0, 29.5, 46.0, 47.0, 90.0)}
    evidence = evidence_of(lives)
    study = evidence.study
    factor = Factor("saturator column", {
        "none": ("H1", "H2", "C1", "C2", "C3", "C6"), "saturator": ("H3", "H4", "C4", "C5"),
    })  # fmt: skip
    shorter = tuple(one for one in study.injections if one.column != "C6" or (one.exposure_h or 0.0) <= 20)
    kept = {one.id for one in shorter}
    rows = tuple(row for row in evidence.measurements.rows if row.injection in kept)
    known = judged(
        evidence,
        replace(study, factors=(factor,), injections=shorter),
        measurements=replace(evidence.measurements, rows=rows),
    )
    text = answered(known, "Does the core type last 40 h?", groups=("core",)).short.replace("\u2009", " ")
    assert "three of six core columns failed before 40 h" in text
    assert "C6 was watched for 20 h only" in text
    assert (
        "Of the core columns watched that long, all three without the saturator column and none of two with "
        "the saturator column failed before 40 h."
    ) in text
    assert "watched" not in answered(within, "Does the core type last 40 h?", groups=("core",)).short


def test_types_of_mixed_levels_are_compared_and_weakened(within: Evidence) -> None:
    """Hybrid and core are a pair like others; what holds of both levels together is never shown."""
    answer = answered(within, "Which type lasts longest?")
    pairs = [claim for claim in answer.claims if "-pair-" in claim.id]
    assert any("hybrid" in claim.text and "core" in claim.text for claim in pairs), [c.text for c in pairs]
    assert all(claim.strength != "shown" for claim in pairs if "core" in claim.text or "hybrid" in claim.text)


def test_levels_that_say_that_a_part_is_there() -> None:
    """`None` and the part's own name do; of an additive there may be several."""
    assert is_presence("saturator column", ("saturator", "none"))
    assert is_presence("guard", ("with guard", "without guard"))
    assert not is_presence("additive", ("amine", "none"))
    assert not is_presence("bonding", ("C18", "phenyl"))


@pytest.mark.parametrize(
    ("question", "text", "kind", "group"),
    [
        ("Which of our column types should the method use?", "The coated silica, since it is sold for it.",
         "longest", "coated"),
        ("Which type loses its peak shape first?", "The core-shell one.", "shortest", "core"),
        ("Does the core-shell column last six days?", "Yes, we have always used it.", "holds", "core"),
        ("Which fails first?", "Probably hybrid.", "shortest", "hybrid"),
        ("Which should we use?", "Hybrid, hybrid is always better at high pH", "longest", "hybrid"),
        ("Will the core type last five days?", "should be fine, they always did", "holds", "core"),
        ("Will the core type last five days?", "Of course.", "holds", "core"),
    ],
)  # fmt: skip
def test_an_expectation_in_few_words_takes_the_verb_of_its_question(
    question: str, text: str, kind: str, group: str
) -> None:
    """Who answers with a name means what was asked."""
    groups = ["hybrid", "core", "coated"]
    (clause,) = read_clauses(in_full(text, question, groups), groups)
    assert clause.expected is not None
    assert (clause.expected.kind, clause.expected.groups) == (kind, (group,))


@pytest.mark.parametrize(
    "text",
    [
        "No.",
        "The hybrid or the coated one.",
        "I do not trust the core-shell one.",
        "Hybrid, unless the coated one is cheaper",
        "No problem with any of them",
    ],
)
def test_an_expectation_that_is_in_doubt_stays_unread(text: str) -> None:
    """Nothing is put into the mouth of who said something else."""
    groups = ["hybrid", "core", "coated"]
    clauses = read_clauses(in_full(text, "Which should we use?", groups), groups)
    assert all(clause.expected is None for clause in clauses), clauses


def test_other_conditions_than_tested_are_named(within: Evidence) -> None:
    """The columns ran at 50 °C and pH 11.3."""
    text = answered(within, "Does the core type last 40 h at our 45 °C and pH 10.5?", groups=("core",)).short
    plain = text.replace("\u2009", " ").replace("\xa0", " ")
    assert plain.startswith(
        "Not shown at your 45 °C and pH 10.5: at 50 °C and pH 11.3, which is harder on columns, three of five"
    )
    order = answered(within, "Which type lasts longest at our 45 °C and pH 2.5?").short
    plain = order.replace("\u2009", " ").replace("\xa0", " ")
    assert "You ask about 45 °C; we tested at 50 °C, which is harder on columns." in plain
    assert "You ask about pH 2.5; we tested at pH 11.3." in plain
    acid = answered(within, "Does the core type last 40 h at pH 2.5?", groups=("core",)).short
    assert (
        acid.replace("\u2009", " ")
        .replace("\xa0", " ")
        .startswith("Not shown at your pH 2.5: at pH 11.3, three of five core columns failed")
    )
    same = answered(within, "Does the core type last 40 h at 50 °C?", groups=("core",)).short
    assert "You ask about" not in same


@pytest.mark.parametrize(
    ("text", "end"), [("Which tails first?", "earliest"), ("Which keeps its shape?", "latest")]
)
def test_which_is_told_by_the_end_that_is_asked_for(text: str, end: str) -> None:
    """Who asks what is lost first hears of the earliest, and of which types."""
    limit = Limit("symmetry_factor", at_most=2.0)
    scope = Scope(Question("q1", text), ("A", "B", "C"), ("aniline", "symmetry_factor"), limit, named=True)
    told = which(scope, True, "A, B and C")
    assert told.startswith("on which of A, B and C aniline tails"), told
    assert told.endswith(end)


@pytest.mark.parametrize(
    ("text", "first", "verdict"),
    [
        # Tested at 50 °C: what fails there may hold at 40 °C, and surely fails at 60 °C.
        ("Does the core type last 40 h at our 40 °C?",
         "Not shown at your 40 °C: at 50 °C, which is harder on columns, three of five core columns failed",
         "The data lean against"),
        ("Does the core type last 40 h at our 60 °C?",
         "No: at 50 °C, which is milder on columns than your 60 °C, three of five core columns failed",
         "The data contradict"),
        ("Does the polymer type last 40 h at our 40 °C?",
         "Yes: at 50 °C, which is harder on columns than your 40 °C, the polymer columns last",
         "The data bear the expectation out"),
        ("Does the polymer type last 40 h at our 60 °C?",
         "Not shown at your 60 °C: at 50 °C, which is milder on columns, the polymer columns last",
         "We cannot tell whether the expectation holds"),
        ("Does the core type last 40 h at our 50 °C?", "No: three of five core columns failed",
         "The data contradict"),
    ],
)  # fmt: skip
def test_yes_and_no_are_of_the_conditions_that_are_asked_about(
    within: Evidence, text: str, first: str, verdict: str
) -> None:
    """What lasts harder conditions lasts milder ones; a failure under them is no `no` for these."""
    answer = answered(within, text, "Yes, every column does.")
    short = answer.short.replace("\u2009", " ").replace("\u00a0", " ")
    assert short.startswith(first), short
    assert "You ask about" not in short
    assert answer.expectation_verdict is not None
    assert answer.expectation_verdict.text.startswith(verdict), answer.expectation_verdict.text


def test_statement_and_conclusion_are_judged_each_by_what_it_is_about() -> None:
    """`It does not tail, so it is worth it`: tailing is told by its limit, worth by what use costs."""
    text = "Is the oxide type worth four times the price of silica, and does it slow the tailing of our base?"
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("symmetry_factor", at_most=2.0, markers=("aniline",)),
    )
    groups = {"oxide": (980.0, 990.0, 930.0), "silica": (52.0, 75.0, 66.0)}
    symmetry = "symmetry_factor"
    courses = {(f"O{n}", "aniline", symmetry): 0.02 * n for n in (1, 2, 3)}
    courses |= {(f"S{n}", "aniline", symmetry): 0.3 * n for n in (1, 2, 3)}
    prices = {"oxide": 1200.0, "silica": 300.0}
    columns = tuple(
        column(f"{group[0].upper()}{n}", group, price=prices[group]) for group in groups for n in (1, 2, 3)
    )
    evidence = evidence_of(groups, courses=courses, limits=limits, columns=columns)
    answer = answered(evidence, text, "It does not tail, so it is worth it")
    assert answer.expectation_verdict is not None
    told = answer.expectation_verdict.text.replace("\u2009", " ")
    assert told.startswith(
        "The data are in keeping with ‘It does not tail’: aniline tails past a symmetry factor of 2 on no "
        "oxide column in 100 h"
    ), told
    assert "We cannot tell whether ‘it is worth it’ holds: an hour of column use costs at most" in told
    first, second = sentences_of(answer.short)[:2]
    assert "costs less on the oxide columns" in first
    assert "the symmetry factor of aniline" in second or "aniline" in second, second
    assert "slowly" in second or second.startswith(("Yes", "No")), second


NEAR: Mapping[str, Sequence[float]] = {
    "hybrid": (48.0, 70.0, 79.0, 81.0), "core": (30.0, 31.0, 57.0, 60.0), "polymer": (25.0, 26.0),
}  # fmt: skip
CHOOSE = "Which of the three types should the method use, if one column is to live through 50 h?"


@pytest.fixture(scope="module")
def choice() -> Answer:
    """Return what to use for 50 h: most hybrid columns lasted it, half of core, none of polymer."""
    return answered(evidence_of(NEAR), CHOOSE, "The polymer type, since it is sold for it.")


def test_of_a_span_each_type_is_told_once_the_nearest_first(choice: Answer) -> None:
    """Who asks what to take reads how many columns of each type lasted it, that one too which most did of."""
    first, *others = sentences_of(choice.short.replace("\u2009", " "))
    assert first.startswith("None of the three is known to last 50 h"), first
    places = [first.index(f"{kind} columns") for kind in ("hybrid", "core", "polymer")]
    assert places == sorted(places), first
    assert "three of four hybrid columns lasted 50 h" in first
    assert "two of four core columns lasted 50 h, two failed before" in first
    assert "both polymer columns failed before" in first
    for kind in ("hybrid", "core", "polymer"):
        assert not [one for one in others if f"{kind} columns failed" in one], others
    assert any("at least" in one or "typical lives" in one.lower() or "Lives of" in one for one in others)


def test_what_most_columns_of_lasted_a_span_is_named_among_what_to_do(choice: Answer) -> None:
    """Nobody is told not to choose where some types surely failed and one came nearest."""
    told = choice.recommendations[0].text.replace("\u2009", " ")
    assert "for 50 h, do not rely on the core columns or the polymer columns" in told, told
    assert "the hybrid columns come nearest (three of four columns lasted it)" in told
    assert "do not choose" not in told
    done = {one.group: one.do for one in choice.advice}
    assert done["polymer"] == "do not rely on it for 50 h"
    assert done["hybrid"] == "comes nearest to 50 h"


def test_the_choice_for_a_span_is_held_against_that_span(choice: Answer) -> None:
    """Columns that failed before it contradict whoever would have taken them, however lives compare."""
    verdict = choice.expectation_verdict
    assert verdict is not None
    told = verdict.text.replace("\u2009", " ")
    assert told.startswith("The data contradict the expectation: the polymer columns lasted 26 h"), told


def test_what_varies_within_types_alone_leaves_them_to_whichever_limit_comes_first() -> None:
    """A part that both types saw makes no difference between them: each is told by what ended its columns."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("aniline",)),
    )
    lives = {"hybrid": (52.0, 54.0, 79.0, 81.0), "core": (900.0, 910.0, 920.0, 930.0)}
    courses = {(f"C{n}", "aniline", "retention_factor"): -0.15 - 0.01 * n for n in (1, 2, 3, 4)}
    part = Factor("saturator", {"none": ("H1", "H2", "C1", "C2"), "saturator": ("H3", "H4", "C3", "C4")})
    evidence = evidence_of(lives, courses=courses, limits=limits, factors=(part,))
    order = Question("q1", "Which type lasts longest?")
    assert by_first_limits(evidence, scope_of(evidence, order))[1].by_any
    asked = Question("q1", "Does the saturator prolong life?")
    assert not by_first_limits(evidence, scope_of(evidence, asked))[1].by_any
