"""What a question gets first: spans, costs, rates, shapes, factors, yes and no."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from lyewitness.findings.answer.costs import Cost, CostRatio, overlapping
from lyewitness.findings.answer.reading_questions import Asks, read_question
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.study.records import Choices, Factor, Limit, Question
from lyewitness.words.estimates import Estimate
from tests.findings.making import evidence_of, found_in, judged

Groups = Mapping[str, Sequence[float]]
APART: Groups = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}
PARTLY: Groups = {"hybrid": (40.0, 43.0, 60.0), "silica": (25.0, 27.0, 24.0)}
PRICES = {"hybrid": 600.0, "silica": 200.0}


def answered(evidence: Evidence, text: str, **changes: Any) -> Answer:
    """Return the answer to that question alone."""
    asked = replace(evidence.study.questions[0], text=text, **changes)
    return found_in(replace(evidence, study=replace(evidence.study, questions=(asked,)))).answers[0]


def plain(text: str) -> str:
    """Return text with ordinary blanks."""
    return text.replace("\u2009", " ")


def priced(groups: Groups, prices: Mapping[str, float]) -> Evidence:
    """Return the evidence with prices on the columns."""
    evidence = evidence_of(groups)
    columns = tuple(replace(c, price=prices.get(c.group)) for c in evidence.study.columns)
    return replace(evidence, study=replace(evidence.study, columns=columns))


@pytest.fixture(scope="module")
def designed() -> Evidence:
    """Return two bondings, each with and without a guard that multiplies life by 1.6."""
    groups = {
        "Alpha": (30.0, 31.5, 29.0), "Guarded alpha": (48.0, 50.0, 46.5),
        "Beta": (40.0, 41.5, 39.0), "Protected beta": (64.0, 66.0, 62.0),
    }  # fmt: skip
    evidence = evidence_of(groups)
    columns = tuple(
        replace(c, bonding="C8" if "alpha" in c.group.lower() else "C18", price=100.0)
        for c in evidence.study.columns
    )
    factor = Factor("guard", {"without": ("Alpha", "Beta"), "with": ("Guarded alpha", "Protected beta")})
    return judged(evidence, replace(evidence.study, columns=columns, factors=(factor,)))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Which lasts longest?", Asks(False, False, False, True, True, False)),
        ("Does the hybrid hold for two days?", Asks(True, False, False, False, True, False)),
        ("Is a guard worth its price?", Asks(True, True, False, False, False, True)),
        ("Is the hybrid or the silica cheaper?", Asks(False, True, False, True, False, False)),
        ("How fast does the retention fall?", Asks(False, False, True, False, False, False)),
    ],
)
def test_what_a_question_asks_is_read_from_its_words(text: str, expected: Asks) -> None:
    """Spans, costs, rates and choices are told apart; of two named groups one is wanted, not yes or no."""
    assert read_question(text, ("hybrid", "silica")) == expected


@pytest.mark.parametrize(
    ("groups", "text", "start"),
    [
        (
            PARTLY,
            "Do the hybrid columns last two days?",
            "No: one of three hybrid columns failed before 48 h (between 30 and 42 h)",
        ),
        (
            APART,
            "Do the silica columns last two days?",
            "No: all three silica columns failed before 48 h (each between 20 and 30 h)",
        ),
        (
            APART,
            "Do the hybrid columns last one day?",
            "Yes: the hybrid columns last one day (24 h), and a next",
        ),
        (
            APART,
            "Do the columns last two days?",
            "Yes for the hybrid columns: they last two days (48 h)",
        ),
        (
            APART,
            "Do the hybrid columns outlast the silica ones?",
            "Yes: the hybrid columns outlast the silica",
        ),
        (
            APART,
            "Do the silica columns outlast the hybrid ones?",
            "No: the hybrid columns outlast the silica",
        ),
        (
            APART,
            "Do the hybrid columns last twice as long as the silica ones?",
            "Yes: the hybrid columns last ",
        ),
    ],
)
def test_yes_or_no_comes_first(groups: Groups, text: str, start: str) -> None:
    """A question that wants yes or no gets it as the first word, with the lives that say so."""
    short = plain(answered(evidence_of(groups), text).short)
    assert short.startswith(start), short


def test_a_stated_span_is_answered_without_words() -> None:
    """`span_h` of a question is answered as if its words named it, and once where they do."""
    evidence = evidence_of(PARTLY)
    for text in ("Is the hybrid good enough for a weekend?", "Does the hybrid last 48 h?"):
        short = plain(answered(evidence, text, span_h=48.0).short)
        assert short.startswith("No: one of three hybrid columns failed before 48 h (between 30 and 42 h)"), (
            short
        )
        assert short.count("failed before") == 1


def test_nothing_that_was_not_asked_is_recommended() -> None:
    """A question after a span gets no advice which group to take, nor when to replace another group."""
    answer = answered(evidence_of(APART), "Do the hybrid columns last one day?")
    told = [claim.id for claim in answer.recommendations]
    assert not any("choose" in one or one.endswith("replace-silica") for one in told), told
    assert any(one.endswith("replace-hybrid") for one in told), told


def test_costs_are_price_over_life_with_its_interval() -> None:
    """Three times the price for 2.4 times the life costs more: both are told, the claim has their ratio."""
    answer = answered(
        priced(APART, PRICES), "Is the hybrid worth its price against silica?", run_time_min=30.0
    )
    short = plain(answer.short)
    assert short.startswith("No: column use per injection of 30 min costs 5.0 ("), short
    # By hand: 600 × 0.5 h ÷ 60 h and 200 × 0.5 h ÷ 25.5 h.
    assert "on hybrid and 3.9 (" in short
    (claim,) = [claim for claim in answer.claims if "-cost-" in claim.id]
    assert claim.strength == "shown"
    assert plain(claim.text).startswith("Column use per injection of 30 min costs 1.26 (1."), claim.text


def test_a_dearer_type_that_lasts_no_longer_is_not_worth_its_price() -> None:
    """Which lasts longer is open, which costs more is not: the break-even and the cheaper one are told."""
    groups = {"hybrid": (25.0, 33.0, 41.0), "silica": (27.0, 35.0, 43.0)}
    answer = answered(priced(groups, PRICES), "Is the hybrid worth its price against silica?")
    short = plain(answer.short)
    assert re.match(r"No(, as far as these data tell)?: an hour of column use costs ", short), short
    assert "hybrid columns cost less to use only where they last more than 3 times as long" in short, short
    told = " ".join(plain(claim.text) for claim in answer.recommendations)
    assert (
        "for now prefer the silica columns for what use costs; which lasts longer these data do not" in told
    )
    assert "do not choose" not in told


@pytest.mark.parametrize(
    ("subject", "against", "expected"),
    [
        (Estimate(8.1, 5.6, 12.0), Estimate(None, None, 8.2), True),
        (Estimate(5.0, 4.4, 5.6), Estimate(3.9, 3.2, 4.8), False),
        (Estimate(5.0, 4.4, 5.6), Estimate(3.9, 3.2, 5.1), True),
        (Estimate(11.0, 5.9, 22.0), Estimate(None, None, 5.8), False),
    ],
)
def test_costs_whose_intervals_meet_do_not_show_which_is_more(
    subject: Estimate, against: Estimate, expected: bool
) -> None:
    """`8.1 EUR (5.6 to 12)` beside `at most 8.2 EUR` does not show that one costs more: the ratio has to."""
    costs = [Cost(name, 1.0, "EUR", each) for name, each in (("hybrid", subject), ("silica", against))]
    assert overlapping(CostRatio(costs[0], costs[1], Estimate(1.2, 1.01, 1.5), "more", "shown")) is expected


def test_costs_bear_the_currency_that_the_study_names() -> None:
    """Each amount stands with the currency; without one it is said that they are in that of the prices."""
    evidence = priced(APART, PRICES)
    named = replace(evidence, study=replace(evidence.study, currency="EUR"))
    asked = "Is the hybrid worth its price against silica?"
    silent, told = (plain(answered(one, asked, run_time_min=30.0).short) for one in (evidence, named))
    assert "in the currency of the prices" in silent
    assert "currency" not in told
    assert "costs 5.0 EUR (" in told
    (claim,) = [one for one in answered(named, asked).claims if "-cost-" in one.id]
    assert "at prices of 600 and 200 EUR a column" in plain(claim.text)


def test_costs_of_what_outlived_the_test_are_bounds() -> None:
    """Where nothing failed within 100 h, an hour costs at most the price over 100."""
    answer = answered(
        priced({**APART, "polymer": (900.0, 950.0, 880.0)}, {**PRICES, "polymer": 800.0}),
        "What does an hour cost on each?",
    )
    assert "at most 8" in plain(answer.short)


@pytest.mark.parametrize(
    ("until_h", "told"),
    [
        (100.0, "Go to the polymer columns, which cost least; the guard pays, too: "),
        # Late injections left out: of the columns without the part none is known to have failed.
        (
            10.0,
            "We cannot tell whether an hour of column use costs less on the guarded silica columns than",
        ),
    ],
)
def test_whether_a_part_pays_is_open_where_lives_are_not_known(until_h: float, told: str) -> None:
    """What costs less than columns with and without the part says nothing of the part itself."""
    groups = {
        "silica": (33.0, 34.0, 32.0),
        "guarded silica": (54.0, 57.0, 52.0),
        "polymer": (90.0, 88.0, 92.0),
    }
    evidence = priced(groups, {"silica": 420.0, "guarded silica": 560.0, "polymer": 20.0})
    late = {
        one.id
        for one in evidence.study.injections
        if evidence.study.column(one.column).group == "silica" and (one.exposure_h or 0.0) > until_h
    }
    study = replace(
        evidence.study,
        columns=tuple(replace(one, block=one.id[-1]) for one in evidence.study.columns),
        choices=Choices(paired_blocks=True),
        factors=(Factor("guard", {"without": ("silica",), "with": ("guarded silica",)}),),
        injections=tuple(replace(one, used=one.id not in late) for one in evidence.study.injections),
    )
    rows = tuple(replace(row, used=row.injection not in late) for row in evidence.measurements.rows)
    evidence = judged(replace(evidence, measurements=replace(evidence.measurements, rows=rows)), study)
    short = plain(answered(evidence, "Is the guard of guarded silica worth its price, or polymer?").short)
    assert short.startswith(told), short
    assert "does not pay" not in short


def test_without_a_price_nothing_is_said_of_costs() -> None:
    """Where no price is stated, it says so."""
    short = answered(evidence_of(APART), "Is the hybrid worth its price?").short
    assert short.startswith("We cannot tell what use costs: no price of a column is stated.")


def test_a_factor_is_told_with_its_interaction(designed: Evidence) -> None:
    """Two effects replace six pairs: the guard multiplies life by 1.6, on both bondings alike."""
    answer = answered(designed, "What does the guard do to the life of our columns?")
    (claim,) = [claim for claim in answer.claims if "-factor-" in claim.id]
    assert plain(claim.text).startswith("The guard multiplies life by 1.58 (1.5")
    assert ", on both bondings alike, p" in claim.text
    assert claim.strength == "shown"
    assert not any("-pair-" in one.id for one in answer.claims)
    assert "cannot tell" not in answer.short


def test_factors_are_answered_in_the_order_of_the_question(designed: Evidence) -> None:
    """What is asked first is answered first, wherever it stands in the study."""
    levels = {"C8": ("Alpha", "Guarded alpha"), "C18": ("Beta", "Protected beta")}
    factors = (*designed.study.factors, Factor("bonding", levels))
    both = judged(designed, replace(designed.study, factors=factors))
    for words in ("guard", "bonding"), ("bonding", "guard"):
        short = answered(
            both, f"Does the {words[0]} make the columns last, and does the {words[1]} help?"
        ).short
        assert short.startswith("Yes: "), short
        told = [{"guard": "the guard multiplies", "bonding": "life on C18 is"}[word] for word in words]
        assert 0 < short.find(told[0]) < short.find(told[1]), short


def paced(designed: Evidence, groups: Groups) -> Evidence:
    """Return other lives in the design of bondings and guard."""
    lives = evidence_of(groups)
    columns = tuple(one for one in designed.study.columns if one.id in {c.id for c in lives.study.columns})
    return judged(lives, replace(lives.study, columns=columns, factors=designed.study.factors))


PACES = {"Alpha": (90.0, 150.0), "Guarded alpha": (500.0, 450.0), "Beta": (120.0, 140.0)}


@pytest.mark.parametrize("question", ["Does the guard help?", "What does the guard do to life?"])
def test_a_pace_is_told_where_lives_tell_nothing_of_a_factor(designed: Evidence, question: str) -> None:
    """Of one failure among eight columns life is open; the pace is indicated, never an effect on life."""
    answer = answered(paced(designed, {**PACES, "Protected beta": (700.0, 600.0)}), question)
    assert plain(answer.short).startswith(
        "We cannot tell what the guard does to life: only one of eight columns surely failed. The guard "
        "seems to slow the decline of the plate number (half height) of caffeine to 0.2 (0.1 to "
    ), answer.short
    (claim,) = [claim for claim in answer.claims if "-factor-" in claim.id]
    assert claim.strength == "indicated"
    assert "changes life" not in answer.short
    assert "Yes" not in answer.short


def test_a_pace_says_whether_it_is_alike_on_both_bondings(designed: Evidence) -> None:
    """What a factor does to rates is held against the other factor, and the level told where they differ."""
    differing = {"Alpha": (150.0, 150.0), "Guarded alpha": (160.0, 150.0), "Beta": (150.0, 155.0)}
    for groups, words in (
        ({**PACES, "Protected beta": (700.0, 600.0)}, "; we cannot tell whether it does so on both bondings"),
        ({**differing, "Protected beta": (1200.0, 1250.0)}, ", but not alike on both bondings: by 0.9"),
    ):
        answer = answered(paced(designed, groups), "What does the guard do to life?")
        (claim,) = [c for c in answer.claims if "-factor-" in c.id or "-pace-" in c.id][-1:]
        assert words in plain(claim.text), claim.text


def test_an_open_pace_has_no_word_beside_an_open_life(designed: Evidence) -> None:
    """Where neither lives nor paces tell what a factor does, that is said once."""
    groups = {"Alpha": (70.0, 150.0), "Guarded alpha": (500.0, 98.0), "Beta": (60.0, 140.0)}
    answer = answered(
        paced(designed, {**groups, "Protected beta": (700.0, 600.0)}), "What does the guard do?"
    )
    assert answer.short.count("cannot tell what the guard") == 1
    assert "pace" not in answer.short


def test_factors_of_which_nothing_can_be_computed_are_named() -> None:
    """One column a cell, of which one failed: the answer says what was asked about, and why it is open."""
    evidence = evidence_of(
        {"Alpha": (30.0,), "Guarded alpha": (300.0,), "Beta": (400.0,), "Guarded beta": (500.0,)}
    )
    factors = (
        Factor("guard", {"without": ("Alpha", "Beta"), "with": ("Guarded alpha", "Guarded beta")}),
        Factor("bonding", {"A": ("Alpha", "Guarded alpha"), "B": ("Beta", "Guarded beta")}),
    )
    short = answered(
        judged(evidence, replace(evidence.study, factors=factors)), "What does the guard do?"
    ).short
    assert (
        "We cannot tell what the guard or the bonding does to life: only one of four columns surely failed."
        in short
    )
    assert "pairs" not in short


@pytest.mark.parametrize(
    ("words", "strength"),
    [
        ("The guard doubles the life.", "contradicted"),
        ("The guard multiplies nothing: life lasts 1.6 times as long.", "shown"),
        ("The guard triples the life of the columns.", "contradicted"),
        ("With the guard, columns last 1.5 times as long.", "shown"),
    ],
)
def test_an_expected_ratio_is_held_against_its_interval(
    designed: Evidence, words: str, strength: str
) -> None:
    """Twice and three times are contradicted by 1.6 (1.5 to 1.7); 1.6 is borne out."""
    verdict = answered(designed, "What does the guard do?", expectation=words).expectation_verdict
    assert verdict is not None
    assert verdict.strength == strength, verdict.text


def test_a_ratio_that_a_question_asks_for_is_held_against_the_factor_that_it_names(
    designed: Evidence,
) -> None:
    """`Does a guard double the life of A and B?` is about with and without, whatever A ÷ B is."""
    short = answered(designed, "Does a guard double the life of our Alpha and our Beta columns?").short
    assert short.startswith("No: the guard multiplies life by 1."), short
    assert "÷" not in short
    unsaid = answered(designed, "Does it double the life of our Alpha and our Beta columns?").short
    assert "does not say beyond doubt" in unsaid
    levels = {"with guard": ("Guarded alpha", "Protected beta"), "without guard": ("Alpha", "Beta")}
    named = replace(designed.study, factors=(Factor("guard", levels),))
    short = answered(judged(designed, named), "What does the guard do?").short
    assert "The guard multiplies life by 1.5" in short, short


def test_a_column_lasts_only_within_every_limit_unless_one_is_said_to_decide() -> None:
    """Plates hold for long, retention passes 90 % at 40 h: 60 h are not held, unless plates decide."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0),
        Limit("retention_factor", at_least_percent=90.0),
    )
    falling = {("", "aniline", "retention_factor"): -0.25}
    evidence = evidence_of({"hybrid": (900.0, 950.0, 880.0)}, falling, limits=limits)
    text = "Do the hybrid columns last 60 h?"
    short = plain(answered(evidence, text).short)
    assert short.startswith("No: all three hybrid columns failed before 60 h ("), short
    assert "by the retention factor of aniline" in short
    verdict = answered(evidence, text, expectation="The hybrid columns hold for 60 h.").expectation_verdict
    assert verdict is not None
    assert verdict.strength == "contradicted"
    assert "all three hybrid columns failed before" in verdict.text
    decided = answered(evidence, text, decides="plate_number_half_height of caffeine")
    assert plain(decided.short).startswith("Yes"), decided.short
    assert "By another limit, all three hybrid columns failed sooner (" in plain(decided.short)
    (claim,) = (one for one in decided.claims if "-span-" in one.id)
    assert "By another limit" in claim.text


def test_hours_to_replace_after_are_no_longer_than_a_life_by_another_limit() -> None:
    """Plates hold for 80 h, one retention for 67: that counts also where plates decide, and it is told."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("aniline",)),
    )
    lives = {"hybrid": (78.0, 80.0, 79.0)}
    evidence = evidence_of(lives, {("H1", "aniline", "retention_factor"): -0.15}, limits=limits)
    study = evidence.study
    scoped = replace(study.questions[0], text="How often are the columns to be replaced?")
    first = replace(scoped, decides="plate_number_half_height of caffeine")
    told = {
        q.decides: plain(found_in(replace(evidence, study=replace(study, questions=(q,)))).answers[0].short)
        for q in (scoped, first)
    }
    by = r", by whichever limit they pass first"
    which = r" \(the retention factor of aniline, or the plate number \(half height\) of caffeine\)"
    for decides, named in (("", ""), (first.decides, which)):
        safe = re.search(rf"after (\d+) h at the latest{by}{named}: ", told[decides])
        assert safe is not None, told
        assert float(safe.group(1)) <= 67


def test_what_to_take_for_a_span_follows_from_what_lasted_it() -> None:
    """Where some types lasted the span and others did not, the advice names them, and every row links."""
    evidence = evidence_of({"hybrid": (900.0, 950.0, 880.0), "silica": (30.0, 31.0, 500.0)})
    answer = answered(evidence, "Which type shall we use for two days on end?")
    assert not answer.short.startswith(("Yes", "No")), answer.short
    first = answer.recommendations[0]
    assert "prefer the hybrid columns, and do not rely on the silica columns" in first.text, first.text
    assert first.because
    told = {line.group: line.do for line in answer.advice}
    assert told == {"hybrid": "prefer for two days", "silica": "do not rely on it for two days"}


def test_every_advice_on_a_design_links_to_what_it_rests_on(designed: Evidence) -> None:
    """Of pairs that the factors tell of, the effects are the reasons."""
    answer = answered(designed, "Which lasts longest, and does a guard help?")
    assert all(claim.because for claim in answer.recommendations)


def test_the_asker_may_state_what_decides() -> None:
    """`decides` goes before what fails first, for this question alone."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0),
        Limit("symmetry_factor", at_most=2.0),
    )
    evidence = evidence_of(APART, limits=limits)
    first = replace(evidence.study.questions[0], decides="symmetry_factor of aniline")
    both = replace(evidence.study, questions=(first, Question("q2", "And the plates?")))
    one, two = found_in(judged(evidence, both)).answers
    assert one.deciding == ("aniline", "symmetry_factor")
    assert two.deciding == ("caffeine", "plate_number_half_height")


def test_a_hardly_retained_marker_does_not_decide_where_another_can() -> None:
    """A marker with k of 0.4 that fails first leaves the decision to the one with k of 3."""
    limits = (Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine", "aniline")),)
    evidence = evidence_of(APART, limits=limits)
    rows = tuple(
        replace(row, retention_factor=0.4, plate_number_half_height=row.plate_number_half_height * 0.9)
        if row.marker == "caffeine" and row.plate_number_half_height and row.exposure_h > 5
        else replace(row, retention_factor=0.4)
        if row.marker == "caffeine"
        else row
        for row in evidence.measurements.rows
    )
    found = judged(evidence, measurements=replace(evidence.measurements, rows=rows))
    assert found.judgement.deciding[0] == "aniline"


def test_a_question_about_shape_is_decided_by_shape_and_by_rates() -> None:
    """`Does the base tail earlier on silica?` is about the symmetry of the base, and told by rates."""
    limits = (Limit("plate_number_half_height", at_least_percent=80.0), Limit("symmetry_factor", at_most=4.0))
    courses = {
        (f"{g}{n}", "aniline", "symmetry_factor"): c + 0.01 * n
        for g, c in (("H", 0.2), ("S", 0.8))
        for n in (1, 2, 3)
    }
    answer = answered(
        evidence_of(APART, courses=courses, limits=limits),
        "Does the base tail earlier on silica than on hybrid?",
    )
    assert answer.deciding == ("aniline", "symmetry_factor")
    assert plain(answer.short).startswith("Yes: the hybrid columns decline 0."), answer.short


def test_hold_up_that_goes_along_with_failing_is_told_short_and_weakens_nothing() -> None:
    """A void that grows on failing columns is no fault of the flow; retention factors are another matter."""
    groups = {**APART, "polymer": (900.0, 950.0, 880.0)}
    courses = {
        (f"{letter}{n}", "uracil", "hold_up_time_min"): size
        for letter, size in (("H", 0.12), ("S", 0.16))
        for n in (1, 2, 3)
    }
    findings = found_in(evidence_of(groups, courses=courses))
    (check,) = [one for one in findings.checks if one.id == "hold-up-steady"]
    assert plain(check.detail).startswith("The hold-up time rose on six columns, by 1"), check.detail
    assert "all of these failed" in check.detail
    assert check.result == "caution"
    pairs = [claim for claim in findings.answers[0].claims if "-pair-" in claim.id]
    assert {claim.strength for claim in pairs} == {"shown"}, [claim.text for claim in pairs]
    limits = (Limit("retention_factor", at_least_percent=90.0, markers=("caffeine",)),)
    fallen = {(f"{letter}{n}", "caffeine", "retention_factor"): -0.16 for letter in "HS" for n in (1, 2, 3)}
    by_k = found_in(evidence_of(groups, courses={**courses, **fallen}, limits=limits))
    (check,) = [one for one in by_k.checks if one.id == "hold-up-steady"]
    assert check.result == "problem", check.detail


def test_an_effect_that_differs_is_told_at_each_level(designed: Evidence) -> None:
    """A guard that helps one bonding only is told by its ratio on each."""
    groups = {
        "Alpha": (30.0, 31.5, 29.0), "Guarded alpha": (60.0, 62.0, 58.5),
        "Beta": (40.0, 41.5, 39.0), "Protected beta": (41.0, 40.0, 42.5),
    }  # fmt: skip
    study = replace(evidence_of(groups).study, columns=designed.study.columns, factors=designed.study.factors)
    answer = answered(
        judged(evidence_of(groups), study), "What does the guard do to the life of our columns?"
    )
    (claim,) = [claim for claim in answer.claims if "-factor-" in claim.id]
    assert re.search(
        r", but not alike on both bondings: by (2\.0|1\.9)\d? \(.* on C8 and 1\.0", plain(claim.text)
    ), claim.text


def test_survivors_promise_nothing_of_a_next_column() -> None:
    """Of three columns none of which failed, it is told that they lasted, and no more."""
    answer = answered(evidence_of({"hybrid": (900.0, 950.0, 880.0)}), "Do the hybrid columns last two days?")
    assert plain(answer.short).startswith("Yes, for the columns tested: all three hybrid columns lasted")
    assert not any(
        "a next one should hold" in claim.text for claim in (*answer.claims, *answer.recommendations)
    )


def test_a_rising_metric_is_run_on_towards_its_limit_as_a_falling_one_is() -> None:
    """A symmetry factor that rose from 1.1 to 1.8 of 2.0 is told to be run on, not to have hardly moved."""
    limits = (Limit("symmetry_factor", at_most=2.0, markers=("aniline",)),)
    courses = {("", "aniline", "symmetry_factor"): 0.6}
    answer = answered(evidence_of(APART, courses=courses, limits=limits), "Which lasts longest?")
    (plan,) = [claim for claim in answer.next_experiments if claim.id.endswith("run-on")]
    assert re.search(r"run the hybrid columns on to about 1[2-6]\d h", plain(plan.text), re.IGNORECASE), (
        plan.text
    )
    assert "hardly" not in plan.text


def test_what_does_not_pay_is_not_taken_for_its_life() -> None:
    """Whoever asks whether a longer life is worth its price is not told to take it where it is not."""
    answer = answered(
        priced(APART, PRICES), "Is the hybrid worth its price against silica?", run_time_min=30.0
    )
    assert plain(answer.short).startswith("No: ")
    done = {one.group: one.do for one in answer.advice}
    assert done["hybrid"] == "lasts longest, but its use costs more"
    assert done["silica"] == "lasts shortest, but its use costs less"
    assert not any("take" in claim.text or "avoid" in claim.text for claim in answer.recommendations)


def tailing(limit: float | None) -> Evidence:
    """Return two groups whose base tails ever more, on silica twice as fast; with a limit or without."""
    groups: Groups = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}
    courses = {
        (column, "aniline", "symmetry_factor"): (0.9 if column[0] == "H" else 2.0) * (1 + 0.03 * number)
        for number, column in enumerate(("H1", "H2", "H3", "S1", "S2", "S3"))
    }
    plates = Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",))
    limits = (plates,) if limit is None else (plates, Limit("symmetry_factor", at_most=limit))
    return evidence_of(groups, courses, limits=limits)


@pytest.mark.parametrize(
    ("text", "start"),
    [
        (
            "Does the base tail earlier on silica than on hybrid?",
            "Yes: aniline tails past a symmetry factor of 1.6 earlier on the silica columns than on",
        ),
        ("Does the base tail earlier on hybrid?", "No: aniline tails past a symmetry factor of 1.6 earlier"),
        (
            "Which tails less, hybrid or silica?",
            "Aniline tails past a symmetry factor of 1.6 later on the hybrid columns than on the silica",
        ),
        ("Does the base tail?", "Yes: aniline tails past a symmetry factor of 1.6 on all six columns."),
        (
            "How fast does the tailing of the base grow?",
            "The symmetry factor of aniline rises by 0.",
        ),
    ],
)
def test_a_question_of_tailing_is_answered_with_tailing(text: str, start: str) -> None:
    """Where a base tails is told by when it tails past its limit, and never in words of lasting."""
    answer = answered(tailing(1.6), text)
    short = plain(answer.short)
    assert short.startswith(start), short
    said = " ".join([short, *(claim.text for claim in answer.claims if "-pair-" in claim.id)])
    assert not re.search(r"\b(outlasts?|lasts? longe\w+|loses −|life ratio)\b", said), said
    assert "until aniline tails past" in short or "against" in short, short


def test_an_open_question_of_tailing_tells_on_how_many_columns_it_went() -> None:
    """Where no order can be told, two of four against none of four is still what was asked after."""
    groups: Groups = {"hybrid": (60.0, 64.0, 57.0, 61.0), "silica": (25.0, 27.0, 24.0, 29.0)}
    ends = {"H1": 0.9, "H2": 1.0, "H3": 0.8, "H4": 0.9, "S1": 0.9, "S2": 3.0, "S3": 2.4, "S4": 1.0}
    courses = {(column, "aniline", "symmetry_factor"): end for column, end in ends.items()}
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("symmetry_factor", at_most=2.2),
    )
    said = plain(
        answered(evidence_of(groups, courses, limits=limits), "Does the base tail earlier on hybrid?").short
    )
    told = re.escape(
        "We cannot tell on which aniline tails past a symmetry factor of 2.2 earlier: it did on two of "
    )
    times = r"\([a-z\d ]*\d h\)"
    on_each = rf"four silica columns {times} and on none of the four hybrid columns \(watched for 100 h\)\."
    assert re.match(told + on_each, said), said
    assert "lasted" not in said


def test_where_a_base_tails_is_told_type_by_type() -> None:
    """Asked on which of several it tails earlier, `in part` is no answer: each type has its own columns."""
    said = plain(answered(tailing(2.6), "Does the base tail earlier on one of the types?").short)
    assert said.startswith(
        "Aniline tails past a symmetry factor of 2.6 on all three silica columns and on none of the three "
        "hybrid columns."
    ), said


@pytest.mark.parametrize(
    ("text", "start"),
    [
        (
            "Does the base tail earlier on silica than on hybrid?",
            "Yes: the symmetry factor of aniline rises faster on the silica columns than on the",
        ),
        ("Does the base tail earlier on hybrid than on silica?", "No: the symmetry factor of aniline rises"),
        ("Which tails less, hybrid or silica?", "The symmetry factor of aniline rises faster on the silica"),
    ],
)
def test_without_a_limit_the_rate_of_tailing_answers(text: str, start: str) -> None:
    """A metric without a limit has no life: its rates are told, what is left, and why no time is."""
    answer = answered(tailing(None), text)
    short = plain(answer.short)
    assert short.startswith(start), short
    assert "an hour on hybrid and" in short
    assert "of its reference on hybrid" in short
    assert "The study sets no limit on the symmetry factor of aniline" in short
    assert "plate number" not in short
    assert [claim.strength for claim in answer.claims if claim.id.endswith("-course")] == ["shown"]
    assert not any("take the" in claim.text for claim in answer.recommendations)
    assert "life ratio" not in answer.how_sure


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("Will the silica columns fail within two days?", "Yes: all three silica columns failed before 48 h"),
        ("Will the hybrid columns fail within one day?", "No: the hybrid columns last one day (24 h)"),
        ("Will the hybrid columns last one day without failing?", "Yes: the hybrid columns last one day"),
        ("Does the base tail within one day on hybrid?", "No: the hybrid columns last one day (24 h)"),
    ],
)
def test_whether_columns_fail_within_a_span_is_not_whether_they_hold(text: str, start: str) -> None:
    """`Will they fail within two days?` is answered yes where they did, and no where they held."""
    evidence = tailing(1.6) if "tail" in text else evidence_of(APART)
    short = plain(answered(evidence, text).short)
    assert short.startswith(start), short


def test_what_is_promised_of_another_column_stands_beside_what_was_seen() -> None:
    """Columns that lasted are told as seen, and in the same breath how long another one surely does."""
    answer = answered(evidence_of({"hybrid": (52.0, 54.0, 61.0)}), "Do the hybrid columns last two days?")
    seen, promised = plain(answer.short).split(". ")[0].split(", but ")
    assert seen == "Not reliably: all three hybrid columns lasted two days (48 h)"
    found = re.fullmatch(
        r"of a further one no more than (\d+) h can be relied on \(95 % confidence\)",
        promised,
    )
    assert found is not None, promised
    assert int(found[1]) < 48
    replacing = [claim.text for claim in answer.recommendations if "-replace" in claim.id]
    assert f"after {found[1]} h" in plain(replacing[0])


def test_how_sure_tells_a_ratio_as_the_claims_do() -> None:
    """What a factor tells is not told a second time with the interval of the pair alone."""
    groups = {"plain": (30.0, 31.5, 29.0), "guarded": (60.0, 62.0, 58.5)}
    factor = Factor("guard", {"without": ("plain",), "with": ("guarded",)})
    evidence = evidence_of(groups)
    answer = answered(judged(evidence, replace(evidence.study, factors=(factor,))), "Does the guard pay?")
    (claim,) = [one.text for one in answer.claims if "-factor-" in one.id]
    told = re.search(r"multiplies life by ([\d.]+ \([\d.]+ to [\d.]+\)), (p [<=] [\d.]+)", plain(claim))
    assert told is not None, claim
    assert told[1] in plain(answer.how_sure)
    assert told[2] in plain(answer.how_sure)


def test_who_asks_which_one_lasts_hears_first_that_none_is_known_to() -> None:
    """The answer begins with the answer, and whoever is to take a group hears that it may not last."""
    groups = {"hybrid": (31.0, 32.0, 30.0), "silica": (12.0, 13.0, 11.0)}
    answer = answered(evidence_of(groups), "Which of the two types lasts two days?")
    assert plain(answer.short).startswith("Neither of the two lasts two days (48 h): all three ")
    (choose,) = [claim for claim in answer.recommendations if "-choose" in claim.id]
    assert "but do not last two days (48 h)" in plain(choose.text)
    assert "do not last two days" in next(one.do for one in answer.advice if one.group == "hybrid")
