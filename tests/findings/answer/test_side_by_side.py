"""Few columns of a design, each with and without a part: what was seen of them is told, and proves little."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from lyewitness.findings.answer.question_scope import scope_of
from lyewitness.findings.answer.reading_questions import read_question, read_spans
from lyewitness.findings.answer.side_by_side import lasted_longest, matches, types_apart
from lyewitness.findings.answer.ways_of_failing import ASKED, ways_replies
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.study.questions import named_factors
from lyewitness.study.records import Factor, Limit
from tests.findings.making import evidence_of, found_in, judged, with_columns

FEW: Mapping[str, Sequence[float]] = {
    "Alpha": (40.0,), "With alpha": (400.0,), "Beta": (24.0, 22.0), "Xtra beta": (300.0,),
}  # fmt: skip
"""Two bondings, each with and without a guard: one column of most, and none with a guard failed."""
MORE: Mapping[str, Sequence[float]] = {
    "Alpha": (40.0,), "With alpha": (88.0,), "Beta": (24.0, 22.0), "Xtra beta": (50.0,),
}  # fmt: skip
"""The same where all failed: the guard multiplies lives by 2.2 on both."""
FACTORS = (
    Factor("bonding", {"alpha": ("Alpha", "With alpha"), "beta": ("Beta", "Xtra beta")}),
    Factor("guard column", {"without": ("Alpha", "Beta"), "with": ("With alpha", "Xtra beta")}),
)


def designed(lives: Mapping[str, Sequence[float]], factors: Sequence[Factor] = FACTORS) -> Evidence:
    """Return the study with its factors and bondings stated."""
    evidence = evidence_of(lives)
    columns = tuple(
        replace(one, bonding="C18" if "lpha" in one.group else "phenyl", price=500.0)
        for one in evidence.study.columns
    )
    return judged(evidence, replace(evidence.study, factors=tuple(factors), columns=columns, currency="EUR"))


@pytest.fixture(scope="module")
def few() -> Evidence:
    """Return the study in which no column with a guard failed."""
    return designed(FEW, FACTORS[1:])


@pytest.fixture(scope="module")
def more() -> Evidence:
    """Return the study in which all columns failed."""
    return designed(MORE)


def answered(evidence: Evidence, text: str, **changes: Any) -> Answer:
    """Return the answer to that question alone."""
    asked = replace(evidence.study.questions[0], text=text, **changes)
    return found_in(judged(evidence, replace(evidence.study, questions=(asked,)))).answers[0]


def plain(text: str) -> str:
    """Return text with ordinary blanks."""
    return text.replace("\u2009", " ").replace("\u00a0", " ")


def test_what_few_columns_show_is_told_and_settles_nothing(few: Evidence) -> None:
    """Where each column with the guard outlasted those without, that stands first; the claim stays open."""
    answer = answered(few, "Does the guard column make our columns last longer?")
    short = plain(answer.short)
    assert short.startswith("Yes, in this test every column with the guard column outlasted those without"), (
        short
    )
    assert "both Beta columns failed (" in short
    # How steep the courses are is no word on how many times as long: nobody saw that.
    assert "They lasted at least 2.4 times as long; how much longer was not seen, as none with" in short, (
        short
    )
    assert short.endswith("these were few columns, and further ones may do otherwise.")
    assert "to slow the decline" not in short
    assert "cannot tell whether the guard column changes" not in short
    assert all(claim.strength == "not settled" for claim in answer.claims if "-factor-" in claim.id)
    first = answer.recommendations[0]
    assert "for now run columns with the guard column" in plain(first.text)
    assert first.strength == "not settled"
    assert first.because


def test_lives_that_overlap_are_not_told_as_seen() -> None:
    """Where one column with the guard failed before one without, nothing of the kind is said."""
    mixed = designed({**FEW, "With alpha": (30.0,)}, FACTORS[1:])
    answer = answered(mixed, "Does the guard column make our columns last longer?")
    assert "In this test every column" not in answer.short
    assert not any("run columns with the guard" in claim.text for claim in answer.recommendations)


def test_single_columns_a_cell_leave_the_scatter_of_both_factors(more: Evidence) -> None:
    """Where a model with interaction leaves one degree of freedom, one without tells the effect, indicated;
    the ratio at each level of the other factor stands beside it.
    """
    answer = answered(more, "Does the guard column make columns last longer, on both bondings?")
    short = plain(answer.short)
    assert short.startswith(
        "Yes, as far as these data tell: the guard column seems to multiply life by 2.2 ("
    )
    assert "2.2 on alpha and 2.1 on beta, too few columns to tell these apart" in short, short
    assert "bonding alpha" not in short
    (told,) = [claim for claim in answer.claims if "-factor-guard" in claim.id]
    assert told.strength == "indicated"
    # One effect is asked for, and corrected for nothing else.
    assert "(the one effect that the question asks for)" in told.text


def test_levels_of_a_factor_are_advised_where_it_is_asked_about(more: Evidence) -> None:
    """Who asks which bonding lasts longer is told the bonding, not that four types cannot be ranked."""
    answer = answered(more, "Which of the two bondings lasts longer, the alpha or the beta?")
    assert plain(answer.short).startswith("Alpha, as far as these data tell: ")
    assert "guard column seems" not in answer.short
    assert plain(answer.recommendations[0].text).endswith("for now prefer alpha.")


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("Does the guard help on both bondings?", ("guard",)),
        ("Does the guard help for each of the two bondings?", ("guard",)),
        ("Which of both bondings lasts?", ("bonding",)),
        ("Which of the two bondings lasts longer?", ("bonding",)),
        ("Does one of the bondings tail earlier?", ("bonding",)),
    ],
)
def test_who_asks_for_all_levels_asks_nothing_of_them(text: str, named: tuple[str, ...]) -> None:
    """`On both bondings` says where, not what."""
    assert named_factors(text, ["guard", "bonding"]) == named


def test_an_expectation_of_help_is_no_order_of_levels(more: Evidence) -> None:
    """`It helps a little, and more for the beta` is held against the effect and its seen parts."""
    answer = answered(
        more, "Does the guard column help?", expectation="It helps a little, and more for the beta."
    )
    assert answer.expectation_verdict is not None
    told = plain(answer.expectation_verdict.text)
    assert "The data show more than ‘It helps a little’: columns last 2.2 (" in told, told
    assert "We did not see ‘more for the beta’: ratios of " in told
    otherwise = answered(
        more, "Does the guard column help?", expectation="It helps a little, and more for the alpha."
    )
    assert otherwise.expectation_verdict is not None
    assert "We cannot tell whether ‘more for the alpha’ holds: " in plain(otherwise.expectation_verdict.text)


def test_a_span_is_answered_level_by_level(few: Evidence) -> None:
    """Where all columns without the guard failed and all with it lasted, one sentence says both."""
    short = plain(answered(few, "Can we rely on one column for three days (72 h)?").short)
    assert short.startswith("Not without the guard column: the one Alpha column (")
    assert "failed before 72 h; with the guard column, the one With alpha column (held for 100 h)" in short
    assert short.endswith("of further columns we cannot tell."), short
    assert "72 h" in short
    assert short.count("Not ") == 1


def test_whether_a_part_helps_is_answered_beside_a_span(few: Evidence) -> None:
    """Who asks both whether one column lasts and whether the guard helps gets both answers."""
    asked = "Can we rely on one column for 72 h, and does the guard column help?"
    helped = "The guard column helped: in this test every column with it outlasted those without."
    assert helped in plain(answered(few, asked).short)
    assert helped not in plain(answered(few, "Can we rely on one column for 72 h?").short)


def test_the_one_type_that_lasted_a_span_stands_first() -> None:
    """Where neither level stands alike, the columns that lasted come first, then those that did not."""
    mixed = designed({**MORE, "With alpha": (400.0,)})
    short = plain(answered(mixed, "Can we rely on one column for 72 h?").short)
    assert short.startswith("Only the one With alpha column (with the guard column) lasted 72 h"), short
    assert "and whether further ones do, we cannot tell; the one Alpha column (" in short
    assert short.endswith("failed before.")


def test_what_use_cost_is_told_with_the_part_that_the_question_prices(few: Evidence) -> None:
    """Where each column with the part cost less an hour, its price counted, that is told as seen."""
    answer = answered(few, "Is the guard column worth its price of 100 EUR?")
    short = plain(answer.short)
    assert short.startswith(
        "Yes, in this test an hour of column use cost less with the guard column than without: "
    ), short
    assert "the 100 EUR of one guard column for each column counted" in short
    without = answered(few, "Is the guard column worth its price?")
    assert "counted" not in without.short
    assert "at most 5.00 EUR on With alpha" in plain(without.short), plain(without.short)


def test_pairs_of_one_make_are_found_by_what_they_are_made_of(more: Evidence) -> None:
    """The guard pairs types of one bonding; the bonding those of one level of the guard."""
    scope = scope_of(more, more.study.questions[0])
    guard = [(one.subject, one.against) for one in matches(more, scope, "guard column")]
    assert guard == [("With alpha", "Alpha"), ("Xtra beta", "Beta")]
    bonding = [(one.subject, one.against) for one in matches(more, scope, "bonding")]
    assert bonding == [("Beta", "Alpha"), ("Xtra beta", "With alpha")]


def test_types_that_a_question_sets_against_each_other_are_answered_by_themselves(few: Evidence) -> None:
    """Who asks for one of two types hears nothing first of a factor that the question does not name."""
    short = plain(answered(few, "Which lasts longer, Alpha or Beta?").short)
    assert short.startswith(
        "In this test the one Alpha column lasted longer; of further ones that is not settled"
    ), short
    assert "guard" not in short


@pytest.fixture(scope="module")
def parted() -> Evidence:
    """Return two types whose columns all lie apart, of which one of the longer-lived was watched for less."""
    return evidence_of({"Coated": (60.0, 62.0, 58.0), "Polymer": (400.0, 400.0, 400.0)})


def test_types_that_lie_apart_are_told_as_seen(parted: Evidence) -> None:
    """What is watched for less stands aside and is named; nobody orders one column against one."""
    scope = scope_of(parted, parted.study.questions[0])
    found = types_apart(parted, scope, "Coated", "Polymer")
    assert found is not None
    assert (found.longer, found.shorter) == ("Polymer", "Coated")
    assert plain(found.words).startswith("all three Coated columns failed (58")
    assert "all three Polymer columns held for at least 100 h" in plain(found.words)
    assert lasted_longest(parted, scope) == "Polymer"
    one_each = evidence_of({"Coated": (60.0,), "Polymer": (400.0,)})
    assert (
        types_apart(one_each, scope_of(one_each, one_each.study.questions[0]), "Coated", "Polymer", 1) is None
    )
    single = evidence_of({"Coated": (60.0,), "Polymer": (400.0, 400.0)})
    assert types_apart(single, scope_of(single, single.study.questions[0]), "Coated", "Polymer") is None


def test_how_columns_fail_is_told_where_that_is_asked(parted: Evidence) -> None:
    """`Is this how they go?` gets what the signs point to and the limits in turn, not a life alone."""
    answer = answered(parted, "Is this how the Coated columns go? What would we see first?")
    assert "he first limit to be passed was that on the plate number" in plain(answer.short), answer.short
    assert ways_replies(parted, scope_of(parted, parted.study.questions[0]), ()) == []
    asked = ("Why did our columns fail?", "What are the first signs?", "How do they go?", "How does it fail?")
    assert all(ASKED.search(text) for text in asked)
    assert not ASKED.search("How long do they last, and which goes on the shelf?")


def test_one_injection_is_no_span() -> None:
    """What one injection costs is no time that a column is to last; two days are."""
    assert read_spans("What does one injection cost us?", 12.0) == ()
    assert [span.hours for span in read_spans("Does it last 500 injections?", 12.0)] == [100.0]


def test_one_column_that_lasted_a_span_is_advised_with_another_at_hand() -> None:
    """Who asks whether one column holds is told on which not to rely, and nothing of an order of types."""
    mixed = designed({**MORE, "With alpha": (400.0,)})
    said = plain(answered(mixed, "Can we rely on one column for 72 h?").recommendations[0].text)
    assert "for 72 h, do not rely on the Alpha columns, the Beta columns or the Xtra beta columns" in said, (
        said
    )
    assert said.endswith("column lasted it, which says little of the next; keep another at hand.")


def test_yes_or_no_is_no_choice_of_two() -> None:
    """`Are they alike, yes or no?` offers nothing to choose from."""
    asks = read_question("Are Coated and Polymer alike over four days, yes or no?", ("Coated", "Polymer"))
    assert (asks.yes_or_no, asks.choice) == (True, False)
    asks = read_question("Over four days that makes them alike, yes or no?", ("Coated", "Polymer"))
    assert (asks.yes_or_no, asks.choice) == (True, False)


TYPES: Mapping[str, Sequence[float]] = {"hybrid": (400.0, 420.0, 390.0), "silica": (44.0, 43.0, 58.0)}


@pytest.fixture(scope="module")
def types() -> Evidence:
    """Return two types of which one failed by the plate number and kept its retention."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("caffeine",)),
    )
    return evidence_of(TYPES, limits=limits)


@pytest.mark.parametrize(
    ("text", "begins"),
    [
        ("Does silica lose plates first?", "Yes"),
        (
            "Is it true that on silica retention goes first, every time? We want to stop counting plates.",
            "No: ",
        ),
    ],
)
def test_what_goes_first_on_one_type_is_answered_by_what_each_column_passed_first(
    types: Evidence, text: str, begins: str
) -> None:
    """A question of one type alone wants no order of types; only the sentence that says `first` is read."""
    short = plain(answered(types, text, groups=("silica",)).short)
    assert short.startswith(begins), short
    assert "all three silica columns passed the limit on the plate number" in short
    assert "only one group" not in short


def test_an_expectation_of_what_goes_first_is_held_against_it(types: Evidence) -> None:
    """What each column passed first bears it out or contradicts it."""
    text = "What should we watch on silica?"
    verdicts = {
        expected: answered(types, text, groups=("silica",), expectation=expected).expectation_verdict
        for expected in ("Silica loses retention first.", "Silica loses plates first.")
    }
    against, borne_out = verdicts.values()
    assert against is not None
    assert against.strength == "contradicted"
    assert "none passed a limit on the retention factor in 100 h" in plain(against.text), plain(against.text)
    assert borne_out is not None
    assert borne_out.strength != "contradicted"
    assert against.because
    denied = answered(types, text, groups=("silica",), expectation="Silica does not lose retention first.")
    assert denied.expectation_verdict is not None
    assert denied.expectation_verdict.strength != "contradicted"


def test_a_span_that_no_column_lasts_is_told_in_columns(types: Evidence) -> None:
    """Who has so many injections to do wants to know how many columns they take."""
    text = "Can we do 400 injections on one silica column?"
    short = plain(answered(types, text, groups=("silica",), run_time_min=15.0).short)
    assert short.startswith("No: all three silica columns failed before the 100 h that 400 injections take (")
    found = re.search(
        r"So 400 injections take (\w+) of them: a typical one does (\d+) \((\d+) to (\d+)\), "
        r"so plan with (\d+); (\w+) would do only if each did 134\.",
        short,
    )
    assert found is not None, short
    assert (found[6], found[1]) == ("three", "four")
    each, low, high, sure = map(int, found.groups()[1:5])
    assert 100 < sure <= low < each < high < 300
    assert 3 * sure < 400 <= 4 * sure
    # Who asks for the number hears what to order first.
    text = "We have 400 injections to do on silica. How many columns do I have to order?"
    short = plain(answered(types, text, groups=("silica",), run_time_min=15.0).short)
    assert short.startswith("Four: a typical one does "), short
    assert "; three would do only if each did 134." in short, short


def test_what_somebody_says_is_judged_and_no_type_is_advised(types: Evidence) -> None:
    """Whoever asks whether a colleague is right takes none of them."""
    text = "A colleague says that silica lasts twice as long as oxide. Is he right?"
    answer = answered(types, text)
    assert not any(claim.id.endswith("do-choose") for claim in answer.recommendations)


def test_the_reserve_of_what_lasted_a_span_is_told() -> None:
    """What passed a limit at 80 h leaves little for 70 h, and 98 h of a test of 100 h nothing known."""
    courses = {"Held": (400.0,), "Late": (80.0,), "Gone": (24.0, 22.0)}
    short = plain(answered(designed(courses, ()), "Can we rely on one column for 70 h?").short)
    assert "the one Late column passed a limit soon after (80 h by the plate number" in short.replace(
        "The one", "the one"
    ), short
    long = plain(answered(designed(courses, ()), "Can we rely on one column for 98 h?").short)
    assert "The one Held column was watched for no longer, so no reserve is known." in long, long


def test_types_that_stand_apart_over_a_span_are_not_interchangeable(types: Evidence) -> None:
    """Who asks yes or no whether types are alike gets no first, and what each did."""
    text = "Over four days that makes hybrid and silica interchangeable, yes or no?"
    short = plain(answered(types, text, groups=("hybrid", "silica")).short)
    assert short.startswith("No, not in this test: all three silica columns ("), short


def test_a_column_taken_off_sound_does_not_make_its_type_dear() -> None:
    """What it was watched for bounds its own cost; the others are told by theirs."""
    evidence = evidence_of({"hybrid": (400.0, 420.0, 390.0), "silica": (44.0, 43.0, 58.0)})
    study = with_columns(
        evidence.study, **{f"{kind}{n}": {"price": 600.0} for kind in "HS" for n in (1, 2, 3)}
    )
    rows = tuple(row for row in evidence.measurements.rows if row.column != "H3" or row.exposure_h < 62)
    cut = judged(evidence, replace(study, currency="EUR"), replace(evidence.measurements, rows=rows))
    short = plain(answered(cut, "What does an hour cost on each of hybrid and silica?").short)
    assert "at most 6.00 EUR on hybrid but for H3 (at most 10.0 EUR on H3, watched for 60 h only)" in short, (
        short
    )


def test_who_takes_a_type_learns_that_it_begins_with_fewer_plates() -> None:
    """Limits are shares of each column's own start: the longest life may be that of the poorer column."""
    evidence = evidence_of(TYPES)
    rows = tuple(
        replace(row, plate_number_half_height=0.5 * row.plate_number_half_height)
        if row.column.startswith("H") and row.plate_number_half_height
        else row
        for row in evidence.measurements.rows
    )
    poorer = judged(evidence, None, replace(evidence.measurements, rows=rows))
    first = answered(poorer, "Which type should we take?").recommendations[0]
    assert "Mind that hybrid begins with fewer plates (" in first.text
    first = answered(evidence, "Which type should we take?").recommendations[0]
    assert "fewer plates" not in first.text


def test_a_part_pays_from_a_price_that_what_was_seen_tells(few: Evidence) -> None:
    """Who names the price of a part, and no column's, learns from which price of a column on it pays."""
    columns = tuple(replace(one, price=None) for one in few.study.columns)
    bare = judged(few, replace(few.study, columns=columns, currency=""))
    short = plain(answered(bare, "Is the guard column worth its price of 100 EUR?").short)
    # 2.4 times as long at least saves 1.4 columns for each one used.
    assert short.startswith("Yes, in this test columns with the guard column lasted at least 2.4 times"), (
        short
    )
    assert "one of 100 EUR for each column pays where a column costs more than 71.5 EUR" in short
    unpriced = plain(answered(bare, "Is the guard column worth its price?").short)
    assert "cannot tell what use costs: no price of a column is stated" in unpriced


def test_a_span_is_best_held_by_what_has_a_reserve() -> None:
    """Of what lasted 72 h, the type that was watched for longer comes nearest."""
    lives = {"Alpha": (40.0,), "With alpha": (400.0,), "Beta": (24.0, 22.0), "Xtra beta": (78.0,)}
    answer = answered(designed(lives, FACTORS[1:]), "Can we rely on one column for 70 h?")
    told = plain(answer.recommendations[0].text)
    assert "the one With alpha column lasted it, which says little of the next" in told, told
    assert "Xtra beta column lasted it" not in told


def test_yes_is_said_of_costs_only_where_it_means_less(few: Evidence) -> None:
    """Who asks whether the guard is too dear would read `yes` the wrong way."""
    dear = plain(answered(few, "Is the guard column too expensive at 100 EUR?").short)
    assert dear.startswith("In this test an hour of column use cost "), dear


@pytest.mark.parametrize("text", ["Can we run the same column for 72 h?", "Does one last as long as 72 h?"])
def test_no_types_are_held_alike_where_nobody_asks_that(text: str) -> None:
    """`The same column` and `as long as` are no question of equal types."""
    mixed = designed({**MORE, "With alpha": (400.0,)})
    assert not plain(answered(mixed, text).short).startswith("No, not in this test")
