"""Which type to take where no order is settled."""

from collections.abc import Mapping
from dataclasses import replace

from lyewitness.decline.records import Life
from lyewitness.findings.answer.choosing import best_for_now
from lyewitness.findings.answer.question_scope import scope_of
from lyewitness.findings.answer.ranking import Ranking, rank
from lyewitness.findings.audit.auditing import audit
from lyewitness.study.records import Limit, Question
from lyewitness.words.estimates import Estimate
from tests.findings.making import evidence_of, found_in

PLATES = "plate_number_half_height"
LIMITS = (Limit(PLATES, at_least_percent=80.0, markers=("caffeine",)),)
WHICH = Question("q1", "Which of the two should we take?")


def _told(lives: Mapping[str, tuple[float, ...]]) -> str:
    evidence = evidence_of(lives, limits=LIMITS, questions=(WHICH,))
    scope = scope_of(evidence, WHICH)
    best = best_for_now(evidence, scope, rank(evidence, audit(evidence), scope))
    return "" if best is None else f"{best.words}; {best.steady}".replace("\u2009", " ")


def test_the_longest_by_its_middle_column_is_told_with_its_early_loss() -> None:
    """Who must take one has both: the type that lasted longest, and the one that lost none early."""
    told = _told({"silica": (31.0, 83.0, 90.0), "oxide": (54.0, 56.0, 58.0)})
    assert told.startswith("most of them outlasted the others, but one failed early (")
    assert "; no oxide column failed before 5" in told


def test_nothing_is_told_where_none_stands_out() -> None:
    """Middle columns that differ by less than lives of one type do say nothing."""
    assert _told({"silica": (52.0, 57.0, 62.0), "oxide": (54.0, 56.0, 58.0)}) == ""


def test_a_type_that_another_is_known_to_outlast_is_not_advised() -> None:
    """What is settled goes before what most columns of a test did."""
    lives = {"silica": (31.0, 83.0, 90.0), "oxide": (54.0, 56.0, 58.0)}
    evidence = evidence_of(lives, limits=LIMITS, questions=(WHICH,))
    scope = scope_of(evidence, WHICH)
    ranking = rank(evidence, audit(evidence), scope)
    assert best_for_now(evidence, scope, ranking) is not None
    (pairing,) = ranking.pairings
    settled = replace(pairing, verdict="longer", first="oxide", second="silica")
    assert best_for_now(evidence, scope, replace(ranking, pairings=(settled,))) is None


def test_what_is_not_known_to_have_failed_outlasted_nothing_and_was_outlasted_by_nothing() -> None:
    """Held for longer than the others were within their limit: these are not known to have failed."""
    lives = {"silica": (83.0, 90.0, 95.0), "oxide": (54.0, 56.0, 58.0)}
    evidence = evidence_of(lives, limits=LIMITS, questions=(WHICH,))
    scope = scope_of(evidence, WHICH)
    best = best_for_now(evidence, scope, Ranking(scope.groups, ()))
    assert best is not None
    assert best.seen == "most of them outlasted the others"
    unclear = Life("unclear", Estimate(None, 50.0, None), bracket_h=(50.0, 60.0))
    declines = tuple(
        replace(one, life=unclear) if one.series.group == "oxide" and one.limit is not None else one
        for one in evidence.judgement.declines
    )
    evidence = replace(evidence, judgement=replace(evidence.judgement, declines=declines))
    assert best_for_now(evidence, scope, Ranking(scope.groups, ())) is None


def test_a_span_that_no_type_lasts_is_told_with_its_change_of_column() -> None:
    """Where no type lasts, and lives scatter, it is told before which hour one change saved all that ran."""
    lives = {"silica": (14.0, 15.0, 16.0), "oxide": (52.0, 75.0, 400.0), "polymer": (53.0, 84.0)}
    which = replace(WHICH, text="Which of the types gets through about 100 h?")
    answer = found_in(evidence_of(lives, limits=LIMITS, questions=(which,))).answers[0]
    (choose, *_) = answer.recommendations
    told = choose.text.replace("\u2009", " ")
    assert "rely on none of" in told, told
    assert told.endswith("; changed once, at 50 h (oxide), no column tested would have failed."), told


def test_what_outlasted_another_type_is_preferred_for_now() -> None:
    """Where each column of one of three outlasted every one of another, that type is named."""
    lives = {"amine": (76.0, 80.0, 86.0), "borate": (45.0, 79.0), "carbonate": (31.0, 43.0, 50.0)}
    which = replace(WHICH, text="Which of the three is kindest to the column?")
    answer = found_in(evidence_of(lives, limits=LIMITS, questions=(which,))).answers[0]
    told = answer.recommendations[0].text.replace("\u2009", " ")
    assert "prefer the amine columns" in told, told
    assert "do not choose" not in told


def test_a_type_that_is_not_asked_about_has_its_time_or_why_there_is_none() -> None:
    """The recommendations speak of the one that is; the table of advice has a reason beside its dash."""
    lives = {"silica": (54.0, 56.0, 58.0), "oxide": (31.0, 83.0)}
    which = replace(WHICH, text="How long do the silica columns last?")
    answer = found_in(evidence_of(lives, limits=LIMITS, questions=(which,))).answers[0]
    advice = {one.group: one for one in answer.advice}
    assert not any("replacing the oxide" in one.text for one in answer.recommendations)
    assert (advice["oxide"].replace_after, advice["oxide"].why) == ("\u2013", "two lives are too few")
    assert advice["silica"].why == ""
