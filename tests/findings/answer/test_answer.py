"""What an answer says: headline, how sure, recommendations, next experiments, expectation, questions."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer, Claim
from lyewitness.study.records import Choices, Limit, Plan, Question
from lyewitness.words.phrases import spelled
from tests.findings.making import evidence_of, found_in, judged, with_columns

Groups = Mapping[str, Sequence[float]]
APART: Groups = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}
THREE: Groups = {**APART, "polymer": (900.0, 950.0, 880.0)}
CLOSE: Groups = {"hybrid": (50.0, 70.0, 60.0), "silica": (55.0, 65.0, 45.0)}


def asked(evidence: Evidence, **question: object) -> Answer:
    """Return the answer where the question has these fields."""
    first = replace(evidence.study.questions[0], **question)  # type: ignore[arg-type]
    return found_in(replace(evidence, study=replace(evidence.study, questions=(first,)))).answers[0]


def plain(text: str) -> str:
    """Return text with ordinary blanks."""
    return text.replace("\u2009", " ")


def claims_with(claims: Sequence[Claim], part: str) -> list[Claim]:
    """Return the claims whose id holds `part`."""
    return [claim for claim in claims if part in claim.id]


def test_the_longest_lived_of_three_is_named_with_what_is_known_of_its_life() -> None:
    """A group that outlived the test is told with 'at least', the others with their intervals."""
    short = plain(asked(evidence_of(THREE)).short)
    assert short.startswith("The polymer columns last longest at these conditions: at least 100 h")
    assert re.search(r"6\d h \(\d\d to \d\d\) for hybrid", short)


def test_how_sure_names_columns_confidence_p_values_and_the_audit() -> None:
    """How sure: number of columns, confidence of the intervals, adjusted p values, the audit's points."""
    sure = plain(asked(evidence_of(APART)).how_sure)
    told = ("three hybrid and three silica columns", "95 % confidence", "life ratio", "audit")
    for words in (*told, "the one comparison that this question asks for"):
        assert sure.count(words) == 1, sure


def test_how_sure_is_short() -> None:
    """Three groups are summed up in 75 words at most."""
    assert len(asked(evidence_of(THREE)).how_sure.split()) <= 75


def test_the_gravest_point_of_the_audit_stands_in_how_sure() -> None:
    """Where the audit weakens the answer, how sure says by what."""
    sure = asked(evidence_of(APART, cv_per_h={"silica": 144.0})).how_sure
    assert "column volumes" in sure.lower()


def test_life_is_told_in_runs_where_the_run_time_is_known() -> None:
    """With a run time of four minutes, 60 h are 900 injections."""
    answer = asked(evidence_of(APART), run_time_min=4.0)
    (life,) = [claim for claim in claims_with(answer.claims, "-life-") if claim.id.endswith("hybrid")]
    found = re.search(r"(\d+) \(\d+ to \d+\) injections of 4 min", plain(life.text))
    assert found is not None, life.text
    assert 850 <= int(found.group(1)) <= 950
    assert any("injections of 4" in plain(claim.text) for claim in answer.recommendations)


def test_a_promise_is_no_longer_than_what_was_held() -> None:
    """The time before which to replace a column is below the life of every column of the group."""
    answer = asked(evidence_of(APART))
    (replace_claim,) = claims_with(answer.recommendations, "-replace-hybrid")
    found = re.search(r"after (\d+) h at the latest: three were tested", plain(replace_claim.text))
    assert found is not None, replace_claim.text
    assert float(found.group(1)) < 57.0


def test_what_is_not_settled_has_an_experiment_that_would_settle_it() -> None:
    """An open pair gets a number of columns, from the spread that was seen."""
    answer = asked(evidence_of(CLOSE))
    (plan,) = [claim for claim in answer.next_experiments if "power" in claim.text]
    assert re.search(r"columns? a side", plan.text)
    assert "Lives of one type spread by" in plan.text


def test_single_columns_get_no_invented_number() -> None:
    """Where no spread between columns was seen, no number of columns is computed."""
    answer = asked(evidence_of({"hybrid": (80.0,), "silica": (20.0,)}))
    assert any("cannot be computed" in claim.text for claim in answer.next_experiments)


def test_columns_that_did_not_fail_are_to_be_run_on() -> None:
    """Where nothing failed, the plan is to run on, called a plan and no result."""
    answer = asked(evidence_of({"hybrid": (130.0, 150.0, 140.0), "silica": (160.0, 150.0, 170.0)}))
    (plan,) = claims_with(answer.next_experiments, "run-on")
    assert "no result" in plan.text


@pytest.mark.parametrize(
    ("words", "strength", "said"),
    [
        ("The silica columns fail first.", "shown", "bear the expectation out"),
        ("The hybrid columns last longest.", "shown", "bear the expectation out"),
        ("The hybrid columns fail first.", "contradicted", "contradict the expectation"),
        (
            "The silica columns last at least as long as the hybrid ones.",
            "contradicted",
            "contradict the expectation",
        ),
        ("There is no difference.", "contradicted", "contradict the expectation"),
        ("The silica columns hold for 10 h.", "shown", "bear the expectation out"),
        ("The silica columns hold for 60 h.", "contradicted", "contradict the expectation"),
        ("Everything will be fine.", "not settled", "e leave the judgement to you"),
        ("The silica columns do not fail first.", "not settled", "e leave the judgement to you"),
    ],
)
def test_expectations_are_held_against_the_data(words: str, strength: str, said: str) -> None:
    """An expectation that can be read is borne out or contradicted; another is left to the reader."""
    verdict = asked(evidence_of(APART), expectation=words).expectation_verdict
    assert verdict is not None
    assert verdict.strength == strength, verdict
    assert said in verdict.text


@pytest.mark.parametrize(
    ("words", "strength", "said"),
    [
        (
            "hybrid longest; silica fails first",
            "shown",
            "The data bear out ‘hybrid longest’ and ‘silica fails first’: the hybrid columns outlast the "
            "silica columns.",
        ),
        (
            "The hybrid columns last longest, but the silica ones hold for 60 h.",
            "contradicted",
            "The data bear out ‘The hybrid columns last longest’: the hybrid columns outlast the silica "
            "columns. The data contradict ‘the silica ones hold for 60 h’: you expected at least 60 h; the ",
        ),
        (
            "Hybrid fails first. Everything will be fine.",
            "contradicted",
            "The data contradict ‘Hybrid fails first’: the hybrid columns outlast the silica columns. Of "
            "‘Everything will be fine’ we leave the judgement to you.",
        ),
    ],
)
def test_each_statement_of_an_expectation_is_judged(words: str, strength: str, said: str) -> None:
    """Of several statements it is told which holds, which is contradicted and which nobody can judge."""
    verdict = asked(evidence_of(APART), expectation=words).expectation_verdict
    assert verdict is not None
    assert verdict.strength == strength
    assert plain(verdict.text).startswith(said), verdict.text


def test_a_span_that_was_expected_is_told_once_beside_the_life() -> None:
    """`You expected a week; the silica columns lasted 25 h (24 to 27)`, and no other group is spoken of."""
    verdict = asked(evidence_of(APART), expectation="The silica columns last a week.").expectation_verdict
    assert verdict is not None
    assert verdict.strength == "contradicted"
    said = plain(verdict.text)
    assert re.search(
        r"you expected at least a week \(168 h\); the silica columns lasted 25(\.\d)? h \(", said
    ), said
    assert "hybrid" not in said
    assert [link.target for link in verdict.because] == ["q1-life-silica"]


def test_an_expectation_that_is_not_read_speaks_of_its_own_groups_alone() -> None:
    """Where the words cannot be read, the lives of the groups that it names stand beside it, and no other."""
    verdict = asked(evidence_of(APART), expectation="The silica columns will be fine.").expectation_verdict
    assert verdict is not None
    assert "silica" in verdict.text
    assert "hybrid" not in verdict.text
    assert [link.target for link in verdict.because] == ["q1-life-silica"]


def test_a_verdict_rests_on_the_claims_that_it_is_about() -> None:
    """A verdict on two of three groups links to the claim on these two and no other pair."""
    verdict = asked(
        evidence_of(THREE), expectation="The hybrid columns outlast the silica ones."
    ).expectation_verdict
    assert verdict is not None
    assert [link.target for link in verdict.because] == ["q1-pair-hybrid-silica"]


def test_no_expectation_no_verdict() -> None:
    """A question without an expectation has no verdict."""
    assert asked(evidence_of(APART)).expectation_verdict is None


def test_a_span_that_is_asked_for_is_answered_first() -> None:
    """A question for 15 h on the silica columns is answered for 15 h before any ranking."""
    answer = asked(evidence_of(APART), text="Do the silica columns last 15 h?")
    assert plain(answer.short).startswith("Yes: the silica columns last 15 h, and a next one should hold")
    answer = asked(evidence_of(APART), text="Do the silica columns last two days?")
    assert plain(answer.short).startswith(
        "No: all three silica columns failed before 48 h (each between 20 and"
    )


def test_advice_is_about_the_columns_that_were_asked_about() -> None:
    """A question on how long one group lasts gets the time to replace that group, outlasted or not."""
    answer = asked(evidence_of(APART), text="Do the silica columns last 15 h?")
    advice = claims_with(answer.recommendations, "-replace")[0]
    assert "eplace the silica columns after" in advice.text


def test_how_often_to_change_is_answered_first() -> None:
    """A question for how often columns must be changed is answered with the time for each group."""
    short = plain(asked(evidence_of(APART), text="How often must we change the columns?").short)
    assert re.match(r"Replace the hybrid columns after \d+ h at the latest", short), short
    assert re.search(r"Replace the silica columns after \d+ h at the latest", short)


def test_every_group_has_its_time_for_replacement_and_injections_are_explained_once() -> None:
    """Each group is told its time; that injections are counted at the stress is said once."""
    answer = asked(evidence_of(APART), run_time_min=4.0)
    advice = claims_with(answer.recommendations, "-replace")
    assert [claim.id.rpartition("-")[2] for claim in advice] == ["hybrid", "silica"]
    assert sum("counted as if the method ran" in claim.text for claim in answer.recommendations) == 1


def test_a_time_for_replacement_says_how_few_were_tested() -> None:
    """Of two columns tested, both lives are told, and why the bound lies far below them."""
    answer = asked(evidence_of({"hybrid": (58.0, 66.0), "silica": (25.0, 27.0, 24.0)}))
    (advice,) = claims_with(answer.recommendations, "-replace-hybrid")
    assert re.search(r"only two were tested \(5\d and 6\d h\); two lives show so little", plain(advice.text))


def test_other_metrics_make_no_promise() -> None:
    """Where pressure outlived the test and the deciding metric is not known, no time is promised."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("pressure_bar", at_most_percent=150.0),
    )
    evidence = evidence_of(APART, limits=limits)
    rows = tuple(
        replace(row, plate_number_half_height=None) if row.column == "H1" else row
        for row in evidence.measurements.rows
    )
    answer = asked(judged(evidence, measurements=replace(evidence.measurements, rows=rows)))
    assert answer.deciding == ("caffeine", "plate_number_half_height")
    (advice,) = claims_with(answer.recommendations, "-replace-hybrid")
    assert advice.strength == "not settled"
    assert "no time" in advice.text
    (silica,) = claims_with(answer.recommendations, "-replace-silica")
    assert {link.target.partition("/")[2] for link in silica.because} == {"caffeine/plate_number_half_height"}


def test_a_single_column_is_spoken_of_as_one() -> None:
    """One column lasted so long, and says nothing of its type; nothing is said in the plural."""
    short = plain(asked(evidence_of({"hybrid": (60.0,)})).short)
    assert re.match(r"Column H1 lasted (between )?\d+", short), short
    assert "one column says nothing of the type" in short


def test_the_conditions_are_named_once_with_their_numbers() -> None:
    """The first recommendation names pH, temperature and solvent, and no other does."""
    said = [plain(claim.text) for claim in asked(evidence_of(APART)).recommendations]
    assert "At these conditions (pH 11.3, 50 °C, 30 % acetonitrile)" in said[0]
    assert not any("50 °C" in text for text in said[1:])


def test_conditions_that_nobody_logged_are_told_as_planned() -> None:
    """Of a quantity without a log, what was planned is known and not what was."""
    evidence = evidence_of(APART)
    for rows, words in (
        ((), "(pH 11.3 and 50 °C by plan, 30 % acetonitrile)"),
        (tuple(replace(r, ph=None) for r in evidence.study.conditions), "(pH 11.3 by plan, 50 °C, 30 % "),
    ):
        answer = asked(replace(evidence, study=replace(evidence.study, conditions=rows)))
        assert words in plain(answer.recommendations[0].text)


def test_columns_that_hardly_declined_are_not_to_be_run_on_for_ever() -> None:
    """Where the rate seen would take ten times as long, a harsher test is named, or a longer one."""
    (plan,) = claims_with(asked(evidence_of({**THREE, "polymer": (1e6,) * 3})).next_experiments, "run-on")
    said = "The polymer columns hardly moved towards the limit in 100 h; only a much longer or"
    assert plain(plan.text).startswith(said)


@pytest.mark.parametrize(("lives", "foretold"), [((140.0,) * 5, True), ((1e6,) * 5, False)])
def test_the_answer_of_a_running_test_carries_its_outlook(lives: Sequence[float], foretold: bool) -> None:
    """At 100 of 168 h the answer says what is expected, calls nothing unmoved, and plans no new columns."""
    evidence = evidence_of({"hybrid": lives}, plan=Plan(ends_h=168.0))
    answer = asked(evidence, text="Does the hybrid last a week?", span_h=168.0)
    said = plain(
        " ".join([answer.short, *(c.text for c in (*answer.recommendations, *answer.next_experiments))])
    )
    assert ("is expected to pass the limit on" in answer.short) is foretold
    for never in ("nothing is known of them", "hardly moved", "harsher", "of the hybrid columns for 168 h"):
        assert never not in said, said
    if foretold:
        (hours,) = {float(h) for h in re.findall(r"after (?:about )?(\d+)", said)[:1]}
        assert hours > 100


def test_the_audit_is_counted_as_its_page_counts_it() -> None:
    """Cautions on groups that are not asked about are counted beside those that bear on the answer."""
    evidence = evidence_of({**APART, "third": (52.0, 55.0, 58.0)})
    others = {c.id: {"bonding": "C8"} for c in evidence.study.columns if c.group == "third"}
    own = judged(evidence, with_columns(evidence.study, S1={"particle_um": 2.7}, **others))
    text = "Does the hybrid outlast the silica?"
    found = found_in(
        replace(own, study=replace(own.study, questions=(replace(own.study.questions[0], text=text),)))
    )
    faults = [check for check in found.checks if check.result in ("caution", "problem")]
    told = re.search(
        r"Of (\w+) checks of the audit that raised cautions (\w+) bear", found.answers[0].how_sure
    )
    assert told is not None, found.answers[0].how_sure
    assert told[1] == spelled(len(faults))
    assert told[2] != told[1]


def test_what_was_held_is_told_in_one_way() -> None:
    """Hours and injections that a group held are the same in the table, in what to do and in the claim."""
    study = evidence_of(THREE).study
    short = tuple(one for one in study.injections if (one.exposure_h or 0.0) <= 45.0)
    ended = tuple(replace(one, exposure_h=44.7) if one.exposure_h == 40.0 else one for one in short)
    answer = asked(evidence_of({**THREE, "silica": (10.0, 11.0, 9.0)}, injections=ended), run_time_min=24.0)
    held = {
        found
        for text in (
            *(one.replace_after for one in answer.advice if one.group == "polymer"),
            *(claim.text for claim in (*answer.recommendations, *answer.claims) if "polymer" in claim.text),
        )
        for found in re.findall(r"(?:in|for) (\d[\d.]* h \(\d+) injections", plain(text))
    }
    assert held == {"44.7 h (111"}


def test_who_asks_which_outlasts_the_other_hears_which_to_take() -> None:
    """A question that sets two groups against each other is advised as the table advises."""
    answer = asked(evidence_of(APART), text="Does the silica outlast the hybrid?")
    (choose,) = claims_with(answer.recommendations, "-choose")
    assert "take the hybrid columns" in choose.text
    assert next(one.do for one in answer.advice if one.group == "hybrid") == "take"


def test_rates_are_told_beside_lives_that_are_open() -> None:
    """Where rates alone tell, the table says so too, and its choice stays open."""
    evidence = evidence_of({"hybrid": (900.0, 950.0, 880.0), "silica": (300.0, 310.0, 290.0)})
    answer = asked(evidence)
    slow = next(one for one in answer.advice if one.group == "hybrid")
    assert (slow.do, slow.strength) == ("declines more slowly; its life is open", "not settled")


def test_one_column_is_not_told_as_columns() -> None:
    """What one column a side showed is told of the column, and what holds of both groups once."""
    answer = asked(evidence_of({"hybrid": (1e6,), "silica": (25.0,)}))
    (plan,) = claims_with(answer.next_experiments, "run-on")
    assert plan.text.startswith("The hybrid column hardly moved")
    said = [claim.text for claim in answer.recommendations if "only one" in claim.text]
    assert len(said) == 1, said
    assert "the hybrid columns or the silica columns: only one of each was tested" in said[0]


def test_the_audit_does_not_contradict_itself() -> None:
    """What does not weaken the answer is a caution; no fault is denied where there is one."""
    mild = with_columns(evidence_of(APART).study, S1={"particle_um": 2.7})
    sure = asked(judged(evidence_of(APART), mild)).how_sure
    assert "of the audit raised cautions; none changes the ranking" in sure
    assert "weaken" not in sure
    bare = asked(evidence_of({"hybrid": (60.0,)}, conditions=())).how_sure
    assert "found no" not in bare
    assert re.search(r"points? weakens? the answer", bare), bare


def test_seeming_is_explained() -> None:
    """Where the answer says 'seem', the claim says why: so few columns were tested."""
    answer = asked(evidence_of({"hybrid": (80.0, 82.0), "silica": (10.0, 10.2, 10.1)}))
    (claim,) = claims_with(answer.claims, "-pair-")
    assert "We say ‘seem’ because only two hybrid columns were tested." in claim.text


def test_too_few_known_lives_are_not_called_too_few_columns() -> None:
    """Where two of three lives are not known, the reason is that and not a single column."""
    evidence = evidence_of(APART)
    gone = {"H2", "H3"}
    rows = tuple(
        replace(row, plate_number_half_height=None) if row.column in gone else row
        for row in evidence.measurements.rows
    )
    answer = asked(judged(evidence, measurements=replace(evidence.measurements, rows=rows)))
    (claim,) = claims_with(answer.claims, "-pair-")
    assert "one column on a side" not in claim.text
    assert "the life of one of three hybrid columns alone is known" in claim.text.lower()


def test_columns_of_which_some_fail_are_told_one_by_one() -> None:
    """Where some columns last a span and some do not, those that failed are told with their lives."""
    evidence = evidence_of({"hybrid": (60.0, 64.0, 57.0), "silica": (15.0, 45.0, 44.0)})
    short = asked(evidence, text="Do the silica columns last 30 h?").short
    assert plain(short).startswith(
        "No: one of three silica columns failed before 30 h (between 10 and 20 h)."
    )


def test_each_question_is_about_its_own_groups_and_limits() -> None:
    """A question on two groups ranks these two; one on another metric is decided by that metric."""
    limits = (
        Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
        Limit("retention_factor", at_least_percent=90.0, markers=("aniline",)),
    )
    courses = {(f"H{n}", "aniline", "retention_factor"): -0.12 for n in (1, 2, 3)}
    questions = (
        Question("all", "Which lasts longest?"),
        Question("two", "Hybrid or silica?", groups=("hybrid", "silica")),
        Question("base", "What of the base?", metrics=("retention_factor",), markers=("aniline",)),
    )
    found = found_in(evidence_of(THREE, courses=courses, limits=limits, questions=questions))
    everything, two, base = found.answers
    assert "polymer" in everything.short
    assert "polymer" not in two.short
    assert [a.deciding[1] for a in found.answers][1:] == ["plate_number_half_height", "retention_factor"]
    assert "retention factor of aniline" in base.short
    assert len({claim.id for a in found.answers for claim in a.claims}) == sum(
        len(a.claims) for a in found.answers
    )


def test_a_question_on_a_group_that_is_not_there_is_about_all() -> None:
    """A group that the study does not know leaves the question to all groups."""
    assert asked(evidence_of(APART), groups=("nothing",)).short == asked(evidence_of(APART)).short


def test_a_study_of_one_group_tells_its_life_and_ranks_nothing() -> None:
    """One group has a life and no ranking."""
    answer = asked(evidence_of({"hybrid": (60.0, 64.0, 57.0)}))
    assert re.match(r"The hybrid columns last 6\d h \(", plain(answer.short))
    assert claims_with(answer.claims, "-pair-") == []


def test_without_limits_no_life_is_told() -> None:
    """Where the study names no limit, the answer says that it cannot tell, and why."""
    evidence = evidence_of(APART)
    answer = found_in(judged(evidence, replace(evidence.study, limits=()))).answers[0]
    assert answer.short.startswith(
        "We cannot tell how long the columns last: the study names no limit. In 100"
    )
    assert re.search(
        r"plate number \(half height\) of \w+ fell from 1\d 000 to \d+ on H\d", plain(answer.short)
    )
    assert answer.deciding == ("", "")
    assert re.search(
        r"Six columns, no limit, 78 injections: \w+ of \d+ checks could not be made", answer.how_sure
    )


def test_what_is_missing_is_named() -> None:
    """No pictures, no log, no blank: each is named as missing."""
    missing = found_in(evidence_of(APART, conditions=())).missing
    for words in ("picture", "temperature is logged", "pH is logged", "blank"):
        assert any(words in text for text in missing), words


def test_order_of_columns_does_not_change_the_answer() -> None:
    """Turning the order of the groups round changes no finding."""
    evidence = evidence_of(APART)
    turned = replace(evidence.study, columns=evidence.study.columns[::-1])
    assert asked(judged(evidence, turned)).short == asked(evidence).short


def test_equivalent_groups_are_told_to_be_alike() -> None:
    """Lives that surely agree within the margin are told as equally long, and the choice is left free."""
    evidence = evidence_of(
        {"hybrid": (50.0, 51.0, 50.5, 50.2), "silica": (50.1, 50.9, 50.4, 50.6)},
        choices=Choices(equivalence_margin_percent=60.0),
    )
    answer = asked(evidence)
    assert "equally long" in answer.short
    (choose,) = claims_with(answer.recommendations, "-choose")
    assert "by something else" in choose.text
